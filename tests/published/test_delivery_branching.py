"""The delivery solver on published branching pipes and pump-and-system intersections.

Cengel and Cimbala, Fluid Mechanics: Fundamentals and Applications, example 8-9 (read): a shower and
a flushing toilet on one branch; its outlets' K is an orifice that discharges to the air. Its pump
problem of two quadratics (from memory) has a closed form. Munson, Young, Okiishi, Fundamentals of
Fluid Mechanics, example 12.4 (from memory): a pump against a system of 6 in pipe. E. Maurer,
documentation of the R package hydraulics, section 6 (read): a pump between its curve and 3884 ft of
20 in pipe; its own answer keeps the friction factor of another flow and is 6 % low, so it is met
only with that factor. White's three reservoirs (6.18) and Munson's 8.14 feed a junction from
two sides, which a tree from one source is not; they are checked in test_white and test_munson.

Tolerances: half a unit of the printed last digit, unless a test says why not.
"""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.delivery.open_supply import Opening, OpenSupply, constant_source
from supplycalc.delivery.solver import deliver
from tests.delivery.supplies import pump_curve
from tests.published.worked import CUBIC_FOOT, FOOT, GPM, INCH

DENSITY, VISCOSITY, GRAVITY = 998.0, 1.002e-3, 9.81
DIAMETER = 0.015
AREA = math.pi / 4.0 * DIAMETER**2


def orifice(k: float) -> float:
    """C of q = C sqrt(p) for a loss coefficient on the 15 mm pipe's velocity head."""
    return AREA * math.sqrt(2.0 / (DENSITY * k))


def shower_and_toilet() -> OpenSupply:
    """5 m in common; then 6 m, up 2 m, to the shower and 1 m, up 1 m, to the toilet."""
    return OpenSupply(
        names=("source", "common", "shower branch", "toilet branch"),
        parent=(-1, 0, 1, 1),
        length=(0.0, 5.0, 6.0, 1.0),
        inside_diameter=(DIAMETER,) * 4,
        roughness=(1.5e-6,) * 4,
        k=(0.0, 0.0, 0.9 + 2 * 0.9 + 10.0, 2.0 + 10.0 + 0.9),
        density=(DENSITY,) * 4,
        viscosity=(VISCOSITY,) * 4,
        static_gain=(0.0, 0.0, -2.0 * DENSITY * GRAVITY, -1.0 * DENSITY * GRAVITY),
        device=(None,) * 4,
        limit=(None,) * 4,
        source=constant_source(2.0e5),
        openings=(
            Opening(name="shower", link=2, coefficient=orifice(12.0)),
            Opening(name="toilet", link=3, coefficient=orifice(14.0)),
        ),
    )


def test_8_9_a_the_shower_alone() -> None:
    """0.53 L/s."""
    supply = shower_and_toilet()
    alone = deliver(replace(supply, openings=supply.openings[:1]))

    assert alone.opening_flow[0] == pytest.approx(0.53e-3, abs=0.005e-3)


def test_8_9_b_while_the_toilet_flushes() -> None:
    """0.90 L/s in all, 0.42 at the shower, 0.48 at the toilet.

    The book's 21 % less is (0.53 - 0.42)/0.53 of rounded flows, which allow 19 to 23 %.
    """
    supply = shower_and_toilet()
    alone = deliver(replace(supply, openings=supply.openings[:1])).opening_flow[0]
    both = deliver(supply)
    shower, toilet = both.opening_flow

    assert both.flow[1] == pytest.approx(0.90e-3, abs=0.005e-3)
    assert shower == pytest.approx(0.42e-3, abs=0.005e-3)
    assert toilet == pytest.approx(0.48e-3, abs=0.005e-3)
    assert (alone - shower) / alone == pytest.approx(0.21, abs=0.015)


def one_pipe(length: float, diameter: float, roughness: float, k: float, lift: float) -> OpenSupply:
    """A pipe to a reservoir: an outlet so wide that it takes nothing, at the far level."""
    return OpenSupply(
        names=("pump", "pipe"),
        parent=(-1, 0),
        length=(0.0, length),
        inside_diameter=(1.0, diameter),
        roughness=(0.0, roughness),
        k=(0.0, k),
        density=(1000.0,) * 2,
        viscosity=(1e-3,) * 2,
        static_gain=(0.0, -lift * 1000.0 * GRAVITY),
        device=(None, None),
        limit=(None, None),
        source=constant_source(0.0),
        openings=(Opening(name="reservoir", link=1, coefficient=1e3),),
    )


@pytest.mark.parametrize(("shut_off", "flow", "head"), [(5.30, 4.99, 4.17), (7.46, 7.43, 4.96)])
def test_two_quadratics(shut_off: float, flow: float, head: float) -> None:
    """Pump H0 - 0.0453 Q2 on a system 3.52 + 0.0261 Q2 (m, L/min): 4.99 L/min at 4.17 m.

    With 7.46 m at shut-off the closed form sqrt((H0 - dz)/(a + b)) gives 7.428 and 4.960.
    """
    litre, metre = 1e-3 / 60.0, 1000.0 * GRAVITY
    diameter = 0.01
    area = math.pi / 4.0 * diameter**2
    k = 0.0261 / litre**2 * metre / (1000.0 / 2.0 / area**2)
    supply = replace(
        one_pipe(0.0, diameter, 0.0, k, 3.52),
        source=lambda q: (
            (shut_off - 0.0453 * (q / litre) ** 2) * metre,
            -2.0 * 0.0453 * q / litre**2 * metre,
        ),
    )
    delivered = deliver(supply)
    closed = math.sqrt((shut_off - 3.52) / (0.0453 + 0.0261))

    assert delivered.flow[0] / litre == pytest.approx(flow, abs=0.005)
    assert delivered.flow[0] / litre == pytest.approx(closed, rel=1e-6)
    assert delivered.pressure[0] / metre == pytest.approx(head, abs=0.005)


def test_munson_12_4_pump_and_system() -> None:
    """200 ft of 6 in pipe, f 0.02, K 3, lift 10 ft: hp = 10 + 4.43 Q2; 1600 gpm at 66.5 ft.

    The book reads the point from a graph of the pump's curve, of which only that point is given
    here, so a pump of constant 66.5 ft is met with the system: 1600 gpm to 2 % (half a per cent of
    head is a quarter of flow; the rest is the graph's). f is constant there, so it stands as K.
    """
    diameter = 0.5 * FOOT
    k = 0.02 * 200.0 / 0.5 + 0.5 + 1.5 + 1.0
    system = one_pipe(0.0, diameter, 0.0, k, 10.0 * FOOT)
    delivered = deliver(replace(system, source=constant_source(66.5 * FOOT * 1000.0 * GRAVITY)))
    coefficient = (66.5 - 10.0) / (delivered.flow[0] / CUBIC_FOOT) ** 2

    assert coefficient == pytest.approx(4.43, rel=0.003)
    assert delivered.flow[0] / GPM == pytest.approx(1600.0, rel=0.02)


def maurer(k: float, length: float) -> OpenSupply:
    """82.47 - 0.2009 Q2 ft (ft3/s) against 30 ft of lift and 20 in pipe."""
    foot = FOOT * 1000.0 * GRAVITY
    return replace(
        one_pipe(length, 20.0 * INCH, 0.0005 * FOOT, k, 30.0 * FOOT),
        viscosity=(1.23e-5 * FOOT**2 * 1000.0,) * 2,
        source=lambda q: (
            (82.47 - 0.2009 * (q / CUBIC_FOOT) ** 2) * foot,
            -2.0 * 0.2009 * q / CUBIC_FOOT**2 * foot,
        ),
    )


def test_maurer_with_the_friction_of_another_flow() -> None:
    """K 0.160 s2/ft5 as at 1 ft3/s, the document's own method: 12.051 ft3/s, 53.285 ft.

    Its fitted curve is printed to four digits: 0.1 %.
    """
    area = math.pi / 4.0 * (20.0 * INCH) ** 2
    k = 0.160 * FOOT * 2.0 * GRAVITY * area**2 / CUBIC_FOOT**2
    delivered = deliver(maurer(k, 0.0))

    assert delivered.flow[0] / CUBIC_FOOT == pytest.approx(12.051, rel=0.001)
    assert delivered.pressure[0] / (FOOT * 1000.0 * GRAVITY) == pytest.approx(53.285, rel=0.001)


def test_maurer_with_the_friction_of_the_real_flow() -> None:
    """The same with friction at the flow itself: 12.779 ft3/s at 49.65 ft (recomputed, 0.1 %)."""
    delivered = deliver(maurer(0.0, 3884.0 * FOOT))

    assert delivered.flow[0] / CUBIC_FOOT == pytest.approx(12.779, rel=0.001)
    assert delivered.pressure[0] / (FOOT * 1000.0 * GRAVITY) == pytest.approx(49.65, rel=0.001)


def test_a_pump_given_by_points() -> None:
    """Between two points a straight line: its intersection with a square, by the quadratic formula.

    No published figure; the closed form is exact.
    """
    system = one_pipe(0.0, 0.02, 0.0, 40.0, 0.0)
    square = 40.0 * 1000.0 / 2.0 / (math.pi / 4.0 * 0.02**2) ** 2
    delivered = deliver(replace(system, source=pump_curve(((0.0, 4e5), (1e-3, 3e5), (2e-3, 0.0)))))
    slope, start = 3e5 / 1e-3, 6e5
    expected = (-slope + math.sqrt(slope**2 + 4.0 * square * start)) / (2.0 * square)

    assert 1e-3 < expected < 2e-3
    assert delivered.flow[0] == pytest.approx(expected, rel=1e-6)
