"""Demand method `listed`: the user says what runs at once."""

from __future__ import annotations

import numpy as np

from supplycalc.demand.loads import Columns, Demand, largest_below, loads, not_below_largest
from supplycalc.model import Fixture
from supplycalc.network import Tree


def design_flows(tree: Tree) -> Demand:
    """Add the flows of the fixtures that are listed as running at once.

    Without a list every pipe carries its own two most demanding fixtures. With one, a pipe carries
    what is listed below it, and never less than its largest single fixture.

    Args:
        tree: the supply, whose project may list fixture names.

    Returns:
        The design flows in m3/s; this method has no load of its own.

    Source: common practice, no source.
    """
    listed = set(tree.house.project.listed)
    if not listed:
        two = largest_below(tree, 2)
        flows = [sum(top) for top in two]
    else:
        flow_of = {outlet.fixture.name: outlet.flow for outlet in tree.outlets}

        def columns(fixture: Fixture) -> Columns:
            flow = flow_of[fixture.name] if fixture.name in listed else 0.0
            return Columns(cold=flow, hot=flow, total=flow)

        flows = np.maximum(loads(tree, columns), 0.0).tolist()
    largest = largest_below(tree)
    return Demand(
        method="listed",
        load_name="",
        load=tuple(0.0 for _ in flows),
        design_flow=not_below_largest(flows, largest),
        largest=tuple(top[0] if top else 0.0 for top in largest),
    )
