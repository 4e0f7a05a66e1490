"""Exact fronts against a mixed-integer solver (HiGHS) and the customary rule, by hand.

Both get the same table of losses and run in the same process, HiGHS as scipy calls it. The rule of
thumb gives every run the smallest size whose loss per foot stays within what the longest way to an
outlet can spend per foot, the same everywhere.
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable
from typing import TypeVar

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from supplycalc.sizing.fronts import cheapest
from supplycalc.sizing.problem import SizingProblem, solution_of
from tests.sizing import reference

T = TypeVar("T")
CASES = {30: 15, 100: 9, 1000: 1}
SHARES = (0.15, 0.3, 0.08, 0.5, 0.2)


@pytest.mark.parametrize("rule", [False, True], ids=["free", "never-larger"])
@pytest.mark.parametrize("deep", [False, True], ids=["bushy", "deep"])
@pytest.mark.parametrize("runs", list(CASES))
def test_against_highs(
    benchmark: BenchmarkFixture,
    capsys: pytest.CaptureFixture[str],
    runs: int,
    deep: bool,
    rule: bool,
) -> None:
    """The objective is equal on every case; ratios are printed."""
    problems = [
        reference.with_head(
            reference.random_tree(random.Random(seed), runs, deep=deep, rule=rule),
            SHARES[seed % len(SHARES)],
        )
        for seed in range(CASES[runs])
    ]
    ours, ratios, premiums = [], [], []
    for problem in problems:
        solution, took = timed(lambda problem=problem: cheapest(problem), rounds=5)
        optimum, highs = timed(lambda problem=problem: reference.milp(problem, 0.0), rounds=1)
        ours.append(took)
        ratios.append(highs / took)
        premiums.append(uniform_loss(problem) / optimum - 1.0)
        assert solution.feasible
        assert solution.cost == pytest.approx(optimum, rel=1e-6)
    benchmark.pedantic(cheapest, args=(problems[0],), rounds=3)
    with capsys.disabled():
        print(
            f"\n{runs} runs, {'deep' if deep else 'bushy'}, "
            f"{'never larger' if rule else 'free'}: {1e3 * statistics.median(ours):.1f} ms; "
            f"HiGHS takes {statistics.median(ratios):.1f} times as long "
            f"[{min(ratios):.1f}-{max(ratios):.1f}]; uniform loss per foot costs "
            f"{100 * statistics.median(premiums):+.0f} % [{100 * min(premiums):+.0f} to "
            f"{100 * max(premiums):+.0f}]"
        )


def timed(call: Callable[[], T], rounds: int) -> tuple[T, float]:
    """Result and least time of a few rounds [s]."""
    least = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        result = call()
        least = min(least, time.perf_counter() - start)
    return result, least


def uniform_loss(problem: SizingProblem) -> float:
    """Cost of the cheapest uniform loss per foot at which every outlet is served.

    Every run takes the cheapest size whose loss per foot is within the limit, or its largest; the
    limit is the largest that serves. Lengths are told from the price of the largest size.
    """
    feet = [link.options[-1].cost / reference.PRICES[-1] for link in problem.links]
    limits = sorted(
        {
            option.loss / length
            for link, length in zip(problem.links, feet, strict=True)
            for option in link.options
        }
    )

    def design(limit: float) -> list[int]:
        return [
            next(
                (o for o, option in enumerate(link.options) if option.loss <= limit * length),
                len(link.options) - 1,
            )
            for link, length in zip(problem.links, feet, strict=True)
        ]

    low, high = 0, len(limits) - 1
    while low < high:
        middle = (low + high + 1) // 2
        if solution_of(problem, design(limits[middle])).feasible:
            low = middle
        else:
            high = middle - 1
    return solution_of(problem, design(limits[low])).cost
