"""Days of draws: by hand where that is possible, against an integrator where it is not."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from msgspec.structs import replace
from scipy.integrate import solve_ivp

import supplycalc
from supplycalc.delivery.fixture_use import full_use
from supplycalc.delivery.open_supply import constant_source
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Draw, House, Pump, Tank, Well
from supplycalc.problems import ComputationError, InputError
from supplycalc.questions.day.draw_curve import MOST_HALVINGS, DrawCurves
from supplycalc.questions.day.result import Day
from supplycalc.questions.day.study import day, most_within
from supplycalc.questions.day.totals import Event
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Design
from supplycalc.supply.tank import drawdown
from supplycalc.units import FOOT, HOUR, INCH, PSI
from tests.houses import GPM, two_storey
from tests.supply.stations import CURVE, GALLON, house

STRONG = Pump(curve=tuple((1.5 * q, h) for q, h in CURVE), motor_power=560.0)
BORE = Well(
    static_level=60.0 * FOOT, pump_depth=150.0 * FOOT, specific_capacity=1.0 * GPM / FOOT,
    diameter=6.0 * INCH,
)  # fmt: skip
DRAWS = (
    Draw(fixture="bath", at=(6.5 * HOUR,), duration=600.0),
    Draw(fixture="sink", at=(6.55 * HOUR, 12.0 * HOUR), duration=120.0, share=0.5),
    Draw(fixture="toilet", at=(6.6 * HOUR, 20.0 * HOUR), volume=1.6 * GALLON),
    Draw(fixture="garden tap", at=(18.0 * HOUR,), duration=1800.0),
)


def sized(draws: tuple[Draw, ...] = DRAWS, **parts: object) -> Design:
    """The test house with a strong pump and a schedule, sized."""
    strong: House = house(**{"pump": STRONG, **parts})
    return size(replace(strong, draws=draws), mend=False)


def drawn(result: Day, fixture: str) -> float:
    """Water that a fixture drew [m3]."""
    [water] = [water.drawn for water in result.water.by_fixture if water.name == fixture]
    return water


def of_kind(result: Day, event: str) -> list[Event]:
    """The events of one kind."""
    return [line for line in result.series if line.event == event]


def test_draws_take_what_they_ask_for() -> None:
    """Volumes to rounding, durations to rounding; the tap's flow lies between its extremes."""
    result = day(sized())
    tap = next(outlet for outlet in result.fixtures if outlet.name == "garden tap")

    assert drawn(result, "toilet") == pytest.approx(3.2 * GALLON, rel=1e-12)
    assert tap.running == pytest.approx(1800.0, abs=1e-6)
    assert result.draws == 6
    assert result.water.drawn == pytest.approx(
        math.fsum(fixture.drawn for fixture in result.water.by_fixture), rel=1e-12
    )


def test_the_pump_starts_and_stops_where_the_switch_says() -> None:
    """Every start at cut-in, every stop at cut-out, and one tankful between them."""
    result = day(sized())
    starts, stops = of_kind(result, "start"), of_kind(result, "stop")

    assert result.pump is not None
    assert len(starts) == result.pump.starts >= 3
    assert all(start.pressure == pytest.approx(40.0 * PSI, rel=1e-12) for start in starts)
    assert all(stop.pressure == pytest.approx(60.0 * PSI, rel=1e-12) for stop in stops)
    water = drawdown(44 * GALLON, 38 * PSI, 40 * PSI, 60 * PSI, 101325.0)
    for start, stop in zip(starts, stops, strict=False):
        assert stop.water - start.water == pytest.approx(water, rel=1e-9)


def test_a_supply_too_fast_to_follow_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tank of a thimble cycles without end; the message says where to look."""
    monkeypatch.setattr("supplycalc.questions.day.engine.MOST_STEPS", 2000)
    tank = Tank(volume=0.001 * GALLON, precharge=38.0 * PSI)

    # however many days are asked, the first is enough to see it
    for days in (1, 300):
        with pytest.raises(
            ComputationError, match=r"2001 changes in .* s; look for a tank far smaller"
        ):
            day(sized(tank=tank), days=days)


@pytest.mark.parametrize("well", [Well(static_level=60.0 * FOOT), BORE])
def test_a_day_against_an_integrator(well: Well) -> None:
    """One draw of half an hour, switch and level included, by DOP853 on the same straight laws.

    The reference switches at roots that scipy finds to 1e-12 s or so and integrates at 1e-11.
    """
    result = day(sized((Draw(fixture="garden tap", at=(3600.0,), duration=1800.0),), well=well))
    system, design = result.pump_system, result.design
    assert system is not None
    assert result.pump is not None
    curves = DrawCurves(design, constant_source(50.0 * PSI))
    tap = next(fixture for fixture in design.house.fixtures if fixture.name == "garden tap")
    curve = curves.of((curves.number(full_use(tap)),))

    def motion(on: bool, tap_open: bool):  # type: ignore[no-untyped-def]
        def rates(_: float, y: list[float]) -> list[float]:
            pressure = system.air_constant / y[0] - system.atmosphere
            back = pressure + system.specific_weight * y[1]
            pumped = system.supply_curve.flow_at(back) if on else 0.0
            out = curve.flow_at(pressure) if tap_open else 0.0
            gain = pumped - system.specific_capacity * y[1]
            fall = gain / system.casing_area if system.casing_area else 0.0
            return [out - pumped, fall]

        return rates

    full = system.air_constant / (system.cut_out + system.atmosphere)
    state, now, on, starts = [full, 0.0], 3600.0, False, 0
    while now < 5400.0 or on:
        end = 5400.0 if now < 5400.0 else now + 3600.0
        level = system.cut_out if on else system.cut_in
        edge = system.air_constant / (level + system.atmosphere)

        def switch(_: float, y: list[float], edge: float = edge) -> float:
            return y[0] - edge

        switch.terminal = True  # type: ignore[attr-defined]
        switch.direction = -1.0 if on else 1.0  # type: ignore[attr-defined]
        run = solve_ivp(
            motion(on, now < 5400.0), (now, end), state, "DOP853", events=switch,
            rtol=1e-11, atol=1e-14, max_step=5.0,
        )  # fmt: skip
        state, now = [float(values[-1]) for values in run.y], float(run.t[-1])
        if run.status == 1:
            on = not on
            starts += on
    assert starts == result.pump.starts
    assert now == pytest.approx(of_kind(result, "stop")[-1].time, abs=1e-3)
    assert math.fsum(result.pump.runs) == pytest.approx(result.pump.run_time, rel=1e-12)


def test_energy_is_head_times_flow_over_efficiency() -> None:
    """Between what cut-in and cut-out would take for all the water that was pumped."""
    result = day(sized(pump=replace(STRONG, efficiency=0.4)))
    weight = specific_weight(result.design.house.water.cold)
    usual = day(sized()).pump
    assert result.pump is not None
    assert result.water.pumped is not None
    assert usual is not None
    assert result.pump.energy is not None
    ends = [
        weight * result.water.pumped * (60 * FOOT + pressure * PSI / weight) / 0.4
        for pressure in (40.0, 60.0)
    ]

    assert ends[0] < result.pump.energy < ends[1]
    assert result.pump.energy_range is None
    assert usual.energy_range is not None


def test_energy_without_a_water_level_is_not_known() -> None:
    """A lift of nothing would tell a fraction of what a deep well costs: no figure at all."""
    for well in (None, Well(pump_depth=150.0 * FOOT, recovery=8.0 * GPM)):
        pump = day(sized(well=well)).pump

        assert pump is not None
        assert pump.energy is None
        assert pump.energy_range is None


def test_lowest_pressures_are_the_solvers_own() -> None:
    """The straight lines between rungs are within 1 % of the solver at the lowest points."""
    result = day(sized())

    for outlet in result.fixtures:
        assert outlet.interpolated == pytest.approx(outlet.lowest, rel=0.01)
        assert outlet.source_pressure >= 40.0 * PSI * (1 - 1e-12)


def test_a_pump_too_weak_for_the_draw() -> None:
    """The tank empties, and then the pump alone feeds the tap at the pressure where both agree."""
    weak = Pump(curve=tuple((0.25 * q, h) for q, h in CURVE), motor_power=373.0)
    result = day(sized(pump=weak))
    empty = of_kind(result, "empty")

    assert result.source.tank_empty > 60.0
    assert empty[-1].pressure < 38.0 * PSI
    assert empty[-1].pump_flow == pytest.approx(empty[-1].drawn, rel=1e-6)
    assert "tank-empty" in {finding.code for finding in result.findings}


def test_an_empty_tank_over_a_falling_level() -> None:
    """While the pump alone feeds the tap its pressure falls with the well's level, never rises."""
    weak = Pump(curve=tuple((0.25 * q, 0.8 * h) for q, h in CURVE), motor_power=373.0)
    wide = replace(BORE, specific_capacity=0.05 * GPM / FOOT, diameter=0.15)
    result = day(
        sized((Draw(fixture="garden tap", at=(60.0,), duration=7200.0),), pump=weak, well=wide)
    )
    start = result.series.index(of_kind(result, "empty")[-1])
    fed = [line for line in result.series[start:] if line.drawn > 0.0 and line.pump_on]

    assert result.source.tank_empty > 600.0
    assert len(fed) >= 2
    assert all(b.pressure <= a.pressure + 1e-6 for a, b in pairwise(fed))
    assert all(line.pump_flow == pytest.approx(line.drawn, rel=1e-6) for line in fed)


def test_a_well_that_runs_dry_and_recovers() -> None:
    """The pump stops at the edge, waits its half hour, and the level has risen meanwhile."""
    poor = replace(BORE, specific_capacity=0.05 * GPM / FOOT, recovery=1.0 * GPM)
    draws = (Draw(fixture="garden tap", at=(3600.0,), duration=4 * HOUR),)
    result = day(sized(draws, well=poor))
    dry = of_kind(result, "dry")[0]
    again = next(start for start in of_kind(result, "start") if start.time > dry.time)

    assert not result.ok
    assert result.pump_system is not None
    assert dry.fall == pytest.approx(result.pump_system.dry_fall, rel=1e-12)
    assert again.time == pytest.approx(dry.time + 1800.0, abs=1e-6)
    assert again.fall < dry.fall
    recovered = 1.0 * GPM / result.pump_system.casing_area * 1800.0
    assert dry.fall - again.fall <= recovered + 1e-9


def test_a_rich_well_keeps_its_level() -> None:
    """Recovery above the pump's flow, no specific capacity: the level stays at rest."""
    rich = replace(BORE, specific_capacity=None, recovery=60.0 * GPM)
    result = day(sized(well=rich))
    still = day(sized(well=Well(static_level=60.0 * FOOT)))

    assert result.well is not None
    assert result.well.deepest_fall == 0.0
    assert result.water.drawn == pytest.approx(still.water.drawn, rel=1e-12)


def test_a_constant_pressure_pump_holds_its_pressure() -> None:
    """Once it has caught up it stays at the set pressure while water runs, and then sleeps.

    It wakes at the cut-in of the file.
    """
    held = replace(STRONG, kind="constant-pressure", set_pressure=55.0 * PSI)
    result = day(sized(pump=held, tank=Tank(volume=10 * GALLON, precharge=38 * PSI)))
    pressures = [line.pressure for line in result.series]

    assert max(pressures) == pytest.approx(55.0 * PSI, rel=1e-12)
    assert min(pressures) == pytest.approx(40.0 * PSI, rel=1e-12)
    assert result.pump is not None
    assert result.pump.starts <= 6
    assert not [it for it in result.findings if it.code == "short-cycling"]
    assert result.water.imbalance == pytest.approx(0.0, abs=1e-9 * result.water.drawn)


def held_over(well: Well, minutes: float) -> Day:
    """A constant-pressure pump of known efficiency that feeds the garden tap for so long."""
    pump = replace(STRONG, kind="constant-pressure", set_pressure=50.0 * PSI, efficiency=0.35)
    draws = (Draw(fixture="garden tap", at=(3600.0,), duration=60.0 * minutes, share=0.5),)
    tank = Tank(volume=4.5 * GALLON, precharge=35 * PSI)
    return day(sized(draws, pump=pump, tank=tank, well=well))


def test_a_pump_that_holds_a_pressure_over_a_recovering_well() -> None:
    """The well gives what is drawn, less than its recovery: the level stays, work is lifted water.

    By hand: energy = weight * volume * (lift + pressure head + friction) / efficiency, friction
    below 5 ft.
    """
    result = held_over(replace(BORE, specific_capacity=None, recovery=10.0 * GPM), 180.0)
    weight = specific_weight(result.design.house.water.cold)
    assert result.pump is not None
    assert result.well is not None
    assert result.water.pumped is not None
    volume = result.water.pumped
    least = weight * volume * (60.0 * FOOT + 49.5 * PSI / weight) / 0.35
    most = weight * volume * (65.0 * FOOT + 50.0 * PSI / weight) / 0.35
    assert result.pump.energy is not None

    assert volume / (180.0 * 60.0) < 10.0 * GPM
    assert least < result.pump.energy < most
    assert result.well.deepest_fall < 0.5 * FOOT  # only while the tank is filled first


def test_a_level_settles_under_a_pump_that_holds_a_pressure() -> None:
    """After hours the fall is what is drawn over the specific capacity, not nothing."""
    well = replace(BORE, specific_capacity=0.5 * GPM / FOOT, recovery=10.0 * GPM)
    result = held_over(well, 300.0)
    closed = of_kind(result, "draw")[-1]
    flow = result.water.drawn / (300.0 * 60.0)

    assert flow < 10.0 * GPM
    assert closed.fall == pytest.approx(flow / (0.5 * GPM / FOOT), rel=0.01)


def test_draws_near_the_dry_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """A shower hardly above a low switch: the ladder agrees with one of rungs of 0.05 psi.

    The straight line of 5 psi alone is off by more than a tenth: a tank that runs down to 3.5 m of
    water, the height of the bath, gives less and less.
    """
    shower = (Draw(fixture="bath", at=(3600.0,), duration=3600.0),)
    low = sized(shower).house
    source = replace(
        low.source, cut_in=4.5 * PSI, cut_out=15.0 * PSI, tank=Tank(volume=40 * GALLON)
    )
    design = size(replace(low, source=source), mend=False)

    def bath(distance: float, halvings: int) -> float:
        monkeypatch.setattr("supplycalc.questions.day.draw_curve.RUNG", distance * PSI)
        monkeypatch.setattr("supplycalc.questions.day.draw_curve.MOST_HALVINGS", halvings)
        return drawn(day(design), "bath")

    fine = bath(0.05, 0)
    assert bath(5.0, MOST_HALVINGS) == pytest.approx(fine, rel=0.01)
    assert bath(5.0, 0) != pytest.approx(fine, rel=0.1)


def test_a_waterlogged_tank_starts_the_pump_more_often() -> None:
    """The same draws, far more starts, and as much water."""
    whole, lost = day(sized()), day(sized(), waterlogged=True)

    assert lost.pump is not None
    assert whole.pump is not None
    assert lost.pump.starts > 3 * whole.pump.starts
    assert drawn(lost, "toilet") == pytest.approx(drawn(whole, "toilet"), rel=1e-12)


def test_a_fixture_is_used_by_one_at_a_time() -> None:
    """The second draw waits until the first has ended, and then has its whole length."""
    draws = (
        Draw(fixture="bath", at=(100.0,), duration=300.0),
        Draw(fixture="bath", at=(200.0,), duration=100.0),
    )
    result = day(sized(draws))
    times = [line.time for line in of_kind(result, "draw")]

    assert times == pytest.approx([100.0, 400.0, 500.0], abs=1e-9)


def test_a_main_needs_no_pump() -> None:
    """Flows stand still between draws; what is drawn is flow times time."""
    on_main = replace(
        two_storey(),
        source=replace(two_storey().source, kind="main", residual=4e5, cut_in=None, cut_out=None),
        draws=DRAWS,
    )
    result = day(size(on_main, mend=False))

    assert result.pump_system is None
    assert result.pump is None
    assert result.source.lowest == pytest.approx(4e5)
    assert drawn(result, "toilet") == pytest.approx(3.2 * GALLON, rel=1e-9)


def test_most_starts_in_a_stretch() -> None:
    """By hand."""
    assert most_within([0.0, 10.0, 50.0, 70.0, 71.0], 30.0) == 3
    assert most_within([], 10.0) == 0


@pytest.mark.parametrize(
    ("parts", "options", "words"),
    [
        ({"tank": None}, {}, "tank's volume"),
        ({"pump": Pump()}, {}, "needs to know the pump"),
        ({"tank": Tank(volume=0.1, precharge=70 * PSI)}, {}, "takes no water"),
        ({}, {"watch": ("bth",)}, "no fixture 'bth'"),
        ({}, {"days": 0}, "days"),
    ],
)
def test_what_is_refused(parts: dict[str, object], options: dict[str, object], words: str) -> None:
    """Each with a message that says what is missing."""
    with pytest.raises(InputError, match=words):
        day(sized(**parts), **options)  # type: ignore[arg-type]


def test_the_public_names() -> None:
    """The same objects as the commands print; they turn into tables."""
    strong = replace(house(pump=STRONG), draws=DRAWS)
    whole, check = supplycalc.day(strong), supplycalc.well(strong, people=3)

    assert whole.to_dict()["schema"] == "supplycalc-day/1"
    assert whole.water.drawn == day(sized()).water.drawn
    assert check.to_dict()["well"]["people"] == 3
