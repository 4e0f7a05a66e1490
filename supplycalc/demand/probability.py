"""What the methods by probability share: chances of use, and what hangs below each link."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct

from supplycalc.demand.distribution import mean_flow, zero_chance
from supplycalc.demand.ipc import flush_valve_kinds
from supplycalc.demand.loads import (
    Below,
    Columns,
    LinkFlows,
    fixture_flows,
    greatest_below,
    has_own_demand,
)
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table
from supplycalc.units.quantities import Flow


class BusyHourUse(Struct, frozen=True, kw_only=True):
    """How a fixture is used: the chance that it runs, and what it then draws from each pipe."""

    probability: float
    flow: Columns
    """[m3/s] from a pipe to its cold side, to its hot side, and to both."""


def probabilities(tree: Tree) -> dict[str, float]:
    """Chance that a fixture of each kind runs in the busy hour; kinds without one are left out.

    Source: Peak Water Demand Study, 2017; flush valves R. B. Hunter, BMS 65, 1940 (from memory, as
        is the bar sink).
    """
    table = load_table("demand_probability")
    study = {name: p for name, p, *_ in table["fixtures"]["rows"]}
    flush_valve = dict(table["older"]["rows"])["flush-valve"]
    row_of, with_valve = table["row_of"], flush_valve_kinds()
    return {
        kind: study[row_of[kind]] if kind in row_of else flush_valve
        for kind in tree.catalogue.fixtures
        if kind in row_of or kind in with_valve
    }


def outdoor_flows(tree: Tree) -> list[float]:
    """Flow of each fixture that has no probability of use, such as a hose bibb; 0 for the others.

    The largest below a pipe is added to its flow.

    Returns:
        One flow per fixture, in file order [m3/s].

    Source: Uniform Plumbing Code 2018, M 102.5; that the largest is enough, from memory.
    """
    known = probabilities(tree)
    return [
        0.0 if fixture.kind in known or not has_own_demand(fixture) else flow
        for fixture, flow in zip(tree.house.fixtures, fixture_flows(tree), strict=True)
    ]


def fixtures_below(tree: Tree, use: Callable[[Fixture], BusyHourUse | None]) -> Below:
    """Count the fixtures of each class at and below every link.

    A pipe that feeds both sides of a fixture sees its total flow; one that feeds only one side sees
    that side's. The fixture counts once, whatever hangs together.

    Args:
        use: gives a fixture's probability and flows [m3/s]; None leaves it out.

    Returns:
        The classes and, for each link, which mixture of them it feeds.
    """
    classes: dict[tuple[float, float], int] = {}
    added: list[tuple[int, int, int]] = []

    def add(point: int, used: BusyHourUse, flow: float, number: int) -> None:
        column = classes.setdefault((used.probability, flow), len(classes))
        added.append((point, column, number))

    for number, fixture in enumerate(tree.house.fixtures):
        used = use(fixture)
        if used is None or used.probability <= 0.0:
            continue
        if fixture.cold is not None:
            add(tree.index[fixture.cold.end], used, used.flow.cold, 1)
        if fixture.hot is not None:
            add(tree.index[fixture.hot.end], used, used.flow.hot, 1)
        if fixture.cold is not None and fixture.hot is not None:
            # from here up one pipe feeds both: the sides' flows give way to the total
            add(tree.meeting[number], used, used.flow.cold, -1)
            add(tree.meeting[number], used, used.flow.hot, -1)
            add(tree.meeting[number], used, used.flow.total, 1)

    running = np.zeros((len(tree) + 1, max(len(classes), 1)), dtype=np.int64)
    for point, column, number in added:
        running[point + 1, column] += number
    np.cumsum(running, axis=0, out=running)
    below = running[np.array(tree.last)] - running[:-1]
    mixtures, mixture = np.unique(below, axis=0, return_inverse=True)
    keys = list(classes) or [(0.0, 0.0)]
    return Below(
        counts=mixtures,
        mixture=mixture.reshape(-1),
        probability=np.array([key[0] for key in keys]),
        flow=np.array([key[1] for key in keys]),
    )


def link_flows(
    tree: Tree, below: Below, flow: Sequence[Flow], rule: Sequence[str] = ()
) -> LinkFlows:
    """Carry what was computed of each mixture over to the links that feed it.

    Returns:
        Flows in m3/s, the largest hose bibb below on top; chance of no flow and mean; the load is
        the expected number of busy fixtures.

    Source: number and mean of independent events (textbook); hose bibbs as `outdoor_flows`.
    """
    busy = (below.counts @ below.probability).tolist()
    silent = zero_chance(below.counts, below.probability).tolist()
    mean = mean_flow(below.counts, below.probability, below.flow).tolist()
    mixture = below.mixture.tolist()
    outdoor = greatest_below(tree, outdoor_flows(tree))
    return LinkFlows(
        load=tuple(busy[row] for row in mixture),
        design_flow=tuple(
            flow[row] + outside for row, outside in zip(mixture, outdoor, strict=True)
        ),
        zero_chance=tuple(silent[row] for row in mixture),
        mean_flow=tuple(mean[row] for row in mixture),
        rule=tuple(rule[row] for row in mixture) if rule else (),
    )
