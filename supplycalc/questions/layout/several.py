"""Two or more submanifolds: where they stand and who hangs from which, found by exchange.

All pairs, let alone triples, of places are too many to size each. Places are exchanged one by one
while a sum of lengths, each weighed with what a metre of that pipe costs in the home-run house,
falls (the interchange heuristic for p-median problems); then every place is moved to its neighbours
while the really sized house gets cheaper. Not proven to be the best; every figure told is sized.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from supplycalc.model import House
from supplycalc.questions.layout.places import Site
from supplycalc.questions.layout.shapes import manifold_house
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.size import SizedTree, size_tree

NEIGHBOURS = 8
"""Places around each that are tried."""
MOST_TRIALS = 120
"""Houses sized while moving."""
FloatArray = NDArray[np.float64]


class Several(Struct, frozen=True, kw_only=True):
    """A house with several submanifolds."""

    house: House
    sized: SizedTree
    places: tuple[int, ...]
    """Indices of the site's places."""
    members: tuple[tuple[int, ...], ...]
    """Indices of the kept's fixtures at each."""
    tried: int
    """How many houses were sized."""


def several(
    site: Site, home: SizedTree, count: int, prices: PriceList | None = None
) -> Several | None:
    """The cheapest house with so many submanifolds; None where not so many get fixtures each.

    The home-run house at its best place tells the weight of a metre of each pipe.

    Source: Teitz and Bart, Operations Research 16 (1968), for the exchange (from memory).
    """
    if count > min(len(site.places), len(site.kept.fixtures)):
        return None
    weights = _Weights(site, home)
    chosen = _exchange(weights, count)
    members = weights.members(chosen)
    if not all(members):
        chosen, members = _clusters(weights, count)
    if len(set(chosen)) < count or not all(members):
        return None
    houses: dict[tuple[int, ...], Several] = {}

    def sized(places: Sequence[int], so_far: Sequence[Sequence[int]]) -> Several:
        """With each fixture at its nearest place, or as before where one would get none."""
        key = tuple(places)
        if key not in houses:
            nearest = weights.members(places)
            houses[key] = _sized(site, key, nearest if all(nearest) else so_far, prices)
        return houses[key]

    best = sized(chosen, members)
    improved = True
    while improved and len(houses) < MOST_TRIALS:
        improved = False
        for number in range(count):
            for other in _around(site, best.places[number]):
                places = [*best.places[:number], other, *best.places[number + 1 :]]
                if len(set(places)) < count or len(houses) >= MOST_TRIALS:
                    continue
                tried = sized(places, best.members)
                if _key(tried) < _key(best):
                    best, improved = tried, True
                    break
    return replace(best, tried=len(houses))


def _key(several: Several) -> tuple[bool, float]:
    """Enough pressure first, then cost, or how far it falls short."""
    sized = several.sized
    return not sized.feasible, sized.cost if sized.feasible else -sized.worst_margin


class _Weights:
    """Weighed lengths from every place to every fixture, and of the mains to every place."""

    def __init__(self, site: Site, home: SizedTree) -> None:
        price: dict[str, float] = {}
        for i, choice in enumerate(home.situation.choices):
            if choice is not None:
                option = choice.options[home.pressures.sizes[i]]
                price[choice.run.name] = option.cost / choice.run.length
        kept = site.kept
        each = [sum(price[run.name] for run in fixture.branches) for fixture in kept.fixtures]
        lengths = np.array([[way.length for way in ways] for ways in site.to_fixture])
        self.branches: FloatArray = lengths * np.array(each)
        cold, hot = price.get("cold main", 0.0), price.get("hot main", 0.0)
        self.mains: FloatArray = np.array(
            [
                cold * a.length + hot * b.length
                for a, b in zip(site.from_origin, site.from_heater, strict=True)
            ]
        )

    def members(self, places: Sequence[int]) -> list[list[int]]:
        """For each place the fixtures that it is nearest to."""
        members: list[list[int]] = [[] for _ in places]
        rows: FloatArray = self.branches[list(places)]
        for fixture, place in enumerate(rows.argmin(axis=0).tolist()):
            members[place].append(fixture)
        return members


def _exchange(weights: _Weights, count: int) -> list[int]:
    branches, mains = weights.branches, weights.mains
    chosen: list[int] = []
    held: FloatArray = np.full(branches.shape[1], np.inf)
    while len(chosen) < count:
        totals = np.minimum(branches, held).sum(axis=1) + mains
        totals[chosen] = np.inf
        chosen.append(int(totals.argmin()))
        held = np.minimum(held, branches[chosen[-1]])
    best = float(held.sum() + mains[chosen].sum())
    improved = True
    while improved:
        improved = False
        for number in range(count):
            rest = [place for k, place in enumerate(chosen) if k != number]
            held = branches[rest].min(axis=0)
            totals = np.minimum(branches, held).sum(axis=1) + mains + mains[rest].sum()
            totals[rest] = np.inf
            place = int(totals.argmin())
            if totals[place] < best - 1e-9:
                chosen[number], best, improved = place, float(totals[place]), True
    return chosen


def _clusters(weights: _Weights, count: int) -> tuple[list[int], list[list[int]]]:
    """Places in the middle of groups of fixtures that start from those farthest apart."""
    branches, mains = weights.branches, weights.mains
    seeds = [0]
    while len(seeds) < count:
        # how far each fixture is from the seeds, by the best place between them
        apart = [
            min(float((branches[:, place] + branches[:, seed]).min()) for seed in seeds)
            for place in range(branches.shape[1])
        ]
        seeds.append(max(range(len(apart)), key=lambda i: (i not in seeds, apart[i])))
    places = [int((branches[:, seed] + 1e-6 * mains).argmin()) for seed in seeds]
    members = weights.members(places)
    for _ in range(MOST_TRIALS):
        moved = [
            int((branches[:, group].sum(axis=1) + mains).argmin()) if group else place
            for place, group in zip(places, members, strict=True)
        ]
        regrouped = weights.members(moved)
        if moved == places or len(set(moved)) < count or not all(regrouped):
            break
        places, members = moved, regrouped
    return places, members


def _around(site: Site, place: int) -> list[int]:
    """The nearest other places on the same storey."""
    at, storey = site.places[place]
    others = [i for i, (_, name) in enumerate(site.places) if i != place and name == storey]
    others.sort(
        key=lambda i: (
            abs(site.places[i][0][0] - at[0]) + abs(site.places[i][0][1] - at[1]),
            i,
        )
    )
    return others[:NEIGHBOURS]


def _sized(
    site: Site,
    places: tuple[int, ...],
    members: Sequence[Sequence[int]],
    prices: PriceList | None,
) -> Several:
    spots = [
        site.spot(place, f"{number}.", fixtures)
        for number, (place, fixtures) in enumerate(zip(places, members, strict=True), start=1)
    ]
    house = manifold_house(site.kept, spots, site.to_heater)
    return Several(
        house=house,
        sized=size_tree(house, prices),
        places=places,
        members=tuple(tuple(member) for member in members),
        tried=1,
    )
