"""Sizes by chance: the search against all combinations, its bound, and what it tells."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from supplycalc.chance.daily import daily_use, pressures_of, suppose
from supplycalc.chance.sizes import Search, daily_situation, draws_of, sizes_by_chance
from supplycalc.delivery.household import Household
from supplycalc.model import House, Pump, ShortLimit
from supplycalc.problems import InputError
from supplycalc.questions.size.study import in_daily_use, size
from supplycalc.reading import load, loads
from supplycalc.sizing.costs import pipe_mass
from supplycalc.sizing.design import Design
from supplycalc.sizing.size import feeds_raised_to, held_to_feeds
from tests.houses import PSI, two_storey, well
from tests.supply.stations import CURVE, house

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TEN_MINUTES = ShortLimit(text="10 min a year", a_year=600.0)


def small() -> House:
    """The two-storey house at a switch of 40/60 psi, six sizes to choose from in each run."""
    return two_storey(source=replace(well(), cut_in=38.0 * PSI, cut_out=58.0 * PSI))


def search_of(home: House, limit: ShortLimit) -> tuple[Search, Design]:
    """A house's candidates against its draws."""
    design = in_daily_use(size(home, mend=False))
    household = Household(design)
    supposed = suppose(household, 4)
    settled = pressures_of(household.laws, supposed)
    situation = daily_situation(design, supposed, settled, pipe_mass)
    return Search(situation, draws_of(situation, supposed, settled, limit)), design


@pytest.mark.parametrize("minutes", [2.0, 20.0, 300.0])
def test_the_search_finds_what_all_combinations_hold(minutes: float) -> None:
    """Every choice of the shared runs, branches at their smallest: none that keeps it is cheaper.

    What the bound says is never more than the cheapest choice costs.
    """
    search, _ = search_of(small(), ShortLimit(text="", a_year=minutes * 60.0))
    bound, starts = search.bound()
    chosen = search.descend(starts, 1.0)
    situation = search.situation
    shared = [
        i
        for i, choice in enumerate(situation.choices)
        if choice is not None and choice.run.fixture is None and len(choice.allowed) > 1
    ]
    least = np.inf
    for sizes in itertools.product(*(situation.choices[i].allowed for i in shared)):  # type: ignore[union-attr]
        tried = list(chosen)
        for i, size_number in zip(shared, sizes, strict=True):
            tried[i] = size_number
        if held_to_feeds(situation, list(tried)) == tried and search.over(tried) <= 0.0:
            least = min(least, search.situation.cost(tried))

    assert shared
    assert (
        feeds_raised_to(situation, list(chosen)) == chosen == held_to_feeds(situation, list(chosen))
    )
    assert search.over(chosen) <= 0.0
    assert search.situation.cost(chosen) <= least * (1.0 + 1e-9)
    assert bound <= search.situation.cost(chosen) * (1.0 + 1e-9)


@pytest.mark.parametrize("name", ["ridge-cottage", "ranch-on-slab", "lake-hut"])
def test_a_larger_pipe_never_makes_the_chance_worse(name: str) -> None:
    """The same draws for every candidate: a size more anywhere leaves nothing short longer."""
    search, _ = search_of(load(SCENARIOS / f"{name}.toml"), TEN_MINUTES)
    sizes = search.bound()[1][0]
    below = search.below(sizes)
    for i in search.runs:
        larger = search.one_more(sizes, i)
        if larger is not None:
            assert np.all(search.below(larger) <= below + 1e-6)


def test_a_looser_limit_never_costs_more() -> None:
    """2, 20, 200 minutes a year, then one in ten draws."""
    costs = []
    for limit in (
        *(ShortLimit(text="", a_year=minutes * 60.0) for minutes in (2.0, 20.0, 200.0)),
        ShortLimit(text="", share=0.1),
    ):
        search, _ = search_of(small(), limit)
        costs.append(search.situation.cost(search.descend(search.bound()[1], 1.0)))

    assert costs == sorted(costs, reverse=True)


@pytest.mark.parametrize("name", ["ridge-cottage", "old-farmhouse", "holiday-house"])
def test_what_is_found_keeps_the_limit_with_flows_that_follow(name: str) -> None:
    """Settled anew with its sizes, no connection is short for more than ten minutes a year."""
    design = in_daily_use(size(load(SCENARIOS / f"{name}.toml")))
    chosen = sizes_by_chance(design, TEN_MINUTES, pipe_mass)
    assert chosen is not None
    sizes = dict(chosen.sizes)
    home = replace(
        design.house,
        runs=tuple(replace(run, size=sizes.get(run.name, run.size)) for run in design.house.runs),
        fixtures=tuple(
            replace(
                fixture,
                **{
                    side: branch and replace(branch, size=sizes.get(branch.name, branch.size))
                    for side, branch in (("cold", fixture.cold), ("hot", fixture.hot))
                },
            )
            for fixture in design.house.fixtures
        ),
    )
    told = daily_use(size(home, mend=False))
    assert told is not None

    assert chosen.kept
    assert chosen.bound <= chosen.cost < chosen.code_cost == pytest.approx(design.cost)
    assert 0.0 <= chosen.gap <= 0.25
    assert max(each.below for each in told.connections) <= 600.0 + told.error


@pytest.mark.parametrize("name", ["ridge-cottage", "old-farmhouse", "bunkhouse", "valley-house"])
def test_no_pipe_found_is_larger_than_what_feeds_it(name: str) -> None:
    """The rules of sizes hold whatever chance would allow; the bound is no higher than the cost."""
    search, _ = search_of(load(SCENARIOS / f"{name}.toml"), TEN_MINUTES)
    bound, starts = search.bound()
    chosen = search.descend(starts, 1.0)
    situation = search.situation

    assert (
        feeds_raised_to(situation, list(chosen)) == chosen == held_to_feeds(situation, list(chosen))
    )
    assert bound <= search.situation.cost(chosen) * (1.0 + 1e-9)
    assert search.over(chosen) <= 0.0


def test_a_house_that_no_sizes_help_says_so() -> None:
    """A loft that no water reaches keeps no limit."""
    home = load(SCENARIOS / "tower-loft.toml")
    home = replace(home, limits=replace(home.limits, short=TEN_MINUTES))
    design = size(home, daily=True)

    assert design.by_chance is not None
    assert not design.by_chance.kept


def test_a_weak_pump_asks_for_a_larger_tank() -> None:
    """No pipe helps where the pump gives way: the smallest usual tank that does is named."""
    weak = house(pump=Pump(curve=tuple((0.3 * q, h) for q, h in CURVE), motor_power=373.0))
    weak = replace(weak, project=replace(weak.project, people=6))
    design = in_daily_use(size(weak, mend=False))
    tank = weak.source.tank
    chosen = sizes_by_chance(design, TEN_MINUTES, pipe_mass)

    assert tank is not None
    assert tank.volume is not None
    assert design.daily_use is not None
    assert max(each.below for each in design.daily_use.connections) > 600.0
    assert chosen is not None
    assert chosen.kept
    assert chosen.tank is not None
    assert chosen.tank > tank.volume
    assert chosen.worst_below < 700.0


def test_the_file_asks_for_it_and_json_and_page_tell_it() -> None:
    """`short` in [limits]: the code's sizes stay, those by chance stand beside them."""
    text = (SCENARIOS / "ridge-cottage.toml").read_text(encoding="utf-8")
    text = text.replace("[limits]", '[limits]\nshort = "1 in 1,000 draws"')
    assert "short =" in text
    design = size(loads(text), daily=True)
    plain = size(load(SCENARIOS / "ridge-cottage.toml"), daily=True)
    told = json.loads(json.dumps(design.to_dict()))["by_chance"]

    assert design.sizes == plain.sizes
    assert plain.by_chance is None
    assert plain.to_dict()["by_chance"] is None
    assert told["limit"] == "1 in 1,000 draws"
    assert told["cost"]["value"] < told["code_cost"]["value"]
    assert told["bound"]["value"] <= told["cost"]["value"]
    assert set(told["changes"]) <= set(told["sizes"]) <= set(design.sizes)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("seldom", "neither like"),
        ("10 gal a year", "gal"),
        ("30 h a year", "out of range"),
        ("3 in 2 draws", "out of range"),
        ("1 in 0 draws", "out of range"),
    ],
)
def test_a_wrong_limit_is_told_with_what_was_expected(text: str, words: str) -> None:
    """Exit 2 with the value and a right example."""
    file = (SCENARIOS / "ridge-cottage.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError) as raised:
        loads(file.replace("[limits]", f'[limits]\nshort = "{text}"'))

    assert any(words in problem.message for problem in raised.value.problems)


@pytest.mark.parametrize(
    ("text", "a_year", "share"),
    [
        ("10 min a year", 600.0, None),
        ("1.5 h per year", 5400.0, None),
        ("1 in 100 draws", None, 0.01),
        ("3 in 10,000", None, 3e-4),
    ],
)
def test_limits_are_read_as_people_write_them(
    text: str, a_year: float | None, share: float | None
) -> None:
    """A time a year, or a part of draws; what was written is kept."""
    file = (SCENARIOS / "ridge-cottage.toml").read_text(encoding="utf-8")
    limit = loads(file.replace("[limits]", f'[limits]\nshort = "{text}"')).limits.short

    assert limit == ShortLimit(text=text, a_year=a_year, share=share)
