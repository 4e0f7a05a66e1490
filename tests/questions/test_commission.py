"""What a house asks for before it is used: each figure from the law it rests on."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.hydraulics.water import density
from supplycalc.model import Device, House, Tank
from supplycalc.questions.commission.study import CommissionStudy, commission
from supplycalc.tables import GALLON
from supplycalc.units import FOOT, INCH, PSI
from tests.commands.files import SCENARIOS, cottage

ATMOSPHERE = 101325.0


def scenario(stem: str) -> House:
    """A shipped house."""
    return sc.load(SCENARIOS / f"{stem}.toml")


@pytest.fixture(scope="module")
def slow() -> CommissionStudy:
    """A weak well of 6 inch, 245 ft deep with water at 70 ft; here at the sea's level."""
    house = scenario("slow-well")
    return commission(replace(house, source=replace(house.source, altitude=0.0)))


def with_device(house: House, kind: str, before: str) -> House:
    """The house with a device between a device's inlet and what feeds it."""
    moved = [
        replace(device, start="behind it") if device.name == before else device
        for device in house.devices
    ]
    start = next(device.start for device in house.devices if device.name == before)
    added = Device(name="new valve", kind=kind, start=start, end="behind it")
    return replace(house, devices=(*moved, added))


def test_the_wells_water_is_its_casings(slow: CommissionStudy) -> None:
    """pi/4 d2 times the water's depth; its bleach goes with strength over per cent."""
    well = next(part for part in slow.water if part.of == "well")
    water = math.pi / 4.0 * (6 * INCH) ** 2 * (245 - 70) * FOOT
    dose = slow.dose("well")

    assert well.volume == pytest.approx(water, rel=1e-9)
    assert well.note == ""
    assert dose.water == well.volume
    assert [it.volume for it in dose.bleach] == pytest.approx(
        [water * 100e-6 / (it.percent / 100.0) for it in dose.bleach], rel=1e-9
    )


def test_a_tank_is_as_full_as_the_pump_fills_it(slow: CommissionStudy) -> None:
    """Boyle's law from the air charge to cut-out; pipes and heater beside it make the house's."""
    tank, house = slow.house.source.tank, slow.house
    assert tank is not None
    assert tank.volume is not None
    charge = tank.precharge or (house.source.cut_in or 0.0) - 2 * PSI
    cut_out = house.source.cut_out or 0.0
    held = tank.volume * (1.0 - (charge + ATMOSPHERE) / (cut_out + ATMOSPHERE))
    parts = {part.name: part.volume for part in slow.water}
    rest = sum(volume or 0.0 for name, volume in parts.items() if name != "well")

    assert parts[tank.name] == pytest.approx(held, rel=1e-3)
    assert slow.dose("house").water == pytest.approx(rest)


def test_a_planned_fixtures_pipe_is_not_there_yet() -> None:
    """It is neither filled nor flushed."""
    house = scenario("ridge-cottage")
    first, *others = house.fixtures
    planned = replace(house, fixtures=(replace(first, planned=True), *others))
    now, then = commission(house), commission(planned)

    assert then.dose("house").water < now.dose("house").water
    assert not any(first.name in outlet.name for outlet in then.flushing.outlets)


def test_a_heater_grows_into_the_pressure_tank(slow: CommissionStudy) -> None:
    """By the densities of cold and hot water; the tank's air is squeezed by so much."""
    (heater,) = slow.expansions
    tank, water = slow.house.source.tank, slow.house.water
    assert tank is not None
    assert tank.volume is not None
    grows = heater.volume * (density(water.cold) / density(water.hot) - 1.0)
    cut_out = (slow.house.source.cut_out or 0.0) + ATMOSPHERE
    held = next(part.volume for part in slow.water if part.name == tank.name)
    air = tank.volume - (held or 0.0)

    assert heater.volume == pytest.approx(50 * GALLON)
    assert heater.volume_assumed
    assert heater.closed_by == ()
    assert heater.taken_by == tank.name
    assert heater.grows == pytest.approx(grows)
    assert heater.reaches is not None
    assert heater.reaches - heater.at_rest == pytest.approx(
        cut_out * air / (air - grows) - cut_out, rel=1e-3
    )


def test_a_check_valve_shuts_the_heater_in() -> None:
    """Then an expansion tank is needed, by Boyle's law between rest and the highest allowed."""
    study = commission(with_device(scenario("orchard-house"), "check", "water heater"))
    (heater,) = study.expansions
    ends = [pressure + ATMOSPHERE for pressure in (heater.at_rest, heater.most)]

    assert heater.closed_by == ("new valve",)
    assert heater.taken_by == ""
    assert heater.reaches == heater.relief
    assert heater.tank == pytest.approx(heater.grows / (1.0 - ends[0] / ends[1]), rel=1e-6)
    assert heater.charge == pytest.approx(heater.at_rest)
    assert "expansion-closed" in {finding.code for finding in study.findings}
    assert any("expansion tank at" in setting.what for setting in study.settings)


def test_a_second_tank_behind_the_valve_takes_it() -> None:
    """What stands on the heater's side leaves its water room."""
    house = with_device(scenario("orchard-house"), "check", "water heater")
    assert house.source.tank is not None
    far = replace(house.source.tank, name="far tank", at="behind it")
    study = commission(replace(house, far_tanks=(far,)))

    assert study.expansions[0].closed_by == ()
    assert "far tank" in study.isolated


def test_a_small_tank_has_little_room() -> None:
    """Two gallons do not take what 50 gal grow by: warned of, never beyond the relief valve."""
    house = scenario("orchard-house")
    assert house.source.tank is not None
    tank = replace(house.source.tank, volume=2 * GALLON)
    study = commission(replace(house, source=replace(house.source, tank=tank)))
    told = next(finding for finding in study.findings if finding.code == "expansion-high")

    assert told.level == "warn"
    assert max(value for value, _ in told.values) <= study.expansions[0].relief


def test_outlets_are_flushed_from_below_and_the_farthest_first(slow: CommissionStudy) -> None:
    """Cold before hot; storey by storey; none is left out."""
    cold = [it for it in slow.flushing.outlets if not it.name.endswith("(hot)")]
    levels = [it.level for it in cold]

    assert len(slow.flushing.outlets) == len(slow.design.outlets)
    assert levels == sorted(levels, key=["ground floor", "upper floor"].index)
    for level in set(levels):
        lengths = [it.length for it in cold if it.level == level]
        assert lengths == sorted(lengths, reverse=True)


def test_a_mains_speed_is_flow_over_area(slow: CommissionStudy) -> None:
    """And three times its water runs in the time told."""
    for main in slow.flushing.mains:
        area = math.pi / 4.0 * main.result.inside_diameter**2
        assert main.velocity == pytest.approx(main.flow / area)
        assert main.needed == pytest.approx(3.0 * FOOT * area)
        assert main.time == pytest.approx(3.0 * area * main.result.length / main.flow)


def test_the_far_outlet_reads_what_flow_says(slow: CommissionStudy) -> None:
    """The same outlet, alone, at the same gauge."""
    name = slow.design.worst.fixture.name
    reading = next(it for it in slow.readings if it.what.startswith(f"{name} alone"))

    assert reading.flow == pytest.approx(sc.flow(slow.house, [name]).outlets[0].flow)


def test_old_pipe_is_not_burst_by_the_test() -> None:
    """What lies there already is told of."""
    house = scenario("ridge-cottage")
    runs = tuple(
        replace(run, existing=True, size="1") if run.name == "service" else run
        for run in house.runs
    )
    codes = {finding.code for finding in commission(replace(house, runs=runs)).findings}

    assert "test-existing" in codes
    assert "test-existing" not in {it.code for it in commission(house).findings}


def test_pipe_rated_below_the_test_is_told_of(tmp_path: Path) -> None:
    """A main of 230 psi in tube for 160."""
    house = scenario("valley-house")
    source = replace(house.source, static=230 * PSI, residual=200 * PSI)
    limits = replace(house.limits, max_static=300 * PSI)
    runs = tuple(
        replace(run, material="pex-sdr9", joining="crimp", size="1", sizes=())
        if run.name == "service"
        else run
        for run in house.runs
    )
    study = commission(replace(house, source=source, limits=limits, runs=runs))

    told = next(finding for finding in study.findings if finding.code == "test-over-rating")
    assert told.where == "service"


def test_tank_and_switch_are_set_by_the_trades_rule(tmp_path: Path) -> None:
    """Air 2 psi below cut-in, whatever the file has; the wrong charge is told of."""
    house = sc.load(cottage(tmp_path, cut_in="40 psi"))
    tank = Tank(volume=40 * GALLON, precharge=30 * PSI)
    study = commission(replace(house, source=replace(house.source, tank=tank)))
    settings = {setting.what: setting.pressure for setting in study.settings}

    assert settings["air in the pressure tank"] == pytest.approx(38 * PSI)
    assert settings["relief valve at the tank"] == pytest.approx(70 * PSI)
    assert "precharge" in {finding.code for finding in study.findings}


def test_an_air_charge_that_suits_stays_as_the_file_has_it() -> None:
    """2.0 bar where the rule says 1.96; one that does not suit is set by the rule."""
    house = scenario("cistern-booster")
    tank = house.source.tank
    assert tank is not None
    far_off = replace(house, source=replace(house.source, tank=replace(tank, precharge=1.0e5)))

    def charge(case: House) -> float | None:
        return next(it.pressure for it in commission(case).settings if "air in" in it.what)

    assert charge(house) == pytest.approx(2.0e5)
    assert charge(far_off) == pytest.approx(1.96e5)
