"""Properties of tanks and cycling that hold for every size, charge and switch."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.supply.supply_curve import SupplyCurve
from supplycalc.supply.tank import (
    Vessel,
    cycling,
    drawdown,
    fill_time,
    starts_per_hour,
    water_held,
)
from supplycalc.units import HOUR, PSI
from tests.houses import GPM
from tests.supply.stations import GALLON

VOLUMES = st.floats(2.0, 500.0).map(lambda gallons: gallons * GALLON)
AIRS = st.floats(70e3, 102e3)


@st.composite
def vessels(draw: st.DrawFn) -> Vessel:
    """A tank whose charge is below cut-in."""
    cut_in = draw(st.floats(15.0, 70.0))
    return Vessel(
        volume=draw(VOLUMES),
        precharge=draw(st.floats(0.0, 1.0)) * cut_in * PSI,
        cut_in=cut_in * PSI,
        cut_out=(cut_in + draw(st.floats(5.0, 30.0))) * PSI,
        atmosphere=draw(AIRS),
    )


@st.composite
def curves(draw: st.DrawFn) -> SupplyCurve:
    """A falling curve that reaches well above any switch here."""
    flows = [0.0]
    pressures = [draw(st.floats(110.0, 200.0)) * PSI]
    for _ in range(draw(st.integers(2, 8))):
        flows.append(flows[-1] + draw(st.floats(0.5, 5.0)) * GPM)
        pressures.append(pressures[-1] - draw(st.floats(2.0, 60.0)) * PSI)
    return SupplyCurve(flow=tuple(flows), pressure=tuple(pressures))


@given(vessels())
def test_drawdown_is_less_than_what_is_held(vessel: Vessel) -> None:
    """And both are less than the tank; drawdown goes with the volume."""
    held = water_held(vessel.volume, vessel.precharge, vessel.cut_out, vessel.atmosphere)

    assert 0.0 < vessel.drawdown <= held < vessel.volume
    of_unit_volume = replace(vessel, volume=1.0).drawdown
    assert vessel.drawdown / of_unit_volume == pytest.approx(vessel.volume, rel=1e-9)


@given(vessels(), st.floats(0.0, 0.99))
def test_the_best_charge_is_cut_in(vessel: Vessel, share: float) -> None:
    """Less charge, less drawdown: it goes with the absolute charge."""
    least = drawdown(
        vessel.volume, share * vessel.precharge, vessel.cut_in, vessel.cut_out, vessel.atmosphere
    )
    ratio = (share * vessel.precharge + vessel.atmosphere) / (vessel.precharge + vessel.atmosphere)

    assert least == pytest.approx(ratio * vessel.drawdown, rel=1e-9)


@settings(deadline=None)
@given(vessels(), curves(), st.floats(1.01, 5.0))
def test_a_larger_tank_runs_longer_and_starts_less(
    vessel: Vessel, curve: SupplyCurve, factor: float
) -> None:
    """Both in proportion to the volume."""
    small, large = (
        cycling(replace(vessel, volume=volume), curve)
        for volume in (vessel.volume, factor * vessel.volume)
    )
    if math.isinf(small.run_time):
        assert math.isinf(large.run_time)
        return
    assert large.run_time == pytest.approx(factor * small.run_time, rel=1e-9)
    assert large.starts_per_hour == pytest.approx(small.starts_per_hour / factor, rel=1e-6)


@settings(deadline=None)
@given(vessels(), curves(), st.floats(0.0, 0.98), st.floats(0.0, 0.98))
def test_more_draw_fills_slower(
    vessel: Vessel, curve: SupplyCurve, share: float, other: float
) -> None:
    """Filling time rises with the draw, and stays between the extremes of net flow."""
    most = curve.flow_at(vessel.cut_out)
    low, high = sorted((share * most, other * most))
    times = [fill_time(vessel, curve, flow) for flow in (low, high)]
    if most <= 0.0:
        assert times == [math.inf, math.inf]
        return

    assert times[0] <= times[1] * (1.0 + 1e-9)
    assert times[0] >= vessel.drawdown / (curve.flow_at(vessel.cut_in) - low) * (1.0 - 1e-9)
    assert times[0] <= vessel.drawdown / (most - low) * (1.0 + 1e-9)
    assert starts_per_hour(vessel, curve, low) <= HOUR / times[0] * (1.0 + 1e-9)
