"""Munson's riser to a second-floor faucet, three reservoirs, and a pump on its system curve.

Source: B. R. Munson, D. F. Young and T. H. Okiishi, Fundamentals of Fluid Mechanics, examples
8.8, 8.14 and 12.4; from memory (the statement of 8.14 was read).

Tolerances: half a unit of the last digit; what a chart's friction factor adds is said at each test.
"""

from __future__ import annotations

import pytest

from supplycalc.hydraulics.devices import device_loss
from supplycalc.hydraulics.friction import velocity
from supplycalc.model import Loss
from tests.published.worked import FOOT, GPM, INCH, PSI, Pipe, bisect

SLUG_PER_CUBIC_FOOT = 515.3788184
POUND_SECOND_PER_SQUARE_FOOT = 47.88025898
GRAVITY = 32.174


def test_8_8_domestic_riser() -> None:
    """10.7 psi without losses, 21.3 with the pipe's, 30.5 with the fittings' too.

    The book's f is 0.0215 from a chart, Colebrook's 0.0216: 0.07 psi of the 10.6 psi of friction.
    """
    density = 1.94 * SLUG_PER_CUBIC_FOOT
    bore, flow = 0.0625 * FOOT, 12.0 * GPM
    properties = {
        "length": 60 * FOOT,
        "inside_diameter": bore,
        "roughness": 5e-6 * FOOT,
        "density": density,
        "viscosity": 2.34e-5 * POUND_SECOND_PER_SQUARE_FOOT,
    }
    bare = Pipe(**properties)
    fitted = Pipe(**properties, k=4 * 1.5 + 10 + 2)
    jet = velocity(flow, 0.5 * INCH) ** 2 - velocity(flow, bore) ** 2
    ideal = density * GRAVITY * FOOT * 20 * FOOT + 0.5 * density * jet

    assert ideal / PSI == pytest.approx(10.7, abs=0.05)
    assert (ideal + bare.loss(flow)) / PSI == pytest.approx(21.3, abs=0.05 + 0.07)
    assert (ideal + fitted.loss(flow)) / PSI == pytest.approx(30.5, abs=0.05 + 0.07)


def head_loss(factor: float, length: float, bore: float, k: float = 0.0) -> Loss:
    """Head [ft] over flow [ft3/s] at a given constant friction factor."""
    per_speed = (factor * length / bore + k) / (2 * GRAVITY)
    return Loss(quadratic=per_speed * velocity(1.0, bore) ** 2, reference_flow=1.0)


def test_8_14_three_reservoirs() -> None:
    """Levels 100, 20, 0 ft and f = 0.02: 12.5 ft3/s from A, 2.26 INTO B and 10.2 into C.

    The book's flows come out of velocities with three digits by trial; they miss continuity by
    0.04 ft3/s (12.5 against 2.26 + 10.2), which is the tolerance, beside the half digit.
    """
    levels = (100.0, 20.0, 0.0)
    losses = [head_loss(0.02, length, 1.0) for length in (1000.0, 500.0, 400.0)]

    def flow(loss: Loss, head: float) -> float:
        return bisect(lambda q: device_loss(loss, q) - head, -100.0, 100.0)

    def from_reservoirs(junction: float) -> list[float]:
        return [flow(loss, z - junction) for loss, z in zip(losses, levels, strict=True)]

    junction = bisect(lambda head: -sum(from_reservoirs(head)), 0.0, 100.0)
    flows = from_reservoirs(junction)
    for flow, printed, half in zip(flows, (12.5, -2.26, -10.2), (0.05, 0.005, 0.05), strict=True):
        assert flow == pytest.approx(printed, abs=half + 0.04)


def test_12_4_pump_and_system_curve() -> None:
    """hp = 10 + 4.43 Q2 (ft, ft3/s), which at the graph's 1600 gpm is 66.5 ft.

    4.43 to half its last digit; the point is read from a graph, 1 % of its 1600 gpm.
    """
    system = head_loss(0.02, 200.0, 0.5, k=0.5 + 1.5 + 1.0)
    flow = 1600 * GPM / FOOT**3

    assert device_loss(system, 1.0) == pytest.approx(4.43, abs=0.005)
    assert 10.0 + device_loss(system, flow) == pytest.approx(66.5, abs=0.02 * 56.5)
