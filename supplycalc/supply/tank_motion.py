"""The motion of tank and well between two events, as Taylor series to rounding.

State: the air in the tank U [m3] and the fall s of the well's level below rest [m]. The tank's
pressure is P = K/U - p_air (Boyle). While the pump is on one straight piece of the supply curve
and the house on one straight piece of what it draws,

    pumped  Q = a - b (P + w s)        drawn  D = c + d P        inflow  I = i0 + i1 s
    U' = D - Q                         A s' = Q - I

whose solution is analytic: each coefficient follows from those before it. A step is as long as the
series holds to `TOLERANCE`; an event is a root of a series. No time step is fixed anywhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from operator import mul

from msgspec import Struct

from supplycalc.units.quantities import Length, Pressure, Time

ORDER = 15
"""Terms of the series beyond the first."""
TOLERANCE = 1e-15
"""Least term that counts, over the state."""
_ITERATIONS = 100


class Rates(Struct, frozen=True):
    """What moves tank and well on one piece; see the module's formulas."""

    a: float
    """[m3/s]"""
    b: float
    """[m3/s per Pa]"""
    c: float
    """[m3/s]"""
    d: float
    """[m3/s per Pa]"""
    w: float
    """Weight of water [Pa/m]."""
    i0: float
    """[m3/s]"""
    i1: float
    """[m3/s per m]"""
    area: float
    """Of the bore [m2]; 0: the level is no state of its own."""


class Motion(Struct, frozen=True):
    """Series of one step over the time into it."""

    pressure: list[float]
    """At the tank [Pa gauge]."""
    fall: list[float]
    """Of the well's level [m]."""
    reach: float
    """Time over which they hold [s]."""


def stored(pressure: Pressure, fall: Length, air: float, atmosphere: float, r: Rates) -> Motion:
    """The motion of a tank that has water in it.

    Args:
        air: absolute pressure times volume of the air [J].
        atmosphere: [Pa absolute].

    Source: Taylor's series by the recurrences of product and quotient; E. Hairer, S. P. Norsett,
        G. Wanner, Solving Ordinary Differential Equations I, I.8 (from memory).
    """
    b, d, i1, area = r.b, r.d, r.i1, r.area
    first = pressure + atmosphere
    volume = air / first
    q = r.a - b * (pressure + r.w * fall)
    u = [volume, r.c + d * pressure - q]
    p, s = [first], [fall, (q - r.i0 - i1 * fall) / area if area else 0.0]
    over, bw = -1.0 / volume, b * r.w
    for n in range(1, ORDER):
        now = over * sum(map(mul, u[1:], reversed(p)))
        p.append(now)
        q = -b * now - bw * s[n]
        u.append((d * now - q) / (n + 1))
        s.append((q - i1 * s[n]) / (area * (n + 1)) if area else 0.0)
    reach = min(reach_of(u, volume), reach_of(p, first))
    if area:
        reach = min(reach, reach_of(s, max(fall, 1.0)))
    else:
        s = [0.0]
    p[0] = pressure
    return Motion(p, s, reach)


def through(fall: Length, pressure: tuple[float, float], r: Rates) -> Motion:
    """The motion of a supply that stores nothing: the pump gives what the house draws.

    Args:
        pressure: (first [Pa], second [Pa/m]) of pressure = first + second * fall.
        r: what is pumped, a + b * fall (b in m2/s here), and what flows in; c, d and w unused.

    Source: linear differential equation of the well's level.
    """
    first, second = pressure
    if not r.area:
        return Motion([first + second * fall], [0.0], math.inf)
    s = [fall]
    s.append((r.a - r.i0 + (r.b - r.i1) * fall) / r.area)
    for n in range(1, ORDER):
        s.append((r.b - r.i1) * s[n] / (r.area * (n + 1)))
    p = [second * term for term in s]
    p[0] += first
    return Motion(p, s, reach_of(s, max(fall, 1.0)))


def reach_of(series: Sequence[float], scale: float) -> float:
    """Time over which the terms that are left out stay below the tolerance [s]."""
    n = len(series) - 1
    last = max(abs(series[n]), 1e-300)
    before = max(abs(series[n - 1]), 1e-300)
    limit = TOLERANCE * scale
    return float(min((limit / last) ** (1.0 / n), (limit / before) ** (1.0 / (n - 1))))


def value(series: Sequence[float], t: Time) -> float:
    """Value of a series [same unit].

    Args:
        series: coefficients, the constant first [any].

    Source: Horner's scheme.
    """
    total = 0.0
    for term in reversed(series):
        total = total * t + term
    return total


def integral(series: Sequence[float], t: Time) -> float:
    """Integral of a series from the step's start [same unit times s]."""
    total = 0.0
    n = len(series)
    for term in reversed(series):
        total = total * t + term / n
        n -= 1
    return total * t


def slope(series: Sequence[float], t: Time) -> float:
    """Derivative of a series [same unit per s]."""
    total = 0.0
    for n in range(len(series) - 1, 0, -1):
        total = total * t + n * series[n]
    return total


def crossing(series: Sequence[float], level: float, end: Time) -> Time:
    """Time at which a series passes a level between the step's start and an end.

    Args:
        series: coefficients, on the other side of the level at `end` than at 0 [any].
        level: [same unit].

    Source: Newton's method kept inside a shrinking bracket.
    """
    low, high = 0.0, end
    start, at_end = series[0] - level, value(series, end) - level
    rising = at_end > 0.0
    # a series that begins on the level may leave it on the other side first
    t = end * start / (start - at_end) if start * at_end < 0.0 else 0.5 * end
    for _ in range(_ITERATIONS):
        off = value(series, t) - level
        if off == 0.0:
            return t
        if (off > 0.0) == rising:
            high = t
        else:
            low = t
        rate = slope(series, t)
        new = t - off / rate if rate != 0.0 else math.nan
        if not low < new < high:
            new = 0.5 * (low + high)
        if abs(new - t) <= 4e-16 * end or high - low <= 4e-16 * end:
            return new
        t = new
    return t
