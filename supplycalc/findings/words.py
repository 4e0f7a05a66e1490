"""Words that several rules use: lists of names, sizes as they are asked for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from supplycalc.catalogue import Tube, TubeSize
from supplycalc.sizing.design import RunResult

SHOWN = 4
"""How many names a joined finding lists."""


def listed(names: Iterable[str], *, word: str = "and") -> str:
    """ "a", "a and b", "a, b and c", or the first few "and 7 more"; each name once."""
    known = tuple(dict.fromkeys(names))
    if len(known) > SHOWN + 1:
        return f"{', '.join(known[:SHOWN])} and {len(known) - SHOWN} more"
    *first, last = known or ("",)
    return f"{', '.join(first)} {word} {last}" if first else last


def is_are(names: Sequence[str], single: str, several: str) -> str:
    """The first word for a single name, else the second."""
    return single if len(set(names)) == 1 else several


def size_of(result: RunResult) -> str:
    """A run's size as it is asked for: "3/4 inch", or "20x2.8" of a metric family."""
    return nominal_of(result.size, result.tube)


def nominal_of(size: TubeSize, tube: Tube) -> str:
    """A size as it is asked for: "3/4 inch", or "20x2.8" of a metric family."""
    return size.nominal if tube.metric else f"{size.nominal} inch"
