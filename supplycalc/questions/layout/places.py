"""Where a manifold may stand: the candidate places and every way of pipe from and to them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import islice

from msgspec import Struct

from supplycalc.model import House, Position
from supplycalc.questions.layout.kept_house import KeptHouse
from supplycalc.questions.layout.routes import Routes, Way, inside, ticks
from supplycalc.questions.layout.shapes import Spot, manifold_house
from supplycalc.units import show
from supplycalc.units.dimensions import FOOT

GRID = {"us": 2 * FOOT, "metric": 0.5}
"""[m] Usual distance between places that are tried."""
HEIGHT = {"us": 4 * FOOT, "metric": 1.2}
"""[m] Usual height of a manifold above its floor; common practice, no source."""
MANY = 600
"""Where the file gives no grid it is made wider until there are no more places."""
MOST = 5000
"""No more are tried on a grid that the file gives."""


def candidates(kept: KeptHouse) -> tuple[list[tuple[Position, str]], float]:
    """The places that are tried, along the walls of the file or on a grid over each storey.

    Returns:
        (position, storey or wall) of each, and the distance between them [m].

    Raises:
        ValueError: the file's own grid makes too many.
    """
    house = kept.house
    units = house.project.units
    spacing = house.layout.grid or GRID[units]
    most = MANY if house.layout.grid is None else MOST
    while len(candidates := list(islice(_candidates(kept, spacing), most + 1))) > most:
        if house.layout.grid is not None:
            raise ValueError(
                f"a grid of {show(spacing, 'length', units)} makes more than {most} places for the "
                "manifold; give a wider grid, or walls, and check the positions"
            )
        spacing *= 1.5
    return candidates, spacing


def _candidates(kept: KeptHouse, spacing: float) -> Iterator[tuple[Position, str]]:
    house = kept.house
    height = house.layout.height
    above = HEIGHT[house.project.units] if height is None else height
    if house.walls:
        for wall in house.walls:
            long = math.dist(wall.start, wall.end)
            steps = math.ceil(long / spacing - 1e-9)
            for i in range(steps + 1):
                east, north, floor = (
                    a + (b - a) * i / max(steps, 1)
                    for a, b in zip(wall.start, wall.end, strict=True)
                )
                yield (east, north, floor + above), wall.name
        return
    known = [fixture.at for fixture in kept.fixtures if fixture.at is not None]
    known += [kept.origin_at, kept.heater_at]
    (west, east), (south, north) = (
        (min(at[axis] for at in known), max(at[axis] for at in known)) for axis in (0, 1)
    )
    floors = [(storey.floor, storey.name) for storey in house.storeys if storey.manifolds] or [
        (0.0, "")
    ]
    for floor, name in floors:
        for i in range(math.floor((east - west) / spacing + 1e-9) + 1):
            for j in range(math.floor((north - south) / spacing + 1e-9) + 1):
                yield (west + i * spacing, south + j * spacing, floor + above), name


class Site(Struct, frozen=True, kw_only=True):
    """The candidate places with the ways to everything."""

    kept: KeptHouse
    routes: Routes
    places: tuple[tuple[Position, str], ...]
    """Only those that a pipe can reach from everywhere."""
    unreachable: int
    spacing: float
    from_origin: tuple[Way, ...]
    from_heater: tuple[Way, ...]
    to_fixture: tuple[tuple[Way, ...], ...]
    """For each place one way per fixture of the kept."""
    to_heater: Way | None
    """From origin to heater."""

    def spot(self, place: int, name: str = "", fixtures: Sequence[int] | None = None) -> Spot:
        """A manifold place with its ways, for all fixtures or some."""
        wanted = range(len(self.kept.fixtures)) if fixtures is None else fixtures
        ways = self.to_fixture[place]
        return Spot(
            name=name,
            at=self.places[place][0],
            from_origin=self.from_origin[place],
            from_heater=self.from_heater[place],
            fixtures=tuple((self.kept.fixtures[i], ways[i]) for i in wanted),
        )

    def house(self, place: int) -> House:
        """The house with everything run home to one place."""
        return manifold_house(self.kept, [self.spot(place)], self.to_heater)


def survey(kept: KeptHouse) -> Site:
    """Find the candidate places and every way from and to them.

    Raises:
        ValueError: too many places, none can be reached, or a fixture or heater can't be.
    """
    tried, spacing = candidates(kept)
    fixtures = [fixture.at for fixture in kept.fixtures if fixture.at is not None]
    spots = [at for at, _ in tried]
    routes = Routes(kept.house, [*spots, *fixtures, kept.origin_at, kept.heater_at])
    boxes = [
        (box, sorted((ticks(zone.corner[2]), ticks(zone.opposite[2]))))
        for box, zone in zip(routes.zones, kept.house.zones, strict=True)
    ]
    origin = routes.ways(kept.origin_at, [kept.heater_at, *spots])
    heater = routes.ways(kept.heater_at, spots)
    by_fixture = [routes.ways(at, spots) for at in fixtures]
    reached = []
    for i, at in enumerate(spots):
        east, north, up = map(ticks, at)
        walled = any(inside(east, north, [box]) and low <= up <= high for box, (low, high) in boxes)
        ends = (origin[i + 1], heater[i], *(ways[i] for ways in by_fixture))
        if not walled and all(way is not None for way in ends):
            reached.append(i)
    if not reached or (kept.heater is not None and origin[0] is None):
        for fixture, ways in zip(kept.fixtures, by_fixture, strict=True):
            if all(way is None for way in ways):
                raise ValueError(
                    f"no pipe can reach {fixture.name}: it stands in a zone without pipe"
                )
        raise ValueError("no place for a manifold can be reached by pipe from everywhere")
    return Site(
        kept=kept,
        routes=routes,
        places=tuple(tried[i] for i in reached),
        unreachable=len(tried) - len(reached),
        spacing=spacing,
        from_origin=tuple(way for i in reached if (way := origin[i + 1]) is not None),
        from_heater=tuple(way for i in reached if (way := heater[i]) is not None),
        to_fixture=tuple(
            tuple(way for ways in by_fixture if (way := ways[i]) is not None) for i in reached
        ),
        to_heater=origin[0] if kept.heater is not None else None,
    )
