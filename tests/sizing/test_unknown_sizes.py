"""Pipe that is there: it keeps its size, costs nothing, and unknown it is judged both ways."""

from __future__ import annotations

import pytest

from supplycalc.model import House
from supplycalc.questions.parts.study import parts
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import UNKNOWN_SIZE, Design, Finding
from tests.houses import cold_fixture, pipe, two_storey, well


def old_house(feet: float = 60.0, cut_in: float = 40.0, **old: object) -> House:
    """A hall with a tub at the end of old galvanized pipe."""
    given = {"material": "galvanized-sch40", "joining": "threaded", "existing": True}
    return two_storey(
        source=well(cut_in, cut_in + 20.0),
        runs=(
            pipe("service", "source", "entry", 10.0, size="1"),
            pipe("old pipe", "entry", "hall", feet, **{**given, **old}),
        ),
        devices=(),
        fixtures=(cold_fixture("tub", "bathtub", "hall", 10.0),),
    )


def told(design: Design) -> list[Finding]:
    """What is said of the unknown size."""
    return [finding for finding in design.findings if finding.code == UNKNOWN_SIZE]


def test_a_known_size_is_kept_and_not_paid_for() -> None:
    """Its own 1/2 inch stays however short the tub is; none is bought."""
    design = size(old_house(feet=900.0, size="1/2"))

    assert not design.ok
    assert design.run("old pipe").decided_by.startswith("is there")
    assert told(design) == []
    assert not any(
        "old pipe" in remedy.text and "inch" in remedy.text for remedy in design.remedies
    )
    assert not any("larger: old pipe" in remedy.text for remedy in design.remedies)
    assert design.cost == pytest.approx(size(old_house(feet=3.0, size="1/2")).cost)
    bought = parts(old_house(size="1/2"))
    assert not any("old pipe" in item.places for item in bought.items if item.group == "pipe")


def test_what_is_there_is_not_cut_shorter_but_may_be_replaced() -> None:
    """400 ft of old 1/2 inch: nobody makes it shorter; new 3/4, told as a replacement and paid for,
    was sized and works."""
    design = size(old_house(feet=400.0, size="1/2"))
    texts = [remedy.text for remedy in design.remedies]
    new = next(remedy for remedy in design.remedies if remedy.text.startswith("replace old pipe"))

    assert not design.ok
    assert not any(text.startswith("make old pipe") for text in texts)
    assert new.text == "replace old pipe, which is there in 1/2, by new pipe of its kind in 3/4"
    assert new.worst_margin > 0.0
    assert new.cost > design.cost


@pytest.mark.parametrize(
    ("feet", "cut_in", "words"),
    [
        (20.0, 40.0, "works in both, 1/2 inch and 2 inch"),
        (900.0, 40.0, "3/4 inch or larger"),
        (20.0, 4.0, "fails in both, 1/2 inch and 2 inch"),
    ],
)
def test_an_unknown_size_is_computed_both_ways(feet: float, cut_in: float, words: str) -> None:
    """The numbers are those of the least size, and the verdict says what depends on it."""
    house = old_house(feet=feet, cut_in=cut_in)
    design = size(house)

    assert design.run("old pipe").size.nominal == "1/2"
    assert words in told(design)[0].message
    assert words in design.verdict("us")
    assert design.verdict("us").startswith("Works only if old pipe is") == ("or larger" in words)


def test_the_sizes_that_it_may_have_bound_the_answer() -> None:
    """An owner who can rule out 1/2 inch gets a house that works in all that is left."""
    design = size(old_house(feet=900.0, sizes=("3/4", "1")))

    assert design.ok
    assert "works in both, 3/4 inch and 1 inch" in told(design)[0].message
