"""Pareto fronts of (pressure needed, cost) of a subtree, and the ways they grow up the tree."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence

from msgspec import Struct

from supplycalc.sizing.ways import Ways

Point = tuple[float, float, int, int, float]
"""(pressure needed upstream [Pa], cost, option, index into `Ways.below`, pressure needed at the
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


def undominated(points: list[Point]) -> Front:
    """Keep the points that are cheaper than every point that needs no more pressure.

    Args:
        points: in any order; they are sorted in place [Pa and cost].

    Returns:
        The front.
    """
    points.sort()
    kept: list[Point] = []
    best = math.inf
    for point in points:
        if point[1] < best:
            best = point[1]
            kept.append(point)
    return Front([point[0] for point in kept], [point[1] for point in kept], kept)


def combined(
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


def traced(
    ways: Ways, fronts: Sequence[Sequence[Front]], available: float
) -> tuple[float, float, tuple[int, ...]] | None:
    """Read the cheapest design back from the source down.

    Args:
        ways: the unfolded problem.
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
        _, _, option, down, here = front.points[front.at(pressure)]
        choice[index] = option
        for child, below in zip(ways.children[index], ways.below[index][down], strict=True):
            todo.append((child, below, here))
    return cost, needed, tuple(choice)
