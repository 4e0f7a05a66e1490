"""One manifold at a place, with all that a builder would weigh."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import Position
from supplycalc.questions.layout.places import Site
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.choices import Situation
from supplycalc.sizing.size import SizedTree, choose, situation_of


class ManifoldPlace(Struct, frozen=True, kw_only=True):
    """One candidate, sized."""

    at: Position
    storey: str
    """Or wall, on or along which it stands; empty where the file names none."""
    feasible: bool
    cost: float
    """[kg], or in the price list's currency"""
    worst_margin: float
    """[Pa]"""
    worst_name: str
    pipe: float
    """All pipe laid anew [m]."""
    hot_volume: float
    """Most water that stands between heater and a hot outlet [m3]."""


def manifold_places(site: Site, prices: PriceList | None = None) -> Iterator[ManifoldPlace]:
    """Every place of a site with the home-run house sized there; all of them draw the same."""
    like = situation_of(site.house(0), prices)
    for number in range(len(site.places)):
        yield _place(site, number, choose(situation_of(site.house(number), prices, like)))


def _place(site: Site, number: int, sized: SizedTree) -> ManifoldPlace:
    at, storey = site.places[number]
    branches = (run.name for fixture in site.kept.fixtures for run in fixture.branches)
    laid = {"cold main", "hot main", *branches}
    return ManifoldPlace(
        at=at,
        storey=storey,
        feasible=sized.feasible,
        cost=sized.cost,
        worst_margin=sized.worst_margin,
        worst_name=sized.worst_name,
        pipe=math.fsum(
            choice.run.length
            for choice in sized.situation.choices
            if choice is not None and choice.run.name in laid
        ),
        hot_volume=_hot_volume(sized.situation, sized.pressures.sizes),
    )


def _hot_volume(situation: Situation, sizes: Sequence[int]) -> float:
    """Most water between the heater and any hot outlet, manifold bodies left out [m3]."""
    tree = situation.tree
    volume = [0.0] * len(tree)
    for i in range(1, len(tree)):
        choice = situation.choices[i]
        if tree.side[i] == "hot":
            own = 0.0
            if choice is not None:
                size = choice.options[sizes[i]].size
                own = flow_area(size.inside_diameter) * choice.run.length
            volume[i] = volume[tree.parent[i]] + own
    return max(
        (volume[outlet.link] for outlet in tree.outlets if outlet.side == "hot"), default=0.0
    )
