"""A random day: what so many people draw, and when, from one seed.

Every day has its own stream of random numbers, so that day 40 is the same in a run of 40 days and
in one of 365.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

from supplycalc.chance.habits import Habit
from supplycalc.delivery.fixture_use import FixtureUse
from supplycalc.questions.day.draws import PlannedDraw
from supplycalc.records.sentences import Assumption
from supplycalc.tables import citation_of, load_table
from supplycalc.units import DAY, HOUR
from supplycalc.units.quantities import Time

MACHINES = ("clothes washer", "dishwasher")
"""Uses of which the first day has one load at least for each machine: a day without would not show
what it does to the others."""
SHORTEST = 0.2
"""Share of the mean that no draw falls below."""


def random_days(usual: tuple[Habit, ...], days: int, seed: int) -> Iterator[PlannedDraw]:
    """Draws of so many random days, in order of time.

    Args:
        usual: the house's habits.
        days: how many.
        seed: any whole number; the same one gives the same days.

    Returns:
        The draws, day by day.

    Source: numbers in an hour by Poisson's distribution, lengths lognormal.
    """
    later: list[PlannedDraw] = []
    for day in range(days):
        source = random.Random(f"supplycalc day {seed}/{day}")
        draws = [*later, *(draw for habit in usual for draw in _one_day(habit, day, source))]
        if day == 0:
            draws += _idle_machines(usual, draws, source)
        draws.sort(key=lambda draw: draw.start)
        midnight = (day + 1) * DAY
        later = [draw for draw in draws if draw.start >= midnight]
        yield from (draw for draw in draws if draw.start < midnight)


def _one_day(habit: Habit, day: int, source: random.Random) -> Iterator[PlannedDraw]:
    for hour, expected in enumerate(habit.hourly):
        for _ in range(_poisson(expected, source)):
            start = day * DAY + (hour + source.random()) * HOUR
            use = habit.uses[int(source.random() * len(habit.uses))]
            yield from _one_use(habit, use, start, _size(habit.spread, source))


def _idle_machines(
    usual: tuple[Habit, ...], draws: list[PlannedDraw], source: random.Random
) -> Iterator[PlannedDraw]:
    """One load for each machine that chance has left out of the first day."""
    used = {draw.use.name for draw in draws}
    for habit in usual:
        if habit.name not in MACHINES:
            continue
        for use in habit.uses:
            if use.name not in used:
                [hour] = source.choices(range(24), weights=habit.hourly)
                start = (hour + source.random()) * HOUR
                yield from _one_use(habit, use, start, _size(habit.spread, source))


def _one_use(habit: Habit, use: FixtureUse, start: Time, size: float) -> Iterator[PlannedDraw]:
    """All fills of one use, `size` times as long or as much as the mean."""
    for fill in range(habit.fills):
        yield PlannedDraw(
            start=start + fill * habit.gap,
            use=use,
            duration=habit.duration * size if habit.duration else None,
            volume=None if habit.duration else habit.volume * size / habit.fills,
        )


def _poisson(expected: float, source: random.Random) -> int:
    """A number of events, by adding up waiting times."""
    count, waited = 0, -math.log(1.0 - source.random())
    while waited < expected:
        count += 1
        waited -= math.log(1.0 - source.random())
    return count


def _size(spread: float, source: random.Random) -> float:
    """A lognormal factor of mean 1, by the sum of twelve uniform numbers."""
    if spread <= 0.0:
        return 1.0
    normal = math.fsum(source.random() for _ in range(12)) - 6.0
    sigma = math.sqrt(math.log(1.0 + spread * spread))
    return max(math.exp(sigma * normal - 0.5 * sigma * sigma), SHORTEST)


def habit_assumptions(seed: int, people: int, people_assumed: bool) -> Iterator[Assumption]:
    """What random days take for granted.

    Args:
        seed: of the days.
        people: who live there.
        people_assumed: whether their number is the usual one.

    Yields:
        Each assumption with its source.
    """
    table = load_table("day")
    yield Assumption(
        text=f"random days of {people} people (seed {seed}): how often and how long",
        source=citation_of(table["use"], "memory"),
    )
    yield Assumption(
        text="when: hours of the day; in the busy hour each fixture runs at least as often as "
        "the Peak Water Demand Study has it, at most half of "
        "a day's uses",
        source=citation_of(table["hours"]),
    )
    yield Assumption(
        text="each machine washes at least once on the first day, whatever chance says",
        source=citation_of(table["hours"]),
    )
    if people_assumed:
        yield Assumption(
            text=f"{people} people (no number given)", source=citation_of(table["people"])
        )
    yield Assumption(
        text="days differ by chance alone; that some are busier, 'supplycalc size' counts"
    )
    yield Assumption(text="no garden taps, no leaks: write [[draw]] tables for those")
