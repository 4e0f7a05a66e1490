"""The distribution of the flow that independent fixtures draw together, computed, not sampled.

Each fixture runs with its probability and then draws its flow. Fixtures of one class (same
probability, same flow) share one characteristic function; a pipe's is the product of its classes'
to the power of their counts, and one inverse Fourier transform gives its whole distribution.

Flows stand on a grid. A flow between two grid points is shared out to both so that its mean is
kept; flows that are multiples of the step, as the tables' are, stand on the grid exactly.

Ties: the percentile is the smallest flow whose cumulative probability reaches the level less
1e-12. A single fixture that runs one per cent of the time reaches 0.99 with no flow at all: its
99th percentile is then zero, and the rule "never below the largest fixture" decides.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from supplycalc.tables import GALLON
from supplycalc.units import MINUTE

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
ComplexArray = NDArray[np.complex128]

STEP = 0.05 * GALLON / MINUTE
"""Grid of flows [m3/s]: 0.05 gpm, of which the US tables' flows are multiples."""

TIE = 1e-12
"""Slack on the cumulative probability."""

LOST = 1e-14
"""Probability that may lie beyond the end of a row's grid."""

FEW = (192, 256)
"""Grid points of a branch with a few fixtures: such rows are transformed together."""

LADDER = tuple(np.geomspace(1e-3, 8.0, 16).tolist())
"""Exponents that the Chernoff bound tries, over the largest flow on the grid."""

LARGEST_BLOCK = 1 << 18
"""Complex numbers worked on at once, so that they stay in the cache."""


def percentile_flows(
    counts: IntArray,
    probability: FloatArray,
    flow: FloatArray,
    level: FloatArray | float,
    step: float = STEP,
) -> FloatArray:
    """A percentile of the total flow for many sets of fixtures at once.

    Args:
        counts: how many fixtures of each class (columns) each set (rows) has.
        probability: of a fixture of each class running.
        flow: of a fixture of each class while it runs [m3/s].
        level: cumulative probability to reach, one for all or one per set.
        step: grid of flows [m3/s].

    Returns:
        For each set the smallest grid flow with cumulative probability >= level - 1e-12 [m3/s].

    Raises:
        ValueError: a probability is outside 0 to 1 or a flow is negative.

    Source: sum of independent variables by characteristic functions and the discrete Fourier
        transform (textbook); our own grid and tie rule.
    """
    rows = counts.shape[0]
    levels = np.broadcast_to(np.asarray(level, dtype=np.float64), (rows,)) - TIE
    result = np.zeros(rows)
    classes = _Classes(probability, flow, step)
    length = classes.lengths(counts)
    for size, members in reversed(_batches(length)):
        for first, mass in classes.masses(counts[members], size):
            here = members[first : first + mass.shape[0]]
            reached = np.cumsum(mass, axis=1, out=mass) >= levels[here, None]
            reached[:, -1] = True
            result[here] = np.argmax(reached, axis=1) * step
    return result


def probability_masses(
    counts: IntArray, probability: FloatArray, flow: FloatArray, step: float = STEP
) -> FloatArray:
    """The whole distribution of the total flow of one set of fixtures.

    Args:
        counts: how many fixtures of each class the set has.
        probability: of a fixture of each class running.
        flow: of a fixture of each class while it runs [m3/s].
        step: grid of flows [m3/s].

    Returns:
        Probability of the flows 0, step, 2 step, …; at most 1e-14 lies beyond the last.

    Raises:
        ValueError: a probability is outside 0 to 1 or a flow is negative.

    Source: as `percentile_flows`.
    """
    row = np.asarray(counts, dtype=np.int64)[None, :]
    classes = _Classes(probability, flow, step)
    size = _good_length(int(classes.lengths(row)[0]))
    _, masses = next(classes.masses(row, size))
    result: FloatArray = np.maximum(masses[0], 0.0)
    return result


def zero_chance(counts: IntArray, probability: FloatArray) -> FloatArray:
    """The chance that no fixture runs: the product of (1 - p) over the fixtures.

    Args:
        counts: how many fixtures of each class (columns) each set (rows) has.
        probability: of a fixture of each class running.

    Returns:
        One probability per set.

    Source: independent events (textbook).
    """
    with np.errstate(divide="ignore"):
        silent = np.maximum(np.log1p(-probability), -1e3)
    result: FloatArray = np.exp(counts @ silent)
    return result


def mean_flow(counts: IntArray, probability: FloatArray, flow: FloatArray) -> FloatArray:
    """The mean of the total flow: the sum of p q over the fixtures.

    Args:
        counts: how many fixtures of each class (columns) each set (rows) has.
        probability: of a fixture of each class running.
        flow: of a fixture of each class while it runs [m3/s].

    Returns:
        One flow per set [m3/s].

    Source: mean of a sum (textbook).
    """
    result: FloatArray = counts @ (probability * flow)
    return result


def variance(counts: IntArray, probability: FloatArray, flow: FloatArray) -> FloatArray:
    """The variance of the total flow: the sum of p (1 - p) q^2 over the fixtures.

    Args:
        counts: how many fixtures of each class (columns) each set (rows) has.
        probability: of a fixture of each class running.
        flow: of a fixture of each class while it runs [m3/s].

    Returns:
        One variance per set [m6/s2].

    Source: variance of a sum of independent variables (textbook).
    """
    result: FloatArray = counts @ (probability * (1.0 - probability) * flow**2)
    return result


class _Classes:
    """Classes of fixtures on the grid: `place` steps with 1 - `part`, one step more with `part`."""

    def __init__(self, probability: FloatArray, flow: FloatArray, step: float) -> None:
        if np.any((probability < 0.0) | (probability > 1.0)):
            raise ValueError("a probability lies between 0 and 1")
        if np.any(flow < 0.0):
            raise ValueError("a flow is not negative")
        position = flow / step
        self.probability = probability
        self.place = np.floor(position + 1e-6).astype(np.int64)
        self._waves: dict[int, ComplexArray] = {}
        self.part = np.where(np.abs(position - np.rint(position)) < 1e-6, 0.0, position % 1.0)

    def lengths(self, counts: IntArray) -> IntArray:
        """Grid points each row needs.

        No more than all fixtures together draw, and no more than the Chernoff bound
        P(X >= N) <= E[exp(s X)] exp(-s N) needs to leave less than LOST beyond, the best of a
        ladder of s. For a building the bound saves nine tenths of the grid.
        """
        top = self.place + np.ceil(self.part).astype(np.int64)
        all_running = counts @ top + 1
        highest = max(int(top.max(initial=1)), 1)
        ladder = np.array(LADDER) / highest
        growth = np.exp(np.outer(self.place, ladder)) * (
            1.0 + self.part[:, None] * np.expm1(ladder)[None, :]
        )
        generating = np.log1p(self.probability[:, None] * (growth - 1.0))
        bound = (counts @ generating - np.log(LOST)) / ladder
        result: IntArray = np.minimum(
            all_running, np.ceil(bound.min(axis=1, initial=np.inf)).astype(np.int64) + 1
        )
        return result

    def waves(self, size: int) -> ComplexArray:
        """Logarithm of each class's characteristic function on `size` grid points.

        Where a multiple of `size` is known, its harmonics are among those. Otherwise from real
        numbers: numpy's complex logarithm takes ten times as long.
        """
        for known, values in self._waves.items():
            if known % size == 0:
                return np.ascontiguousarray(values[:, :: known // size])
        harmonics = np.arange(size // 2 + 1)
        circle = np.exp(np.arange(size) * (-2j * np.pi / size))
        wave = circle[np.outer(self.place, harmonics) % size]
        between = np.flatnonzero(self.part)
        if between.size:
            wave[between] *= 1.0 + self.part[between, None] * (circle[harmonics] - 1.0)
        real = 1.0 + self.probability[:, None] * (wave.real - 1.0)
        imaginary = self.probability[:, None] * wave.imag
        square = np.maximum(real * real + imaginary * imaginary, 1e-300)
        logarithm = np.empty(wave.shape, dtype=np.complex128)
        np.multiply(0.5, np.log(square), out=logarithm.real)
        np.arctan2(imaginary, real, out=logarithm.imag)
        self._waves[size] = logarithm
        return logarithm

    def masses(self, counts: IntArray, size: int) -> Iterator[tuple[int, FloatArray]]:
        """Blocks of sets: number of the first, probability of each grid flow below `size`."""
        parts = self.waves(size).view(np.float64)  # real and imaginary, side by side
        share = counts.astype(np.float64)
        rows = max(LARGEST_BLOCK // size, 1)
        for first in range(0, share.shape[0], rows):
            # einsum, since a threaded product of so thin matrices stalls on a busy machine
            exponent = np.einsum("rk,kf->rf", share[first : first + rows], parts)
            exponent = exponent.view(np.complex128)
            yield first, np.fft.irfft(np.exp(exponent, out=exponent), size)


def _good_length(length: int) -> int:
    """The next power of two, or three quarters of it: lengths that transform fast."""
    power = 1 << max(length - 1, 3).bit_length()
    return 3 * power // 4 if length <= 3 * power // 4 else power


def _batches(length: IntArray) -> list[tuple[int, IntArray]]:
    """Rows that are transformed together, with their common length.

    Few short rows go together even where their lengths differ: a call costs more than the points.
    """
    if length.size == 0:
        return []
    longest = _good_length(int(length.max()))
    if length.size * longest <= LARGEST_BLOCK:
        few = min(longest, next(one for one in FEW if longest % one == 0 or one == FEW[-1]))
        sizes = np.where(length <= few, few, longest)
    else:
        sizes = np.array([_good_length(one) for one in length.tolist()])
    return [(size, np.flatnonzero(sizes == size)) for size in np.unique(sizes).tolist()]
