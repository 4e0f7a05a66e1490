"""What the file knows only within a range, kept beside the middle value that the house holds."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from supplycalc.problems import NOWHERE, Place

FieldPath = tuple[str, ...]
"""Where a value of the house stands: section, name where there are many, keys; such as ("run",
"service", "length")."""
Distribution = Literal["normal", "even", "sizes"]


class Range(Struct, frozen=True, kw_only=True):
    """One quantity of the file that is not known exactly."""

    path: FieldPath
    dimension: str
    """Key of `units.DIMENSIONS`."""
    low: float
    """[SI] of a normal distribution the end of the middle 95 %"""
    middle: float
    """[SI] what the house holds"""
    high: float
    """[SI]"""
    distribution: Distribution
    """normal: around the middle; even: nothing beyond the ends; sizes: one of `sizes`, each as
    likely."""
    written: str
    """As in the file."""
    sizes: tuple[str, ...] = ()
    """Nominal sizes that existing pipe may have, ascending."""
    bounds: tuple[float, float] = (float("-inf"), float("inf"))
    """[SI] What no value of this kind lies beyond."""
    place: Place = NOWHERE

    @property
    def field(self) -> str:
        """The path in one word, as column names have it."""
        return ".".join(self.path)
