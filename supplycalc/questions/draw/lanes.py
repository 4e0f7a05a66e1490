"""Which lane each pipe stands in, so that no two pipes of a riser diagram lie on one another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from supplycalc.network import Tree


class Bus(Struct, frozen=True, kw_only=True):
    """The upright line at the end of a link, from which all that it feeds goes off."""

    lane: int
    """From 0 on the left."""
    low: int
    """The lowest row it reaches."""
    high: int


def lanes(tree: Tree, row_of: Mapping[int, int]) -> dict[int, Bus]:
    """Give every link that feeds something an upright line in a lane.

    A pipe that goes on alone, or from the end of its feeding line, goes straight on in the same
    lane; any other turns off into the first lane to the right that is free between its ends.
    """
    # what leads up to the source stands below it in its lane
    taken: list[list[tuple[int, int]]] = [[(-1, row_of[0] - 1)]]
    buses: dict[int, Bus] = {}

    def reach(index: int) -> tuple[int, int]:
        ends = [row_of[index], *(row_of[child] for child in tree.children[index])]
        return min(ends), max(ends)

    def place(index: int, lane: int) -> None:
        low, high = reach(index)
        while len(taken) <= lane:
            taken.append([])
        taken[lane].append((low, high))
        buses[index] = Bus(lane=lane, low=low, high=high)

    place(0, 0)
    for index in range(1, len(tree)):
        if not tree.children[index]:
            continue
        feeding = buses[tree.parent[index]]
        low, high = reach(index)
        row = row_of[index]
        at_end = (row == feeding.high and low == row) or (row == feeding.low and high == row)
        others = [span for span in taken[feeding.lane] if span != (feeding.low, feeding.high)]
        if at_end and _free(others, low, high):
            place(index, feeding.lane)
            continue
        lane = feeding.lane + 1
        while lane < len(taken) and not _free(taken[lane], low, high):
            lane += 1
        place(index, lane)
    return buses


def _free(taken: Sequence[tuple[int, int]], low: int, high: int) -> bool:
    """Whether no line of a lane reaches between two rows, ends included."""
    return all(high < other_low or low > other_high for other_low, other_high in taken)
