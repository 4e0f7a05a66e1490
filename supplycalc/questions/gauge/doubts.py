"""How far a reading may lie from what is computed before it says anything: gauge, bucket, file.

Each doubt is a vector over all readings, for most of them move several at once: one gauge reads all
too high, one length bears on every flow through it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from supplycalc.model import GaugeReading, House, Range
from supplycalc.model.field_paths import run_of, with_value
from supplycalc.problems import ComputationError
from supplycalc.questions.gauge.states import Bench, Otherwise
from supplycalc.questions.size.study import size
from supplycalc.sizing.changes import with_sizes
from supplycalc.tables import load_table, to_si

FloatArray = NDArray[np.float64]

OF_95 = 1.96
"""Standard deviations of a normal distribution that hold 95 of 100 cases."""
OWN = 0.5
"""Of a gauge's ± the part by which each reading of the needle differs for itself (common practice,
no source); the whole ± beside it is the gauge's, the same in all."""


def usual(name: str) -> float:
    """A usual accuracy by its name in gauge.toml [SI]."""
    row = load_table("gauge")["accuracy"][name]
    return to_si(row["value"], row["unit"])


def gauge_accuracy(reading: GaugeReading) -> float:
    """Of the gauge that a pressure was read by, ± [Pa]."""
    return usual("dial-gauge") if reading.accuracy is None else reading.accuracy


def bucket_accuracy(reading: GaugeReading) -> float:
    """Of a flow by bucket, ± its share."""
    return usual("bucket") if reading.flow_accuracy is None else reading.flow_accuracy


def covariance(bench: Bench, computed: FloatArray) -> FloatArray:
    """What gauge, bucket, outlets, computed losses and the file's ranges explain together.

    Args:
        computed: every observation as the file has the house [SI].

    Returns:
        The matrix of all observations, without the doubt where between the states of its switch
        the source stood.

    Source: first-order propagation of independent doubts.
    """
    count = len(bench.observed)
    total = np.zeros((count, count))
    for i, each in enumerate(bench.observed):
        reading = bench.states[each.state].reading
        if each.what == "flow":
            deviation = bucket_accuracy(reading) * each.measured
        else:
            deviation = OWN * gauge_accuracy(reading)
        total[i, i] += (deviation / OF_95) ** 2
    for doubt in _doubts(bench, computed):
        total += np.outer(doubt, doubt)
    return total


def of_the_switch(bench: Bench, ends: list[tuple[float, float]]) -> FloatArray:
    """The doubt where the source stood within its range, each reading for itself.

    Source: variance of an even distribution.
    """
    return np.diag(
        [
            (high - low) ** 2 / 12.0 if math.isfinite(high) else (10.0 * usual("dial-gauge")) ** 2
            for low, high in ends
        ]
    )


def _doubts(bench: Bench, computed: FloatArray) -> Iterator[FloatArray]:
    """One vector for each doubt, a standard deviation long."""

    def moved(supposed: Otherwise) -> FloatArray:
        return np.array(bench.computed(supposed)) - computed

    readings = [bench.states[each.state].reading for each in bench.observed]
    yield np.array(
        [
            gauge_accuracy(reading) / OF_95 if each.what != "flow" else 0.0
            for reading, each in zip(readings, bench.observed, strict=True)
        ]
    )
    yield moved(Otherwise(source=usual("dial-gauge") / OF_95))
    if any(state.uses for state in bench.states):
        everywhere = frozenset(range(1, len(bench.design.tree)))
        yield moved(Otherwise(scaled=(everywhere, 1.0 + usual("loss") / OF_95)))
    for name in dict.fromkeys(use.fixture.name for state in bench.states for use in state.uses):
        yield moved(Otherwise(outlets={name: 1.0 + usual("outlet") / OF_95}))
    for known in bench.design.house.ranges:
        yield _of_range(bench, known, computed)


def _of_range(bench: Bench, known: Range, computed: FloatArray) -> FloatArray:
    """How far one figure of the file moves the readings within its range."""
    fixed = with_sizes(bench.design.house, bench.design.sizes)

    def at(value: float | str) -> FloatArray:
        if isinstance(value, str):
            house = with_sizes(fixed, {run_of(known.path): value})
        else:
            house = with_value(fixed, known.path, value)
        return _computed(house, bench)

    try:
        if known.distribution == "sizes":
            runs = [at(nominal) for nominal in (known.sizes[0], known.sizes[-1])]
            return (runs[1] - runs[0]) / math.sqrt(12.0)
        share = 1.0 / OF_95 if known.distribution == "normal" else 1.0 / math.sqrt(3.0)
        return (at(known.high) - computed) * share
    except ComputationError:
        return np.zeros(len(computed))


def _computed(house: House, bench: Bench) -> FloatArray:
    plain = replace(house, ranges=())
    readings = tuple(state.reading for state in bench.states)
    return np.array(Bench(size(plain, mend=False), readings).computed())
