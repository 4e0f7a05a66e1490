"""A pump's curve that ends, or hardly falls, before the pressure at which the pump works."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import House, Pump
from supplycalc.problems import ComputationError
from supplycalc.questions.size.study import size
from supplycalc.supply.supply_curve import flow_at_pressure, supply_curve
from tests.houses import FOOT, GPM, PSI, two_storey, well


def pumped(*curve: tuple[float, float]) -> House:
    """A house on a pump by its curve [gpm, ft], with no lift and no pipe before the tank."""
    points = tuple((flow * GPM, head * FOOT) for flow, head in curve)
    return two_storey(source=replace(well(), pump=Pump(curve=points)))


@pytest.mark.parametrize("last", [300.0, 300.0 - 1e-6])
def test_a_level_curve_gives_no_flow_that_could_be_told(last: float) -> None:
    """300 ft at 0 and at 30 gpm: at 40 psi (92 ft) there is no end to the flow, and none is made
    up; neither for `size` nor for the motion of the tank."""
    house = pumped((0.0, 300.0), (30.0, last))

    with pytest.raises(ComputationError, match="hardly falls"):
        flow_at_pressure(house, 40.0 * PSI)
    with pytest.raises(ComputationError, match="hardly falls"):
        supply_curve(house, level_follows=True)
    with pytest.raises(ComputationError, match="hardly falls"):
        size(house, mend=False)


@pytest.mark.parametrize(("last", "warned"), [(299.0, True), (150.0, False)])
def test_a_curve_carried_far_is_warned_of(last: float, warned: bool) -> None:
    """From 300 ft to 299 at 30 gpm, 92.4 ft (40 psi at 50 degF) would take 30 x 207.6 = 6,230 gpm:
    told as carried on. Falling to 150 ft it takes 41.5 gpm, little beyond the last point. The
    height of 1 psi varies by 0.03 % with the water's temperature; 0.1 % is allowed."""
    design = size(pumped((0.0, 300.0), (30.0, last)), mend=False)
    told = [finding for finding in design.findings if finding.code == "pump-beyond-curve"]

    expected = 30.0 * (300.0 - 92.35) / (300.0 - last)
    assert design.source.pump_flow == pytest.approx(expected * GPM, rel=1e-3)
    assert bool(told) is warned
    if told:
        assert told[0].values[1][0] == pytest.approx(expected * GPM, rel=1e-3)
