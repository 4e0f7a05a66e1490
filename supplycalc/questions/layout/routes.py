"""Shortest ways of pipe along the building's axes, with drop and rise, around zones without pipe.

Positions are whole tenths of a millimetre inside, so that equal lengths are equal and the way with
the fewest turns among the shortest is found exactly.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence

from msgspec import Struct

from supplycalc.model import House, Position, Zone

TICK = 1e-4
"""[m]"""
Cell = tuple[int, int]
_NOWHERE = (1 << 62, 0)


class Way(Struct, frozen=True, kw_only=True):
    """One way between two positions."""

    length: float
    """Along the pipe, before any allowance [m]."""
    turns: int
    """Quarter turns."""
    level: int
    """Index of the level that it runs at; -1 where it needs none."""
    in_slab: bool


class Level(Struct, frozen=True, kw_only=True):
    """A height at which pipe may run from place to place."""

    height: int
    """[ticks]"""
    in_slab: bool
    blocked: tuple[tuple[int, int, int, int], ...]
    """Rectangles without pipe at this height: west, east, south, north [ticks]."""


def ticks(value: float) -> int:
    """A length as whole ticks [ticks]."""
    return round(value / TICK)


class Routes:
    """The ways between the positions of one house."""

    def __init__(self, house: House, positions: Sequence[Position]) -> None:
        """Prepare the lines on which pipe may run: through every position, along every zone."""
        self.levels = tuple(_levels(house))
        """Empty where the house names no storey: pipe then runs straight at any height."""
        self.plain = not house.zones
        boxes = [_box(zone) for zone in house.zones]
        self.zones = tuple(box[:4] for box in boxes)
        """Rectangles of all zones, whatever their height [ticks]."""
        self.east = sorted(
            {ticks(position[0]) for position in positions} | {x for b in boxes for x in b[:2]}
        )
        self.north = sorted(
            {ticks(position[1]) for position in positions} | {y for b in boxes for y in b[2:4]}
        )

    def ways(self, start: Position, ends: Sequence[Position]) -> list[Way | None]:
        """The shortest ways from a position, of equally short ones that with the fewest turns."""
        if not self.levels:
            reach = None if self.plain else self._reach(start, self.zones)
            return [self._free(start, end, reach) for end in ends]
        reaches = [
            None if self.plain else self._reach(start, level.blocked) for level in self.levels
        ]
        return [
            min(
                (
                    way
                    for number, level in enumerate(self.levels)
                    if (way := self._at(start, end, number, level, reaches[number])) is not None
                ),
                key=lambda way: (way.length, way.turns, way.in_slab),
                default=None,
            )
            for end in ends
        ]

    def _free(
        self, start: Position, end: Position, reach: dict[Cell, tuple[int, int]] | None
    ) -> Way | None:
        """A way at no set level: across, and up or down once."""
        across, turns = _across(start, end, reach)
        if across < 0:
            return None
        rise = abs(ticks(start[2]) - ticks(end[2]))
        bends = turns + (1 if rise and across else 0)
        return Way(length=(across + rise) * TICK, turns=bends, level=-1, in_slab=False)

    def _at(
        self,
        start: Position,
        end: Position,
        number: int,
        level: Level,
        reach: dict[Cell, tuple[int, int]] | None,
    ) -> Way | None:
        """A way that goes to a level, along it, and to the end."""
        across, turns = _across(start, end, reach)
        if across < 0:
            return None
        first, second = ticks(start[2]), ticks(end[2])
        if across == 0:
            return Way(length=abs(first - second) * TICK, turns=0, level=-1, in_slab=False)
        drop, rise = abs(first - level.height), abs(second - level.height)
        return Way(
            length=(drop + across + rise) * TICK,
            turns=turns + (drop > 0) + (rise > 0),
            level=number,
            in_slab=level.in_slab,
        )

    def _reach(
        self, start: Position, blocked: Sequence[tuple[int, int, int, int]]
    ) -> dict[Cell, tuple[int, int]]:
        """(length, turns) from a position to every crossing of lines, around rectangles."""
        east, north = self.east, self.north
        first = (east.index(ticks(start[0])), north.index(ticks(start[1])))
        best: dict[tuple[int, int, int], tuple[int, int]] = {}
        heap: list[tuple[int, int, int, int, int]] = [(0, 0, *first, axis) for axis in (0, 1)]
        if inside(east[first[0]], north[first[1]], blocked):
            return {}
        while heap:
            length, turns, i, j, axis = heapq.heappop(heap)
            if (i, j, axis) in best:
                continue
            best[i, j, axis] = (length, turns)
            if (i, j, 1 - axis) not in best:
                heapq.heappush(heap, (length, turns + 1, i, j, 1 - axis))
            for step in (-1, 1):
                a, b = (i + step, j) if axis == 0 else (i, j + step)
                if not (0 <= a < len(east) and 0 <= b < len(north)) or (a, b, axis) in best:
                    continue
                middle = ((east[i] + east[a]) / 2, (north[j] + north[b]) / 2)
                if inside(*middle, blocked) or inside(east[a], north[b], blocked):
                    continue
                far = abs(east[a] - east[i]) + abs(north[b] - north[j])
                heapq.heappush(heap, (length + far, turns, a, b, axis))
        reached: dict[Cell, tuple[int, int]] = {}
        for (i, j, _), value in best.items():
            cell = (east[i], north[j])
            reached[cell] = min(reached.get(cell, _NOWHERE), value)
        return reached


def _across(
    start: Position, end: Position, reach: dict[Cell, tuple[int, int]] | None
) -> tuple[int, int]:
    """Level length and turns between two positions; a length of -1 where there is no way."""
    if reach is not None:
        return reach.get((ticks(end[0]), ticks(end[1])), (-1, 0))
    dx, dy = (abs(ticks(a) - ticks(b)) for a, b in zip(start[:2], end[:2], strict=True))
    return dx + dy, 1 if dx and dy else 0


def inside(east: float, north: float, rectangles: Sequence[tuple[int, int, int, int]]) -> bool:
    """Whether a point lies within any rectangle (west, east, south, north; all in ticks)."""
    return any(w < east < e and s < north < n for w, e, s, n in rectangles)


def _box(zone: Zone) -> tuple[int, int, int, int, int, int]:
    """West, east, south, north, bottom, top [ticks]."""
    low = [min(ticks(a), ticks(b)) for a, b in zip(zone.corner, zone.opposite, strict=True)]
    high = [max(ticks(a), ticks(b)) for a, b in zip(zone.corner, zone.opposite, strict=True)]
    return low[0], high[0], low[1], high[1], low[2], high[2]


def _levels(house: House) -> list[Level]:
    boxes = [_box(zone) for zone in house.zones]
    levels = []
    for storey in house.storeys:
        height = ticks(storey.floor if storey.pipes_at is None else storey.pipes_at)
        blocked = tuple(box[:4] for box in boxes if box[4] <= height <= box[5])
        levels.append(Level(height=height, in_slab=storey.in_slab, blocked=blocked))
    return levels
