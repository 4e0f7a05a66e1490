"""Demand method `upc`: fixture units of the Uniform Plumbing Code and Hunter's curve.

The units are the load on the building supply; each side of a fixture with both hot and cold counts
three quarters of them. Further hose bibbs count less than the first.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from supplycalc.demand.fixture_units import flows_by_column, load_curve
from supplycalc.demand.loads import (
    Columns,
    Demand,
    count_below,
    largest_below,
    loads,
    not_above_all,
    not_below_largest,
)
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table

FLUSH_VALVE = "water_closet_1_6_gpf_flushometer_valve"
HOSE_BIBB, FURTHER_HOSE_BIBB = "hose_bibb_first", "hose_bibb_each_additional"


def design_flows(tree: Tree) -> Demand:
    """Design flows by fixture units of the Uniform Plumbing Code, private use.

    Args:
        tree: the supply.

    Returns:
        Fixture units and design flows in m3/s.

    Source: Uniform Plumbing Code 2018, Table 610.3 and Chart A 103.1; the three quarters and the
        hose bibb rule are footnotes, from memory.
    """
    table = fixture_units()
    share = load_table("demand_upc")["sides"]["value"]
    row = {name: kind.rows["upc"] for name, kind in tree.catalogue.fixtures.items()}
    further = table[FURTHER_HOSE_BIBB]

    def columns(fixture: Fixture) -> Columns:
        bibb = row[fixture.kind] == HOSE_BIBB
        total = further if bibb else table[row[fixture.kind]]
        part = share if fixture.cold is not None and fixture.hot is not None else 1.0
        return Columns(cold=part * total, hot=part * total, total=total)

    bibbs = count_below(tree, _ones(tree, row, HOSE_BIBB))
    units = loads(tree, columns) + (table[HOSE_BIBB] - further) * (bibbs > 0.5)
    flow = flows_by_column(
        units,
        count_below(tree, _ones(tree, row, FLUSH_VALVE)),
        load_curve("demand_upc", "flush_tank"),
        load_curve("demand_upc", "flush_valve"),
    )
    flow = not_above_all(tree, flow)
    largest = largest_below(tree)
    return Demand(
        method="upc",
        load_name="fixture units",
        load=tuple(np.maximum(units, 0.0).tolist()),
        design_flow=not_below_largest(flow.tolist(), largest),
        largest=tuple(top[0] if top else 0.0 for top in largest),
    )


@cache
def fixture_units() -> dict[str, float]:
    """The fixture-unit rows by name [fixture units].

    Returns:
        Load on the building supply of each row.

    Source: Uniform Plumbing Code 2018, Table 610.3.
    """
    return {name: total for name, total, _, _ in load_table("demand_upc")["fixture_units"]["rows"]}


def _ones(tree: Tree, row: dict[str, str], wanted: str) -> list[float]:
    return [
        float(row[one.kind] == wanted and one.continuous is None) for one in tree.house.fixtures
    ]
