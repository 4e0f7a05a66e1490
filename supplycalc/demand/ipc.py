"""Demand method `ipc`: fixture units of the plumbing code, with the table the IRC reprints.

Differs from `irc` in its groups: one value for a bathroom with flush tank, one with flushometer
valve, none for half baths, kitchens and laundries. And in what is drawn outdoors: the table has no
hose bibb; lawn sprinklers and the like are estimated in gpm and added to the fixtures' flow.
"""

from __future__ import annotations

from functools import cache

from supplycalc.demand.fixture_units import code_flows, load_columns
from supplycalc.demand.groups import BASIN, BATH, CLOSET, VALVE_CLOSET, Family, Group
from supplycalc.demand.irc import estimating_table
from supplycalc.demand.loads import LinkFlows
from supplycalc.demand.method import Method
from supplycalc.network import Tree

FLUSH_VALVE, HOSE_BIBB = "water_closet_flushometer_valve", "hose-bibb"


def _flows(tree: Tree) -> LinkFlows:
    """Flows by fixture units of the International Plumbing Code, private occupancy.

    Hose bibbs have no units. Of those below a pipe the largest, with the flow of the file or of the
    code's table of outlets, is added to the fixtures' flow; what else runs beside it the file calls
    continuous.

    Source: International Plumbing Code 2018, Appendix E, E102.2 and Tables E103.3(2) and
        E103.3(3); Table 604.3 for the hose bibb. That one of several is enough is read from
        Uniform Plumbing Code 2018, Appendix M.
    """
    table, row_of = load_columns("demand_ipc", "fixture_units"), METHOD.row_of
    return code_flows(
        tree,
        columns=lambda fixture: table[row_of[fixture.kind]],
        families=_families(),
        valve_kinds=flush_valve_kinds(),
        tank=estimating_table("flush_tank"),
        valve=estimating_table("flush_valve"),
        apart={kind for kind, row in row_of.items() if row == HOSE_BIBB},
    )


@cache
def _families() -> tuple[Family, ...]:
    """The bathrooms whose fixtures the table gives a group value.

    Returns:
        One kind of room with its two groups, in fixture units.

    Source: International Plumbing Code 2018, Table E103.3(2), bathroom group rows.
    """
    value = load_columns("demand_ipc", "groups")
    tank = Group(title="bathroom group", slots=(CLOSET, BASIN, BATH), value=value["bathroom"])
    valve = Group(
        title="bathroom group with flushometer valve",
        slots=(VALVE_CLOSET, BASIN, BATH),
        value=value["bathroom-flush-valve"],
    )
    return (Family(title="bathroom", groups=(tank, valve), extras=frozenset({"bidet"})),)


def flush_valve_kinds() -> frozenset[str]:
    """Kinds of fixture that count as a closet with flushometer valve.

    Source: International Plumbing Code 2018, Table E103.3(2).
    """
    return frozenset(kind for kind, row in METHOD.row_of.items() if row == FLUSH_VALVE)


METHOD = Method(
    name="ipc",
    flows=_flows,
    counts="the same units and table as irc, but group values for bathrooms only",
    verb="reads the same table as irc, with fewer group values and hose bibbs in gpm",
    load_name="fixture units",
    fixture_table="fixture_units",
    conversion=("demand_irc", "flush_tank"),
    group_values=True,
    unknown_outdoors="fixture units",
)
