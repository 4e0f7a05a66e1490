"""The well check as a whole: verdicts, tank, yield, duty, and higher switches."""

from __future__ import annotations

import itertools
import math

import pytest
from msgspec.structs import replace

from supplycalc.model import Pump, Tank, Well
from supplycalc.problems import InputError
from supplycalc.questions.size.study import size
from supplycalc.questions.well.study import well_check
from supplycalc.questions.well.switch import switch_options
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.design import Design, verdict
from supplycalc.supply.limits import well_limit
from supplycalc.supply.supply_curve import pump_pressure
from tests.houses import FOOT, GPM, PSI, two_storey, well
from tests.supply.stations import CURVE, GALLON, house


def sized(**parts: object) -> Design:
    """The test house with its well, sized."""
    return size(house(**parts), mend=False)


def test_a_pump_that_holds_and_one_that_does_not() -> None:
    """The verdict is that of `size`, whose pipe stands at cut-in either way; what the weak pump
    holds at the design flow is the supply's own."""
    strong = well_check(sized(pump=Pump(curve=tuple((2 * q, h) for q, h in CURVE))))
    weak = well_check(sized(pump=Pump(curve=tuple((0.7 * q, h) for q, h in CURVE))))

    assert strong.holds is True
    assert strong.design.source.design_pressure == 40.0 * PSI
    assert weak.holds is False
    assert weak.held_pressure is not None
    assert weak.held_pressure == pytest.approx(
        max(pump_pressure(weak.design.house, weak.design_flow), 0.0), abs=100.0
    )
    assert weak.design.source.design_pressure == 40.0 * PSI
    assert weak.verdict("us") in verdict(weak.design, "us")
    assert [point.name for point in strong.points] == ["cut-in", "cut-out"]


def test_a_tank_without_its_charge() -> None:
    """What is left is the air at the atmosphere's pressure: less drawdown, more starts."""
    tank = well_check(sized()).tank
    assert tank is not None
    assert tank.cycles is not None
    assert tank.waterlogged is not None
    air = 14.696 / (40 + 14.696) - 14.696 / (60 + 14.696)

    assert tank.waterlogged.drawdown == pytest.approx(44 * GALLON * air, rel=1e-4)
    assert tank.waterlogged.starts_per_hour > 3.0 * tank.cycles.starts_per_hour
    assert tank.needed == pytest.approx(
        44 * GALLON * tank.least_run_time / tank.cycles.run_time, rel=1e-9
    )
    assert tank.standard is None or tank.standard >= tank.needed


def test_no_volume_still_gives_a_tank_to_buy() -> None:
    """The needed volume does not depend on the tank that is there."""
    with_tank = well_check(sized()).tank
    without = well_check(sized(tank=Tank(precharge=38.0 * PSI))).tank
    assert with_tank is not None
    assert without is not None

    assert without.cycles is None
    assert without.needed == pytest.approx(with_tank.needed, rel=1e-9)


def test_a_house_without_a_pump_gets_a_duty_point() -> None:
    """A pump with a curve just through the duty point holds the design flow at cut-in."""
    design = sized(pump=None)
    check = well_check(design)
    duty = check.duty
    assert duty is not None
    top = max(duty.least_shut_off, duty.head + 20.0)
    fall = (top - duty.head) / duty.flow**2
    curve = tuple((q * duty.flow, top - fall * (q * duty.flow) ** 2) for q in (0, 0.5, 0.9, 1, 1.2))
    fitted = well_check(sized(pump=Pump(curve=curve)))

    assert check.holds is None
    assert check.station is None
    assert check.points == ()
    assert fitted.holds is True
    assert fitted.held_pressure == pytest.approx(40.0 * PSI, abs=100.0)
    assert fitted.points[1].reached
    assert duty.head < duty.head_at_cut_out


def test_yield_against_the_day() -> None:
    """100 gal for a person: 3 gpm keep a family of five, 0.3 gpm do not; storage where it lags."""
    base = Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT)
    ample = well_check(sized(well=replace(base, recovery=5.0 * GPM)), people=5)
    slow = well_check(sized(well=replace(base, recovery=1.5 * GPM)), people=5)
    dry = well_check(sized(well=replace(base, recovery=0.3 * GPM)), people=5)
    day = 500.0 * GALLON

    assert ample.well.storage == 0.0
    assert slow.well.keeps_up
    assert slow.well.storage == pytest.approx(day - 180.0 * GALLON, rel=1e-9)
    assert slow.well.second_pump is not None
    assert slow.well.second_pump.flow == slow.design_flow
    assert not dry.well.keeps_up
    assert {finding.code for finding in dry.findings if finding.level == "fail"} >= {"yield-short"}
    assert not dry.ok


def test_a_yield_by_drawdown_alone_is_an_upper_bound() -> None:
    """1.5 gpm for each of 85 ft (150 ft deep, water at 60 ft, 5 ft kept above the pump)."""
    base = Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT)
    guessed = replace(base, specific_capacity=1.5 * GPM / FOOT)
    alone = well_check(sized(well=guessed))
    tested = well_check(sized(well=replace(guessed, recovery=5.0 * GPM)))
    unknown = well_check(sized(well=base))
    fall = 90.0 * FOOT - well_limit("submergence").value

    assert alone.well.sustained == pytest.approx(1.5 * GPM / FOOT * fall, rel=1e-12)
    assert [check.well.by_drawdown for check in (alone, tested, unknown)] == [True, False, False]
    assert any("upper bound" in assumption.text for assumption in alone.assumptions)
    assert not any("upper bound" in assumption.text for assumption in tested.assumptions)
    assert not alone.well.bore_known
    assert well_check(sized(well=guessed, pump=None)).duty.most_flow is None  # type: ignore[union-attr]
    assert well_check(sized(well=replace(base, diameter=0.15))).well.bore_known


def test_people_come_from_the_call_the_file_or_are_assumed() -> None:
    """In this order."""
    design = sized()
    told = replace(design.house, project=replace(design.house.project, people=7))
    in_file = well_check(size(told, mend=False))

    assert well_check(design).well.people_assumed
    assert well_check(design, people=3).well.people == 3
    assert in_file.well.people == 7
    assert not in_file.well.people_assumed


def test_a_pump_that_hangs_too_high() -> None:
    """Less than the water that is to stand above it."""
    high = Well(static_level=60.0 * FOOT, pump_depth=62.0 * FOOT)
    codes = {finding.code for finding in well_check(sized(well=high)).findings}

    assert "runs-dry" in codes


def test_one_point_gives_ranges() -> None:
    """They enclose the usual guess at both settings."""
    pump = Pump(measured_flow=9.0 * GPM, measured_pressure=48.0 * PSI)
    check = well_check(sized(pump=pump))
    assert check.uncertain is not None
    low, high = check.uncertain.flow_at_cut_in

    assert low < check.points[0].flow < high
    assert check.uncertain.flow_at_cut_out[0] < check.points[1].flow
    assert well_check(sized()).uncertain is None


def test_a_pump_that_lifts_too_little_in_the_peak_period() -> None:
    """A rich well helps nothing behind a small pump: the day's water less 2 h of its flow is what
    must be stored (the Groundwater Project's two hours)."""
    rich = Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT, recovery=40.0 * GPM)
    check = well_check(
        sized(pump=Pump(curve=tuple((0.2 * q, h) for q, h in CURVE)), well=rich), people=4
    )
    finding = next(finding for finding in check.findings if finding.code == "yield-short")
    lifted = check.points[0].flow * 7200.0

    assert lifted < 400.0 * GALLON
    assert check.well.available == pytest.approx(lifted, rel=1e-9)
    assert check.well.storage == pytest.approx(400.0 * GALLON - lifted, rel=1e-6)
    assert finding.where == "pump"
    assert finding.remedy.startswith("fit a larger pump")


def test_a_constant_pressure_pump() -> None:
    """It holds one pressure, sleeps at small draws, and has no switch to raise."""
    pump = Pump(
        curve=tuple((2 * q, h) for q, h in CURVE), kind="constant-pressure", set_pressure=50 * PSI
    )
    check = well_check(sized(pump=pump, tank=Tank(volume=10 * GALLON, precharge=35 * PSI)))
    assert check.tank is not None
    assert check.tank.cycles is not None
    assert check.speeds is not None

    assert check.holds is True
    assert check.tank.cycles.worst_draw == well_limit("sleep-flow").value
    assert 0.3 < check.speeds[0] < check.speeds[1] <= 1.0
    assert check.switches == ()
    assert check.tank.needed is None
    # the limits of starts are for pumps on a switch
    assert check.tank.most_starts_per_hour is None
    [sleeps] = [it for it in check.findings if it.code == "starts-per-hour"]
    assert sleeps.level == "note"
    assert sleeps.values[0] == (well_limit("sleep-flow").value, "flow")
    assert sleeps.values[1][0] == pytest.approx(check.tank.cycles.drawdown)
    assert check.tank.usual == (
        pytest.approx(5.0 * GALLON, rel=1e-9), pytest.approx(20.0 * GALLON, rel=1e-9)
    )  # fmt: skip


def test_a_main_has_no_well() -> None:
    """It is refused, with its place."""
    with pytest.raises(InputError, match="with a supply of its own"):
        well_check(size(two_storey(source=replace(well(), kind="main", residual=4e5)), mend=False))


def test_raising_the_switch() -> None:
    """Sizes stay; the worst fixture gains what cut-in gains while the pump holds it."""
    strong = sized(pump=Pump(curve=tuple((3 * q, 1.4 * h) for q, h in CURVE)))
    options = switch_options(strong)
    now = next(option for option in options if option.now)

    assert [round(option.cut_in / PSI) for option in options] == [30, 40, 50]
    assert (now.residual, now.margin) == pytest.approx((strong.worst.residual, strong.worst.margin))
    for low, high in itertools.pairwise(options):
        assert high.residual - low.residual == pytest.approx(10.0 * PSI, rel=1e-9)
        assert high.required_head > low.required_head
        assert high.pump_flow[0] < low.pump_flow[0]  # type: ignore[index]
        assert high.cycles.drawdown < low.cycles.drawdown  # type: ignore[union-attr]
        assert high.highest - low.highest == pytest.approx(10.0 * PSI, rel=1e-9)
    again = size(with_sizes(strong.house, strong.sizes), mend=False)
    assert again.sizes == strong.sizes


def test_a_switch_beyond_the_pump_is_said_so() -> None:
    """At 50/70 a pump of 64 psi shut-off never stops."""
    weak = Pump(curve=tuple((2 * q, 0.75 * h) for q, h in CURVE))
    options = switch_options(sized(pump=weak))

    assert [option.reached for option in options] == [True, True, False]
    assert [option.perhaps_reached for option in options] == [True, True, False]
    assert math.isinf(options[-1].cycles.run_time)  # type: ignore[union-attr]


def test_a_switch_that_a_guessed_pump_may_reach() -> None:
    """A bucket test of 8 gpm at 40 psi: by the usual guess the head without flow is 4/3 of 152 ft,
    203 ft, or 62 psi above the water 60 ft down; up to 1.5 times, 73 psi, is left open."""
    bucket = Pump(measured_flow=8.0 * GPM, measured_pressure=40.0 * PSI)
    options = switch_options(sized(pump=bucket))

    assert [option.reached for option in options] == [True, True, False]
    assert [option.perhaps_reached for option in options] == [True, True, True]
