"""Pipe to buy: which runs are one piece, how their tube is sold, and how the stock is cut."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from supplycalc.catalogue import Tube, TubeSize, nominal_inches
from supplycalc.model import Run
from supplycalc.questions.parts.cutting import Cut, Piece, Stock, cut
from supplycalc.reading.prices import PipePrice, PriceList
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table, to_si


class Strand(Struct, frozen=True, kw_only=True):
    """Runs in line of one tube and size, laid as one piece of pipe."""

    runs: tuple[RunResult, ...]

    @property
    def name(self) -> str:
        """Of its runs."""
        return " + ".join(one.run.name for one in self.runs)

    @property
    def length(self) -> float:
        """[m], without waste"""
        return math.fsum(one.run.length for one in self.runs)

    @property
    def below(self) -> bool:
        """Whether any of it lies in the ground or in a slab."""
        return any(one.run.embedded or one.run.buried is not None for one in self.runs)

    @property
    def tube(self) -> Tube:
        """Its family."""
        return self.runs[0].tube

    @property
    def size(self) -> TubeSize:
        """Its size."""
        return self.runs[0].size


class Sold(Struct, frozen=True, kw_only=True):
    """How one size of a tube is sold."""

    form: str
    """ "coil", "stick" or "cut" (any length)."""
    lengths: tuple[float, ...]
    """[m], ascending; none where it is cut to length."""


class Bought(Struct, frozen=True, kw_only=True):
    """So many of one length of a lot."""

    length: float
    """[m]"""
    count: int
    price: float | None
    """Of each; None where the list has none."""
    special: bool = False
    """A length that counters do not keep."""


class Lot(Struct, frozen=True, kw_only=True):
    """All pipe of one material, size and form."""

    material: str
    tube: Tube
    size: TubeSize
    form: str
    strands: tuple[Strand, ...]
    waste: float
    """Share added to every run."""
    bought: tuple[Bought, ...]
    cuts: tuple[Cut, ...]
    least: bool
    """Whether the stock is proved to be the cheapest that holds the pieces."""
    joints: tuple[tuple[Strand, int], ...]
    """Strands too long for the stock, with the couplings they need."""

    @property
    def length(self) -> float:
        """Of the runs, as in the design [m]."""
        return math.fsum(one.length for one in self.strands)

    @property
    def cut_length(self) -> float:
        """With waste [m]."""
        return self.length * (1.0 + self.waste)

    @property
    def bought_length(self) -> float:
        """[m]"""
        return math.fsum(one.length * one.count for one in self.bought)

    @property
    def left(self) -> float:
        """Bought beyond the pieces [m]."""
        return self.bought_length - self.cut_length


def usual_waste() -> float:
    """Share of every run for cutting, bends and slack (common practice, no source)."""
    return float(load_table("parts")["waste"]["value"])


def sold_as(tube: Tube, size: TubeSize, below: bool, listed: Sequence[PipePrice] = ()) -> Sold:
    """How a size is sold; lengths of the price list come before the usual ones.

    Args:
        tube: the family.
        size: the size.
        below: whether it goes into the ground or a slab.
        listed: what the price list has of this size.

    Returns:
        Form and lengths; cut to length where nothing is known.

    Source: parts.toml (common practice, no source).
    """
    rows = [row for row in _stock(tube.name) if row[1] <= size.rank + 1e-9 <= row[2] + 2e-9]
    place = "buried" if below else "above"
    usual = next((row for row in rows if row[3] in ("all", place)), rows[0] if rows else None)
    whole = tuple(sorted({one.length for one in listed if not one.cut}))
    if usual is None:
        return Sold(form="coil" if whole else "cut", lengths=whole)
    form, lengths = usual[0], usual[4]
    sticks = [length for row in rows if row[0] == "stick" for length in row[4]]
    if len({row[0] for row in rows}) > 1:
        longest = max(sticks)
        whole = tuple(one for one in whole if (one > longest + 1e-6) == (form == "coil"))
    if not whole and any(one.cut for one in listed) and form == "coil":
        return Sold(form="cut", lengths=())
    return Sold(form=form, lengths=whole or lengths)


_Row = tuple[str, float, float, str, tuple[float, ...]]


@functools.cache
def _stock(name: str) -> tuple[_Row, ...]:
    """(form, least and greatest rank, where, lengths [m]) of a family, in order of preference."""
    for table in load_table("parts")["stock"].values():
        if name in table["tubes"]:
            return tuple(
                (form, _rank(low), _rank(high), where, tuple(to_si(n, table["unit"]) for n in many))
                for form, low, high, where, many in table["rows"]
            )
    return ()


def _rank(value: str | float) -> float:
    return nominal_inches(value) if isinstance(value, str) else float(value)


LONGEST_STRAIGHT = 7.0
"""[m] Coiled tube is sold in straight lengths too, none of them longer."""


def form_of(lot: Lot, length: float) -> str:
    """What one length of a lot is.

    Args:
        lot: coils, sticks or cut to length.
        length: of it [m].

    Returns:
        "coil", "stick" or "cut to length".

    Source: parts.toml (common practice, no source).
    """
    if lot.form == "cut":
        return "cut to length"
    return "stick" if lot.form == "coil" and length < LONGEST_STRAIGHT else lot.form


def strands(design: Design, prices: PriceList | None, waste: float) -> tuple[Strand, ...]:
    """The runs of a design as pieces of pipe, from the source down.

    A run goes on in the next where nothing else starts between them, tube, size and joining are the
    same, and the whole still fits one coil (sticks are joined anyway).

    Args:
        design: with a size for every run.
        prices: whose lengths to count on.
        waste: share added to every run.

    Returns:
        Every run in exactly one strand.
    """
    tree = design.tree
    open_strands: dict[int, list[RunResult]] = {}
    found: list[list[RunResult]] = []
    for one in design.runs:
        above = tree.parent[one.index]
        before = open_strands.pop(above, None) if len(tree.children[above]) == 1 else None
        if before is not None and goes_on(before[-1].run, before[-1].size, one):
            longer = Strand(runs=(*before, one))
            if _fits(longer, prices, waste):
                before.append(one)
                open_strands[one.index] = before
                continue
        fresh = [one]
        found.append(fresh)
        open_strands[one.index] = fresh
    return tuple(Strand(runs=tuple(one)) for one in found)


def goes_on(run: Run, size: TubeSize, after: RunResult) -> bool:
    """Whether the next run is the same pipe.

    Args:
        run: the run before.
        size: its size.
        after: the run that starts at its end.

    Returns:
        True or False.
    """
    same = (run.material, run.joining) == (after.run.material, after.run.joining)
    if run.circulated != after.run.circulated:
        # the return line starts between them
        return False
    return same and size.nominal == after.size.nominal


def _fits(strand: Strand, prices: PriceList | None, waste: float) -> bool:
    sold = sold_as(strand.tube, strand.size, strand.below, _listed(strand, prices))
    if sold.form != "coil":
        return True
    return strand.length * (1.0 + waste) <= sold.lengths[-1]


def _listed(strand: Strand, prices: PriceList | None) -> tuple[PipePrice, ...]:
    if prices is None:
        return ()
    return prices.pipe(strand.runs[0].run.material, strand.size.nominal)


def lots(
    pieces: Sequence[Strand], prices: PriceList | None = None, waste: float | None = None
) -> tuple[Lot, ...]:
    """What pipe to buy for strands, by material, size and form.

    Coiled tube is never joined inside a strand unless the strand is longer than the longest coil
    and in reach; below ground a longer one is a special order. Sticks are joined: full lengths, and
    a rest that is cut from what is left of others.

    Args:
        pieces: of `strands`.
        prices: decides on the lengths and what is cheapest; None: the least length.
        waste: share added to every run; None takes the usual one.

    Returns:
        Lots in the order of the strands.
    """
    share = usual_waste() if waste is None else waste
    groups: dict[tuple[str, str, str, tuple[float, ...]], list[Strand]] = {}
    for strand in pieces:
        sold = sold_as(strand.tube, strand.size, strand.below, _listed(strand, prices))
        key = (strand.runs[0].run.material, strand.size.nominal, sold.form, sold.lengths)
        groups.setdefault(key, []).append(strand)
    return tuple(
        _lot(held, Sold(form=key[2], lengths=key[3]), _listed(held[0], prices), share)
        for key, held in groups.items()
    )


def _lot(held: list[Strand], sold: Sold, listed: Sequence[PipePrice], waste: float) -> Lot:
    first = held[0]
    joints: list[tuple[Strand, int]] = []
    pieces: list[Piece] = []
    special: list[Bought] = []
    cuts: list[Cut] = []
    least = True
    bought: list[Bought] = []
    if sold.form == "cut":
        bought = [_by_length(held, listed, waste)]
    else:
        longest = sold.lengths[-1]
        for strand in held:
            length = strand.length * (1.0 + waste)
            if sold.form == "coil" and length > longest and strand.below:
                special.append(Bought(length=length, count=1, price=None, special=True))
                only = Piece(name=strand.name, length=length)
                cuts.append(Cut(stock=Stock(length=length, cost=length), pieces=(only,)))
                continue
            parts = list(_split(strand.name, length, longest))
            if len(parts) > 1:
                joints.append((strand, len(parts) - 1))
            pieces.extend(parts)
        each = {one.length: one.price for one in listed if not one.cut}
        known = all(length in each for length in sold.lengths)
        stock = [
            Stock(length=length, cost=each[length] if known else length) for length in sold.lengths
        ]
        done = cut(pieces, _never_free(stock))
        least = done.least
        cuts = [*cuts, *done.cuts]
        for length in sorted({one.stock.length for one in done.cuts}, reverse=True):
            count = sum(one.stock.length == length for one in done.cuts)
            bought.append(Bought(length=length, count=count, price=each.get(length)))
    return Lot(
        material=first.runs[0].run.material,
        tube=first.tube,
        size=first.size,
        form=sold.form,
        strands=tuple(held),
        waste=waste,
        bought=(*special, *bought),
        cuts=tuple(cuts),
        least=least,
        joints=tuple(joints),
    )


def _never_free(stock: Sequence[Stock]) -> list[Stock]:
    """Stock whose cost is above zero, so that fewer is always better."""
    return [Stock(length=one.length, cost=max(one.cost, 1e-6)) for one in stock]


def _by_length(held: Sequence[Strand], listed: Sequence[PipePrice], waste: float) -> Bought:
    length = math.fsum(one.length for one in held) * (1.0 + waste)
    rates = [one.price / one.length for one in listed if one.cut]
    return Bought(length=length, count=1, price=min(rates) * length if rates else None)


def _split(name: str, length: float, longest: float) -> Iterator[Piece]:
    """Full lengths and a rest; a piece that fits stays whole."""
    full = 0
    while length - full * longest > longest + 1e-9:
        full += 1
        yield Piece(name=name, length=longest)
    yield Piece(name=name, length=length - full * longest)
