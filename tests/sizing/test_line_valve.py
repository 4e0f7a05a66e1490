"""Where one valve, or one break-pressure tank, keeps a long downhill line within its rating: every
place that is told is held against hydrostatics by hand."""

from __future__ import annotations

import itertools

import pytest

import supplycalc as sc
from supplycalc.hydraulics.water import specific_weight
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Design, Remedy
from tests.commands.files import SCENARIOS, run
from tests.houses import FOOT, PSI

TEXT = (SCENARIOS / "hill-tank.toml").read_text("utf-8")
WAY = ((0.0, 318.0), (700.0, 210.0), (1500.0, -6.0), (1900.0, -2.0))
"""[ft] (along, height)"""
PIPE = 'material = "pe-sidr15"'
"""Rated for 100 psi."""


def text(way: tuple[tuple[float, float], ...] = WAY, pipe: str = PIPE) -> str:
    """The hill tank far up, its line of a weak pipe over the way."""
    profile = ", ".join(f'["{at:g} ft", "{height:g} ft"]' for at, height in way)
    top = way[0][1]
    found = TEXT.replace('"88 ft"', f'"{top:g} ft"').replace('"89 ft"', f'"{top + 1:g} ft"')
    found = found.replace('"94 ft"', f'"{top + 6:g} ft"')
    return found.replace(
        'material = "pe-cts-sdr9"\nlength   = "640 ft"',
        f'{pipe}\nlength = "{way[-1][0]:g} ft"\nprofile = [{profile}]',
    )


def sized(way: tuple[tuple[float, float], ...] = WAY, pipe: str = PIPE) -> Design:
    """The same, sized."""
    return size(sc.loads(text(way, pipe)))


def of_rating(design: Design) -> list[Remedy]:
    """What keeps its pipe within the rating."""
    return [remedy for remedy in design.remedies if remedy.mends == "rating"]


def height_at(along: float, way: tuple[tuple[float, float], ...] = WAY) -> float:
    """Of the line [ft]."""
    for (begin, low), (end, high) in itertools.pairwise(way):
        if along <= end + 1e-6:
            return low + (high - low) * (along - begin) / (end - begin)
    raise AssertionError(along)


def highest(design: Design, remedy: Remedy) -> tuple[float, float, float]:
    """At rest before it, behind it, and at the house [psi], by hand."""
    along, height, setting = (value for value, _ in remedy.values)
    weight = specific_weight(design.house.water.cold) * FOOT / PSI
    full = WAY[0][1] + 6.0
    lowest = min(z for at, z in WAY if at * FOOT >= along)
    return (
        weight * (full - height / FOOT),
        setting / PSI + weight * (height / FOOT - lowest),
        setting / PSI + weight * (height / FOOT - WAY[-1][1]),
    )


def test_valve_and_tank_keep_both_parts_within_the_rating() -> None:
    """100 psi bear 231 ft: the line falls 330. The tank leaves the house what it may have at rest,
    a valve at a usual setting cannot: its place would lie where more than 100 psi stand."""
    design = sized()
    valve, tank = of_rating(design)
    for remedy in (valve, tank):
        before, behind, _ = highest(design, remedy)
        assert before <= 100.0
        assert behind <= 100.0
        assert remedy.values[1][0] == pytest.approx(
            height_at(remedy.values[0][0] / FOOT) * FOOT, rel=1e-6
        )
    assert valve.values[2][0] / PSI == pytest.approx(50.0)
    assert "relief valve behind it" in valve.text
    assert highest(design, valve)[2] > 80.0
    assert tank.text.startswith("put a break-pressure tank")
    assert "within its limit at rest, too" in tank.text
    assert highest(design, tank)[2] <= 80.0
    assert all(remedy.worst_margin >= 0.0 for remedy in (valve, tank))


def test_the_tank_leaves_the_house_the_most_that_it_may_have() -> None:
    """A tenth of the way higher up more than 80 psi would stand in the house."""
    design = sized()
    tank = of_rating(design)[1]
    along, height = tank.values[0][0] / FOOT, tank.values[1][0] / FOOT
    weight = specific_weight(design.house.water.cold) * FOOT / PSI

    assert weight * (height_at(along - 80.0) - WAY[-1][1]) > 80.0
    assert weight * (height - WAY[-1][1]) > 80.0 - weight * 22.0


def test_a_house_written_with_it_keeps_its_rating() -> None:
    """The line in two parts with the valve of the remedy, typed into a file."""
    valve = of_rating(sized())[0]
    along, height, setting = (value for value, _ in valve.values)
    at = along / FOOT
    first = (*(point for point in WAY if point[0] < at), (at, height / FOOT))
    second = (
        (0.0, height / FOOT),
        *((far - at, z) for far, z in WAY if far > at),
    )
    house = text(first).replace('to       = "cabin"', 'to = "pit"')
    profile = ", ".join(f'["{far} ft", "{z} ft"]' for far, z in second)
    house += f"""
[[device]]
name = "valve"
kind = "pressure-reducing-valve"
from = "pit"
to = "behind"
elevation = "{height / FOOT} ft"
setting = "{setting / PSI} psi"
[[run]]
name = "on"
from = "behind"
to = "cabin"
{PIPE}
length = "{second[-1][0]} ft"
fittings = {{}}
buried = "40 in"
profile = [{profile}]
"""
    codes = {it.code for it in size(sc.loads(house), mend=False).findings if it.level == "fail"}

    assert "rating-exceeded" in {it.code for it in sized().findings}
    assert "rating-exceeded" not in codes
    assert "crest" not in codes


def test_pieces_of_a_line_count_as_one() -> None:
    """Distances are told along the run of the file, in whatever piece the place lies."""
    pipe = 'split = true\nclasses = ["pe-sidr19", "pe-sidr15"]'
    for remedy in of_rating(sized(pipe=pipe)):
        along, height = (value / FOOT for value, _ in remedy.values[:2])
        assert "in line from the tank {0} along" in remedy.text
        assert height == pytest.approx(height_at(along), rel=1e-6)


def test_too_deep_for_one_is_told_nothing() -> None:
    """520 ft of fall take two of them at 100 psi; a pipe that bears all takes none."""
    deep = ((0.0, 518.0), (1500.0, -6.0), (1900.0, -2.0))

    assert of_rating(sized(deep)) == []
    assert of_rating(sized(pipe='material = "pe-sidr7"')) == []


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_page_tells_it_apart_from_the_house(system: str, tmp_path: object) -> None:
    """Pressure at rest and rating are two things to mend; each has its heading."""
    path = f"{tmp_path}/house.toml"
    with open(path, "w", encoding="utf-8") as file:
        file.write(text())
    page = run("size", path, "--units", system)
    full = run("size", path, "--units", system, "--full").stdout

    assert page.exit_code == 1
    assert "For the rating of pipe: do one of these" in page.stdout
    assert "A change that keeps pipe within its rating" in full
    report = f"{tmp_path}/report.html"
    run("report", path, "-o", report)
    with open(report, encoding="utf-8") as written:
        assert "For the rating of pipe: fit a pressure-reducing valve" in written.read()
