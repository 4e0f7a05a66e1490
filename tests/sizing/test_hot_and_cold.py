"""Hot and cold of one fixture in one size, where the file asks for it."""

from __future__ import annotations

from pathlib import Path

import pytest

from supplycalc.problems import InputError
from supplycalc.questions.compare.study import compare
from supplycalc.questions.size.study import size
from supplycalc.reading import load
from tests.verdicts.writing import inside, main, project, two_baths

ALIKE = 'material = "pex-sdr9"\njoining = "crimp"\nsame_size_hot_and_cold = true\n'


def written(folder: Path, defaults: str = ALIKE, *, cold: str = "", more: str = "") -> Path:
    """A two-bath house on a main; `cold` is written into the branch of the second shower."""
    text = project("alike") + main(75, 70) + '[[run]]\nname = "service"\nfrom = "source"\n'
    text += 'to = "entry"\nmaterial = "pe-cts-sdr9"\nlength = "60 ft"\n'
    text += inside(two_baths(9.0), defaults=defaults) + more
    if cold:
        text = text.replace(
            'name = "second shower"\nkind = "shower"\nelevation = "13.0 ft"\n'
            'cold = { from = "hall", ',
            'name = "second shower"\nkind = "shower"\nelevation = "13.0 ft"\n'
            f'cold = {{ from = "hall", {cold}, ',
        )
        assert cold in text
    path = folder / "house.toml"
    path.write_text(text, encoding="utf-8")
    return path


def pairs(path: Path) -> list[tuple[str, str]]:
    """(cold, hot) nominal sizes of each fixture with both."""
    house = load(path)
    sizes = size(house).sizes
    return [
        (sizes[fixture.cold.name], sizes[fixture.hot.name])
        for fixture in house.fixtures
        if fixture.cold is not None and fixture.hot is not None
    ]


def test_without_the_wish_some_fixture_has_two_sizes(tmp_path: Path) -> None:
    """Cold runs through the longer way and hot loses in the heater: their sizes differ somewhere;
    with the wish no pair differs, at no less cost."""
    plain = ALIKE.replace("same_size_hot_and_cold = true\n", "")
    cold = 'size = "3/4"'
    unlike = pairs(written(tmp_path, plain, cold=cold))
    dear = size(load(written(tmp_path, plain, cold=cold))).cost
    alike = pairs(written(tmp_path, cold=cold))
    cost = size(load(written(tmp_path, cold=cold))).cost

    assert any(cold != hot for cold, hot in unlike)
    assert all(cold == hot for cold, hot in alike)
    assert ("3/4", "3/4") in alike
    assert cost >= dear


def test_compared_the_other_side_follows(tmp_path: Path) -> None:
    """Cold at 3/4 takes hot along."""
    house = load(written(tmp_path))
    (option,) = compare(house, run="second shower cold", sizes=("3/4",)).options

    assert option.design is not None
    assert option.design.sizes["second shower hot"] == "3/4"


@pytest.mark.parametrize(
    ("cold", "words"),
    [
        ('sizes = ["3/4"]', "second shower cold may be 3/4 and second shower hot is of pex-sdr9"),
        ('material = "multilayer", joining = "press"', "is of multilayer"),
    ],
)
def test_what_cannot_be_alike_is_refused(tmp_path: Path, cold: str, words: str) -> None:
    """Two families without a common size; a choice with one is no mistake."""
    path = written(tmp_path, cold=cold)
    if "sizes" in cold:
        assert all(one == other for one, other in pairs(path))
        return
    with pytest.raises(InputError, match=words):
        load(path)
