"""How sure a verdict is, where the file knows some of its figures within a range alone."""

from __future__ import annotations

from typing import ClassVar

from msgspec import Struct

from supplycalc.records import Form
from supplycalc.records.known_ranges import KnownRange, how_to_measure, name_of
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import Share

WORTH_MEASURING = 0.01
"""Of cases: a smaller gain in right verdicts is not told."""


class Measurement(Struct, frozen=True, kw_only=True):
    """What it would tell to measure one of the figures."""

    form: ClassVar[Form] = Form(add=("name", "how"))

    known: KnownRange
    right: Share
    """Part of the cases in which the verdict is right once the figure is known."""
    gain: Share
    """By how much that is more than without."""

    @property
    def name(self) -> str:
        """Such as "length of service"."""
        return name_of(self.known.known.path)

    @property
    def how(self) -> str:
        """With gauge, bucket, watch or tape."""
        return how_to_measure(self.known.known.path, self.known.known.dimension)


class Condition(Struct, frozen=True, kw_only=True):
    """What one figure must be so that the house works."""

    known: KnownRange
    at_most: bool
    """Whether the limit is the most that it may be, or the least."""
    limit: float
    """[SI]"""
    size: str = ""
    """Of a pipe of unknown size, instead."""

    form: ClassVar[Form] = Form(omit=("limit",), add=("said",))

    def said(self, system: UnitSystem) -> str:
        """Such as "length of service is at most 92 ft"."""
        known = self.known.known
        limit = self.size or show(self.limit, known.dimension, system)
        side = "at most" if self.at_most else "at least"
        return f"{name_of(known.path)} is {side} {limit}"


class SureSizes(Struct, frozen=True, kw_only=True):
    """Sizes for which pressure suffices in a wanted part of all cases."""

    form: ClassVar[Form] = Form(omit=("cost", "bound"))

    level: Share
    """The wanted part."""
    reached: Share
    """The part that these sizes reach."""
    kept: bool
    """Whether any sizes reach it; else these are those that come nearest."""
    cost: float
    """Of all pipe, on the design's basis."""
    bound: float | None
    """No sizes so sure cost less."""
    sizes: tuple[tuple[str, str], ...]
    """(run, nominal size)"""
    changes: tuple[tuple[str, str], ...]
    """Those of them that are not the design's."""
    sized_draws: int
    """Draws that were sized one by one for the bound."""


class Certainty(Struct, frozen=True, kw_only=True):
    """In how many of the cases that a file's ranges leave open a design works."""

    form: ClassVar[Form] = Form(add=("verdict",))

    ranges: tuple[KnownRange, ...]
    works: Share
    """Pressure at every fixture and, on a well, enough from the pump."""
    pressure: Share
    """Pressure at every fixture."""
    pump: Share | None
    """The pump gives enough; None where no range bears on it."""
    error: Share
    """Standard error of `works`."""
    draws: int
    seed: int
    measurements: tuple[Measurement, ...]
    """The one that tells most first."""
    only_if: Condition | None = None
    largest_sizes: bool = False
    """Whether it is told of the largest sizes permitted, for want of sizes that suffice."""
    fails_otherwise: bool = False
    """Whether something fails that pressure and pump do not decide."""

    def verdict(self, system: UnitSystem) -> str:
        """In how many cases it works, and what to measure first."""
        count = len(self.ranges)
        figures = f"{count} figure{'' if count == 1 else 's'} known within a range"
        if self.largest_sizes:
            figures += " and the largest sizes permitted"
        it = "pressure suffices" if self.fails_otherwise else "it works"
        if self.works == 1.0:
            return f"With {figures} {it} in all cases ({self.draws} drawn)."
        if self.works == 0.0:
            return f"With {figures} {it} in none of {self.draws} cases drawn."
        error = f" (± {share_said(2.0 * self.error)})" if self.error else ""
        text = f"With {figures} {it} in {share_said(self.works)} of cases{error}"
        if self.only_if is not None:
            text = f"{text}: only if {self.only_if.said(system)}"
        elif self.pump is not None and self.pump < self.pressure:
            text = f"{text}; in {share_said(self.pump)} the pump gives enough"
        return f"{text}. {self._first()}".rstrip()

    def _first(self) -> str:
        first = self.measurements[0] if self.measurements else None
        if first is None or first.gain < WORTH_MEASURING:
            return "No single measurement makes it surer."
        right = "all cases" if first.right == 1.0 else f"{share_said(first.right)} of cases"
        before = share_said(first.right - first.gain)
        return (
            f"Measure first: {first.name} ({first.how}); then the verdict is right in {right}, "
            f"not {before}."
        )


def share_said(share: float) -> str:
    """A part of all cases in per cent; only what is none or all is told so."""
    if share in (0.0, 1.0):
        return "none" if share == 0.0 else "all"
    if 0.0 < share < 0.001:
        return "less than 0.1 %"
    if 0.999 < share < 1.0:
        return "more than 99.9 %"
    return f"{100.0 * share:.1f} %" if share < 0.1 or share > 0.9 else f"{100.0 * share:.0f} %"
