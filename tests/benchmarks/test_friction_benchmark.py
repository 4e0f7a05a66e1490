"""Speed of the friction laws, as ratios to a yardstick in the same run; by hand only.

`pytest tests/benchmarks/test_friction_benchmark.py -s` prints each ratio. Arrays are measured in
units of one `np.log` of the same array (Colebrook cannot be had for less than two), the scalar law
against `fluids.friction_factor` on the same floats. Nothing is asserted on wall clock.

Reynolds numbers are log-uniform from 316 to 200,000, so 29 % are laminar and 11 % in the passage.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from fluids.friction import friction_factor as library_factor

from supplycalc.hydraulics import friction

SIZES = (100, 10_000, 1_000_000)


def chart(size: int) -> tuple[Any, Any]:
    """Reynolds numbers and relative roughnesses."""
    generator = np.random.default_rng(11)
    return 10.0 ** generator.uniform(2.5, 5.3, size), generator.uniform(0.0, 0.01, size)


def ratio(ours: Callable[[], object], yardstick: Callable[[], object], repeats: int) -> str:
    """Median of the ratios of pairs timed one right after the other, with their range."""
    ratios = []
    for _ in range(15):
        times = []
        for function in (ours, yardstick):
            start = time.perf_counter()
            for _ in range(repeats):
                function()
            times.append(time.perf_counter() - start)
        ratios.append(times[0] / times[1])
    return f"{statistics.median(ratios):.2f} [{min(ratios):.2f}-{max(ratios):.2f}]"


@pytest.mark.parametrize("size", SIZES)
def test_factors_of_arrays(benchmark: Any, size: int) -> None:
    """Friction factors in units of one np.log; to reach: 7 at 1e4 to 1e6."""
    reynolds, rough = chart(size)
    repeats = max(1, 300_000 // size)
    found = ratio(
        lambda: friction.friction_factors(reynolds, rough), lambda: np.log(reynolds), repeats
    )
    print(f"\nfriction_factors, {size:,}: {found} x np.log")

    factors = benchmark(friction.friction_factors, reynolds, rough)
    assert factors.shape == (size,)
    assert factors[0] == pytest.approx(friction.friction_factor(reynolds.tolist()[0], rough[0]))


@pytest.mark.parametrize("size", SIZES)
def test_gradients_of_arrays(benchmark: Any, size: int) -> None:
    """Pressure gradients with everything they need, in the same unit."""
    reynolds, _ = chart(size)
    flow = reynolds * 1.8e-8
    repeats = max(1, 300_000 // size)

    def ours() -> Any:
        return friction.pressure_gradients(flow, 0.02, 1.5e-6, 999.1, 1.12e-3)

    print(f"\npressure_gradients, {size:,}: {ratio(ours, lambda: np.log(flow), repeats)} x np.log")

    losses = benchmark(ours)
    assert losses.shape == (size,)
    assert np.all(losses > 0.0)


def test_scalar_factor(benchmark: Any) -> None:
    """A thousand Python floats; to reach: no slower than the library's own switch."""
    reynolds, rough = (array.tolist() for array in chart(1000))
    pairs = list(zip(reynolds, rough, strict=True))

    def ours() -> list[float]:
        return [friction.friction_factor(*pair) for pair in pairs]

    def library() -> list[float]:
        return [library_factor(*pair) for pair in pairs]

    print(f"\nfriction_factor: {ratio(ours, library, 10)} x fluids.friction_factor")

    factors = benchmark(ours)
    turbulent = [index for index, re in enumerate(reynolds) if re >= 4000.0]
    theirs = library()
    assert [factors[i] for i in turbulent] == [theirs[i] for i in turbulent]
