"""Demand method `irc`: fixture units and the estimating table of the residential code."""

from __future__ import annotations

from functools import cache

import numpy as np

from supplycalc.demand.fixture_units import Curve, code_demand, load_curve
from supplycalc.demand.groups import (
    BASIN,
    BATH,
    CLOSET,
    DISHWASHER,
    LAUNDRY_TUB,
    SINK,
    WASHER,
    Family,
    Group,
)
from supplycalc.demand.loads import Columns, Demand
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table

FLUSH_VALVE, HOSE_BIBB = "flush-valve-closet", "hose-bibb"


def design_flows(tree: Tree) -> Demand:
    """Design flows by fixture units: cold, hot and total columns, then the conversion table.

    Below one fixture unit the table's first row is read, though no pipe gets more than its fixtures
    draw together. Between rows the table is read by straight lines. Group values count where one
    run feeds the fixtures of a room. A hose bibb for which the file asks more than its row stands
    for counts as the fixture units of that flow.

    Args:
        tree: the supply.

    Returns:
        Fixture units and design flows in m3/s.

    Source: International Residential Code 2018/2021, Tables P2903.6 and P2903.6(1).
    """
    table = fixture_units()
    rows = {name: kind.rows["irc"] for name, kind in tree.catalogue.fixtures.items()}

    def columns(fixture: Fixture) -> Columns:
        row = table[rows[fixture.kind]]
        if rows[fixture.kind] != HOSE_BIBB or fixture.flow is None:
            return row
        units = max(row.total, equivalent_units(fixture.flow))
        return Columns(cold=units, hot=row.hot, total=units)

    return code_demand(
        tree,
        method="irc",
        columns=columns,
        families=families(),
        valve_kinds={name for name, row in rows.items() if row == FLUSH_VALVE},
        tank=conversion("flush_tank"),
        valve=conversion("flush_valve"),
    )


def equivalent_units(flow: float) -> float:
    """Fixture units for which the flush-tank column of the estimating table gives a flow.

    Args:
        flow: of a hose bibb or the like [m3/s].

    Returns:
        Fixture units; 0 below the table, the last row's beyond it.

    Source: International Residential Code 2018/2021, Table P2903.6, footnote on hose bibbs (from
        memory).
    """
    curve = conversion("flush_tank")
    return float(np.interp(flow, curve.flows, curve.loads, left=0.0))


@cache
def fixture_units() -> dict[str, Columns]:
    """The fixture-unit rows by name [fixture units].

    Returns:
        Cold, hot and total column of each row.

    Source: International Residential Code 2018/2021, Table P2903.6.
    """
    return _columns("fixture_units")


@cache
def families() -> tuple[Family, ...]:
    """The rooms whose fixtures the table gives a group value [fixture units].

    Returns:
        Bathroom, kitchen and laundry with their groups.

    Source: International Residential Code 2018/2021, Table P2903.6, group rows.
    """
    value = _columns("groups")
    full = Group(title="full bath", slots=(CLOSET, BASIN, BATH), value=value["full-bath"])
    half = Group(title="half bath", slots=(CLOSET, BASIN), value=value["half-bath"])
    kitchen = Group(title="kitchen", slots=(SINK, DISHWASHER), value=value["kitchen"])
    laundry = Group(title="laundry", slots=(WASHER, LAUNDRY_TUB), value=value["laundry"])
    return (
        Family(title="bathroom", groups=(full, half), extras=frozenset({"bidet"})),
        Family(title="kitchen", groups=(kitchen,), extras=frozenset({"bar-sink"})),
        Family(title="laundry", groups=(laundry,), extras=frozenset({"utility-sink"})),
    )


@cache
def conversion(column: str) -> Curve:
    """One column of the estimating table.

    Args:
        column: "flush_tank" or "flush_valve".

    Returns:
        Fixture units to flow in m3/s.

    Source: International Residential Code 2018/2021, Table P2903.6(1).
    """
    return load_curve("demand_irc", column)


def _columns(table: str) -> dict[str, Columns]:
    return {
        name: Columns(cold=cold, hot=hot, total=total)
        for name, cold, hot, total, _ in load_table("demand_irc")[table]["rows"]
    }
