"""The friction laws: their joints, their signs, their slopes, and arrays like floats."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.friction import Colebrook
from fluids.friction import friction_factor as library_factor
from hypothesis import given, settings
from hypothesis import strategies as st

from supplycalc.hydraulics import friction

WATER = (999.1, 1.12e-3)
roughnesses = st.floats(0.0, 0.05)
flows = st.floats(-5e-3, 5e-3)
inside_diameters = st.floats(0.005, 0.08)


def power(reynolds: float, relative_roughness: float) -> float:
    """d ln f/d ln Re."""
    return friction.factor_reynolds(reynolds, relative_roughness)[1]


def test_laminar_and_turbulent_are_the_librarys() -> None:
    """Up to Re 2000 and from Re 4000 the factor is that of `fluids`."""
    for relative_roughness in (0.0, 1e-6, 1e-4, 3e-3, 0.05):
        for reynolds in (1e-3, 1.0, 640.0, 1999.0, 4000.0, 4001.0, 2e4, 1e6, 1e8):
            expected = library_factor(reynolds, relative_roughness)
            product = friction.factor_reynolds(reynolds, relative_roughness)[0]
            assert product == (expected * reynolds if reynolds >= 4000.0 else 64.0)
            # (f Re)/Re: the last bit of f may go
            assert friction.friction_factor(reynolds, relative_roughness) == pytest.approx(
                expected, rel=2.3e-16
            )


def test_turbulent_factor_solves_colebrook() -> None:
    """1/sqrt(f) = -2 log10(e/3.7 + 2.51/(Re sqrt f)) holds to rounding, by formula and library."""
    for relative_roughness in (0.0, 1e-5, 1e-3, 0.05):
        for reynolds in (4000.0, 3.3e4, 1e7):
            f = friction.friction_factor(reynolds, relative_roughness)
            x = f**-0.5

            assert x == pytest.approx(
                -2.0 * math.log10(relative_roughness / 3.7 + 2.51 * x / reynolds), rel=1e-13
            )
            assert f == pytest.approx(Colebrook(reynolds, relative_roughness), rel=1e-9)


@pytest.mark.parametrize("limit", [2000.0, 4000.0])
@given(relative_roughness=roughnesses)
def test_the_passage_meets_both_ends_in_value_and_slope(
    limit: float, relative_roughness: float
) -> None:
    """Across each limit neither the factor nor its derivative jumps.

    1e-7 of Re apart, the factor may change by 2e-7 of itself at the steepest (|d ln f/d ln Re| is
    at most 2 there) and the power by 1e-5 (|d power/d ln Re| stays below 20).
    """
    below, above = limit * (1.0 - 1e-7), limit * (1.0 + 1e-7)

    assert friction.friction_factor(above, relative_roughness) == pytest.approx(
        friction.friction_factor(below, relative_roughness), rel=4e-7
    )
    assert power(above, relative_roughness) == pytest.approx(
        power(below, relative_roughness), abs=1e-5
    )


@given(relative_roughness=roughnesses, reynolds=st.floats(10.0, 1e7))
def test_the_power_is_the_derivative_of_the_factor(
    relative_roughness: float, reynolds: float
) -> None:
    """d ln f/d ln Re by implicit differentiation equals a central difference.

    Step 1e-4 in ln Re: truncation below 1e-6 (third derivatives of order 10 in the passage), except
    across a limit, where the second derivative jumps by up to 10 and costs 1e-3.
    """
    step = 1e-4
    near_limit = any(abs(math.log(reynolds / limit)) < 2.0 * step for limit in (2000.0, 4000.0))
    higher = friction.friction_factor(reynolds * math.exp(step), relative_roughness)
    lower = friction.friction_factor(reynolds * math.exp(-step), relative_roughness)

    assert power(reynolds, relative_roughness) == pytest.approx(
        math.log(higher / lower) / (2.0 * step), abs=1e-3 if near_limit else 1e-6
    )


@settings(max_examples=60)
@given(relative_roughness=roughnesses)
def test_loss_rises_strictly_with_flow(relative_roughness: float) -> None:
    """f Re^2, which the loss goes with, rises everywhere: d ln f/d ln Re never gets to -2.

    In the passage the power is a quadratic in ln Re, so 400 points of it leave nothing unseen; at
    its ends it is -1 and Colebrook's, and between them it is never below -1.
    """
    reynolds = np.geomspace(500.0, 1e6, 4000)
    passage = np.geomspace(2000.0, 4000.0, 400)
    factors = friction.friction_factor(reynolds, relative_roughness)
    powers = friction.factor_reynolds(passage, relative_roughness)[1]

    assert np.all(np.diff(factors * reynolds**2) > 0.0)
    assert np.min(powers) >= -1.0 - 1e-9


def test_arrays_equal_floats_over_the_whole_chart() -> None:
    """4,000 points: at rest, and Re 1 to 1e9, roughness 0 to 0.1.

    numpy's logarithm may differ from that of floats in the last bit.
    """
    generator = np.random.default_rng(7)
    reynolds = 10.0 ** generator.uniform(0.0, 9.0, 4_000)
    reynolds[:3] = 0.0
    relative_roughness = 10.0 ** generator.uniform(-8.0, -1.0, 4_000)
    relative_roughness[::7] = 0.0
    pairs = zip(reynolds.tolist(), relative_roughness.tolist(), strict=True)
    expected = [friction.factor_reynolds(*pair) for pair in pairs]

    products, powers = friction.factor_reynolds(reynolds, relative_roughness)

    assert products == pytest.approx([product for product, _ in expected], rel=1e-14)
    assert powers == pytest.approx([power for _, power in expected], rel=1e-13)


@given(flow=flows, diameter=inside_diameters, relative_roughness=st.floats(0.0, 0.02))
def test_gradients_of_arrays_equal_those_of_floats(
    flow: float, diameter: float, relative_roughness: float
) -> None:
    """Loss and slope to rounding (numpy's powers may differ in the last bit)."""
    arguments = (diameter, diameter * relative_roughness, *WATER)
    loss, slope = friction.pressure_gradient_with_slope(flow, *arguments)
    losses, slopes = friction.pressure_gradient_with_slope(np.array([flow]), *arguments)

    assert losses == pytest.approx([loss], rel=1e-14, abs=0.0)
    assert slopes == pytest.approx([slope], rel=1e-14, abs=0.0)
    assert friction.pressure_gradient(flow, *arguments) == loss


@given(flow=flows, diameter=inside_diameters, relative_roughness=st.floats(0.0, 0.02))
def test_loss_is_odd_and_its_slope_is_even_and_positive(
    flow: float, diameter: float, relative_roughness: float
) -> None:
    """Turning the flow round turns the loss round, and nothing else."""
    rest = (diameter, diameter * relative_roughness, *WATER)
    forward = friction.pressure_gradient_with_slope(flow, *rest)
    backward = friction.pressure_gradient_with_slope(-flow, *rest)

    assert forward[0] == -backward[0]
    assert forward[1] == backward[1] > 0.0


def test_zero_flow_loses_exactly_nothing() -> None:
    """No division by zero, no rounding: 0.0, with the laminar slope 128 mu/(pi D^4)."""
    slope = 128.0 * WATER[1] / (math.pi * 0.02**4)

    assert friction.pressure_gradient(0.0, 0.02, 1.5e-6, *WATER) == 0.0
    flows = np.array([0.0, -0.0])
    assert friction.pressure_gradient(flows, 0.02, 1.5e-6, *WATER).tolist() == [0.0, 0.0]
    assert friction.pressure_gradient_with_slope(0.0, 0.02, 1.5e-6, *WATER)[1] == pytest.approx(
        slope
    )
    assert friction.hazen_williams_gradient(0.0, 0.02, 150.0) == 0.0
    assert friction.hazen_williams_slope(0.0, 0.02, 150.0) == 0.0


def test_laminar_loss_is_hagen_poiseuille() -> None:
    """128 mu Q/(pi D^4), whatever the roughness."""
    flow, diameter = 1e-5, 0.02
    expected = 128.0 * WATER[1] * flow / (math.pi * diameter**4)

    for roughness in (0.0, 1e-3):
        gradient = friction.pressure_gradient(flow, diameter, roughness, *WATER)
        assert gradient == pytest.approx(expected, rel=1e-14)


def test_shapes_broadcast_and_results_keep_them() -> None:
    """Pipes by variants: a column of diameters against a row of flows; nothing is written into."""
    flow = np.linspace(-1e-3, 1e-3, 501)
    before = flow.copy()
    diameter = np.array([[0.01], [0.02], [0.03]])
    losses, slopes = friction.pressure_gradient_with_slope(flow, diameter, 1.5e-6, *WATER)

    assert losses.shape == slopes.shape == (3, 501)
    assert losses[1, 400] == pytest.approx(
        friction.pressure_gradient(float(flow[400]), 0.02, 1.5e-6, *WATER), rel=1e-12
    )
    assert np.array_equal(flow, before)
    assert friction.friction_factor(np.array([]), 0.0).shape == (0,)
    assert friction.friction_factor(2e5, np.zeros(4)).shape == (4,)


@given(flow=flows, diameter=inside_diameters, c=st.floats(60.0, 160.0))
def test_hazen_williams_is_odd_and_takes_arrays(flow: float, diameter: float, c: float) -> None:
    """An array gives what floats give, the law is odd, and its slope is 1.852 loss/flow."""
    loss = friction.hazen_williams_gradient(flow, diameter, c)
    slope = friction.hazen_williams_slope(flow, diameter, c)

    array = np.array([flow])
    assert friction.hazen_williams_gradient(array, diameter, c) == pytest.approx([loss], rel=1e-13)
    assert friction.hazen_williams_slope(array, diameter, c) == pytest.approx([slope], rel=1e-13)
    assert friction.hazen_williams_gradient(-flow, diameter, c) == -loss
    assert slope * flow == pytest.approx(1.852 * loss, rel=1e-12, abs=1e-300)


def test_hazen_williams_forms_differ_by_what_the_docstring_says() -> None:
    """10 gpm, 0.671 in, C 150: the US forms 4.52 and 0.2083 give up to 0.7 % more than the SI form.

    The three forms' constants are from memory.
    """
    gpm, inch, psi_per_100_ft = 3.785411784e-3 / 60.0, 0.0254, 6894.757293 / 30.48
    ours = friction.hazen_williams_gradient(10 * gpm, 0.671 * inch, 150.0) / psi_per_100_ft
    handbook = 100.0 * 4.52 * 10**1.85 / (150.0**1.85 * 0.671**4.87)
    head = 0.433 * 0.2083 * (100.0 / 150.0) ** 1.852 * 10**1.852 / 0.671**4.8655

    assert 0.0 < max(handbook, head) / ours - 1.0 < 0.0075


@given(flow=flows, diameter=inside_diameters)
def test_velocity_times_area_is_flow(flow: float, diameter: float) -> None:
    """A float and an array alike."""
    speed = friction.velocity(flow, diameter)

    assert speed * math.pi * diameter**2 / 4.0 == pytest.approx(flow, rel=1e-14)
    assert friction.flow_area(diameter) == pytest.approx(math.pi * diameter**2 / 4.0, rel=1e-15)
    assert friction.velocity(np.array([flow]), diameter) == pytest.approx([speed], rel=1e-14)
