"""What is wrong with an input: where, the value seen, what was expected, the nearest word."""

from __future__ import annotations

import difflib

from msgspec import Struct, field


class Place(Struct, frozen=True, order=True):
    """A line of an input file; line 0 stands for the file as a whole."""

    file: str
    line: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}" if self.line else self.file


MOST_CHOICES = 20
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

    @property
    def nearest(self) -> str | None:
        """The valid word meant, or most like the value, if one is near enough."""
        if self.meant:
            return self.meant
        matches = difflib.get_close_matches(self.value, self.valid, n=1, cutoff=0.55)
        return matches[0] if matches else None

    @property
    def text(self) -> str:
        """The message with the nearest word, or with the choices where they are few."""
        if self.nearest is not None:
            return f"{self.message}; did you mean {self.nearest!r}?"
        if 0 < len(self.valid) <= MOST_CHOICES:
            return f"{self.message}; choose from: {', '.join(self.valid)}"
        return self.message

    def __str__(self) -> str:
        return f"{self.place}: {self.text}"


class InputError(Exception):
    """The input or the call is wrong; carries every problem found, in file order."""

    def __init__(self, problems: list[Problem] | tuple[Problem, ...]) -> None:
        self.problems = tuple(sorted(problems, key=lambda problem: problem.place))
        super().__init__("\n".join(str(problem) for problem in self.problems))


class ComputationError(Exception):
    """The input is well formed but no trustworthy number can be computed from it."""


def within(name: str, value: float | None, low: float, high: float) -> None:
    """Refuse a number that is none or out of its range.

    Args:
        name: of the argument.
        value: given for it; None stands for the usual one and passes.
        low: least.
        high: greatest.

    Raises:
        InputError: it is not between the two.
    """
    if value is not None and not low <= value <= high:
        message = f"{value} is not between {low:g} and {high:g}"
        raise InputError([Problem(place=Place(name), message=message)])
