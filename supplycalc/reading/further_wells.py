"""Wells beside the source's own: their pumps, and the lines by which they join its way."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from supplycalc.model import SOURCE, WELL
from supplycalc.reading.links import Entries, Link, begins, lifting_pump, line_end
from supplycalc.reading.reporter import Entry, Reporter, quoted
from supplycalc.reading.well_line import OLD_PIPES, LineThatJoins, WellLine

FED_BY_WELLS = ("well", "tank", "spring", None)
"""Kinds of source that wells may feed; None: it could not be read."""


def with_first_well(entries: Entries) -> dict[str, list[Entry]]:
    """The sections with the first [[well]] as the source's own, where [source] tells of none."""
    wells, sources = entries["well"], entries["source"]
    if not wells or not sources:
        return dict(entries)
    [source], [first, *others] = sources, wells
    if not (source.missing("well") and lifting_pump(source) is None):
        return dict(entries)
    lifts = "pump" if source.get("kind") == "well" else "well_pump"
    if source.get("kind") not in FED_BY_WELLS or first.has("joins"):
        return dict(entries)
    values = {**source.values, "well": first, lifts: first.get("pump")}
    merged = replace(
        source,
        values={key: value for key, value in values.items() if value is not None},
        given=source.given | {"well", lifts},
    )
    return {**entries, "source": [merged], "well": others}


def lines_that_join(
    reporter: Reporter, entries: Entries, links: list[Link]
) -> tuple[list[Link], list[LineThatJoins]]:
    """Take the lines of further wells out of a file's links, so that what is left is one tree.

    Returns:
        The other links, and the line of each further well up to the point where another link ends
        too or where the tank stands.
    """
    if entries["well"] and any(s.get("kind") not in FED_BY_WELLS for s in entries["source"]):
        return links, []
    for source in entries["source"]:
        well = source.get("well")
        own = None if well is None else well.get("name")
        links = [replace(link, start=WELL) if own and link.start == own else link for link in links]
    gauge = line_end(entries)
    lines: list[LineThatJoins] = []
    for entry in entries["well"]:
        name = entry.get("name")
        if name is None:
            continue
        short = list(_short(entry, gauge, any(link.start == name for link in links)))
        point = f"{name}, wellhead" if short else name
        roots, way = {gauge, SOURCE, *begins(entries, links)}, list[Link]()
        following = [link for link in links if link.start == name]
        while following and len(way) <= len(links):
            first, *rest = following
            for other in rest:
                message = (
                    f"{other.label} starts from {quoted(other.start or '')} like {first.label}; "
                    f"the line of {entry.label} has one way until it joins the first well's"
                )
                reporter.report((*other.path, "from"), message)
            way.append(replace(first, start=point))
            point = first.end
            if point in roots or any(link.end == point and link is not first for link in links):
                break
            following = [link for link in links if link.start == point]
        else:
            if way:
                message = (
                    f"{way[-1].label} ends at {quoted(point)}, where nothing else ends; the line "
                    f"of {entry.label} is to end at a point of the first well's line, or at "
                    f"{quoted(gauge)}, where the tank stands"
                )
                reporter.report((*way[-1].path, "to"), message)
        if way and entry.has("joins"):
            message = f"{entry.label}: its runs tell where it joins; leave joins out"
            reporter.report((*entry.path, "joins"), message)
        taken = {link.path for link in way}
        links = [link for link in links if link.path not in taken]
        if way and short:
            short[-1] = replace(short[-1], end=f"{name}, wellhead")
        joins = point if way else entry.get("joins") or gauge
        lines.append(LineThatJoins(entry=entry, links=(*short, *way), joins=joins))
    return links, lines


def _short(entry: Entry, gauge: str, goes_on: bool) -> Iterator[Link]:
    """A further well's drop pipe and offset pipe, as links."""
    name, joins = entry.get("name"), entry.get("joins") or gauge
    pipes = [entry.get(key) for key in OLD_PIPES if entry.get(key) is not None]
    point = name
    for pipe in pipes:
        key = pipe.path[-1]
        end = f"{name}, wellhead" if pipe is not pipes[-1] or goes_on else joins
        yield Link(
            kind="run",
            label=pipe.label,
            name=f"{str(key).replace('_', ' ')} of {name}",
            start=point,
            end=end,
            path=pipe.path,
            place=pipe.place,
        )
        point = end


def check_wells_belong(reporter: Reporter, entries: Entries) -> None:
    """Report wells beside a source that is none."""
    for source in entries["source"]:
        if entries["well"] and source.get("kind") not in FED_BY_WELLS:
            [first, *_] = entries["well"]
            message = (
                f"{first.label} pumps beside another well, and the source is a {source.get('kind')}"
            )
            reporter.report(first.path, message)


def check_further_wells(
    reporter: Reporter, entries: Entries, line: WellLine, lines: list[LineThatJoins]
) -> None:
    """Report wells that cannot stand beside the first."""
    if not lines:
        return
    [source] = entries["source"]
    if source.missing("well") or lifting_pump(source) is None:
        message = f"{lines[0].entry.label}: give the first well too, as [source.well] and its pump"
        reporter.report(lines[0].entry.path, message)
        return
    gauge = line_end(entries)
    way = tuple(dict.fromkeys((*(link.end for link in (*line.suction, *line.line)), gauge)))
    if line.suction:
        way = way[len(line.suction) :]
    pumps = [lifting_pump(source), *(each.entry.get("pump") for each in lines)]
    for pump in pumps:
        if pump is not None and pump.get("kind") == "constant-pressure":
            message = (
                f"{pump.label}: two pumps on one tank follow a pressure switch; one that holds a "
                "pressure would hand all work to the other or stop it, which is not reckoned with"
            )
            reporter.report((*pump.path, "kind"), message)
    for each in lines:
        entry, pump = each.entry, each.entry.get("pump")
        if each.joins not in way:
            known = " or ".join(quoted(point) for point in way)
            message = f"{entry.label} joins at {quoted(each.joins)}; it may join at {known}"
            reporter.report(entry.path, message, each.joins, way)
        elif each.joins != lines[0].joins:
            message = (
                f"{entry.label} joins at {quoted(each.joins)} and {lines[0].entry.label} at "
                f"{quoted(lines[0].joins)}; let all wells meet at one point"
            )
            reporter.report(entry.path, message)
        if pump is not None and pump.get("kind") == "jet" and entry.missing("pump_depth"):
            message = (
                f"{pump.label}: the pump of a further well hangs in it; a jet pump with its "
                "ejector down there has a pump_depth, and one that sucks goes as [source.pump]"
            )
            reporter.report((*pump.path, "kind"), message)
        for link in each.links:
            if link.kind == "manifold" or link.heats or link.reduces:
                message = (
                    f"{link.label} stands before the tank, where pipes, valves and filters belong"
                )
                reporter.report(link.path, message)
