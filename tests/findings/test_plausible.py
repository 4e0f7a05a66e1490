"""What can hardly be meant: pipe shorter than its rise (geometry), a source in a wrong unit."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Device, Loss, Point, Well
from tests.findings.judging import GPM, PSI, findings_of, only, sized
from tests.houses import FOOT, cold_fixture, pipe, two_storey, well


def test_pipe_that_cannot_reach_is_told_with_both_figures() -> None:
    """12 ft of pipe from a point at 0 ft do not reach an outlet at 20 ft, whatever its route."""
    house = two_storey()
    landing = Point(name="landing", elevation=0.0)
    attic = cold_fixture("attic basin", "lavatory", "landing", 12.0, elevation=20 * FOOT)
    house = replace(
        house,
        points=(*house.points, landing),
        runs=(*house.runs, pipe("landing run", house.runs[0].end, "landing", 60.0)),
    )
    fine = sized(replace(house, fixtures=(*house.fixtures, replace(attic, elevation=14 * FOOT))))
    assert findings_of(fine, "length-below-rise") == []

    finding = only(sized(replace(house, fixtures=(*house.fixtures, attic))), "length-below-rise")
    assert finding.level == "warn"
    assert finding.where == "attic basin"
    assert "from landing cannot span" in finding.message
    assert [value for value, _ in finding.values] == pytest.approx([12 * FOOT, 20 * FOOT])


def test_the_whole_way_counts_where_no_height_is_stated_between() -> None:
    """Inherited heights are no statement: only the source is known, and the way is long enough."""
    house = two_storey()
    far = cold_fixture("attic basin", "lavatory", house.runs[0].end, 3.0, elevation=20 * FOOT)
    assert (
        findings_of(sized(replace(house, fixtures=(*house.fixtures, far))), "length-below-rise")
        == []
    )


@pytest.mark.parametrize(
    ("cut_in", "cut_out", "seen"), [(5.8, 8.7, 5.8), (580.0, 870.0, 870.0), (40.0, 60.0, None)]
)
def test_a_pressure_in_the_wrong_unit_is_asked_about(
    cut_in: float, cut_out: float, seen: float | None
) -> None:
    """40 kPa and 40 bar where 40 psi are meant; common practice, no source."""
    design = sized(two_storey(source=well(cut_in, cut_out)))
    if seen is None:
        assert findings_of(design, "source-unusual") == []
        return
    finding = only(design, "source-unusual")
    assert finding.values[0][0] == pytest.approx(seen * PSI)
    assert "unit" in finding.remedy


@pytest.mark.parametrize(
    ("inches", "feet", "told"), [(60, 140, True), (60, 30, False), (720, 140, False)]
)
def test_a_level_written_in_inches_is_asked_about(inches: int, feet: int, told: bool) -> None:
    """60 in where 60 ft are meant makes a lift of 5 ft; a dug well's pump hangs not far below."""
    bore = Well(static_level=inches * FOOT / 12, pump_depth=feet * FOOT)
    design = sized(two_storey(source=replace(well(), well=bore)))
    findings = findings_of(design, "level-unusual")
    assert [finding.where for finding in findings] == (["well"] if told else [])


@pytest.mark.parametrize(
    ("loss", "told"),
    [(Loss(constant=12 * PSI), True), (Loss(quadratic=12 * PSI, reference_flow=7 * GPM), False)],
)
def test_one_loss_at_every_flow_is_noted(loss: Loss, told: bool) -> None:
    """A softener is no spring: loss grows about with the square of flow (turbulent, textbook)."""
    house = two_storey()
    start = house.runs[0].end
    softener = Device(name="softener", kind="softener", start=start, end="soft", loss=loss)
    tap = cold_fixture("tap", "hose-bibb", "soft", 10.0)
    case = replace(house, devices=(*house.devices, softener), fixtures=(*house.fixtures, tap))
    findings = findings_of(sized(case), "constant-loss")
    assert [finding.where for finding in findings] == (["softener"] if told else [])
    assert all(finding.level == "note" for finding in findings)
