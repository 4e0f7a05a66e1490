"""Days of draws: by hand where that is possible, against an integrator where it is not."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise

import pytest
from msgspec.structs import replace
from scipy.integrate import solve_ivp

import supplycalc
from supplycalc.delivery.open_supply import constant_source
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Draw, House, Pump, Tank, Well
from supplycalc.network import build_tree
from supplycalc.problems import ComputationError, InputError
from supplycalc.questions.day.habits import habits, random_days
from supplycalc.questions.day.laws import RUNG, Laws
from supplycalc.questions.day.study import day, most_within
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Design
from supplycalc.supply.tank import drawdown
from tests.houses import FOOT, GPM, PSI, two_storey
from tests.supply.stations import CURVE, GALLON, house

STRONG = Pump(curve=tuple((1.5 * q, h) for q, h in CURVE), motor_power=560.0)
BORE = Well(
    static_level=60.0 * FOOT, pump_depth=150.0 * FOOT, specific_capacity=1.0 * GPM / FOOT,
    diameter=6.0 * 0.0254,
)  # fmt: skip
DRAWS = (
    Draw(fixture="bath", at=(6.5 * 3600.0,), duration=600.0),
    Draw(fixture="sink", at=(6.55 * 3600.0, 12.0 * 3600.0), duration=120.0, share=0.5),
    Draw(fixture="toilet", at=(6.6 * 3600.0, 20.0 * 3600.0), volume=1.6 * GALLON),
    Draw(fixture="garden tap", at=(18.0 * 3600.0,), duration=1800.0),
)


def sized(draws: tuple[Draw, ...] = DRAWS, **parts: object) -> Design:
    """The test house with a strong pump and a schedule, sized."""
    one: House = house(**{"pump": STRONG, **parts})
    return size(replace(one, draws=draws), mend=False)


def test_draws_take_what_they_ask_for() -> None:
    """Volumes to rounding, durations to rounding; the tap's flow lies between its extremes."""
    found = day(sized())
    tap = next(one for one in found.outlets if one.outlet.fixture.name == "garden tap")

    assert found.tally.used["toilet"] == pytest.approx(3.2 * GALLON, rel=1e-12)
    assert tap.running == pytest.approx(1800.0, abs=1e-6)
    assert found.tally.draws == 6
    assert found.tally.drawn == pytest.approx(math.fsum(found.tally.used.values()), rel=1e-12)


def test_the_pump_starts_and_stops_where_the_switch_says() -> None:
    """Every start at cut-in, every stop at cut-out, and one tankful between them."""
    found = day(sized())
    series = found.tally.series
    assert series is not None

    starts = [one for one in series if one.what == "start"]
    stops = [one for one in series if one.what == "stop"]
    assert len(starts) == len(found.tally.starts) >= 3
    assert all(one.pressure == pytest.approx(40.0 * PSI, rel=1e-12) for one in starts)
    assert all(one.pressure == pytest.approx(60.0 * PSI, rel=1e-12) for one in stops)
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
    found = day(sized((Draw(fixture="garden tap", at=(3600.0,), duration=1800.0),), well=well))
    plant, design = found.plant, found.design
    assert plant is not None
    laws = Laws(design, constant_source(50.0 * PSI))
    tap = next(one for one in design.house.fixtures if one.name == "garden tap")
    opened = laws.of((laws.number(_whole(tap)),))

    def drawn(pressure: float) -> float:
        first, second = opened.cell(math.floor(pressure / RUNG)).total
        return first + second * pressure

    def motion(on: bool, tap_open: bool):  # type: ignore[no-untyped-def]
        def rates(_: float, y: list[float]) -> list[float]:
            pressure = plant.air / y[0] - plant.atmosphere
            pumped = plant.supply_curve.flow_at(pressure + plant.weight * y[1]) if on else 0.0
            out = drawn(pressure) if tap_open else 0.0
            fall = (pumped - plant.gain * y[1]) / plant.area if plant.area else 0.0
            return [out - pumped, fall]

        return rates

    state, now, on, starts = [plant.air / (plant.cut_out + plant.atmosphere), 0.0], 3600.0, False, 0
    while now < 5400.0 or on:
        end = 5400.0 if now < 5400.0 else now + 3600.0
        level = plant.cut_out if on else plant.cut_in
        edge = plant.air / (level + plant.atmosphere)

        def switch(_: float, y: list[float], edge: float = edge) -> float:
            return y[0] - edge

        switch.terminal = True  # type: ignore[attr-defined]
        switch.direction = -1.0 if on else 1.0  # type: ignore[attr-defined]
        run = solve_ivp(
            motion(on, now < 5400.0), (now, end), state, "DOP853", events=switch,
            rtol=1e-11, atol=1e-14, max_step=5.0,
        )  # fmt: skip
        state, now = [float(one[-1]) for one in run.y], float(run.t[-1])
        if run.status == 1:
            on = not on
            starts += on
    assert starts == len(found.tally.starts)
    stopped = [one.time for one in found.tally.series or () if one.what == "stop"][-1]
    assert now == pytest.approx(stopped, abs=1e-3)
    assert math.fsum(found.tally.runs) == pytest.approx(found.tally.run_time, rel=1e-12)


def _whole(fixture: object):  # type: ignore[no-untyped-def]
    from supplycalc.delivery.fixture_use import full_use

    return full_use(fixture)  # type: ignore[arg-type]


def test_energy_is_head_times_flow_over_efficiency() -> None:
    """Between what cut-in and cut-out would take for all the water that was pumped."""
    found = day(sized(pump=replace(STRONG, efficiency=0.4)))
    weight = specific_weight(found.design.house.water.cold)
    ends = [
        weight * found.tally.pumped * (60 * FOOT + pressure * PSI / weight) / 0.4
        for pressure in (40.0, 60.0)
    ]

    assert ends[0] < found.energy < ends[1]
    assert found.energy_range is None
    assert day(sized()).energy_range is not None


def test_lowest_pressures_are_the_solvers_own() -> None:
    """The straight lines between rungs are within 1 % of the solver at the lowest points."""
    found = day(sized())

    for one in found.outlets:
        assert one.interpolated == pytest.approx(one.lowest, rel=0.01)
        assert one.source_pressure >= 40.0 * PSI * (1 - 1e-12)


def test_a_pump_too_weak_for_the_draw() -> None:
    """The tank empties, and then the pump alone feeds the tap at the pressure where both agree."""
    weak = Pump(curve=tuple((0.25 * q, h) for q, h in CURVE), motor_power=373.0)
    found = day(sized(pump=weak))
    empty = [one for one in found.tally.series or () if one.what == "empty"]

    assert found.tally.empty > 60.0
    assert empty[-1].pressure < 38.0 * PSI
    assert empty[-1].pump_flow == pytest.approx(empty[-1].drawn, rel=1e-6)
    assert "tank-empty" in {one.code for one in found.findings}


def test_an_empty_tank_over_a_falling_level() -> None:
    """While the pump alone feeds the tap its pressure falls with the well's level, never rises."""
    weak = Pump(curve=tuple((0.25 * q, 0.8 * h) for q, h in CURVE), motor_power=373.0)
    wide = replace(BORE, specific_capacity=0.05 * GPM / FOOT, diameter=0.15)
    found = day(
        sized((Draw(fixture="garden tap", at=(60.0,), duration=7200.0),), pump=weak, well=wide)
    )
    series = found.tally.series or []
    start = max(i for i, one in enumerate(series) if one.what == "empty")
    fed = [one for one in series[start:] if one.drawn > 0.0 and one.pump_on]

    assert found.tally.empty > 600.0
    assert len(fed) >= 2
    assert all(b.pressure <= a.pressure + 1e-6 for a, b in pairwise(fed))
    assert all(one.pump_flow == pytest.approx(one.drawn, rel=1e-6) for one in fed)


def test_a_well_that_runs_dry_and_recovers() -> None:
    """The pump stops at the edge, waits its half hour, and the level has risen meanwhile."""
    poor = replace(BORE, specific_capacity=0.05 * GPM / FOOT, recovery=1.0 * GPM)
    draws = (Draw(fixture="garden tap", at=(3600.0,), duration=4 * 3600.0),)
    found = day(sized(draws, well=poor))
    series = found.tally.series or []
    dry = [i for i, one in enumerate(series) if one.what == "dry"]
    again = next(one for one in series[dry[0] + 1 :] if one.what == "start")

    assert not found.ok
    assert series[dry[0]].fall == pytest.approx(found.plant.dry, rel=1e-12)  # type: ignore[union-attr]
    assert again.time == pytest.approx(series[dry[0]].time + 1800.0, abs=1e-6)
    assert again.fall < series[dry[0]].fall
    recovered = 1.0 * GPM / found.plant.area * 1800.0  # type: ignore[union-attr]
    assert series[dry[0]].fall - again.fall <= recovered + 1e-9


def test_a_rich_well_keeps_its_level() -> None:
    """Recovery above the pump's flow, no specific capacity: the level stays at rest."""
    rich = replace(BORE, specific_capacity=None, recovery=60.0 * GPM)
    found = day(sized(well=rich))
    still = day(sized(well=Well(static_level=60.0 * FOOT)))

    assert found.tally.deepest == 0.0
    assert found.tally.drawn == pytest.approx(still.tally.drawn, rel=1e-12)


def test_a_constant_pressure_pump_holds_its_pressure() -> None:
    """Once it has caught up it stays at the set pressure while water runs, and then sleeps.

    It wakes at the cut-in of the file.
    """
    held = replace(STRONG, kind="constant-pressure", set_pressure=55.0 * PSI)
    found = day(sized(pump=held, tank=Tank(volume=10 * GALLON, precharge=38 * PSI)))
    series = found.tally.series or []

    assert max(one.pressure for one in series) == pytest.approx(55.0 * PSI, rel=1e-12)
    assert min(one.pressure for one in series) == pytest.approx(40.0 * PSI, rel=1e-12)
    assert len(found.tally.starts) <= 6
    assert found.imbalance == pytest.approx(0.0, abs=1e-9 * found.tally.drawn)


def test_a_waterlogged_tank_starts_the_pump_more_often() -> None:
    """The same draws, far more starts, and as much water."""
    whole, lost = day(sized()), day(sized(), waterlogged=True)

    assert len(lost.tally.starts) > 3 * len(whole.tally.starts)
    assert lost.tally.used["toilet"] == pytest.approx(whole.tally.used["toilet"], rel=1e-12)


def test_a_fixture_is_used_by_one_at_a_time() -> None:
    """The second draw waits until the first has ended, and then has its whole length."""
    draws = (
        Draw(fixture="bath", at=(100.0,), duration=300.0),
        Draw(fixture="bath", at=(200.0,), duration=100.0),
    )
    found = day(sized(draws))
    times = [one.time for one in found.tally.series or () if one.what == "draw"]

    assert times == pytest.approx([100.0, 400.0, 500.0], abs=1e-9)


def test_a_main_needs_no_pump() -> None:
    """Flows stand still between draws; what is drawn is flow times time."""
    one = replace(
        two_storey(),
        source=replace(two_storey().source, kind="main", residual=4e5, cut_in=None, cut_out=None),
        draws=DRAWS,
    )
    found = day(size(one, mend=False))

    assert found.plant is None
    assert found.tally.starts == []
    assert found.tally.lowest == pytest.approx(4e5)
    assert found.tally.used["toilet"] == pytest.approx(3.2 * GALLON, rel=1e-9)


def test_random_days_repeat_and_go_on() -> None:
    """The same seed gives the same days, whatever their number; another seed gives others."""
    found = habits(build_tree(house()), 4)
    one, again, other = (list(random_days(found, 3, seed)) for seed in (5, 5, 6))
    longer = list(random_days(found, 6, 5))

    assert one == again != other
    assert one == [each for each in longer if each.start < 3 * 86400.0]
    assert all(a.start <= b.start for a, b in pairwise(longer))


def test_random_days_are_as_many_and_as_long_as_the_habits_say() -> None:
    """Means over 400 days within four standard errors of Poisson's and the lognormal's."""
    days, found = 400, habits(build_tree(house()), 5)
    draws = list(random_days(found, days, 3))
    count = Counter(one.use.fixture.kind for one in draws)
    flushes = next(one for one in found if one.name == "toilet")
    minutes = [one.duration for one in draws if one.use.fixture.kind == "lavatory" and one.duration]
    basin = next(one for one in found if one.name == "basin")

    expected = flushes.per_day * days
    assert count["water-closet"] == pytest.approx(expected, abs=4.0 * math.sqrt(expected))
    mean = math.fsum(minutes) / len(minutes)
    assert mean == pytest.approx(
        basin.duration, abs=4.0 * basin.spread * basin.duration / math.sqrt(len(minutes)) + 0.2
    )


def test_the_busy_hour_has_the_methods_own_probability() -> None:
    """A basin runs 2 % of the busy hour (Peak Water Demand Study), where habits allow that much."""
    found = habits(build_tree(house()), 2)
    basin = next(one for one in found if one.name == "basin")
    peak = max(basin.hourly)
    crowd = habits(build_tree(house()), 8)
    crowded = next(one for one in crowd if one.name == "basin")

    assert max(crowded.hourly) * crowded.duration / 3600.0 > 0.02
    assert peak * basin.duration / 3600.0 == pytest.approx(0.02, rel=1e-9)
    assert math.fsum(basin.hourly) == pytest.approx(basin.per_day, rel=1e-12)


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
    one = replace(house(pump=STRONG), draws=DRAWS)
    whole, check = supplycalc.day(one), supplycalc.well(one, people=3)

    assert whole.to_dict()["schema"] == "supplycalc-day/1"
    assert whole.tally.drawn == day(sized()).tally.drawn
    assert check.to_dict()["well"]["people"] == 3
