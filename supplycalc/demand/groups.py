"""Group values: what a code's table gives for a bathroom, a kitchen or a laundry as a whole.

A bathroom's closet, basin and bath are not used at once by one person, so the tables give the group
less than the sum of its members. That holds for the fixtures of one room. The file may name the
room of a fixture; of the others the pipes tell: fixtures are taken as a room's where one run feeds
them and nothing of another kind of room. Home runs from a common manifold therefore count one by
one, unless the file names their rooms. Groups are of private use only.

Within a room the load of any set of fixtures is the least that groups and single values together
can cover it with, so a part of a group never counts more than the whole group, and one fixture more
never lowers a load.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence

import numpy as np
from msgspec import Struct

from supplycalc.catalogue import BATHING, CLOSETS
from supplycalc.demand.loads import (
    NOTHING,
    Columns,
    FloatArray,
    GroupUse,
    count_below,
    greatest_below,
    has_own_demand,
    is_public,
    sum_below,
    summed_loads,
)
from supplycalc.model import Fixture, Side
from supplycalc.network import Tree

VALVE_CLOSET = frozenset({"flush-valve-closet"})
CLOSET = CLOSETS - VALVE_CLOSET
BASIN = frozenset({"lavatory"})
BATH = BATHING
SINK, DISHWASHER = frozenset({"kitchen-sink"}), frozenset({"dishwasher"})
WASHER, LAUNDRY_TUB = frozenset({"clothes-washer"}), frozenset({"laundry-tub"})
"""Kinds of fixture that may stand for a member of a group; a shower counts as a bath does."""
ROOM_HEIGHT = 2.5
"""[m] Outlets of one room, from a closet's stop to a shower's head, differ by less (a choice)."""


class Group(Struct, frozen=True, kw_only=True):
    """A group of a table: one fixture for each slot, and the value of all together."""

    title: str
    slots: tuple[frozenset[str], ...]
    """For each member the kinds of fixture that may stand for it."""
    value: Columns


class Family(Struct, frozen=True, kw_only=True):
    """One kind of room: the groups its fixtures can make, and what else may stand in it."""

    title: str
    groups: tuple[Group, ...]
    extras: frozenset[str] = frozenset()

    @property
    def members(self) -> frozenset[str]:
        """Every kind of fixture that may stand in such a room."""
        slots = [slot for group in self.groups for slot in group.slots]
        return self.extras.union(*slots)


class Room(Struct, frozen=True, kw_only=True):
    """Fixtures that one run feeds and that belong to one kind of room."""

    family: Family
    link: int
    """The run."""
    fixtures: tuple[int, ...]
    """Numbers of the fixtures in the file's order."""
    name: str | None = None
    """In the file; None: read from the pipes."""


def named_rooms(tree: Tree, families: Sequence[Family]) -> tuple[Room, ...]:
    """The rooms that the file names, each kind of room by itself.

    Args:
        families: kinds of room; no kind of fixture stands in two of them.

    Returns:
        Rooms of two fixtures or more, in the order of their first fixture.
    """
    inside: dict[tuple[str, int], list[int]] = {}
    for number, fixture in enumerate(tree.house.fixtures):
        if fixture.room is None or not has_own_demand(fixture) or is_public(tree, fixture):
            continue
        for k, family in enumerate(families):
            if fixture.kind in family.members:
                inside.setdefault((fixture.room, k), []).append(number)
    return tuple(
        Room(
            family=families[k],
            link=_meeting(tree, numbers),
            fixtures=tuple(numbers),
            name=name,
        )
        for (name, k), numbers in inside.items()
        if len(numbers) > 1
    )


def _meeting(tree: Tree, numbers: Sequence[int]) -> int:
    """The last link that feeds every branch of some fixtures."""
    ends = [
        tree.index[run.end] for number in numbers for run in tree.house.fixtures[number].branches
    ]
    low, high = min(ends), max(ends)
    top = low
    while not top <= high < tree.last[top]:
        top = tree.parent[top]
    return top


def rooms(
    tree: Tree,
    families: Sequence[Family],
    side: Side,
    at_most: Sequence[tuple[frozenset[str], int]] = (),
) -> tuple[Room, ...]:
    """Find the rooms of fixtures without a named one, as the cold runs, or the hot runs, tell them.

    The uppermost run on that side which feeds fixtures of one kind of room and no other makes a
    room of them, unless their heights lie a storey apart. Without further limits a run that feeds
    several bathrooms of one storey and nothing else counts as one room with several groups.

    Args:
        families: kinds of room; no kind of fixture stands in two of them.
        side: whose runs are looked at, "cold" or "hot".

    Returns:
        Rooms of two fixtures or more, from the source down.

    Source: International Residential Code 2018, Table P2903.6 (group rows).
    """
    members = [family.members for family in families]
    kind = [
        -1
        if fixture.room is not None or not has_own_demand(fixture) or is_public(tree, fixture)
        else next((k for k, kinds in enumerate(members) if fixture.kind in kinds), -1)
        for fixture in tree.house.fixtures
    ]
    everyone = count_below(tree, [1.0] * len(kind))
    ends = sorted(
        (tree.index[run.end], number)
        for number, fixture in enumerate(tree.house.fixtures)
        for run in fixture.branches
    )
    points = [end for end, _ in ends]
    looked_at = np.array([link_side == side for link_side in tree.side])
    looked_at[0] = False
    looked_at &= _height_below(tree) <= ROOM_HEIGHT
    for kinds, most in at_most:
        of_kinds = [float(fixture.kind in kinds) for fixture in tree.house.fixtures]
        looked_at &= count_below(tree, of_kinds) <= most
    claims: list[tuple[int, int, tuple[int, ...]]] = []
    for k in range(len(families)):
        own = count_below(tree, [float(family == k) for family in kind])
        dedicated = (own == everyone) & (own > 0.5) & looked_at
        top = dedicated.copy()
        top[1:] &= ~dedicated[np.array(tree.parent[1:], dtype=np.int64)]
        for link in np.flatnonzero(top & (own > 1.5)).tolist():
            inside = ends[bisect_left(points, link) : bisect_left(points, tree.last[link])]
            claims.append((link, k, tuple(dict.fromkeys(number for _, number in inside))))
    taken: set[int] = set()
    rooms_by_pipes = []
    for link, k, numbers in sorted(claims):
        free = tuple(number for number in numbers if number not in taken)
        if len(free) > 1:
            taken.update(free)
            rooms_by_pipes.append(Room(family=families[k], link=link, fixtures=free))
    return tuple(rooms_by_pipes)


def _height_below(tree: Tree) -> FloatArray:
    """Difference in height between the fixtures below each link [m]."""
    heights = [fixture.elevation for fixture in tree.house.fixtures]
    low, high = min(heights), max(heights)
    above = np.array(greatest_below(tree, [height - low for height in heights]))
    below = np.array(greatest_below(tree, [high - height for height in heights]))
    result: FloatArray = above + below - (high - low)
    return result


def grouped_loads(
    tree: Tree,
    columns: Callable[[Fixture], Columns],
    families: Sequence[Family],
) -> tuple[FloatArray, tuple[GroupUse, ...]]:
    """Add up fixture loads, those of a room by its group values.

    For each kind of room the cold runs and the hot runs may tell different rooms; in every pipe the
    lesser load counts. One fixture more can then never lower a load, since what is a room with it
    is one without it, too.

    Returns:
        One load per link in the method's unit, and which group values were used.

    Source: International Residential Code 2018, Table P2903.6, group rows; a rule for which
        fixtures make a group.
    """
    grouped = frozenset[str]().union(*(family.members for family in families))
    total = summed_loads(
        tree, lambda fixture: NOTHING if fixture.kind in grouped else columns(fixture)
    )
    used: list[GroupUse] = []
    for family in families:
        by_cold, cold_uses = _family_loads(tree, columns, family, "cold")
        by_hot, hot_uses = _family_loads(tree, columns, family, "hot")
        total = total + np.minimum(by_cold, by_hot)
        used += hot_uses if by_hot[0] < by_cold[0] - 1e-9 else cold_uses or hot_uses
    return total, tuple(used)


def _family_loads(
    tree: Tree, columns: Callable[[Fixture], Columns], family: Family, side: Side
) -> tuple[FloatArray, list[GroupUse]]:
    """Loads of one family's fixtures with the rooms that one side's runs tell."""
    of_family = (*named_rooms(tree, (family,)), *rooms(tree, (family,), side))
    inside = {tree.house.fixtures[number].name for room in of_family for number in room.fixtures}

    def alone(fixture: Fixture) -> Columns:
        by_itself = fixture.kind in family.members and fixture.name not in inside
        return columns(fixture) if by_itself else NOTHING

    at_point = np.zeros(len(tree))
    used: list[GroupUse] = []
    for room in of_family:
        covers, top = _covers(tree, room, columns)
        for link, cover in covers.items():
            at_point[link] += cover.load
            if link != top:
                at_point[tree.parent[link]] -= cover.load
        used += _uses(tree, room, covers, top)
    return summed_loads(tree, alone) + sum_below(tree, at_point), used


class _Cover(Struct, frozen=True):
    """The least that covers some fixtures of a room, and with which groups."""

    load: float
    counts: tuple[int, ...]
    """How often each group of the family is used."""
    complete: bool


def sides_below(tree: Tree, room: Room) -> tuple[dict[int, dict[int, int]], int]:
    """Which of a room's fixtures every link feeds, up to the link where all their branches meet.

    Returns:
        For each link the fixtures' numbers with 1 for the cold side, 2 for the hot, 3 for both;
        and the link where they meet.
    """
    fixtures = {number: tree.house.fixtures[number] for number in room.fixtures}
    ends = [
        (tree.index[run.end], number, side)
        for number, fixture in fixtures.items()
        for side, run in ((1, fixture.cold), (2, fixture.hot))
        if run is not None
    ]
    top = _meeting(tree, room.fixtures)
    sides: dict[int, dict[int, int]] = {}
    for end, number, side in ends:
        link = end
        while True:
            fed = sides.setdefault(link, {})
            fed[number] = fed.get(number, 0) | side
            if link == top:
                break
            link = tree.parent[link]
    return sides, top


def _covers(
    tree: Tree, room: Room, columns: Callable[[Fixture], Columns]
) -> tuple[dict[int, _Cover], int]:
    """The least load of a room's fixtures at every link up to where all their branches meet."""
    sides, top = sides_below(tree, room)
    fixtures = {number: tree.house.fixtures[number] for number in room.fixtures}
    value = {number: columns(fixture) for number, fixture in fixtures.items()}
    kind = {number: fixture.kind for number, fixture in fixtures.items()}
    covers = {link: _cover(room.family, fed, value, kind) for link, fed in sides.items()}
    return covers, top


def at_link(columns: Columns, side: int) -> float:
    """The column for a cold (1), hot (2) or combined (3) pipe."""
    return (columns.cold, columns.hot, columns.total)[side - 1]


def _cover(
    family: Family, sides: dict[int, int], value: dict[int, Columns], kind: dict[int, str]
) -> _Cover:
    """The cheapest way to cover some fixtures with groups and single values."""
    seen = 0
    for side in sides.values():
        seen |= side
    singles = {number: at_link(value[number], side) for number, side in sides.items()}
    slots = list(dict.fromkeys(slot for group in family.groups for slot in group.slots))
    waiting = [
        sorted((singles[n] for n in sides if kind[n] in slot), reverse=True) for slot in slots
    ]
    rest = sum(load for n, load in singles.items() if not any(kind[n] in slot for slot in slots))
    taking = [[slots.index(slot) for slot in group.slots] for group in family.groups]
    worth = [at_link(group.value, seen) for group in family.groups]
    best = _Cover(load=float("inf"), counts=(), complete=True)
    for counts, room in _ways(taking, [len(members) for members in waiting]):
        load = rest + sum(k * each for k, each in zip(counts, worth, strict=True))
        for singly, left in zip(waiting, room, strict=True):
            load += sum(singly[len(singly) - left :])
        if load < best.load - 1e-9:
            needed = [
                sum(k for k, own in zip(counts, taking, strict=True) if slot in own)
                for slot in range(len(slots))
            ]
            complete = all(n <= len(m) for n, m in zip(needed, waiting, strict=True))
            best = _Cover(load=load, counts=counts, complete=complete)
    return best


def _ways(
    members: Sequence[Sequence[int]], left: Sequence[int]
) -> Iterator[tuple[tuple[int, ...], list[int]]]:
    """Numbers of each group that can be cheapest, with what is left of each slot.

    The load is convex and piecewise linear in the numbers, so the cheapest stands where a slot runs
    out or a group is not used: few numbers to try, however many fixtures there are.
    """
    if not members:
        yield (), list(left)
        return
    tries = dict.fromkeys([0, *(left[slot] for slot in members[0])])
    for k in tries:
        after = [
            max(count - k, 0) if slot in members[0] else count for slot, count in enumerate(left)
        ]
        for counts, rest in _ways(members[1:], after):
            yield (k, *counts), rest


def _uses(tree: Tree, room: Room, covers: dict[int, _Cover], top: int) -> Iterator[GroupUse]:
    """The groups that count where the room's branches meet, or at least in one of its pipes."""
    names = tuple(tree.house.fixtures[number].name for number in room.fixtures)
    for i, group in enumerate(room.family.groups):
        most = max(cover.counts[i] for cover in covers.values())
        count = covers[top].counts[i]
        if most:
            yield GroupUse(
                title=group.title,
                count=count or most,
                run=tree.names[room.link],
                fixtures=names,
                value=group.value.total,
                complete=covers[top].complete and count > 0,
                room=room.name,
                cold=group.value.cold,
                hot=group.value.hot,
            )
