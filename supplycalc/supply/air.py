"""The air over a site, and how high a pump above the water can suck."""

from __future__ import annotations

import math

from supplycalc.hydraulics.water import specific_weight, vapour_pressure
from supplycalc.units import STANDARD_GRAVITY

SEA_LEVEL = 101325.0
"""[Pa absolute] standard atmosphere"""


def atmospheric_pressure(altitude: float) -> float:
    """Pressure of the standard atmosphere.

    Args:
        altitude: above the sea [m].

    Returns:
        Pressure [Pa absolute].

    Source: ICAO standard atmosphere, troposphere (formula from memory; 11.8 psi at 6000 ft as in
        The Driller).
    """
    return SEA_LEVEL * math.pow(1.0 - 2.25577e-5 * altitude, 5.25588)


def suction_head_available(
    lift: float, friction_head: float, altitude: float, temperature: float
) -> float:
    """Absolute head above vapour pressure at the inlet of a pump that stands above the water.

    Args:
        lift: from the pumping level up to the pump [m].
        friction_head: lost in the suction pipe [m].
        altitude: of the site above the sea [m].
        temperature: of the water [K].

    Returns:
        NPSH available [m].

    Source: MIL-HDBK-1005/7A, 5.4.5 (definition of NPSH).
    """
    weight = specific_weight(temperature)
    held = (atmospheric_pressure(altitude) - vapour_pressure(temperature)) / weight
    return held - lift - friction_head


def practical_suction_lift(limit: float, altitude: float) -> float:
    """A practical limit of suction lift at sea level, less what thinner air takes away.

    Args:
        limit: at sea level [m].
        altitude: of the site above the sea [m].

    Returns:
        Limit at the site, not below zero [m].

    Source: the standard atmosphere (about 1.1 ft per 1000 ft).
    """
    weight = 999.0 * STANDARD_GRAVITY
    return max(limit - (SEA_LEVEL - atmospheric_pressure(altitude)) / weight, 0.0)
