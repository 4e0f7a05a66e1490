"""The station as a whole: points, motors, constant pressure, suction."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.hydraulics.water import density, vapour_pressure
from supplycalc.model import Pump, Tank, Well
from supplycalc.supply.limits import (
    least_run_time,
    most_starts_per_day,
    most_starts_per_hour,
    tank_volumes,
    well_limit,
)
from supplycalc.supply.pump import pump_head
from supplycalc.supply.station import operating_point, pump_station, speed_for, usual_precharge
from supplycalc.supply.suction import practical_suction_lift, suction, suction_head_available
from supplycalc.supply.tank import SEA_LEVEL
from supplycalc.tables import to_si
from tests.houses import FOOT, GPM, PSI, drop_pipe, two_storey
from tests.supply.stations import CURVE, GALLON, house, well_station

HP = to_si(1.0, "hp")


def test_no_station_without_a_pump() -> None:
    """A main, a pump of which nothing is known, and no pump at all."""

    assert pump_station(two_storey()) is None
    assert pump_station(house(pump=Pump())) is None


def test_an_operating_point_adds_up() -> None:
    """Total head is lift, friction and pressure, and it is the pump's head at that flow.

    The supply curve is within 100 Pa of the curve: 0.01 m.
    """
    station = well_station(
        well=Well(static_level=20.0, specific_capacity=1.0 * GPM / FOOT),
        line=(drop_pipe(length=40.0),),
    )
    point = operating_point(station, "cut-in", 40.0 * PSI)
    weight = density(station.house.water.cold) * 9.80665

    assert point.total_head == pytest.approx(
        point.lift + point.friction_head + 40.0 * PSI / weight, rel=1e-12
    )
    assert point.total_head == pytest.approx(pump_head(station.pump, point.flow), abs=0.011)
    assert point.drawdown == pytest.approx(point.flow / (1.0 * GPM / FOOT), rel=1e-12)
    assert point.lift == pytest.approx(20.0 + point.drawdown, rel=1e-12)
    assert not operating_point(station, "beyond", 400.0 * PSI).reached


def test_charge_and_motor_where_the_file_is_silent() -> None:
    """2 psi below cut-in; 70 % of a held pressure; the next usual motor up."""
    station = well_station(tank=Tank(volume=44.0 * GALLON), pump=Pump(curve=CURVE))

    assert station.precharge_assumed
    assert station.precharge == pytest.approx(38.0 * PSI, rel=1e-12)
    assert station.motor_assumed
    assert station.motor_power / HP == pytest.approx(1.0, rel=1e-9)
    assert usual_precharge(55 * PSI, 60 * PSI, held=True) == pytest.approx(42 * PSI, rel=1e-12)


@pytest.mark.parametrize(
    ("horsepower", "starts", "daily", "minutes"),
    [(0.5, 15.0, 300, 1.0), (0.75, 15.0, 300, 1.0), (1.0, 7.5, 100, 2.0), (7.5, 7.5, 50, 2.0)],
)
def test_limits_of_cycling(horsepower: float, starts: float, daily: float, minutes: float) -> None:
    """By motor as the tables have it; a large flow asks for longer runs of a small motor too."""
    power = horsepower * HP

    assert most_starts_per_hour(power)[0] == starts
    assert most_starts_per_day(power)[0] == daily
    assert least_run_time(8.0 * GPM, power)[0] == minutes * 60.0
    assert least_run_time(25.0 * GPM, power)[0] == 120.0


def test_a_motor_in_kilowatts_is_the_same_motor() -> None:
    """0.56 kW is how 3/4 hp (0.559 kW) is written in metric; it is no larger motor."""
    assert most_starts_per_hour(560.0)[0] == most_starts_per_hour(0.75 * HP)[0] == 15.0
    assert most_starts_per_day(560.0)[0] == 300
    assert least_run_time(8.0 * GPM, 560.0)[0] == 60.0


def test_tank_volumes_ascend() -> None:
    """In both unit systems."""
    for metric in (False, True):
        volumes = tank_volumes(metric)
        assert list(volumes) == sorted(volumes)


def test_a_constant_pressure_pump_slows_down() -> None:
    """By the affinity laws the head at the found speed is what is needed; more flow, more speed."""
    pump = Pump(curve=CURVE, kind="constant-pressure", set_pressure=50.0 * PSI)
    station = well_station(pump=pump, tank=Tank(volume=10.0 * GALLON))
    slow, fast = speed_for(station, 0.0), speed_for(station, 8.0 * GPM)
    weight = density(station.house.water.cold) * 9.80665
    needed = 60.0 * FOOT + 50.0 * PSI / weight

    assert station.held
    assert slow < fast <= 1.0
    assert slow**2 * pump_head(pump, 0.0) == pytest.approx(needed, rel=1e-9)
    assert fast**2 * pump_head(pump, 8.0 * GPM / fast) == pytest.approx(needed, rel=1e-9)


def test_where_a_constant_pressure_pump_wakes() -> None:
    """At the file's cut-in where that is below the set pressure, else by the usual fall."""
    pump = Pump(curve=CURVE, kind="constant-pressure", set_pressure=50.0 * PSI)
    source = replace(house(pump=pump).source, cut_in=42.0 * PSI, cut_out=50.0 * PSI)
    early = pump_station(replace(house(pump=pump), source=source))
    usual = pump_station(replace(house(pump=pump), source=replace(source, cut_in=50.0 * PSI)))
    assert early is not None
    assert usual is not None

    assert early.cut_in == pytest.approx(42.0 * PSI, rel=1e-12)
    assert usual.cut_in == pytest.approx(45.0 * PSI, rel=1e-12)


def test_suction_of_a_jet_pump() -> None:
    """Lift from the pumping level to the pump, friction in the suction pipe, NPSH by definition."""
    pipe = drop_pipe(size="1-1/4", length=12.0)
    jet = Pump(curve=CURVE, kind="jet", elevation=1.0)
    well = Well(static_level=4.0, specific_capacity=6.0 * GPM / FOOT, elevation=0.5)
    station = well_station(pump=jet, well=well, suction=(pipe,))
    at_cut_in = suction(station)
    assert at_cut_in is not None
    flow = station.supply_curve.flow_at(40.0 * PSI)
    weight = density(station.house.water.cold) * 9.80665
    held = (SEA_LEVEL - vapour_pressure(station.house.water.cold)) / weight

    assert at_cut_in.lift == pytest.approx(0.5 + 4.0 + flow / (6.0 * GPM / FOOT), rel=1e-12)
    assert at_cut_in.available == pytest.approx(
        held - at_cut_in.lift - at_cut_in.friction_head, rel=1e-12
    )
    assert at_cut_in.limit == pytest.approx(25.0 * FOOT, rel=1e-6)
    assert at_cut_in.ok
    far = well_station(pump=jet, well=replace(well, static_level=8.0), suction=(pipe,))
    assert not suction(far).ok  # type: ignore[union-attr]
    needy = well_station(pump=replace(jet, npsh_required=8.0), well=well)
    assert not suction(needy).ok  # type: ignore[union-attr]


def test_no_suction_in_the_water() -> None:
    """A submersible, and a jet with its ejector in the well, do not suck."""
    well = Well(static_level=4.0, pump_depth=20.0)

    assert suction(well_station(well=well)) is None
    assert suction(well_station(pump=Pump(curve=CURVE, kind="jet"), well=well)) is None


def test_thin_air_takes_from_the_lift() -> None:
    """About 1.1 ft per 1000 ft; available head falls alike."""
    at_sea = practical_suction_lift(well_limit("suction-lift").value, 0.0)
    high = practical_suction_lift(well_limit("suction-lift").value, 1000.0 * FOOT)
    lost = suction_head_available(3.0, 0.0, 0.0, 283.15) - suction_head_available(
        3.0, 0.0, 1000.0 * FOOT, 283.15
    )

    assert (at_sea - high) / FOOT == pytest.approx(1.2, abs=0.1)
    assert lost == pytest.approx(at_sea - high, rel=1e-3)
