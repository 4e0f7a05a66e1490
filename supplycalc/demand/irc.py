"""Demand method `irc`: fixture units and the estimating table of the residential code."""

from __future__ import annotations

from functools import cache

import numpy as np

from supplycalc.demand.fixture_units import Curve, flows_by_column
from supplycalc.demand.loads import (
    Columns,
    Demand,
    count_below,
    largest_below,
    loads,
    not_below_largest,
)
from supplycalc.model import Fixture
from supplycalc.tables import load_table, to_si
from supplycalc.tree import Tree

FLUSH_VALVE = "flush-valve-closet"


def design_flows(tree: Tree) -> Demand:
    """Design flows by fixture units: cold, hot and total columns, then the conversion table.

    Below one fixture unit the table gives nothing; such a pipe feeds a single small fixture and
    carries that fixture's own flow. Between rows the table is read by straight lines.

    Args:
        tree: the supply [-].

    Returns:
        Fixture units and design flows in m3/s.

    Source: International Residential Code 2018/2021, Tables P2903.6 and P2903.6(1).
    """
    table = fixture_units()
    rows = {name: kind.rows["irc"] for name, kind in tree.catalogue.fixtures.items()}

    def columns(fixture: Fixture) -> Columns:
        return table[rows[fixture.kind]]

    units = loads(tree, columns)
    valves = count_below(
        tree, [float(rows[fixture.kind] == FLUSH_VALVE) for fixture in tree.house.fixtures]
    )
    largest = largest_below(tree)
    alone = np.array([top[0] if top else 0.0 for top in largest])
    flow = flows_by_column(units, valves, conversion("flush_tank"), conversion("flush_valve"))
    flow = np.where(units < 1.0 - 1e-9, alone, flow)
    return Demand(
        method="irc",
        load_name="fixture units",
        load=tuple(units.tolist()),
        design_flow=not_below_largest(flow.tolist(), largest),
        largest=tuple(alone.tolist()),
    )


@cache
def fixture_units() -> dict[str, Columns]:
    """The fixture-unit rows by name [fixture units].

    Returns:
        Cold, hot and total column of each row.

    Source: International Residential Code 2018/2021, Table P2903.6.
    """
    return {
        name: Columns(cold=cold, hot=hot, total=total)
        for name, cold, hot, total, _ in load_table("demand_irc")["fixture_units"]["rows"]
    }


@cache
def conversion(column: str) -> Curve:
    """One column of the estimating table.

    Args:
        column: "flush_tank" or "flush_valve" [-].

    Returns:
        Fixture units to flow in m3/s.

    Source: International Residential Code 2018/2021, Table P2903.6(1).
    """
    rows = load_table("demand_irc")[column]["rows"]
    return Curve(
        loads=tuple(float(units) for units, _ in rows),
        flows=tuple(to_si(flow, "gpm") for _, flow in rows),
        from_origin=True,
    )
