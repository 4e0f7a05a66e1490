"""Device losses: each form's law, the ramp at rest, curves, and the reducing valve.

All device figures are invented unless a source is named.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from supplycalc.hydraulics.devices import (
    RAMP_FLOW,
    device_loss,
    device_loss_with_slope,
    held_pressure,
)
from supplycalc.units import Loss

PSI = 6894.757293168
GPM = 3.785411784e-3 / 60.0

METER = Loss(quadratic=15.0 * PSI, reference_flow=20.0 * GPM)  # invented
SOFTENER = Loss(linear=6.0 * PSI, quadratic=6.0 * PSI, reference_flow=7.0 * GPM)  # invented
CHECK = Loss(constant=3.0 * PSI, quadratic=4.0 * PSI, reference_flow=30.0 * GPM)  # invented
CURVE = Loss(  # invented
    curve=((2 * GPM, 1.5 * PSI), (5 * GPM, 6 * PSI), (8 * GPM, 14 * PSI))
)
DIPPING = Loss(  # invented, the shape of a reduced-pressure assembly
    curve=((0.0, 9 * PSI), (10 * GPM, 12 * PSI), (20 * GPM, 11 * PSI), (30 * GPM, 13 * PSI))
)
EVERY = (METER, SOFTENER, CHECK, CURVE, DIPPING, Loss())


@st.composite
def curves(draw: st.DrawFn) -> Loss:
    """A loss by one to six points, flows in any order, losses not always rising."""
    flows = draw(st.lists(st.integers(0, 300), min_size=1, max_size=6, unique=True))
    return Loss(curve=tuple((q * 1e-5, draw(st.integers(0, 200)) * 1e3) for q in flows))


losses = st.one_of(st.sampled_from(EVERY), curves())
flows = st.floats(-5e-3, 5e-3)


def test_each_form_gives_its_value_at_the_reference_flow() -> None:
    """Constant, linear and quadratic parts add up."""
    assert device_loss(METER, 20 * GPM) == pytest.approx(15 * PSI)
    assert device_loss(METER, 10 * GPM) == pytest.approx(15 * PSI / 4)
    assert device_loss(SOFTENER, 7 * GPM) == pytest.approx(12 * PSI)
    assert device_loss(SOFTENER, 3.5 * GPM) == pytest.approx(4.5 * PSI)
    assert device_loss(CHECK, 30 * GPM) == pytest.approx(7 * PSI)
    assert device_loss(CHECK, 15 * GPM) == pytest.approx(4 * PSI)


@given(loss=losses, flow=flows)
def test_loss_is_odd_and_nothing_at_rest(loss: Loss, flow: float) -> None:
    """Zero flow loses exactly nothing, and turning the flow round turns the loss round."""
    assert device_loss(loss, 0.0) == 0.0
    assert device_loss(loss, -flow) == -device_loss(loss, flow)


@given(loss=losses, flow=flows, other=flows)
def test_loss_never_falls_with_flow(loss: Loss, flow: float, other: float) -> None:
    """Monotone over both signs, whatever points a curve has; 1e-12 is for rounding."""
    low, high = sorted((flow, other))

    assert device_loss(loss, low) <= device_loss(loss, high) + 1e-12 * abs(device_loss(loss, high))


@given(loss=losses, flow=flows)
def test_slope_is_the_derivative(loss: Loss, flow: float) -> None:
    """Central difference, away from a curve's points and the ramp, where the slope jumps.

    A relative step of 1e-5 truncates by n^3 1e-10/6 of the slope, for powers n up to 6 in these
    curves far below 1e-5; steeper pieces are left out. The absolute part is rounding of the loss.
    """
    size = abs(flow)
    marks = [RAMP_FLOW, *(point for point, _ in loss.curve)]
    assume(size > 1e-8 and all(abs(size / mark - 1.0) > 1e-3 for mark in marks if mark))
    value, slope = device_loss_with_slope(loss, flow)
    assume(slope * size <= 6.0 * abs(value) + 1e-9)
    step = 1e-5 * size
    difference = device_loss(loss, flow + step) - device_loss(loss, flow - step)
    rounding = 1e-15 * abs(value) / step

    assert slope >= 0.0
    assert slope == pytest.approx(difference / (2.0 * step), rel=1e-5, abs=4.0 * rounding + 1e-9)


@given(loss=losses, flow=st.lists(flows, max_size=8))
def test_arrays_equal_floats(loss: Loss, flow: list[float]) -> None:
    """Losses and slopes of an array of flows are those of floats, a power's last bit apart."""
    values, slopes = device_loss_with_slope(loss, np.array(flow))
    expected = [device_loss_with_slope(loss, each) for each in flow]

    assert values == pytest.approx([value for value, _ in expected], rel=1e-14, abs=0.0)
    assert slopes == pytest.approx([slope for _, slope in expected], rel=1e-14, abs=0.0)
    assert device_loss(loss, np.array(flow)).tolist() == values.tolist()


def test_constant_part_is_ramped_over_a_drip() -> None:
    """No jump at rest or at the ramp's end; in full from 0.06 L/min; below it never more."""
    constant = Loss(constant=50e3)

    assert device_loss(constant, 1e-12) == pytest.approx(0.0, abs=0.2)
    assert device_loss(constant, 0.5 * RAMP_FLOW) == pytest.approx(0.75 * 50e3)
    assert device_loss(constant, RAMP_FLOW * (1 - 1e-9)) == pytest.approx(50e3, rel=1e-12)
    assert device_loss(constant, RAMP_FLOW) == 50e3
    assert device_loss_with_slope(constant, 0.0)[1] == pytest.approx(2 * 50e3 / RAMP_FLOW)
    assert device_loss_with_slope(constant, RAMP_FLOW)[1] == 0.0
    litres_per_minute = RAMP_FLOW * 60e3
    assert litres_per_minute == pytest.approx(0.06)


@pytest.mark.parametrize("power", [1.0, 1.5, 1.85, 2.0])
def test_curve_follows_any_power_law_exactly(power: float) -> None:
    """Three points of a power law give that law between them and below the first."""
    curve = tuple((q * GPM, 2.0 * PSI * q**power) for q in (2.0, 5.0, 9.0))

    for q in (0.3, 1.0, 2.0, 3.3, 7.7, 9.0):
        assert device_loss(Loss(curve=curve), q * GPM) == pytest.approx(
            2.0 * PSI * q**power, rel=1e-12
        )


def test_curve_goes_through_its_points_and_on_with_the_square() -> None:
    """One point makes a quadratic; beyond the last point every curve is one."""
    for flow, value in CURVE.curve:
        assert device_loss(CURVE, flow) == pytest.approx(value, rel=1e-12)
    assert device_loss(CURVE, 16 * GPM) == pytest.approx(4 * 14 * PSI, rel=1e-12)
    single = Loss(curve=((7 * GPM, 12 * PSI),))
    assert device_loss(single, 3.5 * GPM) == pytest.approx(3 * PSI, rel=1e-12)
    assert device_loss(single, 14 * GPM) == pytest.approx(48 * PSI, rel=1e-12)


def test_curve_of_a_media_bed_is_met_between_its_points() -> None:
    """Points of linear + quadratic at 2, 4 and 7 gpm give the law between, at most 1.25 % high.

    A chord on logarithmic paper lies above a law whose local power grows from m to n by at most
    (n - m) ln(q2/q1)/8 of it: from 1.222 to 1.364 over 2 to 4 gpm that is 1.23 %.
    """
    points = tuple((q * GPM, device_loss(SOFTENER, q * GPM)) for q in (2.0, 4.0, 7.0))

    for q in (2.5, 3.0, 5.0, 6.0):
        excess = device_loss(Loss(curve=points), q * GPM) / device_loss(SOFTENER, q * GPM) - 1.0
        assert 0.0 < excess < 0.0125


def test_curve_starting_above_zero_is_a_constant_part_and_a_dip_is_filled() -> None:
    """9 psi at no flow counts from the first drip on; 11 psi after 12 psi is read as 12."""
    drip = RAMP_FLOW / (10 * GPM)  # of the way to the next point, along a line
    assert device_loss(DIPPING, RAMP_FLOW) == pytest.approx((9 + 3 * drip) * PSI, rel=1e-12)
    assert device_loss(DIPPING, 10 * GPM) == pytest.approx(12 * PSI, rel=1e-12)
    assert device_loss(DIPPING, 15 * GPM) == pytest.approx(12 * PSI, rel=1e-12)
    assert device_loss(DIPPING, 20 * GPM) == pytest.approx(12 * PSI, rel=1e-12)
    assert device_loss(DIPPING, 30 * GPM) == pytest.approx(13 * PSI, rel=1e-12)


def test_a_reducing_valve_falls_off_with_the_flow() -> None:
    """Set pressure at rest; 10 psi less at the fall-off flow, a power of it below.

    The figures are representative of a 3/4 in valve: 10 psi at 12 gpm (common practice, no source).
    """

    def held(gpm: float) -> float:
        return held_pressure(50 * PSI, 10 * PSI, 12 * GPM, gpm * GPM) / PSI

    assert held(0) == pytest.approx(50)
    assert held(12) == pytest.approx(40)
    assert held(6) == pytest.approx(50 - 10 * 0.5**0.7)
    flows = np.array([0.0, 12 * GPM])
    assert held_pressure(50 * PSI, 10 * PSI, 12 * GPM, flows) / PSI == pytest.approx([50, 40])


@given(flow=st.floats(0.0, 3e-3), more=st.floats(0.0, 1e-3))
def test_what_a_reducing_valve_holds_never_rises_with_flow(flow: float, more: float) -> None:
    """Nor is it above the setting."""
    held = held_pressure(4e5, 7e4, 7.5e-4, flow)

    assert held <= 4e5
    assert held_pressure(4e5, 7e4, 7.5e-4, flow + more) <= held
    assert math.isfinite(held)
