"""The problems of one file as they are found, and tables that have been checked."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, TypeVar

from msgspec import Struct, field

from supplycalc.model.ranges import Range
from supplycalc.problems import Place, Problem
from supplycalc.reading.keys import FIELDS
from supplycalc.reading.places import Path, Places

_Record = TypeVar("_Record", bound=Struct)


class Entry(Struct, frozen=True, kw_only=True):
    """One table of the file, checked: `values` holds what is given and right."""

    label: str
    """How messages call it, e.g. "run 'service'"."""
    path: Path
    place: Place
    values: dict[str, Any]
    given: frozenset[str]
    """Every known key that the file gives, right, wrong or mistyped."""

    def get(self, key: str) -> Any:
        """The value of a key, or None."""
        return self.values.get(key)

    def has(self, *keys: str) -> bool:
        """Whether each of the keys has a value that is right."""
        return all(self.values.get(key) is not None for key in keys)

    def missing(self, key: str) -> bool:
        """Whether the file leaves the key out."""
        return key not in self.given

    def record(self, kind: type[_Record], /, **more: Any) -> _Record:
        """The record of this table: of each field its key's value, or what `more` says instead.

        Args:
            kind: of record; keys for which it has no field are left to `more`.
        """
        values = {FIELDS.get(key, key): value for key, value in self.values.items()}
        fields = {name: values[name] for name in kind.__struct_fields__ if name in values}
        return kind(**{**fields, "place": self.place, **more})


class Reporter(Struct):
    """Collects the problems of one file."""

    file: str
    places: Places
    choices: Mapping[str, tuple[str, ...]]
    """Names of the catalogue by what they are."""
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    """What the user should know of a file that is right."""
    ranges: list[tuple[Path, Range]] = field(default_factory=list)
    """What is known within a range alone, by where it stands in the file."""

    def place(self, path: Path) -> Place:
        """Where a key stands."""
        return Place(self.file, self.places.line(path))

    def report(
        self,
        path: Path,
        message: str,
        value: str = "",
        valid: tuple[str, ...] = (),
        meant: str = "",
    ) -> Problem:
        """Note one problem."""
        place = self.place(path)
        problem = Problem(
            place=place,
            message=message,
            value=value,
            valid=valid,
            meant=meant,
            cause=_cause(path, message),
        )
        self.problems.append(problem)
        return problem


_SUBJECT = re.compile(r"[^':]*'[^']*'(?:, [a-z_]+(?:, entry [0-9]+)?)*(?:: | (?=starts from ))")
_BARE_NUMBER = re.compile(r"'[^']*' (?=has no unit)")


def _cause(path: Path, message: str) -> str:
    """What a mistake has in common with those that differ in the thing it is made at alone."""
    unit = _BARE_NUMBER.search(message)
    if unit is not None:
        return message[unit.end() :]
    said = _SUBJECT.match(message)
    if said is None:
        return ""
    keys = [part for part in path if isinstance(part, str)]
    key = keys[-1] if len(keys) > 1 else ""
    return f"{path[0] if path else ''}, {key}: {message[said.end() :]}"


def quoted(text: str) -> str:
    """A word of the file as messages show it, cut where it is long."""
    return repr(text if len(text) <= 60 else f"{text[:57]}...")
