"""A random day: what so many people draw, and when, from one seed.

Every day has its own stream of random numbers, so that day 40 is the same in a run of 40 days and
in one of 365.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

from msgspec import Struct

from supplycalc.chance.habits import Habit
from supplycalc.delivery.fixture_use import FixtureUse, full_use
from supplycalc.model import House
from supplycalc.records.sentences import Assumption
from supplycalc.tables import citation_of, load_table
from supplycalc.units import DAY, HOUR
from supplycalc.units.quantities import Time, Volume

MACHINES = ("clothes washer", "dishwasher")
"""Uses of which the first day has one load at least for each machine: a day without would not show
what it does to the others."""
SHORTEST = 0.2
"""Share of the mean that no draw falls below."""


class PlannedDraw(Struct, frozen=True, kw_only=True):
    """One opening of one fixture."""

    start: Time
    """After the first midnight; it begins later where the fixture is still in use."""
    use: FixtureUse
    duration: Time | None
    """None: until `volume` has run."""
    volume: Volume | None


def scheduled(house: House, days: int) -> tuple[PlannedDraw, ...]:
    """The file's draws, the same on every day."""
    whole = {fixture.name: full_use(fixture) for fixture in house.fixtures}
    draws = [
        PlannedDraw(
            start=day * DAY + at,
            use=FixtureUse(
                fixture=whole[draw.fixture].fixture,
                through=draw.side or whole[draw.fixture].through,
                share=draw.share,
            ),
            duration=draw.duration,
            volume=draw.volume,
        )
        for day in range(days)
        for draw in house.draws
        for at in draw.at
    ]
    return tuple(sorted(draws, key=lambda draw: draw.start))


def random_days(
    usual: tuple[Habit, ...], days: int, seed: int, *, differ: bool = False
) -> Iterator[PlannedDraw]:
    """Draws of so many random days, in order of time.

    Args:
        days: how many.
        seed: any whole number; the same one gives the same days.
        differ: whether some days are busier than others beyond chance, as with guests.

    Source: numbers in an hour by Poisson's distribution, lengths lognormal; how days differ by the
        row `busyness` of day.toml.
    """
    later: list[PlannedDraw] = []
    sigma = math.log(load_table("day")["busyness"]["value"])
    for day in range(days):
        source = random.Random(f"supplycalc day {seed}/{day}")
        busy = _busyness(sigma, seed, day) if differ else 1.0
        draws = [*later, *(draw for habit in usual for draw in _one_day(habit, busy, day, source))]
        if day == 0:
            draws += _idle_machines(usual, draws, source)
        draws.sort(key=lambda draw: draw.start)
        midnight = (day + 1) * DAY
        later = [draw for draw in draws if draw.start >= midnight]
        yield from (draw for draw in draws if draw.start < midnight)


def _busyness(sigma: float, seed: int, day: int) -> float:
    """How busy a day is: a lognormal factor of mean 1 from a stream of its own."""
    normal = random.Random(f"supplycalc busy day {seed}/{day}").gauss(0.0, 1.0)
    return math.exp(sigma * normal - 0.5 * sigma * sigma)


def _one_day(habit: Habit, busy: float, day: int, source: random.Random) -> Iterator[PlannedDraw]:
    for hour, expected in enumerate(habit.hourly):
        for _ in range(_poisson(expected * busy, source)):
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
            text=f"{people} people, as the file names no number (people in [project])",
            source=citation_of(table["people"]),
        )
    yield Assumption(
        text="days differ by chance alone; that some are busier, 'supplycalc size' counts"
    )
    yield Assumption(text="no {hose bibbs|garden taps}, no leaks: write [[draw]] tables for those")
