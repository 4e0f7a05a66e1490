"""The supply with some outlets open, as the solver works on it, and the laws it is made of.

Link i (1 .. n-1) runs from point parent[i] to point i, and every parent stands before its children;
point 0 is the source. All outlets discharge to the open air, so that water flows one way only,
unless further heads stand in the tree: sources, or tanks that take water in as well as give it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

from msgspec import Struct

from supplycalc.hydraulics.devices import RAMP_FLOW, device_loss_with_slope
from supplycalc.model import Loss
from supplycalc.problems import ComputationError
from supplycalc.units.quantities import Diameter, Flow, Length, Pressure, Roughness

Law = Callable[[float], tuple[float, float]]
"""Pressure [Pa] at a flow [m3/s, not negative], and its derivative by flow [Pa s/m3]."""

MixerKind = Literal["plain", "ratio"]


class Opening(Struct, frozen=True, kw_only=True):
    """An open outlet on one pipe: an orifice, with or without a flow regulator."""

    name: str
    link: int
    """The link whose end it stands at."""
    coefficient: float
    """C of q = C sqrt(p) [m3/s per sqrt(Pa)]."""
    cap: Flow = math.inf
    """What its regulator lets through at most."""


class Mixer(Struct, frozen=True, kw_only=True):
    """An open outlet fed by a cold and a hot pipe.

    plain: each side is an orifice into one chamber, the outlet an orifice after it, so the sides
    act on each other through the chamber's pressure; check valves keep water from crossing over.

    ratio: the valve throttles the stronger side so that both stand at the weaker one's pressure,
    keeps the hot share and passes q = C sqrt(weaker pressure); without pressure on one side it
    shuts both. So do pressure-balanced and thermostatic valves (the latter within their range).
    """

    name: str
    kind: MixerKind
    cold_link: int
    hot_link: int
    coefficient: float
    """Whole valve, from equal supply pressures to the open air [m3/s per sqrt(Pa)]."""
    hot_share: float
    """Share of the flow that is hot at equal supply pressures, above 0 and below 1."""
    port_share: float = 0.5
    """Share of the pressure at equal supply pressures that the ports take; only for plain."""
    cap: Flow = math.inf
    """What its regulator lets through at most."""


class Head(Struct, frozen=True, kw_only=True):
    """A source or tank at a point of the tree, beside the source at its root."""

    name: str
    link: int
    """The link whose end it stands at."""
    law: Law
    """Pressure there at the flow that it gives, negative while it takes water in; not rising."""


class OpenSupply(Struct, frozen=True, kw_only=True):
    """A tree of links, a source and what is open."""

    names: tuple[str, ...]
    """Of the links, for messages; the source's first."""
    parent: tuple[int, ...]
    """-1 for the source at index 0."""
    length: tuple[Length, ...]
    """Developed length with any allowance; 0 where the link is not pipe."""
    inside_diameter: tuple[Diameter, ...]
    roughness: tuple[Roughness, ...]
    k: tuple[float, ...]
    """Sum of K on the pipe's own velocity head."""
    density: tuple[float, ...]
    """[kg/m3]"""
    viscosity: tuple[float, ...]
    """[Pa s]"""
    static_gain: tuple[Pressure, ...]
    """Negative going up."""
    device: tuple[Law | None, ...]
    """Loss of what is not pipe, rising from 0 at no flow."""
    limit: tuple[Law | None, ...]
    """Highest pressure behind a pressure-reducing valve, not rising with flow."""
    source: Law
    """Pressure at point 0 while a total flow runs, not rising with it."""
    openings: tuple[Opening, ...] = ()
    mixers: tuple[Mixer, ...] = ()
    heads: tuple[Head, ...] = ()
    one_way: frozenset[int] = frozenset()
    """Links that let no water back, 0 for the source; a reducing valve never does."""
    hazen_williams_c: tuple[float, ...] | None = None
    """Given: Hazen-Williams decides the friction, with this C."""


class Delivered(Struct, frozen=True, kw_only=True):
    """The settled state."""

    flow: tuple[Flow, ...]
    """Of each link; index 0 is the whole supply's."""
    pressure: tuple[Pressure, ...]
    """At each link's end."""
    opening_flow: tuple[Flow, ...]
    mixer_flow: tuple[tuple[Flow, Flow], ...]
    """(cold, hot) of each mixer."""
    head_flow: tuple[Flow, ...] = ()
    """That each head gives; negative where it takes water in."""
    iterations: int
    residual: Pressure
    """Largest by which any outlet's law is missed."""


def constant_source(pressure: Pressure) -> Law:
    """A source that holds its pressure at any flow."""
    return lambda flow: (pressure, 0.0)


def sagging_main(static: Pressure, residual: float, residual_flow: Flow, exponent: float) -> Law:
    """A main whose pressure falls from its static with a power of the flow.

    Args:
        residual: pressure while `residual_flow` runs [Pa gauge].
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
        first: a law [Pa over m3/s].
        second: the other [Pa over m3/s].
    """

    def law(flow: float) -> tuple[float, float]:
        by_first, by_second = first(flow), second(flow)
        return by_first if by_first[0] <= by_second[0] else by_second

    return law


def device_law(loss: Loss) -> Law | None:
    """A device's loss and its slope; None for a device that loses nothing.

    Args:
        loss: constant, linear and quadratic parts or a curve [Pa over m3/s].
    """
    if not loss.curve and loss.constant == loss.linear == loss.quadratic == 0.0:
        return None
    return lambda flow: device_loss_with_slope(loss, flow)


def valve_law(setting: Pressure, falloff: Pressure, falloff_flow: Flow, power: float) -> Law:
    """Highest pressure behind a pressure-reducing valve.

    The fall-off goes with a power of flow below one and so has no usable slope at rest. It is bent
    below RAMP_FLOW, a drip, to the parabola that meets the power law in value and slope.

    Args:
        power: of the flow that the fall goes with, above 0 and at most 1.

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


def open_pressures_at_rest(supply: OpenSupply) -> list[float]:
    """Pressure at each link with nothing running; of several heads, the most any can put there."""
    pressure, height = [supply.source(0.0)[0]], [0.0]
    rows = zip(supply.parent[1:], supply.static_gain[1:], supply.limit[1:], strict=True)
    for parent, gain, limit in rows:
        value = pressure[parent] + gain
        pressure.append(value if limit is None else min(value, limit(0.0)[0]))
        height.append(height[parent] + gain)
    for head in supply.heads:
        over = head.law(0.0)[0] - height[head.link]
        pressure = [max(p, over + gain) for p, gain in zip(pressure, height, strict=True)]
    return pressure


def check_open(supply: OpenSupply) -> None:
    """Make sure that water can run through every link and outlet.

    Raises:
        ComputationError: it names the part that is at fault.
    """
    rows = zip(
        supply.names,
        supply.parent,
        supply.length,
        supply.k,
        supply.static_gain,
        supply.inside_diameter,
        strict=True,
    )
    for i, (name, parent, length, k, gain, inside_diameter) in enumerate(rows):
        if i and not 0 <= parent < i:
            raise ComputationError(f"{name} stands before the link that feeds it")
        if not math.isfinite(length + k + gain):
            raise ComputationError(f"{name} has a length, K or height without a value")
        if (length > 0.0 or k > 0.0) and not 0.0 < inside_diameter < math.inf:
            raise ComputationError(f"{name} has no inside diameter")
    outlets: list[Opening | Mixer] = [*supply.openings, *supply.mixers]
    for outlet in outlets:
        if not 0.0 < outlet.coefficient < math.inf or not outlet.cap > 0.0:
            raise ComputationError(f"{outlet.name} has no opening that water could run through")
    for mixer in supply.mixers:
        if not 0.0 < mixer.hot_share < 1.0 or not 0.0 < mixer.port_share < 1.0:
            raise ComputationError(f"{mixer.name} does not mix: its shares must be between 0 and 1")
