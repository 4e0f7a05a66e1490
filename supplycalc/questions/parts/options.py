"""Parts and prices of each choice for one run or group, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar

from msgspec import Struct

from supplycalc.model import House
from supplycalc.questions.compare.study import ComparedOption, Comparison, compare
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.questions.parts.study import parts_of
from supplycalc.reading.prices import PriceList
from supplycalc.records import Form, Result, fields_to_data
from supplycalc.records.sentences import money
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Length, Pressure


class PartsOption(Struct, frozen=True, kw_only=True):
    """One choice with its parts."""

    form: ClassVar[Form] = Form(
        omit=("option", "parts"),
        add=("option.size", "option.material", "ok", "reason", "total", "worst_margin"),
    )
    more_schema: ClassVar[dict[str, Any]] = {"parts": {"type": ["object", "null"]}}

    option: ComparedOption
    parts: PartsList | None
    """None where the choice does not exist."""

    @property
    def name(self) -> str:
        """In words, e.g. "pex-sdr9 1"."""
        return " ".join(filter(None, (self.option.material, self.option.size))) or "as in the file"

    @property
    def ok(self) -> bool:
        """Whether it exists and passes."""
        return self.option.ok and self.parts is not None and self.parts.ok

    @property
    def reason(self) -> str | None:
        """Why it does not exist."""
        return self.option.reason or None

    @property
    def total(self) -> float | None:
        """Price of all that has one; None without a price list, or where it does not exist."""
        if self.parts is None or self.parts.prices is None:
            return None
        return self.parts.total

    @property
    def unpriced(self) -> int | None:
        """How many parts have no price; None as for the total."""
        if self.parts is None or self.parts.prices is None:
            return None
        return len(self.parts.unpriced)

    @property
    def worst_margin(self) -> Pressure | None:
        """What the fixture with least to spare keeps."""
        return None if self.parts is None else self.parts.design.worst.margin

    @property
    def pipe_bought(self) -> Length | None:
        """Of all coils and sticks."""
        return None if self.parts is None else self.parts.pipe_bought

    @property
    def fittings(self) -> int | None:
        """How many, their rings included."""
        if self.parts is None:
            return None
        return sum(item.count for item in self.parts.items if item.group == "fittings")

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it: the whole answer of `parts` within each."""
        parts = None if self.parts is None else self.parts.to_dict(system)
        return {**fields_to_data(self, system), "parts": parts}


class PartsOptions(Result, frozen=True, kw_only=True):
    """Choices side by side, in the order they were asked for."""

    schema: ClassVar[str] = "supplycalc-parts-options/1"
    form: ClassVar[Form] = Form(
        omit=("comparison", "prices"), add=("comparison.subject", "currency", "best")
    )

    comparison: Comparison
    prices: PriceList | None
    options: tuple[PartsOption, ...]

    @property
    def house(self) -> House:
        """The house that was asked about."""
        return self.comparison.house

    @property
    def currency(self) -> str | None:
        """The price list's."""
        return None if self.prices is None else self.prices.currency

    @property
    def ok(self) -> bool:
        """True when at least one option passes."""
        return any(option.ok for option in self.options)

    @property
    def cheapest(self) -> PartsOption | None:
        """The cheapest that passes by the price list; None without one."""
        priced = [option for option in self.options if option.ok and option.total is not None]
        return min(priced, key=lambda option: option.total or 0.0, default=None)

    @property
    def best(self) -> int | None:
        """Where the cheapest stands among them, from 0."""
        return None if self.cheapest is None else self.options.index(self.cheapest)

    @property
    def answer(self) -> str:
        """Which to take, in one sentence."""
        cheapest = self.cheapest
        if cheapest is None or cheapest.total is None:
            works = sum(option.ok for option in self.options)
            return f"{self.comparison.subject}: {works} of {len(self.options)} choices work."
        total = money(cheapest.total, self.currency or "")
        missing = f", without {cheapest.unpriced} that have no price" if cheapest.unpriced else ""
        return (
            f"{self.comparison.subject}: cheapest that works is {cheapest.name}, {total}{missing}."
        )


def parts_options(
    house: House,
    *,
    run: str | None,
    sizes: Sequence[str] = (),
    materials: Sequence[str] = (),
    prices: PriceList | None = None,
    waste: float | None = None,
    method: str | None = None,
) -> PartsOptions:
    """List the parts of every choice for a run.

    Raises:
        InputError: an unknown run, size or material.
    """
    comparison = compare(house, run=run, sizes=sizes, materials=materials, method=method)

    def with_parts(option: ComparedOption) -> PartsOption:
        design = option.design
        parts = None if design is None else parts_of(design, prices=prices, waste=waste)
        return PartsOption(option=option, parts=parts)

    return PartsOptions(
        comparison=comparison,
        prices=prices,
        options=tuple(with_parts(option) for option in comparison.options),
    )
