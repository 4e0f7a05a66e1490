"""The supply as a tree: the source first, every link after the link that feeds it.

Index 0 is the source; every other index is a link (run, device or manifold) and, at the same time,
the point at that link's end. Links stand in preorder, so that everything fed through link i is the
slice i+1 .. last[i]: sums over what hangs below a link are differences of one cumulative sum.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import CHECK_VALVES, Catalogue, FixtureKind, Role, fixture_kinds
from supplycalc.hydraulics.numbers import at_most, is_array, not_below
from supplycalc.model import (
    TANK_INLET,
    WELL,
    Device,
    Fixture,
    House,
    Manifold,
    Run,
    Side,
    WaterSource,
)

Link = WaterSource | Run | Device | Manifold


class Outlet(Struct, frozen=True, kw_only=True):
    """One connection of a fixture, cold or hot, at the end of its branch."""

    fixture: Fixture
    side: Side
    link: int
    flow: float
    """Flow of the fixture when it runs alone, through this connection [m3/s]."""
    required_pressure: float
    """[Pa gauge], flowing"""

    @property
    def name(self) -> str:
        """The fixture's name, with the side where the fixture has both."""
        both = self.fixture.cold is not None and self.fixture.hot is not None
        return f"{self.fixture.name} ({self.side})" if both else self.fixture.name


class Tree(Struct, frozen=True, kw_only=True, eq=False):
    """A house's supply in order from the source down, one entry per link in every tuple."""

    house: House
    links: tuple[Link, ...]
    names: tuple[str, ...]
    """Of the links; the source's is that of its point."""
    points: tuple[str, ...]
    """Of the point at each link's end."""
    index: dict[str, int]
    """Point name -> index."""
    parent: tuple[int, ...]
    """Index of the feeding link; -1 for the source."""
    children: tuple[tuple[int, ...], ...]
    """Indices of the links that start at the link's end."""
    last: tuple[int, ...]
    """One past the last link fed through this one."""
    side: tuple[Side, ...]
    elevation: tuple[float, ...]
    """Of the point at the link's end [m]."""
    temperature: tuple[float, ...]
    """Of the water in the link [K]."""
    outlets: tuple[Outlet, ...]
    fixtures: dict[str, Fixture]
    """By name."""
    meeting: tuple[int, ...]
    """For each fixture the last link that feeds both its sides (its own branch if it has one)."""
    assumed_elevations: tuple[str, ...]
    """Heaters and pressure-reducing valves whose height the file leaves out."""
    known_elevation: tuple[bool, ...]
    """Whether the file gives the height of the link's end, or of what stands right behind it."""
    feeding_run: tuple[int, ...]
    """Index of the nearest run upstream of each link; 0 where the source itself feeds it."""

    @property
    def catalogue(self) -> Catalogue:
        """The house's own."""
        return self.house.catalogue

    @property
    def before_tank(self) -> bool:
        """Whether it is the line from the water to the tank."""
        return self.points[0] != self.house.source.point

    def __len__(self) -> int:
        return len(self.links)

    def path(self, link: int) -> list[int]:
        """Indices from the source's first link down to `link`, both included."""
        return [link, *self.feeding(link)][::-1] if link > 0 else []

    def feeding(self, link: int) -> Iterator[int]:
        """Indices of the links that feed `link`, the nearest first, without the source itself."""
        above = self.parent[link]
        while above > 0:
            yield above
            above = self.parent[above]

    def starts_at_manifold(self, link: int) -> bool:
        """Whether the link hangs on a manifold's port."""
        return isinstance(self.links[self.parent[link]], Manifold)

    def at_or_below(self, link: int) -> range:
        """Indices of `link` and of everything fed through it."""
        return range(link, self.last[link])

    def does(self, device: Device, role: Role) -> bool:
        """Whether a device has a role by its kind."""
        return role in self.catalogue.devices[device.kind].roles

    def closes(self, link: int) -> bool:
        """Whether no water runs back through a link: a check valve, or a device with one."""
        of = self.links[link]
        if isinstance(of, Run):
            return any(kind in CHECK_VALVES for kind, _ in of.fittings or ())
        return isinstance(of, Device) and self.does(of, "closes")

    def device_before(self, link: int, role: Role) -> Device | None:
        """The nearest device of a role between the source and `link`, or None."""
        devices = (self.links[i] for i in self.feeding(link))
        return next(
            (
                device
                for device in devices
                if isinstance(device, Device) and self.does(device, role)
            ),
            None,
        )

    @property
    def rise_side(self) -> tuple[Side, ...]:
        """Of the water in the rise along each link: what rises to a heater's inlet is cold."""
        return tuple(
            self.side[max(above, 0)] if isinstance(link, Device) else side
            for link, above, side in zip(self.links, self.parent, self.side, strict=True)
        )

    def runs(self) -> Iterator[tuple[int, Run]]:
        """Every run with its index, from the source down."""
        for i, link in enumerate(self.links):
            if isinstance(link, Run):
                yield i, link

    def kind_of(self, fixture: Fixture) -> FixtureKind:
        """The kind of a fixture, with what the book of the project's demand method asks for it."""
        return fixture_kinds(self.house.project.demand)[fixture.kind]


def build_tree(house: House) -> Tree:
    """Order a checked house from the source down.

    Args:
        house: a house whose points are each fed once, as reading makes sure.

    Raises:
        ValueError: a link starts from a point that nothing feeds.
    """
    fed: dict[str, list[tuple[str, Link]]] = {}
    total = 0
    for start, end, link in _edges(house):
        fed.setdefault(start, []).append((end, link))
        total += 1

    links: list[Link] = [house.source]
    gauge = house.source.point
    points, parent, last = [gauge], [-1], [0]
    children: list[list[int]] = [[]]
    index = {gauge: 0}
    open_lists = [iter(fed.get(gauge, ()))]
    open_links = [0]
    while open_lists:
        step = next(open_lists[-1], None)
        if step is None:
            open_lists.pop()
            last[open_links.pop()] = len(links)
            continue
        end, link = step
        if len(links) > total:
            raise ValueError(f"{end!r} is fed from what it feeds")
        index[end] = len(links)
        parent.append(open_links[-1])
        children[open_links[-1]].append(len(links))
        children.append([])
        open_links.append(len(links))
        links.append(link)
        points.append(end)
        last.append(0)
        open_lists.append(iter(fed.get(end, ())))
    if len(links) != total + 1:
        raise ValueError("a link starts from a point that the source does not feed")

    side, temperature = _sides(house, links, parent)
    elevation, known, assumed = _elevations(house, links, points, parent, children)
    outlets = tuple(_outlets(house, index))
    return Tree(
        house=house,
        links=tuple(links),
        names=(gauge, *(link.name for link in links[1:] if not isinstance(link, WaterSource))),
        points=tuple(points),
        index=index,
        parent=tuple(parent),
        children=tuple(map(tuple, children)),
        last=tuple(last),
        side=tuple(side),
        elevation=tuple(elevation),
        temperature=tuple(temperature),
        outlets=outlets,
        fixtures={fixture.name: fixture for fixture in house.fixtures},
        meeting=tuple(_meeting(house, index, parent, last)),
        assumed_elevations=tuple(assumed),
        known_elevation=tuple(known),
        feeding_run=_feeding_runs(links, parent),
    )


def tree_like(tree: Tree, house: House) -> Tree:
    """The tree of a house: one that is known, where only figures of shared runs and of the source
    differ."""
    other = tree.house
    parts = ("project", "water", "catalogue", "points", "devices", "manifolds", "fixtures")
    places = [(run.name, run.start, run.end, run.profile) for run in house.runs]
    same = (
        places == [(run.name, run.start, run.end, run.profile) for run in other.runs]
        and house.source.point == other.source.point
        and house.source.elevation == other.source.elevation
        and all(getattr(house, part) == getattr(other, part) for part in parts)
    )
    if not same:
        return build_tree(house)
    links: list[Link] = [house.source, *tree.links[1:]]
    for run in house.runs:
        links[tree.index[run.end]] = run
    return replace(tree, house=house, links=tuple(links))


def line_tree(house: House) -> Tree:
    """What stands before the tank, from the water on: a tree of one branch without a fixture.

    Its root is the water at rest. The first run of a pump that hangs in the well ends at the
    wellhead, where the file gives its end no height; its house is that of `well_side`."""
    house = well_side(house)
    links, source = house.before_tank, house.source
    count = len(links)
    given = _given_heights(house, links)
    elevation, known = [water_level(house)], [True]
    for link in links:
        height = given.get(link.end)
        if height is None and isinstance(link, Device):
            height = link.elevation if link.elevation is not None else link.at and link.at[2]
        if height is None and len(elevation) == 1 and not house.suction:
            height = wellhead(source)
        if height is None and link is (house.suction or (None,))[-1]:
            height = None if source.pump is None else source.pump.elevation
        known.append(height is not None)
        elevation.append(elevation[-1] if height is None else height)
    if links:
        elevation[-1], known[-1] = source.elevation, True
    points = (links[0].start if links else WELL, *(link.end for link in links))
    parent = range(-1, count)
    return Tree(
        house=house,
        links=(source, *links),
        names=(points[0], *(link.name for link in links)),
        points=points,
        index={name: i for i, name in enumerate(points)},
        parent=tuple(parent),
        children=(*((i + 1,) for i in range(count)), ()),
        last=(count + 1,) * (count + 1),
        side=tuple("cold" for _ in range(count + 1)),
        elevation=tuple(elevation),
        temperature=(house.water.cold,) * (count + 1),
        outlets=(),
        fixtures={},
        meeting=(),
        assumed_elevations=(),
        known_elevation=tuple(known),
        feeding_run=_feeding_runs((source, *links), parent),
    )


def well_side(house: House) -> House:
    """The house seen from its well: where that fills an open tank, the tank's inlet is the gauge.

    Returns:
        A house on that well, under no pressure at the inlet; the same where no well fills a tank.
    """
    source = house.source
    filling = source.filled_by
    if filling is None:
        return house
    low = source.lowest_level or 0.0
    full = low if source.highest_level is None else source.highest_level
    well = filling.well
    if well.elevation is None:
        well = replace(well, elevation=source.elevation)
    changed = replace(
        source,
        kind="well",
        elevation=_given_heights(house, house.before_tank).get(TANK_INLET, full),
        cut_in=0.0,
        cut_out=0.0,
        pump=filling.pump,
        well=well,
        tank=None,
        filled_by=None,
        lowest_level=None,
        highest_level=None,
        volume=None,
    )
    return replace(house, source=changed)


def _feeding_runs(links: Sequence[Link], parent: Sequence[int]) -> tuple[int, ...]:
    nearest = [0] * len(links)
    for i in range(1, len(links)):
        above = parent[i]
        nearest[i] = above if isinstance(links[above], Run) else nearest[above]
    return tuple(nearest)


def wellhead(source: WaterSource) -> float:
    """Height of the wellhead above the datum [m]; the gauge's where the file gives none."""
    well = source.well
    return source.elevation if well is None or well.elevation is None else well.elevation


def water_level(house: House) -> float:
    """Height of the well's water at rest above the datum [m]; the wellhead's where not given."""
    well = house.source.well
    return wellhead(house.source) - ((well and well.static_level) or 0.0)


def _edges(house: House) -> Iterator[tuple[str, str, Link]]:
    for run in house.runs:
        yield run.start, run.end, run
    for device in house.devices:
        yield device.start, device.end, device
    for manifold in house.manifolds:
        yield manifold.start, manifold.name, manifold
    for fixture in house.fixtures:
        for branch in fixture.branches:
            yield branch.start, branch.end, branch


def _sides(house: House, links: list[Link], parent: list[int]) -> tuple[list[Side], list[float]]:
    side: list[Side] = ["cold"]
    for i in range(1, len(links)):
        link = links[i]
        heats = isinstance(link, Device) and house.catalogue.devices[link.kind].hot
        side.append("hot" if heats else side[parent[i]])
    water = {"cold": house.water.cold, "hot": house.water.hot}
    return side, [water[s] for s in side]


def _elevations(
    house: House,
    links: list[Link],
    points: list[str],
    parent: list[int],
    children: list[list[int]],
) -> tuple[list[float], list[bool], list[str]]:
    """Heights of the points, which of them are known, and what stands at an assumed height.

    A point whose height the file leaves out stands as high as the device that is all it feeds,
    since a device spans no height; else as high as the point before it, but no higher than all that
    it feeds: a line falls on its way to a house that lies lower. A heater and a
    pressure-reducing valve change density and pressure where they stand, so their height matters;
    left out, they are taken to stand at the datum, the finished ground floor.
    """
    given = _given_heights(house, house.runs)
    for fixture in house.fixtures:
        given |= {branch.end: fixture.elevation for branch in fixture.branches}
    heights: list[float | None] = [given.get(name) for name in points]
    known = [height is not None for height in heights]
    assumed = []
    for i in range(len(links) - 1, 0, -1):
        link = links[i]
        if heights[i] is None and isinstance(link, Device | Manifold):
            heights[i] = link.elevation if link.elevation is not None else link.at and link.at[2]
            known[i] = heights[i] is not None
        if heights[i] is None and isinstance(link, Device):
            kind = house.catalogue.devices[link.kind]
            if kind.hot or link.setting is not None:
                heights[i] = 0.0
                assumed.append(link.name)
        if heights[i] is None and len(children[i]) == 1:
            [below] = children[i]
            if isinstance(links[below], Device):
                heights[i], known[i] = heights[below], known[below]
    heights[0], known[0] = house.source.elevation, True
    highest: list[float] = [-math.inf if height is None else height for height in heights]
    for i in range(len(links) - 1, 0, -1):
        highest[parent[i]] = not_below(highest[parent[i]], highest[i])
    elevation: list[float] = []
    for height, above, fed in zip(heights, parent, highest, strict=True):
        if height is None:
            before = elevation[above]
            given_below = is_array(fed) or math.isfinite(fed)
            height = at_most(before, fed) if given_below else before
        elevation.append(height)
    return elevation, known, assumed[::-1]


def _given_heights(house: House, links: Iterable[Run | Device]) -> dict[str, float]:
    """Heights of points that the file gives, else those that profiles of the links or the gauges
    of further pressure tanks give [m]."""
    given: dict[str, float] = {}
    for point in house.points:
        height = point.elevation if point.elevation is not None else point.at and point.at[2]
        if height is not None:
            given[point.name] = height
    for link in links:
        if isinstance(link, Run) and link.profile:
            given.setdefault(link.start, link.profile[0][1])
            given.setdefault(link.end, link.profile[-1][1])
    for tank in house.far_tanks:
        if tank.at is not None and tank.elevation is not None:
            given.setdefault(tank.at, tank.elevation)
    return given


def _outlets(house: House, index: dict[str, int]) -> Iterator[Outlet]:
    kinds = fixture_kinds(house.project.demand)
    for fixture in house.fixtures:
        kind = kinds[fixture.kind]
        flow = fixture.flow if fixture.flow is not None else kind.flow(fixture.valve)
        pressure = fixture.pressure
        if pressure is None:
            pressure = kind.pressure(fixture.valve)
        for branch in fixture.branches:
            yield Outlet(
                fixture=fixture,
                side="cold" if branch is fixture.cold else "hot",
                link=index[branch.end],
                flow=flow,
                required_pressure=pressure,
            )


def _meeting(
    house: House, index: dict[str, int], parent: list[int], last: list[int]
) -> Iterator[int]:
    for fixture in house.fixtures:
        ends = [index[run.end] for run in fixture.branches]
        above = ends[0]
        while not above <= ends[-1] < last[above]:
            above = parent[above]
        yield above
