"""Waits for hot water: what is counted, at which flow, and what would bring it sooner."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace
from scipy.integrate import solve_ivp

from supplycalc.delivery.fixture_use import FixtureUse, full_use
from supplycalc.delivery.heat import HEAT_CAPACITY, run_loss_per_length
from supplycalc.delivery.household import Household
from supplycalc.delivery.source_cases import source_cases
from supplycalc.hydraulics.water import density
from supplycalc.model import Device, House, Loss, Manifold, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.problems import InputError
from supplycalc.questions.hot.cold_pipe import code_volume
from supplycalc.questions.hot.cooling import heat_held, insulated, still_cold, warm_time
from supplycalc.questions.hot.findings import wants_insulation
from supplycalc.questions.hot.outlets import HotOutlet
from supplycalc.questions.hot.study import HotStudy, hot_of, hot_water
from supplycalc.questions.size.study import size
from supplycalc.units import FOOT, INCH, UnitSystem, show
from tests.houses import GPM, cold_fixture, home_run, mixed_fixture, pipe, two_storey

AIR = 293.15


def outlet(study: HotStudy, name: str) -> HotOutlet:
    """One hot outlet by its fixture."""
    return next(outlet for outlet in study.outlets if outlet.name == name)


def codes(study: HotStudy) -> set[str]:
    """Of all that is told."""
    return {finding.code for finding in study.findings}


def area(diameter: float) -> float:
    """Of a circle [m2]."""
    return math.pi / 4 * diameter**2


def manifold_house(ports: int = 4) -> House:
    """A heater, a feed of 1 inch, a hot manifold, two fixtures on home runs."""
    return two_storey(
        runs=(
            pipe("service", "source", "entry", 60.0, material="pe-cts-sdr9", joining="insert"),
            pipe("heater feed", "entry", "heater inlet", 6.0),
            pipe("feed", "heater outlet", "hot inlet", 5.0, size="1"),
        ),
        manifolds=(
            Manifold(name="cold", start="entry", ports=4),
            Manifold(name="hot", start="hot inlet", ports=ports),
        ),
        fixtures=(
            mixed_fixture("bath", "tub-shower", "cold", "hot", 40.0, elevation=3.0),
            mixed_fixture("basin", "lavatory", "cold", "hot", 30.0, elevation=3.0),
        ),
    )


def test_volume_is_that_of_the_pipes_behind_the_heater() -> None:
    """Hot trunk and own run by their inside diameters; cold pipe and the heater do not count."""
    study = hot_water(two_storey())
    design = study.design
    bath = outlet(study, "bath")
    trunk, own = design.run("hot trunk"), design.run("bath hot")
    expected = sum(area(run.inside_diameter) * run.length for run in (trunk, own))

    assert [run.name for run in bath.runs] == ["hot trunk", "bath hot"]
    assert bath.volume == pytest.approx(expected, rel=1e-12)
    assert bath.length == pytest.approx(50.0 * FOOT, rel=1e-12)


def test_manifold_body_counts() -> None:
    """Feed, body (its ports 2 inches apart, as wide as the feed) and own run."""
    study = hot_water(manifold_house(ports=6))
    design = study.design
    feed, own = design.run("feed"), design.run("basin hot")
    pipes = sum(area(run.inside_diameter) * run.length for run in (feed, own))
    body = area(feed.inside_diameter) * 6 * 2 * INCH

    assert outlet(study, "basin").volume == pytest.approx(pipes + body, rel=1e-12)


def test_wait_is_at_the_flow_that_really_comes() -> None:
    """Mixed for a bath, hot alone beside it, both from the pressure-driven solve."""
    study = hot_water(two_storey(), factor=1.3)
    design = study.design
    law = source_cases(design.house)[0].law
    household = Household(design)
    fixture = next(fixture for fixture in design.house.fixtures if fixture.name == "bath")
    mixed = household.settle((full_use(fixture),), law).outflows[0]
    alone = household.settle((FixtureUse(fixture=fixture, through="hot"),), law).outflows[0]
    bath = outlet(study, "bath")

    assert bath.hot_flow == pytest.approx(mixed.hot, rel=1e-9)
    assert bath.wait == pytest.approx(1.3 * bath.volume / mixed.hot, rel=1e-9)
    assert bath.wait_hot_only == pytest.approx(1.3 * bath.volume / alone.hot, rel=1e-9)
    assert bath.wait_hot_only < bath.wait
    assert bath.wait_by_pipe_volume == pytest.approx(bath.wait / 1.3, rel=1e-9)


def test_longest_wait_stands_first() -> None:
    """Sorted by the wait."""
    waits = [outlet.wait for outlet in hot_water(two_storey()).outlets]

    assert waits == sorted(waits, reverse=True)


def kept_hot(house: House, *names: str) -> House:
    """The same house with runs that are kept hot."""

    def each(run: Run) -> Run:
        return replace(run, circulated=True) if run.name in names else run

    return map_runs(house, each)


def test_pipe_that_is_kept_hot_does_not_count() -> None:
    """Only the own run stands cold, and the limit is that of pipe behind circulation."""
    study = hot_water(kept_hot(two_storey(), "hot trunk"))
    bath = outlet(study, "bath")

    assert bath.from_circulation
    assert [run.name for run in bath.runs] == ["bath hot"]
    assert "volume-circulated" in {check.limit.name for check in bath.limits}
    # the sink starts right at the heater, so that nothing on its way is kept hot
    assert not outlet(study, "sink").from_circulation


def test_kept_hot_behind_a_cold_pipe_is_told() -> None:
    """A gap before it: everything counts as cold, with a warning."""
    study = hot_water(kept_hot(two_storey(), "bath hot"))

    assert len(outlet(study, "bath").runs) == 2
    assert "kept-hot-gap" in codes(study)


def test_gain_of_circulation_is_the_study_of_the_changed_house() -> None:
    """The wait told for a trunk kept hot is that of a file which says so."""
    house = two_storey()
    study = hot_water(house)
    told = next(change for change in study.kept_hot if change.run == "hot trunk")
    changed = hot_water(kept_hot(house, "hot trunk"))

    assert told.wait_after == pytest.approx(outlet(changed, told.outlet).wait, rel=1e-3)
    assert told.wait_before == pytest.approx(outlet(study, told.outlet).wait, rel=1e-9)


def test_thinner_run_is_really_sized() -> None:
    """Before and after are those of the house with that size; worst margin likewise."""
    house = two_storey()
    study = hot_water(house)
    told = next(change for change in study.thinner if "hot trunk" in change.runs)
    hot = {run.name: run.nominal for run in study.design.runs if run.side == "hot"}

    def each(run: Run) -> Run:
        chosen = told.after if run.name in told.runs else hot.get(run.name)
        return run if chosen is None else replace(run, size=chosen)

    changed = hot_water(map_runs(house, each))

    assert told.wait_after == pytest.approx(outlet(changed, told.outlet).wait, rel=1e-9)
    assert told.worst_margin == pytest.approx(changed.design.worst.margin, rel=1e-9)
    assert told.works == (changed.design.shortfall <= 0.0 and not told.failing)


def test_shortened_run_keeps_the_ten_seconds() -> None:
    """Cut by what is told, the wait at the same flow is 10 s, and the code counts half a gallon."""
    study = hot_water(manifold_house())
    for told in study.shorter:
        slow = outlet(study, told.outlet)
        across = area(slow.runs[-1].inside_diameter)
        if told.less_for_wait:
            left = slow.volume - told.less_for_wait * across
            assert slow.factor * left / slow.hot_flow == pytest.approx(10.0, rel=1e-9)
        if told.less_for_volume:
            last = slow.runs[-1]
            per_foot = code_volume(last) / last.length
            left = slow.counted_volume - told.less_for_volume * per_foot
            assert left == pytest.approx(0.5 * 231 * INCH**3, rel=1e-9)
        if told.less_for_wait is None:
            assert slow.factor * (slow.volume - told.length * across) / slow.hot_flow > 10.0


def test_cooling_time_against_integration() -> None:
    """The closed form against scipy's integration of C dT/dt = -UA (T - air)."""
    design = size(two_storey())
    run = design.run("bath hot")
    hot, wanted = design.house.water.hot, 313.15
    capacity, loss = heat_held(run, hot), run_loss_per_length(run)
    cooling = solve_ivp(
        lambda _, t: -loss / capacity * (t - AIR),
        (0.0, 1e5),
        [hot],
        events=[lambda _, t: t[0] - wanted],
        rtol=1e-10,
        atol=1e-10,
    )

    assert warm_time(run, hot, wanted) == pytest.approx(cooling.t_events[0][0], rel=1e-6)
    assert warm_time(insulated(run), hot, wanted) > warm_time(run, hot, wanted)
    assert warm_time(run, wanted - 1.0, wanted) == 0.0
    assert warm_time(run, hot, AIR - 1.0) == math.inf


def test_heat_held_by_hand() -> None:
    """Water and wall of a metre of 1/2 inch PEX: geometry with the figures of the data file."""
    design = size(two_storey())
    half = next(run for run in design.runs if run.nominal == "1/2" and run.side == "hot")
    water = density(322.0) * HEAT_CAPACITY * area(0.475 * INCH)
    wall = 2.0e6 * (area(0.625 * INCH) - area(0.475 * INCH))

    assert heat_held(half, 322.0) == pytest.approx(water + wall, rel=1e-9)


def test_share_of_cold_starts() -> None:
    """No draws: always cold; many: hardly ever; in between exp(-rate x time)."""
    run = size(two_storey()).run("bath hot")
    time = warm_time(run, 322.0, 313.15)

    assert still_cold(run, 322.0, 313.15, 0.0) == 1.0
    assert still_cold(run, 322.0, 313.15, 1e6) == pytest.approx(0.0, abs=1e-12)
    expected = math.exp(-8.0 * time / (16 * 3600))
    assert still_cold(run, 322.0, 313.15, 8.0) == pytest.approx(expected, rel=1e-12)


def test_draws_of_the_user_count() -> None:
    """More draws run off more in a year, but less than in proportion; machines run nothing off."""
    few = outlet(hot_water(two_storey(), draws={"sink": 2.0}), "sink")
    many = outlet(hot_water(two_storey(), draws={"sink": 20.0}), "sink")

    assert few.draws_per_day == 2.0
    assert few.yearly_volume < many.yearly_volume < 10.0 * few.yearly_volume
    assert few.yearly_volume <= few.drawn * 2.0 * 365.0


def test_heat_of_a_draw() -> None:
    """Water drawn, warmed from cold to hot: mass x 4180 x difference."""
    study = hot_water(two_storey())
    sink, water = outlet(study, "sink"), study.design.house.water
    expected = density(water.hot) * 4180.0 * sink.drawn * (water.hot - water.cold)

    assert sink.energy_per_draw == pytest.approx(expected, rel=1e-12)


def test_insulation_saves_what_the_changed_house_shows() -> None:
    """The yearly saving of all hot runs together is the difference of two studies."""
    house = two_storey()
    study = hot_water(house)
    trunk = next(change for change in study.insulated if change.run == "hot trunk")

    def each(run: Run) -> Run:
        return replace(run, insulated=True) if run.name == "hot trunk" else run

    changed = hot_water(map_runs(house, each))

    assert trunk.warm_foam > trunk.warm_bare
    saved = study.year.volume - changed.year.volume
    # flows stay, only the share of cold starts changes
    assert trunk.saved_volume == pytest.approx(saved, rel=1e-6)


def test_too_long_by_the_residential_code_fails() -> None:
    """100 ft from the heater pass, more fail."""

    def house(feet: float) -> House:
        return two_storey(
            fixtures=(
                mixed_fixture("bath", "tub-shower", "hall", "heater outlet", feet, elevation=1.0),
            )
        )

    assert "hot-length" not in codes(hot_water(house(100.0)))
    far = hot_water(house(100.5))
    assert "hot-length" in codes(far)
    assert not far.ok


def test_insulation_the_energy_code_asks_for() -> None:
    """From 3/4 inch on, and to a manifold; not where it is insulated."""
    house = manifold_house()
    design = size(replace(house, limits=replace(house.limits, reserve=0.0)))
    feed = design.run("feed")

    assert wants_insulation(design, feed)
    assert not wants_insulation(design, insulated(feed))
    assert not wants_insulation(design, design.run("heater feed"))
    small = next(run for run in design.runs if run.nominal == "1/2" and run.side == "hot")
    assert not wants_insulation(design, small)
    slab = replace(small, run=replace(small.run, embedded=True))
    assert wants_insulation(design, slab)


def test_tankless_heater_is_asked_for_its_least_flow() -> None:
    """A lavatory drop by drop: below half a gallon a minute many do not fire."""
    house = two_storey(
        devices=(
            Device(
                name="wall heater",
                kind="tankless-heater",
                start="heater inlet",
                end="heater outlet",
                elevation=0.0,
                loss=Loss(),
            ),
        ),
        fixtures=(
            replace(
                mixed_fixture("basin", "lavatory", "hall", "hot hall", 25.0, elevation=3.5),
                flow=0.2 * GPM,
            ),
        ),
    )

    assert {"tankless-flow", "tankless-start"} <= codes(hot_water(house))


def test_a_house_without_hot_water_is_refused() -> None:
    """And so is a draw at a fixture without."""
    with pytest.raises(InputError, match="no fixture of this file has hot water"):
        hot_water(home_run())
    house = two_storey()
    fixtures = (*house.fixtures, cold_fixture("tap", "hose-bibb", "entry"))
    with pytest.raises(InputError, match="has no hot water"):
        hot_water(replace(house, fixtures=fixtures), draws={"tap": 2.0})


def test_same_as_of_a_design() -> None:
    """`hot_of` on the sized house tells the same."""
    house = two_storey()

    assert hot_of(size(house, mend=False)).outlets == hot_water(house).outlets


def test_the_headline_is_one_draw_where_somebody_waits() -> None:
    """Wait and water are of one draw, cold share included; a slower dishwasher is no headline."""
    house = two_storey()
    machine = mixed_fixture("dishwasher", "dishwasher", "hall", "hot hall", 30.0)
    study = hot_water(replace(house, fixtures=(*house.fixtures, replace(machine, cold=None))))
    first, washer = study.outlets[0], outlet(study, "dishwasher")
    told = study.answer("us")

    assert washer.wait > first.wait
    assert washer.hot_flow == pytest.approx(1.3 * GPM, rel=1e-9)
    assert first.runs_off
    assert first.run_off == pytest.approx(first.total_flow * first.wait, rel=1e-12)
    assert first.run_off > first.drawn
    assert f"at {first.name}, with {show(first.run_off, 'pipe-volume', 'us')} run off" in told
    assert f"{show(first.drawn, 'pipe-volume', 'us')} of it from the hot pipe" in told


@pytest.mark.parametrize("units", ["us", "metric"])
def test_what_bare_pipe_loses_is_told_in_the_readers_units(units: UnitSystem) -> None:
    """10 W/(m2 K) are 1.76 Btu/(h ft2 degF), by their definitions."""
    told = [it.said(units) for it in hot_water(two_storey()).assumptions if "bare runs" in it.text]

    assert len(told) == 1
    assert {
        "us": "1.8 Btu an hour from each ft2 and degF to air at 68 degF",
        "metric": "10 W from each m2 and kelvin to air at 20 degC",
    }[units] in told[0]
