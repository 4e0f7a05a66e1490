"""The cheapest design of a sizing problem, exactly: fronts of (pressure needed, cost) grow upwards.

A front lists the designs of a subtree that are worth having: each needs more pressure and costs
less than the one before. A link's front comes of its options and the joint front of what it feeds;
at the source the cheapest design that the pressure suffices for is read off and traced back down.
Groups are decided by branching over their options. Where nothing serves every outlet, the same walk
over pairs (pressure needed, excess over a valve's limit) tells how little the best design is short.
"""

from __future__ import annotations

import heapq
import math
from bisect import bisect_right
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.sizing.problem import (
    TOLERANCE,
    SizingProblem,
    Solution,
    Ways,
    solution_of,
    unavoidably_oversized,
    unfold,
)

_MARGIN = TOLERANCE * 1.001
"""Just above the tolerance of the shortfall, so that the same design passes both [Pa]."""

Decided = tuple[tuple[int, int], ...]
"""(group, option) pairs decided so far."""
Pair = tuple[float, float]
"""(pressure needed, largest excess over an outlet limit inside) [Pa]."""
Point = tuple[float, float, int, int, float]
"""(pressure needed upstream [Pa], cost, option, index into `Plan.below`, pressure needed at the
link's own end [Pa])"""


class Front(Struct):
    """Designs of a subtree, each needing more pressure and costing less than the one before."""

    needed: list[float]
    """At the upstream end [Pa]."""
    cost: list[float]
    points: list[Point]
    """The same with what each is made of."""

    def at(self, pressure: float) -> int:
        """Position of the cheapest design that a pressure suffices for; -1 if there is none."""
        return bisect_right(self.needed, pressure) - 1


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

    How: dynamic programming over exact Pareto fronts.
    """
    if not problem.links:
        return solution_of(problem, ())
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
    return replace(solution_of(problem, choice), oversized=_above_feed(problem, exempt, choice))


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
    queue: list[tuple[float, float, Decided, tuple[int, ...]]] = []

    def solve(decided: Decided) -> None:
        design = least_cost(unfold(relaxed, exempt, dict(decided)), relaxed.available)
        if design is not None:
            cost, needed, choice = design
            heapq.heappush(queue, (cost, needed, decided, choice))

    solve(())
    while queue:
        _, _, decided, choice = heapq.heappop(queue)
        group = _disagreeing(problem, choice)
        if group is None:
            return choice
        count = next(len(link.options) for link in problem.links if link.group == group)
        for option in range(count):
            solve((*decided, (group, option)))
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
    queue: list[tuple[float, int, Decided]] = [(start, 0, ())]
    while True:
        bound, _, decided = heapq.heappop(queue)
        if len(decided) == len(order):
            return bound
        group = order[len(decided)]
        for option in range(groups[group]):
            further = (*decided, (group, option))
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


def least_cost(ways: Ways, available: float) -> tuple[float, float, tuple[int, ...]] | None:
    """Find the cheapest choice that serves every outlet, groups aside.

    Args:
        available: pressure at the source [Pa].

    Returns:
        Cost on the grid of `ways`, pressure needed at the source [Pa], the option of every link;
        None where nothing serves.

    How: dynamic programming over exact Pareto fronts.
    """
    available += _MARGIN
    reach = _reach(ways, available)
    fronts: list[list[Front]] = [[]] * len(reach)
    for index in range(len(reach) - 1, -1, -1):
        fronts[index] = _fronts(ways, fronts, index, *reach[index])
    return _traced(ways, fronts, available)


def _reach(ways: Ways, available: float) -> list[tuple[float, float]]:
    """Least and highest pressure that can reach each link's upstream end [Pa], widened a little."""
    reach = [(available - 1e-3, available + 1e-3)] * len(ways.children)
    for index, children in enumerate(ways.children):
        if children:
            drops = [ways.drop[index][option] for way in ways.ways[index] for option, _ in way]
            least, most = reach[index]
            limit = ways.limit[index]
            least = min(least - max(drops, default=math.inf), limit - 1e-3)
            most = min(most - min(drops, default=math.inf), limit + 1e-3)
            for child in children:
                reach[child] = least, most
    return reach


def _fronts(
    ways: Ways, fronts: Sequence[Sequence[Front]], index: int, least: float, most: float
) -> list[Front]:
    """Fronts of a link, one for each class of feeding sizes, between two pressures [Pa].

    Of the designs that the least pressure to be expected suffices for, only the cheapest counts.
    """
    drop, cost = ways.drop[index], ways.cost[index]
    joints = [_joint(ways, fronts, index, down) for down in ways.below[index]]
    own: list[Front] = []
    before: list[tuple[int, int]] = []
    for way in ways.ways[index]:
        # a class mostly leaves all that the class before it does, and one more size
        longer = bool(before) and way[: len(before)] == before
        points = list(own[-1].points) if longer else []
        for option, d in way[len(before) :] if longer else way:
            rise, extra = drop[option], cost[option]
            needed, total = joints[d]
            within = needed[: bisect_right(needed, most - rise)]
            points += [
                (pressure + rise, sum_below + extra, option, d, pressure)
                for pressure, sum_below in zip(within, total, strict=False)
            ]
        before = way
        own.append(_undominated(points, least))
    return own


def _joint(
    ways: Ways, fronts: Sequence[Sequence[Front]], index: int, down: tuple[int, ...]
) -> tuple[list[float], list[float]]:
    """Joint front of a link's children at the link's own end."""
    children = ways.children[index]
    if not children:
        fits = ways.required[index] <= ways.limit[index] + _MARGIN
        return ([ways.required[index]], [0.0]) if fits else ([], [])
    parts = [fronts[child][k] for child, k in zip(children, down, strict=True)]
    return _combined(parts, ways.required[index], ways.limit[index] + _MARGIN)


def _undominated(points: list[Point], least: float) -> Front:
    """Keep the points that are cheaper than every point that needs no more pressure.

    Args:
        points: in any order; they are sorted in place [Pa and cost].
        least: pressure that there will be at least [Pa].
    """
    points.sort()
    kept: list[Point] = []
    best = math.inf
    for point in points:
        if point[1] < best:
            best = point[1]
            kept.append(point)
    needed = [point[0] for point in kept]
    first = max(bisect_right(needed, least) - 1, 0)
    return Front(needed[first:], [point[1] for point in kept[first:]], kept[first:])


def _combined(
    parts: Sequence[Front], required: float, limit: float
) -> tuple[list[float], list[float]]:
    """Join the fronts of all that a link feeds: pressures as a maximum, costs as a sum.

    Args:
        parts: fronts of the children [Pa and cost].
        required: residual pressure required at the link's own end [Pa].
        limit: highest pressure possible there [Pa].

    Returns:
        Pressures needed at the link's end, ascending, and the costs that go with them; empty where
        nothing serves.
    """
    start = required
    for part in parts:
        if not part.needed:
            return [], []
        if part.needed[0] > start:
            start = part.needed[0]
    if start > limit:
        return [], []
    if len(parts) == 1:
        first = bisect_right(parts[0].needed, start) - 1
        last = bisect_right(parts[0].needed, limit)
        return [start, *parts[0].needed[first + 1 : last]], parts[0].cost[first:last]
    steps: list[tuple[float, float]] = []
    total = 0.0
    for part in parts:
        first = bisect_right(part.needed, start)
        cost = part.cost
        total += cost[first - 1]
        if first < len(cost):
            steps += [
                (pressure, after - before)
                for pressure, after, before in zip(
                    part.needed[first:], cost[first:], cost[first - 1 :], strict=False
                )
            ]
    steps.sort()
    needed, costs = [start], [total]
    for pressure, change in steps:
        if pressure > limit:
            break
        total += change
        needed.append(pressure)
        costs.append(total)
    return needed, costs


def _traced(
    ways: Ways, fronts: Sequence[Sequence[Front]], available: float
) -> tuple[float, float, tuple[int, ...]] | None:
    """Read the cheapest design back from the source down.

    Args:
        fronts: of every link and class [Pa and cost].
        available: pressure at the source [Pa].

    Returns:
        Cost on the grid, pressure needed [Pa] and the option of every link; None where the fronts
        hold no design for this pressure.
    """
    choice = [0] * len(ways.children)
    todo: list[tuple[int, int, float]] = []
    cost, needed = 0.0, -math.inf
    for root, k in zip(ways.roots, ways.root_classes, strict=True):
        front = fronts[root][k]
        position = front.at(available)
        if position < 0:
            return None
        cost += front.cost[position]
        needed = max(needed, front.needed[position])
        todo.append((root, k, available))
    while todo:
        index, k, pressure = todo.pop()
        front = fronts[index][k]
        _, _, option, down, own_end = front.points[front.at(pressure)]
        choice[index] = option
        for child, below in zip(ways.children[index], ways.below[index][down], strict=True):
            todo.append((child, below, own_end))
    return cost, needed, tuple(choice)


def least_shortfall(ways: Ways, available: float) -> float:
    """Find the least possible largest shortfall of any outlet.

    Behind a pressure-reducing valve an outlet's residual is the lesser of what the valve and what
    the source leave it, so a design's shortfall is the larger of what it needs beyond the source
    and what it needs beyond its valves. The two are traded against each other exactly.

    Args:
        available: pressure at the source [Pa].

    Returns:
        Required less residual pressure at the worst outlet of the best design [Pa]; negative is
        margin, inf means that the size rule leaves no design.
    """
    count = len(ways.children)
    pairs: list[list[list[Pair]]] = [[]] * count
    for index in range(count - 1, -1, -1):
        drop, limit = ways.drop[index], ways.limit[index]
        children = ways.children[index]
        below = [
            _behind(
                _joint_pairs(
                    (ways.required[index], -math.inf),
                    [pairs[child][k] for child, k in zip(children, down, strict=True)],
                ),
                limit,
            )
            for down in ways.below[index]
        ]
        pairs[index] = [
            _unbeaten([(need + drop[o], excess) for o, d in way for need, excess in below[d]])
            for way in ways.ways[index]
        ]
    roots = [pairs[root][k] for root, k in zip(ways.roots, ways.root_classes, strict=True)]
    return min(
        [
            max(need - available, excess)
            for need, excess in _joint_pairs((-math.inf, -math.inf), roots)
        ],
        default=math.inf,
    )


def _joint_pairs(own: Pair, parts: list[list[Pair]]) -> list[Pair]:
    """Every pair of maxima that the parts can have together."""
    result = [own]
    for part in parts:
        if len(result) == 1 and len(part) == 1:
            (need, excess), (more, worse) = result[0], part[0]
            result = [(need if need > more else more, excess if excess > worse else worse)]
        else:
            result = _unbeaten([(max(a, c), max(b, d)) for a, b in result for c, d in part])
    return result


def _behind(pairs: list[Pair], limit: float) -> list[Pair]:
    """Count what is needed beyond a valve's limit as excess."""
    if limit == math.inf:
        return pairs
    return _unbeaten([(need, max(excess, need - limit)) for need, excess in pairs])


def _unbeaten(pairs: list[Pair]) -> list[Pair]:
    """Keep the pairs that no other beats in both."""
    if len(pairs) < 2:
        return pairs
    pairs.sort()
    result = [pairs[0]]
    for pair in pairs:
        if pair[1] < result[-1][1]:
            result.append(pair)
    return result
