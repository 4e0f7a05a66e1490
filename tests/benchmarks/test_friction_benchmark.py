"""Speed of the friction law, as ratios to the library in the same run; by hand only.

`pytest tests/benchmarks/test_friction_benchmark.py -s` prints each ratio: floats against
`fluids.friction_factor`, arrays against `fluids.vectorized.friction_factor`. Ours finds the slope
too, which Newton's method asks for. Nothing is asserted on wall clock.

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
from fluids.vectorized import friction_factor as library_factors

from supplycalc.hydraulics import friction

SIZES = (100, 10_000)


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
def test_array_of_factors(benchmark: Any, size: int) -> None:
    """Friction factors of arrays; to reach: at most twice the library's time."""
    reynolds, rough = chart(size)
    slower = ratio(
        lambda: friction.friction_factor(reynolds, rough),
        lambda: library_factors(reynolds, rough),
        max(1, 3_000 // size),
    )
    print(f"\nfriction_factor, {size:,}: {slower} x fluids.vectorized")

    factors = benchmark(friction.friction_factor, reynolds, rough)
    assert factors.shape == (size,)
    assert factors[0] == friction.friction_factor(reynolds.tolist()[0], rough.tolist()[0])


def test_scalar_factor(benchmark: Any) -> None:
    """A thousand Python floats; to reach: at most twice the library's time."""
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
    assert [factors[i] for i in turbulent] == pytest.approx(
        [theirs[i] for i in turbulent], rel=2.3e-16
    )
