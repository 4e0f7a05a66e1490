"""Demand method `ipc`: fixture units of the plumbing code, with the table the IRC reprints.

Differs from `irc` in its groups: one value for a bathroom with flush tank, one with flushometer
valve, none for half baths, kitchens and laundries. And in what is drawn outdoors: the table has no
hose bibb; lawn sprinklers and the like are estimated in gpm and added to the fixtures' flow.
"""

from __future__ import annotations

from functools import cache

from supplycalc.demand.fixture_units import code_demand
from supplycalc.demand.groups import BASIN, BATH, CLOSET, VALVE_CLOSET, Family, Group
from supplycalc.demand.irc import conversion
from supplycalc.demand.loads import Columns, Demand
from supplycalc.network import Tree
from supplycalc.tables import load_table

FLUSH_VALVE, HOSE_BIBB = "water_closet_flushometer_valve", "hose-bibb"


def design_flows(tree: Tree) -> Demand:
    """Design flows by fixture units of the International Plumbing Code, private occupancy.

    Hose bibbs have no units. Of those below a pipe the largest, with the flow of the file or of the
    code's table of outlets, is added to the fixtures' flow; what else runs beside it the file calls
    continuous.

    Args:
        tree: the supply.

    Returns:
        Fixture units and design flows in m3/s.

    Source: International Plumbing Code 2018, Appendix E, E102.2 and Tables E103.3(2) and
        E103.3(3); Table 604.3 for the hose bibb. That one of several is enough is our own reading,
        after Uniform Plumbing Code 2018, Appendix M.
    """
    table = _columns("fixture_units")
    rows = {name: kind.rows["ipc"] for name, kind in tree.catalogue.fixtures.items()}
    return code_demand(
        tree,
        method="ipc",
        columns=lambda fixture: table[rows[fixture.kind]],
        families=families(),
        valve_kinds={name for name, row in rows.items() if row == FLUSH_VALVE},
        tank=conversion("flush_tank"),
        valve=conversion("flush_valve"),
        apart={name for name, row in rows.items() if row == HOSE_BIBB},
    )


@cache
def families() -> tuple[Family, ...]:
    """The bathrooms whose fixtures the table gives a group value [fixture units].

    Returns:
        One kind of room with its two groups.

    Source: International Plumbing Code 2018, Table E103.3(2), bathroom group rows.
    """
    value = _columns("groups")
    tank = Group(title="bathroom group", slots=(CLOSET, BASIN, BATH), value=value["bathroom"])
    valve = Group(
        title="bathroom group with flushometer valve",
        slots=(VALVE_CLOSET, BASIN, BATH),
        value=value["bathroom-flush-valve"],
    )
    return (Family(title="bathroom", groups=(tank, valve), extras=frozenset({"bidet"})),)


@cache
def _columns(table: str) -> dict[str, Columns]:
    return {
        name: Columns(cold=cold, hot=hot, total=total)
        for name, cold, hot, total, _ in load_table("demand_ipc")[table]["rows"]
    }
