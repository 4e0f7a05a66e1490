"""Checked tables -> `House`."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import PurePath
from typing import Any, TypeVar

from supplycalc.catalogue import Catalogue, load_catalogue
from supplycalc.model import (
    Defaults,
    Device,
    Draw,
    DropPipe,
    Fixture,
    House,
    Layout,
    Limits,
    Manifold,
    Point,
    Project,
    Pump,
    Run,
    Storey,
    Tank,
    Wall,
    Water,
    WaterSource,
    Well,
    Zone,
)
from supplycalc.problems import InputError, Place
from supplycalc.reading.check import check_sections, unknown_sections
from supplycalc.reading.fields import SECTIONS
from supplycalc.reading.files import parse_toml
from supplycalc.reading.links import Entries, Link, branches, check_links, links_of
from supplycalc.reading.own import OWN_SECTIONS, Own, loss_of, read_own
from supplycalc.reading.pipes import Pipe, PipeReader, positions_of
from supplycalc.reading.places import Path
from supplycalc.reading.reporter import Entry, Reporter
from supplycalc.reading.rules import check_rules


def read(text: str, name: str) -> House:
    """Read a house from the text of an input file.

    Args:
        text: TOML.
        name: of the file, for messages and places.

    Returns:
        The house, checked.

    Raises:
        InputError: everything that is wrong, in file order.
    """
    data, places = parse_toml(text, name)
    shipped = load_catalogue()
    reporter = Reporter(file=name, places=places, choices=_choices(shipped))
    unknown = unknown_sections(reporter, data, SECTIONS)
    own_entries = check_sections(reporter, data, OWN_SECTIONS)
    own = read_own(reporter, own_entries, shipped)
    catalogue = load_catalogue(own.house()) if own else shipped
    reporter.choices = _choices(catalogue, own)
    others = tuple(section for section in SECTIONS if section not in OWN_SECTIONS)
    mistyped = frozenset(problem.nearest for problem in unknown if problem.nearest)
    entries = {**own_entries, **check_sections(reporter, data, others, mistyped)}

    hot_kinds = frozenset(kind for kind, device in catalogue.devices.items() if device.hot)
    links, complete = links_of(entries, hot_kinds)
    complete = complete and not _broken(data, entries, mistyped, len(unknown))
    check_links(reporter, entries, links, complete)
    check_rules(reporter, entries, catalogue, mistyped)
    pipes = _pipes(reporter, entries, links, catalogue, own)
    if reporter.problems:
        raise InputError(reporter.problems)
    return _house(entries, pipes, own, name)


def _choices(catalogue: Catalogue, own: Own | None = None) -> dict[str, tuple[str, ...]]:
    return {
        "tubes": tuple(dict.fromkeys((*catalogue.tubes, *(own.wrong_tubes if own else ())))),
        "joinings": tuple(catalogue.joinings),
        "devices": tuple(dict.fromkeys((*catalogue.devices, *(own.wrong_devices if own else ())))),
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


def _one(entries: Entries, section: str) -> Entry | None:
    return entries[section][0] if entries[section] else None


def _pipes(
    reporter: Reporter, entries: Entries, links: list[Link], catalogue: Catalogue, own: Own
) -> dict[Path, Pipe]:
    project = _one(entries, "project")
    allowance = project.get("length_allowance") if project is not None else None
    reader = PipeReader(
        reporter=reporter,
        catalogue=catalogue,
        defaults=_one(entries, "defaults"),
        own_fittings=own.fittings,
        positions=positions_of(entries, links),
        allowance=Project(name="").length_allowance if allowance is None else allowance,
    )
    found: dict[Path, Pipe] = {}
    for run in entries["run"]:
        pipe = reader.read(run, run.get("from"), run.get("to"))
        if pipe is not None:
            found[run.path] = pipe
    for fixture in entries["fixture"]:
        for side, branch in branches(fixture):
            end = f"{fixture.get('name')} {side}"
            pipe = reader.read(branch, branch.get("from"), end)
            if pipe is not None:
                found[branch.path] = pipe
    if reader.without_material:
        first, *others = sorted(reader.without_material, key=lambda entry: entry.place)
        more = f" (and for {len(others)} more runs)" if others else ""
        message = f"{first.label}: material is missing, here and in [defaults]{more}"
        reporter.report(first.path, message)
    return found


def _house(entries: Entries, pipes: Mapping[Path, Pipe], own: Own, name: str) -> House:
    project = _project(_one(entries, "project"), name)
    return House(
        project=project,
        source=_source(entries["source"][0]),
        water=_water(_one(entries, "water")),
        limits=_plain(Limits, _one(entries, "limits")),
        defaults=_plain(Defaults, _one(entries, "defaults")),
        points=tuple(_plain(Point, entry) for entry in entries["point"]),
        runs=tuple(
            _run(entry, pipes[entry.path], entry.get("name"), entry.get("to"))
            for entry in entries["run"]
        ),
        devices=tuple(_device(entry) for entry in entries["device"]),
        manifolds=tuple(_plain(Manifold, entry) for entry in entries["manifold"]),
        fixtures=tuple(_fixture(entry, pipes) for entry in entries["fixture"]),
        draws=tuple(_plain(Draw, entry) for entry in entries["draw"]),
        layout=_plain(Layout, _one(entries, "layout")),
        storeys=tuple(_plain(Storey, entry) for entry in entries["storey"]),
        walls=tuple(_plain(Wall, entry) for entry in entries["wall"]),
        zones=tuple(_plain(Zone, entry) for entry in entries["zone"]),
        own_tubes=own.tubes,
        own_fittings=own.fittings,
        own_devices=own.devices,
        assumptions=tuple(_assumptions(entries, pipes, project.length_allowance)),
        place=Place(name),
    )


_Record = TypeVar("_Record")


def _plain(record: Callable[..., _Record], entry: Entry | None, **more: Any) -> _Record:
    """A record whose fields are called like the keys, `from` aside."""
    if entry is None:
        return record(**more)
    values = {"start" if key == "from" else key: entry.values[key] for key in entry.values}
    return record(**{**values, "place": entry.place, **more})


def _project(entry: Entry | None, name: str) -> Project:
    if entry is None or entry.get("name") is None:
        return _plain(Project, entry, name=PurePath(name).stem or "house")
    return _plain(Project, entry)


def _source(entry: Entry) -> WaterSource:
    well, pump, tank = entry.get("well"), entry.get("pump"), entry.get("tank")
    more: dict[str, Any] = {}
    if entry.missing("elevation"):
        at = entry.get("at")
        more["elevation"] = at[2] if at is not None else 0.0
    if pump is not None and pump.get("kind") == "constant-pressure":
        for key in ("cut_in", "cut_out"):
            if entry.missing(key):
                more[key] = pump.get("set_pressure")
    if well is not None:
        pipes = {
            key: _plain(DropPipe, well.get(key))
            for key in ("drop_pipe", "offset_pipe")
            if well.get(key) is not None
        }
        more["well"] = _plain(Well, well, **pipes)
    if pump is not None:
        more["pump"] = _plain(Pump, pump)
    if tank is not None:
        more["tank"] = _plain(Tank, tank)
    return _plain(WaterSource, entry, **more)


def _water(entry: Entry | None) -> Water:
    given = tuple(key for key in ("cold", "hot") if entry is not None and not entry.missing(key))
    return _plain(Water, entry, given=given)


def _run(entry: Entry, pipe: Pipe, name: str, end: str, fixture: str | None = None) -> Run:
    keys = (
        "fittings", "fitting_allowance", "group", "buried", "embedded", "joints", "roughness",
        "insulated", "circulated",
    )  # fmt: skip
    return Run(
        name=name,
        start=entry.get("from"),
        end=end,
        length=pipe.length,
        length_measured=pipe.measured,
        material=pipe.material,
        joining=pipe.joining,
        size=pipe.size,
        sizes=pipe.sizes,
        minimum=pipe.minimum,
        fixture=fixture,
        place=entry.place,
        **{key: entry.values[key] for key in keys if key in entry.values},
    )


def _device(entry: Entry) -> Device:
    skipped = ("from", "to", "loss", "curve", "falloff")
    falloff, falloff_flow = entry.get("falloff") or (None, None)
    return Device(
        start=entry.get("from"),
        end=entry.get("to"),
        loss=loss_of(entry),
        falloff=falloff,
        falloff_flow=falloff_flow,
        place=entry.place,
        **{key: value for key, value in entry.values.items() if key not in skipped},
    )


def _fixture(entry: Entry, pipes: Mapping[Path, Pipe]) -> Fixture:
    name = entry.get("name")
    more: dict[str, Any] = {}
    for side, branch in branches(entry):
        end = f"{name} {side}"
        more[side] = _run(branch, pipes[branch.path], end, end, fixture=name)
    if entry.missing("elevation"):
        more["elevation"] = entry.get("at")[2]
    return _plain(Fixture, entry, **more)


def _assumptions(
    entries: Entries, pipes: Mapping[Path, Pipe], allowance: float
) -> Iterator[tuple[str, str]]:
    project, source = _one(entries, "project"), entries["source"][0]
    if project is None or project.missing("demand"):
        yield f"demand method {Project(name='').demand} (the file names none)", _OUR_OWN
    if source.missing("elevation") and source.missing("at"):
        yield "the source's gauge stands at the height of the datum", _OUR_OWN
    pump = source.get("pump")
    known = pump is None or not (pump.missing("curve") and pump.missing("measured_flow"))
    if not known and source.get("kind") == "well" and source.missing("cut_in"):
        yield "the constant-pressure pump holds its set pressure at every flow", _OUR_OWN
    joinings = {pipe.material: pipe.joining for pipe in pipes.values() if pipe.joining_assumed}
    for material, joining in joinings.items():
        if joining != "none":
            yield f"{material} is joined the way called {joining!r}", _OUR_OWN
    measured = sum(pipe.measured for pipe in pipes.values())
    if measured:
        runs = (
            "the length of 1 run comes" if measured == 1 else f"the lengths of {measured} runs come"
        )
        yield (
            f"{runs} from positions along the building's axes, with {allowance:.0%} added",
            _OUR_OWN,
        )


_OUR_OWN = "our own"
