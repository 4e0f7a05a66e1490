"""Speed of the exact demand, as ratios to Monte Carlo with 100,000 draws; by hand only.

`pytest tests/benchmarks/test_demand_benchmark.py -s` prints, for houses of 30 and 60 fixtures and
buildings of 1,000 and 10,000, the time of the computed distribution for every run, against draws
for the service line alone (a uniform number per fixture, or a binomial number per class) and for
every run (fewer draws for the large ones, scaled). Nothing is asserted on wall clock; the service's
percentile must agree within the sampling error.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
import pytest

from supplycalc.demand import exact
from supplycalc.demand.distribution import percentile_flows
from supplycalc.demand.probability import fixtures_below
from supplycalc.model import Fixture, House, Project, Run
from supplycalc.network import Tree, build_tree
from tests.demand.houses import fixture, heater
from tests.houses import GPM, pipe, well

FLAT = (
    "tub-shower", "shower", "lavatory", "lavatory", "water-closet", "water-closet", "kitchen-sink",
    "dishwasher", "clothes-washer", "laundry-tub",
)  # fmt: skip
DRAWS = 100_000


def building(flats: int, per_floor: int = 5) -> House:
    """Flats of ten fixtures on floors on a riser, cold and hot (invented)."""
    runs: list[Run] = [
        pipe("service", "source", "entry"), pipe("feed", "entry", "heater inlet"),
    ]  # fmt: skip
    fixtures: list[Fixture] = []
    cold, hot = "entry", "heater outlet"
    for flat in range(flats):
        if flat % per_floor == 0:
            for side, start in (("cold", cold), ("hot", hot)):
                runs.append(pipe(f"{side} riser {flat}", start, f"{side} floor {flat}"))
            cold, hot = f"cold floor {flat}", f"hot floor {flat}"
        runs.append(pipe(f"cold flat {flat} run", cold, f"cold flat {flat}"))
        runs.append(pipe(f"hot flat {flat} run", hot, f"hot flat {flat}"))
        for i, kind in enumerate(FLAT):
            name = f"flat {flat} {kind} {i}"
            fixtures.append(fixture(name, kind, f"cold flat {flat}", f"hot flat {flat}"))
    return House(
        project=Project(name="Building", demand="exact"),
        source=well(),
        runs=tuple(runs),
        devices=(heater(),),
        fixtures=tuple(fixtures),
    )


def seconds(call: Callable[[], object], rounds: int) -> float:
    """Median time of a call [s]."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def service_classes(tree: Tree) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Counts, probabilities and flows of the fixtures below the service."""
    below = fixtures_below(tree, exact._use(tree))
    return below.counts[below.mixture[1]], below.probability, below.flow


def by_fixture(tree: Tree, draws: int) -> np.ndarray:
    """Total flows, a uniform number for every fixture and draw [m3/s]."""
    counts, probability, flow = service_classes(tree)
    rng = np.random.default_rng(5)
    total = np.zeros(draws)
    for n, p, q in zip(counts.tolist(), probability.tolist(), flow.tolist(), strict=True):
        for _ in range(n):
            total += q * (rng.random(draws) < p)
    return total


def by_class(tree: Tree, draws: int) -> np.ndarray:
    """Total flows of the service, a binomial number for every class and draw [m3/s]."""
    counts, probability, flow = service_classes(tree)
    rng = np.random.default_rng(6)
    total: np.ndarray = rng.binomial(counts, probability, (draws, counts.size)) @ flow
    return total


def every_run_by_draws(tree: Tree, draws: int) -> np.ndarray:
    """The 99th percentile of every run from draws [m3/s]."""
    use = exact._use(tree)
    rng = np.random.default_rng(7)
    flow = np.zeros((len(tree), draws))
    for number, drawn in enumerate(tree.house.fixtures):
        used = use(drawn)
        if used is None:
            continue
        on = rng.random(draws) < used.probability
        if drawn.cold is not None:
            flow[tree.index[drawn.cold.end]] += on * used.flow.cold
        if drawn.hot is not None:
            flow[tree.index[drawn.hot.end]] += on * used.flow.hot
        if drawn.cold is not None and drawn.hot is not None:
            extra = used.flow.total - used.flow.cold - used.flow.hot
            flow[tree.meeting[number]] += on * extra
    for link in range(len(tree) - 1, 0, -1):
        flow[tree.parent[link]] += flow[link]
    rank = int(np.ceil(0.99 * draws)) - 1
    result: np.ndarray = np.partition(flow, rank, axis=1)[:, rank]
    return result


@pytest.mark.parametrize(
    ("flats", "rounds", "share"), [(3, 25, 1), (6, 25, 1), (100, 9, 10), (1000, 5, 100)]
)
def test_every_run_against_monte_carlo(flats: int, rounds: int, share: int) -> None:
    """Every run computed, against 1e5 draws of the service line and of every run."""
    tree = build_tree(building(flats))
    exact.METHOD.demand(tree)
    counts, p, q = service_classes(tree)
    mixtures = len(fixtures_below(tree, exact._use(tree)).counts)

    every_run = seconds(lambda: exact.METHOD.demand(tree), rounds)
    alone = seconds(lambda: percentile_flows(counts[None, :], p, q, 0.99), rounds)
    per_fixture = seconds(lambda: by_fixture(tree, DRAWS // share), 1) * share
    per_class = seconds(lambda: by_class(tree, DRAWS), 1)
    all_drawn = seconds(lambda: every_run_by_draws(tree, DRAWS // share), 1) * share

    print(
        f"\n{len(tree.house.fixtures)} fixtures, {len(tree) - 1} runs and devices, {mixtures} "
        f"distinct mixtures: every run {1e3 * every_run:.1f} ms, service alone {1e3 * alone:.2f} "
        f"ms. 1e5 draws: service by fixture {1e3 * per_fixture:.0f} ms "
        f"({per_fixture / every_run:.0f} x every run), by class {1e3 * per_class:.0f} ms "
        f"({per_class / every_run:.1f} x); every run {1e3 * all_drawn:.0f} ms "
        f"({all_drawn / every_run:.0f} x)"
    )
    flow = percentile_flows(counts[None, :], p, q, 0.99)[0]
    drawn = by_class(tree, DRAWS)
    error = 4.0 * np.sqrt(0.99 * 0.01 / DRAWS)
    assert (drawn <= flow + 0.051 * GPM).mean() >= 0.99 - error
    assert (drawn < flow - 0.051 * GPM).mean() <= 0.99 + error
