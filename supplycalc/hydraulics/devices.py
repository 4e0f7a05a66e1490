"""Pressure lost by what is not pipe, from its `Loss`; what a reducing valve holds behind it.

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
from typing import Any

from msgspec import Struct

from supplycalc.catalogue import Catalogue
from supplycalc.hydraulics.numbers import Numbers, at_most, is_array
from supplycalc.model import Device
from supplycalc.units import Loss
from supplycalc.units.quantities import Flow, Pressure

RAMP_FLOW = 1e-6
"""Flow from which a constant loss counts in full [m3/s]."""
FALLOFF_POWER = 0.7
"""Power of flow with which a reducing valve's outlet falls; common practice, no source."""


def device_loss(loss: Loss, flow: Numbers) -> Numbers:
    """Pressure lost by a device.

    A curve is followed by a power law from point to point (a straight line on double-logarithmic
    paper), which is exact for a loss that goes with any power of flow. What it shows at zero flow
    is a constant part. Below the first point the first power goes on, kept between 1 and 2; beyond
    the last the loss goes with the square. Where the curve dips, it is filled level.

    Args:
        loss: the law, its parameters in [Pa] and [m3/s].
        flow: volume flow, either sign; a float or an array [m3/s].

    Returns:
        Loss [Pa], with the sign of the flow; exactly 0 at zero flow.
    """
    return device_loss_with_slope(loss, flow)[0]


def device_loss_with_slope(loss: Loss, flow: Numbers) -> tuple[Numbers, Numbers]:
    """Pressure lost by a device and its derivative by flow; at a point of a curve that above it.

    Returns:
        (loss [Pa], derivative [Pa s/m3], never below zero).
    """
    size = abs(flow)
    share: Numbers
    if loss.curve:
        constant, starts, pieces = _curve_law(loss.curve)
        level, factor, scale, power = _piece_at(starts, pieces, size)
        share = size / scale
        value = level + factor * share**power
        slope = factor * power * share ** (power - 1.0) / scale
    else:
        constant, share = loss.constant, size / loss.reference_flow
        value = (loss.linear + loss.quadratic * share) * share
        slope = (loss.linear + 2.0 * loss.quadratic * share) / loss.reference_flow
    part = at_most(size / RAMP_FLOW, 1.0)
    value = value + constant * part * (2.0 - part)
    slope = slope + constant * 2.0 * (1.0 - part) / RAMP_FLOW
    if not is_array(flow, value):
        signed: Any = math.copysign(value, flow)
        return signed, slope
    import numpy as np

    return np.copysign(value, flow), slope


class LossLaw(Struct, frozen=True, kw_only=True):
    """A device's loss near one flow: constant + level + linear*(Q/scale) + factor*(Q/scale)^power.

    All in Pa but `power`; `scale` in m3/s.
    """

    constant: float
    level: float
    linear: float
    factor: float
    scale: float
    power: float


def law_of_loss(loss: Loss, flow: Flow) -> LossLaw:
    """The formula that a loss follows at a flow, for who computes it by hand.

    Args:
        loss: the law, its parameters in [Pa] and [m3/s].
    """
    if not loss.curve:
        return LossLaw(
            constant=loss.constant,
            level=0.0,
            linear=loss.linear,
            factor=loss.quadratic,
            scale=loss.reference_flow,
            power=2.0,
        )
    constant, starts, pieces = _curve_law(loss.curve)
    level, factor, scale, power = _piece_at(starts, pieces, flow)
    return LossLaw(
        constant=constant, level=level, linear=0.0, factor=factor, scale=scale, power=power
    )


def _piece_at(starts: tuple[float, ...], pieces: tuple[_Piece, ...], size: Numbers) -> Any:
    """The piece of a curve that a flow lies on; of an array of flows an array of each figure."""
    if not is_array(size):
        return pieces[bisect_right(starts, size) - 1]
    import numpy as np

    return np.array(pieces)[np.searchsorted(starts, size, side="right") - 1].T


def loss_of_device(device: Device, catalogue: Catalogue) -> Loss:
    """The device's own loss [Pa over m3/s], else its kind's sourced default, else none."""
    if device.loss is not None:
        return device.loss
    return catalogue.devices[device.kind].loss or Loss()


def held_pressure(
    setting: Pressure, falloff: Pressure, falloff_flow: Flow, flow: Numbers
) -> Numbers:
    """Pressure that a pressure-reducing valve holds behind it; less where less arrives [Pa gauge].

    The set pressure is that with no flow; it falls off as water flows.

    Args:
        flow: volume flow, not negative [m3/s].

    Source: the shape as trade articles on fall-off describe it; the power 0.7 is common practice,
        no source.
    """
    held: Numbers = setting - falloff * (flow / falloff_flow) ** FALLOFF_POWER
    return held


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
