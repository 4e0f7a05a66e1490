"""Water hammer: how fast a pressure wave runs in a pipe, and what a stopped flow raises it by."""

from __future__ import annotations

import math
from collections.abc import Iterable

from supplycalc.hydraulics.water import density
from supplycalc.units.quantities import (
    Diameter,
    Length,
    Pressure,
    Temperature,
    Thickness,
    Time,
    Velocity,
)

_SOUND_TERMS = (1402.385, 5.038813, -5.799136e-2, 3.287156e-4, -1.398845e-6, 2.787860e-9)
"""Coefficients of powers of the temperature [degC]."""


def sound_speed(temperature: Temperature) -> Velocity:
    """Speed of sound in open water.

    Source: W. Marczak, J. Acoust. Soc. Am. 102 (1997) 2776, for 0 to 95 degC (from memory).
    """
    celsius = temperature - 273.15
    return math.fsum(term * celsius**power for power, term in enumerate(_SOUND_TERMS))


def wave_speed(
    temperature: Temperature, modulus: float, inside_diameter: Diameter, wall: Thickness
) -> Velocity:
    """Speed of a pressure wave in a pipe, by the form for thin walls that may stretch freely.

    Args:
        modulus: of elasticity of the wall [Pa], for a short time.

    Returns:
        In thick plastic walls (SDR 9 to 11) a little more than by the form for thick walls.

    Source: D. J. Korteweg, 1878; E. B. Wylie and V. L. Streeter, Fluid Transients in Systems.
    """
    sound = sound_speed(temperature)
    water = density(temperature) * sound**2
    return sound / math.sqrt(1.0 + water / modulus * inside_diameter / wall)


def joukowsky(weight: float, speed: Velocity, stopped: Velocity) -> Pressure:
    """Rise of pressure where a flow is stopped at once.

    Args:
        weight: density of the water [kg/m3].
        speed: of the wave [m/s].
        stopped: velocity of the flow [m/s].

    Source: N. Joukowsky, 1898.
    """
    return weight * speed * stopped


def critical_time(length: Length, speed: Velocity) -> Time:
    """Time in which the wave comes back from the pipe's other end.

    Source: TM 5-813-9, figure 4-5.
    """
    return 2.0 * length / speed


def slow_closure(weight: float, columns: Iterable[tuple[Length, Velocity]], time: Time) -> Pressure:
    """Rise of pressure where a valve takes longer than the wave: the upper bound for even closing.

    Args:
        weight: density of the water [kg/m3].
        columns: length and velocity of the water in each pipe that is stopped.

    Source: L. Allievi and J. Michaud; E. B. Wylie and V. L. Streeter, Fluid Transients in Systems.
    """
    return 2.0 * weight * math.fsum(length * stopped for length, stopped in columns) / time


def passed_on(arriving: float, meeting: Iterable[float]) -> float:
    """Share of a wave that goes on into all pipes of a point.

    Args:
        arriving: area over wave speed of the pipe in which it comes [m s].
        meeting: the same of all that meet there, that one too.

    Source: E. B. Wylie and V. L. Streeter, Fluid Transients in Systems.
    """
    return 2.0 * arriving / math.fsum(meeting)
