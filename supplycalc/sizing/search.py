"""The cheapest design of a problem without groups: exact fronts, kept short by a lower bound.

Fronts are built in full from the outlets up until they grow long. Above that, points that a lower
bound shows too dear for the optimum are left out: a gap above the bound is allowed, and widened
until a design is found within it, which is then the cheapest of all.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence

from supplycalc.sizing.pareto import Front, Point, combined, traced, undominated
from supplycalc.sizing.problem import TOLERANCE
from supplycalc.sizing.relaxation import Prices, prices
from supplycalc.sizing.ways import Ways

_MARGIN = TOLERANCE * 1.001
"""Just above the tolerance of the shortfall, so that the same design passes both [Pa]."""
_LONG = 80
"""Points of a front above which the bound pays for itself."""
_FIRST_GAP = 0.06
"""Share of the bound, times the root of the number of links, that is mostly enough at once."""
_GAP_GROWTH = 2.0


def least_cost(ways: Ways, available: float) -> tuple[float, float, tuple[int, ...]]:
    """Find the cheapest choice of a problem without groups that is known to have one.

    Args:
        ways: the unfolded problem.
        available: pressure at the source [Pa].

    Returns:
        Cost on the grid of `ways`, pressure needed at the source [Pa], the option of every link.

    How: dynamic programming with Lagrangian bounds.
    """
    available += _MARGIN
    caps = _caps(ways, available)
    fronts, upper = _short_fronts(ways, caps)
    if not upper:
        found = traced(ways, fronts, available)
        assert found is not None, "a design exists"
        return found
    bound = _Bound(ways, available, prices(ways, available, caps, fronts), fronts)
    dearest = sum([max(cost) for cost in ways.cost])
    gap = bound.total * _FIRST_GAP / math.sqrt(len(upper))
    while True:
        most = bound.total + gap + 1e-9 * abs(bound.total) + 1.0
        found = traced(ways, _fronts_within(ways, caps, fronts, upper, bound, most), available)
        if found is not None and found[0] <= most:
            return found
        assert most <= 2.0 * dearest + 2.0, "a design exists"
        gap = max(gap * _GAP_GROWTH, 1.0)
        if found is not None:  # not proven the cheapest, but the cheapest costs no more
            gap = min(gap, found[0] - bound.total)


def _caps(ways: Ways, available: float) -> list[float]:
    """Highest pressure that can reach each link's upstream end [Pa]; too high does no harm."""
    caps = [available + 1e-3] * len(ways.children)
    for index, children in enumerate(ways.children):
        if children:
            drop = ways.drop[index]
            best = min([drop[option] for way in ways.ways[index] for option, _ in way])
            cap = min(caps[index] - best, ways.limit[index] + 1e-3)
            for child in children:
                caps[child] = cap
    return caps


def _short_fronts(ways: Ways, caps: list[float]) -> tuple[list[list[Front]], list[int]]:
    """Full fronts of all subtrees below the first long one, and the links above those."""
    fronts: list[list[Front]] = [[]] * len(caps)
    short = [True] * len(caps)
    upper = []
    for index in range(len(caps) - 1, -1, -1):
        children = ways.children[index]
        for child in children:
            if not short[child]:
                short[index] = False
        if any(not fronts[child] for child in children) or not short[index]:
            upper.append(index)
            short[index] = False
            continue
        own = fronts[index] = _full(ways, fronts, index, caps[index])
        short[index] = max([len(front.needed) for front in own]) <= _LONG
    upper.reverse()
    return fronts, upper


def _full(ways: Ways, fronts: Sequence[Sequence[Front]], index: int, cap: float) -> list[Front]:
    """Full fronts of a link, one for each class."""
    if not ways.children[index]:
        return _full_alone(ways, index, cap)
    drop, cost = ways.drop[index], ways.cost[index]
    downs = [_down(ways, fronts, index, down) for down in ways.below[index]]
    own: list[Front] = []
    before: list[tuple[int, int]] = []
    for way in ways.ways[index]:
        points: list[Point] = []
        extended = way[: len(before)] == before and bool(before)
        if extended:  # one more size than the class before
            points += own[-1].points
        added = way[len(before) :] if extended else way
        before = way
        for option, d in added:
            rise, extra = drop[option], cost[option]
            needed, total = downs[d]
            if needed and needed[-1] + rise > cap:
                needed = needed[: bisect_right(needed, cap - rise)]
            points += [
                (pressure + rise, sum_below + extra, option, d, pressure)
                for pressure, sum_below in zip(needed, total, strict=False)
            ]
        # a size that no design of this subtree can use leaves the class as it was
        reuse = bool(own) and len(points) == len(own[-1].points) and extended
        own.append(own[-1] if reuse else undominated(points))
    return own


def _full_alone(ways: Ways, index: int, cap: float) -> list[Front]:
    """Full fronts of a link that feeds nothing, one for each class."""
    here = ways.required[index]
    most = cap - here if here <= ways.limit[index] + _MARGIN else -math.inf
    drop, cost = ways.drop[index], ways.cost[index]
    own: list[Front] = []
    front = Front([], [], [])
    before: list[tuple[int, int]] = []
    for way in ways.ways[index]:
        extended = way[: len(before)] == before
        points = [
            (here + drop[option], cost[option], option, d, here)
            for option, d in (way[len(before) :] if extended else way)
            if drop[option] <= most
        ]
        if not extended:
            front = undominated(points)
        elif len(points) == 1 and front.cost and points[0] < front.points[0]:
            # one more size, mostly a dearer one, that needs less than all before
            ((needed, price, *_),) = points
            if price > front.cost[0]:
                front = Front([needed, *front.needed], [price, *front.cost], points + front.points)
            else:
                front = undominated(points + front.points)
        elif points:
            front = undominated(points + front.points)
        before = way
        own.append(front)
    return own


def _down(
    ways: Ways, fronts: Sequence[Sequence[Front]], index: int, down: tuple[int, ...]
) -> tuple[list[float], list[float]]:
    """Joint front of a link's children at the link's own end."""
    children = ways.children[index]
    if not children:
        fits = ways.required[index] <= ways.limit[index] + _MARGIN
        return ([ways.required[index]], [0.0]) if fits else ([], [])
    parts = [fronts[child][k] for child, k in zip(children, down, strict=True)]
    return combined(parts, ways.required[index], ways.limit[index] + _MARGIN)


def _fronts_within(
    ways: Ways,
    caps: list[float],
    short: list[list[Front]],
    upper: list[int],
    bound: _Bound,
    most: float,
) -> list[list[Front]]:
    """Fronts of all designs that cost no more than `most`, as far as the bound can tell."""
    fronts = list(short)
    for index in reversed(upper):
        for child in ways.children[index]:
            if short[child]:
                fronts[child] = [
                    _filtered(front, bound.price[child], most - outside)
                    for front, outside in zip(short[child], bound.outside[child], strict=True)
                ]
        price, cost, drop, cap = bound.price[index], ways.cost[index], ways.drop[index], caps[index]
        downs: dict[int, tuple[list[float], list[float]]] = {}
        own = []
        for way, outside in zip(ways.ways[index], bound.outside[index], strict=True):
            points: list[Point] = []
            for option, d in way:
                rise, extra = drop[option], cost[option]
                spare = most - outside - extra - price * rise
                if bound.below[index][d] > spare:
                    continue
                if d not in downs:
                    downs[d] = _down(ways, fronts, index, ways.below[index][d])
                needed, total = downs[d]
                if needed and needed[-1] + rise > cap:
                    needed = needed[: bisect_right(needed, cap - rise)]
                points += [
                    (here + rise, sum_below + extra, option, d, here)
                    for here, sum_below in zip(needed, total, strict=False)
                    if sum_below + price * here <= spare
                ]
            own.append(undominated(points))
        fronts[index] = own
    return [full or within for full, within in zip(short, fronts, strict=True)]


def _filtered(front: Front, price: float, spare: float) -> Front:
    """The part of a front that the bound lets live."""
    kept = [
        (pressure, cost)
        for pressure, cost in zip(front.needed, front.cost, strict=True)
        if cost + price * pressure <= spare
    ]
    return Front([pressure for pressure, _ in kept], [cost for _, cost in kept], [])


class _Bound:
    """Lower bounds on cost at given prices of pressure, inside and outside every subtree."""

    def __init__(
        self, ways: Ways, available: float, paid: Prices, short: list[list[Front]]
    ) -> None:
        self.price = paid.link
        count = len(ways.children)
        inside: list[list[float]] = [[]] * count
        self.below: list[list[float]] = [[]] * count
        for index in range(count - 1, -1, -1):
            price = self.price[index]
            if short[index]:
                if index in paid.border:
                    inside[index] = [
                        min(
                            [
                                total + price * pressure
                                for pressure, total in zip(front.needed, front.cost, strict=True)
                            ],
                            default=math.inf,
                        )
                        for front in short[index]
                    ]
                continue
            own = paid.outlet[index] * ways.required[index]
            if paid.limit[index] > 0.0:
                own -= paid.limit[index] * ways.limit[index]
            children = ways.children[index]
            sums = self.below[index] = [
                own + sum([inside[child][k] for child, k in zip(children, down, strict=True)])
                for down in ways.below[index]
            ]
            cost, drop = ways.cost[index], ways.drop[index]
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
            if short[index]:
                continue
            price, cost, drop = self.price[index], ways.cost[index], ways.drop[index]
            sums = self.below[index]
            for way, beyond in zip(ways.ways[index], self.outside[index], strict=True):
                for o, d in way:
                    rest = beyond + cost[o] + price * drop[o] + sums[d]
                    for child, k in zip(children, ways.below[index][d], strict=True):
                        if rest - inside[child][k] < self.outside[child][k]:
                            self.outside[child][k] = rest - inside[child][k]
