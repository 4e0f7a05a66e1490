"""Pipe to buy: which runs are one piece, how their tube is sold, and how the stock is cut."""

from __future__ import annotations

import functools
import math
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any, ClassVar

from msgspec import Struct

from supplycalc.catalogue import Tube, TubeSize, nominal_inches
from supplycalc.model import WaterSource
from supplycalc.network import well_side
from supplycalc.questions.parts.cutting import Cut, Piece, Stock, cut
from supplycalc.questions.parts.supports import hidden
from supplycalc.reading.prices import PipePrice, PriceList
from supplycalc.records import Form
from supplycalc.sizing.design import Design, RunResult
from supplycalc.supply.several_wells import is_shared
from supplycalc.tables import load_table, to_si
from supplycalc.units.quantities import Length


class Strand(Struct, frozen=True, kw_only=True):
    """Runs in line of one tube and size, laid as one piece of pipe."""

    runs: tuple[RunResult, ...]

    @property
    def name(self) -> str:
        """Of its runs."""
        return " + ".join(run.name for run in self.runs)

    @property
    def length(self) -> Length:
        """Without waste."""
        return math.fsum(run.length for run in self.runs)

    @property
    def below(self) -> bool:
        """Whether any of it lies in the ground or in a slab."""
        return any(hidden(run) or run.before_tank for run in self.runs)

    @property
    def material(self) -> str:
        """Name of its family."""
        return self.runs[0].material

    @property
    def tube(self) -> Tube:
        """Its family."""
        return self.runs[0].tube

    @property
    def size(self) -> TubeSize:
        """Its size."""
        return self.runs[0].size

    @property
    def colour(self) -> str:
        """ "red" or "blue", where the tube is sold so; else empty."""
        table = _stock_table(self.material)
        if table is None or "coloured_to" not in table or self.tube.metric:
            return ""
        if self.size.rank > nominal_inches(table["coloured_to"]) + 1e-9:
            return ""
        return "red" if self.runs[0].side == "hot" else "blue"


class Sold(Struct, frozen=True, kw_only=True):
    """How one size of a tube is sold."""

    supplied_as: str
    """ "coil", "stick" or "cut" (any length)."""
    lengths: tuple[Length, ...]
    """Ascending; none where it is cut to length."""


class Bought(Struct, frozen=True, kw_only=True):
    """So many of one length of a lot."""

    length: Length
    count: int
    price: float | None
    """Of each; None where the list has none."""
    special: bool = False
    """A length that counters do not keep."""


class JoinedStrand(Struct, frozen=True, kw_only=True):
    """A strand that is too long for the stock."""

    form: ClassVar[Form] = Form(omit=("strand",), add=("strand.name",))

    strand: Strand
    count: int
    """Couplings that it needs."""


LONGEST_STRAIGHT = 7.0
"""[m] Coiled tube is sold in straight lengths too, none of them longer."""


class Lot(Struct, frozen=True, kw_only=True):
    """All pipe of one material and size that is supplied in one way."""

    form: ClassVar[Form] = Form(
        omit=("tube", "size", "strands", "waste", "bought"),
        rename={"supplied_as": "form", "size.nominal": "size"},
        add=("size.nominal", "runs", "length", "cut_length", "bought_length", "left"),
    )

    material: str
    tube: Tube
    size: TubeSize
    supplied_as: str
    colour: str
    """Red for hot water, blue for cold; empty where the tube has one colour."""
    strands: tuple[Strand, ...]
    waste: float
    """Share added to every run."""
    bought: tuple[Bought, ...]
    cuts: tuple[Cut, ...]
    least: bool
    """Whether the stock is proved to be the cheapest that holds the pieces."""
    joints: tuple[JoinedStrand, ...]

    @property
    def runs(self) -> tuple[str, ...]:
        """Names of its runs."""
        return tuple(run.name for strand in self.strands for run in strand.runs)

    @property
    def length(self) -> Length:
        """Of the runs, as in the design."""
        return math.fsum(strand.length for strand in self.strands)

    @property
    def cut_length(self) -> Length:
        """With waste."""
        return self.length * (1.0 + self.waste)

    @property
    def bought_length(self) -> Length:
        """Of all coils and sticks."""
        return math.fsum(bought.length * bought.count for bought in self.bought)

    @property
    def left(self) -> Length:
        """Bought beyond the pieces."""
        return self.bought_length - self.cut_length

    @property
    def tube_words(self) -> str:
        """Its family and its colour, if it has one."""
        return f"{self.material} {self.colour}".strip()

    def called(self, length: float) -> str:
        """What one length of it [m] is called (common practice, no source)."""
        if self.supplied_as == "cut":
            return "cut to length"
        straight = self.supplied_as == "coil" and length < LONGEST_STRAIGHT
        return "stick" if straight else self.supplied_as


def usual_waste() -> float:
    """Share of every run for cutting, bends and slack (common practice, no source)."""
    return float(load_table("parts")["waste"]["value"])


def sold_as(tube: Tube, size: TubeSize, below: bool, listed: Sequence[PipePrice] = ()) -> Sold:
    """How a size is sold: lengths of the price list, else the usual ones, else cut to length.

    Source: parts.toml (common practice, no source).
    """
    rows = [row for row in _stock(tube.name) if row[1] <= size.rank + 1e-9 <= row[2] + 2e-9]
    place = "buried" if below else "above"
    usual = next((row for row in rows if row[3] in ("all", place)), rows[0] if rows else None)
    whole = tuple(sorted({price.length for price in listed if not price.cut}))
    if usual is None:
        return Sold(supplied_as="coil" if whole else "cut", lengths=whole)
    way, lengths = usual[0], usual[4]
    sticks = [length for row in rows if row[0] == "stick" for length in row[4]]
    if len({row[0] for row in rows}) > 1:
        longest = max(sticks)
        whole = tuple(length for length in whole if (length > longest + 1e-6) == (way == "coil"))
    if not whole and any(price.cut for price in listed) and way == "coil":
        return Sold(supplied_as="cut", lengths=())
    return Sold(supplied_as=way, lengths=whole or lengths)


_Row = tuple[str, float, float, str, tuple[float, ...]]


@functools.cache
def _stock(name: str) -> tuple[_Row, ...]:
    """(way, least and greatest rank, where, lengths [m]) of a family, in order of preference."""
    table = _stock_table(name)
    if table is None:
        return ()
    return tuple(
        (way, _rank(low), _rank(high), where, tuple(to_si(n, table["unit"]) for n in many))
        for way, low, high, where, many in table["rows"]
    )


def _stock_table(name: str) -> dict[str, Any] | None:
    """How a family is sold; None where it is not known."""
    tables = load_table("parts")["stock"].values()
    return next((table for table in tables if name in table["tubes"]), None)


def _rank(value: str | float) -> float:
    return nominal_inches(value) if isinstance(value, str) else float(value)


def runs_already(source: WaterSource) -> bool:
    """Whether a source's equipment runs already: its pump was measured by a bucket test."""
    return source.pump is not None and source.pump.measured_flow is not None


def strands(design: Design, prices: PriceList | None, waste: float) -> tuple[Strand, ...]:
    """The runs of a design as pieces of pipe, from the source down.

    A run goes on in the next where nothing else starts between them, tube, size and joining are the
    same, and the whole still fits one coil (sticks are joined anyway).
    """
    there = runs_already(well_side(design.house).source)
    return tuple(
        strand
        for stretch in design.stretches
        for strand in _laid(
            stretch,
            prices,
            waste,
            there=there if is_shared(stretch.house) else runs_already(stretch.house.source),
        )
    )


def _laid(
    design: Design, prices: PriceList | None, waste: float, *, there: bool
) -> tuple[Strand, ...]:
    """The same for a line before the tank, whose well may be there, or for what is behind it."""
    tree = design.tree
    open_strands: dict[int, list[RunResult]] = {}
    laid: list[list[RunResult]] = []
    for run in design.runs:
        laid_already = run.before_tank and run.run.size is not None
        if run.run.existing or (laid_already and there):
            continue
        above = tree.parent[run.index]
        before = open_strands.pop(above, None) if len(tree.children[above]) == 1 else None
        if run.before_tank and above == max(len(design.house.suction), 1):
            before = None  # the wellhead or the pump stands between
        if (
            before is not None
            and _same_pipe(before[-1], run)
            and _fits(Strand(runs=(*before, run)), prices, waste)
        ):
            before.append(run)
        else:
            before = [run]
            laid.append(before)
        open_strands[run.index] = before
    return tuple(Strand(runs=tuple(runs)) for runs in laid)


def _same_pipe(before: RunResult, after: RunResult) -> bool:
    """Whether a run goes on in the next; a return line starts where one is no longer kept hot."""
    keys = ("material", "joining", "circulated")
    alike = all(getattr(before.run, key) == getattr(after.run, key) for key in keys)
    return alike and before.nominal == after.nominal


def _fits(strand: Strand, prices: PriceList | None, waste: float) -> bool:
    sold = sold_as(strand.tube, strand.size, strand.below, _listed(strand, prices))
    if sold.supplied_as != "coil":
        return True
    return strand.length * (1.0 + waste) <= sold.lengths[-1]


def _listed(strand: Strand, prices: PriceList | None) -> tuple[PipePrice, ...]:
    if prices is None:
        return ()
    return prices.pipe(strand.material, strand.size.nominal)


def lots(pieces: Sequence[Strand], prices: PriceList | None, waste: float) -> tuple[Lot, ...]:
    """What pipe to buy for strands, by material, size and how it is supplied.

    Hot and cold water come from different coils where the tube is sold in two colours. Coiled tube
    is never joined inside a strand unless the strand is longer than the longest coil
    and in reach; below ground a longer one is a special order. Sticks are joined: full lengths, and
    a rest that is cut from what is left of others.
    """
    groups: dict[tuple[str, str, str, Sold], list[Strand]] = {}
    for strand in pieces:
        sold = sold_as(strand.tube, strand.size, strand.below, _listed(strand, prices))
        key = (strand.material, strand.size.nominal, strand.colour, sold)
        groups.setdefault(key, []).append(strand)
    return tuple(
        _lot(held, sold, _listed(held[0], prices), waste)
        for (_, _, _, sold), held in groups.items()
    )


NEVER_FREE = 1e-6
"""Least cost of a length, so that fewer are better even where the list has them for nothing."""


def _lot(held: list[Strand], sold: Sold, listed: Sequence[PipePrice], waste: float) -> Lot:
    first = held[0]
    joints: list[JoinedStrand] = []
    pieces: list[Piece] = []
    special: list[Bought] = []
    cuts: list[Cut] = []
    least = True
    bought: list[Bought] = []
    if sold.supplied_as == "cut":
        bought = [_by_length(held, listed, waste)]
    else:
        longest = sold.lengths[-1]
        for strand in held:
            length = strand.length * (1.0 + waste)
            if sold.supplied_as == "coil" and length > longest and strand.below:
                special.append(Bought(length=length, count=1, price=None, special=True))
                only = Piece(name=strand.name, length=length)
                cuts.append(Cut(stock=Stock(length=length, cost=length), pieces=(only,)))
                continue
            parts = list(_split(strand.name, length, longest))
            if len(parts) > 1:
                joints.append(JoinedStrand(strand=strand, count=len(parts) - 1))
            pieces.extend(parts)
        each = {price.length: price.price for price in listed if not price.cut}
        known = all(length in each for length in sold.lengths)
        stock = [
            Stock(length=length, cost=max(each[length], NEVER_FREE) if known else length)
            for length in sold.lengths
        ]
        cutting = cut(pieces, stock)
        least = cutting.least
        cuts += cutting.cuts
        stocks = Counter(coil.stock.length for coil in cutting.cuts)
        bought = [
            Bought(length=length, count=count, price=each.get(length))
            for length, count in stocks.items()
        ]
    return Lot(
        material=first.material,
        tube=first.tube,
        size=first.size,
        supplied_as=sold.supplied_as,
        colour=first.colour,
        strands=tuple(held),
        waste=waste,
        bought=(*special, *bought),
        cuts=tuple(cuts),
        least=least,
        joints=tuple(joints),
    )


def _by_length(held: Sequence[Strand], listed: Sequence[PipePrice], waste: float) -> Bought:
    length = math.fsum(strand.length for strand in held) * (1.0 + waste)
    rates = [price.price / price.length for price in listed if price.cut]
    return Bought(length=length, count=1, price=min(rates) * length if rates else None)


def _split(name: str, length: float, longest: float) -> Iterator[Piece]:
    """Full lengths and a rest; a piece that fits stays whole."""
    full = 0
    while length - full * longest > longest + 1e-9:
        full += 1
        yield Piece(name=name, length=longest)
    yield Piece(name=name, length=length - full * longest)
