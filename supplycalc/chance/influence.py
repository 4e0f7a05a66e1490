"""Which unknown moves a result most: variance-based indices with their sampling error."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from msgspec import Struct

from supplycalc.chance.certainty import REPLICATES, unit_draws
from supplycalc.demand.loads import FloatArray


class Influence(Struct, frozen=True, kw_only=True, eq=False):
    """Indices of each unknown, in their order; not a number where nothing varies."""

    first: FloatArray
    """Part of the variance that goes with the unknown alone."""
    first_error: FloatArray
    """Standard error."""
    total: FloatArray
    """Part that goes with it alone or together with others."""
    total_error: FloatArray


def influence(
    result: Callable[[FloatArray], Any], dimensions: int, count: int, seed: int
) -> Influence:
    """Variance-based indices of a result of independent unknowns.

    Args:
        result: gives one value for each column of unknowns between 0 and 1.
        dimensions: how many unknowns.
        count: of base draws in all; the result is asked for (dimensions + 2) times as many.
        seed: of the draws.

    Returns:
        The indices, their errors by the spread of the scrambled sets.

    Source: A. Saltelli and others, Comput. Phys. Commun. 181 (2010) 259, by
        `scipy.stats.sobol_indices`; its own bootstrap takes no seed.
    """
    from scipy.stats import sobol_indices

    if dimensions == 1:  # which the library does not take: beside it one that does nothing
        both = influence(lambda drawn: result(drawn[:1]), 2, count, seed)
        return Influence(
            first=both.first[:1],
            first_error=both.first_error[:1],
            total=both.total[:1],
            total_error=both.total_error[:1],
        )
    drawn = unit_draws(2 * dimensions, count, seed)
    each = drawn.shape[1] // REPLICATES
    first, total = [], []
    for number in range(REPLICATES):
        part = drawn[:, number * each : (number + 1) * each]
        base, other = part[:dimensions], part[dimensions:]
        mixed = []
        for i in range(dimensions):
            swapped = base.copy()
            swapped[i] = other[i]
            mixed.append(swapped)
        values = np.asarray(result(np.concatenate([base, other, *mixed], axis=1)))
        f_a, f_b, *f_ab = np.split(values, dimensions + 2)
        if np.ptp(np.concatenate([f_a, f_b])) == 0.0:
            first.append(np.full(dimensions, np.nan))
            total.append(first[-1])
            continue
        found = sobol_indices(
            func={"f_A": f_a[None], "f_B": f_b[None], "f_AB": np.array(f_ab)[:, None]}, n=each
        )
        first.append(np.atleast_1d(found.first_order))
        total.append(np.atleast_1d(found.total_order))
    root = np.sqrt(REPLICATES)
    return Influence(
        first=np.mean(first, axis=0),
        first_error=np.std(first, axis=0, ddof=1) / root,
        total=np.mean(total, axis=0),
        total_error=np.std(total, axis=0, ddof=1) / root,
    )
