"""Losses that depend on flow alone, each with its slope, as Newton's method needs them.

The fall-off of a reducing valve goes with a power of flow below one and so has no usable slope at
rest; it is bent below a stated tiny flow (0.016 gpm), as `hydraulics.devices` does with a loss that
is constant wherever water flows. Above that flow nothing is changed.
"""

from __future__ import annotations

import math

from supplycalc.delivery.problem import Law
from supplycalc.hydraulics.devices import RAMP_FLOW, device_loss_with_slope
from supplycalc.model import Loss


def constant_source(pressure: float) -> Law:
    """A source that holds its pressure at any flow.

    Args:
        pressure: [Pa gauge].

    Returns:
        The law.
    """
    return lambda flow: (pressure, 0.0)


def sagging_main(static: float, residual: float, residual_flow: float, exponent: float) -> Law:
    """A main whose pressure falls from its static with a power of the flow.

    Args:
        static: pressure with no flow [Pa gauge].
        residual: pressure while `residual_flow` runs [Pa gauge].
        residual_flow: [m3/s].
        exponent: of the flow.

    Returns:
        The law; it goes on falling below zero beyond the flow that empties the main.

    Source: NFPA 291's exponent where 1.852 is given (from memory).
    """
    fall = static - residual

    def law(flow: float) -> tuple[float, float]:
        ratio = flow / residual_flow
        drop = fall * ratio**exponent
        slope = exponent * fall / residual_flow * ratio ** (exponent - 1.0)
        return static - drop, -slope

    return law


def lower_of(first: Law, second: Law) -> Law:
    """The lower of two pressures, as where a pump's control holds a set pressure while it can.

    Args:
        first: one law [Pa over m3/s].
        second: the other [Pa over m3/s].

    Returns:
        The law.
    """

    def law(flow: float) -> tuple[float, float]:
        one, other = first(flow), second(flow)
        return one if one[0] <= other[0] else other

    return law


def device_law(loss: Loss) -> Law | None:
    """A device's loss and its slope.

    Args:
        loss: constant, linear and quadratic parts or a curve [Pa over m3/s].

    Returns:
        The law of `hydraulics.devices`, or None for a device that loses nothing.
    """
    if not loss.curve and loss.constant == loss.linear == loss.quadratic == 0.0:
        return None
    return lambda flow: device_loss_with_slope(loss, flow)


def valve_law(setting: float, falloff: float, falloff_flow: float, power: float) -> Law:
    """Highest pressure behind a pressure-reducing valve.

    Args:
        setting: at no flow [Pa gauge].
        falloff: how far it falls at `falloff_flow` [Pa].
        falloff_flow: [m3/s].
        power: of the flow that the fall goes with, above 0 and at most 1.

    Returns:
        The law; below RAMP_FLOW the fall is the parabola that meets the power law in value and
        slope.

    Source: the power law is that of sizing.
    """
    edge = falloff * (RAMP_FLOW / falloff_flow) ** power
    linear = (2.0 - power) * edge / RAMP_FLOW
    square = (power - 1.0) * edge / RAMP_FLOW**2

    def law(flow: float) -> tuple[float, float]:
        if flow < RAMP_FLOW:
            return setting - (linear + square * flow) * flow, -(linear + 2.0 * square * flow)
        fall = falloff * math.pow(flow / falloff_flow, power)
        return setting - fall, -power * fall / flow

    return law
