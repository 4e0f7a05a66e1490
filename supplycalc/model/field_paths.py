"""Values of a house by where they stand in its file, such as ("run", "service", "length")."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model.house import Device, Fixture, House, Manifold, Run
from supplycalc.model.ranges import FieldPath, Range
from supplycalc.model.source import WaterSource
from supplycalc.units import Loss

_Record = TypeVar("_Record", bound=Struct)
_Link = TypeVar("_Link", Run, Device, Manifold)


class NoSuchField(KeyError):  # noqa: N818 - says what it is
    """Nothing in the house stands at the path."""


def value_at(house: House, path: FieldPath) -> Any:
    """The value at a path; of a device's loss the pressure that it is told by.

    Raises:
        NoSuchField: nothing stands there.
    """
    seen: list[Any] = []

    def look(value: Any) -> Any:
        seen.append(value)
        return value

    _changed(house, path, look)
    return seen[0]


def has_value(house: House, path: FieldPath) -> bool:
    """Whether something stands at a path."""
    try:
        value_at(house, path)
    except NoSuchField:
        return False
    return True


def run_of(path: FieldPath) -> str:
    """Name of the run that a field belongs to: a run of the file, or a fixture's branch."""
    return path[1] if path[0] == "run" else f"{path[1]} {path[2]}"


def map_runs(house: House, each: Callable[[Run], Run]) -> House:
    """The same house with every run and branch passed through a function."""

    def changed(fixture: Fixture) -> Fixture:
        cold = None if fixture.cold is None else each(fixture.cold)
        hot = None if fixture.hot is None else each(fixture.hot)
        same = cold is fixture.cold and hot is fixture.hot
        return fixture if same else replace(fixture, cold=cold, hot=hot)

    def passed(links: tuple[Run | Device, ...]) -> tuple[Run | Device, ...]:
        return tuple(each(link) if isinstance(link, Run) else link for link in links)

    return replace(
        house,
        suction=passed(house.suction),
        line=passed(house.line),
        joined_wells=tuple(replace(well, line=passed(well.line)) for well in house.joined_wells),
        runs=tuple(each(run) for run in house.runs),
        fixtures=tuple(changed(fixture) for fixture in house.fixtures),
    )


def hung_elsewhere(house: House, points: Mapping[str, str]) -> House:
    """The same house with all behind the tank that hangs on some points hung on others instead."""

    def moved(link: _Link) -> _Link:
        return replace(link, start=points[link.start]) if link.start in points else link

    return replace(
        house,
        runs=tuple(map(moved, house.runs)),
        devices=tuple(map(moved, house.devices)),
        manifolds=tuple(map(moved, house.manifolds)),
        fixtures=tuple(
            replace(
                fixture,
                cold=None if fixture.cold is None else moved(fixture.cold),
                hot=None if fixture.hot is None else moved(fixture.hot),
            )
            for fixture in house.fixtures
        ),
    )


def with_live_ranges(house: House) -> House:
    """The house without the ranges of what was changed since it was read, or is gone."""
    live = tuple(known for known in house.ranges if _is_live(house, known))
    return house if live == house.ranges else replace(house, ranges=live)


def _is_live(house: House, known: Range) -> bool:
    if not has_value(house, known.path):
        return False
    value = value_at(house, known.path)
    return value is None if known.distribution == "sizes" else bool(value == known.middle)


def with_value(house: House, path: FieldPath, value: Any) -> House:
    """The same house with another value at a path, and what reading takes from it.

    Args:
        value: [SI], a number or an array with one value for each draw; of a loss its pressure.

    Raises:
        NoSuchField: nothing stands there.
    """
    return _changed(house, path, lambda _: value)


def _changed(house: House, path: FieldPath, change: Callable[[Any], Any]) -> House:
    section, *rest = path
    if section == "source":
        return replace(house, source=_source(house.source, rest, change))
    if section == "water" and len(rest) == 1:
        return replace(house, water=_field(house.water, rest[0], change))
    if section == "project" and rest == ["people"]:
        return replace(house, project=_field(house.project, "people", change))
    if len(rest) < 2:
        raise NoSuchField(".".join(path))
    name, key = rest[0], rest[-1]
    if section == "fixture" and len(rest) == 3:
        section, name = "run", f"{name} {rest[1]}"
    if section == "run":
        return _run(house, name, key, change, path)
    if section == "well":
        return _well(house, name, rest[1:], change, path)
    plural = _MANY.get(section)
    if plural is None:
        raise NoSuchField(".".join(path))
    count = 0
    parts: dict[str, Any] = {}
    for where in plural:
        records = list(getattr(house, where))
        for i, record in enumerate(records):
            if record.name == name and (section != "device" or isinstance(record, Device)):
                records[i], count = _field(record, key, change), count + 1
        parts[where] = tuple(records)
    if not count:
        raise NoSuchField(".".join(path))
    return replace(house, **parts)


_MANY = {
    "device": ("suction", "line", "devices"),
    "manifold": ("manifolds",),
    "point": ("points",),
    "fixture": ("fixtures",),
    "tank": ("far_tanks",),
}
"""Section -> where its records stand in the house."""


def _run(house: House, name: str, key: str, change: Callable[[Any], Any], path: FieldPath) -> House:
    count = 0

    def each(run: Run) -> Run:
        nonlocal count
        if run.name != name:
            return run
        count += 1
        return _field(run, key, change)

    changed = map_runs(house, each)
    if not count:
        raise NoSuchField(".".join(path))
    return changed


def _well(
    house: House, name: str, rest: list[str], change: Callable[[Any], Any], path: FieldPath
) -> House:
    """A further well's own value, or with "pump" before it one of its pump's."""
    part = rest[0] if len(rest) == 2 else "well"
    if part not in ("pump", "well") or all(well.name != name for well in house.joined_wells):
        raise NoSuchField(".".join(path))
    changed = tuple(
        well
        if well.name != name
        else replace(well, **{part: _field(getattr(well, part), rest[-1], change)})
        for well in house.joined_wells
    )
    return replace(house, joined_wells=changed)


FILLING = {"well": "well", "well_pump": "pump"}
"""Tables of [source] that tell of the well which fills an open tank -> their place there."""


def _source(source: WaterSource, rest: list[str], change: Callable[[Any], Any]) -> WaterSource:
    if len(rest) == 1:
        changed = _field(source, rest[0], change)
        tank = changed.tank
        if rest[0] == "elevation" and tank is not None and tank.elevation is not None:
            changed = replace(changed, tank=replace(tank, elevation=changed.elevation))
        return changed
    part, key = rest[0], rest[-1]
    filling = source.filled_by
    if filling is not None and part in FILLING and len(rest) == 2:
        of_filling = _field(getattr(filling, FILLING[part]), key, change)
        return replace(source, filled_by=replace(filling, **{FILLING[part]: of_filling}))
    record = getattr(source, part, None)
    if part not in ("tank", "pump", "well") or record is None or len(rest) != 2:
        raise NoSuchField(".".join(("source", *rest)))
    changed = replace(source, **{part: _field(record, key, change)})
    if (part, key) == ("tank", "elevation") and changed.tank is not None:
        changed = replace(changed, elevation=changed.tank.elevation)
    if (part, key) == ("pump", "set_pressure") and changed.pump is not None:
        # where the file names no switch, what such a pump holds stands for it
        held, now = record.set_pressure, changed.pump.set_pressure
        follow = {each: now for each in ("cut_in", "cut_out") if getattr(source, each) is held}
        changed = replace(changed, **follow)
    return changed


def _field(record: _Record, key: str, change: Callable[[Any], Any]) -> _Record:
    if key not in record.__struct_fields__:
        raise NoSuchField(key)
    value = getattr(record, key)
    if isinstance(value, Loss):
        if value.curve:
            raise NoSuchField(key)
        part = "constant" if _is_constant(value) else "quadratic"
        return replace(record, **{key: replace(value, **{part: change(getattr(value, part))})})
    return replace(record, **{key: change(value)})


def _is_constant(loss: Loss) -> bool:
    return isinstance(loss.quadratic, float | int) and not loss.quadratic
