"""Losses of a pipe and pressures of every point for given flows and sizes."""

from __future__ import annotations

from collections.abc import Sequence

from supplycalc.hydraulics import friction
from supplycalc.hydraulics.friction import Numbers
from supplycalc.units import STANDARD_GRAVITY


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


def pressures_below(
    parent: Sequence[int],
    source_pressure: float,
    static_gain: Sequence[float],
    loss: Sequence[float],
    outlet_limit: Sequence[float],
) -> list[float]:
    """Pressure at the end of every link, from the source down.

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
