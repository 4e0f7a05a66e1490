"""What so many people do with a house's fixtures, and at which hours.

How often a person uses what comes from studies of end uses; in the busy hour each fixture runs at
least as often as the demand method's own probability says, and the rest of its day is spread over
the other hours.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from supplycalc.catalogue import fixture_kinds
from supplycalc.delivery.fixture_use import FixtureUse, full_use
from supplycalc.demand.probability import probabilities
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table, to_si
from supplycalc.units import HOUR
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

    Returns:
        One habit for each use that the house has a fixture for; of several households each has its
        own fixtures and what is everybody's, and its share of the people.

    Source: Residential End Uses of Water, 1999 and 2016 (from memory but for showers,
        toilets and dishwashers); hours of the day common practice; busy hour by the Peak Water
        Demand Study.
    """
    households = tree.house.households
    if not households:
        return _habits_of(tree, people, tree.house.fixtures)
    total = max(sum(household.people for household in households), 1)
    return tuple(
        habit
        for household in households
        if household.people > 0
        for habit in _habits_of(
            tree,
            people * household.people / total,
            tuple(
                fixture
                for fixture in tree.house.fixtures
                if fixture.household in (household.name, None)
            ),
        )
    )


def _habits_of(tree: Tree, people: float, among: Iterable[Fixture]) -> tuple[Habit, ...]:
    """What so many people do with their fixtures."""
    table = load_table("day")["use"]
    hours = load_table("day")["hours"]
    most = load_table("day")["busy_hour"]["value"]
    chance = probabilities(tree)
    usual = []
    for row in table["rows"]:
        cells = dict(zip(table["columns"], row, strict=True))
        name = cells["use"]
        fixtures = [
            fixture for fixture in among if fixture.kind in KINDS[name] and not fixture.planned
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
