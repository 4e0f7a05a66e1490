"""Losses of a pipe, pressures below a source: reducing valves, the account of static head."""

from __future__ import annotations

import math

import numpy as np
import pytest

from supplycalc.hydraulics.pressure import pipe_loss, pressures_below, static_gains
from supplycalc.units import STANDARD_GRAVITY


def test_losses_of_arrays_equal_those_of_floats() -> None:
    """Laminar, passage and turbulent flow, by both laws of friction."""
    flow = np.array([0.0, 2e-6, 3e-5, 6e-5, 2e-4, 1e-3, -2e-4])
    for c in (None, 150.0):
        rest = (10.0, 0.0121, 1.5e-6, 2.5, 999.7, 1.307e-3, c)
        friction, fitting = pipe_loss(flow, *rest)

        expected = [pipe_loss(each, *rest) for each in flow.tolist()]
        assert list(zip(friction, fitting, strict=True)) == [
            pytest.approx(pair, rel=1e-12) for pair in expected
        ]


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
