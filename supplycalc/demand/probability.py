"""What the methods by probability share: fixtures in classes, and how many hang below each link."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from msgspec import Struct

from supplycalc.demand.loads import Columns
from supplycalc.model import Fixture
from supplycalc.network import FloatArray, IntArray, Tree


class Use(Struct, frozen=True, kw_only=True):
    """How a fixture is used: the chance that it runs, and what it then draws from each pipe."""

    probability: float
    flow: Columns
    """[m3/s] from a pipe to its cold side, to its hot side, and to both."""


class Below(Struct, frozen=True, kw_only=True, eq=False):
    """The fixtures below each link, in classes of one probability and one flow.

    Many links feed the same mixture of fixtures; each mixture stands once.
    """

    counts: IntArray
    """How many fixtures of each class (columns) each distinct mixture (rows) has."""
    mixture: IntArray
    """For each link the row of `counts` that it feeds."""
    probability: FloatArray
    """Of each class."""
    flow: FloatArray
    """Of each class [m3/s]."""


def fixtures_below(tree: Tree, use: Callable[[Fixture], Use | None]) -> Below:
    """Count the fixtures of each class at and below every link.

    A pipe that feeds both sides of a fixture sees its total flow; one that feeds only one side sees
    that side's. The fixture counts once, whatever hangs together.

    Args:
        tree: the supply.
        use: gives a fixture's probability and flows [m3/s]; None leaves it out; quickest where
            alike fixtures get one object.

    Returns:
        The classes and, for each link, which mixture of them it feeds.
    """
    classes: dict[tuple[float, float], int] = {}
    numbered: dict[int, tuple[int, int, int]] = {}
    kept: list[Use] = []
    points: list[int] = []
    columns: list[int] = []
    signs: list[int] = []

    def number_of(probability: float, flow: float) -> int:
        return classes.setdefault((probability, flow), len(classes))

    for number, fixture in enumerate(tree.house.fixtures):
        used = use(fixture)
        if used is None or used.probability <= 0.0:
            continue
        three = numbered.get(id(used))
        if three is None:
            kept.append(used)  # so that no other gets its id
            flows = (used.flow.cold, used.flow.hot, used.flow.total)
            cold, hot, total = (number_of(used.probability, flow) for flow in flows)
            three = (cold, hot, total)
            numbered[id(used)] = three
        cold, hot, total = three
        if fixture.cold is not None:
            points.append(tree.index[fixture.cold.end])
            columns.append(cold)
            signs.append(1)
        if fixture.hot is not None:
            points.append(tree.index[fixture.hot.end])
            columns.append(hot)
            signs.append(1)
        if fixture.cold is not None and fixture.hot is not None:
            above = tree.meeting[number]
            points += (above, above, above)
            columns += (cold, hot, total)
            signs += (-1, -1, 1)

    running = np.zeros((len(tree) + 1, max(len(classes), 1)), dtype=np.int64)
    np.add.at(running, (np.array(points, np.int64) + 1, np.array(columns, np.int64)), signs)
    np.cumsum(running, axis=0, out=running)
    mixtures, mixture = _distinct(running[np.array(tree.last)] - running[:-1])
    keys = list(classes) or [(0.0, 0.0)]
    return Below(
        counts=mixtures,
        mixture=mixture,
        probability=np.array([key[0] for key in keys]),
        flow=np.array([key[1] for key in keys]),
    )


def _distinct(counts: IntArray) -> tuple[IntArray, IntArray]:
    """The distinct rows, and for each row which of them it is.

    Rows are told apart by one whole number each, made with fixed odd multipliers; should two
    different rows ever share theirs, sorting whole rows decides instead.
    """
    factors = np.array(_factors(counts.shape[1]))
    _, first, inverse = np.unique(counts @ factors, return_index=True, return_inverse=True)
    if np.array_equal(counts[first][inverse], counts):
        return counts[first], inverse
    rows, inverse = np.unique(counts, axis=0, return_inverse=True)
    return rows, inverse.reshape(-1)


@cache
def _factors(count: int) -> tuple[int, ...]:
    """Odd multipliers, always the same ones."""
    drawn = np.random.default_rng(1).integers(1, 1 << 62, count) | 1
    return tuple(drawn.tolist())
