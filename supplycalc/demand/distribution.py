"""The distribution of the flow that independent fixtures draw together, computed, not sampled.

Each fixture runs with its probability and then draws its flow. The distribution of a set grows
fixture by fixture: with one more, the flow stays with chance 1 - p and rises by its own with
chance p.

Flows stand on a grid. A flow between two grid points is shared out to both so that its mean is
kept; flows that are multiples of the step, as the tables' are, stand on the grid exactly.

Ties: the percentile is the smallest flow whose cumulative probability reaches the level less
1e-12. A single fixture that runs one per cent of the time reaches 0.99 with no flow at all: its
99th percentile is then zero, and the rule "never below the largest fixture" decides.
"""

from __future__ import annotations

import math

import numpy as np

from supplycalc.demand.loads import FloatArray, IntArray
from supplycalc.tables import GALLON
from supplycalc.units import MINUTE
from supplycalc.units.quantities import Flow

STEP = 0.05 * GALLON / MINUTE
"""Grid of flows [m3/s]: 0.05 gpm, of which the US tables' flows are multiples."""

TIE = 1e-12
"""Slack on the cumulative probability."""

NEGLIGIBLE = 1e-20
"""Probability of the highest flow from which it is left out."""

NO_FIXTURE: FloatArray = np.ones(1)
"""Distribution where nothing can run: no flow, for certain."""


def percentile_flows(
    counts: IntArray,
    probability: FloatArray,
    flow: FloatArray,
    level: FloatArray | float,
    step: Flow = STEP,
) -> FloatArray:
    """A percentile of the total flow for many sets of fixtures.

    Args:
        counts: how many fixtures of each class (columns) each set (rows) has.
        probability: of a fixture of each class running.
        flow: of a fixture of each class while it runs [m3/s].
        level: cumulative probability to reach, one for all or one per set.

    Returns:
        For each set the smallest grid flow with cumulative probability >= level - 1e-12 [m3/s].

    Raises:
        ValueError: a probability is outside 0 to 1 or a flow is negative.

    Source: sum of independent variables by convolution (textbook).
    """
    levels = np.broadcast_to(np.asarray(level, dtype=np.float64), (len(counts),)) - TIE
    percentiles = np.zeros(len(counts))
    smallest_first = np.argsort(counts.sum(axis=1), kind="stable")
    ordered = counts[smallest_first]
    known: list[FloatArray] = []
    for k, row in enumerate(smallest_first.tolist()):
        # a pipe's set holds that of the pipe below it: only what comes on top is added
        held = np.flatnonzero((ordered[:k] <= ordered[k]).all(axis=1))
        start, more = NO_FIXTURE, ordered[k]
        if held.size:
            start, more = known[held[-1]], ordered[k] - ordered[held[-1]]
        known.append(probability_masses(more, probability, flow, step, start))
        place = int(np.searchsorted(np.cumsum(known[k]), levels[row]))
        percentiles[row] = min(place, known[k].size - 1) * step
    return percentiles


def probability_masses(
    counts: IntArray,
    probability: FloatArray,
    flow: FloatArray,
    step: Flow = STEP,
    start: FloatArray = NO_FIXTURE,
) -> FloatArray:
    """The whole distribution of the total flow of one set of fixtures.

    Args:
        counts: how many fixtures of each class the set has.
        flow: of a fixture of each class while it runs [m3/s].
        start: distribution of other fixtures that these come on top of.

    Returns:
        Probability of the flows 0, step, 2 step, …; at most 1e-14 lies beyond the last.
    """
    if np.any((probability < 0.0) | (probability > 1.0)):
        raise ValueError("a probability lies between 0 and 1")
    if np.any(flow < 0.0):
        raise ValueError("a flow is not negative")
    masses = start
    for number, p, q in zip(counts.tolist(), probability.tolist(), flow.tolist(), strict=True):
        for _ in range(number):
            masses = _one_fixture_more(masses, p, q / step)
    return masses


def _one_fixture_more(masses: FloatArray, probability: float, steps: float) -> FloatArray:
    """The distribution with one more fixture that draws so many steps of the grid."""
    place = math.floor(steps + 1e-6)
    above = steps - place if steps - place > 1e-6 else 0.0
    flows = masses.size
    grown = np.zeros(flows + place + (above > 0.0))
    grown[:flows] = (1.0 - probability) * masses
    grown[place : place + flows] += probability * (1.0 - above) * masses
    if above:
        grown[place + 1 :] += probability * above * masses
    if grown[-1] < NEGLIGIBLE:
        grown = grown[: np.flatnonzero(grown >= NEGLIGIBLE)[-1] + 1]
    return grown


def zero_chance(counts: IntArray, probability: FloatArray) -> FloatArray:
    """The chance that no fixture runs: the product of (1 - p) over the fixtures.

    Source: independent events (textbook).
    """
    with np.errstate(divide="ignore"):
        silent = np.maximum(np.log1p(-probability), -1e3)
    result: FloatArray = np.exp(counts @ silent)
    return result


def mean_flow(counts: IntArray, probability: FloatArray, flow: FloatArray) -> FloatArray:
    """The mean of the total flow: the sum of p q over the fixtures [m3/s].

    Args:
        flow: of a fixture of each class while it runs [m3/s].

    Source: mean of a sum (textbook).
    """
    result: FloatArray = counts @ (probability * flow)
    return result


def variance(counts: IntArray, probability: FloatArray, flow: FloatArray) -> FloatArray:
    """The variance of the total flow: the sum of p (1 - p) q^2 over the fixtures [m6/s2]."""
    result: FloatArray = counts @ (probability * (1.0 - probability) * flow**2)
    return result
