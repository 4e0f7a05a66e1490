"""Worked problems of Crane's Technical Paper No. 410, chapter 7.

Source: Crane Co., Technical Paper No. 410 and 410M, examples 7-1, 7-14, 7-15 and 7-19, read as
quoted in the documentation of the general library `fluids`. The paper's K rules (elbow 30 fT,
gate 8 fT, lift check 600 fT over the square of its area ratio, sudden contraction and
enlargement) and fT are from memory.

Tolerances stand with each test.
"""

from __future__ import annotations

import pytest

from supplycalc.hydraulics.friction import friction_factor, velocity
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.units import STANDARD_GRAVITY
from tests.published.worked import FOOT, GPM, INCH, Pipe, bisect

STEEL = 0.04572e-3
LITRE_PER_MINUTE = 1e-3 / 60.0


def test_7_1_reynolds_number_and_smooth_friction_factor() -> None:
    """200 L/min in 50 mm plastic pipe (52.5 mm) at 30 degC: Re 100,600 and f 0.0179.

    The paper's viscosity has two digits (0.80 mPa s, 0.6 %); its f is read from a chart, 1 %.
    """
    kelvin = 303.15
    speed = velocity(200 * LITRE_PER_MINUTE, 0.0525)
    reynolds = density(kelvin) * speed * 0.0525 / viscosity(kelvin)

    assert reynolds == pytest.approx(100_600, rel=0.006)
    assert friction_factor(reynolds, 0.0) == pytest.approx(0.0179, rel=0.01)


def test_7_14_rising_line_of_two_sizes() -> None:
    """1500 L/min up 22 m through 34 m of 4 in and 67 m of 5 in at 15 degC: 2.6 bar (8th edition).

    Older printings say 26,450 Pa, which is less than the lift alone. Half a unit of the last digit.
    """
    kelvin = 288.15
    small, large = 0.10226, 0.1282
    water = {"density": density(kelvin), "viscosity": viscosity(kelvin)}
    pipes = (
        Pipe(
            length=34.0,
            inside_diameter=small,
            roughness=STEEL,
            k=14 * 0.017 + (1.0 - (small / large) ** 2) ** 2,
            **water,
        ),
        Pipe(length=67.0, inside_diameter=large, roughness=STEEL, k=14 * 0.016, **water),
    )
    lift = density(kelvin) * STANDARD_GRAVITY * 22.0

    total = lift + sum(pipe.loss(1500 * LITRE_PER_MINUTE) for pipe in pipes)
    assert total / 1e5 == pytest.approx(2.6, abs=0.05)


def test_7_15_pump_head_with_a_lift_check_valve() -> None:
    """100 gpm up 400 ft through 500 ft of 3 in: 421 ft and 15.2 hp at 70 %.

    The paper rounds the loss to whole feet before adding it, and the sum again: 1 ft. The power
    follows the head, 0.25 %, and has half a unit of its own.
    """
    bore, seat = 3.068 * INCH, 2.469 * INCH
    kelvin = (70.0 + 459.67) * 5.0 / 9.0
    ratio = (seat / bore) ** 2
    check = (600 * 0.018 + ratio**0.5 * (0.5 * (1 - ratio) + (1 - ratio) ** 2)) / ratio**2
    pipe = Pipe(
        length=500 * FOOT,
        inside_diameter=bore,
        roughness=STEEL,
        density=density(kelvin),
        viscosity=viscosity(kelvin),
        k=4 * 30 * 0.018 + 8 * 0.018 + check + 1.0,
    )
    column = density(kelvin) * STANDARD_GRAVITY
    head = 400 * FOOT + pipe.loss(100 * GPM) / column

    assert head / FOOT == pytest.approx(421, abs=1.0)
    assert head * column * 100 * GPM / 0.70 / 745.69987 == pytest.approx(15.2, abs=0.05 + 0.04)


def test_7_19_reservoir_through_two_sizes_in_series() -> None:
    """11.5 ft drive 137 gpm through 10 ft of 3 in and 20 ft of 2 in with their fittings.

    2 %: the paper takes the bores' ratio as the nominal 2/3 and rounds each K to two digits (with
    the nominal ratio the answer is 136.7, with the real bores 139).
    """
    kelvin = (60.0 + 459.67) * 5.0 / 9.0
    large, small = 3.068 * INCH, 2.067 * INCH
    water = {"density": density(kelvin), "viscosity": viscosity(kelvin)}
    pipes = (
        Pipe(
            length=10 * FOOT,
            inside_diameter=large,
            roughness=STEEL,
            k=0.5 + 60 * 0.018 + 8 * 0.018,
            **water,
        ),
        Pipe(
            length=20 * FOOT,
            inside_diameter=small,
            roughness=STEEL,
            k=0.5 * (1.0 - (small / large) ** 2) + 1.0,
            **water,
        ),
    )
    available = density(kelvin) * STANDARD_GRAVITY * 11.5 * FOOT

    flow = bisect(lambda q: sum(pipe.loss(q) for pipe in pipes) - available, 0.0, 0.1)
    assert flow / GPM == pytest.approx(137, rel=0.02)
