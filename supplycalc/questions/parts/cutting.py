"""Cutting pieces out of coils and sticks at the least cost: one-dimensional cutting stock.

Best fit gives a good cutting at once. Stock that is cheaper and long enough in all is then tried,
the cheapest mix first; where none is, or the first holds all pieces, nothing better exists.
Otherwise an integer program (HiGHS, by scipy) over every way to fill a stock proves or betters it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.records import Form
from supplycalc.units.quantities import Length

SLACK = 1e-9
"""[m] Differences below this are rounding."""
HANDLING = 1e-3
"""What one more coil or stick counts beside its cost, as a share of the cheapest: breaks ties."""
MOST_MIXES = 4000
"""Mixes of stock that are tried."""
MOST_FILLS = 6000
"""Ways to fill a stock that the integer program may have; with more it is left out."""
MOST_WORK = 500_000
"""Branches of its search times fills; a limit of time would make the list depend on the machine."""


class Stock(Struct, frozen=True, kw_only=True):
    """One length that can be bought."""

    length: Length
    cost: float
    """In any one measure."""


class Piece(Struct, frozen=True, kw_only=True):
    """One piece that is needed whole."""

    name: str
    length: Length


class Cut(Struct, frozen=True, kw_only=True):
    """One coil or stick with what is cut from it."""

    form: ClassVar[Form] = Form(
        omit=("stock",), rename={"stock.length": "stock"}, add=("stock.length", "left")
    )

    stock: Stock
    pieces: tuple[Piece, ...]

    @property
    def used(self) -> Length:
        """Of all its pieces."""
        return math.fsum(piece.length for piece in self.pieces)

    @property
    def left(self) -> Length:
        """Never negative."""
        return max(self.stock.length - self.used, 0.0)


class Cutting(Struct, frozen=True, kw_only=True):
    """What to buy and how to cut it."""

    cuts: tuple[Cut, ...]
    least: bool
    """Whether no cheaper choice of stock holds all pieces, proved."""

    @property
    def cost(self) -> float:
        """Of all stock, in the measure of its cost."""
        return _cost(self.cuts)


def cut(pieces: Sequence[Piece], stock: Sequence[Stock]) -> Cutting:
    """Cut pieces from stock, any number of each length, at the least cost of the stock.

    Raises:
        ValueError: a piece is longer than the longest stock, or not above zero.

    Source: cutting-stock problem of P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961)
        849; best-fit decreasing, D. S. Johnson, 1973 (both from memory).
    """
    longest = max((kind.length for kind in stock), default=0.0)
    for piece in pieces:
        if not 0.0 < piece.length <= longest + SLACK:
            raise ValueError(f"{piece.name!r} of {piece.length} m does not fit a stock length")
    if not pieces:
        return Cutting(cuts=(), least=True)
    sold = {kind.length: kind for kind in _worth_buying(stock)}
    handling = HANDLING * min(kind.cost for kind in sold.values())
    kinds = [replace(kind, cost=kind.cost + handling) for kind in sold.values()]
    ordered = sorted(pieces, key=lambda piece: (-piece.length, piece.name))
    best = min((_best_fit(ordered, kinds, kind) for kind in kinds), key=_cost)
    better, least = _by_mixes(ordered, kinds, _cost(best))
    best = better or best
    if not least:
        better, least = _by_program(ordered, kinds, _cost(best))
        best = better or best
    cuts = [replace(cut, stock=sold[cut.stock.length]) for cut in best]
    cuts.sort(key=lambda cut: (-cut.stock.length, -cut.used, cut.pieces[0].name))
    return Cutting(cuts=tuple(cuts), least=least)


def _worth_buying(stock: Sequence[Stock]) -> list[Stock]:
    """Ascending by length; a length that a longer one undercuts is never bought."""
    worth: list[Stock] = []
    for kind in sorted(stock, key=lambda kind: (-kind.length, kind.cost)):
        if not worth or kind.cost < worth[-1].cost:
            worth.append(kind)
    return worth[::-1]


def _cost(cuts: Sequence[Cut]) -> float:
    return math.fsum(cut.stock.cost for cut in cuts)


def _total(pieces: Sequence[Piece]) -> float:
    """[m]"""
    return math.fsum(piece.length for piece in pieces)


def _fitting(length: float, stock: Sequence[Stock]) -> Stock:
    """The cheapest stock that holds a length [m]."""
    return next(kind for kind in stock if kind.length >= length - SLACK)


def _tightest(piece: Piece, room: Sequence[float]) -> int | None:
    """The stock with the least room [m] that still holds a piece."""
    fits = [i for i, left in enumerate(room) if left >= piece.length - SLACK]
    return min(fits, key=lambda i: room[i], default=None)


def _best_fit(pieces: Sequence[Piece], stock: Sequence[Stock], kind: Stock) -> list[Cut]:
    """Best fit, opening one kind of stock wherever it holds the piece; then each made smaller."""
    held: list[list[Piece]] = []
    room: list[float] = []
    for piece in pieces:
        i = _tightest(piece, room)
        if i is None:
            i = len(held)
            opened = kind if kind.length >= piece.length - SLACK else _fitting(piece.length, stock)
            held.append([])
            room.append(opened.length)
        held[i].append(piece)
        room[i] -= piece.length
    return [Cut(stock=_fitting(_total(taken), stock), pieces=tuple(taken)) for taken in held]


def _by_mixes(
    pieces: Sequence[Piece], stock: Sequence[Stock], bound: float
) -> tuple[list[Cut] | None, bool]:
    """(a cutting cheaper than the bound, whether the cheapest is now known)."""
    wanted = _total(pieces) - SLACK
    every = _mixes(stock[::-1], wanted, bound * (1.0 - 1e-12))
    mixes = list(itertools.islice(every, MOST_MIXES + 1))
    for tried, (_, mix) in enumerate(sorted(mixes, key=lambda priced: priced[0])):
        cuts = _packed(pieces, mix)
        if cuts is not None:
            return cuts, tried == 0 and len(mixes) <= MOST_MIXES
    return None, not mixes


def _mixes(
    stock: Sequence[Stock], wanted: float, budget: float
) -> Iterator[tuple[float, tuple[Stock, ...]]]:
    """Mixes of stock that are long enough [m] and cost less than a budget, each with its cost."""
    kind, others = stock[0], stock[1:]
    rate = min((other.cost / other.length for other in others), default=math.inf)
    for number in itertools.count():
        cost, missing = number * kind.cost, wanted - number * kind.length
        if cost >= budget:
            return
        if missing <= 0.0:
            yield cost, (kind,) * number
            return
        # what is missing costs at least so much more
        if cost + missing * rate < budget:
            for more, mix in _mixes(others, missing, budget - cost):
                yield cost + more, (kind,) * number + mix


def _packed(pieces: Sequence[Piece], mix: Sequence[Stock]) -> list[Cut] | None:
    """Best fit into given stock; None where it does not hold all that way."""
    room = [kind.length for kind in mix]
    held: list[list[Piece]] = [[] for _ in mix]
    for piece in pieces:
        i = _tightest(piece, room)
        if i is None:
            return None
        held[i].append(piece)
        room[i] -= piece.length
    return [Cut(stock=k, pieces=tuple(taken)) for k, taken in zip(mix, held, strict=True) if taken]


Fill = tuple[Stock, tuple[int, ...]]
"""A stock and how many pieces of each length, the longest first, are cut from it."""


def _lengths(pieces: Sequence[Piece]) -> dict[float, list[Piece]]:
    """Pieces by their length, in their order."""
    alike: dict[float, list[Piece]] = {}
    for piece in pieces:
        alike.setdefault(piece.length, []).append(piece)
    return alike


def _fills(pieces: Sequence[Piece], stock: Sequence[Stock]) -> Iterator[Fill]:
    """Every way to fill one stock that leaves no room for a further piece."""
    needed = [(length, len(alike)) for length, alike in _lengths(pieces).items()]

    def extend(left: float, counts: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        if len(counts) == len(needed):
            further = any(
                length <= left + SLACK and count < most
                for count, (length, most) in zip(counts, needed, strict=True)
            )
            if not further and any(counts):
                yield counts
            return
        length, most = needed[len(counts)]
        for number in range(min(most, int((left + SLACK) / length)), -1, -1):
            yield from extend(left - number * length, (*counts, number))

    for kind in stock:
        for counts in extend(kind.length, ()):
            yield kind, counts


def _by_program(
    pieces: Sequence[Piece], stock: Sequence[Stock], bound: float
) -> tuple[list[Cut] | None, bool]:
    """(a cutting cheaper than the bound, whether the cheapest is now known)."""
    fills = list(itertools.islice(_fills(pieces, stock), MOST_FILLS + 1))
    if len(fills) > MOST_FILLS:
        return None, False
    alike = _lengths(pieces)
    numbers, proved = _solve(fills, [len(same) for same in alike.values()], bound)
    waiting = [same[::-1] for same in alike.values()]
    cuts: list[Cut] = []
    for (kind, counts), number in zip(fills, numbers, strict=True):
        for _ in range(number):
            taken = [
                same.pop()
                for same, count in zip(waiting, counts, strict=True)
                for _ in range(min(count, len(same)))
            ]
            if taken:
                # a fill may offer more than is left to cut
                smallest = min(kind, _fitting(_total(taken), stock), key=lambda kind: kind.cost)
                cuts.append(Cut(stock=smallest, pieces=tuple(taken)))
    return (cuts if cuts and _cost(cuts) < bound else None), proved


def _solve(fills: Sequence[Fill], needed: Sequence[int], bound: float) -> tuple[list[int], bool]:
    """How many of each fill cover what is needed at least cost (none where no cheaper ones do)."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    cost = np.array([kind.cost for kind, _ in fills])
    rows = np.array([counts for _, counts in fills], dtype=float).T
    result = milp(
        c=cost,
        constraints=[
            LinearConstraint(rows, lb=np.array(needed, dtype=float)),
            LinearConstraint(cost[None, :], ub=bound * (1.0 + 1e-9)),
        ],
        integrality=np.ones(len(fills)),
        bounds=Bounds(0, np.inf),
        options={"node_limit": MOST_WORK // len(fills), "mip_rel_gap": 1e-9},
    )
    if result.x is None:
        return [0] * len(fills), result.status == 2
    return [round(value) for value in result.x.tolist()], result.status == 0
