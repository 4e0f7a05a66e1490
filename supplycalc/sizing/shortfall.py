"""How far the best design can fall short, whatever it costs."""

from __future__ import annotations

import math

from supplycalc.sizing.ways import Ways

Pair = tuple[float, float]
"""(pressure needed, largest excess over an outlet limit inside) [Pa]."""


def least_shortfall(ways: Ways, available: float) -> float:
    """Find the least possible largest shortfall of any outlet.

    Behind a pressure-reducing valve an outlet's residual is the lesser of what the valve and what
    the source leave it, so a design's shortfall is the larger of what it needs beyond the source
    and what it needs beyond its valves. The two are traded against each other exactly.

    Args:
        ways: the unfolded problem.
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
                _joint(
                    (ways.required[index], -math.inf),
                    [pairs[child][k] for child, k in zip(children, down, strict=True)],
                ),
                limit,
            )
            for down in ways.below[index]
        ]
        pairs[index] = [
            _best([(need + drop[o], excess) for o, d in way for need, excess in below[d]])
            for way in ways.ways[index]
        ]
    roots = [pairs[root][k] for root, k in zip(ways.roots, ways.root_classes, strict=True)]
    return min(
        [max(need - available, excess) for need, excess in _joint((-math.inf, -math.inf), roots)],
        default=math.inf,
    )


def _joint(own: Pair, parts: list[list[Pair]]) -> list[Pair]:
    """Every pair of maxima that the parts can have together."""
    result = [own]
    for part in parts:
        if len(result) == 1 and len(part) == 1:
            (need, excess), (more, worse) = result[0], part[0]
            result = [(need if need > more else more, excess if excess > worse else worse)]
        else:
            result = _best([(max(a, c), max(b, d)) for a, b in result for c, d in part])
    return result


def _behind(pairs: list[Pair], limit: float) -> list[Pair]:
    """Count what is needed beyond a valve's limit as excess."""
    if limit == math.inf:
        return pairs
    return _best([(need, max(excess, need - limit)) for need, excess in pairs])


def _best(pairs: list[Pair]) -> list[Pair]:
    """Keep the pairs that no other beats in both."""
    if len(pairs) < 2:
        return pairs
    pairs.sort()
    result = [pairs[0]]
    for pair in pairs:
        if pair[1] < result[-1][1]:
            result.append(pair)
    return result
