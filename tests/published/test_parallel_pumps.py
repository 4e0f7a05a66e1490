"""Two like pumps side by side, by a published table of one pump, of both, and of their points.

Source: a tutorial on centrifugal pumps on the web, "Parallel pumping: identical pumps" (read): one
pump gives 100, 190, 280 and 360 gpm at 130, 120, 110 and 100 ft, two of them twice as much at each
head; on one system curve a single pump works at 470 gpm and 85 ft, both together at 660 gpm and
105 ft, so that the second adds 190 gpm and not 470.

The system curve, drawn there and not given, is the parabola through both points; its loss stands in
the line that both pumps share, made of a check valve of one K in a pipe of no length. Tolerances:
flows at one head add exactly, to the last digit printed; the points were read from a graph to
10 gpm, as the printed 660 gpm at 105 ft shows, where the printed table of both gives 640.
"""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.catalogue import OwnFitting, load_catalogue
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import FurtherWell, House, Pump, Well
from supplycalc.supply.several_wells import wells_alone
from supplycalc.supply.supply_curve import WellsTogether, flow_at_pressure
from tests.houses import FOOT, GPM, drop_pipe, two_storey, well

GRAVITY = 9.80665
ONE = ((100.0, 130.0), (190.0, 120.0), (280.0, 110.0), (360.0, 100.0), (470.0, 85.0))
ALONE, BOTH = (470.0, 85.0), (660.0, 105.0)


def system() -> House:
    """Two of that pump at water as deep as the system's own lift, on one line."""
    rise = (BOTH[1] - ALONE[1]) * FOOT / ((BOTH[0] ** 2 - ALONE[0] ** 2) * GPM**2)
    lift = ALONE[1] * FOOT - rise * (ALONE[0] * GPM) ** 2
    pump = Pump(curve=tuple((flow * GPM, head * FOOT) for flow, head in ONE))
    shared = drop_pipe(
        material="pex-sdr9", joining="crimp", length=1e-9, fittings=(("check-valve", 1),)
    )
    own = replace(shared, name="own", end="meeting", fittings=())
    plain = two_storey(
        source=replace(well(cut_in=0.0, cut_out=0.0), pump=pump, well=Well(static_level=lift)),
        line=(own, replace(shared, start="meeting")),
    )
    inside = load_catalogue().tubes["pex-sdr9"].size("1").inside_diameter
    k = rise * 2.0 * GRAVITY * (math.pi / 4.0 * inside**2) ** 2
    second = FurtherWell(
        well=Well(name="second", static_level=lift),
        pump=pump,
        joins="meeting",
        line=(replace(own, name="own of the second"),),
    )
    valve = OwnFitting(name="check-valve", k=k)
    return replace(plain, catalogue=load_catalogue(own_fittings=(valve,)), joined_wells=(second,))


def test_at_one_head_flows_add() -> None:
    """200, 380, 560 and 720 gpm at 130, 120, 110 and 100 ft, where the lines meet."""
    wells = WellsTogether(system())
    weight = specific_weight(wells.house.water.cold)
    lift = wells.apart[0].source.well
    assert lift is not None
    for (_, head), both in zip(ONE, (200.0, 380.0, 560.0, 720.0), strict=False):
        pressure = weight * (head * FOOT - (lift.static_level or 0.0))
        flows = [flow_at_pressure(apart, pressure) / GPM for apart in wells.apart]

        assert math.fsum(flows) == pytest.approx(both, abs=0.5)


def test_the_second_pump_does_not_double_the_flow() -> None:
    """470 gpm alone, 660 with both."""
    house = system()
    alone, both = (flow_at_pressure(each, 0.0) / GPM for each in (wells_alone(house)[0], house))

    assert alone == pytest.approx(470.0, abs=0.5)
    assert both == pytest.approx(660.0, abs=10.0)
