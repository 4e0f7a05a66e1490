"""Losses of every link and pressures of every point for given flows and sizes: one pass.

Two engines share the friction law: plain Python for a house, where it is faster, and numpy for
large trees. A test holds them equal.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from supplycalc.hydraulics import friction
from supplycalc.network import FloatArray, IntArray

STANDARD_GRAVITY = 9.80665
"""[m/s2], ISO 80000-3"""


class Pipes(Struct, frozen=True, kw_only=True):
    """What the friction law needs of every link; a link that is not pipe has length and K zero."""

    length: FloatArray
    """Developed length with any fitting allowance [m]."""
    inside_diameter: FloatArray
    """[m]; any positive number where there is no pipe"""
    roughness: FloatArray
    """[m]"""
    k: FloatArray
    """Sum of K"""
    density: FloatArray
    """[kg/m3]"""
    viscosity: FloatArray
    """[Pa s]"""
    hazen_williams_c: FloatArray | None = None
    """Given: Hazen-Williams decides the friction, with this C."""


def pipe_loss(
    flow: float,
    length: float,
    inside_diameter: float,
    roughness: float,
    k: float,
    density: float,
    viscosity: float,
    hazen_williams_c: float | None = None,
) -> tuple[float, float]:
    """Friction and fitting loss of one pipe.

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
    if flow == 0.0:
        return 0.0, 0.0
    if hazen_williams_c is None:
        gradient = friction.pressure_gradient(flow, inside_diameter, roughness, density, viscosity)
    else:
        gradient = friction.hazen_williams_gradient(
            flow, inside_diameter, hazen_williams_c, density
        )
    velocity = flow / (math.pi / 4.0 * inside_diameter * inside_diameter)
    return gradient * length, k * density * velocity * abs(velocity) / 2.0


def pipe_losses(flow: FloatArray, pipes: Pipes) -> tuple[FloatArray, FloatArray]:
    """Friction and fitting loss of every link at once; see `pipe_loss`.

    Args:
        flow: one per link [m3/s].
        pipes: one entry per link.

    Returns:
        (friction losses, fitting losses) [Pa], one per link.

    Source: Darcy-Weisbach with Colebrook's friction factor; fittings by K*rho*v^2/2.
    """
    if pipes.hazen_williams_c is None:
        gradient = friction.pressure_gradients(
            flow, pipes.inside_diameter, pipes.roughness, pipes.density, pipes.viscosity
        )
    else:
        gradient = friction.hazen_williams_gradients(
            flow, pipes.inside_diameter, pipes.hazen_williams_c, pipes.density
        )
    velocity = flow / (math.pi / 4.0 * pipes.inside_diameter**2)
    fitting: FloatArray = pipes.k * pipes.density * velocity * np.abs(velocity) / 2.0
    return gradient * pipes.length, fitting


def flows_from_outlets(last: IntArray, at_point: FloatArray) -> FloatArray:
    """Flow of every link when outlets draw given flows and everything adds up.

    Args:
        last: one past the last link fed through each link.
        at_point: flow drawn at each link's end [m3/s].

    Returns:
        Flow of each link [m3/s].

    How: differences of a cumulative sum over preorder slices.
    """
    running = np.concatenate(([0.0], np.cumsum(at_point)))
    result: FloatArray = running[last] - running[:-1]
    return result


def pressures_below(
    parent: Sequence[int],
    source_pressure: float,
    static_gain: Sequence[float],
    loss: Sequence[float],
    outlet_limit: Sequence[float],
) -> list[float]:
    """Pressure at the end of every link, from the source down, in plain Python.

    Args:
        parent: index of the feeding link, -1 for the source at index 0.
        source_pressure: [Pa gauge].
        static_gain: pressure gained by height along each link [Pa].
        loss: pressure lost along each link [Pa].
        outlet_limit: highest pressure each link lets through (inf but for reducing valves) [Pa].

    Returns:
        Pressure at each link's end [Pa gauge]; index 0 is the source.
    """
    pressure = [source_pressure]
    for i in range(1, len(parent)):
        value = pressure[parent[i]] + static_gain[i] - loss[i]
        pressure.append(min(value, outlet_limit[i]))
    return pressure


def pressures_by_cumulative_sum(
    last: IntArray, source_pressure: float, static_gain: FloatArray, loss: FloatArray
) -> FloatArray:
    """Pressure at the end of every link without a loop, where no reducing valve stands.

    Each link's change is added where its slice begins and taken back where the slice ends, so one
    cumulative sum over the preorder gives every point's total from the source, at any depth.

    Args:
        last: one past the last link fed through each link.
        source_pressure: [Pa gauge].
        static_gain: [Pa], one per link.
        loss: [Pa], one per link.

    Returns:
        Pressure at each link's end [Pa gauge].
    """
    change = static_gain - loss
    change[0] = 0.0
    leaving = np.bincount(last, weights=change, minlength=len(change) + 1)[: len(change)]
    result: FloatArray = source_pressure + np.cumsum(change - leaving)
    return result


def static_gains(
    parent: Sequence[int], elevation: Sequence[float], density: Sequence[float]
) -> list[float]:
    """Pressure gained along each link by going down, negative going up.

    Args:
        parent: index of the feeding link, -1 for the source.
        elevation: of each link's end above the datum [m].
        density: of the water in each link [kg/m3].

    Returns:
        Static gain of each link [Pa]; 0 for the source.

    Source: hydrostatics, rho*g*h with the standard gravity of ISO 80000-3.
    """
    gains = [0.0]
    for i in range(1, len(parent)):
        fall = elevation[parent[i]] - elevation[i]
        gains.append(density[i] * STANDARD_GRAVITY * fall)
    return gains
