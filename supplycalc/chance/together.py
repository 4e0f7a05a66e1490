"""Pressures where many sets of uses run together, found in one pass over the tree for all of them.

Every use draws as its orifice lets it, up to what its regulator holds. The flows are settled by
going back and forth. What an outlet loses on the way goes nearly with the square of its flow, so
that with k = loss/q^2 of the last round q = C sqrt(p) becomes q = C sqrt(p at rest/(1 + k C^2)). A
mixing valve counts as two orifices in the proportion it is set to; what matters for a verdict is
settled anew by `delivery`, which knows how its sides act on each other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from supplycalc.chance.uses import Connection
from supplycalc.demand.loads import BoolArray, FloatArray
from supplycalc.hydraulics.pressure import LinkLaws, flows_above

_NOTHING = 1e-12
"""[m3/s]"""
ROUNDS = 3
"""Times that flows and pressures are brought nearer to each other."""

SourceLaw = Callable[[FloatArray], FloatArray]
"""Pressure at the source [Pa gauge] while flows run [m3/s], one for each set."""


def settled_together(
    laws: LinkLaws,
    connections: Sequence[Connection],
    open_now: BoolArray,
    source: SourceLaw,
    rounds: int = ROUNDS,
) -> tuple[FloatArray, FloatArray]:
    """Pressures and flows at every connection for many sets of open ones.

    Args:
        open_now: which are, connections by sets.
        rounds: times that flows are brought nearer to what pressures let through.

    Returns:
        (pressure at each connection [Pa gauge], flow through it [m3/s]), connections by sets.

    Source: orifice law and energy balance as in `delivery.solver`.
    """
    at = [connection.outlet.link for connection in connections]
    coefficient = np.array([[connection.coefficient] for connection in connections]) * open_now
    cap = np.array([[connection.cap] for connection in connections])
    drawn = np.array([[connection.flow] for connection in connections]) * open_now
    at_rest = np.maximum(_pressures(laws, at, 0.0 * drawn, source), 0.0)
    pressure = _pressures(laws, at, drawn, source)
    for _ in range(rounds):
        lost = coefficient**2 * (at_rest - pressure) / np.maximum(drawn, _NOTHING) ** 2
        lets = coefficient * np.sqrt(at_rest / np.maximum(1.0 + lost, 1.0))
        drawn = np.minimum(lets, cap)
        pressure = _pressures(laws, at, drawn, source)
    return pressure, drawn


def flows_of_draws(parent: Sequence[int], at: Sequence[int], drawn: FloatArray) -> list[FloatArray]:
    """Flow in every link for many sets, from what each draws at some links' ends [m3/s]."""
    at_link = [np.zeros(drawn.shape[1])] * len(parent)
    for link, flow in zip(at, drawn, strict=True):
        at_link[link] = at_link[link] + flow
    return flows_above(parent, at_link)


def _pressures(
    laws: LinkLaws, at: Sequence[int], drawn: FloatArray, source: SourceLaw
) -> FloatArray:
    """Pressures at links while flows are drawn there, one pass for all sets."""
    flow = flows_of_draws(laws.parent, at, drawn)
    pressures = laws.pressures(source(flow[0]), flow)
    return np.array([pressures[link] for link in at])
