"""What is wrong with an input: where, the value seen, what was expected, the nearest word."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from msgspec import Struct, field
from msgspec.structs import replace


class Place(Struct, frozen=True, order=True):
    """A line of an input file; line 0 stands for the file as a whole."""

    file: str
    line: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}" if self.line else self.file


MOST_CHOICES = 24
"""A message lists no more words to choose from than these."""
NOWHERE = Place("(built in code)")


class Problem(Struct, frozen=True, kw_only=True):
    """One mistake in an input."""

    place: Place
    message: str
    """A whole sentence without the nearest word, e.g. "'pex-sdr-9' is not a known tube"."""
    value: str = ""
    """The word or value as it stands in the file, for the nearest-word look-up."""
    valid: tuple[str, ...] = field(default=())
    """The words that would be right."""
    meant: str = ""
    """The valid word for what people call by this value, where it is spelled otherwise."""
    likeness: float = 0.55
    """How like the value, from 0 to 1, the nearest word must be."""
    cause: str = ""
    """What mistakes of one cause have in common; empty: this one stands alone."""
    also: tuple[int, ...] = ()
    """Lines of further mistakes of the same cause."""

    @property
    def nearest(self) -> str | None:
        """The valid word meant, or most like the value, if one is near enough."""
        if self.meant:
            return self.meant
        matches = difflib.get_close_matches(self.value, self.valid, n=1, cutoff=self.likeness)
        return matches[0] if matches else None

    @property
    def text(self) -> str:
        """The message with the nearest word, or with the choices where they are few."""
        text = self.message
        if self.nearest is not None:
            text = f"{text}; did you mean {self.nearest!r}?"
        elif 0 < len(self.valid) <= MOST_CHOICES:
            text = f"{text}; choose from: {', '.join(self.valid)}"
        return f"{text} ({_so_too(self.also)})" if self.also else text

    def __str__(self) -> str:
        return f"{self.place}: {self.text}"


LINES_NAMED = 8
"""A message names no more lines of further mistakes than these."""


def _so_too(lines: tuple[int, ...]) -> str:
    named = ", ".join(str(line) for line in lines[:LINES_NAMED])
    more = len(lines) - LINES_NAMED
    return f"so too in line{'s' if len(lines) > 1 else ''} {named}" + (
        f" and {more} more" if more > 0 else ""
    )


def told_once(problems: Iterable[Problem]) -> list[Problem]:
    """Problems in file order, those of one cause as one with the lines of the others."""
    first: dict[object, Problem] = {}
    lines: dict[object, list[int]] = {}
    for number, problem in enumerate(sorted(problems, key=lambda problem: problem.place)):
        key: object = (problem.place.file, problem.cause) if problem.cause else number
        first.setdefault(key, problem)
        lines.setdefault(key, []).append(problem.place.line)
    return [
        replace(problem, also=tuple(dict.fromkeys(lines[key][1:])))
        if len(lines[key]) > 1
        else problem
        for key, problem in first.items()
    ]


class InputError(Exception):
    """The input or the call is wrong; carries every problem found, in file order."""

    def __init__(self, problems: list[Problem] | tuple[Problem, ...]) -> None:
        self.problems = tuple(told_once(problems))
        super().__init__("\n".join(str(problem) for problem in self.problems))


class ComputationError(Exception):
    """The input is well formed but no trustworthy number can be computed from it."""


def within(name: str, value: float | None, low: float, high: float) -> None:
    """Refuse a number that is none or out of its range.

    Args:
        value: given for it; None stands for the usual one and passes.
        low: least.
        high: greatest.

    Raises:
        InputError: it is not between the two.
    """
    if value is not None and not low <= value <= high:
        message = f"{value} is not between {low:g} and {high:g}"
        raise InputError([Problem(place=Place(name), message=message)])
