"""Worked examples of Cengel and Cimbala, from a single pipe to a shower beside a flushing toilet.

Source: Y. A. Cengel and J. M. Cimbala, Fluid Mechanics: Fundamentals and Applications, examples
8-3, 8-7, 8-8 and 8-9, and an end-of-chapter pump problem. Inputs of 8-3 to 8-9 read in the open
Scilab companion to the book; the answers of 8-3, 8-7, 8-8 and the pump problem from memory, those
of 8-9 read. The book's own water and g = 9.81 m/s2 are used.

Tolerances stand with each test: half a unit of the answer's last digit unless a reason is given.
"""

from __future__ import annotations

import pytest

from supplycalc.hydraulics.devices import device_loss
from supplycalc.hydraulics.friction import friction_factor, velocity
from supplycalc.model import Loss
from tests.published.worked import CUBIC_FOOT, FOOT, INCH, PSI, Pipe, bisect

GRAVITY = 9.81
POUND = 0.45359237


def test_8_3_single_pipe_in_us_units() -> None:
    """11.8 psi, 27.3 ft, 461 W for 200 ft of 2 in stainless pipe at 0.2 ft3/s.

    The book rounds the loss to 1700 lbf/ft2 (0.3 %) before it goes on.
    """
    density, flow = 62.36 * POUND / CUBIC_FOOT, 0.2 * CUBIC_FOOT
    pipe = Pipe(
        length=200 * FOOT,
        inside_diameter=2 * INCH,
        roughness=7e-6 * FOOT,
        density=density,
        viscosity=7.536e-4 * POUND / FOOT,
    )
    loss = pipe.loss(flow)
    reynolds = density * velocity(flow, 2 * INCH) * 2 * INCH / pipe.viscosity

    assert reynolds == pytest.approx(126_400, abs=50)
    assert friction_factor(reynolds, 7e-6 * 6) == pytest.approx(0.0174, abs=0.00005)
    assert loss / PSI == pytest.approx(11.8, abs=0.05)
    assert loss / (density * 9.80665) / FOOT == pytest.approx(27.3, rel=0.003)
    assert loss * flow == pytest.approx(461, abs=0.5)


def test_8_7_pump_and_two_parallel_pipes() -> None:
    """0.0300 m3/s in all, 0.00415 and 0.0259 in pipes of 4 and 8 cm, 36 m each."""
    small, large = (
        Pipe(length=36.0, inside_diameter=bore, roughness=4.5e-5, density=998.0, viscosity=1.002e-3)
        for bore in (0.04, 0.08)
    )

    def too_much(loss: float) -> float:
        total = small.flow(loss) + large.flow(loss)
        return total * (loss + 998.0 * GRAVITY * (13.0 - 5.0)) - 0.70 * 8000.0

    loss = bisect(too_much, 0.0, 1e6)
    assert small.flow(loss) + large.flow(loss) == pytest.approx(0.0300, abs=0.00005)
    assert small.flow(loss) == pytest.approx(0.00415, abs=0.000005)
    assert large.flow(loss) == pytest.approx(0.0259, abs=0.00005)


def test_8_8_gravity_supply() -> None:
    """The reservoir must stand at 31.9 m for 6 L/s through 89 m of 5 cm cast iron.

    The book rounds the velocity to 3.06 m/s (0.13 %, 0.07 m of head) and the loss to 27.9 m (0.05
    m).
    """
    pipe = Pipe(
        length=89.0,
        inside_diameter=0.05,
        roughness=2.6e-4,
        density=999.7,
        viscosity=1.307e-3,
        k=0.5 + 2 * 0.3 + 0.2 + 1.06,
    )

    head = pipe.loss(0.006) / (999.7 * GRAVITY)
    assert 4.0 + head == pytest.approx(31.9, abs=0.12)


def branch(length: float, k: float) -> Pipe:
    """Copper of 15 mm bore."""
    return Pipe(
        length=length,
        inside_diameter=0.015,
        roughness=1.5e-6,
        density=998.0,
        viscosity=1.002e-3,
        k=k,
    )


SHOWER_K = 0.9 + 2 * 0.9 + 10 + 12
TOILET_K = 2 + 10 + 0.9 + 14
COLUMN = 998.0 * GRAVITY


def test_8_9_a_shower_alone() -> None:
    """0.53 L/s from 200 kPa, 2 m up, through 11 m of copper with its fittings."""
    flow = branch(11.0, SHOWER_K).flow(200e3 - 2.0 * COLUMN)

    assert flow == pytest.approx(0.53e-3, abs=0.005e-3)


def test_8_9_b_shower_beside_a_flushing_toilet() -> None:
    """0.90 L/s in all, 0.42 to the shower, 0.48 to the toilet, which stands 1 m up.

    The 21 % less at the shower is from the two-digit flows: (0.53 - 0.42)/0.53; unrounded 20.2 %.
    """
    common, shower, toilet = branch(5.0, 0.0), branch(6.0, SHOWER_K), branch(1.0, TOILET_K)

    def missing(junction: float) -> float:
        to_shower = shower.flow(junction - 2.0 * COLUMN)
        to_toilet = toilet.flow(junction - 1.0 * COLUMN)
        return common.loss(to_shower + to_toilet) + junction - 200e3

    junction = bisect(missing, 0.0, 200e3)
    to_shower = shower.flow(junction - 2.0 * COLUMN)
    to_toilet = toilet.flow(junction - 1.0 * COLUMN)
    alone = branch(11.0, SHOWER_K).flow(200e3 - 2.0 * COLUMN)
    assert to_shower + to_toilet == pytest.approx(0.90e-3, abs=0.005e-3)
    assert to_shower == pytest.approx(0.42e-3, abs=0.005e-3)
    assert to_toilet == pytest.approx(0.48e-3, abs=0.005e-3)
    assert 1.0 - to_shower / alone == pytest.approx(0.202, abs=0.001)


def test_two_quadratics() -> None:
    """Pump 5.30 - 0.0453 Q2 against 3.52 + 0.0261 Q2 (m, L/min): 4.99 L/min at 4.17 m."""
    pump = Loss(quadratic=0.0453, reference_flow=1.0)
    system = Loss(quadratic=0.0261, reference_flow=1.0)

    flow = bisect(lambda q: device_loss(pump, q) + device_loss(system, q) - 1.78, 0.0, 20.0)
    assert flow == pytest.approx(4.99, abs=0.005)
    assert 3.52 + device_loss(system, flow) == pytest.approx(4.17, abs=0.005)
