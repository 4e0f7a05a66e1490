"""The tables of a file against their declaration."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from supplycalc.problems import Problem
from supplycalc.reading.keys import Key, Section
from supplycalc.reading.places import Path
from supplycalc.reading.reporter import Entry, Reporter, quoted
from supplycalc.reading.synonyms import meant_by
from supplycalc.reading.values import READERS, Value, sample, what


def check_sections(
    reporter: Reporter,
    data: Mapping[str, Any],
    declared: tuple[Section, ...],
    mistyped: frozenset[str] = frozenset(),
) -> dict[str, list[Entry]]:
    """Check the given sections of a file.

    Args:
        declared: the sections to check; others in `data` are left alone.
        mistyped: sections that stand in the file under a wrong name, so that what they lack is
            no second mistake.
    """
    entries: dict[str, list[Entry]] = {}
    for section in declared:
        entries[section.name] = []
        raw = data.get(section.name)
        if section.many:
            tables = _many(reporter, section, raw) if raw is not None else []
            for number, table in enumerate(tables):
                label = _label(section.name, table, number)
                entry = check_table(reporter, section.keys, table, (section.name, number), label)
                if entry is not None:
                    entries[section.name].append(entry)
        elif raw is not None:
            if isinstance(raw, list):
                reporter.report((section.name,), f"there is one {section.header}, not a list of it")
                continue
            entry = check_table(
                reporter,
                section.keys,
                raw,
                (section.name,),
                section.header,
                whole=section.name not in mistyped,
            )
            if entry is not None:
                entries[section.name].append(entry)
        elif section.required and section.name not in mistyped:
            reporter.report((), f"{section.header} is missing: {section.help.lower()}")
    return entries


def unknown_sections(
    reporter: Reporter, data: Mapping[str, Any], declared: tuple[Section, ...]
) -> tuple[Problem, ...]:
    """Report sections that are not declared, and return the problems."""
    names = tuple(section.name for section in declared)
    problems: list[Problem] = []
    for name in data:
        if name not in names:
            is_table = isinstance(data[name], dict | list)
            fault = "is not a section" if is_table else "stands outside any section"
            problems.append(reporter.report((name,), f"{quoted(name)} {fault}", name, names))
    return tuple(problems)


def check_table(
    reporter: Reporter,
    keys: tuple[Key, ...],
    raw: object,
    path: Path,
    label: str,
    *,
    whole: bool = True,
) -> Entry | None:
    """Check one table; None where it is no table at all."""
    if not isinstance(raw, dict):
        reporter.report(path, f"{label} must be a table of keys, not {what(raw)}")
        return None
    declared = {key.name: key for key in keys}
    raw = _renamed(reporter, keys, raw, path, label)
    values: dict[str, Any] = {}
    given = set(raw) & set(declared)
    for name, value in raw.items():
        key = declared.get(name)
        if key is None:
            message = f"{label}: unknown key {quoted(name)}"
            if elsewhere := _of_a_well(name, raw, path):
                reporter.report((*path, name), f"{message}; {elsewhere}")
                continue
            likely = meant_by("keys", name, tuple(declared))
            meant = reporter.report((*path, name), message, name, tuple(declared), likely).nearest
            given |= {meant} if meant else set()
            continue
        checked = (
            check_table(reporter, key.keys, value, (*path, name), f"{label}, {name}")
            if key.kind == "table"
            else Value(reporter, key, value, (*path, name), f"{label}, {name}").read(
                READERS[key.kind]
            )
        )
        if checked is not None:
            values[name] = checked
    for key in keys:
        if whole and key.required and key.name not in given:
            reporter.report(path, f"{label}: {key.name} is missing, such as {sample(key)}")
    return Entry(
        label=label,
        path=path,
        place=reporter.place(path),
        values=values,
        given=frozenset(given),
    )


def _of_a_well(name: str, raw: dict[str, Any], path: Path) -> str:
    """Where what a well gives is written, for one who writes it beside its switch."""
    if path == ("source",) and raw.get("kind") == "well" and meant_by("keys", name, ("recovery",)):
        return 'what a well gives for hours stands in [source.well], such as recovery = "5 gpm"'
    return ""


def _renamed(
    reporter: Reporter, keys: tuple[Key, ...], raw: dict[str, Any], path: Path, label: str
) -> dict[str, Any]:
    """The table with today's name for each key that stands under its old one."""
    for key in keys:
        if not key.old_name or key.old_name not in raw:
            continue
        if key.name in raw:
            message = f"{label}: {key.old_name} is {key.name} by its old name; give one of them"
            reporter.report((*path, key.old_name), message)
        else:
            reporter.places.rename((*path, key.old_name), key.name)
            reporter.notes.append(
                f"{label}: {key.old_name} is read as {key.name}, as the key is called now"
            )
        raw = {key.name if name == key.old_name else name: value for name, value in raw.items()}
    return raw


def _many(reporter: Reporter, section: Section, raw: object) -> list[Any]:
    if isinstance(raw, list):
        return raw
    if section.name == "well":
        own = "the house's own well is [source.well]; [[well]], with two brackets, is a further one"
        reporter.report((section.name,), own)
        return []
    reporter.report((section.name,), f"write {section.header} with two brackets: there may be many")
    return [raw] if isinstance(raw, dict) else []


def _label(section: str, table: object, number: int) -> str:
    name = table.get("name") if isinstance(table, dict) else None
    word = section.replace("_", " ")
    return f"{word} {quoted(name)}" if isinstance(name, str) and name else f"{word} {number + 1}"
