"""One pass over the tree: both engines, reducing valves, the account of static head."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supplycalc.hydraulics.pressure import (
    STANDARD_GRAVITY,
    Pipes,
    flows_from_outlets,
    pipe_loss,
    pipe_losses,
    pressures_below,
    pressures_by_cumulative_sum,
    static_gains,
)


@st.composite
def trees(draw: st.DrawFn) -> tuple[list[int], list[int]]:
    """A random tree in preorder: (parent, last)."""
    count = draw(st.integers(2, 30))
    parent, path = [-1], [0]
    for i in range(1, count):
        depth = draw(st.integers(0, len(path) - 1))
        path = path[: depth + 1]
        parent.append(path[-1])
        path.append(i)
    last = list(range(1, count + 1))
    for i in range(count - 1, 0, -1):
        last[parent[i]] = max(last[parent[i]], last[i])
    return parent, last


@settings(max_examples=100, deadline=None)
@given(trees(), st.randoms(use_true_random=False))
def test_both_engines_give_the_same_pressures(tree: tuple[list[int], list[int]], random) -> None:
    """The loop and the cumulative sum agree to rounding."""
    parent, last = tree
    gain = [0.0] + [random.uniform(-5e4, 5e4) for _ in parent[1:]]
    loss = [0.0] + [random.uniform(0.0, 1e5) for _ in parent[1:]]

    slow = pressures_below(parent, 3e5, gain, loss, [math.inf] * len(parent))
    fast = pressures_by_cumulative_sum(np.array(last), 3e5, np.array(gain), np.array(loss))

    assert fast == pytest.approx(slow, rel=1e-12, abs=1e-6)


@settings(max_examples=50, deadline=None)
@given(trees(), st.randoms(use_true_random=False))
def test_flow_of_a_link_is_what_its_outlets_draw(tree: tuple[list[int], list[int]], random) -> None:
    """Sums over slices equal sums along parents."""
    parent, last = tree
    drawn = [random.uniform(0.0, 1e-3) for _ in parent]
    expected = list(drawn)
    for i in range(len(parent) - 1, 0, -1):
        expected[parent[i]] += expected[i]

    assert flows_from_outlets(np.array(last), np.array(drawn)) == pytest.approx(expected, rel=1e-12)


def test_scalar_and_array_losses_are_equal() -> None:
    """The two faces of the friction law agree on laminar, passage and turbulent flow."""
    flow = np.array([0.0, 2e-6, 3e-5, 6e-5, 2e-4, 1e-3, -2e-4])
    count = len(flow)
    pipes = Pipes(
        length=np.full(count, 10.0),
        inside_diameter=np.full(count, 0.0121),
        roughness=np.full(count, 1.5e-6),
        k=np.full(count, 2.5),
        density=np.full(count, 999.7),
        viscosity=np.full(count, 1.307e-3),
    )
    friction, fitting = pipe_losses(flow, pipes)

    for i in range(count):
        expected = pipe_loss(float(flow[i]), 10.0, 0.0121, 1.5e-6, 2.5, 999.7, 1.307e-3)
        assert (friction[i], fitting[i]) == pytest.approx(expected, rel=1e-12)


def test_a_reducing_valve_holds_what_it_lets_through() -> None:
    """Behind the valve pressure is the lower of its limit and what arrives."""
    pressure = pressures_below(
        [-1, 0, 1], 5e5, [0.0, 0.0, 0.0], [0.0, 1e5, 5e4], [math.inf, 3e5, math.inf]
    )

    assert pressure == [5e5, 3e5, 2.5e5]


def test_static_gain_is_weight_times_fall() -> None:
    """Going down gains, going up loses, by density, gravity and height."""
    gains = static_gains([-1, 0, 1], [0.0, -2.0, 3.0], [1000.0, 1000.0, 990.0])

    assert gains == pytest.approx([0.0, 2000 * STANDARD_GRAVITY, -5 * 990 * STANDARD_GRAVITY])
