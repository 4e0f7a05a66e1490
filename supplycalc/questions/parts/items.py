"""One line of a parts list, and its price."""

from __future__ import annotations

import math
from typing import Any, ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import is_inch_size, nominal_inches, nominal_millimetres
from supplycalc.reading.prices import PriceList
from supplycalc.records import Form, fields_to_data
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Length

GROUPS = (
    "pipe",
    "fittings",
    "valves and stops",
    "manifolds",
    "equipment",
    "well",
    "booster",
    "supports",
    "sleeves",
    "insulation",
)
"""As an order is read at the counter."""
SPOKEN = {
    "check": "check valve",
    "stop": "angle stop", "wall-elbow": "drop-ear elbow", "washer-box": "washer outlet box",
    "ice-maker-box": "ice maker outlet box", "by-pass": "by-pass",
}  # fmt: skip
SPOKEN_METRIC = {
    "stop": "corner valve", "wall-elbow": "wall plate elbow", "washer-valve": "appliance valve",
    "by-pass": "by-pass",
}  # fmt: skip
"""Kinds that the trade calls otherwise than price lists do."""
_MANIFOLD = ("manifold", "port-valve", "port-cap")
_EQUIPMENT = ("expansion-tank", "safety-group", "relief-discharge-pipe")
_VALVES = (
    "stop",
    "dual-stop",
    "washer-box",
    "ice-maker-box",
    "water-hammer-arrestor",
    "vacuum-breaker",
    "pressure-vacuum-breaker",
    "hose-tap",
    "by-pass",
    "service-valves",
)


def group_of(kind: str) -> str:
    """The group that a kind of part stands in, where its place asks for no other."""
    if kind in _MANIFOLD:
        return "manifolds"
    if kind in _EQUIPMENT:
        return "equipment"
    return "valves and stops" if kind in _VALVES or kind.endswith("-valve") else "fittings"


def size_rank(size: str) -> float:
    """The first size [in] of such as "3/4 x 1/2", "R 3/4" or "20x2.0", for order; 0 without."""
    first = size.split(" x ")[0].split(" ")[-1]
    if is_inch_size(first):
        return nominal_inches(first)
    millimetres = nominal_millimetres(first)
    return 0.0 if millimetres is None else millimetres / 25.4


class Item(Struct, frozen=True, kw_only=True):
    """One line of the list."""

    form: ClassVar[Form] = Form(omit=("pack",), add=("amount",))
    more_schema: ClassVar[dict[str, Any]] = {
        key: {"type": ["string", "null"]} for key in ("size", "material", "note")
    }

    group: str
    kind: str
    """As price lists call it; of pipe its form."""
    size: str
    material: str
    """Tube, way of joining, or what it is made of; empty where it does not matter."""
    count: int
    length: Length | None = None
    """Of each; None where the part has no length."""
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

    @property
    def spoken(self) -> str:
        """Its kind as the counter calls it."""
        first = self.size.split(" x ")[0]
        metric = first.startswith("R") or nominal_millimetres(first) is not None
        return (SPOKEN_METRIC if metric else SPOKEN).get(self.kind, self.kind.replace("-", " "))

    @property
    def words(self) -> str:
        """Such as "tee 3/4 x 3/4 x 1/2 (crimp)"."""
        words = f"{self.spoken} {self.size}".strip()
        return f"{words} ({self.material})" if self.material else words

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it: what does not matter is null."""
        data = fields_to_data(self, system)
        return data | {key: data[key] or None for key in self.more_schema}


def priced(item: Item, prices: PriceList | None, ports: int | None = None) -> Item:
    """An item with the price that fits it best, if there is one; of a manifold by its ports."""
    if prices is None:
        return item
    listed = prices.part(item.kind, item.size, item.material, ports)
    if item.kind == "adapter" and (listed is None or listed.size is None):
        # a price of adapters by the tube alone
        listed = prices.part(item.kind, item.size.split(" x ")[0], item.material, ports)
    if listed is None:
        return item
    packs = math.ceil(item.count / listed.pack) if listed.pack > 1 else None
    each = listed.price / listed.pack
    if listed.length is not None and item.length is not None:
        # a price for another length than that of the piece counted here
        each *= item.length / listed.length
    return replace(item, price=each, packs=packs, pack=listed.pack)
