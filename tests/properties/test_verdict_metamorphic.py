"""What cannot make a verdict worse, and what cannot change it, on random houses.

Compared are the verdict, what is to spare up to the reserve that sizing keeps, and the cost.
"""

from __future__ import annotations

import datetime
import itertools
import random

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.model import Device, House, Loss, Project, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.questions.size.study import size
from supplycalc.reading import loads
from supplycalc.reading.prices import PipePrice, PriceList
from supplycalc.reading.writing import write
from supplycalc.sizing.changes import with_run
from supplycalc.sizing.design import Design
from tests.houses import FOOT, GPM, PSI, cold_fixture, mixed_fixture, pipe, well

FEW = settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
SIZES = ("1/2", "3/4", "1")
KINDS = ("tub-shower", "shower", "lavatory", "kitchen-sink", "water-closet", "hose-bibb")
COLD_ONLY = ("water-closet", "hose-bibb")
SPARE = 5.0 * PSI
"""The whole reserve."""
ROUNDING = 1.0
"""[Pa]"""
WEAKEST, STRONGEST = 24, 50
"""Cut-in [psi] of the houses that are drawn; with 20 psi more at cut-out none is over a limit."""


@st.composite
def houses(draw: st.DrawFn) -> House:
    """A service, a trunk, perhaps a filter, a heater, two to five fixtures on both mains."""
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=2, max_size=5))
    fixtures = []
    for number, kind in enumerate(kinds):
        feet, height = draw(st.integers(5, 40)), draw(st.integers(0, 16))
        name = f"{kind} {number}"
        if kind in COLD_ONLY:
            fixture = cold_fixture(name, kind, "hall", feet, elevation=height * FOOT)
        else:
            fixture = mixed_fixture(name, kind, "hall", "hot hall", feet, height * FOOT)
        fixtures.append(fixture)
    filter_loss = draw(st.integers(0, 5)) * PSI
    house = House(
        project=Project(name="Random house"),
        source=well(draw(st.integers(WEAKEST, STRONGEST)), 70.0),
        runs=(
            pipe("service", "source", "entry", draw(st.integers(20, 200))),
            pipe("trunk", "filtered", "hall", draw(st.integers(5, 40))),
            pipe("heater feed", "filtered", "heater inlet", 6.0),
            pipe("hot trunk", "heater outlet", "hot hall", draw(st.integers(5, 40))),
        ),
        devices=(
            Device(
                name="filter",
                kind="device",
                start="entry",
                end="filtered",
                loss=Loss(quadratic=filter_loss, reference_flow=10 * GPM),
            ),
            Device(
                name="heater",
                kind="heater",
                start="heater inlet",
                end="heater outlet",
                elevation=0.0,
                loss=Loss(quadratic=2.0 * PSI, reference_flow=10 * GPM),
            ),
        ),
        fixtures=tuple(fixtures),
    )
    # a heater that feeds nothing is no file that can be read
    assume(any(fixture.hot is not None for fixture in house.fixtures))
    assume(any(fixture.hot is None or fixture.cold is not None for fixture in house.fixtures))
    return map_runs(house, lambda run: replace(run, sizes=SIZES))


def designed(house: House, prices: PriceList | None = None) -> Design:
    """The design, without remedies."""
    return size(house, mend=False, prices=prices)


def no_worse(before: Design, after: Design) -> None:
    """The verdict is as good or better: it works still, and a whole reserve stays whole.

    A part of a reserve is bought only where it is worth its pipe, so that with more to choose from
    a house that works may keep a smaller part for less pipe.
    """
    assert after.ok or not before.ok, (before.worst.margin, after.worst.margin)
    if before.ok and before.worst.margin >= SPARE:
        assert after.worst.margin >= SPARE - ROUNDING
    elif before.ok:
        assert after.worst.margin >= -ROUNDING
    else:
        # of the sizes that fall short least, not of those that velocity and minimums ask for
        assert after.least_shortfall <= before.least_shortfall + ROUNDING


def the_same(before: Design, after: Design) -> None:
    """Nothing that counts has changed."""
    assert after.ok == before.ok
    assert abs(after.worst.margin - before.worst.margin) < ROUNDING
    assert sorted(outlet.required for outlet in after.outlets) == sorted(
        outlet.required for outlet in before.outlets
    )
    assert abs(after.cost - before.cost) < 1e-6 * max(1.0, before.cost)
    assert sorted({finding.code for finding in after.findings}) == sorted(
        {finding.code for finding in before.findings}
    )


def every_run(house: House) -> list[Run]:
    """All runs, fixtures' branches too."""
    own = [(fixture.cold, fixture.hot) for fixture in house.fixtures]
    return [*house.runs, *(run for run in itertools.chain(*own) if run is not None)]


def price_list(prices: dict[str, float]) -> PriceList:
    """One price for each foot of a size."""
    return PriceList(
        name="test",
        date=datetime.date(2026, 1, 1),
        currency="USD",
        pipes=tuple(
            PipePrice(material="pex-sdr9", size=size_name, length=FOOT, price=price, cut=True)
            for size_name, price in prices.items()
        ),
        parts=(),
    )


@FEW
@given(houses(), st.integers(1, 8))
def test_more_source_pressure_is_never_worse(house: House, more: int) -> None:
    """Some psi more at cut-in, cut-out as it is."""
    source = house.source
    assert source.cut_in is not None
    stronger = replace(house, source=replace(source, cut_in=source.cut_in + more * PSI))
    before, after = designed(house), designed(stronger)

    no_worse(before, after)
    # a house that had no whole reserve may now be able to buy one
    if before.ok and before.worst.margin >= SPARE:
        assert after.cost <= before.cost * (1.0 + 1e-9)


@FEW
@given(houses(), st.integers(0, 20))
def test_a_wider_pipe_on_offer_is_never_worse(house: House, which: int) -> None:
    """One run may also be 1-1/4, together with what feeds it."""
    names = [run.name for run in every_run(house)]
    offered = {names[which % len(names)], "service", "trunk", "heater feed", "hot trunk"}
    wider = map_runs(
        house,
        lambda run: replace(run, sizes=(*SIZES, "1-1/4")) if run.name in offered else run,
    )
    no_worse(designed(house), designed(wider))


@FEW
@given(houses(), st.sampled_from(SIZES), st.floats(0.3, 0.95))
def test_a_cheaper_price_is_never_worse(house: House, which: str, factor: float) -> None:
    """The verdict stays and the house costs no more."""
    prices = {"1/2": 0.5, "3/4": 0.9, "1": 1.6}
    before = designed(house, price_list(prices))
    after = designed(house, price_list({**prices, which: prices[which] * factor}))

    assert after.ok == before.ok
    if before.optimal:
        assert after.cost <= before.cost * (1.0 + 1e-9)


@FEW
@given(houses(), st.integers(0, 20), st.floats(0.3, 0.95))
def test_a_shorter_run_is_never_worse(house: House, which: int, factor: float) -> None:
    """Any one run; nothing costs more either."""
    names = [run.name for run in every_run(house)]
    shorter = with_run(
        house, names[which % len(names)], lambda run: replace(run, length=run.length * factor)
    )
    before, after = designed(house), designed(shorter)

    no_worse(before, after)
    # a house that had no whole reserve may now be able to buy one
    if before.ok and before.worst.margin >= SPARE:
        assert after.cost <= before.cost * (1.0 + 1e-9)


@FEW
@given(houses(), st.integers(0, 4))
def test_a_fixture_removed_is_never_worse(house: House, which: int) -> None:
    """What is left draws no more, so it keeps no less."""
    gone = which % len(house.fixtures)
    fixtures = tuple(fixture for i, fixture in enumerate(house.fixtures) if i != gone)
    if not any(fixture.hot for fixture in fixtures) or not any(f.cold for f in fixtures):
        return
    no_worse(designed(house), designed(replace(house, fixtures=fixtures)))


@FEW
@given(houses(), st.sampled_from(["service", "trunk", "hot trunk"]), st.floats(0.1, 0.9))
def test_a_run_split_in_two_changes_nothing(house: House, which: str, share: float) -> None:
    """Two runs of one size, one after the other, are one run; fittings stay with the first."""
    runs = []
    for run in house.runs:
        if run.name != which:
            runs.append(run)
            continue
        first = replace(run, end="between", length=run.length * share, group="split")
        rest = replace(
            run, name="rest", start="between", length=run.length * (1.0 - share), group="split"
        )
        runs += [first, rest]
    before = designed(house)
    after = designed(replace(house, runs=tuple(runs)))

    the_same(before, after)
    assert after.worst.name == before.worst.name


@FEW
@given(houses(), st.randoms(use_true_random=False))
def test_other_names_change_nothing(house: House, chance: random.Random) -> None:
    """Points, runs, devices and fixtures by other names."""
    before = designed(house)
    points = {run.start for run in every_run(house)} | {run.end for run in every_run(house)}
    points |= {point for device in house.devices for point in (device.start, device.end)}
    points.discard("source")
    order = sorted(points)
    chance.shuffle(order)
    new = {point: f"point {number}" for number, point in enumerate(order)} | {"source": "source"}

    def renamed(run: Run) -> Run:
        fixture = None if run.fixture is None else f"outlet {run.fixture}"
        return replace(
            run, name=f"line {run.name}", start=new[run.start], end=new[run.end], fixture=fixture
        )

    other = map_runs(house, renamed)
    other = replace(
        other,
        devices=tuple(
            replace(
                device,
                name=f"a {device.name}",
                start=new[device.start],
                end=new[device.end],
            )
            for device in other.devices
        ),
        fixtures=tuple(
            replace(fixture, name=f"outlet {fixture.name}") for fixture in other.fixtures
        ),
    )
    after = designed(other)

    the_same(before, after)
    assert sorted(run.size.nominal for run in after.runs) == sorted(
        run.size.nominal for run in before.runs
    )


@FEW
@given(houses(), st.randoms(use_true_random=False))
def test_another_order_of_the_file_changes_nothing(house: House, chance: random.Random) -> None:
    """Runs, devices and fixtures in any order."""

    def shuffled(items: tuple[object, ...]) -> tuple[object, ...]:
        order = list(items)
        chance.shuffle(order)
        return tuple(order)

    other = replace(
        house,
        runs=shuffled(house.runs),
        devices=shuffled(house.devices),
        fixtures=shuffled(house.fixtures),
    )
    before, after = designed(house), designed(other)

    the_same(before, after)
    margins = [
        sorted((outlet.name, round(outlet.margin, 3)) for outlet in design.outlets)
        for design in (before, after)
    ]
    assert [name for name, _ in margins[0]] == [name for name, _ in margins[1]]


@FEW
@given(houses())
def test_the_other_units_change_nothing(house: House) -> None:
    """Written as a file in US and in metric units, read again and sized."""
    designs = []
    for units in ("us", "metric"):
        file = replace(house, project=replace(house.project, units=units))
        designs.append(designed(loads(write(file), f"{units}.toml")))

    assert designs[0].ok == designs[1].ok
    assert abs(designs[0].worst.margin - designs[1].worst.margin) < 200.0
    assert {run.name: run.size.nominal for run in designs[0].runs} == {
        run.name: run.size.nominal for run in designs[1].runs
    }
