"""Demand method `en806`: loading units of the European simplified method.

The standard goes from loading units straight to pipe sizes; its tables hold the simultaneity and
rest on 2.0 m/s. The design flow for a sum of loading units is read back from them: at that flow and
2.0 m/s every pipe of the tables carries the loading units printed for it, and the tightest pipe
decides. Its copper and PE-X tables, known from memory only, do not take part.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from supplycalc.demand.fixture_units import Curve
from supplycalc.demand.loads import (
    Columns,
    Demand,
    greatest_below,
    largest_below,
    loads,
    not_below_largest,
)
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table, to_si

SHARED_FROM = 6.0
"""[LU] Sums from which the tables give a pipe for several draw-offs, without limits of length."""


def design_flows(tree: Tree) -> Demand:
    """Design flows by loading units, read back from the standard's pipe tables.

    A pipe that feeds both sides of a mixer counts both. Never less than the largest draw-off below.

    Args:
        tree: the supply.

    Returns:
        Loading units and design flows in m3/s.

    Source: EN 806-3:2006, Table 2, Clause 4.4 and Tables 3; the flows are derived.
    """
    units_of, one = loading_units(), draw_off_flow()
    units = [
        0.0 if fixture.continuous is not None else units_of[tree.kind_of(fixture).rows["en806"]]
        for fixture in tree.house.fixtures
    ]
    by_name = dict(zip((one.name for one in tree.house.fixtures), units, strict=True))

    def columns(fixture: Fixture) -> Columns:
        value = by_name[fixture.name]
        return Columns(cold=value, hot=value, total=2.0 * value)

    load = loads(tree, columns)
    single = np.array(greatest_below(tree, units)) * one
    flow = np.maximum(conversion().flow(load), single)
    largest = largest_below(tree)
    return Demand(
        method="en806",
        load_name="loading units",
        load=tuple(load.tolist()),
        design_flow=not_below_largest(flow.tolist(), largest),
        largest=tuple(top[0] if top else 0.0 for top in largest),
    )


@cache
def loading_units() -> dict[str, float]:
    """Loading units of each draw-off point [LU].

    Returns:
        Units by the row's name.

    Source: EN 806-3:2006, Table 2.
    """
    return {
        name: units for name, units, _, _ in load_table("demand_en806")["loading_units"]["rows"]
    }


def draw_off_flow() -> float:
    """Draw-off flow of one loading unit [m3/s]; EN 806-3:2006, Table 2."""
    unit = load_table("demand_en806")["unit"]
    return to_si(unit["value"], unit["unit"])


@cache
def conversion() -> Curve:
    """Design flow over the sum of loading units.

    Returns:
        Loading units to flow in m3/s: up to the first shared pipe in proportion.

    Source: derived from EN 806-3:2006, Tables 3 (PP, PVC-C, PEX/AL/PE-HD, PB) and Clause 4.4.
    """
    table = load_table("demand_en806")
    velocity = table["velocity"]["value"]
    tightest: dict[float, float] = {}
    for _, _, inside, units, _, _, check in table["pipes"]["rows"]:
        if check == "seen" and units[-1] >= SHARED_FROM:
            carries = velocity * math.pi / 4.0 * to_si(inside, "mm") ** 2
            tightest[units[-1]] = min(tightest.get(units[-1], math.inf), carries)
    loads_, flows = [], []
    lowest = math.inf
    for units in sorted(tightest, reverse=True):
        lowest = min(lowest, tightest[units])
        loads_.append(units)
        flows.append(lowest)
    return Curve(loads=tuple(loads_[::-1]), flows=tuple(flows[::-1]), from_origin=True)
