"""The levels of a house: the file's storeys, or storeys told from the heights of what it feeds."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import Run
from supplycalc.sizing.design import Design
from supplycalc.units.quantities import Elevation

STOREY_HEIGHT = 2.6
"""[m] from floor to floor where the file names no storeys; common practice, no source"""
MOST_STOREYS = 4
"""Above the ground floor; what stands higher is not told apart."""
UNDER_FLOOR = 0.25
"""[m] What lies this little below a floor still belongs to it: pipe in the slab, a tub's drain."""


class DrawnLevel(Struct, frozen=True, kw_only=True):
    """A storey, or what lies below the lowest."""

    name: str
    floor: Elevation | None
    """None: below the lowest floor."""
    given: bool
    """Whether the file names it."""


def levels(design: Design) -> tuple[DrawnLevel, ...]:
    """The levels on which something stands, from the lowest up."""
    heights = [level_height(design, index) for index in range(len(design.tree))]
    storeys = design.house.storeys
    if storeys:
        floors = [
            DrawnLevel(name=storey.name, floor=storey.floor, given=True)
            for storey in sorted(storeys, key=lambda storey: storey.floor)
        ]
    else:
        highest = max(int((max(heights) + UNDER_FLOOR) // STOREY_HEIGHT), 0)
        count = min(highest, MOST_STOREYS) + 1
        floors = [
            DrawnLevel(name=_named(number, count), floor=number * STOREY_HEIGHT, given=False)
            for number in range(count)
        ]
    below = DrawnLevel(name=f"below {floors[0].name}", floor=None, given=False)
    every = (below, *floors)
    used = {level_of(every, height).name for height in heights}
    drawn = [level for level in every if level.name in used]
    upper = [level for level in drawn if not level.given and level.name.startswith("upper floor ")]
    if len(upper) == 1:
        drawn[drawn.index(upper[0])] = replace(upper[0], name="upper floor")
    return tuple(drawn)


def level_height(design: Design, index: int) -> float:
    """The height that decides a link's level [m]: of its end, of a line over land the source's.

    A line over a ridge passes no storey of the house.
    """
    link = design.tree.links[index]
    over_ground = isinstance(link, Run) and bool(link.profile)
    return design.tree.elevation[0 if over_ground else index]


def _named(number: int, count: int) -> str:
    if number == 0:
        return "ground floor"
    if number == MOST_STOREYS:
        return "higher up"
    return "upper floor" if count == 2 else f"upper floor {number}"


def level_of(every: Sequence[DrawnLevel], height: float) -> DrawnLevel:
    """The highest level whose floor lies at or below a height [m]; the lowest if there is none."""
    fitting = [
        level for level in every if level.floor is None or level.floor <= height + UNDER_FLOOR
    ]
    return fitting[-1] if fitting else every[0]
