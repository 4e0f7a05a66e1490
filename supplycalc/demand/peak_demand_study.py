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

from supplycalc.demand.distribution import mean_flow, percentile_flows, variance, zero_chance
from supplycalc.demand.loads import (
    Columns,
    Demand,
    fixture_flows,
    greatest_below,
    largest_flows,
    not_below_feeds,
)
from supplycalc.demand.probability import Below, Use, fixtures_below
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table, to_si

LEVEL = 0.99
"""The study's percentile."""

FLUSH_VALVE = "water_closet_flushometer_valve"
"""Row of the IPC table that marks fixtures with a flush valve."""

RULES = ("single fixture", "all combinations", "modified Wistort", "Wistort")


def modified_wistort(mean: float, spread: float, silent: float, level: float = LEVEL) -> float:
    """Percentile of the flow while water runs, taken as normal with the truncated moments.

    Args:
        mean: of the flow, zeros included [m3/s].
        spread: variance of the flow, zeros included [m6/s2].
        silent: chance that nothing runs.
        level: the percentile.

    Returns:
        Flow [m3/s].

    Source: Peak Water Demand Study, 2017 (formula from memory): with P0 the chance of no flow, the
        flow while water runs has mean M/(1-P0) and mean square (V + M^2)/(1-P0).
    """
    if silent >= 1.0:
        return 0.0
    z = _normal(level)
    under = max((1.0 - silent) * spread - silent * mean * mean, 0.0)
    return (mean + z * math.sqrt(under)) / (1.0 - silent)


def wistort(mean: float, spread: float, level: float = LEVEL) -> float:
    """Percentile of the flow taken as normal: large buildings, where some water always runs.

    Args:
        mean: of the flow [m3/s].
        spread: variance of the flow [m6/s2].
        level: the percentile.

    Returns:
        Flow [m3/s].

    Source: R. Wistort, A New Look at Determining Water Demands in Buildings, 1994 (from memory).
    """
    return mean + _normal(level) * math.sqrt(spread)


def _normal(level: float) -> float:
    """The standard normal percentile; imported here so that other methods need not wait for it."""
    from statistics import NormalDist

    return NormalDist().inv_cdf(level)


def estimates(below: Below, level: float = LEVEL) -> tuple[list[float], list[str]]:
    """Apply the study's estimators to every distinct mixture of fixtures.

    Args:
        below: classes and mixtures.
        level: the percentile.

    Returns:
        For each mixture its flow [m3/s] and the rule that gave it.

    Source: Peak Water Demand Study, 2017; limits of H as quoted in a review of the literature.
    """
    counts, p, q = below.counts, below.probability, below.flow
    limit = dict(load_table("demand_probability")["limit"]["rows"])
    busy = counts @ p
    silent = zero_chance(counts, p)
    mean, spread = mean_flow(counts, p, q), variance(counts, p, q)
    exact = busy <= limit["all-combinations"] + 1e-12
    while_running = silent[exact] + level * (1.0 - silent[exact])
    enumerated = iter(percentile_flows(counts[exact], p, q, while_running).tolist())
    flows: list[float] = []
    used: list[str] = []
    for i, number in enumerate(counts.sum(axis=1).tolist()):
        if exact[i]:
            flows.append(next(enumerated))
            used.append(RULES[0] if number == 1 else RULES[1] if number else "")
        elif busy[i] <= limit["modified-wistort"] + 1e-12:
            flows.append(
                modified_wistort(float(mean[i]), float(spread[i]), float(silent[i]), level)
            )
            used.append(RULES[2])
        else:
            flows.append(wistort(float(mean[i]), float(spread[i]), level))
            used.append(RULES[3])
    return flows, used


def design_flows(tree: Tree) -> Demand:
    """Design flows by the Peak Water Demand Study.

    The same p and q serve cold, hot and combined pipes, as in the study; a fixture's own flow in
    the file replaces q. Of hose bibbs the largest below a pipe is added.

    Args:
        tree: the supply.

    Returns:
        The design flows in m3/s; the load is H, the expected number of busy fixtures.

    Source: Peak Water Demand Study, 2017, and Uniform Plumbing Code 2018, Appendix M (p and
        q as copied in public source code; that one of several hose bibbs is enough, from memory).
    """
    below = fixtures_below(tree, _use(tree))
    flows, rules = estimates(below)
    outdoor = greatest_below(tree, outdoor_flows(tree))
    mixture = below.mixture.tolist()
    largest = largest_flows(tree)
    summed = [flows[row] + outside for row, outside in zip(mixture, outdoor, strict=True)]
    silent = zero_chance(below.counts, below.probability).tolist()
    mean = mean_flow(below.counts, below.probability, below.flow).tolist()
    busy = (below.counts @ below.probability).tolist()
    return Demand(
        method="peak-demand-study",
        load_name="expected busy fixtures",
        load=tuple(busy[row] for row in mixture),
        design_flow=tuple(map(max, not_below_feeds(tree, summed), largest)),
        largest=tuple(largest),
        zero_chance=tuple(silent[row] for row in mixture),
        mean_flow=tuple(mean[row] for row in mixture),
        rule=tuple(rules[row] for row in mixture),
    )


def outdoor_flows(tree: Tree) -> list[float]:
    """Flow of each fixture that has no probability of use, such as a hose bibb; 0 for the others.

    The largest below a pipe is added to its flow.

    Args:
        tree: the supply.

    Returns:
        One flow per fixture, in file order [m3/s].

    Source: Uniform Plumbing Code 2018, M 102.5; that the largest is enough, from memory.
    """
    known = probabilities(tree)
    return [
        0.0 if fixture.kind in known or fixture.continuous is not None else flow
        for fixture, flow in zip(tree.house.fixtures, fixture_flows(tree), strict=True)
    ]


def probabilities(tree: Tree) -> dict[str, float]:
    """Chance that a fixture of each kind runs in the busy hour.

    Args:
        tree: for its catalogue.

    Returns:
        Probability by kind; kinds without one are left out.

    Source: Peak Water Demand Study, 2017; flush valves R. B. Hunter, BMS 65, 1940 (from memory, as
        is the bar sink).
    """
    table = load_table("demand_probability")
    study = {name: p for name, p, *_ in table["fixtures"]["rows"]}
    flush_valve = dict(table["older"]["rows"])["flush-valve"]
    found: dict[str, float] = {}
    for name, kind in tree.catalogue.fixtures.items():
        if "pwds" in kind.rows:
            found[name] = study[kind.rows["pwds"]]
        elif kind.rows["ipc"] == FLUSH_VALVE:
            found[name] = flush_valve
    return found


def _use(tree: Tree) -> Callable[[Fixture], Use | None]:
    chance = probabilities(tree)
    study = {name: q for name, _, q, _ in load_table("demand_probability")["fixtures"]["rows"]}
    uses: dict[tuple[str, float | None], Use] = {}

    def use(fixture: Fixture) -> Use | None:
        if fixture.kind not in chance or fixture.continuous is not None:
            return None
        key = (fixture.kind, fixture.flow)
        if key not in uses:
            kind = tree.kind_of(fixture)
            flow = fixture.flow
            if flow is None:
                row = kind.rows.get("pwds")
                flow = kind.flow(fixture.valve) if row is None else to_si(study[row], "gpm")
            both = Columns(cold=flow, hot=flow, total=flow)
            uses[key] = Use(probability=chance[fixture.kind], flow=both)
        return uses[key]

    return use
