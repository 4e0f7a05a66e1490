"""Checked tables -> `House`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import PurePath
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import Catalogue, load_catalogue
from supplycalc.model import (
    Defaults,
    Device,
    Draw,
    Fixture,
    GaugeReading,
    House,
    Layout,
    Limits,
    Manifold,
    Point,
    Project,
    Pump,
    Range,
    Run,
    ServedHousehold,
    Storey,
    Tank,
    Wall,
    Water,
    WaterSource,
    Well,
    WellFilling,
    Zone,
)
from supplycalc.model.field_paths import has_value
from supplycalc.problems import InputError, Place, Problem
from supplycalc.reading.check import check_sections, unknown_sections
from supplycalc.reading.consistency import check_consistency
from supplycalc.reading.fields import SECTIONS
from supplycalc.reading.files import parse_mended
from supplycalc.reading.links import Entries, Link, branches, check_links, links_of
from supplycalc.reading.own_branches import with_own_branches
from supplycalc.reading.own_parts import OWN_SECTIONS, loss_of, own_catalogue
from supplycalc.reading.places import Path
from supplycalc.reading.profiles import check_profiles, pieces
from supplycalc.reading.reporter import Entry, Reporter
from supplycalc.reading.runs import RunReader, nominal_size, positions_of
from supplycalc.reading.well_line import (
    OLD_PIPES,
    LineThatJoins,
    WellLine,
    check_far_tanks,
    far_tanks,
    gauge_heights,
    line_of,
    old_run,
    with_tanks,
)
from supplycalc.units import UnitSystem


def read(text: str, name: str) -> House:
    """Read a house from the text of an input file.

    Raises:
        InputError: everything that is wrong, in file order.
    """
    data, places, syntax, guessed = parse_mended(text, name)
    shipped = load_catalogue()
    reporter = Reporter(file=name, places=places, choices=_choices(shipped))
    unknown = unknown_sections(reporter, data, SECTIONS)
    own_entries = check_sections(reporter, data, OWN_SECTIONS)
    catalogue = own_catalogue(reporter, own_entries, shipped)
    reporter.choices = _choices(catalogue, own_entries)
    others = tuple(section for section in SECTIONS if section not in OWN_SECTIONS)
    mistyped = frozenset(problem.nearest for problem in unknown if problem.nearest)
    entries: Entries = {**own_entries, **check_sections(reporter, data, others, mistyped)}
    entries = with_tanks(reporter, entries)
    if entries["well"]:
        from supplycalc.reading.further_wells import with_first_well

        entries = with_first_well(entries)

    hot_kinds = frozenset(kind for kind, device in catalogue.devices.items() if device.hot)
    reducing = frozenset(kind for kind, device in catalogue.devices.items() if device.reduces)
    entries = with_own_branches(reporter, entries, catalogue)
    every_link, complete = links_of(entries, hot_kinds, reducing)
    links: list[Link] = every_link
    joining: list[LineThatJoins] = []
    if entries["well"] or (entries["source"] and _named_well(entries)):
        from supplycalc.reading.further_wells import check_wells_belong, lines_that_join

        check_wells_belong(reporter, entries)
        links, joining = lines_that_join(reporter, entries, every_link)
    hidden = _broken(data, entries, mistyped, len(unknown))
    wrong = len(reporter.problems)
    check_links(reporter, entries, links, complete and not hidden, hidden)
    line = WellLine()
    if complete and not hidden and entries["source"] and len(reporter.problems) == wrong:
        line = line_of(reporter, entries, links)
        check_far_tanks(reporter, entries, links)
        if joining:
            from supplycalc.reading.further_wells import check_further_wells

            check_further_wells(reporter, entries, line, joining)
    check_consistency(reporter, entries, catalogue, mistyped)
    if entries["reading"]:
        from supplycalc.reading.readings import check_readings

        before = [*line.suction, *line.line, *(link for each in joining for link in each.links)]
        check_readings(reporter, entries, every_link, {link.path for link in before})
    runs, assumed_joinings = _runs(reporter, entries, every_link, catalogue)
    _check_same_size(reporter, entries, runs, catalogue)
    if not reporter.problems:
        project = _single(entries, "project")
        metric = project is not None and project.get("units") == "metric"
        system: UnitSystem = "metric" if metric else "us"
        check_profiles(reporter, entries, links, line, runs.values(), system)
    told = [problem for problem in reporter.problems if problem.place.line not in guessed]
    if syntax or reporter.problems:
        raise InputError([*syntax, *told])
    assumptions = (*reporter.notes, *_assumptions(entries, runs, assumed_joinings))
    house = _house(entries, runs, line, joining, catalogue, assumptions, name)
    if len(house.line) > 1:
        from supplycalc.reading.taps_before_tank import with_taps_before_tank

        house = with_taps_before_tank(house)
    if not reporter.ranges:
        return house
    ranges = tuple(_ranges(reporter, entries, line, joining))
    lost = [known for known in ranges if not has_value(house, known.path)]
    if lost:
        raise InputError(
            [
                Problem(
                    place=known.place,
                    message=f"{known.field}: {known.written!r} cannot be a range here; give one "
                    "value",
                )
                for known in lost
            ]
        )
    return replace(house, ranges=ranges)


def _named_well(entries: Entries) -> bool:
    """Whether the source's own well has a name that runs may start from."""
    wells = (source.get("well") for source in entries["source"])
    return any(well is not None and well.has("name") for well in wells)


def _ranges(
    reporter: Reporter, entries: Entries, line: WellLine, joining: list[LineThatJoins]
) -> Iterator[Range]:
    """The ranges of the file by where their values stand in the house."""
    joined = [link for each in joining for link in each.links]
    old = {link.path: link.name for link in (*line.suction, *line.line, *joined)}
    first = {
        part.path: name
        for name in ("well", "pump", "well_pump")
        if (part := entries["source"][0].get(name)) is not None
    }
    for path, spread in reporter.ranges:
        section, number = path[0], path[1]
        keys = tuple(str(key) for key in path[2:])
        tank = entries["source"][0].get("tank")
        if tank is not None and path[:2] == tank.path:
            where: tuple[str, ...] = ("source", "tank", *keys)
        elif path[:3] in old and section in ("source", "well"):
            where = ("run", old[path[:3]], *keys[1:])
        elif path[:-1] in first:
            where = ("source", first[path[:-1]], *keys[-1:])
        elif isinstance(number, int):
            entry = next(entry for entry in entries[str(section)] if entry.path == path[:2])
            where = (str(section), entry.get("name"), *keys)
        else:
            where = tuple(str(part) for part in path)
        yield replace(spread, path=where, place=reporter.place(path))


def _choices(catalogue: Catalogue, entries: Entries | None = None) -> dict[str, tuple[str, ...]]:
    """The words of the catalogue; what the file declares, but not rightly, is no unknown word."""

    def declared(section: str) -> list[str]:
        return [e.get("name") for e in (entries or {}).get(section, ()) if e.has("name")]

    return {
        "tubes": tuple(dict.fromkeys((*catalogue.tubes, *declared("tube")))),
        "joinings": tuple(catalogue.joinings),
        "devices": tuple(dict.fromkeys((*catalogue.devices, *declared("device_kind")))),
        "fixtures": tuple(catalogue.fixtures),
    }


_LINKED = ("run", "device", "manifold", "fixture")


def _broken(
    data: Mapping[str, Any], entries: Entries, mistyped: frozenset[str], unknown: int
) -> bool:
    """Whether links may hide where they cannot be read: in no table, or under a wrong name."""
    hidden = len(mistyped) < unknown or not mistyped.isdisjoint(_LINKED)
    return hidden or any(
        len(entries[kind]) != len(data.get(kind, ()))
        for kind in _LINKED
        if isinstance(data.get(kind, ()), list)
    )


def _single(entries: Entries, section: str) -> Entry | None:
    """The table of a section that stands at most once."""
    return entries[section][0] if entries[section] else None


def _runs(
    reporter: Reporter, entries: Entries, links: list[Link], catalogue: Catalogue
) -> tuple[dict[Path, Run], dict[str, str]]:
    """Every run and branch by its place in the file, and the assumed joining by material."""
    project = _single(entries, "project")
    allowance = project.get("length_allowance") if project is not None else None
    reader = RunReader(
        reporter=reporter,
        catalogue=catalogue,
        defaults=_single(entries, "defaults"),
        positions=positions_of(entries, links),
        allowance=Project(name="").length_allowance if allowance is None else allowance,
    )
    runs: dict[Path, Run | None] = {}
    for entry in entries["run"]:
        runs[entry.path] = reader.read(entry, entry.get("name"), entry.get("to"))
    for fixture in entries["fixture"]:
        for side, branch in branches(fixture):
            name = f"{fixture.get('name')} {side}"
            runs[branch.path] = reader.read(branch, name, name, fixture=fixture.get("name"))
    if reader.without_material:
        first, *others = sorted(reader.without_material, key=lambda entry: entry.place)
        more = f" (and for {len(others)} more runs)" if others else ""
        message = f"{first.label}: material is missing, here and in [defaults]{more}"
        reporter.report(first.path, message)
    readable = {path: run for path, run in runs.items() if run is not None}
    return readable, reader.assumed_joinings


def _check_same_size(
    reporter: Reporter, entries: Entries, runs: Mapping[Path, Run], catalogue: Catalogue
) -> None:
    """Refuse hot and cold that [defaults] asks to be of one size and that cannot be."""
    defaults = _single(entries, "defaults")
    if defaults is None or not defaults.get("same_size_hot_and_cold"):
        return
    for fixture in entries["fixture"]:
        pair = [runs[branch.path] for _, branch in branches(fixture) if branch.path in runs]
        if len(pair) < 2 or any(run.existing for run in pair):
            continue
        cold, hot = pair
        wish = "[defaults] asks for one size of hot and cold"
        if cold.group and hot.group and cold.group != hot.group:
            message = f"{wish}, and they belong to the groups {cold.group!r} and {hot.group!r}"
        elif not _sizes_of(cold, catalogue) & _sizes_of(hot, catalogue):
            ends = " and ".join(f"{run.name} {_said(run)}" for run in pair)
            message = f"{wish}, and no size may be both: {ends}"
        else:
            continue
        reporter.report(fixture.path, f"{fixture.label}: {message}")


def _sizes_of(run: Run, catalogue: Catalogue) -> set[str]:
    """Nominal sizes that a run may have by the file."""
    if run.size is not None:
        return {run.size}
    return set(run.sizes) or {size.nominal for size in catalogue.tubes[run.material].sizes}


def _said(run: Run) -> str:
    """A run's sizes in words."""
    if run.size is not None:
        return f"is fixed at {run.size}"
    if run.sizes:
        return f"may be {', '.join(run.sizes)}"
    return f"is of {run.material}"


def _house(
    entries: Entries,
    runs: Mapping[Path, Run],
    line: WellLine,
    joining: list[LineThatJoins],
    catalogue: Catalogue,
    assumptions: Iterable[str],
    name: str,
) -> House:
    devices = {entry.path: _device(entry) for entry in entries["device"]}
    default = _single(entries, "defaults")
    joined = None if default is None else default.get("joining")
    well = entries["source"][0].get("well")
    wells = [*([] if well is None else [well]), *entries["well"]]
    pipes = [well.get(key) for well in wells for key in OLD_PIPES if well.has(key)]
    old = {pipe.path: pipe for pipe in pipes}

    def before_tank(links: Iterable[Link]) -> Iterator[Run | Device]:
        for link in links:
            run = runs.get(link.path)
            if link.path in old:
                yield old_run(link, old[link.path], catalogue, joined)
            elif run is not None:
                yield from pieces(replace(run, start=link.start or run.start))
            else:
                yield devices[link.path]

    joining_links = [link for each in joining for link in each.links]
    taken = {link.path for link in (*line.suction, *line.line, *joining_links)}
    return House(
        project=_project(_single(entries, "project"), name, entries["household"]),
        source=_source(entries, line),
        water=_water(_single(entries, "water")),
        limits=_limits(_single(entries, "limits"), catalogue),
        defaults=_once(Defaults, entries, "defaults"),
        points=_each(Point, entries, "point"),
        suction=tuple(before_tank(line.suction)),
        joined_wells=tuple(each.well(before_tank) for each in joining),
        line=tuple(before_tank(line.line)),
        runs=tuple(
            piece
            for entry in entries["run"]
            if entry.path not in taken
            for piece in pieces(runs[entry.path])
        ),
        devices=tuple(device for path, device in devices.items() if path not in taken),
        manifolds=_each(Manifold, entries, "manifold"),
        fixtures=tuple(_fixture(entry, runs) for entry in entries["fixture"]),
        far_tanks=tuple(tank.record(Tank) for tank in far_tanks(entries)),
        households=_each(ServedHousehold, entries, "household"),
        draws=_each(Draw, entries, "draw"),
        readings=_each(GaugeReading, entries, "reading"),
        layout=_once(Layout, entries, "layout"),
        storeys=_each(Storey, entries, "storey"),
        walls=_each(Wall, entries, "wall"),
        zones=_each(Zone, entries, "zone"),
        catalogue=catalogue,
        assumptions=tuple(assumptions),
        place=Place(name),
    )


_Record = TypeVar("_Record", bound=Struct)


def _once(record: type[_Record], entries: Entries, section: str) -> _Record:
    """The record of a section that stands at most once."""
    entry = _single(entries, section)
    return record() if entry is None else entry.record(record)


def _each(record: type[_Record], entries: Entries, section: str) -> tuple[_Record, ...]:
    """The records of a section that may stand many times."""
    return tuple(entry.record(record) for entry in entries[section])


def _project(entry: Entry | None, name: str, households: Sequence[Entry]) -> Project:
    stem = PurePath(name).stem or "house"
    more: dict[str, Any] = {}
    if households:
        more["people"] = sum(household.get("people") for household in households)
    if entry is None:
        return Project(name=stem, **more)
    return entry.record(Project, name=entry.get("name") or stem, **more)


def _limits(entry: Entry | None, catalogue: Catalogue) -> Limits:
    if entry is None:
        return Limits()
    text = entry.get("service_minimum")
    nominal = None if text is None else nominal_size(text, catalogue.nominals)
    return entry.record(Limits, service_minimum=nominal)


def _source(entries: Entries, line: WellLine) -> WaterSource:
    [entry] = entries["source"]
    well, pump, tank = entry.get("well"), entry.get("pump"), entry.get("tank")
    heights = [height for _, height in gauge_heights(entries)]
    low, opens = entry.get("lowest_level"), entry.get("kind") in ("tank", "spring")
    # an open tank's outlet is taken to stand at its lowest level
    more: dict[str, Any] = {"elevation": heights[0] if heights else low or 0.0}
    if pump is not None and pump.get("kind") == "constant-pressure":
        for key in ("cut_in", "cut_out"):
            if entry.missing(key):
                more[key] = pump.get("set_pressure")
    ends = {} if line.pump is None else {"start": line.pump.start, "end": line.pump.end}
    if opens and well is not None:
        more["well"] = None
        more["filled_by"] = WellFilling(
            well=well.record(Well), pump=entry.get("well_pump").record(Pump, **ends)
        )
        ends = {}
    elif well is not None:
        more["well"] = well.record(Well)
    if opens and pump is not None:  # it lifts from the tank as another does from a well
        more["kind"] = "well"
        more["well"] = Well(static_level=0.0, elevation=low, place=entry.place)
    if pump is not None:
        more["pump"] = pump.record(Pump, **ends)
    if tank is not None:
        more["tank"] = tank.record(Tank)
    return entry.record(WaterSource, **more)


def _water(entry: Entry | None) -> Water:
    if entry is None:
        return Water()
    given = tuple(key for key in ("cold", "hot") if not entry.missing(key))
    return entry.record(Water, given=given)


def _device(entry: Entry) -> Device:
    falloff, falloff_flow = entry.get("falloff") or (None, None)
    return entry.record(Device, loss=loss_of(entry), falloff=falloff, falloff_flow=falloff_flow)


def _fixture(entry: Entry, runs: Mapping[Path, Run]) -> Fixture:
    more: dict[str, Any] = {side: runs[branch.path] for side, branch in branches(entry)}
    if entry.missing("elevation"):
        more["elevation"] = entry.get("at")[2]
    return entry.record(Fixture, **more)


def _assumptions(
    entries: Entries, runs: Mapping[Path, Run], assumed_joinings: Mapping[str, str]
) -> Iterator[str]:
    project, source = _single(entries, "project"), entries["source"][0]
    usual = Project(name="")
    if project is None or project.missing("demand"):
        yield f"demand method {usual.demand} (the file names none)"
    if source.get("kind") in ("tank", "spring"):
        if not any(gauge_heights(entries)) and source.missing("pump"):
            yield "the water leaves the source at the height of its lowest level"
        if source.missing("highest_level"):
            yield "the water stands at its lowest level when it is full too: no highest_level given"
    elif not any(gauge_heights(entries)):
        yield "the source's gauge stands at the height of the datum"
    pump = source.get("pump")
    known = pump is None or not (pump.missing("curve") and pump.missing("measured_flow"))
    if not known and source.get("kind") == "well" and source.missing("cut_in"):
        yield "the constant-pressure pump holds its set pressure at every flow"
    for material, joining in assumed_joinings.items():
        if joining != "none":
            yield f"{material} is joined the way called {joining!r}"
    measured = sum(run.length_measured for run in runs.values())
    if measured:
        lengths = (
            "the length of 1 run comes" if measured == 1 else f"the lengths of {measured} runs come"
        )
        given = project.get("length_allowance") if project is not None else None
        allowance = usual.length_allowance if given is None else given
        yield f"{lengths} from positions along the building's axes, with {allowance:.0%} added"
