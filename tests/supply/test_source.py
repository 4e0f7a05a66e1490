"""What the source gives at the design flow, by hand arithmetic.

Wells: total dynamic head is the lift from the pumping level, friction and pressure (MIL-HDBK-1164,
appendix A); the level falls by flow over specific capacity. Mains: pressure falls from static with
the flow to the power 1.852 (NFPA 291, from memory). Figures in feet and psi at 60 degF and 62.37
lb/ft3, i.e. 0.43310 psi/ft, good to 0.01 %; what is compared carries that rounding and no other.
"""

from __future__ import annotations

import math

import fluids
import pytest
from msgspec.structs import replace

from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import House, Pump, Water, WaterSource, Well
from supplycalc.supply.source import source_pressure
from supplycalc.supply.supply_curve import flow_at_pressure, pump_pressure
from tests.houses import FOOT, GPM, PSI, drop_pipe, offset_pipe, two_storey

PSI_PER_FOOT = 62.366 / 144.0
SIXTY_F = (60.0 + 459.67) / 1.8
FLAT = Pump(curve=((0.0, 200.0 * FOOT), (20.0 * GPM, 200.0 * FOOT)))
"""A pump that gives 200 ft at every flow, so that only the lift moves the pressure."""


def on_well(gauge: float, well: Well, pump: Pump = FLAT) -> House:
    """A house whose tank gauge stands at a height [ft] above the datum."""
    return two_storey(
        source=WaterSource(
            kind="well",
            elevation=gauge * FOOT,
            cut_in=40 * PSI,
            cut_out=60 * PSI,
            pump=pump,
            well=well,
        ),
        water=Water(cold=SIXTY_F),
    )


@pytest.mark.parametrize(
    ("gauge", "wellhead", "capacity", "gpm", "lift"),
    [
        (0.0, None, None, 5.0, 80.0),
        (0.0, 0.0, None, 5.0, 80.0),
        (-6.0, -30.0, None, 5.0, 104.0),
        (-6.0, 20.0, None, 5.0, 54.0),
        (0.0, 0.0, 0.5, 5.0, 90.0),
        (0.0, 0.0, 0.5, 10.0, 100.0),
        (-6.0, -30.0, 2.0, 8.0, 108.0),
    ],
)
def test_pressure_that_the_pump_holds(
    gauge: float, wellhead: float | None, capacity: float | None, gpm: float, lift: float
) -> None:
    """Water 80 ft below the wellhead: a lower wellhead and a deeper drawdown cost pressure."""
    well = Well(
        static_level=80.0 * FOOT,
        elevation=None if wellhead is None else wellhead * FOOT,
        specific_capacity=None if capacity is None else capacity * GPM / FOOT,
    )
    held = pump_pressure(on_well(gauge, well), gpm * GPM)

    assert held / PSI == pytest.approx((200.0 - lift) * PSI_PER_FOOT, rel=2e-4)


def test_friction_up_to_the_gauge_costs_pressure() -> None:
    """160 ft of drop pipe, and 90 ft on to a tank in the house, in 1 inch PE SDR 9 (0.860 in).

    Darcy-Weisbach with the friction factor of `fluids`: both solve Colebrook.
    """
    plain = on_well(0.0, Well(static_level=80.0 * FOOT))
    piped = replace(plain, line=(drop_pipe(160.0), offset_pipe(90.0)))
    inside_diameter, flow = 0.860 * 0.0254, 10.0 * GPM
    rho, mu = density(SIXTY_F), viscosity(SIXTY_F)
    speed = flow / (math.pi * inside_diameter**2 / 4.0)
    factor = fluids.friction_factor(
        Re=rho * speed * inside_diameter / mu, eD=0.0015e-3 / inside_diameter
    )
    length = 250.0 * FOOT
    friction = factor * length / inside_diameter * rho * speed**2 / 2.0
    lost = pump_pressure(plain, flow) - pump_pressure(piped, flow)

    assert lost == pytest.approx(friction, rel=1e-6)


def test_a_pump_that_cannot_hold_cut_in_does_not_decide() -> None:
    """A straight curve of 300 ft to nothing at 20 gpm, water at 80 ft, no friction.

    Cut-in of 40 psi is 92.36 ft: the pump holds it to 20*(1 - 172.36/300) = 8.51 gpm; at 10 gpm it
    holds (150 - 80)*0.4331 = 30.32 psi. Pipe is sized at cut-in all the same.
    """
    pump = Pump(curve=((0.0, 300.0 * FOOT), (20.0 * GPM, 0.0)))
    house = on_well(0.0, Well(static_level=80.0 * FOOT), pump)
    at = flow_at_pressure(house, 40.0 * PSI)
    short = source_pressure(house, 10.0 * GPM)
    enough = source_pressure(house, 8.0 * GPM)

    assert at / GPM == pytest.approx(20.0 * (1.0 - (80.0 + 40.0 / PSI_PER_FOOT) / 300.0), rel=5e-4)
    assert pump_pressure(house, 10.0 * GPM) / PSI == pytest.approx(70.0 * PSI_PER_FOOT, rel=2e-4)
    assert short == enough
    assert short.limited_by == "cut-in"
    assert short.pump_flow == pytest.approx(at)
    assert (enough.design_pressure, enough.static_pressure) == (40.0 * PSI, 60.0 * PSI)
    assert short.static_pressure == 60.0 * PSI


def main(gpm: float, **given: float) -> float:
    """Working pressure of a main at a design flow [psi]."""
    source = WaterSource(kind="main", **given)  # type: ignore[arg-type]
    return source_pressure(two_storey(source=source), gpm * GPM).design_pressure / PSI


@pytest.mark.parametrize(("gpm", "fall"), [(0.0, 0.0), (10.0, 12.0), (20.0, 43.32), (5.0, 3.324)])
def test_a_main_sags_with_the_flow(gpm: float, fall: float) -> None:
    """70 psi static, 58 at 10 gpm: 12 psi of fall times (Q/10)^1.852 (2^1.852 = 3.610)."""
    known = {"static": 70 * PSI, "residual": 58 * PSI, "residual_flow": 10 * GPM}

    assert main(gpm, **known) == pytest.approx(70.0 - fall, abs=0.005)


def test_a_main_never_gives_less_than_nothing() -> None:
    """Far beyond what it can carry it stands at atmospheric pressure."""
    known = {"static": 70 * PSI, "residual": 58 * PSI, "residual_flow": 10 * GPM}

    assert main(100.0, **known) == 0.0


def test_a_main_of_one_figure_keeps_it() -> None:
    """Nothing tells how it falls; its static pressure is then the highest that is known."""
    assert main(15.0, residual=58 * PSI) == pytest.approx(58.0)
    assert main(15.0, residual=58 * PSI, residual_flow=10 * GPM) == pytest.approx(58.0)
    source = WaterSource(kind="main", residual=58 * PSI, static=70 * PSI)
    pressures = source_pressure(two_storey(source=source), GPM)

    assert replace(pressures, limited_by="") == replace(
        pressures, design_pressure=58 * PSI, limited_by=""
    )
    assert pressures.static_pressure == 70 * PSI
