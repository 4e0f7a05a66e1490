"""The pictures of the page: no two texts touch, wide or narrow, in any scenario."""

from __future__ import annotations

from itertools import combinations, pairwise
from pathlib import Path

import pytest

import supplycalc
from supplycalc.output.blocks import Figure
from supplycalc.output.drawing import Drawing, fold, text_width
from supplycalc.output.plot import Across, Series, nice_ticks, plot
from supplycalc.questions.report.page import report_page
from supplycalc.questions.report.study import report
from supplycalc.questions.report.tank_picture import tank_figure
from supplycalc.supply.far_tank import far_tanks_of
from supplycalc.units import show

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


def touching(drawing: Drawing) -> list[tuple[str, str]]:
    """Texts whose boxes overlap, and those that leave the sheet."""
    labels = list(drawing.labels)
    found = []
    for a, b in combinations(labels, 2):
        (left, top, right, bottom), other = a.box, b.box
        apart = (
            right <= other[0] + 0.01
            or other[2] <= left + 0.01
            or bottom <= other[1] + 0.01
            or other[3] <= top + 0.01
        )
        if not apart:
            found.append((a.text, b.text))
    for label in labels:
        left, top, right, bottom = label.box
        if left < 0 or top < 0 or right > drawing.width or bottom > drawing.height:
            found.append((label.text, "the edge"))
    return found


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_texts_of_the_figures_stand_apart(path: Path) -> None:
    """Bars, lines over each other, spans, riser diagram, plans, sections, in either unit system."""
    answers = report(supplycalc.load(path))
    figures = [
        block
        for system in ("us", "metric")
        for block in report_page(answers, system)
        if isinstance(block, Figure)
    ]

    assert len(figures) >= 6
    for figure in figures:
        for drawing in (figure.wide, figure.narrow):
            assert touching(drawing) == [], drawing.title
            assert drawing.description


def test_a_pressure_tank_holds_what_boyle_says() -> None:
    """172 gal charged to 48 psi: 172 (1 - 62.7 / 84.7) at 70 psi, 172 (1 - 62.7 / 64.7) at 50."""
    house = supplycalc.load(next(path for path in SCENARIOS if path.stem == "ridge-cottage"))
    figure = tank_figure(house, "us")
    assert figure is not None
    told = figure.wide.description

    air = 48 + 14.696
    full, empty = (172 * (1 - air / (psi + 14.696)) for psi in (70, 50))
    assert f"70.0 psi, the pump stops: {full:.1f} gal" in told
    assert f"50.0 psi, the pump starts: {empty:.1f} gal" in told
    assert f"{full - empty:.1f} gal can be drawn" in told
    answers = report(house)
    assert answers.well is not None
    assert answers.well.tank is not None
    assert answers.well.tank.cycles is not None
    usable = show(answers.well.tank.cycles.drawdown, "volume", "us")
    assert f"{usable} can be drawn" in told


def test_a_far_tank_stands_in_the_picture_by_its_own_pressures() -> None:
    """44 gal charged to 39 psi, 9.25 ft above the gauge: 45 and 65 psi there are 41.0 and 61.0."""
    by_name = {path.stem: path for path in SCENARIOS}
    design = report(supplycalc.load(by_name["two-wells-farm"])).design
    figure = tank_figure(design.house, "us", far_tanks_of(design.tree))
    assert figure is not None
    words = [label.text for label in figure.wide.labels]

    assert words.index("Pressure tank, 119 gal") < words.index("Barn tank, 44 gal")
    held = 44 * (1 - (39 + 14.696) / (60.99 + 14.696))
    assert f"61.0 psi, the pumps stop: {held:.1f} gal in it" in words


def test_an_open_tank_shows_its_floats_and_a_main_has_no_tank() -> None:
    """From full down to the inlet of the house's pump; one by gravity has an outlet."""
    by_name = {path.stem: supplycalc.load(path) for path in SCENARIOS}
    figure = tank_figure(by_name["weak-well-cistern"], "us")
    assert figure is not None

    words = [label.text for label in figure.wide.labels]
    assert words.index("Open tank") < words.index("-4 ft: the float starts the well's pump")
    assert "1,500 gal between full and lowest" in words
    gravity = tank_figure(by_name["hill-tank"], "us")
    assert gravity is not None
    assert "89 ft, lowest" in gravity.wide.description
    assert tank_figure(by_name["old-farmhouse"], "us") is None


def test_names_of_lines_that_end_together_are_spread() -> None:
    """Five lines and two levels that end in one point, on a phone."""
    lines = [
        Series(name=f"line {number} of the service", points=((0.0, 50.0), (100.0, 0.0)))
        for number in range(5)
    ]
    levels = [Across(name="needed", y=0.0), Across(name="cut-in", y=0.2)]
    drawing = plot("t", "d", lines, x_name="ft", y_name="psi", width=360.0, levels=levels)

    assert touching(drawing) == []


def test_ties_of_lines_that_end_at_one_height_do_not_cross() -> None:
    """The line that ends first has the upper name, whichever is thick."""
    lines = [
        Series(name="3/4", points=((0.0, 50.0), (120.0, 0.0)), thick=True),
        Series(name="1/2", points=((0.0, 50.0), (75.0, 0.0))),
        Series(name="1", points=((0.0, 50.0), (130.0, 0.0))),
    ]
    drawing = plot("t", "d", lines, x_name="ft", y_name="psi", width=640.0)
    names = [label for label in drawing.labels if label.text in ("1/2", "3/4", "1")]

    assert [label.text for label in sorted(names, key=lambda label: label.y)] == ["1/2", "3/4", "1"]


@pytest.mark.parametrize(("low", "high"), [(0.0, 50.0), (-24.0, 121.0), (0.0, 0.03), (3.0, 3.0)])
def test_ticks_are_round_and_span_the_numbers(low: float, high: float) -> None:
    """The first at or below, the last at or above; a few of them, equally apart."""
    ticks = nice_ticks(low, high)
    steps = {round(b - a, 9) for a, b in pairwise(ticks)}

    assert ticks[0] <= low + 1e-9
    assert ticks[-1] >= high - 1e-9
    assert len(ticks) <= 9
    assert len(steps) <= 1


def test_text_is_folded_to_a_width() -> None:
    """At blanks where it can, by force where it must, and nothing is lost."""
    text = "the far upstairs bath " + "x" * 80
    lines = fold(text, 100.0)

    assert all(text_width(line) <= 100.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
