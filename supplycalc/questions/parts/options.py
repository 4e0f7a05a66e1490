"""Parts and prices of each choice for one run or group, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from supplycalc.model import House
from supplycalc.questions.compare.study import ComparedOption, Comparison, compare
from supplycalc.questions.parts.study import PartsList, parts_of
from supplycalc.reading.prices import PriceList


class PartsOption(Struct, frozen=True, kw_only=True):
    """One choice with its parts."""

    option: ComparedOption
    parts: PartsList | None
    """None where the choice does not exist."""

    @property
    def ok(self) -> bool:
        """Whether it exists and passes."""
        return self.option.ok and self.parts is not None and self.parts.ok

    @property
    def total(self) -> float | None:
        """Price of all that has one; None without a price list, or where it does not exist."""
        if self.parts is None or self.parts.prices is None:
            return None
        return self.parts.total


class PartsOptions(Struct, frozen=True, kw_only=True):
    """Choices side by side, in the order they were asked for."""

    comparison: Comparison
    prices: PriceList | None
    options: tuple[PartsOption, ...]

    @property
    def ok(self) -> bool:
        """True when at least one option passes."""
        return any(one.ok for one in self.options)

    @property
    def cheapest(self) -> PartsOption | None:
        """The cheapest that passes by the price list; None without one."""
        priced = [one for one in self.options if one.ok and one.total is not None]
        return min(priced, key=lambda one: one.total or 0.0, default=None)

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc parts --run ... --json` prints it."""
        from supplycalc.questions.parts.page import options_to_dict

        return options_to_dict(self, units)


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

    Args:
        house: a checked house.
        run: a run, a fixture or a group.
        sizes: nominal sizes for it.
        materials: tube families for it.
        prices: price list.
        waste: share added to every run; None takes the usual one.
        method: demand method; None takes the file's.

    Returns:
        The options.

    Raises:
        InputError: an unknown run, size or material.
    """
    found = compare(house, run=run, sizes=sizes, materials=materials, method=method)
    return PartsOptions(
        comparison=found,
        prices=prices,
        options=tuple(
            PartsOption(
                option=one,
                parts=None
                if one.design is None
                else parts_of(one.design, prices=prices, waste=waste),
            )
            for one in found.options
        ),
    )
