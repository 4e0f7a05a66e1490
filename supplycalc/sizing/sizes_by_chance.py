"""Sizes that keep a limit of daily use, as a record."""

from __future__ import annotations

from typing import ClassVar

from msgspec import Struct

from supplycalc.records import Form
from supplycalc.sizing.daily_use import minutes_a_year
from supplycalc.units.quantities import Minutes, Volume


class SizesByChance(Struct, frozen=True, kw_only=True):
    """The cheapest sizes found for which no fixture is short for longer than the limit."""

    form: ClassVar[Form] = Form(omit=("cost", "code_cost", "bound", "sizes", "changes"))

    limit: str
    """As the file has it."""
    kept: bool
    """Whether these sizes keep it; False: the largest permitted ones do not."""
    code_keeps: bool
    """Whether the sizes by the code's peak keep it."""
    cost: float
    """Of all pipe, on the design's basis."""
    code_cost: float
    bound: float
    """No sizes that keep the limit cost less, for the same draws."""
    tank: Volume | None = None
    """Of the pressure tank that it takes; None: the one there is."""
    worst: str | None
    """The connection that is short for longest."""
    worst_below: Minutes
    """A year."""
    sizes: tuple[tuple[str, str], ...]
    """(run, nominal size)"""
    changes: tuple[tuple[str, str], ...]
    """Of them those that differ from the code's."""

    @property
    def gap(self) -> float:
        """Part of the cost by which cheaper sizes could exist at most."""
        return max(1.0 - self.bound / self.cost, 0.0) if self.cost > 0.0 else 0.0

    @property
    def short_for(self) -> str:
        """How long its worst fixture is short, in words."""
        if self.worst is None or self.worst_below < 30.0:
            return "then nothing is short"
        return f"{self.worst} is then short for {minutes_a_year(self.worst_below)}"
