"""Demand method `irc`: fixture units and the estimating table of the residential code."""

from __future__ import annotations

from functools import cache

import numpy as np

from supplycalc.demand.fixture_units import Curve, code_flows, load_columns, load_curve
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
from supplycalc.demand.loads import Columns, LinkFlows
from supplycalc.demand.method import Formula, Method
from supplycalc.model import Fixture
from supplycalc.network import Tree

FLUSH_VALVE, HOSE_BIBB = "flush-valve-closet", "hose-bibb"


def _flows(tree: Tree) -> LinkFlows:
    """Flows by fixture units: cold, hot and total columns, then the conversion table.

    Up to one fixture unit the table's first row is read, though such a pipe gets no more than its
    fixtures draw together, nor a branch more than its one fixture. Between rows the table is read
    by straight lines. Group values count where one
    run feeds the fixtures of a room. A hose bibb for which the file asks more than its row stands
    for counts as the fixture units of that flow.

    Source: International Residential Code 2018/2021, Tables P2903.6 and P2903.6(1).
    """
    table = fixture_units()
    row_of = METHOD.row_of

    def columns(fixture: Fixture) -> Columns:
        row = table[row_of[fixture.kind]]
        if row_of[fixture.kind] != HOSE_BIBB or fixture.flow is None:
            return row
        units = max(row.total, equivalent_units(fixture.flow))
        return Columns(cold=units, hot=row.hot, total=units)

    return code_flows(
        tree,
        columns=columns,
        families=_families(),
        valve_kinds={kind for kind, row in row_of.items() if row == FLUSH_VALVE},
        tank=estimating_table("flush_tank"),
        valve=estimating_table("flush_valve"),
    )


def equivalent_units(flow: float) -> float:
    """Fixture units for which the flush-tank column of the estimating table gives a flow; 0 below
    the table, the last row's beyond it.

    Args:
        flow: of a hose bibb or the like [m3/s].

    Source: International Residential Code 2018/2021, Table P2903.6, footnote on hose bibbs (from
        memory).
    """
    curve = estimating_table("flush_tank")
    return float(np.interp(flow, curve.flows, curve.loads, left=0.0))


@cache
def fixture_units() -> dict[str, Columns]:
    """The fixture-unit rows by name.

    Source: International Residential Code 2018/2021, Table P2903.6.
    """
    return load_columns("demand_irc", "fixture_units")


@cache
def _families() -> tuple[Family, ...]:
    """The rooms whose fixtures the table gives a group value.

    Returns:
        Bathroom, kitchen and laundry with their groups, in fixture units.

    Source: International Residential Code 2018/2021, Table P2903.6, group rows.
    """
    value = load_columns("demand_irc", "groups")
    full = Group(title="full bath", slots=(CLOSET, BASIN, BATH), value=value["full-bath"])
    half = Group(title="half bath", slots=(CLOSET, BASIN), value=value["half-bath"])
    kitchen = Group(title="kitchen", slots=(SINK, DISHWASHER), value=value["kitchen"])
    laundry = Group(title="laundry", slots=(WASHER, LAUNDRY_TUB), value=value["laundry"])
    return (
        Family(title="bathroom", groups=(full, half), extras=frozenset({"bidet"})),
        Family(title="kitchen", groups=(kitchen,), extras=frozenset({"bar-sink", "ice-maker"})),
        Family(title="laundry", groups=(laundry,), extras=frozenset({"utility-sink"})),
    )


@cache
def estimating_table(column: str) -> Curve:
    """One column of the estimating table.

    Source: International Residential Code 2018/2021, Table P2903.6(1).
    """
    return load_curve("demand_irc", column)


METHOD = Method(
    name="irc",
    flows=_flows,
    counts="adds fixture units and reads the residential code's table, which below about 60 units "
    "lies above Hunter's curve: for one house up to twice",
    verb="reads the residential code's table, which lies above Hunter's curve for one house",
    load_name="fixture units",
    fixture_table="fixture_units",
    conversion=("demand_irc", "flush_tank"),
    own_fixture_units=True,
    group_values=True,
    formulas=(
        Formula(
            name="demand-groups",
            words="fixtures make a group where one run feeds them and nothing of another kind of "
            "room; a part of a group never counts more than the whole",
            source="our own rule for the group rows of IRC Table P2903.6 and IPC Table E103.3(2)",
            check="common practice",
        ),
    ),
)
