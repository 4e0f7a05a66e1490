"""Pump, tank charge (2 psi below cut-in, Water Systems Council) and closed systems."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Device, House, Loss, Pump, Tank, WaterSource, Well
from supplycalc.sizing.design import Design
from supplycalc.supply.supply_curve import flow_at_pressure
from tests.findings.judging import FOOT, GPM, PSI, findings_of, only, sized
from tests.houses import two_storey, well


def pumped(scale: float, tank: Tank | None = None, **more: object) -> Design:
    """A well with a pump curve scaled in flow."""
    curve = tuple(
        (scale * q * GPM, h * FOOT) for q, h in ((0, 240), (5, 220), (10, 180), (15, 100))
    )
    bored = Well(static_level=60.0 * FOOT, **more)  # type: ignore[arg-type]
    source = replace(well(), pump=Pump(curve=curve), well=bored, tank=tank)
    return sized(two_storey(source=source))


def test_a_curve_that_ends_too_early_is_warned_of() -> None:
    """Carried on from 9 gpm to cut-in a curve says nothing sure of a design flow beyond it; one
    that is known down to cut-in does, whether it is enough or not."""
    early = Pump(curve=((0.0, 240.0 * FOOT), (9.0 * GPM, 215.0 * FOOT)))
    bored = Well(static_level=60.0 * FOOT)
    short = sized(two_storey(source=replace(well(), pump=early, well=bored)))
    finding = only(short, "pump-beyond-curve")

    assert finding.level == "warn"
    assert finding.values[0][0] == pytest.approx(9.0 * GPM)
    assert finding.values[1][0] > 9.0 * GPM
    for scale in (0.8, 2.0):
        assert findings_of(pumped(scale), "pump-beyond-curve") == []


def test_a_main_known_at_rest_only_is_warned_of() -> None:
    """Without a residual the pressure at rest is no flowing pressure."""
    rest = replace(MAIN, static=60.0 * PSI, residual=None, residual_flow=None)

    assert only(two_storey(source=rest), "main-at-rest-only").level == "warn"
    assert findings_of(two_storey(source=MAIN), "main-at-rest-only") == []


def test_a_pump_short_of_the_peak_alone_is_warned_of() -> None:
    """7.9 gpm at cut-in is less than the code's peak and more than a gallon a minute for each of
    five outlets: a warning, pipe sized at cut-in, and what it is judged by is named: of the least
    asking rule and the largest outlet, here the garden tap, the larger."""
    design = pumped(0.8)
    finding = only(design, "pump-cannot-hold")
    assert design.pump is not None

    assert design.pump.state == "short-of-peak"
    assert finding.level == "warn"
    assert design.source.limited_by == "cut-in"
    assert design.source.design_pressure == 40.0 * PSI
    assert finding.values[0][0] == pytest.approx(40.0 * PSI)
    assert finding.values[1][0] == pytest.approx(design.demand.design_flow[0])
    assert 5.0 * GPM < finding.values[3][0] < design.demand.design_flow[0]
    assert "judged by what garden tap needs alone" in finding.message
    assert 5.0 in [pytest.approx(rule.flow / GPM) for rule in design.pump.rules]
    assert design.pump.needed_flow == pytest.approx(5.0 * GPM)
    assert design.pump.judged_by in design.verdict("us")


def test_a_pump_below_the_trade_s_own_rules_fails() -> None:
    """3 gpm at cut-in for five outlets, one of which asks for 4 by itself."""
    design = pumped(0.3)
    finding = only(design, "pump-cannot-hold")
    assert design.pump is not None

    assert design.pump.state == "too-small"
    assert finding.level == "fail"
    assert not design.ok
    assert design.source.design_pressure == 40.0 * PSI
    assert 0.0 < finding.values[3][0] < 4.0 * GPM
    assert "alone needs more" in finding.message
    assert design.verdict("us").startswith("Fails")


def test_a_pump_that_never_reaches_cut_in_fails() -> None:
    """60 ft of water and 40 psi ask for 152 ft; the pump has 100 at most."""
    low = Pump(curve=((0.0, 100.0 * FOOT), (20.0 * GPM, 40.0 * FOOT)))
    bored = Well(static_level=60.0 * FOOT)
    finding = only(two_storey(source=replace(well(), pump=low, well=bored)), "pump-cannot-hold")

    assert finding.level == "fail"
    assert "never reaches" in finding.message
    assert all(value >= 0.0 for value, _ in finding.values)


def test_the_duty_point_holds_the_lift() -> None:
    """Total head = 60 ft of lift + 40 psi (92.36 ft at 62.37 lb/ft3), no friction (MIL-HDBK-1164);
    without the water's level none is told and the level is asked for."""
    design = pumped(0.3)
    blind = sized(
        two_storey(source=replace(well(), pump=Pump(curve=((0.0, 60.0), (2.0 * GPM, 1.0)))))
    )
    assert design.pump is not None
    assert blind.pump is not None
    assert design.pump.duty_head is not None

    assert design.pump.duty_head / FOOT == pytest.approx(152.36, rel=1e-3)
    assert blind.pump.duty_head is None
    assert "static_level" in only(blind, "pump-cannot-hold").remedy


def test_a_curve_without_a_level_promises_nothing() -> None:
    """What a pump gives at cut-in from an unknown depth is at most what it gives from none."""
    strong = Pump(curve=((0.0, 240.0 * FOOT), (30.0 * GPM, 180.0 * FOOT)))
    design = sized(two_storey(source=replace(well(), pump=strong)))
    assert design.pump is not None

    assert design.pump.state == "not-known"
    assert design.pump.pump_flow is not None
    assert design.pump.pump_flow[0] == 0.0
    assert "static_level" in only(design, "pump-unknown").remedy


def test_a_weak_well_is_told_storage_and_no_other_pump() -> None:
    """A well of 3 gpm under five outlets: no finding asks for a larger or a smaller pump."""
    design = pumped(0.8, recovery=3.0 * GPM, pump_depth=150.0 * FOOT)
    remedies = [finding.remedy for finding in design.findings if finding.where == "pump"]

    assert len(remedies) >= 2
    assert all("store water" in text or "storage" in text for text in remedies)
    assert not any("smaller pump" in text or "larger pump," in text for text in remedies)


def test_how_long_tank_and_pump_carry_the_peak() -> None:
    """A full tank first gives its drawdown with the pump off, then what it holds below cut-in while
    the pump runs; water balance by hand, the pump's flow taken halfway, at 39 psi."""
    tank = Tank(volume=86.0 * 3.785411784e-3, precharge=38.0 * PSI)
    design = pumped(0.8, tank)
    pump = design.pump
    assert pump is not None
    assert pump.low_tank_time is not None
    assert pump.full_tank_time is not None
    air = (38.0 + 14.696) * 86.0
    drawdown = air / (40.0 + 14.696) - air / (60.0 + 14.696)
    below = 86.0 - air / (40.0 + 14.696)
    peak, gives = pump.design_flow / GPM, flow_at_pressure(design.house, 39.0 * PSI) / GPM

    assert pump.low_tank_time / 60.0 == pytest.approx(below / (peak - gives), rel=0.002)
    assert (pump.full_tank_time - pump.low_tank_time) / 60.0 == pytest.approx(
        drawdown / peak, rel=1e-4
    )


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
