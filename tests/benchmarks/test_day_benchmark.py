"""A year of a six-person house: events per second, and cost against the number of events.

Run by hand: pytest tests/benchmarks/test_day_benchmark.py -s. Wall clock is reported, not asserted;
what is asserted is that the work done for an event does not grow with the length of the run.
"""

from __future__ import annotations

import time

import supplycalc
from supplycalc.questions.day.result import Day
from supplycalc.questions.day.study import day
from supplycalc.sizing.design import Design
from tests.commands.files import SCENARIOS

PEOPLE, SEED = 6, 1


def timed(design: Design, days: int) -> tuple[Day, float]:
    """A run and its seconds."""
    start = time.perf_counter()
    result = day(design, days=days, seed=SEED, people=PEOPLE, keep_days=1)
    return result, time.perf_counter() - start


def test_a_year_and_how_it_grows() -> None:
    """Steps for an event stay the same from a month to a year; the solver is asked ever less."""
    design = supplycalc.size(supplycalc.load(SCENARIOS / "ridge-cottage.toml"))
    rows = []
    for days in (30, 60, 120, 365):
        result, seconds = timed(design, days)
        water = result.water
        assert water.imbalance is not None
        rows.append((days, result.events, result.steps, result.solves, seconds))
        print(
            f"{days:4d} days: {result.events:7d} events, {result.steps:7d} steps, "
            f"{result.solves:5d} solves, {seconds:6.2f} s, "
            f"{result.events / seconds:6.0f} events/s, "
            f"imbalance {water.imbalance / water.drawn:.1e}"
        )
        assert abs(water.imbalance) < 1e-9 * water.drawn
    per_event = [steps / events for _, events, steps, _, _ in rows]
    assert max(per_event) < 1.1 * min(per_event)
    assert rows[-1][3] < 12 * rows[0][3]
