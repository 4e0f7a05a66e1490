"""A lower bound on cost: every link may mix its options, so that costs become convex.

The relaxed problem is solved exactly by convex functions from the leaves up. What it leaves behind
is a price of pressure for every link (cost per Pa); with these prices a bound on the cost of any
partial design is a single multiplication, which is what keeps the exact fronts short.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import accumulate, pairwise
from operator import sub

from msgspec import Struct

from supplycalc.sizing.pareto import Front
from supplycalc.sizing.ways import Ways

_NEAR = 1e-6
"""Pressures closer than this count as the same breakpoint [Pa]; it costs sharpness, not truth."""


class Prices(Struct, frozen=True, kw_only=True):
    """Prices of pressure: any non-negative ones that add up give a valid bound."""

    link: list[float]
    """Of pressure at each link's upstream end [cost/Pa]."""
    outlet: list[float]
    """Of the pressure required at each link's own end [cost/Pa]."""
    limit: list[float]
    """Of the outlet limit of each link [cost/Pa]."""
    border: frozenset[int]
    """The links whose fronts stand in for all that they feed."""


class _Convex(Struct):
    """Least cost over pressure: falls from `start` on, flat after the last end."""

    start: float
    ends: list[float]
    """Where each straight piece ends [Pa], ascending."""
    slopes: list[float]
    """Of each piece [cost/Pa], negative, ascending to zero."""


_SAMPLE = 16
"""About how many points of a front go into its hull."""
_NOTHING = _Convex(0.0, [], [])


def prices(
    ways: Ways, available: float, caps: list[float], fronts: Sequence[Sequence[Front]]
) -> Prices:
    """Solve the relaxed problem, the size rule left aside, for the prices of pressure.

    Args:
        ways: the unfolded problem.
        available: pressure at the source [Pa].
        caps: highest pressure that can reach each link's upstream end [Pa].
        fronts: of the links whose subtrees are solved already, by class; else empty [Pa and cost].

    Returns:
        The prices; at every link they add up: what is paid upstream and at the limit is what is
        paid below. Below the border they are zero and without meaning.

    Source: Lagrangian duality for convex costs on a tree (any textbook on network flows)
    """
    count = len(ways.children)
    hulls: list[_Convex] = [_NOTHING] * count
    below: list[_Convex] = [_NOTHING] * count
    above: list[_Convex] = [_NOTHING] * count
    border = set()
    for index in range(count - 1, -1, -1):
        if fronts[index]:
            continue
        for child in ways.children[index]:
            if fronts[child]:
                above[child] = _hull(_sample(fronts[child]))
                border.add(child)
        drop, cost = ways.drop[index], ways.cost[index]
        options = {option for way in ways.ways[index] for option, _ in way}
        hulls[index] = _hull([(drop[option], cost[option]) for option in options])
        children = [above[child] for child in ways.children[index]]
        below[index] = _together(children, ways.required[index], ways.limit[index])
        above[index] = _in_series(below[index], hulls[index], caps[index])
    for root in ways.roots:
        if fronts[root]:
            border.add(root)
            above[root] = _NOTHING
    return _hand_down(ways, available, hulls, below, above, fronts, frozenset(border))


def _sample(fronts: Sequence[Front]) -> list[tuple[float, float]]:
    """Some points of the front that is bound least; the prices need no more to be good."""
    front = min([front for front in fronts if front.cost], key=lambda front: front.cost[-1])
    step = len(front.cost) // _SAMPLE + 1
    return [
        *zip(front.needed[::step], front.cost[::step], strict=True),
        (front.needed[-1], front.cost[-1]),
    ]


def _hull(points: list[tuple[float, float]]) -> _Convex:
    """Lower convex hull of points (pressure, cost)."""
    points.sort()
    hull: list[tuple[float, float]] = []
    for point in points:
        if hull and point[1] >= hull[-1][1]:
            continue
        while len(hull) > 1 and (hull[-1][1] - hull[-2][1]) * (point[0] - hull[-2][0]) >= (
            point[1] - hull[-2][1]
        ) * (hull[-1][0] - hull[-2][0]):
            hull.pop()
        if len(hull) == 1 and point[0] == hull[0][0]:
            hull.pop()
        hull.append(point)
    return _Convex(
        hull[0][0],
        [drop for drop, _ in hull[1:]],
        [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(hull)],
    )


def _together(children: list[_Convex], required: float, limit: float) -> _Convex:
    """What the children cost together when all see the same pressure."""
    if not children:
        return _Convex(required, [], [])
    start = max(required, max([child.start for child in children]))
    if len(children) == 1:
        first = bisect_right(children[0].ends, start)
        ends, slopes = children[0].ends[first:], children[0].slopes[first:]
    else:
        bends: list[tuple[float, float]] = []
        for child in children:
            first = bisect_right(child.ends, start)
            steep = [*child.slopes[first:], 0.0]
            bends += zip(child.ends[first:], map(sub, steep[1:], steep[:-1]), strict=True)
        bends.sort()
        ends = [end for end, _ in bends]
        slopes = list(accumulate([-bend for _, bend in reversed(bends)]))
        slopes.reverse()
    if ends and ends[-1] > limit:
        last = bisect_left(ends, limit)
        ends, slopes = [*ends[:last], max(limit, start)], slopes[: last + 1]
    return _Convex(start, ends, slopes)


def _in_series(below: _Convex, hull: _Convex, cap: float) -> _Convex:
    """A link before what it feeds: the steepest pieces of both come first."""
    start = below.start + hull.start
    if not hull.ends:
        return _Convex(start, [end + hull.start for end in below.ends], below.slopes)
    ends: list[float] = []
    slopes: list[float] = []
    taken, shift, before = 0, hull.start, hull.start
    for end, slope in zip(hull.ends, hull.slopes, strict=True):
        place = bisect_left(below.slopes, slope, taken)
        ends += [piece + shift for piece in below.ends[taken:place]]
        slopes += below.slopes[taken:place]
        ends.append((ends[-1] if ends else start) + end - before)
        slopes.append(slope)
        shift += end - before
        taken, before = place, end
    ends += [piece + shift for piece in below.ends[taken:]]
    slopes += below.slopes[taken:]
    if ends[-1] > cap:
        last = bisect_left(ends, cap) + 1
        del ends[last:], slopes[last:]
    return _Convex(start, ends, slopes)


def _hand_down(
    ways: Ways,
    available: float,
    hulls: list[_Convex],
    below: list[_Convex],
    above: list[_Convex],
    fronts: Sequence[Sequence[Front]],
    border: frozenset[int],
) -> Prices:
    """From the source down: the pressure at every link and the price that goes with it."""
    count = len(ways.children)
    link, outlet, limit = [0.0] * count, [0.0] * count, [0.0] * count
    pressure = [0.0] * count
    for index in ways.roots:
        pressure[index] = available
        link[index] = _interval(above[index], available)[0]
    for index in range(count):
        if fronts[index]:
            continue
        price, hull, down = link[index], hulls[index], below[index]
        full = bisect_left(hull.slopes, -price)
        loss = hull.ends[full - 1] if full else hull.start
        reach = bisect_right(down.slopes, -price)
        here = min(pressure[index] - loss, down.ends[reach - 1] if reach else down.start)
        here = max(here, down.start)
        capped = here >= ways.limit[index] - _NEAR
        here = min(here, ways.limit[index])
        children = ways.children[index]
        spans = [_interval(above[child], here) for child in children]
        spans.append((0.0, math.inf if here <= ways.required[index] + _NEAR else 0.0))
        shares = _shares(spans, price)
        for child, share in zip(children, shares, strict=False):
            pressure[child], link[child] = here, share
        outlet[index] = shares[-1]
        if capped:
            limit[index] = max(sum(shares) - price, 0.0)
    # Add up once more from the leaves, so that the prices balance to the last digit.
    for index in range(count - 1, -1, -1):
        if fronts[index]:
            continue
        paid = sum([link[child] for child in ways.children[index]]) + outlet[index]
        limit[index] = min(limit[index], paid)
        link[index] = paid - limit[index]
    return Prices(link=link, outlet=outlet, limit=limit, border=border)


def _interval(curve: _Convex, pressure: float) -> tuple[float, float]:
    """Least and greatest price at a pressure; they differ where the curve bends."""
    low = bisect_right(curve.ends, pressure + _NEAR)
    least = -curve.slopes[low] if low < len(curve.slopes) else 0.0
    if pressure <= curve.start + _NEAR:
        return least, math.inf
    high = bisect_right(curve.ends, pressure - _NEAR)
    return least, -curve.slopes[high] if high < len(curve.slopes) else 0.0


def _shares(spans: list[tuple[float, float]], price: float) -> list[float]:
    """Share a price out among those it is paid for, each within its span where possible."""
    rest = price - sum([least for least, _ in spans])
    if rest <= 0.0:
        return [least for least, _ in spans]
    free = [index for index, (_, most) in enumerate(spans) if most == math.inf]
    if free:
        return [least + (rest / len(free) if most == math.inf else 0.0) for least, most in spans]
    room = sum([most - least for least, most in spans])
    part = min(rest / room, 1.0) if room > 0.0 else 0.0
    return [least + part * (most - least) for least, most in spans]
