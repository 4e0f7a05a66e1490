"""Daily use: closed forms of one and two fixtures, days that follow each other, what sizes do."""

from __future__ import annotations

import statistics
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.chance.daily import YEAR, daily_use
from supplycalc.chance.uses import busyness
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import constant_source
from supplycalc.model import House, Project, Pump, WaterSource
from supplycalc.questions.day.study import day
from supplycalc.questions.size.study import in_daily_use, size
from supplycalc.reading import load
from supplycalc.sizing.daily_use import (
    LEAST_TOLD,
    ConnectionInUse,
    DailyUse,
    in_words,
    minutes_a_year,
)
from supplycalc.sizing.design import Design
from supplycalc.supply.day_need import usual_people
from tests.houses import GPM, PSI, cold_fixture, pipe, two_storey
from tests.supply.stations import CURVE, house

SCENARIOS = Path(__file__).parents[2] / "scenarios"
MINUTE = 60.0


def on_main(*fixtures: tuple[str, str], psi: float = 40.0, service: str = "3/4") -> House:
    """Cold fixtures behind one service on a main that holds its pressure."""
    return House(
        project=Project(name="On a main", demand="irc", people=4),
        source=WaterSource(kind="main", elevation=0.0, residual=psi * PSI, static=psi * PSI),
        runs=(pipe("service", "source", "entry", 200.0, size=service),),
        fixtures=tuple(cold_fixture(name, kind, "entry", 10.0) for name, kind in fixtures),
    )


def use_of(design: Design, **options: object) -> DailyUse:
    """Its second verdict."""
    use = daily_use(design, **options)  # type: ignore[arg-type]
    assert use is not None
    return use


def named(use: DailyUse, label: str) -> ConnectionInUse:
    """One connection by its name."""
    return next(each for each in use.connections if each.label == label)


def test_one_fixture_is_short_always_or_never() -> None:
    """A lone toilet on a main: its flow is the orifice's, its pressure the solver's, all the time.

    It runs 5 flushes a person of 1.6 gal, at the flow that is settled: 20 V/q a day.
    """
    for psi, short in ((80.0, False), (21.0, True)):
        design = size(on_main(("toilet", "water-closet"), psi=psi))
        [row] = use_of(design).connections
        [outflow] = (
            Household(design)
            .as_set((uses_of(design)["toilet"],), constant_source(psi * PSI))
            .outflows
        )
        time = 20.0 * 1.6 * 3.785411784e-3 / outflow.flow * 365.0

        assert row.running == pytest.approx(time, rel=1e-6)
        assert row.below == pytest.approx(row.running if short else 0.0, rel=1e-6)
        assert row.one_in_1000 == pytest.approx(outflow.pressure, abs=0.05 * PSI)
        assert row.usual_flow == pytest.approx(outflow.flow, rel=2e-3)


def uses_of(design: Design) -> dict[str, object]:
    """Each fixture fully open."""
    from supplycalc.delivery.fixture_use import full_use

    return {fixture.name: full_use(fixture) for fixture in design.house.fixtures}


def test_two_fixtures_share_the_service_when_both_run() -> None:
    """Of the time that the toilet runs it is short while the tap beside it runs: sum p q.

    Days alike: the mean over the hours of p q. Days that differ: that times the mean square of how
    busy they are, since both go with it. The pressure is chosen so that each alone has enough.
    """
    design = size(on_main(("toilet", "water-closet"), ("sink", "kitchen-sink"), psi=27.0))
    both = (
        Household(design)
        .as_set(tuple(uses_of(design).values()), constant_source(27.0 * PSI))
        .outflows
    )  # type: ignore[arg-type]
    alike, differ = use_of(design, days_differ=False), use_of(design)
    factor, weight = busyness()
    from supplycalc.chance.uses import running_uses

    uses, dry = running_uses(Household(design), 4, constant_source(27.0 * PSI))
    p, q = (use.hourly for use in uses)
    together = float((p * q).mean()) * YEAR

    toilet = named(alike, "toilet")
    assert not dry
    assert both[0].pressure < toilet.required < toilet.one_in_100 + 8.0 * PSI
    assert toilet.below == pytest.approx(together, rel=1e-6)
    square = float(weight @ factor**2)
    assert named(differ, "toilet").below == pytest.approx(together * square, rel=1e-3)
    assert named(differ, "toilet").below_if_days_alike == pytest.approx(together, rel=1e-3)
    assert named(differ, "toilet").running == pytest.approx(toilet.running, rel=1e-9)


def test_how_busy_a_day_is_has_mean_one_and_the_published_spread() -> None:
    """Lognormal with the geometric standard deviation 1.8: variance exp(s^2) - 1.

    Seven nodes of Gauss and Hermite hold the second moment to 1 %.
    """
    factor, weight = busyness()

    assert weight.sum() == pytest.approx(1.0)
    assert weight @ factor == pytest.approx(1.0, rel=1e-12)
    assert weight @ factor**2 == pytest.approx(np.exp(np.log(1.8) ** 2), rel=0.01)


BATCHES, BATCH_DAYS = 5, 73
"""Together a year."""


@pytest.mark.parametrize("name", ["old-farmhouse", "lake-hut", "weak pump"])
def test_daily_use_agrees_with_days_that_follow_each_other(name: str) -> None:
    """Time running and time below what is needed: those of a year of days, within its error.

    A year of random days in five batches gives a mean and its standard error; four of those, the
    error that daily use states, and a minute are allowed. Lowest pressures: what 1 of 1,000 minutes
    lies below is not below what the year ever saw, less 1.5 psi for the moments of the tank.
    """
    home = (
        house(pump=Pump(curve=tuple((0.3 * q, h) for q, h in CURVE), motor_power=373.0))
        if name == "weak pump"
        else load(SCENARIOS / f"{name}.toml")
    )
    design = size(home, mend=False)
    people = home.project.people or usual_people(home)
    use = use_of(design, people=people, days_differ=False)
    seen = [
        day(design, days=BATCH_DAYS, seed=seed, people=people, keep_days=0)
        for seed in range(1, BATCHES + 1)
    ]
    for each in use.connections:
        batches = [
            next(outlet for outlet in batch.fixtures if outlet.outlet.name == each.label)
            for batch in seen
        ]
        for told, values in (
            (each.running, [outlet.running for outlet in batches]),
            (each.below, [outlet.below for outlet in batches]),
        ):
            error = statistics.stdev(values) * BATCHES**0.5
            assert told == pytest.approx(sum(values), abs=4.0 * error + use.error + MINUTE)
        assert each.one_in_1000 > min(outlet.lowest for outlet in batches) - 1.5 * PSI


SMALL = ("3/8", "1/2", "3/4", "1")


@settings(max_examples=12, deadline=None)
@given(
    psi=st.floats(22.0, 45.0),
    service=st.integers(0, 2),
    people=st.integers(1, 8),
)
def test_a_larger_service_never_makes_the_chance_worse(
    psi: float, service: int, people: int
) -> None:
    """Every connection is below for as long or less, within what is not sure."""
    home = on_main(
        ("toilet", "water-closet"), ("sink", "kitchen-sink"), ("basin", "lavatory"), psi=psi
    )
    told = []
    for nominal in SMALL[service : service + 2]:
        run = replace(home.runs[0], size=nominal)
        design = size(replace(home, runs=(run,)), mend=False)
        use = daily_use(design, people)
        told.append(
            {each.label: each.below for each in use.connections} if use is not None else None
        )
        error = 0.0 if use is None else use.error
    smaller, larger = told
    if smaller is not None and larger is not None:
        for label, below in larger.items():
            # with more pressure a flush takes less time, a tap as long: nothing grows
            assert below <= smaller.get(label, YEAR) * (1.0 + 1e-6) + error


def test_the_same_call_gives_the_same_answer() -> None:
    """Draws and moments have seeds of their own."""
    design = size(load(SCENARIOS / "lake-hut.toml"))

    assert daily_use(design) == daily_use(design)


def test_the_order_of_the_file_and_names_change_nothing() -> None:
    """Fixtures in reverse, and called otherwise: the same figures."""
    home = load(SCENARIOS / "lake-hut.toml")
    other = replace(
        home,
        fixtures=tuple(
            replace(
                fixture,
                name=f"the {fixture.name}",
                **{
                    side: branch and replace(branch, fixture=f"the {fixture.name}")
                    for side, branch in (("cold", fixture.cold), ("hot", fixture.hot))
                },
            )
            for fixture in reversed(home.fixtures)
        ),
        draws=(),
        project=replace(home.project, listed=tuple(f"the {name}" for name in home.project.listed)),
    )
    first, second = (use_of(size(each, mend=False), people=4) for each in (home, other))

    for a, b in zip(first.connections, second.connections, strict=True):
        assert b.label == f"the {a.label}"
        assert b.below == pytest.approx(a.below, rel=1e-6, abs=1e-3)
        assert b.one_in_1000 == pytest.approx(a.one_in_1000, rel=1e-6)


def test_other_units_change_words_only() -> None:
    """The figures are SI; a verdict in psi and one in kPa tell the same."""
    design = in_daily_use(size(load(SCENARIOS / "lake-hut.toml")))
    assert design.daily_use is not None
    us, metric = (design.daily_use.verdict(system) for system in ("us", "metric"))  # type: ignore[arg-type]

    assert "minutes a year" in us
    assert "minutes a year" in metric
    assert us.split(" has ")[0] == metric.split(" has ")[0]
    assert "psi" in us
    assert "kPa" in metric


def test_a_house_that_no_water_reaches_says_so() -> None:
    """A loft above what the main can lift: fixtures without water are named."""
    design = in_daily_use(size(load(SCENARIOS / "tower-loft.toml")))

    assert design.daily_use is not None
    assert design.daily_use.without_water == ("loft shower", "loft basin")
    assert "get no water at all" in design.daily_use.verdict("us")


def test_fixtures_of_the_public_have_no_daily_use() -> None:
    """Chances of homes do not tell when guests bathe."""
    home = two_storey()
    public = replace(home, project=replace(home.project, use="public"))

    assert daily_use(size(public, mend=False)) is None


def test_a_weak_pump_is_a_warning_with_its_reason() -> None:
    """Pipe is sized at cut-in and passes; in daily use the pump gives way, and it is said."""
    weak = house(pump=Pump(curve=tuple((0.3 * q, h) for q, h in CURVE), motor_power=373.0))
    design = in_daily_use(size(weak, mend=False))
    use = design.daily_use
    assert use is not None
    short = [item for item in design.findings if item.code == "daily-use-short"]

    assert use.pump_gives_way > 60.0 * MINUTE
    assert use.short
    assert short
    assert short[0].where == use.tightest
    assert "supplycalc well" in short[0].remedy
    assert "pump gives less than is drawn" in use.verdict("us")


def test_a_house_that_fails_by_its_code_and_lives_well_says_why() -> None:
    """The peak of a listed load that never happens: no fixture is short in daily use."""
    home = on_main(("toilet", "water-closet"), ("sink", "kitchen-sink"), psi=55.0)
    tap = replace(cold_fixture("garden tap", "hose-bibb", "entry", 10.0), flow=12.0 * GPM)
    design = in_daily_use(size(replace(home, fixtures=(*home.fixtures, tap)), mend=False))
    assert design.daily_use is not None

    assert design.shortfall > 0.0
    assert not design.daily_use.short
    assert "The verdicts differ because the peak" in design.daily_use.verdict("us")


def test_more_people_than_the_well_has_water_for_is_told() -> None:
    """2 gpm are 2,880 gal a day: enough for six people, not for a hundred."""
    home = load(SCENARIOS / "slow-well.toml")
    few = use_of(size(home, mend=False), people=6)
    many = use_of(size(home, mend=False), people=100)

    assert few.well_gives_a_day == pytest.approx(2880 * 3.785411784e-3, rel=1e-6)
    assert few.drawn_a_day == pytest.approx(6 * 53 * 3.785411784e-3, rel=0.35)
    assert "while there is water" not in few.verdict("us")
    assert "while there is water" in many.verdict("us")


def test_times_and_shares_are_said_as_people_say_them() -> None:
    """Two digits, minutes up to an hour and a half; parts of 100, 1,000 and so on."""
    assert minutes_a_year(14.2 * MINUTE) == "14 minutes a year"
    assert minutes_a_year(3.14 * 60 * MINUTE) == "3.1 hours a year"
    assert minutes_a_year(LEAST_TOLD) == "a minute a year"
    assert minutes_a_year(1234.0 * 60 * MINUTE) == "1,200 hours a year"
    assert in_words(0.17) == "17 in 100"
    assert in_words(0.0031) == "3 in 1,000"
    assert in_words(1e-7) == "less than 1 in 100,000"
