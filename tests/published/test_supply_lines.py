"""Lines of several pipes in series, and what a drop pipe bears, by published examples.

Sources: a study page of board examinations in hydraulics, pipes in series, with a friction factor
given for each pipe (50 L/s through 200 m of 200 mm and 150 m of 150 mm: 10.70 m; 25 m of head over
500, 400 and 300 m of 300, 250 and 200 mm: 0.100 m3/s); a pipe maker's note on selecting well pipe
(330 ft to the pumping level and a 50 psi switch: 192.9 psi, so 200 psi pipe).

Tolerances: the page rounds each pipe's loss to 0.01 to 0.1 m and its velocities to two decimals,
0.5 % in head and, by the square, 0.5 % in flow. The note takes 0.433 psi a foot; water of 50 degF
weighs 0.4334: 0.1 %.
"""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.catalogue import OwnTube, load_catalogue
from supplycalc.hydraulics.water import density, specific_weight, viscosity
from supplycalc.model import House, Pump, Run, Well
from supplycalc.questions.size.study import size
from supplycalc.sizing.pressure_range import pipe_pressures
from supplycalc.supply.well_line import loss_to_tank_with_slope
from tests.houses import FOOT, PSI, drop_pipe, two_storey, well


def roughness_for(factor: float, flow: float, diameter: float) -> float:
    """Roughness [m] at which Colebrook's formula gives a friction factor, solved for it."""
    rho, mu = density(283.15), viscosity(283.15)
    reynolds = 4.0 * rho * flow / (math.pi * diameter * mu)
    root = math.sqrt(factor)
    return 3.7 * diameter * (10.0 ** (-0.5 / root) - 2.51 / (reynolds * root))


def series(flow: float, *pipes: tuple[float, float, float]) -> House:
    """A line of (length [m], diameter [m], friction factor) one behind the other."""
    own = tuple(
        OwnTube(
            name=f"pipe {i + 1}",
            sizes=(("10", diameter + 0.02, diameter),),
            roughness=roughness_for(factor, flow, diameter),
        )
        for i, (_, diameter, factor) in enumerate(pipes)
    )
    line = []
    points = ["well", *(f"point {i}" for i in range(1, len(pipes))), "source"]
    for i, (length, _, _) in enumerate(pipes):
        line.append(
            Run(
                name=own[i].name,
                start=points[i],
                end=points[i + 1],
                length=length,
                material=own[i].name,
                joining="none",
                size="10",
                fittings=(),
            )
        )
    house = two_storey(source=well(), line=tuple(line))
    return replace(house, catalogue=load_catalogue(own_tubes=own))


def test_two_pipes_in_series() -> None:
    """10.70 m at 50 L/s."""
    house = series(0.05, (200.0, 0.2, 0.02), (150.0, 0.15, 0.02))
    head = loss_to_tank_with_slope(house, 0.05)[0] / specific_weight(house.water.cold)

    assert head == pytest.approx(10.70, rel=0.005)


def test_three_pipes_in_series() -> None:
    """25 m of head make 0.100 m3/s."""
    house = series(0.1, (500.0, 0.3, 0.02), (400.0, 0.25, 0.022), (300.0, 0.2, 0.018))
    weight = specific_weight(house.water.cold)
    low, high = 0.05, 0.2
    for _ in range(60):
        middle = 0.5 * (low + high)
        if loss_to_tank_with_slope(house, middle)[0] < 25.0 * weight:
            low = middle
        else:
            high = middle

    assert low == pytest.approx(0.100, rel=0.005)


def test_what_a_drop_pipe_bears() -> None:
    """330 ft to the pumping level and a switch of 50 psi: 192.9 psi, friction left aside."""
    source = replace(
        well(cut_in=30.0, cut_out=50.0),
        well=Well(static_level=330.0 * FOOT, pump_depth=400.0 * FOOT),
        pump=Pump(curve=((0.0, 700.0 * FOOT), (1e-3, 300.0 * FOOT))),
    )
    hung = two_storey(source=source, line=(drop_pipe(material="pe-sidr7", length=1e-9),))
    bears = next(it for it in pipe_pressures(size(hung, mend=False)) if it.name == "drop pipe")

    assert bears.working / PSI == pytest.approx(192.9, rel=0.001)
    assert bears.rating is not None
    assert bears.working < bears.rating < (bears.stuck_switch or 0.0)
