"""A pressure tank between the settings of a switch: what it holds, how often the pump starts.

The air follows Boyle's law at one temperature, with absolute pressures, and the pump's flow its
supply curve of straight pieces, so that the time over each piece is an integral in closed form.
"""

from __future__ import annotations

import itertools
import math

from msgspec import Struct

from supplycalc.supply.supply_curve import SupplyCurve
from supplycalc.units import HOUR
from supplycalc.units.quantities import Elevation, Flow, Pressure, Setting, Time, Volume

SEA_LEVEL = 101325.0
"""[Pa absolute] standard atmosphere"""

# Gauss-Legendre points and weights for pieces on which flow hardly changes; M. Abramowitz and
# I. A. Stegun, Handbook of Mathematical Functions, table 25.4
_GAUSS = (
    (0.1834346424956498, 0.3626837833783620),
    (0.5255324099163290, 0.3137066458778873),
    (0.7966664774136267, 0.2223810344533745),
    (0.9602898564975363, 0.1012285362903763),
)
_NEARLY_LEVEL = 0.1
_DRAWS = 200
_STANDSTILL = 1e-12
"""Share of a pump's largest flow that is rounding: what gains no more never gets to cut-out."""


def atmospheric_pressure(altitude: Elevation) -> float:
    """Pressure of the standard atmosphere [Pa absolute].

    Source: ICAO standard atmosphere, troposphere (formula from memory; 11.8 psi at 6000 ft as in
        The Driller).
    """
    return SEA_LEVEL * math.pow(1.0 - 2.25577e-5 * altitude, 5.25588)


def air_constant(volume: Volume, precharge: Pressure, atmosphere: float) -> float:
    """Absolute pressure times volume of the air, the same at every filling [J].

    Args:
        atmosphere: [Pa absolute].

    Source: Boyle's law.
    """
    return (precharge + atmosphere) * volume


def water_held(
    volume: Volume, precharge: Pressure, pressure: Pressure, atmosphere: float
) -> Volume:
    """Water in a tank at a pressure; none below the precharge.

    Args:
        atmosphere: [Pa absolute].

    Source: Boyle's law.
    """
    if pressure <= precharge:
        return 0.0
    return volume * (1.0 - (precharge + atmosphere) / (pressure + atmosphere))


def drawdown(
    volume: Volume, precharge: Pressure, cut_in: Pressure, cut_out: Pressure, atmosphere: float
) -> float:
    """Water that a tank gives between cut-out and cut-in.

    A precharge above cut-in empties the tank before the pump starts: then it gives all it holds.

    Args:
        atmosphere: [Pa absolute].

    Returns:
        Drawdown [m3]; V P_pre (1/P_in - 1/P_out) for a precharge below cut-in.

    Source: The Driller, pressure tank drawdown, 2006.
    """
    return water_held(volume, precharge, cut_out, atmosphere) - water_held(
        volume, precharge, cut_in, atmosphere
    )


class Vessel(Struct, frozen=True, kw_only=True):
    """A tank between the two settings of a switch."""

    volume: Volume
    precharge: Setting
    cut_in: Setting
    cut_out: Setting
    atmosphere: Pressure
    """[Pa absolute]"""

    @property
    def drawdown(self) -> Volume:
        """Water between cut-out and cut-in."""
        return drawdown(self.volume, self.precharge, self.cut_in, self.cut_out, self.atmosphere)


class Cycling(Struct, frozen=True, kw_only=True):
    """How a pump cycles."""

    run_time: Time
    """From cut-in to cut-out while nothing is drawn; inf where it never gets there."""
    starts_per_hour: float
    """[1/h] the most, at the worst steady draw; inf where the tank holds nothing"""
    worst_draw: Flow
    drawdown: Volume
    mean_flow: Flow
    """Drawdown over run time."""


def fill_time(vessel: Vessel, curve: SupplyCurve, draw: float = 0.0) -> float:
    """Time that a pump runs from cut-in to cut-out [s]; inf where the pump does not gain on the
    draw all the way up.

    Args:
        draw: steady flow to the house meanwhile [m3/s].

    How: exact for the curve.
    """
    bottom = max(vessel.cut_in, vessel.precharge)
    if curve.flow_at(vessel.cut_out) - draw <= _STANDSTILL * curve.flow[-1]:
        return math.inf
    return _time_between(vessel, curve, draw, bottom, vessel.cut_out)


def time_until_empty(vessel: Vessel, curve: SupplyCurve, draw: Flow, pressure: float) -> float:
    """Time until a tank is empty while the pump runs and more is drawn than it gives [s]; 0 for a
    tank that is empty at the start, inf where the pump comes to hold the draw before it is.

    Args:
        pressure: at the tank when the time begins [Pa gauge].

    How: exact for the curve.
    """
    bottom = vessel.precharge
    if pressure <= bottom:
        return 0.0
    if curve.flow_at(bottom) >= draw:
        return math.inf
    return -_time_between(vessel, curve, draw, bottom, pressure)


def _time_between(
    vessel: Vessel, curve: SupplyCurve, draw: float, low: float, high: float
) -> float:
    """Time from the lower to the upper pressure [s]; negative where the pressure falls."""
    air = air_constant(vessel.volume, vessel.precharge, vessel.atmosphere)
    edges = [low, *(p for p in reversed(curve.pressure) if low < p < high), high]
    total = 0.0
    for below, above in itertools.pairwise(edges):
        if above > below:
            a, b = curve.coefficients(curve.piece_at(0.5 * (below + above)))
            start, end = air / (below + vessel.atmosphere), air / (above + vessel.atmosphere)
            total += _time_over(a + b * vessel.atmosphere - draw, b * air, start, end)
    return total


def _time_over(a: float, c: float, start: float, end: float) -> float:
    """Time in which air shrinks from start to end [m3] at the rate a - c / air [m3/s]."""
    if abs(c) > _NEARLY_LEVEL * abs(a) * end and a != 0.0:
        ratio = (a * start - c) / (a * end - c)
        return (start - end) / a + c / a**2 * math.log(ratio)
    middle, half = 0.5 * (start + end), 0.5 * (start - end)
    total = 0.0
    for x, weight in _GAUSS:
        for sign in (-1.0, 1.0):
            air = middle + sign * half * x
            total += weight * air / (a * air - c)
    return half * total


def starts_per_hour(vessel: Vessel, curve: SupplyCurve, draw: Flow) -> float:
    """Starts in an hour while a steady flow is drawn [1/h]; 0 where the pump never stops or never
    starts, inf where the tank holds nothing.

    Source: water balance of the tank: 1 / (drawdown/draw + fill time).
    """
    if draw <= 0.0:
        return 0.0
    period = vessel.drawdown / draw + fill_time(vessel, curve, draw)
    return HOUR / period if period > 0.0 else math.inf


def cycling(vessel: Vessel, curve: SupplyCurve) -> Cycling:
    """How a pump cycles, at no draw and at the worst draw.

    Source: the most is found by golden section over the draw.
    """
    run_time = fill_time(vessel, curve)
    most = curve.flow_at(vessel.cut_out)
    if not math.isfinite(run_time) or run_time <= 0.0 or vessel.drawdown <= 0.0:
        return Cycling(
            run_time=run_time if vessel.drawdown > 0.0 else 0.0,
            starts_per_hour=0.0 if vessel.drawdown > 0.0 else math.inf,
            worst_draw=0.0,
            drawdown=vessel.drawdown,
            mean_flow=0.0,
        )
    golden = 0.5 * (math.sqrt(5.0) - 1.0)
    low, high = 0.0, most
    for _ in range(_DRAWS):
        if high - low < 1e-9 * most:
            break
        left, right = high - golden * (high - low), low + golden * (high - low)
        if starts_per_hour(vessel, curve, left) < starts_per_hour(vessel, curve, right):
            low = left
        else:
            high = right
    worst = 0.5 * (low + high)
    return Cycling(
        run_time=run_time,
        starts_per_hour=starts_per_hour(vessel, curve, worst),
        worst_draw=worst,
        drawdown=vessel.drawdown,
        mean_flow=vessel.drawdown / run_time,
    )


def volume_for_run_time(vessel: Vessel, curve: SupplyCurve, least: Time) -> float:
    """Tank volume at which the pump runs long enough; run time goes with volume.

    Returns:
        Volume [m3]; 0 where the pump never reaches cut-out, and so never stops.
    """
    run_time = fill_time(vessel, curve)
    if not math.isfinite(run_time):
        return 0.0
    return vessel.volume * least / run_time if run_time > 0.0 else math.inf
