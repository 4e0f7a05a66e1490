"""Sizes by price: the list's cost, the cheapest choice, nothing unpriced is chosen."""

from __future__ import annotations

import itertools

import pytest
from msgspec.structs import replace

from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.problems import InputError
from supplycalc.questions.size.study import size
from supplycalc.reading.prices import PriceList, loads_prices
from tests.houses import FOOT, cold_fixture, pipe, two_storey

# invented; the largest size is the cheapest, against all mass
RATES = {"1/2": 0.9, "3/4": 0.8, "1": 1.5, "1-1/4": 0.7}


def prices(rates: dict[str, float] = RATES) -> PriceList:
    """A list of PEX by the foot, in coils of 100 ft and dearer ones of 10 ft."""
    text = '[list]\ndate = "2026-03-01"\ncurrency = "USD"\n'
    for nominal, rate in rates.items():
        for feet, factor in ((100, 1.0), (10, 1.4)):
            text += (
                f'[[pipe]]\nmaterial = "pex-sdr9"\nsize = "{nominal}"\nlength = "{feet} ft"\n'
                f"price = {feet * rate * factor}\n"
            )
    return loads_prices(text)


def house(sizes: tuple[str, ...] = ("1/2", "3/4", "1", "1-1/4")) -> House:
    """A line of two runs to two outlets, all in PEX."""
    house = two_storey(
        runs=(pipe("service", "source", "entry", 60.0), pipe("trunk", "entry", "hall", 20.0)),
        devices=(),
        fixtures=(
            cold_fixture("basin", "lavatory", "hall", 25.0, elevation=3.0),
            cold_fixture("tap", "hose-bibb", "entry", 15.0),
        ),
    )
    return map_runs(house, lambda run: replace(run, sizes=sizes))


def test_cost_is_length_times_the_cheapest_rate() -> None:
    """By hand from the chosen sizes."""
    design = size(house(), prices=prices())
    by_hand = sum(RATES[result.size.nominal] * result.run.length / FOOT for result in design.runs)

    assert design.cost_basis == "price list"
    assert design.cost == pytest.approx(by_hand, rel=1e-9)


def test_no_cheaper_choice_works() -> None:
    """Against every combination of sizes, each fixed and judged by itself."""
    base = house(("1/2", "3/4", "1"))
    design = size(base, prices=prices())
    names = [result.run.name for result in design.runs]
    best = None
    for combination in itertools.product(("1/2", "3/4", "1"), repeat=len(names)):
        chosen = dict(zip(names, combination, strict=True))

        def each(run: Run, chosen: dict[str, str] = chosen) -> Run:
            return replace(run, size=chosen[run.name], sizes=())

        tried = size(map_runs(base, each), prices=prices(), mend=False)
        inside_diameters = {result.index: result.size.inside_diameter for result in tried.runs}
        wider = any(
            inside_diameters[result.index]
            > inside_diameters.get(tried.tree.parent[result.index], 1.0)
            for result in tried.runs
        )
        fast = any(result.velocity > result.velocity_limit * (1 + 1e-9) for result in tried.runs)
        small = {"size-under-fixture-minimum", "service-minimum"} & {
            finding.code for finding in tried.findings
        }
        if tried.shortfall > 0.0 or wider or fast or small:
            continue
        best = tried.cost if best is None else min(best, tried.cost)

    assert best is not None
    # limits of the codes that the solver keeps may only make its choice dearer than this bound
    assert design.cost == pytest.approx(best, rel=1e-9)


def test_price_can_turn_the_choice() -> None:
    """A cheap large size is taken where the least mass would be a small one."""
    by_mass = size(house())
    by_price = size(house(), prices=prices())
    inside_diameters = [
        (a.size.inside_diameter, b.size.inside_diameter)
        for a, b in zip(by_price.runs, by_mass.runs, strict=True)
    ]

    assert all(price >= mass for price, mass in inside_diameters)
    assert any(price > mass for price, mass in inside_diameters)


def test_sizes_without_a_price_are_left_out_and_told() -> None:
    """Only what is priced may be chosen; the assumption says what was left out."""
    some = {key: rate for key, rate in RATES.items() if key != "1-1/4"}
    design = size(house(), prices=prices(some))

    assert all(result.size.nominal in some for result in design.runs)
    assert any("pex-sdr9 1-1/4" in assumption.text for assumption in design.assumptions)


def test_nothing_is_guessed() -> None:
    """A fixed size, or a run, without any price: refused with the run's name."""
    fixed = map_runs(house(), lambda run: replace(run, size="2") if run.name == "trunk" else run)
    with pytest.raises(InputError, match="'trunk': the price list has no price for pex-sdr9 2"):
        size(fixed, prices=prices())
    other = map_runs(house(), lambda run: replace(run, material="copper-l", joining="soldered"))
    with pytest.raises(InputError, match="copper-l 1/2 or 3/4") as caught:
        size(other, prices=prices())
    told = [problem.message for problem in caught.value.problems]
    assert len(told) == len({text[text.index("copper-l") :] for text in told})
    assert any("more of its kind" in text for text in told)


def test_a_remedy_without_a_price_is_not_tried() -> None:
    """A house that falls short is sized all the same where the list lacks the larger sizes."""
    fixtures = (cold_fixture("shower", "shower", "entry", 60.0, elevation=20.0, size="3/8"),)
    runs = (pipe("service", "source", "entry", 60.0, sizes=("3/4",)),)
    short = two_storey(runs=runs, devices=(), fixtures=fixtures)
    design = size(short, prices=prices({"3/8": 0.6, "3/4": 0.8}))

    assert design.shortfall > 0.0
    assert design.remedies
    assert not any("1 instead" in remedy.text for remedy in design.remedies)
