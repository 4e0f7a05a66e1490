"""Pressure lost by what is not pipe, from its `Loss`, and the outlet of a reducing valve.

A loss has the sign of the flow and rises with it. Its constant part (a spring check, a backflow
preventer) is there as soon as water flows; so that nothing jumps at rest it is ramped in over
`RAMP_FLOW`, a drip of 0.06 L/min. Above that flow the ramp changes nothing; below it the loss is
less than the constant, which is of no matter to any fixture.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from supplycalc.model import Loss

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

RAMP_FLOW = 1e-6
"""Flow from which a constant loss counts in full [m3/s]."""
FALLOFF_POWER = 0.7
"""Power of flow with which a reducing valve's outlet falls; common practice, no source."""


def device_loss(loss: Loss, flow: float) -> float:
    """Pressure lost by a device.

    A curve is followed by a power law from point to point (a straight line on double-logarithmic
    paper), which is exact for a loss that goes with any power of flow. What it shows at zero flow
    is a constant part. Below the first point the first power goes on, kept between 1 and 2; beyond
    the last the loss goes with the square. Where the curve dips, it is filled level.

    Args:
        loss: the law, its parameters in [Pa] and [m3/s].
        flow: volume flow, either sign [m3/s].

    Returns:
        Loss [Pa], with the sign of the flow; exactly 0 at zero flow.
    """
    return device_loss_with_slope(loss, flow)[0]


def device_loss_slope(loss: Loss, flow: float) -> float:
    """Derivative of `device_loss` by flow; at a point of a curve that of the flow above it.

    Args:
        loss: the law, its parameters in [Pa] and [m3/s].
        flow: volume flow, either sign [m3/s].

    Returns:
        Derivative [Pa s/m3], never below zero.
    """
    return device_loss_with_slope(loss, flow)[1]


def device_loss_with_slope(loss: Loss, flow: float) -> tuple[float, float]:
    """Pressure lost by a device and its derivative by flow.

    Args:
        loss: the law, its parameters in [Pa] and [m3/s].
        flow: volume flow, either sign [m3/s].

    Returns:
        (loss [Pa], derivative [Pa s/m3]).
    """
    size = abs(flow)
    if loss.curve:
        constant, starts, pieces = _curve_law(loss.curve)
        level, factor, scale, power = pieces[bisect_right(starts, size) - 1]
        share = size / scale
        value = level + factor * share**power
        slope = factor * power * share ** (power - 1.0) / scale
    else:
        constant, share = loss.constant, size / loss.reference_flow
        value = (loss.linear + loss.quadratic * share) * share
        slope = (loss.linear + 2.0 * loss.quadratic * share) / loss.reference_flow
    if size < RAMP_FLOW:
        part = size / RAMP_FLOW
        value += constant * part * (2.0 - part)
        slope += constant * 2.0 * (1.0 - part) / RAMP_FLOW
    else:
        value += constant
    return math.copysign(value, flow), slope


def device_losses(loss: Loss, flow: ArrayLike) -> Array:
    """Pressures lost by one device at many flows; equal to `device_loss`.

    Args:
        loss: the law, its parameters in [Pa] and [m3/s].
        flow: volume flows, either sign [m3/s], any shape.

    Returns:
        Losses [Pa], of the same shape.
    """
    return device_losses_with_slopes(loss, flow)[0]


def device_losses_with_slopes(loss: Loss, flow: ArrayLike) -> tuple[Array, Array]:
    """Pressures lost by one device at many flows, and the derivatives by flow.

    Args:
        loss: the law, its parameters in [Pa] and [m3/s].
        flow: volume flows, either sign [m3/s], any shape.

    Returns:
        (losses [Pa], derivatives [Pa s/m3]), both of the same shape.
    """
    import numpy as np

    flows = np.asarray(flow, dtype=float)
    size = np.abs(flows)
    if loss.curve:
        constant, starts, pieces = _curve_law(loss.curve)
        piece = np.searchsorted(np.asarray(starts), size, side="right") - 1
        level, factor, scale, power = np.moveaxis(np.asarray(pieces)[piece], -1, 0)
        share = size / scale
        value = level + factor * share**power
        slope = factor * power * share ** (power - 1.0) / scale
    else:
        constant, share = loss.constant, size / loss.reference_flow
        value = (loss.linear + loss.quadratic * share) * share
        slope = (loss.linear + 2.0 * loss.quadratic * share) / loss.reference_flow
    part = np.minimum(size / RAMP_FLOW, 1.0)
    value = value + constant * part * (2.0 - part)
    slope = slope + constant * 2.0 * (1.0 - part) / RAMP_FLOW
    return np.asarray(np.copysign(value, flows)), np.asarray(slope)


def valve_outlet_pressure(
    inlet: float, setting: float, falloff: float, falloff_flow: float, open_loss: Loss, flow: float
) -> float:
    """Pressure behind a pressure-reducing valve.

    The set pressure is that with no flow; it falls off as water flows, until the valve stands wide
    open and is a fixed loss.

    Args:
        inlet: pressure before the valve [Pa gauge].
        setting: outlet pressure with no flow [Pa gauge].
        falloff: how far the outlet falls at `falloff_flow` [Pa].
        falloff_flow: flow at which it falls that far [m3/s].
        open_loss: loss of the wide open valve, its parameters in [Pa] and [m3/s].
        flow: volume flow; backward flow counts as none [m3/s].

    Returns:
        Outlet pressure [Pa gauge]; below zero where the flow is more than the valve can pass.

    Source: the two regimes as trade articles on fall-off describe them; the power 0.7 of the
        fall-off is common practice, no source.
    """
    forward = max(flow, 0.0)
    held: float = setting - falloff * (forward / falloff_flow) ** FALLOFF_POWER
    return min(held, inlet - device_loss(open_loss, forward))


def valve_outlet_pressures(
    inlet: ArrayLike,
    setting: float,
    falloff: float,
    falloff_flow: float,
    open_loss: Loss,
    flow: ArrayLike,
) -> Array:
    """Pressures behind one pressure-reducing valve at many flows; as `valve_outlet_pressure`.

    Args:
        inlet: pressures before the valve [Pa gauge]; shapes broadcast.
        setting: outlet pressure with no flow [Pa gauge].
        falloff: how far the outlet falls at `falloff_flow` [Pa].
        falloff_flow: flow at which it falls that far [m3/s].
        open_loss: loss of the wide open valve, its parameters in [Pa] and [m3/s].
        flow: volume flows; backward flow counts as none [m3/s].

    Returns:
        Outlet pressures [Pa gauge].

    Source: as `valve_outlet_pressure`.
    """
    import numpy as np

    forward = np.maximum(np.asarray(flow, dtype=float), 0.0)
    held = setting - falloff * (forward / falloff_flow) ** FALLOFF_POWER
    return np.asarray(np.minimum(held, np.asarray(inlet) - device_losses(open_loss, forward)))


_Piece = tuple[float, float, float, float]
"""(level, factor, scale, power) of level + factor*(flow/scale)^power."""


@lru_cache(maxsize=256)
def _curve_law(
    curve: tuple[tuple[float, float], ...],
) -> tuple[float, tuple[float, ...], tuple[_Piece, ...]]:
    """(constant part, flow where each piece starts, pieces) of a curve of (flow, loss) points."""
    rising: dict[float, float] = {}
    highest = 0.0
    for flow, value in sorted(curve):
        highest = max(highest, value)
        rising[flow] = highest
    constant = rising.pop(0.0, 0.0)
    points = [(flow, value - constant) for flow, value in rising.items()]
    if not points:
        return constant, (0.0,), ((0.0, 0.0, 1.0, 2.0),)
    between = [_piece(*pair) for pair in pairwise(points)]
    (first_flow, first), (last_flow, last) = points[0], points[-1]
    first_power = min(max(between[0][3], 1.0), 2.0) if between and first > 0.0 else 2.0
    return (
        constant,
        (0.0, *(flow for flow, _ in points)),
        (
            (0.0, first, first_flow, first_power),
            *between,
            (0.0, last, last_flow, 2.0),
        ),
    )


def _piece(start: tuple[float, float], end: tuple[float, float]) -> _Piece:
    """The piece between two points: a power law, or a line where it starts from zero loss."""
    if start[1] > 0.0:
        power = math.log(end[1] / start[1]) / math.log(end[0] / start[0])
        return 0.0, start[1], start[0], power
    slope = end[1] / (end[0] - start[0])
    return -slope * start[0], slope, 1.0, 1.0
