"""Water hammer against published examples and tables.

A. P. Moser, S. Folkman, Buried Pipe Design, example 4.2: PVC of DR 18 (E 400,000 psi) with water of
300,000 psi carries waves at 1,311 ft/s, and 7 ft/s that stop raise the pressure by 122 psi, to 282
with 160 psi before; the book multiplies by 0.43 psi/ft where 0.4335 is meant, so 1.5 %.

New Mexico State University, soils 456, chapter 8: PVC of 1.66 inch with a wall of 0.14 (E 400,000
psi, water 294,000 psi and 4,700 ft/s): 20.3 psi per ft/s; three digits, 0.5 %.

TM 5-813-9, figure 4-5: 2,690 ft/s, 6.48 ft/s that stop, 3,400 ft: wave back after 2.53 s, 544.7 ft
of water with g = 32.0 ft/s2. 0.1 %.

Lecture notes on surge in irrigation pipe: 860 ft/s and 5 ft/s give 57.9 psi (computed), 0.5 %.

D. J. Wood, S. Lingireddy, P. F. Boulos, Pressure Wave Analysis, problems 1.24, 1.26 and 1.28:
shares of a wave that go on where 4 or 100 equal pipes meet, and where a pipe meets one of another
width; exact fractions, the last cut to two digits (2/26 told as 0.076: 1.5 %).

IAPWS-95: 2.095 GPa (50 degF) and 2.374 GPa (140 degF) are the bulk modulus of water; Marczak's
speed of sound with our density gives it within 0.5 %.
"""

from __future__ import annotations

import math

import pytest

from supplycalc.hydraulics.surge import (
    critical_time,
    joukowsky,
    passed_on,
    slow_closure,
    sound_speed,
    wave_speed,
)
from supplycalc.hydraulics.water import density
from supplycalc.tables import kelvin
from supplycalc.units import FOOT, PSI

COOL = kelvin(60.0, "degF")
WEIGHT = density(COOL)
SLUG = 515.378818
"""[kg/m3] of one slug per cubic foot."""


@pytest.mark.parametrize(
    ("modulus_psi", "bulk_psi", "ratio", "feet_per_second", "tolerance"),
    [
        (400_000.0, 300_000.0, 16.0, 1311.0, 0.01),  # Moser
        (17e6, 300_000.0, 0.785 / 0.045, 4132.0, 0.01),  # copper L 3/4, the textbook form
        (100_000.0, 300_000.0, 0.681 / 0.097, 1006.0, 0.01),  # PEX 3/4
    ],
)
def test_wave_speeds(
    modulus_psi: float, bulk_psi: float, ratio: float, feet_per_second: float, tolerance: float
) -> None:
    """Our water has its own bulk modulus: E is scaled so that only the ratio of both counts."""
    ours = density(COOL) * sound_speed(COOL) ** 2
    theirs = bulk_psi * PSI
    speed = wave_speed(COOL, modulus_psi * PSI * ours / theirs, ratio, 1.0)

    assert speed / sound_speed(COOL) == pytest.approx(
        feet_per_second * FOOT / math.sqrt(theirs / (1.935 * SLUG)), rel=tolerance
    )


def test_the_rise_of_pvc_by_moser() -> None:
    """160 psi and 122 psi of surge."""
    rise = joukowsky(1.94 * SLUG, 1311.0 * FOOT, 7.0 * FOOT)

    assert rise / PSI == pytest.approx(122.0, rel=0.015)
    assert (160.0 * PSI + rise) / PSI == pytest.approx(282.0, rel=0.015)


def test_the_rise_by_new_mexico_state() -> None:
    """Free wave of 4,700 ft/s and the pipe's own softness."""
    speed = 4700.0 * FOOT / math.sqrt(1.0 + 294_000.0 / 400_000.0 * 1.66 / 0.14)

    assert joukowsky(62.4 / 32.2 * SLUG, speed, FOOT) / PSI == pytest.approx(20.3, rel=0.005)


def test_the_steel_main_of_the_manual() -> None:
    """The wave's way there and back, and its height."""
    rise = joukowsky(1.0, 2690.0 * FOOT, 6.48 * FOOT) / (32.0 * FOOT)

    assert critical_time(3400.0 * FOOT, 2690.0 * FOOT) == pytest.approx(2.53, abs=0.005)
    assert rise / FOOT == pytest.approx(544.7, rel=0.001)


def test_the_irrigation_pipe() -> None:
    """860 ft/s and 5 ft/s."""
    rise = joukowsky(62.37 / 32.17 * SLUG, 860.0 * FOOT, 5.0 * FOOT)

    assert rise / PSI == pytest.approx(57.9, rel=0.005)


@pytest.mark.parametrize(
    ("meeting", "share"),
    [
        ([1.0] * 4, 0.5),
        ([1.0] * 100, 0.02),
        ([1.0, 4.0], 0.4),
        ([1.0, 0.25], 1.6),
        ([1.0, 25.0], 0.076),
        ([1.0, 1.0], 1.0),
    ],
)
def test_what_goes_on_at_a_point(meeting: list[float], share: float) -> None:
    """Areas over wave speeds; the first brings the wave."""
    assert passed_on(meeting[0], meeting) == pytest.approx(share, rel=0.015)


@pytest.mark.parametrize(("fahrenheit", "gigapascal"), [(50.0, 2.095), (140.0, 2.374)])
def test_the_bulk_modulus_of_water(fahrenheit: float, gigapascal: float) -> None:
    """Density times the speed of sound squared."""
    at = kelvin(fahrenheit, "degF")

    assert density(at) * sound_speed(at) ** 2 / 1e9 == pytest.approx(gigapascal, rel=0.005)


def test_a_slow_valve_meets_the_fast_one_at_the_critical_time() -> None:
    """Michaud's bound is Joukowsky's where the valve takes as long as the wave, half at twice."""
    speed, length = 1200.0, 30.0
    at_once = joukowsky(WEIGHT, speed, 2.0)
    back = critical_time(length, speed)

    assert slow_closure(WEIGHT, [(length, 2.0)], back) == pytest.approx(at_once)
    assert slow_closure(WEIGHT, [(length, 2.0)], 2.0 * back) == pytest.approx(at_once / 2.0)
    assert slow_closure(WEIGHT, [(10.0, 2.0), (20.0, 2.0)], back) == pytest.approx(at_once)
