"""Demand method `upc`: fixture units of the Uniform Plumbing Code and Hunter's curve.

The units are the load on the building supply; each side of a fixture with both hot and cold counts
three quarters of them. Further hose bibbs count less than the first.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from supplycalc.demand.fixture_units import count_kinds, flows_by_column, load_curve
from supplycalc.demand.loads import Columns, LinkFlows, few_fixtures_at_own_flow, summed_loads
from supplycalc.demand.method import Method
from supplycalc.demand.prescriptive import UPC_SIZES
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table

FLUSH_VALVES = ("water_closet_1_6_gpf_flushometer_valve", "urinal_flushometer_valve")
HOSE_BIBB, FURTHER_HOSE_BIBB = "hose_bibb_first", "hose_bibb_each_additional"


def _flows(tree: Tree) -> LinkFlows:
    """Flows by fixture units of the Uniform Plumbing Code, private use.

    Source: Uniform Plumbing Code 2018, Table 610.3 and Chart A 103.1; the three quarters and the
        hose bibb rule are footnotes, from memory.
    """
    table = _fixture_units()
    share = load_table("demand_upc")["sides"]["value"]
    row_of = METHOD.row_of
    further = table[FURTHER_HOSE_BIBB]

    def columns(fixture: Fixture) -> Columns:
        bibb = row_of[fixture.kind] == HOSE_BIBB
        total = further if bibb else table[row_of[fixture.kind]]
        part = share if fixture.cold is not None and fixture.hot is not None else 1.0
        return Columns(cold=part * total, hot=part * total, total=total)

    bibbs = count_kinds(tree, {kind for kind, row in row_of.items() if row == HOSE_BIBB})
    units = summed_loads(tree, columns) + (table[HOSE_BIBB] - further) * (bibbs > 0.5)
    flow = flows_by_column(
        units,
        count_kinds(tree, {kind for kind, row in row_of.items() if row in FLUSH_VALVES}),
        load_curve("demand_upc", "flush_tank"),
        load_curve("demand_upc", "flush_valve"),
    )
    return LinkFlows(
        load=tuple(np.maximum(units, 0.0).tolist()),
        design_flow=tuple(few_fixtures_at_own_flow(tree, flow).tolist()),
    )


@cache
def _fixture_units() -> dict[str, float]:
    """The fixture-unit rows by name.

    Source: Uniform Plumbing Code 2018, Table 610.3.
    """
    return {name: total for name, total, _, _ in load_table("demand_upc")["fixture_units"]["rows"]}


METHOD = Method(
    name="upc",
    flows=_flows,
    counts="its own fixture units (a bath 4, a closet 2.5) on Hunter's curve of 1940, which was "
    "made for larger buildings and larger fixtures",
    verb="reads Hunter's curve of 1940, made for larger buildings and fixtures",
    load_name="fixture units",
    fixture_table="fixture_units",
    conversion=("demand_upc", "flush_tank"),
    own_fixture_units=True,
    size_table=UPC_SIZES,
)
