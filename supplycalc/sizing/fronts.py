"""Exact least-cost sizing by Pareto fronts of (pressure needed, cost) from the outlets up.

The pressure needed at the head of a subtree is a maximum over what it feeds and its cost a sum, so
only the designs that need less pressure or cost less than every other are worth keeping. Points
that a lower bound shows too dear to end up in the optimum are dropped on the way: a gap above the
bound is allowed, and widened until a design is found within it, which is then the cheapest of all.
"""

from __future__ import annotations

import heapq
import math
from bisect import bisect_right
from dataclasses import dataclass, replace

from supplycalc.sizing.problem import TOLERANCE, SizingProblem, Solution, evaluate
from supplycalc.sizing.relaxation import Prices, prices
from supplycalc.sizing.shortfall import least_shortfall
from supplycalc.sizing.ways import Ways, unavoidably_oversized, unfold

_MARGIN = TOLERANCE * 1.001
"""Just above the tolerance of the shortfall, so that the same design passes both."""
_FIRST_GAP = 1e-3
_GAP_GROWTH = 3.0

Fixed = tuple[tuple[int, int], ...]
"""(group, option) pairs decided so far."""


def cheapest(problem: SizingProblem) -> Solution:
    """Find the cheapest design that serves every outlet, or the one that falls short least.

    Among equally cheap designs the one that needs the least pressure is taken. Where no design
    serves every outlet, the largest shortfall of any outlet is made as small as possible, then the
    cost. Links that no design could keep from ranking above what feeds them are exempt.

    Groups are decided by branching on the first one whose links disagree, cheapest bound first; at
    worst every combination of their options is solved once (343 for three groups of seven sizes).

    Args:
        problem: the tree, its options and the pressure available [Pa].

    Returns:
        The design.

    Source: our own (dynamic programming with Lagrangian bounds)
    """
    if not problem.links:
        return evaluate(problem, ())
    oversized = unavoidably_oversized(problem)
    exempt = oversized
    choice = _best(problem, exempt, 0.0)
    if choice is None:
        slack = _smallest_slack(problem, exempt)
        if slack == math.inf:  # the size rule forbids every choice of the groups
            grouped = tuple(i for i, link in enumerate(problem.links) if link.group >= 0)
            exempt = tuple(sorted({*oversized, *grouped}))
            slack = _smallest_slack(problem, exempt)
        choice = _best(problem, exempt, max(slack, 0.0))
    assert choice is not None, "a design with the least shortfall exists"
    return replace(evaluate(problem, choice), oversized=_above_feed(problem, exempt, choice))


def _above_feed(
    problem: SizingProblem, exempt: tuple[int, ...], choice: tuple[int, ...]
) -> tuple[int, ...]:
    """Those of the links exempted here that do rank above what feeds them."""
    ceilings: list[float] = []
    above = []
    for index, link in enumerate(problem.links):
        feed = math.inf if link.parent < 0 else ceilings[link.parent]
        option = link.options[choice[index]]
        ceilings.append(feed if option.rank is None else option.ceiling)
        if index in exempt and not link.exempt and option.rank is not None and option.rank > feed:
            above.append(index)
    return tuple(above)


def _best(problem: SizingProblem, exempt: tuple[int, ...], slack: float) -> tuple[int, ...] | None:
    """Cheapest choice when every requirement is lowered by `slack` [Pa]; None: there is none."""
    relaxed = _with_slack(problem, slack)
    queue: list[tuple[float, float, Fixed, tuple[int, ...]]] = []

    def solve(fixed: Fixed) -> None:
        ways = unfold(relaxed, exempt, dict(fixed))
        if least_shortfall(ways, relaxed.available) <= TOLERANCE:
            cost, needed, choice = _least_cost(ways, relaxed.available + _MARGIN)
            heapq.heappush(queue, (cost, needed, fixed, choice))

    solve(())
    while queue:
        _, _, fixed, choice = heapq.heappop(queue)
        group = _disagreeing(problem, choice)
        if group is None:
            return choice
        count = next(len(link.options) for link in problem.links if link.group == group)
        for option in range(count):
            solve((*fixed, (group, option)))
    return None


def _disagreeing(problem: SizingProblem, choice: tuple[int, ...]) -> int | None:
    """The first group whose links differ in their option."""
    taken: dict[int, int] = {}
    for link, option in zip(problem.links, choice, strict=True):
        if link.group >= 0 and taken.setdefault(link.group, option) != option:
            return link.group
    return None


def _smallest_slack(problem: SizingProblem, exempt: tuple[int, ...]) -> float:
    """By how much all requirements must be lowered so that a design exists [Pa]."""
    groups: dict[int, int] = {}
    for link in problem.links:
        if link.group >= 0:
            groups[link.group] = len(link.options)
    order = sorted(groups)
    start = least_shortfall(unfold(problem, exempt, {}), problem.available)
    queue: list[tuple[float, int, Fixed]] = [(start, 0, ())]
    while True:
        bound, _, fixed = heapq.heappop(queue)
        if len(fixed) == len(order):
            return bound
        group = order[len(fixed)]
        for option in range(groups[group]):
            further = (*fixed, (group, option))
            short = least_shortfall(unfold(problem, exempt, dict(further)), problem.available)
            heapq.heappush(queue, (short, -len(further), further))


def _with_slack(problem: SizingProblem, slack: float) -> SizingProblem:
    """The problem with every requirement lowered, told as higher pressures instead."""
    if slack <= 0.0:
        return problem
    return replace(
        problem,
        available=problem.available + slack,
        links=tuple(
            replace(link, outlet_limit=link.outlet_limit + slack) for link in problem.links
        ),
    )


@dataclass(slots=True)
class _Front:
    """Designs of a subtree, each needing more pressure and costing less than the one before."""

    needed: list[float]
    """At the upstream end [Pa]."""
    cost: list[float]
    made: list[tuple[int, int, float]]
    """(option, index into `Ways.below`, pressure needed at the link's own end [Pa])"""


def _least_cost(ways: Ways, available: float) -> tuple[float, float, tuple[int, ...]]:
    """Cheapest choice of a problem without groups that is known to have one."""
    caps = _caps(ways, available)
    bound = _Bound(ways, available, prices(ways, available, caps))
    gap = _FIRST_GAP * bound.total
    dearest = sum([max(cost) for cost in ways.cost])
    while True:
        found = _within(ways, available, caps, bound, gap)
        if found is not None:
            return found
        assert bound.total + gap <= dearest, "a design exists"
        gap = max(gap * _GAP_GROWTH, 1.0)


def _caps(ways: Ways, available: float) -> list[float]:
    """Highest pressure that can reach each link's upstream end [Pa]."""
    caps = [available + 1e-3] * len(ways.children)  # a cap may be too high, never too low
    for index, children in enumerate(ways.children):
        if children:
            best = min([ways.drop[index][option] for way in ways.ways[index] for option, _ in way])
            for child in children:
                caps[child] = min(caps[index] - best, ways.limit[index] + 1e-3)
    return caps


class _Bound:
    """Lower bounds on cost at given prices of pressure, inside and outside every subtree."""

    def __init__(self, ways: Ways, available: float, paid: Prices) -> None:
        self.price = paid.link
        count = len(ways.children)
        inside: list[list[float]] = [[]] * count
        self.below: list[list[float]] = [[]] * count
        for index in range(count - 1, -1, -1):
            own = paid.outlet[index] * ways.required[index]
            if paid.limit[index] > 0.0:
                own -= paid.limit[index] * ways.limit[index]
            children = ways.children[index]
            sums = self.below[index] = [
                own + sum([inside[child][k] for child, k in zip(children, down, strict=True)])
                for down in ways.below[index]
            ]
            price, cost, drop = self.price[index], ways.cost[index], ways.drop[index]
            inside[index] = [
                min([cost[o] + price * drop[o] + sums[d] for o, d in way], default=math.inf)
                for way in ways.ways[index]
            ]
        at_source = -available * sum([self.price[root] for root in ways.roots])
        self.total = at_source + sum(
            [inside[root][k] for root, k in zip(ways.roots, ways.root_classes, strict=True)]
        )
        self.outside = [[math.inf] * len(way) for way in ways.ways]
        for root, k in zip(ways.roots, ways.root_classes, strict=True):
            self.outside[root][k] = self.total - inside[root][k]
        for index, children in enumerate(ways.children):
            if not children:
                continue
            price, cost, drop = self.price[index], ways.cost[index], ways.drop[index]
            sums = self.below[index]
            for way, beyond in zip(ways.ways[index], self.outside[index], strict=True):
                for o, d in way:
                    rest = beyond + cost[o] + price * drop[o] + sums[d]
                    for child, k in zip(children, ways.below[index][d], strict=True):
                        if rest - inside[child][k] < self.outside[child][k]:
                            self.outside[child][k] = rest - inside[child][k]


def _within(
    ways: Ways, available: float, caps: list[float], bound: _Bound, gap: float
) -> tuple[float, float, tuple[int, ...]] | None:
    """The cheapest choice that costs no more than the lower bound and a gap."""
    most = bound.total + gap + 1e-9 * abs(bound.total) + 1.0
    fronts: list[list[_Front]] = [[]] * len(ways.children)
    for index in range(len(ways.children) - 1, -1, -1):
        price, cost, drop, cap = bound.price[index], ways.cost[index], ways.drop[index], caps[index]
        downs: dict[int, tuple[list[float], list[float]]] = {}
        fronts[index] = []
        for k, way in enumerate(ways.ways[index]):
            spare = most - bound.outside[index][k]
            points: list[tuple[float, float, int, int, float]] = []
            for option, d in way:
                rise, extra = drop[option], cost[option]
                if extra + price * rise + bound.below[index][d] > spare:
                    continue
                if d not in downs:
                    downs[d] = _combined(ways, fronts, index, d)
                for here, total in zip(*downs[d], strict=True):
                    needed = here + rise
                    if needed > cap:
                        break
                    if total + extra + price * needed <= spare:
                        points.append((needed, total + extra, option, d, here))
            fronts[index].append(_pareto(points))
    return _trace(ways, fronts, available, most)


def _pareto(points: list[tuple[float, float, int, int, float]]) -> _Front:
    """Keep the points that are cheaper than every point that needs no more pressure."""
    points.sort()
    front = _Front([], [], [])
    best = math.inf
    for needed, cost, option, d, here in points:
        if cost < best:
            best = cost
            front.needed.append(needed)
            front.cost.append(cost)
            front.made.append((option, d, here))
    return front


def _combined(
    ways: Ways, fronts: list[list[_Front]], index: int, d: int
) -> tuple[list[float], list[float]]:
    """Pressure needed at a link's own end and cost of all it feeds, within its outlet limit."""
    required, limit = ways.required[index], ways.limit[index] + _MARGIN
    parts = [
        fronts[child][k]
        for child, k in zip(ways.children[index], ways.below[index][d], strict=True)
    ]
    if any(not part.needed for part in parts):
        return [], []
    start = max([required, *[part.needed[0] for part in parts]])
    if start > limit:
        return [], []
    steps: list[tuple[float, float]] = []
    total = 0.0
    for part in parts:
        first = bisect_right(part.needed, start)
        costs = part.cost
        total += costs[first - 1]
        steps += [(part.needed[i], costs[i] - costs[i - 1]) for i in range(first, len(part.needed))]
    if len(parts) > 1:
        steps.sort()
    needed, cost = [start], [total]
    for pressure, change in steps:
        if pressure > limit:
            break
        total += change
        needed.append(pressure)
        cost.append(total)
    return needed, cost


def _trace(
    ways: Ways, fronts: list[list[_Front]], available: float, most: float
) -> tuple[float, float, tuple[int, ...]] | None:
    """Read the choice back from the source down."""
    choice = [0] * len(ways.children)
    todo: list[tuple[int, int, float]] = []
    cost, needed = 0.0, -math.inf
    for root, k in zip(ways.roots, ways.root_classes, strict=True):
        front = fronts[root][k]
        position = bisect_right(front.needed, available) - 1
        if position < 0:
            return None
        cost += front.cost[position]
        needed = max(needed, front.needed[position])
        todo.append((root, k, available))
    if cost > most:
        return None
    while todo:
        index, k, pressure = todo.pop()
        front = fronts[index][k]
        option, d, here = front.made[bisect_right(front.needed, pressure) - 1]
        choice[index] = option
        for child, below in zip(ways.children[index], ways.below[index][d], strict=True):
            todo.append((child, below, here))
    return cost, needed, tuple(choice)
