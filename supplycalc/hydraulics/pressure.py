"""Losses of a pipe and pressures of every point for given flows and sizes.

One pass serves one state of a house, every figure a float, and any number of draws or variants of
it at once, any figure an array with one value for each.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from supplycalc.hydraulics import friction
from supplycalc.hydraulics.devices import device_loss, held_pressure
from supplycalc.hydraulics.numbers import Numbers, at_most, is_array
from supplycalc.units import STANDARD_GRAVITY, Loss
from supplycalc.units.quantities import Density, Diameter, Elevation, Flow, Length, Roughness


def pipe_loss(
    flow: Numbers,
    length: Numbers,
    inside_diameter: Numbers,
    roughness: Numbers,
    k: Numbers,
    density: Numbers,
    viscosity: Numbers,
    hazen_williams_c: Numbers | None = None,
) -> tuple[Numbers, Numbers]:
    """Friction and fitting loss of one pipe, with the sign of the flow; floats or arrays.

    Args:
        flow: [m3/s].
        length: developed length with any fitting allowance [m].
        inside_diameter: [m].
        roughness: [m].
        k: sum of the fittings' K on the pipe's own velocity head.
        density: [kg/m3].
        viscosity: [Pa s].
        hazen_williams_c: C, or None for Darcy-Weisbach.

    Returns:
        (friction loss, fitting loss) [Pa].

    Source: Darcy-Weisbach with Colebrook's friction factor; fittings by K*rho*v^2/2.
    """
    if hazen_williams_c is None:
        gradient = friction.pressure_gradient(flow, inside_diameter, roughness, density, viscosity)
    else:
        gradient = friction.hazen_williams_gradient(
            flow, inside_diameter, hazen_williams_c, density
        )
    velocity = friction.velocity(flow, inside_diameter)
    return gradient * length, k * density * velocity * abs(velocity) / 2.0


def pipe_loss_with_slope(
    flow: Flow,
    length: Length,
    inside_diameter: Diameter,
    roughness: Roughness,
    k: float,
    density: Density,
    viscosity: float,
    hazen_williams_c: float | None = None,
) -> tuple[float, float]:
    """The sum of `pipe_loss` at a flow that is not negative, and its derivative by flow [Pa s/m3],
    for Newton's method."""
    if hazen_williams_c is None:
        gradient, steepness = friction.pressure_gradient_with_slope(
            flow, inside_diameter, roughness, density, viscosity
        )
    else:
        by_c = (flow, inside_diameter, hazen_williams_c, density)
        gradient = friction.hazen_williams_gradient(*by_c)
        steepness = friction.hazen_williams_slope(*by_c)
    fittings = k * density / 2.0 / friction.flow_area(inside_diameter) ** 2 * flow
    return length * gradient + fittings * flow, length * steepness + 2.0 * fittings


class HeldPressure(Struct, frozen=True, kw_only=True, eq=False):
    """What a pressure-reducing valve holds behind it."""

    setting: Any
    """With no flow [Pa gauge]."""
    falloff: Any = 0.0
    """How far the outlet falls at `falloff_flow` [Pa]."""
    falloff_flow: Any = 1.0
    """[m3/s]"""


class LinkLaws(Struct, frozen=True, kw_only=True, eq=False):
    """A tree of pipes and devices, one entry per link; index 0 is the source.

    Each figure is a float, or an array with one value for each draw or variant.
    """

    parent: Sequence[int]
    """Index of the feeding link, before its own; -1 for the source."""
    length: Sequence[Any]
    """Developed length with any allowance [m]; 0 where the link is not pipe."""
    inside_diameter: Sequence[Any]
    """[m]"""
    roughness: Sequence[Any]
    """[m]"""
    k: Sequence[Any]
    """Sum of K on the link's own velocity head."""
    density: Sequence[Any]
    """[kg/m3]"""
    viscosity: Sequence[Any]
    """[Pa s]"""
    static_gain: Sequence[Any]
    """[Pa], negative going up."""
    device: Sequence[Loss | None]
    held: Sequence[HeldPressure | None]
    hazen_williams_c: Sequence[Any] | None = None
    """Given: Hazen-Williams decides the friction."""

    def losses(self, flow: Sequence[Numbers]) -> list[Numbers]:
        """Pressure lost in each link [Pa], valves apart.

        Args:
            flow: of each link [m3/s].
        """
        losses = [flow[0] * 0.0]
        losses += [self._loss(i, flow[i]) for i in range(1, len(self.parent))]
        return losses

    def _loss(self, i: int, flow: Numbers) -> Numbers:
        loss = flow * 0.0
        if is_array(self.length[i]) or self.length[i] > 0.0 or self.k[i] > 0.0:
            friction_loss, fitting_loss = pipe_loss(
                flow,
                self.length[i],
                self.inside_diameter[i],
                self.roughness[i],
                self.k[i],
                self.density[i],
                self.viscosity[i],
                None if self.hazen_williams_c is None else self.hazen_williams_c[i],
            )
            loss = friction_loss + fitting_loss
        device = self.device[i]
        return loss if device is None else loss + device_loss(device, flow)

    def pressures(self, source_pressure: Numbers, flow: Sequence[Numbers]) -> list[Numbers]:
        """Pressure at each link's end [Pa gauge], below 0 where the flow asks for more than comes.

        Args:
            source_pressure: while that flow runs [Pa gauge].
            flow: of each link [m3/s].
        """
        limits = [
            math.inf
            if held is None
            else held_pressure(held.setting, held.falloff, held.falloff_flow, q)
            for held, q in zip(self.held, flow, strict=True)
        ]
        return pressures_below(
            self.parent, source_pressure, self.static_gain, self.losses(flow), limits
        )


def flows_above(parent: Sequence[int], drawn: Sequence[Numbers]) -> list[Numbers]:
    """Flow in every link, from what is drawn at the points; floats or arrays.

    Args:
        parent: index of the feeding link, -1 for the source at index 0.
        drawn: at each link's end [m3/s].

    Returns:
        Flow of each link [m3/s]; index 0 is the whole supply's.
    """
    flow = list(drawn)
    for i in range(len(parent) - 1, 0, -1):
        flow[parent[i]] = flow[parent[i]] + flow[i]
    return flow


def pressures_below(
    parent: Sequence[int],
    source_pressure: Numbers,
    static_gain: Sequence[Any],
    loss: Sequence[Numbers],
    outlet_limit: Sequence[Any],
) -> list[Numbers]:
    """Pressure at the end of every link, from the source down; floats or arrays.

    Args:
        parent: index of the feeding link, -1 for the source at index 0.
        source_pressure: [Pa].
        static_gain: pressure gained by height along each link [Pa].
        loss: pressure lost along each link [Pa].
        outlet_limit: highest pressure each link lets through (inf but for reducing valves) [Pa].

    Returns:
        Pressure at each link's end [Pa gauge]; index 0 is the source.
    """
    pressure = [source_pressure]
    for i in range(1, len(parent)):
        value = pressure[parent[i]] + static_gain[i] - loss[i]
        limit = outlet_limit[i]
        unlimited = isinstance(limit, float) and limit == math.inf
        pressure.append(value if unlimited else at_most(value, limit))
    return pressure


def static_gains(
    parent: Sequence[int], elevation: Sequence[Elevation], density: Sequence[Density]
) -> list[float]:
    """Pressure gained along each link by going down, negative going up [Pa]; 0 for the source.

    Args:
        parent: index of the feeding link, -1 for the source.

    Source: hydrostatics, rho*g*h with the standard gravity of ISO 80000-3.
    """
    gains = [0.0]
    for i in range(1, len(parent)):
        fall = elevation[parent[i]] - elevation[i]
        gains.append(density[i] * STANDARD_GRAVITY * fall)
    return gains
