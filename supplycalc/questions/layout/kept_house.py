"""What a layout keeps of a house, and what it lays anew: the origin, the heater, the fixtures."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import Tube
from supplycalc.model import Device, Fixture, House, Manifold, Position, Run
from supplycalc.network import Tree, build_tree
from supplycalc.problems import InputError, Problem

FLEXIBLE = ("pex-", "pert-", "pe-", "pe100-", "multilayer")
"""Families that turn a corner by a bend of the tube, without a fitting; common practice."""


class KeptHouse(Struct, frozen=True, kw_only=True):
    """A house without its inner piping."""

    house: House
    """With only what is kept: what stands before the origin, and what hangs from that."""
    origin: str
    """The point where distribution begins."""
    origin_at: Position
    heater: Device | None
    heater_at: Position
    """Of the origin where there is no heater."""
    fixtures: tuple[Fixture, ...]
    """To be laid anew, each with its position."""
    cold_main: Run
    """Material and limits of pipe that is shared, cold."""
    hot_main: Run


def kept_of(house: House) -> KeptHouse:
    """Split a house into what stays and what a layout may move.

    Raises:
        InputError: everything that is missing: positions, a point to start from, too many devices.
    """
    tree = build_tree(house)
    problems: list[Problem] = []
    heaters = [
        i
        for i, link in enumerate(tree.links)
        if isinstance(link, Device) and house.catalogue.devices[link.kind].hot
    ]
    origin = _origin(tree, heaters, problems)
    below = tree.at_or_below(origin) if origin >= 0 else range(0)
    inner = {tree.names[i] for i in below if i != origin}
    laid = tuple(
        fixture for fixture in house.fixtures if any(run.name in inner for run in fixture.branches)
    )
    _devices(tree, heaters, inner, problems)
    unplaced = [repr(fixture.name) for fixture in laid if fixture.at is None]
    if unplaced:
        *names, last = unplaced
        told = f"fixtures {', '.join(names)} and {last} have" if names else f"fixture {last} has"
        problems.append(_problem(house, f"{told} no position (at)"))
    heater = tree.links[heaters[0]] if heaters else None
    if isinstance(heater, Device) and heater.at is None:
        problems.append(_problem(house, f"device {heater.name!r} has no position (at)"))
    name = tree.points[max(origin, 0)]
    at = _position(house, name)
    if at is None and origin >= 0:
        message = f"the point {name!r}, where distribution begins, has no position; give it in "
        problems.append(_problem(house, f'{message}[[point]] name = "{name}" at = [...]'))
    if not laid and not problems:
        problems.append(_problem(house, f"no fixture hangs from {name!r}"))
    if problems or at is None:
        raise InputError(problems)
    known = heater if isinstance(heater, Device) else None
    cold, hot = _mains(house, laid)
    return KeptHouse(
        house=_kept(house, inner, laid),
        origin=name,
        origin_at=at,
        heater=known,
        heater_at=at if known is None or known.at is None else known.at,
        fixtures=laid,
        cold_main=cold,
        hot_main=hot,
    )


def _problem(house: House, message: str, valid: tuple[str, ...] = ()) -> Problem:
    place = house.layout.place if house.layout.start is not None else house.place
    return Problem(place=place, message=message, value=house.layout.start or "", valid=valid)


def _origin(tree: Tree, heaters: list[int], problems: list[Problem]) -> int:
    """Index of the link at whose end distribution begins; -1 where it cannot be told."""
    house = tree.house
    wished = house.layout.start
    if wished is not None:
        if wished not in tree.index:
            message = f"[layout], from: {wished!r} is no point of this file"
            problems.append(_problem(house, message, tree.points))
            return -1
        return tree.index[wished]
    if len(heaters) > 1:
        names = ", ".join(tree.names[i] for i in heaters)
        problems.append(_problem(house, f"a layout is for one heater; this file has {names}"))
        return -1
    ends = [
        tree.index[fixture.cold.end]
        for fixture in house.fixtures
        if fixture.cold is not None and (fixture.hot is not None or not heaters)
    ]
    ends += heaters
    common = tree.path(ends[0]) if ends else [0]
    above = common[-2] if len(common) > 1 else 0
    while above > 0 and not all(end in tree.at_or_below(above) for end in ends):
        above = tree.parent[above]
    while isinstance(tree.links[above], Manifold):
        above = tree.parent[above]
    return above


def _devices(tree: Tree, heaters: list[int], inner: set[str], problems: list[Problem]) -> None:
    for link in tree.links:
        if not isinstance(link, Device) or link.name not in inner:
            continue
        if tree.index[link.end] not in heaters:
            message = (
                f"device {link.name!r} stands within what is laid anew; let it stand before the "
                "point where distribution begins, or name a later one: [layout] from"
            )
            problems.append(_problem(tree.house, message))


def _position(house: House, point: str) -> Position | None:
    """Where a point stands."""
    if point == house.source.point and house.source.at is not None:
        return house.source.at
    for known in house.points:
        if known.name == point:
            return known.at
    return next((device.at for device in house.devices if device.end == point), None)


def _mains(house: House, laid: tuple[Fixture, ...]) -> tuple[Run, Run]:
    """What shared pipe is made of: the default material, else what most branches are made of."""
    first = laid[0].branches[0]
    defaults = house.defaults
    catalogue = house.catalogue
    material, joining = first.material, first.joining
    if defaults.material is not None:
        material = defaults.material
        usual = catalogue.tubes[material].joinings
        joining = defaults.joining if defaults.joining in usual else usual[0]
    cold = Run(
        name="main", start="", end="", length=1.0, material=material, joining=joining, fittings=()
    )
    like = next((fixture.hot for fixture in laid if fixture.hot is not None), None)
    if catalogue.tubes[material].hot or like is None:
        return cold, cold
    return cold, replace(
        cold, material=like.material, joining=like.joining, insulated=like.insulated
    )


def _kept(house: House, inner: set[str], laid: tuple[Fixture, ...]) -> House:
    """The house without the inner pipes, manifolds, heater and fixtures, not to be sized so."""
    runs = tuple(run for run in house.runs if run.name not in inner)
    devices = tuple(device for device in house.devices if device.name not in inner)
    manifolds = tuple(manifold for manifold in house.manifolds if manifold.name not in inner)
    ends = {house.source.point, *(run.end for run in runs), *(device.end for device in devices)}
    ends |= {manifold.name for manifold in manifolds}
    names = {fixture.name for fixture in laid}
    return replace(
        house,
        points=tuple(point for point in house.points if point.name in ends),
        runs=runs,
        devices=devices,
        manifolds=manifolds,
        fixtures=tuple(fixture for fixture in house.fixtures if fixture.name not in names),
    )


def turn_kind(tube: Tube) -> str:
    """What a corner is made with: a bend of a flexible tube, or an elbow."""
    return "bend" if tube.name.startswith(FLEXIBLE) else "elbow-90"
