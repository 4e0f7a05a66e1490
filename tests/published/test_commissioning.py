"""Chlorine and thermal expansion against published tables and examples.

Indiana Administrative Code 327 IAC 8-3.4-24, Table 24-1, prints the 12 trade per cent solution
for 50 mg/L in 100 ft of water in a casing to one decimal of a fluid ounce, pint or gallon, and the
water to five or four digits (its row of 5 inch has 106.09 gal where geometry gives 102.0: left out,
as is 60 inch). Half a unit of the last digit is the tolerance: 1 % of 7.8 fl oz, 2.5 % of 2.0 pt.

R. W. Griffith, Thermal Expansion Tanks, part 2 (2015): 2 gal taken in between 80 and 135 psi ask
for 5.44 gal, worked with 14.7 psi of air: three digits.

ASPE, Plumbing Engineering Design Handbook, expansion tanks: 1,000 gal heated from 40 to 140 degF
with specific volumes rounded to four digits (0.01602, 0.01629) give 16.9 gal; each may be off by
half of its last digit, so the growth by 4 %. A page on home inspection prints nearly half a gallon
(0.48) of 40 gal from 90 to 140 degF, a page on sizing 0.84 gal of 50 gal from 50 to 140 degF.
"""

from __future__ import annotations

import math

import pytest

from supplycalc.hydraulics.friction import flow_area
from supplycalc.questions.commission.expansion import (
    expansion_tank,
    growth,
    pressure_when_taken_in,
)
from supplycalc.questions.commission.water import chlorine_solution
from supplycalc.supply.tank import Vessel
from supplycalc.tables import GALLON, kelvin
from supplycalc.units import FOOT, INCH, PSI

OUNCE, PINT = GALLON / 128.0, GALLON / 8.0
ATMOSPHERE = 14.7 * PSI


def vessel(volume: float, charge: float, pressure: float) -> Vessel:
    """A tank of a volume [m3] charged to so many psi, that stands at others."""
    return Vessel(
        volume=volume,
        precharge=charge * PSI,
        cut_in=charge * PSI,
        cut_out=pressure * PSI,
        atmosphere=ATMOSPHERE,
    )


@pytest.mark.parametrize(
    ("inches", "gallons", "amount", "unit", "half_a_digit"),
    [
        (6, 146.9, 7.8, OUNCE, 0.05),
        (8, 261.1, 13.9, OUNCE, 0.05),
        (10, 408.0, 1.4, PINT, 0.05),
        (12, 587.5, 2.0, PINT, 0.05),
        (16, 1044.0, 3.5, PINT, 0.05),
        (20, 1632.0, 0.7, GALLON, 0.05),
        (24, 2350.0, 1.0, GALLON, 0.05),
        (36, 5287.0, 2.2, GALLON, 0.05),
        (48, 9400.0, 3.9, GALLON, 0.05),
    ],
)
def test_indianas_table_of_wells(
    inches: float, gallons: float, amount: float, unit: float, half_a_digit: float
) -> None:
    """Water in 100 ft of casing, and the 12 % solution that brings it to 50 mg/L."""
    water = flow_area(inches * INCH) * 100.0 * FOOT

    assert water / GALLON == pytest.approx(gallons, rel=0.001)
    assert abs(chlorine_solution(water, 0.050, 12.0) / unit - amount) <= half_a_digit * 1.001


def test_griffiths_expansion_tank() -> None:
    """2 gal between 80 and 135 psi: 5.44 gal, which then stands at 135 psi."""
    tank = expansion_tank(2.0 * GALLON, 80.0 * PSI, 135.0 * PSI, ATMOSPHERE)
    after = pressure_when_taken_in(vessel(tank, 80.0, 80.0), 2.0 * GALLON)

    assert tank / GALLON == pytest.approx(5.44, abs=0.005)
    assert after / PSI == pytest.approx(135.0, rel=1e-9)


@pytest.mark.parametrize(
    ("gallons", "cold", "hot", "grows", "within"),
    [
        (1000.0, 40.0, 140.0, 16.9, 0.04),
        (40.0, 90.0, 140.0, 0.48, 0.02),
        (50.0, 50.0, 140.0, 0.84, 0.01),
    ],
)
def test_water_grows(gallons: float, cold: float, hot: float, grows: float, within: float) -> None:
    """By its densities when cold and hot."""
    volume = growth(gallons * GALLON, kelvin(cold, "degF"), kelvin(hot, "degF"))

    assert volume / GALLON == pytest.approx(grows, rel=within)


def test_a_tank_without_room_has_no_pressure() -> None:
    """More than its air can make room for has no end."""
    assert math.isinf(pressure_when_taken_in(vessel(10.0 * GALLON, 30.0, 50.0), 8.0 * GALLON))
