"""Everything to buy for a design, and what it comes to in a sentence."""

from __future__ import annotations

import math
from typing import ClassVar

from msgspec import Struct

from supplycalc.output.cautions import LIMITS
from supplycalc.questions.parts.items import Item
from supplycalc.questions.parts.manifolds import ManifoldUse
from supplycalc.questions.parts.pipe_lots import Lot, Strand
from supplycalc.questions.parts.supports import Sleeve
from supplycalc.reading.prices import PriceList
from supplycalc.records import Form
from supplycalc.records.sentences import money
from supplycalc.sizing.design import Assumption, DesignAnswer, Finding
from supplycalc.units import UnitSystem, convert
from supplycalc.units.quantities import Length


class PriceTotal(Struct, frozen=True, kw_only=True):
    """What the parts cost by a price list."""

    name: str
    """Of the list."""
    date: str
    currency: str
    total: float
    """To the hundredth."""
    missing: tuple[str, ...]
    """Parts that it has no price for."""


class PartsList(DesignAnswer, frozen=True, kw_only=True):
    """Everything to buy for a design."""

    schema: ClassVar[str] = "supplycalc-parts/1"
    form: ClassVar[Form] = Form(
        omit=("design", "prices", "strands"),
        rename={"lots": "pipe", "price_total": "prices"},
        add=("answer", "price_total", "cautions"),
    )

    prices: PriceList | None
    waste: float
    """Share added to every run."""
    lots: tuple[Lot, ...]
    strands: tuple[Strand, ...]
    manifolds: tuple[ManifoldUse, ...]
    sleeves: tuple[Sleeve, ...]
    items: tuple[Item, ...]
    findings: tuple[Finding, ...] = ()
    assumptions: tuple[Assumption, ...] = ()

    @property
    def ok(self) -> bool:
        """True when the design passes and nothing here fails."""
        return self.design.ok and not any(finding.level == "fail" for finding in self.findings)

    @property
    def total(self) -> float:
        """Of all items that have a price."""
        return math.fsum(item.amount for item in self.items if item.amount is not None)

    @property
    def unpriced(self) -> tuple[Item, ...]:
        """Items that the price list has no price for."""
        return tuple(item for item in self.items if item.price is None)

    @property
    def price_total(self) -> PriceTotal | None:
        """What it costs; None without a price list."""
        if self.prices is None:
            return None
        return PriceTotal(
            name=self.prices.name,
            date=self.prices.date.isoformat(),
            currency=self.prices.currency,
            total=round(self.total, 2),
            missing=tuple(item.words for item in self.unpriced),
        )

    @property
    def pipe_bought(self) -> Length:
        """Of all coils and sticks."""
        return math.fsum(lot.bought_length for lot in self.lots)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What belongs beside it (common practice, no source)."""
        cautions = [
            "Buy parts that are rated for drinking water, free of lead, and for the pressure and "
            "temperature of their place. Fittings and rings of one system do not fit another's."
        ]
        if any(strand.below for strand in self.strands):
            cautions.append(
                "What the slab or the ground hides is one piece without a joint: measure the way "
                "with a cord before you cut, and keep it under test pressure while it is covered."
            )
        return (*cautions, LIMITS)

    def answer(self, system: UnitSystem) -> str:
        """What it comes to, in a sentence or two."""
        runs = _whole(sum(lot.length for lot in self.lots), system)
        fittings = [item for item in self.items if item.group == "fittings"]
        joints = sum(item.count for item in fittings if not _ring(item))
        pipe = _whole(self.pipe_bought, system)
        text = f"{pipe} of pipe for {runs} of runs, {joints} fittings"
        ports = sum(use.total for use in self.manifolds)
        if ports:
            spare = sum(use.spare for use in self.manifolds)
            text += f", {ports} manifold ports ({spare} spare)"
        if self.prices is None:
            return f"{text}; no price list, so no prices."
        missing = len(self.unpriced)
        if missing and self.total == 0.0:
            return f"{text}; none of it has a price in '{self.prices.name}'."
        total = money(self.total, self.prices.currency)
        text += f": {total} by '{self.prices.name}' of {self.prices.date.isoformat()}"
        if missing:
            text += f", without {missing} {'item that has' if missing == 1 else 'items that have'}"
            text += " no price"
        return f"{text}."


def _ring(item: Item) -> bool:
    return item.kind.endswith("-ring") or item.kind == "clamp"


def _whole(length: float, system: UnitSystem) -> str:
    """A length that is a sum of many."""
    value, unit = convert(length, "length", system)
    return f"{value:,.0f} {unit}"
