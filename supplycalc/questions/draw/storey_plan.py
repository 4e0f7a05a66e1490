"""The plan of a storey, to scale, where the file gives positions."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from supplycalc.model import Device, Manifold, Run
from supplycalc.model.layout import Position
from supplycalc.output.drawing import (
    HOT,
    SIZE,
    SOLID,
    Drawing,
    Ink,
    Label,
    Mark,
    Shape,
    Stroke,
    circle,
    rectangle,
)
from supplycalc.questions.draw.levels import level_of
from supplycalc.questions.draw.riser import TITLE_SIZE, WIDE, key_in_columns
from supplycalc.questions.draw.study import SupplyDrawing
from supplycalc.units import UnitSystem, convert, unit_of

EDGE = 12.0
TALLEST = 460.0
"""Of the part to scale."""
DOT = 9.0
"""Radius of a numbered marker."""
APART = 2.0 * DOT + 3.0
ROUND_LENGTHS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
FEWEST = 2
"""Things with a place that make a plan."""


class _Thing(Struct, frozen=True, kw_only=True):
    """Something that stands at a place."""

    name: str
    at: Position
    worst: bool = False
    fails: bool = False
    square: bool = False


def storey_plans(drawn: SupplyDrawing, system: UnitSystem, width: float = WIDE) -> list[Drawing]:
    """A plan of each level on which anything has a place, from the lowest up; no texts touch."""
    things = list(_things(drawn))
    plans = []
    for level in drawn.levels:
        here = [it for it in things if level_of(drawn.levels, it.at[2]).name == level.name]
        if len({it.at[:2] for it in here}) >= FEWEST:
            plans.append(_Plan(drawn, level.name, here, system, width).drawing())
    return plans


def _things(drawn: SupplyDrawing) -> Iterator[_Thing]:
    """Fixtures, equipment, manifolds and the source, as far as they have a place."""
    house, worst = drawn.house, drawn.design.worst
    failing = {row.name for row in drawn.rows if row.fails}
    if house.source.at is not None:
        name = "pressure tank" if house.source.kind == "well" else house.source.kind
        yield _Thing(name=name, at=house.source.at, square=True)
    equipment: tuple[Device | Manifold, ...] = (*house.devices, *house.manifolds)
    for part in equipment:
        if part.at is not None:
            yield _Thing(name=part.name, at=part.at, square=True, fails=part.name in failing)
    for fixture in house.fixtures:
        if fixture.at is not None:
            fails = any(
                outlet.margin < 0.0 or outlet.name in failing
                for outlet in drawn.design.outlets
                if outlet.fixture is fixture
            )
            yield _Thing(
                name=fixture.name, at=fixture.at, worst=fixture is worst.fixture, fails=fails
            )


def _places(drawn: SupplyDrawing) -> dict[int, Position]:
    """Where the end of each link is, as far as the file says it."""
    house, tree = drawn.house, drawn.design.tree
    points = {point.name: point.at for point in house.points if point.at is not None}
    fixtures = {outlet.link: outlet.fixture.at for outlet in tree.outlets}
    places: dict[int, Position] = {}
    for index in range(len(tree) - 1, -1, -1):
        link = tree.links[index]
        at = house.source.at if index == 0 else None
        if isinstance(link, Device | Manifold):
            at = link.at
        elif isinstance(link, Run):
            at = fixtures.get(index) or points.get(tree.points[index])
        if at is None and len(tree.children[index]) == 1:
            [below] = tree.children[index]
            if isinstance(tree.links[below], Device | Manifold):
                at = places.get(below)
        if at is not None:
            places[index] = at
    return places


class _Plan:
    """One plan on its way from places to marks."""

    def __init__(
        self,
        drawn: SupplyDrawing,
        level: str,
        things: Sequence[_Thing],
        system: UnitSystem,
        width: float,
    ) -> None:
        self.drawn, self.level, self.things = drawn, level, things
        self.system, self.width = system, width
        house = drawn.house
        self.walls = [wall for wall in house.walls if self._is_here(wall.start[2])]
        self.zones = [
            zone
            for zone in house.zones
            if self._is_here(zone.corner[2]) or self._is_here(zone.opposite[2])
        ]
        corners: list[Position] = [it.at for it in things]
        corners += [end for wall in self.walls for end in (wall.start, wall.end)]
        corners += [end for zone in self.zones for end in (zone.corner, zone.opposite)]
        self.low = [min(at[axis] for at in corners) for axis in (0, 1)]
        self.high = [max(at[axis] for at in corners) for axis in (0, 1)]
        across, up = (max(self.high[axis] - self.low[axis], 1.0) for axis in (0, 1))
        room = width - 2 * EDGE - 4 * DOT
        self.scale = min(room / across, TALLEST / up)
        self.left = EDGE + 2 * DOT
        self.top = EDGE + 58.0

    def _is_here(self, height: float) -> bool:
        return level_of(self.drawn.levels, height).name == self.level

    def _at(self, place: Position) -> tuple[float, float]:
        return (
            self.left + (place[0] - self.low[0]) * self.scale,
            self.top + (self.high[1] - place[1]) * self.scale,
        )

    def drawing(self) -> Drawing:
        """The sheet: title, plan to scale, key of the numbers."""
        bottom = self.top + (self.high[1] - self.low[1]) * self.scale + 2 * DOT
        title = f"Plan: {self.level}"
        marks: list[Mark] = [
            Label(x=EDGE, y=EDGE + 14.0, text=title, size=TITLE_SIZE, bold=True),
            Label(
                x=EDGE,
                y=EDGE + 33.0,
                text="Lengths as measured; pipe may lie elsewhere.",
                ink="grey",
            ),
        ]
        marks += self._building()
        marks += self._pipes()
        places = self._spread()
        for number, (thing, (x, y)) in enumerate(zip(self.things, places, strict=True), start=1):
            marks += self._marker(number, thing, x, y)
        scale, bottom = self._scale_bar(bottom + 16.0)
        marks += scale
        key, bottom = self._key(bottom + 6.0)
        marks += key
        names = ", ".join(f"{number} {it.name}" for number, it in enumerate(self.things, start=1))
        return Drawing(
            title=f"Plan of {self.level}",
            description=f"Where things stand: {names}.",
            width=self.width,
            height=bottom + EDGE,
            marks=tuple(marks),
        )

    def _building(self) -> Iterator[Mark]:
        """Walls for a manifold, boxes without pipe."""
        for zone in self.zones:
            (x1, y1), (x2, y2) = self._at(zone.corner), self._at(zone.opposite)
            left, right, top, bottom = min(x1, x2), max(x1, x2), min(y1, y2), max(y1, y2)
            yield rectangle(left, top, right, bottom, edge="pale", width=1.0)
            for step in range(1, int((right - left + bottom - top) / 10.0) + 1):
                reach = step * 10.0
                start = (left + min(reach, right - left), top + max(reach - (right - left), 0.0))
                end = (left + max(reach - (bottom - top), 0.0), top + min(reach, bottom - top))
                yield Stroke(points=(start, end), ink="pale", width=0.6)
        for wall in self.walls:
            ends = (self._at(wall.start), self._at(wall.end))
            yield Stroke(points=ends, ink="grey", width=4.0)
            yield Stroke(points=ends, ink="white", width=2.2)

    def _pipes(self) -> Iterator[Mark]:
        """Runs whose ends have a place, on the level of their end."""
        places, tree = _places(self.drawn), self.drawn.design.tree
        for row in self.drawn.rows:
            if row.index <= 0 or not isinstance(tree.links[row.index], Run):
                continue
            start, end = places.get(row.parent), places.get(row.index)
            if start is None or end is None or not self._is_here(end[2]):
                continue
            (x1, y1), (x2, y2) = self._at(start), self._at(end)
            hot = row.side == "hot"
            shift = 2.5 if hot else -2.5  # cold and hot side by side
            yield Stroke(
                points=((x1 + shift, y1), (x1 + shift, y2 + shift), (x2, y2 + shift)),
                ink="hot" if hot else "cold",
                width=3.0 if row.worst_way else 1.2,
                dashes=HOT if hot else SOLID,
            )

    def _spread(self) -> list[tuple[float, float]]:
        """A place for each marker, as near to its own as others leave."""
        taken: list[tuple[float, float]] = []
        for thing in self.things:
            x, y = self._at(thing.at)
            taken.append(next(spot for spot in _around(x, y) if _is_free(spot, taken, self)))
        return taken

    def fits(self, x: float, y: float) -> bool:
        """Whether a marker there stays on the sheet, clear of title and scale."""
        bottom = self.top + (self.high[1] - self.low[1]) * self.scale + 2 * DOT
        inside = EDGE + DOT <= x <= self.width - EDGE - DOT
        return inside and self.top - 2 * DOT + 1.0 <= y <= bottom

    def _marker(self, number: int, thing: _Thing, x: float, y: float) -> Iterator[Mark]:
        own = self._at(thing.at)
        if math.dist(own, (x, y)) > 1.0:
            yield Stroke(points=(own, (x, y)), ink="grey", width=0.8)
            yield circle(*own, 2.0, fill="black")
        dark = thing.fails or thing.worst
        fill: Ink = "black" if dark else "white"
        ink: Ink = "white" if dark else "black"
        if thing.square:
            corners = rectangle(x - DOT, y - DOT, x + DOT, y + DOT)
            yield Shape(points=corners.points, fill=fill)
        else:
            yield circle(x, y, DOT, fill=fill)
        yield Label(
            x=x,
            y=y + 3.6,
            text=str(number),
            size=10.0,
            anchor="middle",
            ink=ink,
            bold=True,
        )

    def _scale_bar(self, top: float) -> tuple[list[Mark], float]:
        one, unit = convert(1.0, "length", self.system)[0], unit_of("length", self.system)
        fitting = [length for length in ROUND_LENGTHS if length / one * self.scale < 160.0]
        length = fitting[-1] if fitting else ROUND_LENGTHS[0]
        reach = length / one * self.scale
        y = top + 8.0
        marks: list[Mark] = [
            Stroke(points=((EDGE, y - 4), (EDGE, y), (EDGE + reach, y), (EDGE + reach, y - 4))),
            Label(x=EDGE + reach + 8.0, y=y + 3.0, text=f"{length:g} {unit}", size=SIZE - 1),
        ]
        return marks, y + 6.0

    def _key(self, top: float) -> tuple[list[Label], float]:
        """What the numbers mean, in as many columns as fit."""
        columns = 3 if self.width >= WIDE else 2
        wide = (self.width - 2 * EDGE) / columns
        entries = [
            f"{number} {it.name}{' (worst)' if it.worst else ''}{' FAILS' if it.fails else ''}"
            for number, it in enumerate(self.things, start=1)
        ]
        if self.walls:
            names = ", ".join(wall.name for wall in self.walls)
            entries.append(f"double line: {names}")
        if self.zones:
            names = ", ".join(zone.name for zone in self.zones)
            entries.append(f"hatched, no pipe: {names}")
        return key_in_columns(entries, EDGE, top + 12.0, wide, columns, 10.0)


def _around(x: float, y: float) -> Iterator[tuple[float, float]]:
    """A place, then places around it, ever further away."""
    yield x, y
    for ring in range(1, 60):
        for step in range(8 * ring):
            angle = 2.0 * math.pi * step / (8 * ring)
            yield x + ring * APART / 2.0 * math.cos(angle), y - ring * APART / 2.0 * math.sin(angle)


def _is_free(spot: tuple[float, float], taken: Sequence[tuple[float, float]], plan: _Plan) -> bool:
    """Whether a marker there is clear of all others."""
    return plan.fits(*spot) and all(math.dist(spot, other) >= APART for other in taken)
