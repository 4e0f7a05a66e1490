"""Device losses: each form's law, the ramp at rest, curves, and the reducing valve.

All device figures are invented unless a source is named.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from supplycalc.hydraulics.devices import (
    RAMP_FLOW,
    device_loss,
    device_loss_slope,
    device_loss_with_slope,
    device_losses,
    device_losses_with_slopes,
    valve_outlet_pressure,
    valve_outlet_pressures,
)
from supplycalc.model import Loss

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
    assert slope == device_loss_slope(loss, flow)
    assert slope == pytest.approx(difference / (2.0 * step), rel=1e-5, abs=4.0 * rounding + 1e-9)


@given(loss=losses, flow=st.lists(flows, min_size=1, max_size=8))
def test_arrays_equal_scalars(loss: Loss, flow: list[float]) -> None:
    """Losses and slopes of the array twins are the scalar ones to rounding."""
    found, slopes = device_losses_with_slopes(loss, flow)
    expected = [device_loss_with_slope(loss, q) for q in flow]

    assert found == pytest.approx([pair[0] for pair in expected], rel=1e-12)
    assert slopes == pytest.approx([pair[1] for pair in expected], rel=1e-12)
    assert device_losses(loss, flow).tolist() == found.tolist()


def test_constant_part_is_ramped_over_a_drip() -> None:
    """No jump at rest or at the ramp's end; in full from 0.06 L/min; below it never more."""
    constant = Loss(constant=50e3)

    assert device_loss(constant, 1e-12) == pytest.approx(0.0, abs=0.2)
    assert device_loss(constant, 0.5 * RAMP_FLOW) == pytest.approx(0.75 * 50e3)
    assert device_loss(constant, RAMP_FLOW * (1 - 1e-9)) == pytest.approx(50e3, rel=1e-12)
    assert device_loss(constant, RAMP_FLOW) == 50e3
    assert device_loss_slope(constant, 0.0) == pytest.approx(2 * 50e3 / RAMP_FLOW)
    assert device_loss_slope(constant, RAMP_FLOW) == 0.0
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


def test_reducing_valve_holds_then_falls_off_then_stands_open() -> None:
    """Set pressure at rest; 10 psi less at the fall-off flow; wide open where the inlet is low.

    The figures are representative of a 3/4 in valve: 10 psi at 12 gpm, 15 psi open at 20 gpm
    (common practice, no source).
    """
    wide_open = Loss(quadratic=15 * PSI, reference_flow=20 * GPM)
    valve = {"setting": 50 * PSI, "falloff": 10 * PSI, "falloff_flow": 12 * GPM}

    def outlet(inlet: float, gpm: float) -> float:
        found = valve_outlet_pressure(inlet * PSI, open_loss=wide_open, flow=gpm * GPM, **valve)
        return found / PSI

    assert outlet(90, 0) == pytest.approx(50)
    assert outlet(90, -5) == pytest.approx(50)
    assert outlet(90, 12) == pytest.approx(40)
    assert outlet(90, 6) == pytest.approx(50 - 10 * 0.5**0.7)
    assert outlet(40, 0) == pytest.approx(40)
    assert outlet(40, 20) == pytest.approx(25)
    array = valve_outlet_pressures(
        [90 * PSI, 40 * PSI], open_loss=wide_open, flow=[12 * GPM, 20 * GPM], **valve
    )
    assert array / PSI == pytest.approx([40, 25])


@given(flow=st.floats(0.0, 3e-3), more=st.floats(0.0, 1e-3), inlet=st.floats(0.0, 1e6))
def test_reducing_valve_never_gives_more_than_it_gets(
    flow: float, more: float, inlet: float
) -> None:
    """The outlet is never above inlet or setting, and never rises with flow."""

    def outlet(q: float) -> float:
        return valve_outlet_pressure(inlet, 4e5, 7e4, 7.5e-4, METER, q)

    assert outlet(flow) <= min(inlet, 4e5)
    assert outlet(flow + more) <= outlet(flow)
    assert math.isfinite(outlet(flow))
