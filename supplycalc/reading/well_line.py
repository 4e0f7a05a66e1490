"""What stands before the tank: the line from the water in the well, in its old and new spelling."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import Catalogue
from supplycalc.model import SOURCE, TANK_INLET, WELL, Device, FurtherWell, Pump, Run, Well
from supplycalc.reading.links import (
    WELLHEAD,
    Entries,
    Link,
    from_well,
    gauge_point,
    lifting_pump,
    line_end,
    link_of,
)
from supplycalc.reading.reporter import Entry, Reporter, quoted
from supplycalc.reading.runs import nominal_size

INLET, OUTLET = "pump inlet", "pump outlet"
"""Points of the old spelling, which names none."""
OLD_PIPES = ("drop_pipe", "offset_pipe")
CHECK_VALVE = "check-valve"


class WellLine(Struct, frozen=True, kw_only=True):
    """The links before the tank, in order."""

    suction: tuple[Link, ...] = ()
    """From the water to a pump above it."""
    pump: Link | None = None
    """A pump that stands between two points."""
    line: tuple[Link, ...] = ()
    """From the pump to the tank."""


class LineThatJoins(Struct, frozen=True, kw_only=True):
    """What leads from a well beside the first to the first one's way."""

    entry: Entry
    """Of the well."""
    links: tuple[Link, ...]
    """From its water on."""
    joins: str
    """The point where they end."""

    def well(self, made: Callable[[tuple[Link, ...]], Iterator[Run | Device]]) -> FurtherWell:
        """The well, with the runs and devices that are made of its links."""
        return FurtherWell(
            well=self.entry.record(Well),
            pump=self.entry.get("pump").record(Pump),
            joins=self.joins,
            line=tuple(made(self.links)),
        )


def gauge_heights(entries: Entries) -> Iterator[tuple[Entry, float]]:
    """What the file says of the height of the tank's gauge, and where [m]."""
    gauge = gauge_point(entries)
    source = entries["source"][0]
    named = [point for point in entries["point"] if point.get("name") == gauge]
    for entry in (source, source.get("tank"), *named):
        if entry is None:
            continue
        if entry.has("elevation"):
            yield entry, entry.get("elevation")
        elif isinstance(entry.get("at"), tuple):
            yield entry, entry.get("at")[2]


def with_tanks(reporter: Reporter, entries: Mapping[str, list[Entry]]) -> dict[str, list[Entry]]:
    """The sections with the first pressure tank of [[tank]] where that of [source.tank] stands."""
    tanks, sources = _by_place(entries), entries["source"]
    if not tanks or not sources:
        return dict(entries)
    source = sources[0]
    for tank in tanks:
        if tank.get("kind") == "open":
            message = (
                f"{tank.label}: an open tank cuts the supply in two and feeds the house, so it is "
                'the source: [source] with kind = "tank", its levels and volume; what fills it '
                "is inflow, or [source.well] with [source.well_pump] and runs from the well to "
                f"{quoted(TANK_INLET)}, and [source.pump] the pump that draws from it"
            )
            reporter.report((*tank.path, "kind"), message)
            return dict(entries)
    far = tanks
    if source.missing("tank"):
        values = {**source.values, "tank": tanks[0]}
        source, far = replace(source, values=values, given=source.given | {"tank"}), tanks[1:]
    for other in far[1:]:
        message = (
            f"{other.label}: beside the pressure tank at the switch one more is reckoned with, "
            f"{quoted(far[0].get('name') or '')} in line {far[0].place.line}; write tanks that "
            "stand together as one of their whole volume"
        )
        reporter.report(other.path, message)
    return {**entries, "source": [source]}


def far_tanks(entries: Entries) -> list[Entry]:
    """The tanks of [[tank]] that stand behind the pressure tank at the switch."""
    own = [source.get("tank") for source in entries["source"]]
    return [tank for tank in entries["tank"] if tank not in own]


def _by_place(entries: Mapping[str, list[Entry]]) -> list[Entry]:
    """The tanks, each before those that it feeds; else as they stand in the file."""
    feeding = {
        entry.get("name" if kind == "manifold" else "to"): entry.get("from")
        for kind in ("run", "device", "manifold")
        for entry in entries[kind]
    }

    def before(tank: Entry) -> int:
        above: list[str] = []
        point = feeding.get(tank.get("at"))
        while point is not None and point not in above:
            above.append(point)
            point = feeding.get(point)
        return sum(other.get("at") in above for other in entries["tank"])

    return sorted(entries["tank"], key=before)


def check_far_tanks(reporter: Reporter, entries: Entries, links: list[Link]) -> None:
    """Report a tank behind the pressure tank that could not work where it stands."""
    gauge, feeding = gauge_point(entries), {link.end: link for link in links}
    pipes = tuple(link.end for link in links if link.kind != "branch")
    for tank in far_tanks(entries):
        at, path = tank.get("at"), (*tank.path, "at")
        if not tank.missing("at_well"):
            message = f"{tank.label}: at_well belongs to the pressure tank at the switch"
            reporter.report((*tank.path, "at_well"), message)
        if at is None:
            continue
        if at == gauge:
            message = (
                f"{tank.label} stands where the pressure tank stands; write both as one of their "
                "whole volume"
            )
            reporter.report(path, message)
        elif at not in pipes:
            message = f"{tank.label}, at: {quoted(at)} is no point where a run or device ends"
            reporter.report(path, message, at, pipes)
        else:
            point = at
            while point in feeding and point != gauge:
                if feeding[point].heats:
                    message = (
                        f"{tank.label} stands behind {feeding[point].label}: it would hold hot "
                        "water; let it stand in the cold line before the heater"
                    )
                    reporter.report(path, message)
                    break
                point = feeding[point].start or ""
            else:
                if point != gauge:
                    message = (
                        f"{tank.label} stands at {quoted(at)}, before the pressure tank; a "
                        "further one stands behind it"
                    )
                    reporter.report(path, message)


def old_pipes(entries: Entries, links: list[Link]) -> Iterator[Link]:
    """The links that the old spelling tells in short: drop pipe, pump above the water, offset pipe.

    Yields:
        From the water on.
    """
    for source in entries["source"]:
        well, pump, gauge = source.get("well"), lifting_pump(source), line_end(entries)
        if well is None:
            continue
        pipes = [(key, well.get(key)) for key in OLD_PIPES if well.get(key) is not None]
        # a tank at the wellhead is told to have no such pipe
        tank = source.get("tank")
        at_well = source.get("kind") == "well" and tank is not None and tank.get("at_well")
        pipes = [(key, pipe) for key, pipe in pipes if not (at_well and key == "offset_pipe")]
        if not pipes:
            continue
        points = _points(
            [key for key, _ in pipes], links, gauge, sucks=sucks(source) and not _placed(pump)
        )
        names = {link.name for link in links}
        for (key, pipe), (start, end) in zip(pipes, points, strict=True):
            name = key.replace("_", " ")
            free = name if name not in names else f"{name} of the well"
            yield link_of(pipe, "run", free, start, end)
        if sucks(source) and pump is not None and not _placed(pump):
            inlet = INLET if "drop_pipe" in dict(pipes) else WELL
            outlet = OUTLET if "offset_pipe" in dict(pipes) else gauge
            yield link_of(pump, "pump", "", inlet, outlet)


def _points(
    keys: list[str], links: list[Link], gauge: str, *, sucks: bool
) -> list[tuple[str, str]]:
    """Where each of the old spelling's pipes starts and ends."""
    ends = {link.end for link in links}
    head = WELLHEAD if WELLHEAD not in ends else "head of the well"
    goes_on = "offset_pipe" in keys or any(link.start == head for link in links)
    spans = {
        "drop_pipe": (WELL, INLET if sucks else head if goes_on else gauge),
        "offset_pipe": (OUTLET if sucks else head if "drop_pipe" in keys else WELL, gauge),
    }
    return [spans[key] for key in keys]


def sucks(source: Entry) -> bool:
    """Whether the well's pump stands above the water: a jet pump without an ejector in it."""
    pump, well = lifting_pump(source), source.get("well")
    jet = pump is not None and pump.get("kind") == "jet"
    return jet and (well is None or well.missing("pump_depth"))


def _placed(pump: Entry | None) -> bool:
    return pump is not None and not (pump.missing("from") and pump.missing("to"))


def line_of(reporter: Reporter, entries: Entries, links: list[Link]) -> WellLine:
    """The links from the water to the tank, with what is wrong about them reported."""
    [source] = entries["source"]
    if not from_well(source):
        return WellLine()
    old = list(old_pipes(entries, links))
    if _told_twice(reporter, links, old):
        return WellLine()
    links = [*links, *old]
    gauge, root, tank = line_end(entries), gauge_point(entries), source.get("tank")
    feeding = {link.end: link for link in links}
    way: list[Link] = []
    point: str | None = gauge
    while point in feeding and feeding[point] not in way:
        way.append(feeding[point])
        point = way[-1].start
    way.reverse()
    if gauge == root != SOURCE and gauge not in {*feeding, *(link.start for link in links)}:
        message = f"{tank.label}, at: {quoted(gauge)} is no point that a run starts from or ends at"
        starts = tuple(dict.fromkeys(link.start or "" for link in links))
        reporter.report((*tank.path, "at"), message, gauge, starts)
        return WellLine()
    pumps = [i for i, link in enumerate(way) if link.kind == "pump"]
    after = way[pumps[0] + 1 if pumps else 0 : -1]
    between = {link.end for link in after} if gauge == root else set()
    _strays(reporter, [it for it in links if it.start not in between], feeding, (gauge, root), way)
    for link in way:
        if link.kind == "manifold":
            fault = "a manifold: branches start behind the tank"
        elif link.heats:
            fault = "a heater: it would warm what the tank stores"
        elif link.reduces:
            fault = "a reducing valve: the pump would push against it instead of filling the tank"
        else:
            continue
        reporter.report(link.path, f"{link.label} stands before the tank and is {fault}")
    _pump(reporter, source, way, placed=bool(pumps))
    at = pumps[0] if pumps else -1
    return WellLine(
        suction=tuple(way[: max(at, 0)]),
        pump=way[at] if pumps else None,
        line=tuple(way[at + 1 :]),
    )


def _told_twice(reporter: Reporter, links: list[Link], old: list[Link]) -> bool:
    """Report a pipe of the old spelling that stands in the file as a run too."""
    twice = False
    for pipe in old:
        for link in links:
            same_start = pipe.start == link.start == WELL
            if pipe.kind == "run" and (same_start or pipe.end == link.end):
                message = (
                    f"{pipe.label} is in short for a run from {quoted(pipe.start or '')} to "
                    f"{quoted(pipe.end)}, and {link.label} (line {link.place.line}) is there too; "
                    "give one of them"
                )
                reporter.report(pipe.path, message)
                twice = True
    return twice


def _strays(
    reporter: Reporter,
    links: list[Link],
    feeding: Mapping[str, Link],
    tank: tuple[str, str],
    way: list[Link],
) -> None:
    """Report the first link of whatever hangs on the water without the tank between, which stands
    between two points of its own or at one."""
    inlet, gauge = tank
    on_way = {link.end for link in way} | ({way[0].start} if way else set())
    for link in links:
        if link in way or link.start is None or link.start == gauge:
            continue
        if link.start not in feeding or link.start in on_way:
            if link.kind == "pump":
                continue
            if inlet != gauge and not way:
                message = (
                    f"{link.label} starts from {quoted(link.start)}; let the line from the well "
                    f"end at {quoted(inlet)}, where it falls into the open tank"
                )
            elif way:
                message = (
                    f"{link.label} starts from {quoted(link.start)}, before the tank; let it start "
                    f"from {quoted(gauge)}, where the tank stands, or from a point behind it"
                )
            else:
                message = (
                    f"{link.label} starts from the water in the well, but no tank stands where its "
                    'line ends; write [[tank]] with at = "..." for that point, or let the line end '
                    f"at {quoted(SOURCE)}"
                )
            reporter.report((*link.path, "from"), message)
            return


def _pump(reporter: Reporter, source: Entry, way: list[Link], *, placed: bool) -> None:
    """Report a pump that does not stand where its kind can."""
    pump = lifting_pump(source)
    if pump is None:
        return
    for key, other in (("from", "to"), ("to", "from")):
        if not pump.missing(key) and pump.missing(other):
            reporter.report((*pump.path, key), f"{pump.label}: {key} needs {other} beside it")
            return
    if _placed(pump) and not placed:
        message = (
            f"{pump.label} stands between {quoted(pump.get('from') or '')} and "
            f"{quoted(pump.get('to') or '')}, which is not on the way from the water to the tank"
        )
        reporter.report((*pump.path, "from"), message)
    elif not placed and sucks(source) and way:
        message = (
            f"{pump.label}: a jet pump above the water stands between two points; say which, such "
            f'as from = "{INLET}" and to = "{OUTLET}"'
        )
        reporter.report(pump.path, message)
    elif placed and way[0].kind != "pump" and not sucks(source):
        kind = pump.get("kind") or "submersible"
        if kind == "submersible":
            message = (
                f"{pump.label}: a submersible pump hangs in the water and sucks through no pipe "
                f'({way[0].label} leads to it); write kind = "jet", or leave from and to out'
            )
            reporter.report(pump.path, message)


def old_run(link: Link, entry: Entry, catalogue: Catalogue, default: str | None) -> Run:
    """The run that a pipe of the old spelling is.

    Args:
        entry: its table; its length holds the fittings.
        default: way of joining of [defaults].
    """
    tube = catalogue.tubes[entry.get("material")]
    valves = entry.get("check_valves") or 0
    more: dict[str, Any] = {"fittings": ((CHECK_VALVE, valves),) if valves else ()}
    return entry.record(
        Run,
        name=link.name,
        start=link.start,
        end=link.end,
        joining=default if default in tube.joinings else tube.joinings[0],
        size=nominal_size(entry.get("size"), tuple(size.nominal for size in tube.sizes)),
        **more,
    )
