"""Whether the links of a file make a tree: each point fed once, all from the source."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import SOURCE, TANK_INLET, WELL, Side
from supplycalc.problems import Place
from supplycalc.reading.places import Path
from supplycalc.reading.reporter import Entry, Reporter, quoted

LinkKind = Literal["run", "device", "manifold", "branch", "pump"]
WELLHEAD = "wellhead"
"""The point where a drop pipe of the old spelling ends, which names none."""
LONGEST_LOOP = 12
"""Points of a loop that a message names; of a longer one both ends."""
Entries = Mapping[str, list[Entry]]


class Link(Struct, frozen=True, kw_only=True):
    """A run, device, manifold or fixture branch as far as it could be read."""

    kind: LinkKind
    label: str
    name: str
    start: str | None
    end: str
    path: Path
    place: Place
    heats: bool = False
    reduces: bool = False
    side: Side = "cold"
    """Of a branch."""


def link_of(
    entry: Entry, kind: LinkKind, name: str, start: str | None, end: str, **more: Any
) -> Link:
    """The link that a table describes."""
    own: dict[str, Any] = {"label": entry.label, "path": entry.path, "place": entry.place}
    return Link(kind=kind, name=name, start=start, end=end, **own, **more)


def links_of(
    entries: Entries, hot_kinds: frozenset[str], reducing_kinds: frozenset[str] = frozenset()
) -> tuple[list[Link], bool]:
    """Collect the links of a file.

    Returns:
        The links in file order, and whether all their ends could be read.
    """
    links: list[Link] = []
    complete = True
    for kind in ("run", "device", "manifold"):
        for entry in entries[kind]:
            name, start = entry.get("name"), entry.get("from")
            end = name if kind == "manifold" else entry.get("to")
            complete = complete and None not in (name, start, end)
            if end is not None:
                is_of = entry.get("kind")
                heats, reduces = is_of in hot_kinds, is_of in reducing_kinds
                link = link_of(entry, kind, name or "", start, end, heats=heats, reduces=reduces)
                links.append(link)
    for source in entries["source"]:
        pump = lifting_pump(source)
        if pump is not None and pump.has("from", "to"):
            links.append(link_of(pump, "pump", "", pump.get("from"), pump.get("to")))
    for fixture in entries["fixture"]:
        name = fixture.get("name")
        complete = complete and name is not None
        for side, branch in branches(fixture):
            complete = complete and branch.get("from") is not None
            if name is not None:
                end = f"{name} {side}"
                links.append(link_of(branch, "branch", end, branch.get("from"), end, side=side))
        complete = complete and {"cold", "hot"} & fixture.given <= set(fixture.values)
    return links, complete


def branches(fixture: Entry) -> Iterator[tuple[Side, Entry]]:
    """A fixture's own runs with their side."""
    sides: tuple[Side, Side] = ("cold", "hot")
    for side in sides:
        branch = fixture.get(side)
        if branch is not None:
            yield side, branch


def gauge_point(entries: Entries) -> str:
    """The point where the tank and its gauge stand, from which the house hangs."""
    tanks = [source.get("tank") for source in entries["source"]]
    return next((tank.get("at") for tank in tanks if tank is not None and tank.has("at")), SOURCE)


def from_well(source: Entry) -> bool:
    """Whether a pump lifts water from a well: to the house, or to an open tank that feeds it."""
    opens = source.get("kind") in ("tank", "spring")
    return source.get("kind") == "well" or (opens and not source.missing("well"))


def lifting_pump(source: Entry) -> Entry | None:
    """The pump of the well; that which draws from an open tank is another."""
    pump: Entry | None = source.get("pump" if source.get("kind") == "well" else "well_pump")
    return pump


def line_end(entries: Entries) -> str:
    """The point where the line from the well ends: at the gauge, or over an open tank."""
    opens = any(it.get("kind") != "well" and from_well(it) for it in entries["source"])
    return TANK_INLET if opens else gauge_point(entries)


def begins(entries: Entries, links: list[Link]) -> tuple[str, ...]:
    """The points from which a supply may begin: the source, of a well its water, a tank's point."""
    points = [SOURCE, gauge_point(entries)]
    for source in entries["source"]:
        if from_well(source):
            points.append(WELL)
            if source.has("well") and source.get("well").has("drop_pipe"):
                points.append(WELLHEAD)
    ends = {link.end for link in links}
    return tuple(dict.fromkeys(point for point in points if point == SOURCE or point not in ends))


def check_links(
    reporter: Reporter, entries: Entries, links: list[Link], complete: bool, hidden: bool = False
) -> None:
    """Report whatever keeps the links from being one tree.

    Args:
        complete: whether all ends could be read; if not, what may only seem wrong is left out.
        hidden: whether there may be links that are not in `links` at all.
    """
    _names(reporter, entries, links)
    roots = begins(entries, links)
    feeding, lost = _feeding(reporter, links, roots)
    end = line_end(entries)
    _ports(reporter, entries, links)
    points = tuple(dict.fromkeys((SOURCE, *feeding, *roots)))
    if not complete:
        ends_read = all(
            entry.get("name" if kind == "manifold" else "to") is not None
            for kind in ("run", "device", "manifold")
            for entry in entries[kind]
        )
        if ends_read and not hidden:
            _starts(reporter, links, points, lost)
        return
    links = _starts(reporter, links, points, lost)
    feeding = {link.end: link for link in reversed(links)}
    _loops(reporter, links, feeding, roots)
    meant: set[str] = set()
    # a device of unknown kind may be the heater
    if all(entry.get("kind") is not None for entry in entries["device"]):
        meant = _sides(reporter, links, feeding, roots)
    _dead_ends(reporter, links, {SOURCE, *meant, *({end} if end == TANK_INLET else ())})
    known = {SOURCE, gauge_point(entries), end}
    for entry in entries["point"]:
        name = entry.get("name")
        if name is not None and name not in feeding and name not in known:
            message = f"{entry.label}: nothing ends at {quoted(name)}"
            problem = reporter.report((*entry.path, "name"), message, name, tuple(feeding))
            if lost and problem.nearest is None:
                reporter.problems.remove(problem)


def _names(reporter: Reporter, entries: Entries, links: list[Link]) -> None:
    taken: dict[str, tuple[str, Place]] = {}
    named = [(entry, entry.get("name")) for kind in _NAMED for entry in entries[kind]]
    for entry, name in sorted(named, key=lambda pair: pair[0].place):
        path = (*entry.path, "name")
        if name is None:
            continue
        if name == SOURCE:
            reporter.report(path, f"{entry.label}: {SOURCE!r} is the supply's own name")
        elif name in taken:
            label, place = taken[name]
            reporter.report(
                path, f"{entry.label}: the name is taken by {label} in line {place.line}"
            )
        else:
            taken[name] = (entry.label, entry.place)
    for fixture in entries["fixture"]:
        if fixture.missing("cold") or fixture.missing("hot"):
            continue
        for side in ("cold", "hot"):
            side_name = f"{fixture.get('name')} ({side})"
            other = next((e for e in entries["fixture"] if e.get("name") == side_name), None)
            if other is not None:
                message = (
                    f"{other.label} is called like the {side} side of {fixture.label} in line "
                    f"{fixture.place.line}; choose another name"
                )
                reporter.report((*other.path, "name"), message)
    ends = {link.end: link for link in links if link.kind in ("run", "device")}
    for fixture in entries["fixture"]:
        name = fixture.get("name")
        if name in ends:
            message = f"{fixture.label} is called like the point where {ends[name].label} ends"
            reporter.report((*fixture.path, "name"), message)


_NAMED = ("run", "device", "manifold", "fixture", "tank", "well")


def _feeding(
    reporter: Reporter, links: list[Link], roots: tuple[str, ...]
) -> tuple[dict[str, Link], bool]:
    """Point -> the link that feeds it (the first of several), and whether a name was lost."""
    feeding: dict[str, Link] = {}
    lost = False
    from_well = _from_well(links, roots)
    for link in sorted(links, key=lambda link: link.place):
        path = (*link.path, "name" if link.kind == "manifold" else "to")
        if link.end == SOURCE and not from_well:
            if link.kind in ("run", "device"):
                reporter.report(path, f"{link.label} ends at the source; the supply begins there")
                lost = True
        elif link.end in feeding:
            other = feeding[link.end]
            lost = True
            # manifolds and fixtures of one name are told so already
            if not (link.kind == other.kind and link.kind in ("manifold", "branch")):
                message = (
                    f"{link.label} ends at {quoted(link.end)}, which {other.label} feeds already "
                    f"(line {other.place.line})"
                )
                if "branch" in (link.kind, other.kind):
                    message += "; a fixture's name and side name its own point: choose another"
                elif "manifold" in (link.kind, other.kind):
                    message += (
                        "; a manifold is a point of its own: let the pipe end at another, such as "
                        '"entry", and the manifold start from that'
                    )
                else:
                    message += (
                        "; each point is fed once: let this one end at a name of its own, and what "
                        "it feeds start from that"
                    )
                reporter.report(path, message)
        else:
            feeding[link.end] = link
    return feeding, lost


def _from_well(links: list[Link], roots: tuple[str, ...]) -> bool:
    """Whether a line is written that leads from the well to the source's gauge."""
    return any(link.start in roots and link.start in (WELL, WELLHEAD) for link in links)


def _starts(
    reporter: Reporter, links: list[Link], points: tuple[str, ...], lost: bool
) -> list[Link]:
    """Report starts that are no points, and return the links from where they likely start.

    Where a point is fed twice, another has likely lost its name (`lost`): only near misses count.
    """
    mended: list[Link] = []
    end_of = {link.name: link.end for link in links if link.kind in ("run", "device")}
    ends = {link.end for link in links if link.kind == "branch"}
    likely = tuple(point for point in points if point not in ends)
    known = set(points)
    for link in links:
        if link.start is None or link.start in known:
            mended.append(link)
            continue
        message = f"{link.label} starts from {quoted(link.start)}, which is no point"
        path = (*link.path, "from")
        # a run's name is no point; whoever writes it means where the run ends
        meant = end_of.get(link.start, "")
        if meant and meant == link.end:  # both end there, which is told already
            mended.append(link)
            continue
        problem = reporter.report(path, message, link.start, likely, meant)
        if problem.nearest is not None:
            mended.append(replace(link, start=problem.nearest))
            continue
        mended.append(link)
        if lost:
            reporter.problems.remove(problem)
    return mended


def _loops(
    reporter: Reporter, links: list[Link], feeding: Mapping[str, Link], roots: tuple[str, ...]
) -> None:
    followed: set[str] = set(roots) - ({SOURCE} if _from_well(links, roots) else set())
    for link in links:
        trail: dict[str, None] = {}  # in order, and quick to look up
        point: str | None = link.end
        while point is not None and point not in followed:
            if point in trail:
                names = list(trail)
                loop = [feeding[name] for name in names[names.index(point) :]]
                first = min(loop, key=lambda link: link.place)
                start = loop.index(first)
                names = [link.end for link in (loop[start:] + loop[:start])[::-1]]
                if len(names) > LONGEST_LOOP:
                    names[LONGEST_LOOP // 2 : -LONGEST_LOOP // 2] = ["..."]
                words = " -> ".join(quoted(name) for name in (names[-1], *names))
                message = f"{first.label} is part of a loop that nothing feeds: {words}"
                reporter.report((*first.path, "from"), message)
                break
            trail[point] = None
            feed = feeding.get(point)
            point = feed.start if feed is not None else None
        followed.update(trail)


def _dead_ends(reporter: Reporter, links: list[Link], meant: set[str]) -> None:
    """Report ends that nothing starts from, save those where something is meant to end."""
    starts = {link.start for link in links} | meant
    for link in links:
        if link.kind != "branch" and link.end not in starts:
            message = (
                f"{link.label} ends at {quoted(link.end)}, and nothing hangs from it; a fixture "
                "that comes later is written planned = true"
            )
            path = (*link.path, "name" if link.kind == "manifold" else "to")
            reporter.report(path, message)


def _sides(
    reporter: Reporter, links: list[Link], feeding: Mapping[str, Link], roots: tuple[str, ...]
) -> set[str]:
    """Report branches on the wrong side of the heater, and return the points on the right one."""
    meant: set[str] = set()
    starts = {SOURCE, *(link.start for link in links)}
    side: dict[str, Side | None] = {root: "cold" for root in roots if root in starts}
    for link in links:
        trail: list[Link] = []
        point: str | None = link.end
        while point is not None and point not in side:
            side[point] = None  # until known; stays so in a loop
            feed = feeding.get(point)
            if feed is None:
                break
            trail.append(feed)
            point = feed.start
        water = side.get(point) if point is not None else None
        for feed in reversed(trail):
            water = "hot" if feed.heats else water
            side[feed.end] = water
    for link in links:
        if link.kind != "branch" or link.start is None:
            continue
        water = side.get(link.start)
        if water is None or water == link.side:
            continue
        right = tuple(
            point
            for point, known in side.items()
            if known == link.side and (point not in feeding or feeding[point].kind != "branch")
        )
        why = "no heater stands before it" if water == "cold" else "it lies beyond a heater"
        message = (
            f"{link.label} takes {link.side} water from {quoted(link.start)}, which is {water}: "
            f"{why}"
        )
        reporter.report((*link.path, "from"), message, link.start, right)
        meant |= set(right)
    return meant


def _ports(reporter: Reporter, entries: Entries, links: list[Link]) -> None:
    starts = Counter(link.start for link in links)
    for manifold in entries["manifold"]:
        ports, used = manifold.get("ports"), starts[manifold.get("name")]
        if ports is not None and used > ports:
            noun = "port" if ports == 1 else "ports"
            message = f"{manifold.label} has {ports} {noun}, but {used} runs start from it"
            reporter.report((*manifold.path, "ports"), message)
