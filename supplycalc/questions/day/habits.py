"""A random day: what so many people draw, and when, from one seed.

How often a person uses what comes from studies of end uses; in the busy hour each fixture runs at
least as often as the demand method's own probability says, and the rest of its day is spread over
the other hours. Every day has its own stream of random numbers, so that day 40 is the same in a run
of 40 days and in one of 365.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

from msgspec import Struct

from supplycalc.catalogue import fixture_kinds
from supplycalc.delivery.fixture_use import FixtureUse, full_use
from supplycalc.demand.probability import probabilities
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.questions.day.draws import PlannedDraw
from supplycalc.records.sentences import Assumption
from supplycalc.tables import citation_of, load_table, to_si
from supplycalc.units import DAY, HOUR
from supplycalc.units.quantities import Time, Volume

KINDS = {
    "shower": ("tub-shower", "shower"),
    "bath": ("tub-shower", "bathtub", "whirlpool-tub"),
    "toilet": ("water-closet", "water-closet-one-piece", "flush-valve-closet"),
    "basin": ("lavatory",),
    "sink": ("kitchen-sink", "bar-sink", "utility-sink", "laundry-tub"),
    "clothes washer": ("clothes-washer",),
    "dishwasher": ("dishwasher",),
    "urinal": ("urinal",),
    "bidet": ("bidet",),
}
"""Use -> kinds of fixture that serve it."""
HOURS = {
    "shower": "bathing", "bath": "bathing", "clothes washer": "washing", "dishwasher": "washing",
}  # fmt: skip
"""Use -> row of its hours; any other all day."""
MACHINES = ("clothes washer", "dishwasher")
"""Uses of which the first day has one load at least for each machine: a day without would not show
what it does to the others."""
SHORTEST = 0.2
"""Share of the mean that no draw falls below."""


class Habit(Struct, frozen=True, kw_only=True):
    """One kind of use of one house."""

    name: str
    per_day: float
    """Uses in a day by all people."""
    duration: Time
    """Mean; 0: a volume ends it."""
    volume: Volume
    """Mean of one use."""
    spread: float
    """Standard deviation over the mean."""
    fills: int
    gap: Time
    """Between two fills of one use."""
    uses: tuple[FixtureUse, ...]
    """Which outlets serve it, opened as far as is usual."""
    hourly: tuple[float, ...]
    """Uses expected in each hour of the day."""


def habits(tree: Tree, people: int) -> tuple[Habit, ...]:
    """What so many people do with a house's fixtures.

    Args:
        tree: the house.
        people: who live there.

    Returns:
        One habit for each use that the house has a fixture for.

    Source: Residential End Uses of Water, 1999 and 2016 (from memory but for showers,
        toilets and dishwashers); hours of the day common practice; busy hour by the Peak Water
        Demand Study.
    """
    table = load_table("day")["use"]
    hours = load_table("day")["hours"]
    most = load_table("day")["busy_hour"]["value"]
    chance = probabilities(tree)
    usual = []
    for row in table["rows"]:
        cells = dict(zip(table["columns"], row, strict=True))
        name = cells["use"]
        fixtures = [
            fixture
            for fixture in tree.house.fixtures
            if fixture.kind in KINDS[name] and not fixture.planned
        ]
        if name == "bath":
            fixtures = _baths(fixtures)
        if not fixtures:
            continue
        per_day = people * cells["per_person_day"]
        duration = to_si(cells["minutes"], "min")
        volume = to_si(cells["gallons"], "gal")
        busy = 0.0 if name == "bath" else _busy(tree, fixtures, chance, duration, volume)
        weights = hours[HOURS.get(name, "all_day")]
        usual.append(
            Habit(
                name=name,
                per_day=per_day,
                duration=duration,
                volume=volume,
                spread=cells["spread"],
                fills=cells["fills"],
                gap=to_si(cells["gap_minutes"], "min"),
                uses=tuple(_opened(tree, fixture, cells["opening"], name) for fixture in fixtures),
                hourly=_hourly(per_day, min(busy, most * per_day), weights),
            )
        )
    return tuple(usual)


def _baths(fixtures: list[Fixture]) -> list[Fixture]:
    """Bathtubs without a shower where there are any, else those with one."""
    plain = [fixture for fixture in fixtures if fixture.kind in ("bathtub", "whirlpool-tub")]
    return plain or fixtures


def _busy(
    tree: Tree, fixtures: list[Fixture], chance: dict[str, float], duration: float, volume: float
) -> float:
    """Uses in the busy hour: an hour's share p of running time over the time of one use."""
    total = 0.0
    for fixture in fixtures:
        flow = fixture.flow or tree.kind_of(fixture).flow(fixture.valve)
        time = duration or volume / flow
        total += chance.get(fixture.kind, 0.0) * HOUR / time
    return total


def _hourly(per_day: float, busy: float, weights: list[float]) -> tuple[float, ...]:
    """Expected uses by hour; the busiest hour gets its own if that is more, and the others less."""
    peak = max(range(24), key=lambda hour: weights[hour])
    if busy <= per_day * weights[peak] / math.fsum(weights):
        return tuple(per_day * weight / math.fsum(weights) for weight in weights)
    rest = math.fsum(weights) - weights[peak]
    return tuple(
        busy if hour == peak else (per_day - busy) * weight / rest
        for hour, weight in enumerate(weights)
    )


def _opened(tree: Tree, fixture: Fixture, opening: float, name: str) -> FixtureUse:
    """A fixture opened as people do; a tub's outlet serves its shower only in part."""
    share = opening
    if name == "shower" and fixture.kind == "tub-shower" and fixture.flow is None:
        shower = fixture_kinds(tree.house.project.demand)["shower"].flow(fixture.valve)
        share *= min(shower / tree.kind_of(fixture).flow(fixture.valve), 1.0)
    whole = full_use(fixture)
    return FixtureUse(fixture=fixture, through=whole.through, share=share)


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


def usual_people() -> int:
    """How many live in a house whose file does not say."""
    return int(load_table("day")["people"]["value"])


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
    yield Assumption(text="no garden taps, no leaks: write [[draw]] tables for those")
