"""A change that is tried on a design: the changed house and what is told of it."""

from __future__ import annotations

import re

from msgspec import Struct

from supplycalc.model import House

Values = tuple[tuple[float, str], ...]
"""(SI value, dimension) of each mark of a sentence."""
MOST_NAMED = 4
"""Runs told by name; more are counted."""


class Trial(Struct, frozen=True, kw_only=True):
    """A house with one thing changed, and in which words."""

    house: House
    text: str
    values: Values = ()
    also: tuple[House, ...] = ()
    """Houses that must work with the same sizes: outlets that take turns."""


def few(names: list[str]) -> str:
    """Names in a sentence, the longest rows cut short."""
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def after_marks(count: int, text: str) -> str:
    """A sentence whose marks are counted on from those of the one before it."""
    return re.sub(r"\{(\d+)\}", lambda mark: f"{{{int(mark[1]) + count}}}", text)
