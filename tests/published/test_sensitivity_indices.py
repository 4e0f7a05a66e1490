"""Variance-based indices of published test functions.

Sources: T. Ishigami and T. Homma, 1990 (the function, and its indices in closed form, a = 7 and
b = 0.1); A. Saltelli and I. M. Sobol', Reliability Engineering and System Safety 50 (1995) 225 (the
g-function, and its indices in closed form), both from memory; the closed forms are integrals of
sines and of linear functions, worked out again below.

Tolerance: 16,384 base draws of Sobol's sequence give an index to some thousandths; four of the
standard errors that are told must hold the closed form, or 0.005 where they are smaller.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from supplycalc.chance.influence import influence

DRAWS = 1 << 14


def ishigami(unit: Any) -> Any:
    """sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1, each even from -pi to pi."""
    x, y, z = math.pi * (2.0 * unit - 1.0)
    return np.sin(x) + 7.0 * np.sin(y) ** 2 + 0.1 * z**4 * np.sin(x)


def held(found: Any, error: Any, expected: Any) -> None:
    """Each index agrees within four of its errors, at least 0.005."""
    for value, spread, wanted in zip(found, error, expected, strict=True):
        assert value == pytest.approx(wanted, abs=max(4.0 * float(spread), 0.005))


def test_ishigami() -> None:
    """The third figure acts together with the first alone."""
    a, b, pi = 7.0, 0.1, math.pi
    alone_1 = 0.5 * (1.0 + b * pi**4 / 5.0) ** 2
    alone_2 = a**2 / 8.0
    together = b**2 * pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    variance = alone_1 + alone_2 + together
    result = influence(ishigami, 3, DRAWS, seed=4)
    held(result.first, result.first_error, np.array([alone_1, alone_2, 0.0]) / variance)
    total = np.array([alone_1 + together, alone_2, together]) / variance
    held(result.total, result.total_error, total)
    assert total == pytest.approx([0.5576, 0.4424, 0.2437], abs=5e-5)  # as printed everywhere


def test_saltelli_g() -> None:
    """A product of one figure's terms each, from important to next to nothing."""
    a = np.array([0.0, 1.0, 4.5, 9.0])

    def g(unit: Any) -> Any:
        return np.prod((np.abs(4.0 * unit - 2.0) + a[:, None]) / (1.0 + a[:, None]), axis=0)

    own = 1.0 / (3.0 * (1.0 + a) ** 2)
    variance = np.prod(1.0 + own) - 1.0
    result = influence(g, 4, DRAWS, seed=4)
    held(result.first, result.first_error, own / variance)
    total = [own[i] * np.prod(np.delete(1.0 + own, i)) / variance for i in range(4)]
    held(result.total, result.total_error, total)


def test_the_error_that_is_told_shrinks_with_the_draws() -> None:
    """Sixteen times the draws: the error is a quarter or less."""
    few = influence(ishigami, 3, 1 << 10, seed=4).total_error
    many = influence(ishigami, 3, 1 << 14, seed=4).total_error
    assert many.max() < few.max() / 4.0


def test_a_result_that_never_varies_has_no_indices() -> None:
    """Not zero, which would say that something else matters."""
    assert np.isnan(influence(lambda unit: np.ones(unit.shape[1]), 2, 64, seed=1).total).all()
