"""Demand method `listed`: the user says what runs at once."""

from __future__ import annotations

from supplycalc.demand.loads import Columns, LinkFlows, has_own_demand, outlet_flows, summed_loads
from supplycalc.demand.method import Method
from supplycalc.model import Fixture
from supplycalc.network import Tree


def _flows(tree: Tree) -> LinkFlows:
    """Add the flows of the fixtures that are listed as running at once.

    Without a list every pipe carries its own two most demanding fixtures.

    Returns:
        LinkFlows in m3/s; this method has no load of its own.

    Source: common practice, no source.
    """
    listed = set(tree.house.project.listed)
    if not listed:
        flow = _two_largest(tree)
    else:
        flow_of = outlet_flows(tree)

        def columns(fixture: Fixture) -> Columns:
            return Columns.alike(
                flow_of[fixture.name] if fixture.name in listed and has_own_demand(fixture) else 0.0
            )

        flow = [max(value, 0.0) for value in summed_loads(tree, columns).tolist()]
    return LinkFlows(load=(0.0,) * len(tree), design_flow=tuple(flow))


def _two_largest(tree: Tree) -> list[float]:
    """Flow of the two largest fixtures below each link together, continuous loads left out [m3/s].

    A fixture whose cold and hot sides both hang below a link counts once; of equal flows the first
    names are kept, so that the order of the file is no matter.
    """
    below: list[dict[str, float]] = [{} for _ in range(len(tree))]
    for outlet in tree.outlets:
        if has_own_demand(outlet.fixture):
            below[outlet.link][outlet.fixture.name] = outlet.flow
    for link in range(len(tree) - 1, -1, -1):
        ranked = sorted(below[link].items(), key=lambda item: (-item[1], item[0]))
        below[link] = dict(ranked[:2])
        if link:
            below[tree.parent[link]].update(below[link])
    return [sum(largest.values()) for largest in below]


METHOD = Method(
    name="listed",
    flows=_flows,
    counts="the fixtures that you list as running at once, or the two most demanding ones",
    verb="takes only the fixtures that run at once by your list, or the two largest",
)
