"""Demand method `din1988`: the German peak-flow formula for residential buildings.

The sum of the draw-offs' calculation flows gives the peak flow. In one room at most two draw-offs
run at once, so the peaks of the rooms together, where that is less, take its place. The file names
the rooms; without that a room is read from the pipes where its fixtures can be of one room only.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from msgspec import Struct

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
    Room,
    at_link,
    named_rooms,
    rooms,
    sides_below,
)
from supplycalc.demand.loads import (
    NOTHING,
    Columns,
    FloatArray,
    GroupUse,
    LinkFlows,
    has_own_demand,
    not_below_feeds,
    outlet_flows,
    sum_below,
    summed_loads,
)
from supplycalc.demand.method import Method
from supplycalc.model import Fixture, Side
from supplycalc.network import Tree
from supplycalc.tables import load_table, to_si

SIDES: tuple[Side, Side] = ("cold", "hot")
SHOWER = frozenset({"shower"})
LEFT_OUT = frozenset({"bidet", "urinal"})
FAMILIES = (
    Family(
        title="bathroom",
        groups=(Group(title="bathroom", slots=(CLOSET, BASIN, BATH), value=NOTHING),),
        extras=LEFT_OUT,
    ),
    Family(
        title="kitchen",
        groups=(Group(title="kitchen", slots=(SINK, DISHWASHER), value=NOTHING),),
        extras=frozenset({"bar-sink", "ice-maker"}),
    ),
    Family(
        title="laundry",
        groups=(Group(title="laundry", slots=(WASHER, LAUNDRY_TUB), value=NOTHING),),
        extras=frozenset({"utility-sink"}),
    ),
)
ANY_ROOM = Family(
    title="room",
    groups=(),
    extras=frozenset().union(
        *(family.members for family in FAMILIES),
        ("flush-valve-closet", "drinking-fountain"),
    ),
)
"""A room that the file names is one usage unit, whatever stands in it."""
ONE_ROOM = (
    (CLOSET, 1),
    (BASIN, 1),
    (BATH, 1),
    (SINK, 1),
    (frozenset({"bar-sink"}), 1),
    (DISHWASHER, 1),
    (WASHER, 1),
    (LAUNDRY_TUB, 1),
    (frozenset({"utility-sink"}), 1),
)
"""The most of each kind that is taken for one room without a name; a second basin, or a shower
beside a bath, may as well stand in a second bathroom (a choice on the safe side)."""


def peak_flow(total: FloatArray) -> FloatArray:
    """Peak flow for a sum of calculation flows, residential buildings [m3/s].

    The formula's range begins at 0.2 l/s, where it gives less than the 0.2 l/s that the sum below
    its range gives; the peak is held at 0.2 l/s until the formula passes it.

    Args:
        total: sums of calculation flows [m3/s].

    Source: DIN 1988-300:2012-05, Table 3 (constants as quoted in a glossary), which does not say
        that 0.2 l/s is held.
    """
    a, b, c, low, _ = load_table("demand_din1988")["residential"]["rows"][0]
    lowest = to_si(low, "l/s")
    formula = to_si(1.0, "l/s") * (a * np.maximum(total / to_si(1.0, "l/s"), low) ** b - c)
    result: FloatArray = np.where(total < lowest, total, np.maximum(formula, lowest))
    return result


def _flows(tree: Tree) -> LinkFlows:
    """Flows by calculation flows and the residential peak-flow formula.

    A pipe that feeds both sides of a mixer counts both. In a room a second basin, a shower beside a
    bath, a bidet and a urinal are left out. No pipe carries less than the two draw-offs that one
    bathroom, kitchen or laundry with its fixtures could run at once: so a pipe to one room carries
    its two largest, as the standard asks, and one fixture more never lowers a flow.

    Returns:
        Sums of calculation flows in l/s, and flows in m3/s.

    Source: DIN 1988-300:2012-05, Tables 2 and 3 and the rule of the usage unit.
    """
    columns = _columns(tree)
    by_cold, by_hot = (_by_rooms(tree, columns, side) for side in SIDES)
    floor = _one_room(tree, columns)
    flow = np.maximum(np.minimum(by_cold.flow, by_hot.flow), floor)
    told = by_cold if by_cold.flow[0] <= by_hot.flow[0] and by_cold.used else by_hot
    return LinkFlows(
        load=tuple((told.total / to_si(1.0, "l/s")).tolist()),
        design_flow=tuple(flow.tolist()),
        groups_used=told.used,
    )


class _ByRooms(Struct, frozen=True, eq=False):
    """One side of the supply, counted by rooms, for every link."""

    total: FloatArray
    """Sum of the calculation flows that count [m3/s]."""
    flow: FloatArray
    used: tuple[GroupUse, ...]


def _by_rooms(tree: Tree, columns: Callable[[Fixture], Columns], side: Side) -> _ByRooms:
    """Sums and peaks with the rooms that one side's runs tell."""
    units = (*named_rooms(tree, (ANY_ROOM,)), *rooms(tree, FAMILIES, side, ONE_ROOM))
    names = {tree.house.fixtures[number].name for room in units for number in room.fixtures}
    alone = summed_loads(
        tree, lambda fixture: NOTHING if fixture.name in names else columns(fixture)
    )
    sums, peaks = np.zeros(len(tree)), np.zeros(len(tree))
    used = []
    for room in units:
        sides, top = sides_below(tree, room)
        for link, fed in sides.items():
            counted = _counted(tree, fed, columns)
            sums[link] += sum(counted)
            peaks[link] += sum(counted[:2])
            if link != top:  # the link above counts these fixtures in its own sum
                sums[tree.parent[link]] -= sum(counted)
                peaks[tree.parent[link]] -= sum(counted[:2])
        used.append(_use(tree, room, sum(_counted(tree, sides[top], columns)[:2])))
    total = np.maximum(alone + sum_below(tree, sums), 0.0)
    by_rooms = np.maximum(alone + sum_below(tree, peaks), 0.0)
    return _ByRooms(total=total, flow=np.minimum(peak_flow(total), by_rooms), used=tuple(used))


@cache
def calculation_flows() -> dict[str, float]:
    """Calculation flow of each draw-off point, of a mixer for each side [m3/s].

    Source: DIN 1988-300:2012-05, Table 2.
    """
    return {
        name: to_si(flow, "l/s")
        for name, flow, _, _ in load_table("demand_din1988")["draw_off"]["rows"]
    }


def _columns(tree: Tree) -> Callable[[Fixture], Columns]:
    """A draw-off that the table does not have counts with its own flow."""
    table = calculation_flows()
    own, row_of = outlet_flows(tree), METHOD.row_of

    def columns(fixture: Fixture) -> Columns:
        row = row_of.get(fixture.kind)
        flow = own[fixture.name] if row is None else table[row]
        return Columns(cold=flow, hot=flow, total=2.0 * flow)

    return columns


def _counted(
    tree: Tree, sides: dict[int, int], columns: Callable[[Fixture], Columns]
) -> list[float]:
    """Flows of a room's draw-offs that count at a link, the largest first [m3/s].

    What is left out beside others still counts where it alone is more than they are together.
    """
    basins, baths, showers, others, omitted = [], [], [], [], []
    for number, side in sides.items():
        fixture = tree.house.fixtures[number]
        flow = at_link(columns(fixture), side)
        if fixture.kind in BASIN:
            basins.append(flow)
        elif fixture.kind in SHOWER:
            showers.append(flow)
        elif fixture.kind in BATH:
            baths.append(flow)
        elif fixture.kind in LEFT_OUT:
            omitted.append(flow)
        else:
            others.append(flow)
    bathing = baths if sum(baths) >= sum(showers) else showers
    counted = [*others, *bathing, *sorted(basins, reverse=True)[:1]]
    alone = max(omitted, default=0.0)
    return sorted(counted, reverse=True) if sum(counted) >= alone else [alone]


ROOM_PARTS = (
    (BATH, BASIN, CLOSET),
    (SINK, DISHWASHER, frozenset({"bar-sink"})),
    (WASHER, LAUNDRY_TUB, frozenset({"utility-sink"})),
)
"""Kinds that one bathroom, kitchen or laundry may run side by side, one of each part."""


def _one_room(tree: Tree, columns: Callable[[Fixture], Columns]) -> FloatArray:
    """The most that two draw-offs of one room could draw together below each link [m3/s]."""
    most = np.zeros(len(tree))
    for parts in ROOM_PARTS:
        largest = np.sort([_largest_of(tree, kinds, columns) for kinds in parts], axis=0)
        most = np.maximum(most, largest[-1] + largest[-2])
    return most


def _largest_of(
    tree: Tree, kinds: frozenset[str], columns: Callable[[Fixture], Columns]
) -> list[float]:
    at_point = [0.0] * len(tree)
    for number, fixture in enumerate(tree.house.fixtures):
        if fixture.kind not in kinds or not has_own_demand(fixture):
            continue
        value = columns(fixture)
        sides = [
            (run, flow)
            for run, flow in ((fixture.cold, value.cold), (fixture.hot, value.hot))
            if run is not None
        ]
        points = [(tree.index[run.end], flow) for run, flow in sides]
        if len(points) == 2:
            points.append((tree.meeting[number], value.total))
        for point, flow in points:
            at_point[point] = max(at_point[point], flow)
    return not_below_feeds(tree, at_point)


def _use(tree: Tree, room: Room, peak: float) -> GroupUse:
    return GroupUse(
        title="one usage unit"
        + ("" if room.name else f", a {room.family.title}")
        + ", its two largest draw-offs together, in l/s",
        count=1,
        run=tree.names[room.link],
        fixtures=tuple(tree.house.fixtures[number].name for number in room.fixtures),
        value=peak / to_si(1.0, "l/s"),
        complete=True,
        room=room.name,
    )


METHOD = Method(
    name="din1988",
    flows=_flows,
    counts="adds the flows of the draw-offs, cold and hot each, and takes the German formula for "
    "dwellings; in one room at most two run at once",
    verb="adds cold and hot flows of every draw-off and damps the sum by a formula",
    load_name="litres per second summed",
    fixture_table="draw_off",
    conversion=("demand_din1988", "residential"),
    source_table="residential",
    own_draw_offs=True,
    size_table=None,
)
