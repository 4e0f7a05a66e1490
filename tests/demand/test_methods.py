"""What each demand method counts: sides, hose bibbs, flush valves, continuous loads, mixing."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.stats import binom

from supplycalc.demand import DEMAND_METHODS, Demand, design_flows, method_record
from supplycalc.demand.exact import hot_share
from supplycalc.demand.peak_demand_study import estimates, modified_wistort, wistort
from supplycalc.demand.probability import Below
from supplycalc.model import House, Water
from supplycalc.network import Tree, build_tree
from tests.demand.houses import fixture, home_runs, house_of
from tests.houses import GPM


def demanded(house: House) -> tuple[Tree, Demand]:
    """Tree and demand by the house's own method."""
    tree = build_tree(house)
    return tree, design_flows(tree)


def at(tree: Tree, values: tuple[float, ...], run: str) -> float:
    """Value of a run by its name."""
    return values[tree.names.index(run)]


def gpm(tree: Tree, demand: Demand, run: str) -> float:
    """Design flow of a run [gpm]."""
    return at(tree, demand.design_flow, run) / GPM


def test_every_method_serves_every_kind() -> None:
    """All kinds of the catalogue at once: finite flows, none below the largest fixture."""
    kinds = list(build_tree(home_runs(["lavatory"])).catalogue.fixtures)
    tree = build_tree(home_runs(kinds))

    for method in DEMAND_METHODS:
        demand = method_record(method).demand(tree)
        assert demand.method == method
        assert len(demand.load) == len(demand.design_flow) == len(tree)
        assert all(np.isfinite(demand.design_flow))
        assert demand.design_flow[0] >= 25.0 * GPM - 1e-12


def test_uniform_code_counts_three_quarters_a_side() -> None:
    """Bath 4: three on its cold and hot branch, four together; a closet 2.5 on its one side."""
    tree, demand = demanded(home_runs(["tub-shower", "water-closet"], "upc"))

    assert at(tree, demand.load, "tub-shower 0 cold") == pytest.approx(3.0)
    assert at(tree, demand.load, "tub-shower 0 hot") == pytest.approx(3.0)
    assert at(tree, demand.load, "water-closet 1 cold") == pytest.approx(2.5)
    assert at(tree, demand.load, "service") == pytest.approx(6.5)


def test_uniform_code_counts_further_hose_bibbs_less() -> None:
    """Two bibbs on the service: 2.5 + 1; each branch by itself 2.5."""
    tree, demand = demanded(home_runs(["hose-bibb", "hose-bibb"], "upc"))

    assert at(tree, demand.load, "service") == pytest.approx(3.5)
    assert at(tree, demand.load, "hose-bibb 1 cold") == pytest.approx(2.5)


@pytest.mark.parametrize("method", ["irc", "ipc"])
def test_small_fixtures_below_one_unit_all_run(method: str) -> None:
    """IRC: a basin's cold side 0.5 and a drinking fountain 0.25 make 0.75 units, below the table,
    whose first row of 3.0 gpm is then read: both run, 0.8 + 0.75 gpm (Tables P2903.6, P2903.1 and
    IPC 604.3). The basin by itself keeps its own 0.8 gpm."""
    house = house_of({"hall": ["lavatory", "drinking-fountain"]}, method)
    tree, demand = demanded(house)

    if method == "irc":
        assert at(tree, demand.load, "hall cold run") == pytest.approx(0.75)
    assert gpm(tree, demand, "hall cold run") == pytest.approx(1.55)
    assert gpm(tree, demand, "hall hot run") == pytest.approx(0.8)


def test_a_flush_valve_takes_the_valve_column_where_it_is_fed() -> None:
    """IRC: 6.0 + 2 x 1.4 units = 8.8: the cold side and the service read the valve column (24.1 gpm
    between 22.2 and 24.6; but the valve alone draws 25), the hot side the tank column."""
    tree, demand = demanded(home_runs(["flush-valve-closet", "tub-shower", "tub-shower"]))

    assert at(tree, demand.load, "service") == pytest.approx(8.8)
    assert gpm(tree, demand, "service") == pytest.approx(25.0)
    assert gpm(tree, demand, "heater feed") == pytest.approx(5.0)


@pytest.mark.parametrize("method", list(DEMAND_METHODS))
def test_continuous_loads_come_on_top(method: str) -> None:
    """A garden tap that runs for hours: its 4 gpm on top of the house without it, and no units."""
    kinds = ["tub-shower", "water-closet", "lavatory", "kitchen-sink"]
    house = home_runs(kinds, method)
    tap = fixture("garden", "hose-bibb", "cold manifold", "", continuous=4.0 * GPM)
    watered = replace(house, fixtures=(*house.fixtures, tap))

    tree, dry = demanded(house)
    wet_tree, wet = demanded(watered)

    assert gpm(wet_tree, wet, "service") == pytest.approx(gpm(tree, dry, "service") + 4.0)
    assert gpm(wet_tree, wet, "garden cold") == pytest.approx(4.0)
    assert at(wet_tree, wet.load, "service") == pytest.approx(at(tree, dry.load, "service"))
    assert at(wet_tree, wet.continuous, "service") == pytest.approx(4.0 * GPM)


@pytest.mark.parametrize("method", ["exact", "peak-demand-study"])
def test_of_hose_bibbs_the_largest_is_added(method: str) -> None:
    """Two bibbs of 5 gpm on a house: 5 gpm more than without them, not 10."""
    kinds = ["tub-shower", "water-closet", "lavatory", "kitchen-sink"]
    tree, dry = demanded(home_runs(kinds, method))
    wet_tree, wet = demanded(home_runs([*kinds, "hose-bibb", "hose-bibb"], method))

    assert gpm(wet_tree, wet, "service") == pytest.approx(gpm(tree, dry, "service") + 5.0)


def test_hot_share_follows_the_temperatures() -> None:
    """105 F of 50 F and 120 F: 55/70 hot; nothing but hot where it is no warmer than wanted."""
    f = lambda degrees: (degrees - 32.0) / 1.8 + 273.15  # noqa: E731

    assert hot_share(f(105), f(50), f(120)) == pytest.approx(55 / 70)
    assert hot_share(f(105), f(50), f(100)) == 1.0
    assert hot_share(f(40), f(50), f(120)) == 0.0


def test_showers_draw_both_sides_in_the_ratio_of_the_temperatures() -> None:
    """Sixty showers, 40 F and 140 F, 105 F wanted: 0.65 hot. The means of the sides are 0.35 and
    0.65 of the whole; the combined percentile is binomial; the sides are not added up twice."""
    house = home_runs(["shower"] * 60, "exact")
    f = lambda degrees: (degrees - 32.0) / 1.8 + 273.15  # noqa: E731
    house = replace(house, water=Water(cold=f(40), hot=f(140)))

    tree, demand = demanded(house)

    mean = {name: at(tree, demand.mean_flow, name) for name in ("service", "heater feed")}
    cold = at(tree, demand.mean_flow, "cold manifold")
    assert mean["service"] == pytest.approx(60 * 0.045 * 2.5 * GPM)
    assert mean["heater feed"] == pytest.approx(0.65 * mean["service"])
    assert cold == pytest.approx(0.35 * mean["service"])
    running = binom.ppf(0.99, 60, 0.045)
    assert gpm(tree, demand, "service") == pytest.approx(running * 2.5, abs=1e-9)
    assert gpm(tree, demand, "heater feed") == pytest.approx(running * 2.5 * 0.65, abs=0.1)
    assert at(tree, demand.zero_chance, "service") == pytest.approx(0.955**60)
    assert at(tree, demand.zero_chance, "heater feed") == pytest.approx(0.955**60)


def test_a_basin_may_draw_all_from_one_side() -> None:
    """Forty basins of 0.8 gpm: either side by itself may see every one whole."""
    tree, demand = demanded(home_runs(["lavatory"] * 40, "exact"))

    running = binom.ppf(0.99, 40, 0.02)
    for run in ("service", "heater feed", "cold manifold"):
        assert gpm(tree, demand, run) == pytest.approx(running * 0.8, abs=1e-9)


def test_a_flow_of_the_file_replaces_the_tables() -> None:
    """A shower that draws 1.8 gpm: exact and study both take it."""
    for method in ("exact", "peak-demand-study"):
        house = home_runs(["shower"], method)
        slow = replace(house.fixtures[0], flow=1.8 * GPM)
        tree, demand = demanded(replace(house, fixtures=(slow,)))

        assert gpm(tree, demand, "service") == pytest.approx(1.8)


def test_the_percentile_of_the_file_is_used() -> None:
    """Higher percentiles give higher flows on a big house."""
    kinds = ["shower", "lavatory", "water-closet", "kitchen-sink"] * 20
    flows = []
    for level in (0.9, 0.99, 0.9999):
        tree, demand = demanded(home_runs(kinds, "exact", percentile=level))
        flows.append(gpm(tree, demand, "service"))

    assert flows[0] < flows[1] < flows[2]


def one_mixture(numbers: dict[str, tuple[float, float, int]], times: int = 1) -> Below:
    """A mixture from (probability, gpm, count)."""
    p, q, n = (np.array(column) for column in zip(*numbers.values(), strict=True))
    return Below(
        counts=(n * times).astype(np.int64)[None, :],
        mixture=np.array([0]),
        probability=p,
        flow=q * GPM,
    )


ONE_BATH = {
    "bath": (0.055, 5.5, 1), "basin": (0.02, 1.5, 1), "closet": (0.01, 3.0, 1),
    "kitchen": (0.02, 2.2, 1), "dishwasher": (0.005, 1.3, 1), "washer": (0.055, 3.5, 1),
}  # fmt: skip
TWO_AND_A_HALF = {
    "bath": (0.055, 5.5, 1), "shower": (0.045, 2.0, 1), "basin": (0.02, 1.5, 4),
    "closet": (0.01, 3.0, 3), "kitchen": (0.02, 2.2, 1), "dishwasher": (0.005, 1.3, 1),
    "washer": (0.055, 3.5, 1), "laundry": (0.02, 2.0, 1),
}  # fmt: skip


@pytest.mark.parametrize(
    ("house", "times", "expected", "rule"),
    [
        (ONE_BATH, 1, 9.0, "all combinations"),
        (TWO_AND_A_HALF, 1, 9.0, "all combinations"),
        (TWO_AND_A_HALF, 10, 21.50499, "modified Wistort"),
        (TWO_AND_A_HALF, 50, 72.79630, "Wistort"),
    ],
)
def test_the_study_chooses_by_the_expected_number_of_busy_fixtures(
    house: dict[str, tuple[float, float, int]], times: int, expected: float, rule: str
) -> None:
    """H 0.165, 0.31, 3.1 and 15.5 against values computed by hand from the same p and q (five
    digits); they test the mathematics, not the study."""
    flows, rules = estimates(one_mixture(house, times))

    assert flows[0] / GPM == pytest.approx(expected, abs=1e-5)
    assert rules == [rule]


def test_the_two_wistort_formulas_meet_where_water_always_runs() -> None:
    """With no chance of silence the modified form is the plain one."""
    assert modified_wistort(8.855, 30.06209, 0.0) == pytest.approx(wistort(8.855, 30.06209))
    assert modified_wistort(0.6055, 2.44541, 0.84484) == pytest.approx(7.86037, abs=2e-4)


def test_no_run_carries_less_than_a_run_it_feeds() -> None:
    """In a block whose H crosses the study's limits the flows still rise towards the source."""
    rooms = {
        f"flat {i}": ["tub-shower", "lavatory", "lavatory", "water-closet", "clothes-washer"]
        for i in range(12)
    }
    for method in DEMAND_METHODS:
        tree, demand = demanded(house_of(rooms, method))

        for i in range(1, len(tree)):
            assert demand.design_flow[tree.parent[i]] >= demand.design_flow[i] - 1e-12


@pytest.mark.parametrize("method", ["irc", "ipc", "upc", "din1988", "en806"])
def test_a_continuous_flow_comes_on_top_of_the_fixtures_own(method: str) -> None:
    """A flush valve with 1 gpm that runs for hours keeps the flow of its valve; a garden tap with a
    flow of its own keeps that."""
    house = home_runs(["flush-valve-closet", "lavatory"], method)
    steady = replace(
        house,
        fixtures=tuple(replace(fixture, continuous=1.0 * GPM) for fixture in house.fixtures[:1])
        + house.fixtures[1:],
    )
    tree, dry = demanded(house)
    wet_tree, wet = demanded(steady)
    assert gpm(wet_tree, wet, "service") == pytest.approx(gpm(tree, dry, "service") + 1.0)
    assert at(wet_tree, wet.load, "service") == pytest.approx(at(tree, dry.load, "service"))

    tap = fixture("garden", "hose-bibb", "cold manifold", "", continuous=1.0 * GPM, flow=8.0 * GPM)
    with_tap = replace(house, fixtures=(*house.fixtures, tap))
    tap_tree, tapped = demanded(with_tap)
    assert gpm(tap_tree, tapped, "garden cold") >= 9.0 - 1e-9
