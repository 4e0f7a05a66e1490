"""The cheapest sizes for which no fixture has less than it needs for longer than a limit.

All candidates are held against the same draws: the sets of uses that run together, each use with
the flow that it draws alone at the switch's lower setting, and the source's moments with each set.
A larger pipe then never makes anything worse. The search starts from sizes that serve single sets,
raises what helps most for its cost until the limit is kept, and lowers what can be lowered, also
where one larger size lets others be smaller. What is found is settled once more with flows that
follow the pressures.

How far from the cheapest it can be: take one set of uses. Where more runs than the set, pressure at
its fixtures is no higher; so if, with the set alone running, a fixture needed more of the source
than it holds but for the limit's time in all sets that contain this one, the limit would be broken.
To serve one set at such pressures is a sizing problem by itself, which `fronts` solves exactly; no
sizes that keep the limit cost less, and the dearest set gives the bound. Sizes that break a limit
with all other pipes as large as they may be are left out beforehand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from supplycalc.chance.daily import YEAR, Pressures, Supposed, daily_use, pressures_of, suppose
from supplycalc.chance.together import flows_of_draws
from supplycalc.delivery.household import Household
from supplycalc.demand.loads import FloatArray, IntArray
from supplycalc.hydraulics.pressure import LinkLaws, pipe_loss, pressures_below
from supplycalc.model import ShortLimit
from supplycalc.network import Tree
from supplycalc.problems import ComputationError
from supplycalc.sizing.choices import RunChoice, Situation, prepare, reconcile, sizing_problem
from supplycalc.sizing.costs import Cost
from supplycalc.sizing.daily_use import DailyUse
from supplycalc.sizing.design import Design
from supplycalc.sizing.fronts import cheapest
from supplycalc.sizing.link_laws import laws_of_sizes
from supplycalc.sizing.results import run_results
from supplycalc.sizing.size import (
    feeds_raised_to,
    held_to_feeds,
    largest_sizes,
    sized_as,
    smallest_sizes,
)
from supplycalc.sizing.sizes_by_chance import SizesByChance
from supplycalc.supply.limits import tank_volumes

RARE_FLOW = 0.99
"""Part of the time that water runs in a pipe in which it is no faster than its velocity is judged
at."""
MOST_BOUNDS = 40
"""Sets of uses that are sized for by themselves."""
TIGHTENED = (1.0, 0.6, 0.3)
"""Parts of the limit that are tried, should pressures that flows follow not keep it."""
_FAR = 1e12


class ChanceDraws(Struct, frozen=True, kw_only=True, eq=False):
    """The draws that all candidates are held against."""

    flow: FloatArray
    """Links by sets [m3/s]."""
    levels: FloatArray
    """Source's pressure, sets by moments [Pa gauge]."""
    link: IntArray
    """Of each pair of a connection and a set."""
    number: IntArray
    """Set of each pair."""
    outlet: IntArray
    """Number of each pair's outlet."""
    need: FloatArray
    """Of each pair [Pa gauge]."""
    weight: FloatArray
    """Time of each pair's set [s a year]."""
    allowed: FloatArray
    """Time that each outlet may be short [s a year]."""
    names: tuple[str, ...]
    """Of the outlets."""


def sizes_by_chance(design: Design, limit: ShortLimit, cost: Cost) -> SizesByChance | None:
    """Find the cheapest sizes that keep a limit of daily use; None where daily use is not known.

    Args:
        limit: how long any fixture may be short.

    Source: dynamic programming for the bound; the search is a descent, judged by the bound.
    """
    use = design.daily_use
    if use is None or not use.connections:
        return None
    household = Household(design)
    supposed = suppose(household, use.people)
    settled = pressures_of(household.laws, supposed)
    situation = daily_situation(design, supposed, settled, cost)
    draws = draws_of(situation, supposed, settled, limit)
    search = Search(situation, draws)
    bound, starts = search.bound()

    def told_of(sizes: Sequence[int]) -> tuple[Design, DailyUse | None]:
        """The design in other sizes, and its daily use with flows that follow the pressures."""
        tried = replace(design, runs=run_results(sized_as(situation, sizes, most=0.0)))
        return tried, daily_use(tried, use.people)

    def answer(sizes: Sequence[int], *, kept: bool) -> SizesByChance | None:
        tried, told = told_of(sizes)
        if told is None:
            return None
        worst = max(told.connections, key=lambda each: each.below)
        return SizesByChance(
            limit=limit.text,
            kept=kept,
            code_keeps=_keeps(use, limit),
            cost=situation.cost(sizes),
            code_cost=design.cost,
            bound=min(bound, situation.cost(sizes)),
            worst=worst.label,
            worst_below=worst.below,
            sizes=tuple((run.name, run.nominal) for run in tried.runs),
            changes=tuple(
                (run.name, run.nominal)
                for run in tried.runs
                if design.sizes[run.name] != run.nominal
            ),
        )

    largest = largest_sizes(situation)
    told = told_of(largest)[1]
    if told is None or not _keeps(told, limit):
        tank = None if told is None else _larger_tank(design, told_of(largest)[0], told, limit)
        if tank is None:
            return answer(largest, kept=False)
        with_it = sizes_by_chance(_with_tank(design, tank), limit, cost)
        return None if with_it is None else replace(with_it, tank=tank, code_keeps=False)
    for part in TIGHTENED:
        sizes = search.descend(starts, part)
        told = told_of(sizes)[1]
        if told is not None and _keeps(told, limit):
            return answer(sizes, kept=True)
    return answer(largest, kept=True)


def _larger_tank(
    design: Design, at_largest: Design, told: DailyUse, limit: ShortLimit
) -> float | None:
    """The smallest usual tank with which the largest sizes keep a limit [m3].

    Tried where what is short is short because the pump gives less than is drawn.
    """
    worst = max(told.connections, key=lambda each: each.below)
    tank = design.house.source.tank
    by_pump = worst.below_while_pump_gives_way > 0.5 * worst.below
    if tank is None or tank.volume is None or not by_pump:
        return None
    for volume in tank_volumes(design.house.project.units == "metric"):
        if volume > tank.volume:
            use = daily_use(_with_tank(at_largest, volume), told.people)
            if use is not None and _keeps(use, limit):
                return volume
    return None


def _with_tank(design: Design, volume: float) -> Design:
    """The same house with a pressure tank of another volume [m3]."""
    house = design.house
    assert house.source.tank is not None
    source = replace(house.source, tank=replace(house.source.tank, volume=volume))
    return replace(design, tree=replace(design.tree, house=replace(house, source=source)))


def _keeps(use: DailyUse, limit: ShortLimit) -> bool:
    """Whether every fixture keeps a limit."""
    return not use.without_water and all(
        each.below <= _allowed(limit, each.running) + use.error for each in use.connections
    )


def _allowed(limit: ShortLimit, running: float) -> float:
    """Time that a connection may be short [s a year] of that in which it runs."""
    return limit.a_year if limit.a_year is not None else (limit.share or 0.0) * running


def _at_links(tree: Tree, supposed: Supposed, at_connection: FloatArray) -> FloatArray:
    """Flow of every link in every set [m3/s] from what connections draw."""
    at = [each.outlet.link for each in supposed.connections]
    return np.array(flows_of_draws(tree.parent, at, at_connection))


def _own_flows(supposed: Supposed, settled: Pressures) -> FloatArray:
    """What each connection draws with its use alone at the source's lower setting [m3/s]."""
    running = supposed.moments.running
    own = np.array([each.flow for each in supposed.connections])
    for number in np.flatnonzero(running.sum(axis=0) == 1).tolist():
        of_use = int(running[:, number].argmax())
        mine = supposed.of_use == of_use
        own[mine] = settled.drawn[mine, number]
    return own


def daily_situation(
    design: Design, supposed: Supposed, settled: Pressures, cost: Cost
) -> Situation:
    """The tree with the flows of daily use: by them velocities and branches are judged."""
    tree, demand = design.tree, design.demand
    flow = _at_links(tree, supposed, settled.drawn)
    weight = supposed.moments.chance
    usual = []
    for link, row in enumerate(flow):
        runs = row > 0.0
        most = demand.largest[link] + (demand.continuous[link] if demand.continuous else 0.0)
        if runs.any():
            order = np.argsort(row[runs])
            reached = np.cumsum(weight[runs][order])
            place = int(np.searchsorted(reached, RARE_FLOW * reached[-1]))
            most = max(most, float(row[runs][order][min(place, order.size - 1)]))
        usual.append(min(most, demand.design_flow[link]))
    return prepare(tree, replace(demand, design_flow=tuple(usual)), design.source, cost)


def draws_of(
    situation: Situation, supposed: Supposed, settled: Pressures, limit: ShortLimit
) -> ChanceDraws:
    """Every set with additive flows, and each outlet beside them, which must be served alone."""
    tree, states = situation.tree, supposed.states
    opened = supposed.open_now
    flow = _at_links(tree, supposed, _own_flows(supposed, settled)[:, None] * opened)
    used = {each.outlet.name for each in supposed.connections}
    others = [
        outlet
        for outlet in tree.outlets
        if outlet.name not in used and outlet.fixture.name not in supposed.without_water
    ]
    alone = np.zeros((len(tree), len(others)))
    for column, outlet in enumerate(others):
        for link in tree.path(outlet.link):
            alone[link, column] = outlet.flow
        alone[0, column] = outlet.flow
    names = list(dict.fromkeys(each.outlet.name for each in supposed.connections))
    place = {name: number for number, name in enumerate(names)}
    connection, number = settled.connection, settled.set_number
    outlets = [each.outlet for each in supposed.connections]
    weight = supposed.moments.chance * YEAR
    running = np.bincount(
        [place[outlets[i].name] for i in connection.tolist()], weights=weight[number]
    )
    first = opened.shape[1]
    return ChanceDraws(
        flow=np.concatenate([flow, alone], axis=1),
        levels=np.concatenate(
            [settled.source, np.full((len(others), settled.source.shape[1]), states.low)]
        ),
        link=np.array(
            [outlets[i].link for i in connection.tolist()] + [outlet.link for outlet in others]
        ),
        number=np.concatenate([number, first + np.arange(len(others))]),
        outlet=np.array(
            [place[outlets[i].name] for i in connection.tolist()]
            + [len(names) + i for i in range(len(others))]
        ),
        need=np.array(
            [outlets[i].required_pressure for i in connection.tolist()]
            + [outlet.required_pressure for outlet in others]
        ),
        weight=np.concatenate([weight[number], np.full(len(others), YEAR)]),
        allowed=np.concatenate(
            [[_allowed(limit, float(time)) for time in running], np.zeros(len(others))]
        ),
        names=(*names, *(outlet.name for outlet in others)),
    )


class Search:
    """Candidates' sizes against the draws; keeps the losses that it has worked out."""

    def __init__(self, situation: Situation, draws: ChanceDraws) -> None:
        """Hold candidates of a tree against draws."""
        self.situation, self._draws = situation, draws
        self._laws: LinkLaws = laws_of_sizes(situation, largest_sizes(situation))
        self._fixed = self._laws.losses(list(draws.flow))
        """Of devices; of runs with the largest sizes."""
        self._known: dict[tuple[int, int], FloatArray] = {}
        self._held = [
            math.inf if held is None else held.setting - held.falloff for held in self._laws.held
        ]
        self.runs = [i for i, choice in enumerate(situation.choices) if choice is not None]
        allowed = draws.allowed.copy()
        # what the largest sizes cannot serve is not asked for
        most = self.below(largest_sizes(situation))
        self._allowed = np.maximum(allowed, most * (1.0 + 1e-9))

    def loss(self, link: int, size: int) -> FloatArray:
        """Of a run in a size, in every set [Pa]."""
        key = link, size
        if key not in self._known:
            choice, laws = self.situation.choices[link], self._laws
            assert choice is not None
            option = choice.options[size]
            by_c = laws.hazen_williams_c
            friction, fittings = pipe_loss(
                self._draws.flow[link],
                choice.counted_length,
                option.size.inside_diameter,
                laws.roughness[link],
                option.k,
                laws.density[link],
                laws.viscosity[link],
                None if by_c is None else by_c[link],
            )
            self._known[key] = friction + fittings
        return self._known[key]

    def below(self, sizes: Sequence[int]) -> FloatArray:
        """Time that each outlet is short [s a year]."""
        draws = self._draws
        asked = draws.need - self._reached(sizes)
        short = (draws.levels[draws.number] < asked[:, None]).mean(axis=1)
        if any(limit < math.inf for limit in self._held):
            ceiling = self._reached(sizes, _FAR, self._held)
            short = np.where(ceiling < draws.need, 1.0, short)
        below: FloatArray = np.zeros(draws.allowed.size)
        np.add.at(below, draws.outlet, draws.weight * short)
        return below

    def _reached(
        self, sizes: Sequence[int], source: float = 0.0, limits: Sequence[float] | None = None
    ) -> FloatArray:
        """Pressure of each pair with the source at one [Pa gauge], limits of valves by link."""
        draws, laws = self._draws, self._laws
        loss = list(self._fixed)
        for i in self.runs:
            loss[i] = self.loss(i, sizes[i])
        at_source = np.full(draws.flow.shape[1], source)
        limits = [math.inf] * len(loss) if limits is None else limits
        reached = np.array(pressures_below(laws.parent, at_source, laws.static_gain, loss, limits))
        of_pairs: FloatArray = reached[draws.link, draws.number]
        return of_pairs

    def over(self, sizes: Sequence[int], part: float = 1.0) -> float:
        """By how much the limits are broken, in limits; 0: all are kept.

        Args:
            sizes: index of each run's size in its family.
            part: of the limits that is to be kept.
        """
        allowed = np.maximum(self._allowed * part, 1.0)
        return float(np.maximum(self.below(sizes) / allowed - 1.0, 0.0).sum())

    def bound(self) -> tuple[float, list[list[int]]]:
        """The least cost that any sizes can have, and sizes that serve single sets."""
        self.situation = self._without_hopeless(self.situation)
        smallest = smallest_sizes(self.situation)
        least, starts = self.situation.cost(smallest), [smallest]
        for number in self._binding(smallest)[:MOST_BOUNDS]:
            sizes = self._serving(number)
            if sizes is not None:
                least = max(least, self.situation.cost(sizes))
                starts.append(sizes)
        return least, starts

    def _without_hopeless(self, situation: Situation) -> Situation:
        """The permitted sizes without those that break a limit though all others are largest."""
        largest = largest_sizes(situation)
        choices: list[RunChoice | None] = list(situation.choices)
        for i in self.runs:
            choice = situation.choices[i]
            assert choice is not None
            hopeful: list[int] = []
            for size in choice.allowed:
                tried = list(largest)
                tried[i] = min(size, largest[i])
                if hopeful or self.over(held_to_feeds(situation, tried)) <= 0.0:
                    hopeful.append(size)
            choices[i] = replace(choice, allowed=tuple(hopeful) or choice.allowed[-1:])
        return reconcile(replace(situation, choices=tuple(choices)))

    def _asked(self, number: int) -> dict[int, float]:
        """For each link with an outlet in a set: the most that the set may ask of the source."""
        draws = self._draws
        alike = draws.flow[:, number] > 0.0
        holding = np.all(draws.flow[alike] >= draws.flow[alike, number][:, None] - 1e-12, axis=0)
        asked: dict[int, float] = {}
        for pair in np.flatnonzero(draws.number == number).tolist():
            mine = (draws.outlet == draws.outlet[pair]) & holding[draws.number]
            levels = draws.levels[draws.number[mine]]
            weight = np.repeat(draws.weight[mine] / levels.shape[1], levels.shape[1])
            order = np.argsort(levels.ravel(), kind="stable")
            reached = np.cumsum(weight[order])
            place = int(
                np.searchsorted(reached, self._allowed[draws.outlet[pair]] * (1.0 + 1e-9), "right")
            )
            if place < order.size:
                asked[int(draws.link[pair])] = float(levels.ravel()[order[place]])
        return asked

    def _binding(self, sizes: Sequence[int]) -> list[int]:
        """Sets that the smallest sizes do not serve, those that are furthest off first."""
        draws = self._draws
        off = draws.need - self._reached(sizes) - draws.levels[draws.number].min(axis=1)
        candidates = np.argsort(-off, kind="stable")
        furthest = []
        for pair in candidates[: 8 * MOST_BOUNDS].tolist():
            if off[pair] > 0.0 and int(draws.number[pair]) not in furthest:
                furthest.append(int(draws.number[pair]))
        likeliest = np.argsort(-np.bincount(draws.number, weights=draws.weight), kind="stable")
        mixed: list[int] = []
        for some in zip(furthest, likeliest.tolist(), strict=False):
            mixed += [each for each in some if each not in mixed]
        return mixed or furthest

    def _serving(self, number: int) -> list[int] | None:
        """The cheapest sizes that serve one set; None where it asks for nothing."""
        situation, draws = self.situation, self._draws
        asked = self._asked(number)
        if not asked:
            return None
        need = {int(draws.link[pair]): float(draws.need[pair])
                for pair in np.flatnonzero(draws.number == number)}  # fmt: skip
        available = situation.source.design_pressure
        required = [-math.inf] * len(situation.tree)
        for link, pressure in asked.items():
            required[link] = need[link] - pressure + available
        choices: list[RunChoice | None] = []
        for i, choice in enumerate(situation.choices):
            if choice is None:
                choices.append(None)
                continue
            options = tuple(
                replace(option, loss=float(self.loss(i, j)[number]))
                if j in choice.allowed
                else option
                for j, option in enumerate(choice.options)
            )
            choices.append(replace(choice, options=options))
        case = replace(
            situation,
            choices=tuple(choices),
            required=tuple(required),
            device_loss=tuple(
                0.0 if choice is not None else float(self._fixed[i][number])
                for i, choice in enumerate(situation.choices)
            ),
            outlet_limit=(math.inf,) * len(situation.tree),
        )
        try:
            solution = cheapest(sizing_problem(case, 0.0))
        except ComputationError:
            return None
        if not solution.feasible:
            return None
        return situation.sizes_by(solution.choice)

    def descend(self, starts: Sequence[Sequence[int]], part: float) -> list[int]:
        """The cheapest sizes found that keep a part of every limit.

        Args:
            starts: sizes that serve single sets.
            part: of the limits that is to be kept.

        Returns:
            Index of each run's size in its family.
        """
        together = [max(column) for column in zip(*starts, strict=True)]
        sizes = feeds_raised_to(self.situation, list(together))
        sizes = self._raised(sizes, part)
        if self.over(sizes, part) > 0.0:
            return sizes
        sizes = self._lowered(sizes, part)
        for i in self.runs:
            raised = self.one_more(sizes, i)
            if raised is None:
                continue
            other = self._lowered(raised, part, keep=i)
            if self.situation.cost(other) < self.situation.cost(sizes) * (1.0 - 1e-9):
                sizes = other
        return sizes

    def one_more(self, sizes: Sequence[int], link: int) -> list[int] | None:
        """The next size of a run, and what its feeds and group then are; None: it has none."""
        choice = self.situation.choices[link]
        assert choice is not None
        larger = [j for j in choice.allowed if j > sizes[link]]
        if not larger:
            return None
        changed = list(sizes)
        changed[link] = larger[0]
        return feeds_raised_to(self.situation, changed)

    def _one_less(self, sizes: Sequence[int], link: int) -> list[int] | None:
        """The size before of a run, and what it feeds and its group then are."""
        choice = self.situation.choices[link]
        assert choice is not None
        smaller = [j for j in choice.allowed if j < sizes[link]]
        if not smaller:
            return None
        changed = list(sizes)
        changed[link] = smaller[-1]
        changed = held_to_feeds(self.situation, changed)
        # what it feeds may not get as small: then its feed must not either
        legal = feeds_raised_to(self.situation, list(changed)) == changed
        return changed if legal and changed != list(sizes) else None

    def _raised(self, sizes: list[int], part: float) -> list[int]:
        """Larger sizes, each time the one that helps most for its cost, until limits are kept."""
        over = self.over(sizes, part)
        while over > 0.0:
            best: tuple[float, list[int], float] | None = None
            for i in self.runs:
                tried = self.one_more(sizes, i)
                if tried is None:
                    continue
                then = self.over(tried, part)
                dearer = self.situation.cost(tried) - self.situation.cost(sizes)
                gained = (over - then) / max(dearer, 1e-9)
                if then < over and (best is None or gained > best[0]):
                    best = gained, tried, then
            if best is None:
                return largest_sizes(self.situation)
            _, sizes, over = best
        return sizes

    def _lowered(self, sizes: list[int], part: float, keep: int = -1) -> list[int]:
        """Smaller sizes, each time the one that saves most, as long as limits are kept.

        A run that cannot be smaller now cannot be when others are smaller still.
        """
        left = {i for i in self.runs if i != keep}
        while left:
            saved: list[tuple[float, int, list[int]]] = []
            for i in sorted(left):
                tried = self._one_less(sizes, i)
                if tried is None:
                    left.discard(i)
                else:
                    saved.append((self.situation.cost(tried), i, tried))
            for _, i, tried in sorted(saved):
                if self.over(tried, part) <= 0.0:
                    sizes = tried
                    break
                left.discard(i)
        return sizes
