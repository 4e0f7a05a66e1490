"""What was read in the house: mistakes that concern several keys, or names of the file."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from supplycalc.model import SOURCE
from supplycalc.model.opened import opened_name
from supplycalc.reading.links import Entries, Link
from supplycalc.reading.places import Path
from supplycalc.reading.reporter import Entry, Reporter, quoted

_NEEDS = {
    "cut-in": "cut_in",
    "cut-out": "cut_out",
    "pump alone": "pump",
    "lowest level": "lowest_level",
    "highest level": "highest_level",
}
"""State of the source -> the key of [source] without which there is none."""


def check_readings(
    reporter: Reporter, entries: Entries, links: Iterable[Link], before: Collection[Path]
) -> None:
    """Report readings that no state of the house can be computed for.

    Args:
        before: where the links stand that lead to the tank.
    """
    fixtures = {entry.get("name"): entry for entry in entries["fixture"] if entry.has("name")}
    links = [link for link in links if link.kind != "branch"]
    behind = {link.end for link in links if link.path not in before}
    behind |= {link.start for link in links if link.path not in before and link.start}
    points = {SOURCE, *behind}
    hidden = {link.end for link in links} - points
    for entry in entries["reading"]:
        for key, message, *word in _wrong(entry, fixtures, points, hidden):
            valid = (*fixtures, *sorted(points)) if key == ("at",) else tuple(fixtures)
            path = (*entry.path, *key)
            if word:
                reporter.report(path, f"{entry.label}: {message}", word[0], valid)
            else:
                reporter.report(path, f"{entry.label}: {message}")
        for source in entries["source"]:
            when = entry.get("when")
            if when is not None and source.missing(_NEEDS[when]):
                message = f"{entry.label}: when = {quoted(when)} needs {_NEEDS[when]} in [source]"
                reporter.report((*entry.path, "when"), message)


def _wrong(
    entry: Entry, fixtures: dict[str, Entry], points: set[str], hidden: set[str]
) -> Iterator[tuple[tuple[str | int, ...], str] | tuple[tuple[str | int, ...], str, str]]:
    """(key, what is wrong, and where it is a name that name)"""
    at = entry.get("at")
    place = None if at is None else opened_name(at, {*fixtures, *points})
    if place is not None and place.fixture not in fixtures and at not in points:
        if at in hidden:
            yield (
                ("at",),
                f"{quoted(at)} stands before the tank, where the pump decides; read at the tank's "
                'own gauge, at = "source"',
            )
        else:
            message = f"{quoted(at)} is neither a fixture nor a point where runs meet"
            yield ("at",), message, place.fixture
    elif place is not None and place.side and fixtures[place.fixture].missing(place.side):
        yield ("at",), f"{quoted(place.fixture)} has no {place.side} side"
    opened = entry.get("open") or ()
    for number, text in enumerate(opened):
        name = opened_name(text, fixtures)
        if name.fixture not in fixtures:
            message = f"open: {quoted(name.fixture)} is not the name of a fixture"
            yield ("open", number), message, name.fixture
        elif name.side and fixtures[name.fixture].missing(name.side):
            yield ("open", number), f"open: {quoted(name.fixture)} has no {name.side} side"
        elif not 0.0 < name.share <= 1.0:
            yield (
                ("open", number),
                f"open: {quoted(text)}: an outlet is open by more than 0 and at most 100 %",
            )
        elif name.fixture in [opened_name(other, fixtures).fixture for other in opened[:number]]:
            yield ("open", number), f"open: {quoted(name.fixture)} is opened twice"
        elif fixtures[name.fixture].get("planned"):
            yield ("open", number), f"open: {quoted(name.fixture)} is planned, and not there yet"
    yield from _measured(entry, place is not None and place.fixture in fixtures)


def _measured(entry: Entry, at_fixture: bool) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """What was read, and how the source stood."""
    if entry.missing("pressure") and entry.missing("flow"):
        yield (), 'pressure is missing, such as pressure = "38 psi", or flow = "5 gal in 28 s"'
    if not entry.missing("flow") and entry.has("at") and not at_fixture:
        yield ("flow",), "flow is what runs out of a fixture; name it as at"
    if not entry.missing("source_pressure"):
        if entry.get("when") in ("cut-in", "cut-out", "lowest level", "highest level"):
            yield ("when",), "source_pressure tells how the source stood; leave when out"
        if entry.get("at") == SOURCE:
            yield ("source_pressure",), "at the source, pressure is that of its gauge"
    if entry.missing("fell") != entry.missing("fell_in"):
        given, other = ("fell_in", "fell") if entry.missing("fell") else ("fell", "fell_in")
        yield (given,), f"{given} needs {other} beside it"
    for key, other in (("fell", "open"), ("fell", "flow")):
        if not entry.missing(key) and not entry.missing(other):
            yield (key,), f"{key} is told of a house in which nothing runs; leave {other} out"
    for key, other in (("accuracy", "pressure"), ("flow_accuracy", "flow")):
        if not entry.missing(key) and entry.missing(other):
            yield (key,), f"{key} needs {other} beside it"
