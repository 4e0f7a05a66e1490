"""Demand method `peak-demand-study`: the probability approach for efficient fixtures.

S. Buchberger, T. Omaghomi, T. Wolfe, J. Hewitt, D. Cole: Peak Water Demand Study, 2017. Each kind
of fixture has a probability p of running in the busy hour and a design flow q. The design flow is
the 99th percentile of the flow while any water runs at all (zero-truncated), estimated in one of
three ways by H, the expected number of busy fixtures (limits of H as quoted in a review).

The estimators do not meet at their limits, and a truncated percentile can fall where a small
fixture joins a large one. No run is therefore given less than a run it feeds.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from msgspec.structs import replace

from supplycalc.demand.distribution import mean_flow, percentile_flows, variance, zero_chance
from supplycalc.demand.loads import Below, Columns, LinkFlows, has_own_demand, not_below_feeds
from supplycalc.demand.method import Formula, Method
from supplycalc.demand.probability import (
    BusyHourUse,
    fixtures_below,
    link_flows,
    probabilities,
)
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table, to_si
from supplycalc.units.quantities import Flow

LEVEL = 0.99
"""The study's percentile."""

RULES = ("single fixture", "all combinations", "modified Wistort", "Wistort")


def modified_wistort(mean: Flow, spread: float, silent: float, level: float = LEVEL) -> Flow:
    """Percentile of the flow while water runs, taken as normal with the truncated moments.

    Args:
        spread: variance of the flow, zeros included [m6/s2].
        silent: chance that nothing runs.
        level: the percentile.

    Source: Peak Water Demand Study, 2017 (formula from memory): with P0 the chance of no flow, the
        flow while water runs has mean M/(1-P0) and mean square (V + M^2)/(1-P0).
    """
    if silent >= 1.0:
        return 0.0
    z = _normal(level)
    under = max((1.0 - silent) * spread - silent * mean * mean, 0.0)
    return (mean + z * math.sqrt(under)) / (1.0 - silent)


def wistort(mean: Flow, spread: float, level: float = LEVEL) -> Flow:
    """Percentile of the flow taken as normal: large buildings, where some water always runs.

    Args:
        spread: variance of the flow [m6/s2].
        level: the percentile.

    Source: R. Wistort, A New Look at Determining Water Demands in Buildings, 1994 (from memory).
    """
    return mean + _normal(level) * math.sqrt(spread)


def _normal(level: float) -> float:
    """The standard normal percentile; imported here so that other methods need not wait for it."""
    from statistics import NormalDist

    return NormalDist().inv_cdf(level)


def estimates(below: Below, level: float = LEVEL) -> tuple[list[float], list[str]]:
    """Apply the study's estimators to every distinct mixture of fixtures.

    Returns:
        For each mixture its flow [m3/s] and the rule that gave it.

    Source: Peak Water Demand Study, 2017; limits of H as quoted in a review of the literature.
    """
    counts, p, q = below.counts, below.probability, below.flow
    limit = dict(load_table("demand_probability")["limit"]["rows"])
    busy = counts @ p
    silent = zero_chance(counts, p)
    mean, spread = mean_flow(counts, p, q), variance(counts, p, q)
    few = busy <= limit["all-combinations"] + 1e-12
    while_running = silent[few] + level * (1.0 - silent[few])
    enumerated = iter(percentile_flows(counts[few], p, q, while_running).tolist())
    estimated: list[float] = []
    used: list[str] = []
    for i, number in enumerate(counts.sum(axis=1).tolist()):
        if few[i]:
            estimated.append(next(enumerated))
            used.append(RULES[0] if number == 1 else RULES[1] if number else "")
        elif busy[i] <= limit["modified-wistort"] + 1e-12:
            estimated.append(
                modified_wistort(float(mean[i]), float(spread[i]), float(silent[i]), level)
            )
            used.append(RULES[2])
        else:
            estimated.append(wistort(float(mean[i]), float(spread[i]), level))
            used.append(RULES[3])
    return estimated, used


def _flows(tree: Tree) -> LinkFlows:
    """Flows by the Peak Water Demand Study.

    The same p and q serve cold, hot and combined pipes, as in the study; a fixture's own flow in
    the file replaces q. Of hose bibbs the largest below a pipe is added.

    Returns:
        Flows in m3/s; the load is H, the expected number of busy fixtures.

    Source: Peak Water Demand Study, 2017, and Uniform Plumbing Code 2018, Appendix M (p and q, and
        that one of several hose bibbs is enough, from memory).
    """
    below = _below(tree)
    by_mixture, rules = estimates(below)
    of_links = link_flows(tree, below, by_mixture, rules)
    return replace(of_links, design_flow=tuple(not_below_feeds(tree, of_links.design_flow)))


def _below(tree: Tree) -> Below:
    """The fixtures below each link, by the study's chances and flows."""
    return fixtures_below(tree, _use(tree))


def _use(tree: Tree) -> Callable[[Fixture], BusyHourUse | None]:
    """How each fixture is used, at the study's flow or the file's own; None without a chance."""
    chance, row_of = probabilities(tree), METHOD.row_of
    study = {name: q for name, _, q, _ in load_table("demand_probability")["fixtures"]["rows"]}

    def use(fixture: Fixture) -> BusyHourUse | None:
        if fixture.kind not in chance or not has_own_demand(fixture):
            return None
        flow = fixture.flow
        if flow is None and fixture.kind in row_of:
            flow = to_si(study[row_of[fixture.kind]], "gpm")
        elif flow is None:
            flow = tree.kind_of(fixture).flow(fixture.valve)
        return BusyHourUse(probability=chance[fixture.kind], flow=Columns.alike(flow))

    return use


METHOD = Method(
    name="peak-demand-study",
    flows=_flows,
    counts="how often and how strongly efficient fixtures run in measured homes; the 99th "
    "percentile of the flow while any water runs, so the quiet moments do not count",
    verb="takes measured use of efficient fixtures, while water runs",
    heading="peak study",
    load_name="expected busy fixtures",
    fixture_table="fixtures",
    below=_below,
    unknown_outdoors="chance of use",
    formulas=(
        Formula(
            name="peak-demand-study",
            words="up to H = 1.25 all combinations while water runs, up to 5 modified Wistort, "
            "above it Wistort; no run less than a run it feeds",
            source="Peak Water Demand Study, 2017: limits of H, answers for 1, 3 and 27 dwellings, "
            "as quoted in a review of the literature; the tests hold those answers",
            check="tested",
        ),
    ),
)
