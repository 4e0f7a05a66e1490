"""Filling time and starts, held against numerical quadrature and the trade's simple rule."""

from __future__ import annotations

import itertools
import math

import pytest
from msgspec.structs import replace
from scipy.integrate import quad

from supplycalc.supply.supply_curve import SupplyCurve
from supplycalc.supply.tank import (
    Vessel,
    air_constant,
    cycling,
    fill_time,
    starts_per_hour,
    volume_for_run_time,
)
from tests.houses import GPM, PSI
from tests.supply.stations import GALLON, well_station


def by_quadrature(vessel: Vessel, curve: SupplyCurve, draw: float) -> float:
    """The filling time by an adaptive rule, piece by piece."""
    air = air_constant(vessel.volume, vessel.precharge, vessel.atmosphere)
    edges = sorted({vessel.cut_in, vessel.cut_out, *curve.pressure})
    edges = [p for p in edges if vessel.cut_in <= p <= vessel.cut_out]
    total = 0.0
    for low, high in itertools.pairwise(edges):
        ends = (air / (high + vessel.atmosphere), air / (low + vessel.atmosphere))
        total += quad(
            lambda u: 1.0 / (curve.flow_at(air / u - vessel.atmosphere) - draw), *ends,
            epsabs=0.0, epsrel=1e-11,
        )[0]  # fmt: skip
    return total


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, 0.999])
def test_filling_time_is_the_integral(share: float) -> None:
    """Closed form against quadrature, to the quadrature's own 1e-11 with room for rounding."""
    station = well_station()
    vessel = station.vessel
    assert vessel is not None
    curve = station.supply_curve
    draw = share * curve.flow_at(vessel.cut_out)

    time = fill_time(vessel, curve, draw)

    assert time == pytest.approx(by_quadrature(vessel, curve, draw), rel=1e-9)


def test_a_pump_that_never_gets_there_never_stops() -> None:
    """No finite time where the draw, or the pump's own weakness, keeps it below cut-out."""
    station = well_station()
    vessel = station.vessel
    assert vessel is not None
    curve = station.supply_curve

    assert fill_time(vessel, curve, curve.flow_at(vessel.cut_out)) == math.inf
    at_top = math.nextafter(curve.pressure[0], 0.0)
    assert fill_time(replace(vessel, cut_out=at_top), curve) == math.inf
    above = replace(vessel, cut_out=curve.pressure[0] + PSI)
    assert fill_time(above, curve) == math.inf
    assert cycling(above, curve).starts_per_hour == 0.0
    assert volume_for_run_time(above, curve, 60.0) == 0.0


def test_a_pump_of_constant_flow_follows_the_simple_rule() -> None:
    """With a nearly upright curve the most starts are a quarter of flow over drawdown."""
    flow = 10.0 * GPM
    upright = SupplyCurve(flow=(0.0, flow, flow * (1 + 1e-9)), pressure=(9e6, 8e6, -1e6))
    vessel = Vessel(
        volume=80.0 * GALLON, precharge=28 * PSI, cut_in=30 * PSI, cut_out=50 * PSI,
        atmosphere=14.7 * PSI,
    )  # fmt: skip
    cycles = cycling(vessel, upright)

    assert cycles.run_time == pytest.approx(vessel.drawdown / flow, rel=1e-6)
    assert cycles.worst_draw == pytest.approx(0.5 * flow, rel=1e-4)
    assert cycles.starts_per_hour == pytest.approx(3600.0 * 0.25 * flow / vessel.drawdown, rel=1e-6)


def test_the_worst_draw_is_the_worst() -> None:
    """No other steady draw starts the pump more often."""
    station = well_station()
    vessel = station.vessel
    assert vessel is not None
    curve = station.supply_curve
    cycles = cycling(vessel, curve)
    most = curve.flow_at(vessel.cut_out)

    for i in range(1, 60):
        assert starts_per_hour(vessel, curve, most * i / 60) <= cycles.starts_per_hour + 1e-9
    assert starts_per_hour(vessel, curve, 0.0) == 0.0


def test_run_time_goes_with_volume() -> None:
    """The volume asked for gives the run time asked for."""
    station = well_station()
    vessel = station.vessel
    assert vessel is not None
    curve = station.supply_curve
    volume = volume_for_run_time(vessel, curve, 90.0)

    assert fill_time(replace(vessel, volume=volume), curve) == pytest.approx(90.0, rel=1e-12)


def test_a_charge_above_cut_in_leaves_less() -> None:
    """The tank is empty before the pump starts: only the part above the charge counts."""
    station = well_station()
    vessel = station.vessel
    assert vessel is not None
    curve = station.supply_curve
    over = replace(vessel, precharge=45.0 * PSI)
    same = replace(vessel, precharge=45.0 * PSI, cut_in=45.0 * PSI)

    assert over.drawdown == same.drawdown
    assert fill_time(over, curve) == fill_time(same, curve)


def test_a_tank_that_holds_nothing_lets_the_pump_start_without_end() -> None:
    """An air charge at cut-out or above it."""
    station = well_station()
    vessel = station.vessel
    assert vessel is not None
    curve = station.supply_curve
    full = replace(vessel, precharge=vessel.cut_out)

    assert starts_per_hour(full, curve, 1e-5) == math.inf
    assert cycling(full, curve).starts_per_hour == math.inf
