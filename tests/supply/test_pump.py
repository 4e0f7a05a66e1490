"""A pump known by one point, its supply curve with the pipes, and what each of them assumes."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Pump, Well
from supplycalc.supply.limits import one_point_ratios, well_limit
from supplycalc.supply.pump import one_point, pump_head, total_dynamic_head, with_curve
from supplycalc.supply.pump_check import flow_range, trade_rules
from supplycalc.supply.station import guesses
from supplycalc.supply.supply_curve import TOLERANCE, flow_at_pressure, pump_pressure, supply_curve
from supplycalc.supply.well_line import loss_to_tank_with_slope
from tests.houses import FOOT, GPM, PSI, cold_fixture, drop_pipe, offset_pipe
from tests.supply.stations import CURVE, house

PIPE = drop_pipe(160.0)
DEEP = Well(static_level=80.0 * FOOT, specific_capacity=0.8 * GPM / FOOT)


@pytest.mark.parametrize("level_follows", [True, False])
def test_the_chain_keeps_to_the_law(level_follows: bool) -> None:
    """Within its tolerance everywhere, and through every point of the pump's own curve."""
    well_house = house(well=DEEP, line=(PIPE,))
    still = replace(DEEP, specific_capacity=None)
    law_house = well_house if level_follows else house(well=still, line=(PIPE,))
    curve = supply_curve(well_house, level_follows=level_follows)

    for i in range(200):
        flow = curve.flow[-1] * i / 199
        law = pump_pressure(law_house, flow)
        assert curve.pressure_at(flow) == pytest.approx(law, abs=TOLERANCE)
        if law > 0.0:
            assert curve.flow_at(curve.pressure_at(flow)) == pytest.approx(flow, abs=1e-15)
    for flow, _ in CURVE:
        if flow <= curve.flow[-1]:
            exact = pump_pressure(law_house, flow)
            assert curve.pressure_at(flow) == pytest.approx(exact, abs=1e-6)


def test_the_chain_and_the_bisection_meet() -> None:
    """Two ways to the operating point agree within the curve's tolerance."""
    well_house = house(well=DEEP, line=(PIPE,))
    curve = supply_curve(well_house, level_follows=True)

    for pressure in (20.0 * PSI, 40.0 * PSI, 55.0 * PSI):
        exact = flow_at_pressure(well_house, pressure)
        slope = curve.coefficients(curve.piece_at(pressure))[1]
        assert curve.flow_at(pressure) == pytest.approx(exact, abs=slope * TOLERANCE)
    assert curve.flow_at(curve.pressure[0] + 1.0) == 0.0
    assert curve.coefficients(-1) == (0.0, 0.0)


def test_a_level_curve_has_a_slope_all_the_same() -> None:
    """Two points of one head and no pipe: the supply curve still falls."""
    flat = Pump(curve=((0.0, 80.0), (5 * GPM, 80.0), (10 * GPM, 20.0)))
    well_house = house(pump=flat, well=Well(static_level=10.0))
    curve = supply_curve(well_house, level_follows=True)

    assert all(a > b for a, b in zip(curve.pressure, curve.pressure[1:], strict=False))


def test_a_bucket_test_is_met_by_the_guessed_curve() -> None:
    """8 gpm at 45 psi goes through the curve; the head without flow reaches cut-out and 10 psi."""
    pump = Pump(measured_flow=8.0 * GPM, measured_pressure=45.0 * PSI)
    well_house = house(pump=pump, well=DEEP)
    guessed = with_curve(well_house)
    assert guessed.source.pump is not None
    top = pump_head(guessed.source.pump, 0.0)
    point = one_point(well_house)
    assert point is not None

    assert pump_pressure(guessed, 8.0 * GPM) == pytest.approx(45.0 * PSI, rel=1e-9)
    assert point.uncertainty == well_limit("bucket-uncertainty").value
    reached = total_dynamic_head(well_house, 0.0, 60.0 * PSI + well_limit("pump-margin").value)
    assert top == pytest.approx(max(one_point_ratios()[1] * point.head, reached), rel=1e-12)
    assert with_curve(guessed) is guessed


def test_what_one_point_leaves_open() -> None:
    """The extremes enclose the usual guess; a curve of one point leaves its flow sure."""
    pump = Pump(measured_flow=8.0 * GPM, measured_pressure=45.0 * PSI, measured_uncertainty=0.2)
    well_house = house(pump=pump, well=DEEP)
    usual = flow_at_pressure(with_curve(well_house), 40.0 * PSI)
    flows = [each.supply_curve.flow_at(40.0 * PSI) for each in guesses(well_house)]
    sheet = house(pump=Pump(curve=((8.0 * GPM, 60.0),)), well=DEEP)
    point = one_point(sheet)

    assert min(flows) < usual < max(flows)
    assert len(flows) == 4
    assert point is not None
    assert (point.head, point.uncertainty, point.measured) == (60.0, 0.0, False)
    assert guesses(house()) == ()


@pytest.mark.parametrize(
    ("gpm", "psi", "least", "most"),
    [
        (4.0, 40.0, 3.6, 4.4),
        (30.0, 40.0, 27.0, 33.0),
        (4.0, 50.0, 3.6, None),
        (9.0, 20.0, 0.0, 9.9),
    ],
)
def test_what_a_bucket_test_makes_sure(
    gpm: float, psi: float, least: float, most: float | None
) -> None:
    """Sure to a tenth at its own pressure; above it at most as much, below it at least."""
    pump = Pump(measured_flow=gpm * GPM, measured_pressure=psi * PSI)
    ends = flow_range(house(pump=pump), 40.0 * PSI)

    assert ends is not None
    assert ends[0] == pytest.approx(least * GPM)
    if most is not None:
        assert ends[1] == pytest.approx(most * GPM)
    else:
        assert ends[1] > 1.1 * gpm * GPM


def test_the_range_of_one_point_holds_what_levels_tell_later() -> None:
    """The same bucket test with water at the surface and 300 ft down lies in what is told without
    a level."""
    pump = Pump(measured_flow=4.0 * GPM, measured_pressure=50.0 * PSI)
    unknown = flow_range(house(pump=pump, well=Well()), 30.0 * PSI)
    assert unknown is not None
    for feet in (0.0, 80.0, 300.0):
        known = flow_range(house(pump=pump, well=Well(static_level=feet * FOOT)), 30.0 * PSI)
        assert known is not None
        assert unknown[0] <= known[0] <= known[1] <= unknown[1] * (1.0 + 1e-9)


def test_pipes_up_to_the_tank() -> None:
    """Drop pipe and offset pipe add up; check valves add K v^2/2g."""
    drop = house(well=DEEP, line=(PIPE,))
    both = house(well=DEEP, line=(PIPE, offset_pipe(160.0)))
    valves = house(well=DEEP, line=(replace(PIPE, fittings=(("check-valve", 2),)),))
    flow = 9.0 * GPM
    plain, slope = loss_to_tank_with_slope(drop, flow)
    step = 1e-4 * flow
    after, _ = loss_to_tank_with_slope(drop, flow + step)

    assert loss_to_tank_with_slope(both, flow)[0] == pytest.approx(2.0 * plain, rel=1e-12)
    assert loss_to_tank_with_slope(valves, flow)[0] > plain
    assert loss_to_tank_with_slope(house(well=None), flow) == (0.0, 0.0)
    assert (after - plain) / step == pytest.approx(slope, rel=1e-3)


def test_a_bucket_test_that_cannot_be_still_makes_a_short_curve() -> None:
    """Half a cubic metre a second through half an inch: pressures beyond any house are coarse."""
    narrow = drop_pipe(material="cpvc-sdr11", joining="none", size="1/2", length=120.0)
    pump = Pump(measured_flow=0.5, measured_pressure=45.0 * PSI)
    well_house = with_curve(house(pump=pump, well=Well(), line=(narrow,)))
    curve = supply_curve(well_house, level_follows=True)

    assert curve.pressure[0] > 1e9
    assert len(curve.flow) < 20_000


@pytest.mark.parametrize("closet", ["water-closet", "flush-valve-closet"])
def test_a_closet_of_any_kind_makes_a_bathroom(closet: str) -> None:
    """A tub and a closet are one bathroom for the seven minutes of peak use."""
    fixtures = [cold_fixture(kind, kind, "entry") for kind in ("bathtub", closet)]

    assert "the seven-minute peak of 1 bathroom" in [rule.name for rule in trade_rules(fixtures)]
