"""The speed of water that sweeps air out of a pipe that falls.

Source: an engineers' forum on the web, thread 202513, second post (read), which quotes a handbook
on pumping stations: sqrt(g D) (0.825 + 0.25 sqrt(sin a)). It is second-hand, and the handbook's own
page was not seen.

The formula has no rounding of its own; the speeds below were worked by hand to a millimetre a
second, half of which is allowed, the flow to its two decimals. The other form of the same thread,
0.56 sqrt(sin a) + a with 0.61 for long pockets of air, is lower in flat pipe and meets it at 30
degrees: within 1 %, so that the one taken is on the safe side.
"""

from __future__ import annotations

import math

import pytest

from supplycalc.sizing.profile import clearing_velocity
from tests.houses import GPM

INSIDE = 0.0266
"""[m] Of 1 inch pipe."""
STEEPNESS = [(0.0, 0.421), (5.0, 0.459), (10.0, 0.475), (20.0, 0.496), (30.0, 0.512)]


def fall(degrees: float) -> float:
    """Over the length of the pipe."""
    return math.sin(math.radians(degrees))


@pytest.mark.parametrize(("degrees", "speed"), STEEPNESS)
def test_speed_by_steepness(degrees: float, speed: float) -> None:
    """[m/s] In 1 inch pipe."""
    assert clearing_velocity(INSIDE, fall(degrees)) == pytest.approx(speed, abs=6e-4)


@pytest.mark.parametrize(("inside", "flow", "digit"), [(0.0266, 4.04, 0.01), (0.0409, 11.9, 0.1)])
def test_flow_at_five_degrees(inside: float, flow: float, digit: float) -> None:
    """[gpm] In 1 and 1-1/2 inch pipe."""
    area = math.pi / 4.0 * inside**2

    assert clearing_velocity(inside, fall(5.0)) * area / GPM == pytest.approx(flow, abs=digit)


@pytest.mark.parametrize("degrees", [0.0, 5.0, 30.0])
def test_the_other_form_asks_for_no_more(degrees: float) -> None:
    """By Froude's number, long pockets."""
    other = math.sqrt(9.80665 * INSIDE) * (0.56 * math.sqrt(fall(degrees)) + 0.61)

    assert other <= 1.01 * clearing_velocity(INSIDE, fall(degrees))
