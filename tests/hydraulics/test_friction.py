"""The friction laws: their joints, their signs, their slopes, and arrays equal to scalars."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.friction import Colebrook
from fluids.friction import friction_factor as library_factor
from hypothesis import given, settings
from hypothesis import strategies as st

from supplycalc.hydraulics import factor, friction

WATER = (999.1, 1.12e-3)
roughnesses = st.floats(0.0, 0.05)
flows = st.floats(-5e-3, 5e-3)
bores = st.floats(0.005, 0.08)


def test_laminar_and_turbulent_are_the_librarys() -> None:
    """Up to Re 2000 and from Re 4000 the factor is that of `fluids`."""
    for relative_roughness in (0.0, 1e-6, 1e-4, 3e-3, 0.05):
        for reynolds in (1e-3, 1.0, 640.0, 1999.0, 4000.0, 4001.0, 2e4, 1e6, 1e8):
            expected = library_factor(reynolds, relative_roughness)
            assert friction.friction_factor(reynolds, relative_roughness) == expected


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


@settings(max_examples=300)
@given(relative_roughness=roughnesses, reynolds=st.floats(0.0, 1e9))
def test_the_quick_product_is_the_librarys_factor(
    relative_roughness: float, reynolds: float
) -> None:
    """f Re and the power without the library equal those with it to 1e-13, a few hundred roundings.

    Where the flow is laminar f Re is 64, at rest too.
    """
    product, power = factor.product_and_power(reynolds, relative_roughness)
    if reynolds <= 2000.0:
        assert (product, power) == (64.0, -1.0)
        return
    if reynolds >= 4000.0:
        library = library_factor(reynolds, relative_roughness)
        assert product == pytest.approx(reynolds * library, rel=1e-13)
    expected, steepness = factor.factor_and_power(reynolds, relative_roughness)

    assert product == pytest.approx(reynolds * expected, rel=1e-13)
    assert power == pytest.approx(steepness, rel=1e-12)


@pytest.mark.parametrize("limit", [2000.0, 4000.0])
@given(relative_roughness=roughnesses)
def test_the_passage_meets_both_ends_in_value_and_slope(
    limit: float, relative_roughness: float
) -> None:
    """Across each limit neither the factor nor its derivative jumps.

    1e-7 of Re apart, the factor may change by 2e-7 of itself at the steepest (|d ln f/d ln Re| is
    at most 2 there) and the power by 1e-5 (|d power/d ln Re| stays below 20).
    """
    below = factor.factor_and_power(limit * (1.0 - 1e-7), relative_roughness)
    above = factor.factor_and_power(limit * (1.0 + 1e-7), relative_roughness)

    assert above[0] == pytest.approx(below[0], rel=4e-7)
    assert above[1] == pytest.approx(below[1], abs=1e-5)


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

    assert factor.factor_and_power(reynolds, relative_roughness)[1] == pytest.approx(
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
    factors = friction.friction_factors(reynolds, relative_roughness)
    powers = [factor.factor_and_power(re, relative_roughness)[1] for re in passage.tolist()]

    assert np.all(np.diff(factors * reynolds**2) > 0.0)
    assert min(powers) >= -1.0 - 1e-9


@settings(max_examples=60)
@given(
    reynolds=st.lists(st.floats(0.0, 1e8), min_size=1, max_size=40),
    relative_roughness=roughnesses,
)
def test_arrays_equal_scalars(reynolds: list[float], relative_roughness: float) -> None:
    """The array factor is the scalar one to 1e-12, at rest too."""
    scalars = [friction.friction_factor(re, relative_roughness) for re in reynolds]

    assert friction.friction_factors(reynolds, relative_roughness) == pytest.approx(
        scalars, rel=1e-12
    )


def test_arrays_equal_scalars_over_the_whole_chart() -> None:
    """40,000 points, several chunks: Re 1 to 1e9, roughness 0 to 0.1."""
    generator = np.random.default_rng(7)
    reynolds = 10.0 ** generator.uniform(0.0, 9.0, 40_000)
    relative_roughness = 10.0 ** generator.uniform(-8.0, -1.0, 40_000)
    relative_roughness[::7] = 0.0
    pairs = zip(reynolds.tolist(), relative_roughness.tolist(), strict=True)
    scalars = np.array([friction.friction_factor(*pair) for pair in pairs])

    found = friction.friction_factors(reynolds, relative_roughness)

    assert np.max(np.abs(found / scalars - 1.0)) < 1e-12


@given(flow=flows, bore=bores, relative_roughness=st.floats(0.0, 0.02))
def test_gradients_of_arrays_equal_scalars(
    flow: float, bore: float, relative_roughness: float
) -> None:
    """Loss and slope of the array twins are the scalar ones to 1e-12."""
    arguments = (flow, bore, bore * relative_roughness, *WATER)
    loss, slope = friction.pressure_gradient_with_slope(*arguments)

    assert friction.pressure_gradients(*arguments) == pytest.approx(loss, rel=1e-12, abs=0.0)
    assert friction.pressure_gradient_slopes(*arguments) == pytest.approx(slope, rel=1e-12)
    assert friction.pressure_gradient(*arguments) == pytest.approx(loss, rel=1e-14, abs=0.0)
    assert friction.pressure_gradient_slope(*arguments) == slope


@given(flow=flows, bore=bores, relative_roughness=st.floats(0.0, 0.02))
def test_loss_is_odd_and_its_slope_is_even_and_positive(
    flow: float, bore: float, relative_roughness: float
) -> None:
    """Turning the flow round turns the loss round, and nothing else."""
    rest = (bore, bore * relative_roughness, *WATER)
    forward = friction.pressure_gradient_with_slope(flow, *rest)
    backward = friction.pressure_gradient_with_slope(-flow, *rest)

    assert forward[0] == -backward[0]
    assert forward[1] == backward[1] > 0.0


def test_zero_flow_loses_exactly_nothing() -> None:
    """No division by zero, no rounding: 0.0, with the laminar slope 128 mu/(pi D^4)."""
    slope = 128.0 * WATER[1] / (math.pi * 0.02**4)

    assert friction.pressure_gradient(0.0, 0.02, 1.5e-6, *WATER) == 0.0
    assert friction.pressure_gradients([0.0, -0.0], 0.02, 1.5e-6, *WATER).tolist() == [0.0, 0.0]
    assert friction.pressure_gradient_slope(0.0, 0.02, 1.5e-6, *WATER) == pytest.approx(slope)
    assert friction.hazen_williams_gradient(0.0, 0.02, 150.0) == 0.0
    assert friction.hazen_williams_slope(0.0, 0.02, 150.0) == 0.0


def test_laminar_loss_is_hagen_poiseuille() -> None:
    """128 mu Q/(pi D^4), whatever the roughness."""
    flow, bore = 1e-5, 0.02
    expected = 128.0 * WATER[1] * flow / (math.pi * bore**4)

    for roughness in (0.0, 1e-3):
        found = friction.pressure_gradient(flow, bore, roughness, *WATER)
        assert found == pytest.approx(expected, rel=1e-14)


def test_shapes_broadcast_and_results_keep_them() -> None:
    """Pipes by variants: a column of bores against a row of flows, also over several chunks."""
    flow = np.linspace(-1e-3, 1e-3, 5001)
    bore = np.array([[0.01], [0.02], [0.03]])
    losses, slopes = friction.pressure_gradients_with_slopes(flow, bore, 1.5e-6, *WATER)

    assert losses.shape == slopes.shape == (3, 5001)
    assert losses[1, 4000] == pytest.approx(
        friction.pressure_gradient(float(flow[4000]), 0.02, 1.5e-6, *WATER), rel=1e-12
    )
    assert friction.friction_factors([], 0.0).shape == (0,)
    assert friction.friction_factors(1e5, 0.0).shape == ()


def test_inputs_are_left_alone() -> None:
    """Work space is never the caller's array, contiguous or strided."""
    reynolds = np.geomspace(100.0, 1e6, 20_000)
    copy = reynolds.copy()

    friction.friction_factors(reynolds, reynolds * 1e-9)
    friction.pressure_gradients(reynolds[::2], 0.02, 1.5e-6, *WATER)
    assert np.array_equal(reynolds, copy)


@given(flow=flows, bore=bores, c=st.floats(60.0, 160.0))
def test_hazen_williams_twins_agree(flow: float, bore: float, c: float) -> None:
    """Array and scalar agree, the law is odd, and its slope is 1.852 loss/flow."""
    loss = friction.hazen_williams_gradient(flow, bore, c)
    slope = friction.hazen_williams_slope(flow, bore, c)

    assert friction.hazen_williams_gradients(flow, bore, c) == pytest.approx(loss, rel=1e-13)
    assert friction.hazen_williams_slopes(flow, bore, c) == pytest.approx(slope, rel=1e-13)
    assert friction.hazen_williams_gradient(-flow, bore, c) == -loss
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


@given(flow=flows, bore=bores)
def test_velocity_times_area_is_flow(flow: float, bore: float) -> None:
    """Scalar and array alike."""
    speed = friction.velocity(flow, bore)

    assert speed * math.pi * bore**2 / 4.0 == pytest.approx(flow, rel=1e-14)
    assert friction.velocities([flow], bore) == pytest.approx([speed], rel=1e-14)
