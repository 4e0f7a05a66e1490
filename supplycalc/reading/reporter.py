"""The problems of one file as they are found, and tables that have been checked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct, field

from supplycalc.problems import Place, Problem
from supplycalc.reading.places import Path, Places


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

    def missing(self, key: str) -> bool:
        """Whether the file leaves the key out."""
        return key not in self.given


class Reporter(Struct):
    """Collects the problems of one file."""

    file: str
    places: Places
    choices: Mapping[str, tuple[str, ...]]
    """Names of the catalogue by what they are."""
    problems: list[Problem] = field(default_factory=list)

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
        problem = Problem(place=place, message=message, value=value, valid=valid, meant=meant)
        self.problems.append(problem)
        return problem


def quoted(text: str) -> str:
    """A word of the file as messages show it, cut where it is long."""
    return repr(text if len(text) <= 60 else f"{text[:57]}...")
