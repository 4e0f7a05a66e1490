"""One manifold at any place, sized exactly and quickly: what does not change is worked out once.

Between two places only lengths, turns and the manifold's height differ. So demand, source pressure,
friction per metre and loss per fitting of every size are shared; each place then gets its own
lengths and goes through the same exact choice of sizes as `size`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.fittings import fitting_k
from supplycalc.hydraulics.friction import flow_area
from supplycalc.hydraulics.pressure import pipe_loss, static_gains
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import Position
from supplycalc.questions.layout.kept_house import turn_kind
from supplycalc.questions.layout.places import Site
from supplycalc.questions.layout.routes import Way
from supplycalc.questions.layout.shapes import developed
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.choices import RunChoice, Situation, narrow, reconcile
from supplycalc.sizing.costs import cost_by
from supplycalc.sizing.minimums import smallest_permitted
from supplycalc.sizing.size import SizedTree, choose, situation_of
from supplycalc.tables import code_limit


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


class _Sheet(Struct, frozen=True, kw_only=True):
    """What every size of one run does per metre and per fitting."""

    choice: RunChoice
    gradient: tuple[float, ...]
    """[Pa/m]"""
    dynamic: tuple[float, ...]
    """Velocity head [Pa]."""
    k_fixed: tuple[float, ...]
    """All but turns."""
    k_turn: tuple[float, ...]
    cost: tuple[float, ...]
    """Per metre."""
    short: tuple[int, ...]
    """Permitted sizes of a branch within the length of the manifold exception."""
    long: tuple[int, ...]
    minimum: tuple[tuple[int, str], tuple[int, str]]


class PlaceSizer:
    """Sizes the home-run house at any place of a site, exactly and quickly."""

    def __init__(self, site: Site, prices: PriceList | None = None) -> None:
        """Work out once what all places share; a price list decides what is cheapest."""
        self.site = site
        house = site.house(0)
        self.catalogue = house.catalogue
        self.cost = cost_by(prices)
        self.situation = situation_of(house, prices)
        self.tree = self.situation.tree
        self.house = self.tree.house
        self.exception = code_limit("manifold-exception-length").value + 1e-9
        """[m] Longest branch that may be a size under its minimum."""
        index = {name: i for i, name in enumerate(self.tree.names)}
        self.moved = tuple(
            self.tree.index[name]
            for name in (
                "cold manifold inlet", "cold manifold", "hot manifold inlet", "hot manifold",
            )
            if name in self.tree.index
        )  # fmt: skip
        self.mains = tuple(
            (index[name], side)
            for name, side in (("cold main", "cold"), ("hot main", "hot"))
            if name in index
        )
        self.branches = tuple(
            (self.tree.index[run.end], number)
            for number, fixture in enumerate(site.kept.fixtures)
            for run in fixture.branches
        )
        varying = [i for i, _ in (*self.mains, *self.branches)]
        self.choices: dict[tuple[int, float, int], RunChoice] = {}
        """Of a run at a length with so many turns: on a grid they come again and again."""
        self.sheets = {i: self._sheet(i) for i in varying}

    def _sheet(self, i: int) -> _Sheet:
        """Friction per metre and loss per fitting of every size of one run."""
        choice = self.situation.choices[i]
        assert choice is not None
        run, tube = choice.run, choice.tube
        joining = self.catalogue.joinings[run.joining]
        house = self.house
        hot = self.tree.side[i] == "hot"
        temperature = house.water.hot if hot else house.water.cold
        rho, mu = density(temperature), viscosity(temperature)
        c = tube.hazen_williams_c if house.project.friction == "hazen-williams" else None
        roughness = run.roughness if run.roughness is not None else tube.roughness
        flow = self.situation.demand.design_flow[i]
        turn = turn_kind(tube)
        turns = sum(count for kind, count in run.fittings or () if kind == turn)
        k_turn = [
            fitting_k(joining, turn, tube, size) if turn in joining.kinds else 0.0
            for size in tube.sizes
        ]
        options = choice.options
        gradient = [
            pipe_loss(flow, 1.0, size.inside_diameter, roughness, 0.0, rho, mu, c)[0]
            for size in tube.sizes
        ]
        unit = replace(run, length=1.0)
        available = self.situation.source.design_pressure
        minimum = tuple(
            smallest_permitted(self.tree, i, available, length) for length in (1.0, 1e6)
        )
        short, long = (
            narrow(
                options, choice.offered, least, choice.velocity_limit, fixed=run.size is not None
            )
            for least, _ in minimum
        )
        return _Sheet(
            choice=choice,
            gradient=tuple(gradient),
            dynamic=tuple(rho * option.velocity * abs(option.velocity) / 2.0 for option in options),
            k_fixed=tuple(option.k - turns * k for option, k in zip(options, k_turn, strict=True)),
            k_turn=tuple(k_turn),
            cost=tuple(self.cost(unit, tube, size) for size in tube.sizes),
            short=short,
            long=long,
            minimum=(minimum[0], minimum[1]),
        )

    def sized(self, place: int) -> SizedTree:
        """Size the house with its manifold at a place."""
        site, house = self.site, self.house
        choices = list(self.situation.choices)
        for i, side in self.mains:
            ways = site.from_origin if side == "cold" else site.from_heater
            choices[i] = self._choice(i, ways[place])
        ways = site.to_fixture[place]
        for i, number in self.branches:
            choices[i] = self._choice(i, ways[number])
        elevation = list(self.tree.elevation)
        for i in self.moved:
            elevation[i] = site.places[place][0][2]
        water = {"cold": density(house.water.cold), "hot": density(house.water.hot)}
        gains = static_gains(
            self.tree.parent, elevation, [water[side] for side in self.tree.rise_side]
        )
        return choose(
            reconcile(replace(self.situation, static_gain=tuple(gains), choices=tuple(choices)))
        )

    def _choice(self, i: int, way: Way) -> RunChoice:
        sheet = self.sheets[i]
        choice = sheet.choice
        length = developed(way.length, self.house)
        turns = way.turns
        known = self.choices.get((i, length, turns))
        if known is not None:
            return known
        within = length <= self.exception
        minimum = sheet.minimum[0 if within else 1]
        options = []
        for j, option in enumerate(choice.options):
            k = sheet.k_fixed[j] + turns * sheet.k_turn[j]
            friction, fitting = sheet.gradient[j] * length, k * sheet.dynamic[j]
            options.append(
                replace(
                    option,
                    loss=friction + fitting,
                    friction_loss=friction,
                    fitting_loss=fitting,
                    k=k,
                    cost=sheet.cost[j] * length,
                )
            )
        scaled = self.choices[i, length, turns] = replace(
            choice,
            run=replace(choice.run, length=length),
            options=tuple(options),
            allowed=sheet.short if within else sheet.long,
            minimum=minimum[0],
            minimum_source=minimum[1],
            counted_length=length,
        )
        return scaled

    def place(self, number: int) -> ManifoldPlace:
        """One candidate with its figures."""
        sized = self.sized(number)
        at, storey = self.site.places[number]
        return ManifoldPlace(
            at=at,
            storey=storey,
            feasible=sized.feasible,
            cost=sized.cost,
            worst_margin=sized.worst_margin,
            worst_name=sized.worst_name,
            pipe=math.fsum(
                choice.run.length
                for i in self.sheets
                if (choice := sized.situation.choices[i]) is not None
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
