"""The states of a source as laws of pressure over flow."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.delivery.source_cases import pump_law, source_cases
from supplycalc.model import Pump, WaterSource, Well
from supplycalc.supply.supply_curve import pump_pressure
from tests.houses import FOOT, GPM, PSI, drop_pipe, two_storey, well

PUMP = Pump(
    curve=(
        (0.0, 310 * FOOT),
        (5 * GPM, 290 * FOOT),
        (10 * GPM, 235 * FOOT),
        (15 * GPM, 140 * FOOT),
    )
)
DRILLED = Well(
    static_level=62 * FOOT,
    specific_capacity=1.2 * GPM / FOOT,
    elevation=-9.0,
)


def test_source_cases() -> None:
    """Cut-in and cut-out hold; with a curve the pump alone, never above cut-out; a main sags."""
    house = two_storey(source=replace(well(), pump=PUMP, well=DRILLED), line=(drop_pipe(),))
    cases = source_cases(house)
    main = WaterSource(kind="main", static=62 * PSI, residual=54 * PSI, residual_flow=10 * GPM)
    (sagging,) = source_cases(two_storey(source=main))

    assert [case.name for case in cases] == ["cut-in", "cut-out", "pump alone"]
    assert cases[0].law(1e-3)[0] == 40 * PSI
    assert cases[2].law(0.0)[0] == 60 * PSI
    assert sagging.law(0.0)[0] == 62 * PSI
    assert sagging.law(10 * GPM)[0] == pytest.approx(54 * PSI)


def test_a_constant_pressure_pump_holds_its_set_pressure() -> None:
    """Until its curve cannot."""
    pump = replace(PUMP, kind="constant-pressure", set_pressure=50 * PSI)
    house = two_storey(source=replace(well(), cut_in=None, cut_out=None, pump=pump, well=DRILLED))
    (case,) = source_cases(house)

    assert case.law(2 * GPM)[0] == 50 * PSI
    assert case.law(15 * GPM)[0] < 50 * PSI


@pytest.mark.parametrize("gpm", [0.0, 3.0, 5.0, 7.7, 10.0, 14.0, 20.0])
def test_the_pump_law_is_that_of_the_supply(gpm: float) -> None:
    """Equal to supply_curve.pump_pressure; its slope is the difference quotient to 1e-5."""
    house = two_storey(source=replace(well(), pump=PUMP, well=DRILLED), line=(drop_pipe(),))
    law = pump_law(house)
    flow, step = gpm * GPM, 1e-9
    below = pump_pressure(house, max(flow - step, 0.0))
    quotient = (pump_pressure(house, flow) - below) / min(step, flow or step)

    assert law(flow)[0] == pytest.approx(pump_pressure(house, flow), rel=1e-12)
    if flow > 0.0:
        assert law(flow)[1] == pytest.approx(quotient, rel=1e-5)
