"""One line of a parts list, and its price."""

from __future__ import annotations

import math

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.reading.prices import PriceList

GROUPS = (
    "pipe",
    "fittings",
    "valves and stops",
    "manifolds",
    "supports",
    "sleeves",
    "insulation",
    "equipment",
)


class Item(Struct, frozen=True, kw_only=True):
    """One line of the list."""

    group: str
    kind: str
    """As price lists call it; of pipe its form."""
    size: str
    material: str
    """Tube, way of joining, or what it is made of; empty where it does not matter."""
    count: int
    length: float | None
    """Of each [m]; None where the part has no length."""
    places: tuple[str, ...]
    """Where it goes, each once."""
    note: str = ""
    price: float | None = None
    """Of each piece; None where the price list has none, or there is no list."""
    packs: int | None = None
    """How many packs, where it is sold in packs of more than one."""
    pack: int = 1

    @property
    def amount(self) -> float | None:
        """Price of all of them; None where there is no price."""
        if self.price is None:
            return None
        return self.price * (self.count if self.packs is None else self.packs * self.pack)


def priced(
    item: Item, prices: PriceList | None, joining: str | None, ports: int | None = None
) -> Item:
    """An item with the price that fits it best, if there is one.

    Args:
        item: the item.
        prices: price list; None for none.
        joining: its way of joining; None where it does not matter.
        ports: of a manifold.

    Returns:
        The item.
    """
    found = None if prices is None else prices.part(item.kind, item.size, joining, ports)
    if found is None:
        return item
    packs = math.ceil(item.count / found.pack) if found.pack > 1 else None
    each = found.price / found.pack
    if found.length is not None and item.length is not None:
        # a price for another length than that of the piece counted here
        each *= item.length / found.length
    return replace(item, price=each, packs=packs, pack=found.pack)
