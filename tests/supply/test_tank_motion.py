"""The motion of tank and well against an integrator of eighth order, and against arithmetic."""

from __future__ import annotations

import math
import random

import pytest
from scipy.integrate import solve_ivp

from supplycalc.supply.tank_motion import Rates, crossing, integral, slope, stored, through, value
from tests.houses import GPM, PSI
from tests.supply.stations import GALLON

AIR = 101325.0


def reference(rates: Rates, volume: float, fall: float, air: float, span: float) -> list[float]:
    """Air volume and fall after a span by DOP853 at 1e-13."""

    def motion(_: float, y: list[float]) -> list[float]:
        pressure = air / y[0] - AIR
        pumped = rates.a - rates.b * (pressure + rates.w * y[1])
        drawn = rates.c + rates.d * pressure
        inflow = rates.i0 + rates.i1 * y[1]
        return [drawn - pumped, (pumped - inflow) / rates.area if rates.area else 0.0]

    solution = solve_ivp(motion, (0.0, span), [volume, fall], "DOP853", rtol=1e-13, atol=1e-16)
    return [float(row[-1]) for row in solution.y]


@pytest.mark.parametrize("seed", range(12))
def test_series_agree_with_an_integrator(seed: int) -> None:
    """Over the whole reach of a step: pressure to 1e-10, level to 1e-10 of a metre.

    DOP853 at rtol 1e-13 errs by a few 1e-13 for each of its steps, of which there are tens.
    """
    chance = random.Random(seed)
    volume = chance.uniform(5, 80) * GALLON
    air = (chance.uniform(20, 50) * PSI + AIR) * volume * chance.uniform(1.05, 1.6)
    rates = Rates(
        a=chance.uniform(5, 30) * GPM,
        b=chance.uniform(0.02, 0.3) * GPM / PSI,
        c=chance.uniform(0, 10) * GPM,
        d=chance.uniform(0, 0.2) * GPM / PSI,
        w=9800.0,
        i0=chance.choice((0.0, 2.0 * GPM)),
        i1=chance.choice((0.0, 1.0 * GPM / 0.3048)),
        area=chance.choice((0.0, 0.0182, 0.5)),
    )
    fall = chance.uniform(0.5, 6.0) if rates.area else 0.0
    motion = stored(air / volume - AIR, fall, air, AIR, rates)
    span = min(motion.reach, 400.0)
    expected = reference(rates, volume, fall, air, span)

    assert span > 0.5
    pressure = air / expected[0] - AIR
    assert value(motion.pressure, span) == pytest.approx(pressure, rel=1e-10, abs=1e-4)
    if rates.area:
        assert value(motion.fall, span) == pytest.approx(expected[1], abs=1e-10)


def test_what_is_pumped_through_an_empty_tank() -> None:
    """The level goes to its balance exponentially; the pressure follows it in a straight line."""
    rates = Rates(a=4 * GPM, b=-0.2 * GPM, c=0.0, d=0.0, w=0.0, i0=0.0, i1=1.0 * GPM, area=0.02)
    motion = through(1.0, (2e5, -3e3), rates)
    balance = rates.a / (rates.i1 - rates.b)
    t = min(motion.reach, 60.0)
    fall = balance + (1.0 - balance) * math.exp(-(rates.i1 - rates.b) / rates.area * t)

    assert value(motion.fall, t) == pytest.approx(fall, rel=1e-13)
    assert value(motion.pressure, t) == pytest.approx(2e5 - 3e3 * fall, rel=1e-13)


def test_sums_slopes_and_roots_of_a_series() -> None:
    """Against a cubic by hand: value, integral, derivative, crossing from either side."""
    series = [1.0, -2.0, 0.5, 0.25]

    assert value(series, 2.0) == 1.0
    assert integral(series, 2.0) == pytest.approx(2.0 - 4.0 + 4.0 / 3.0 + 1.0, rel=1e-15)
    assert slope(series, 2.0) == pytest.approx(-2.0 + 2.0 + 3.0, rel=1e-15)
    root = crossing(series, 0.0, 1.0)
    assert value(series, root) == pytest.approx(0.0, abs=1e-15)
    rising = crossing([0.0, 1.0, 1.0], 0.75, 1.0)
    assert rising == pytest.approx(0.5, rel=1e-15)
