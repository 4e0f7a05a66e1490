"""Pump, tank charge (2 psi below cut-in, Water Systems Council) and closed systems."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Device, House, Loss, Pump, Tank, WaterSource, Well
from supplycalc.sizing.design import Design
from tests.findings.judging import FOOT, GPM, PSI, findings_of, only, sized
from tests.houses import two_storey, well


def pumped(scale: float) -> Design:
    """A well with a pump curve scaled in flow."""
    curve = tuple(
        (scale * q * GPM, h * FOOT) for q, h in ((0, 240), (5, 220), (10, 180), (15, 100))
    )
    source = replace(well(), pump=Pump(curve=curve), well=Well(static_level=60.0 * FOOT))
    return sized(two_storey(source=source))


def test_a_curve_that_ends_too_early_is_warned_of() -> None:
    """A curve to 15 gpm says nothing of a design flow beyond; one to 30 gpm does."""
    short, long_ = pumped(0.8), pumped(2.0)
    finding = only(short, "pump-beyond-curve")

    assert finding.level == "warn"
    assert finding.values[0][0] == pytest.approx(12.0 * GPM)
    assert finding.values[1][0] > 12.0 * GPM
    assert findings_of(long_, "pump-beyond-curve") == []


def test_a_main_known_at_rest_only_is_warned_of() -> None:
    """Without a residual the pressure at rest is no flowing pressure."""
    rest = replace(MAIN, static=60.0 * PSI, residual=None, residual_flow=None)

    assert only(two_storey(source=rest), "main-at-rest-only").level == "warn"
    assert findings_of(two_storey(source=MAIN), "main-at-rest-only") == []


def test_a_small_pump_is_warned_of() -> None:
    """The warning says what the pump sinks to and what it holds at cut-in."""
    design = pumped(0.8)
    finding = only(design, "pump-cannot-hold")

    assert finding.level == "warn"
    assert design.source.limited_by == "pump"
    assert finding.values[0][0] == pytest.approx(design.demand.design_flow[0])
    assert finding.values[1][0] == pytest.approx(design.source.design_pressure)
    assert finding.values[1][0] < 40.0 * PSI
    assert finding.values[2][0] == pytest.approx(40.0 * PSI)
    assert 0.0 < finding.values[3][0] < design.demand.design_flow[0]


def test_a_pump_that_cannot_give_the_flow_fails() -> None:
    """Below 0 psi at the design flow no pressure is left: that is a failure, not a warning."""
    design = pumped(0.3)
    finding = only(design, "pump-cannot-hold")

    assert finding.level == "fail"
    assert design.source.design_pressure == 0.0
    assert finding.values[0][0] == pytest.approx(design.demand.design_flow[0])
    assert 0.0 < finding.values[2][0] < design.demand.design_flow[0]
    assert "at any pressure" in finding.message


def test_a_large_pump_is_not() -> None:
    """A pump that holds cut-in at the design flow needs no word."""
    design = pumped(2.0)

    assert findings_of(design, "pump-cannot-hold") == []
    assert findings_of(design, "pump-unknown") == []


@pytest.mark.parametrize(
    ("flow", "pressure", "code"),
    [
        (None, None, "pump-unknown"),
        (4.0, 40.0, "pump-cannot-hold"),
        (30.0, 40.0, None),
        (30.0, 20.0, "pump-unknown"),
        (4.0, 55.0, "pump-cannot-hold"),
    ],
)
def test_a_bucket_test_stands_in_for_a_curve(
    flow: float | None, pressure: float | None, code: str | None
) -> None:
    """4 gpm at cut-in cannot hold a house; 30 gpm can; 30 gpm at 20 psi says nothing of 40 psi."""
    pump = None
    if flow is not None and pressure is not None:
        pump = Pump(measured_flow=flow * GPM, measured_pressure=pressure * PSI)
    design = sized(two_storey(source=replace(well(), pump=pump)))
    codes = [code for code in ("pump-cannot-hold", "pump-unknown") if findings_of(design, code)]

    assert codes == ([] if code is None else [code])


@pytest.mark.parametrize(
    ("charge", "warned"),
    [(38.0, False), (37.0, False), (39.0, False), (36.5, True), (39.5, True), (42.0, True)],
)
def test_precharge(charge: float, warned: bool) -> None:
    """2 psi below cut-in is right, one psi either way is let pass (our own)."""
    source = replace(well(40.0, 60.0), tank=Tank(precharge=charge * PSI))

    findings = findings_of(two_storey(source=source), "precharge")

    assert [finding.level for finding in findings] == (["warn"] if warned else [])
    if warned:
        assert findings[0].remedy_values[0][0] == pytest.approx(38.0 * PSI)
        assert "drained" in findings[0].remedy


def test_a_constant_pressure_pump_has_its_own_precharge() -> None:
    """The rule of two psi is for a switch with cut-in and cut-out."""
    pump = Pump(kind="constant-pressure", set_pressure=50.0 * PSI)
    source = replace(well(40.0, 60.0), tank=Tank(precharge=30.0 * PSI), pump=pump)

    assert findings_of(two_storey(source=source), "precharge") == []


def with_device(kind: str, source: WaterSource, heater: str = "heater") -> House:
    """The house with a device after its service."""
    device = Device(
        name="extra",
        kind=kind,
        start="entry",
        end="after",
        loss=Loss(),
        setting=50.0 * PSI if kind == "pressure-reducing-valve" else None,
        elevation=0.0,
    )
    house = two_storey(source=source)
    heaters = tuple(replace(device, kind=heater) for device in house.devices)
    runs = (*house.runs[:1], *(replace(r, start="after") for r in house.runs[1:3]), house.runs[3])
    return replace(house, devices=(device, *heaters), runs=runs)


MAIN = WaterSource(kind="main", static=60.0 * PSI, residual=55.0 * PSI)


@pytest.mark.parametrize(
    ("kind", "source", "heater", "noted"),
    [
        ("check", MAIN, "heater", True),
        ("backflow-preventer", MAIN, "heater", True),
        ("pressure-reducing-valve", MAIN, "heater", True),
        ("meter", MAIN, "heater", True),
        ("softener", MAIN, "heater", False),
        ("check", MAIN, "tankless-heater", False),
        ("check", well(), "heater", True),
        ("meter", well(), "heater", False),
    ],
)
def test_closed_systems(kind: str, source: WaterSource, heater: str, noted: bool) -> None:
    """IRC P2903.4 (seen as Philadelphia P-607.3): what lets no water back closes it."""
    findings = findings_of(with_device(kind, source, heater), "thermal-expansion")

    assert [finding.level for finding in findings] == (["note"] if noted else [])
    if noted:
        assert "extra" in findings[0].message
        assert "relief valve" in findings[0].remedy
        assert findings[0].source is not None
        assert findings[0].source.check == "seen"


def test_a_valve_on_another_branch_closes_nothing() -> None:
    """Only what stands between source and heater counts."""
    house = two_storey(source=MAIN)
    device = Device(name="yard check", kind="check", start="entry", end="yard", loss=Loss())
    taps = tuple(
        replace(fixture, cold=replace(fixture.cold, start="yard"))
        if fixture.name == "garden tap" and fixture.cold is not None
        else fixture
        for fixture in house.fixtures
    )

    assert (
        findings_of(
            replace(house, devices=(*house.devices, device), fixtures=taps), "thermal-expansion"
        )
        == []
    )
