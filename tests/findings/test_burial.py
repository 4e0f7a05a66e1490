"""Cover against IRC P2603.5 (12 in deep and 6 in below the frost line), and joints in a slab."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.model import House, Limits, Point
from tests.commands.files import SCENARIOS
from tests.findings.judging import INCH, findings_of, only, with_run
from tests.houses import cold_fixture, pipe, two_storey


def buried(cover: float, frost: float | None) -> House:
    """A service with a cover [in] in a place with a frost depth [in]."""
    limits = Limits(frost_depth=None if frost is None else frost * INCH)
    return with_run(two_storey(limits=limits), "service", buried=cover * INCH)


@pytest.mark.parametrize(
    ("cover", "frost", "level"),
    [
        (42.0, 36.0, None),
        (41.0, 36.0, "warn"),
        (36.0, 36.0, "warn"),
        (35.0, 36.0, "fail"),
        (12.0, 0.0, None),
        (11.0, 0.0, "warn"),
        (12.0, None, None),
        (11.0, None, "warn"),
        (12.0, 6.0, None),
    ],
)
def test_cover(cover: float, frost: float | None, level: str | None) -> None:
    """Above the frost line it fails, short of the code's depth it is a warning."""
    findings = findings_of(buried(cover, frost), "cover-too-shallow")

    assert [finding.level for finding in findings] == ([] if level is None else [level])
    if findings:
        needed = max(12.0, (frost or 0.0) + 6.0 if frost is not None else 12.0)
        assert findings[0].where == "service"
        assert findings[0].remedy_values[0][0] == pytest.approx(needed * INCH)
        assert findings[0].source is not None
        assert "P2603.5" in findings[0].source.text


def test_without_a_frost_depth_there_is_a_note() -> None:
    """Whether frost reaches the pipe cannot be judged then."""
    finding = only(buried(42.0, None), "frost-depth-unknown")

    assert finding.level == "note"
    assert finding.values[0] == pytest.approx((42.0 * INCH, "cover"))
    assert "interior wall" in finding.remedy
    assert findings_of(buried(42.0, None), "frost-rise") == []


def test_where_it_freezes_the_rise_is_noted() -> None:
    """Common practice: the line comes up inside, in an interior wall."""
    finding = only(buried(42.0, 36.0), "frost-rise")

    assert finding.level == "note"
    assert "interior wall" in finding.remedy
    assert finding.source is None
    assert findings_of(buried(42.0, 0.0), "frost-rise") == []
    assert findings_of(two_storey(), "frost-depth-unknown") == []


def test_pipe_under_a_slab_is_not_held_against_frost() -> None:
    """Embedded pipe lies under the house."""
    house = with_run(buried(8.0, 36.0), "service", embedded=True)

    assert findings_of(house, "cover-too-shallow") == []


@pytest.mark.parametrize(("joints", "warned"), [(0, False), (1, True)])
def test_a_joint_in_the_slab(joints: int, warned: bool) -> None:
    """Joints counted inside an embedded run are warned of, elsewhere they are nobody's matter."""
    embedded = with_run(two_storey(), "trunk", embedded=True, joints=joints)
    free = with_run(two_storey(), "trunk", joints=joints)

    assert [finding.level for finding in findings_of(embedded, "slab-joint")] == (
        ["warn"] if warned else []
    )
    assert findings_of(free, "slab-joint") == []


def test_two_embedded_runs_that_meet() -> None:
    """They make a joint; a change of material or size is named; above the floor it is none."""
    house = with_run(two_storey(), "trunk", embedded=True)
    house = with_run(
        house, "toilet cold", embedded=True, material="copper-l", joining="soldered", size="1/2"
    )
    above = House(
        **{
            **{name: getattr(house, name) for name in ("project", "source", "runs", "devices")},
            "fixtures": house.fixtures,
            "points": (Point(name="hall", elevation=0.4),),
        }
    )

    finding = only(house, "slab-joint")

    assert finding.level == "warn"
    assert "trunk" in finding.where
    assert "toilet cold" in finding.where
    assert "material" in finding.message
    assert findings_of(above, "slab-joint") == []


@pytest.mark.parametrize(("kind", "noted"), [("elbow-90", True), ("bend", False)])
def test_fittings_of_an_embedded_run_are_noted(kind: str, noted: bool) -> None:
    """An elbow is a joint unless it stands above the floor; a bend of the tube is none."""
    house = with_run(two_storey(), "trunk", embedded=True, fittings=((kind, 2),))

    assert len(findings_of(house, "slab-fittings")) == int(noted)


@pytest.mark.parametrize("frost", [36.0, None])
def test_a_line_to_the_barn_does_not_come_up_inside_the_house(frost: float | None) -> None:
    """It feeds outdoor taps alone: it ends in a hydrant below the frost, or is emptied."""
    plain = buried(42.0, frost)
    barn = pipe("barn line", "entry", "barn", 200.0, buried=48.0 * INCH)
    hydrant = cold_fixture("barn hydrant", "yard-hydrant", "barn", 6.0)
    house = replace(plain, runs=(*plain.runs, barn), fixtures=(*plain.fixtures, hydrant))

    if frost is None:
        remedy = only(house, "frost-depth-unknown").remedy
        assert "inside the heated house" in remedy
        assert "yard hydrant" in remedy
        return
    told = {finding.where: finding.remedy for finding in findings_of(house, "frost-rise")}
    assert set(told) == {"service", "barn line"}
    assert "inside the heated house" in told["service"]
    assert "house" not in told["barn line"]
    assert "hydrant that drains itself into gravel" in told["barn line"]


def test_only_the_last_piece_of_a_line_comes_up() -> None:
    """Its inner pieces meet in the trench; the well's line comes up at the tank."""
    finding = only(sc.load(SCENARIOS / "ridge-line.toml"), "frost-rise")

    assert finding.where == "trench pipe and ridge line 4"
    assert "on their way up they pass" in finding.message
