"""Cutting pieces out of coils and sticks with least waste: one-dimensional cutting stock.

A good packing is found first; where its cost equals the least that stock of that total length can
cost, nothing better exists. Otherwise an integer program (HiGHS, by scipy) proves or betters it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

SLACK = 1e-9
"""[m] Differences below this are rounding."""
HANDLING = 1e-3
"""What one more coil or stick counts beside its cost, as a share of the cheapest: breaks ties."""
MOST_MIXES = 4000
"""Mixes of stock that are looked through. Our own."""
MOST_PATTERNS = 6000
"""Cutting patterns that the integer program may have; beyond them it places piece by piece."""
TIME_LIMIT = 10.0
"""[s] of the integer program."""


class Stock(Struct, frozen=True, kw_only=True):
    """One length that can be bought."""

    length: float
    """[m]"""
    cost: float
    """In any one measure."""


class Piece(Struct, frozen=True, kw_only=True):
    """One piece that is needed whole."""

    name: str
    length: float
    """[m]"""


class Cut(Struct, frozen=True, kw_only=True):
    """One coil or stick with what is cut from it."""

    stock: Stock
    pieces: tuple[Piece, ...]

    @property
    def used(self) -> float:
        """[m]"""
        return math.fsum(one.length for one in self.pieces)

    @property
    def left(self) -> float:
        """[m], never negative"""
        return max(self.stock.length - self.used, 0.0)


class Cutting(Struct, frozen=True, kw_only=True):
    """What to buy and how to cut it."""

    cuts: tuple[Cut, ...]
    least: bool
    """Whether no cheaper choice of stock holds all pieces, proved."""

    @property
    def cost(self) -> float:
        """Of all stock, in the measure of its cost."""
        return math.fsum(one.stock.cost for one in self.cuts)


def cut(pieces: Sequence[Piece], stock: Sequence[Stock]) -> Cutting:
    """Cut pieces from stock at the least cost of the stock.

    Args:
        pieces: each no longer than the longest stock [m].
        stock: lengths that can be bought, any number of each [m].

    Returns:
        The coils or sticks to buy with the pieces of each, largest first.

    Raises:
        ValueError: a piece is longer than the longest stock, or not above zero.

    Source: cutting-stock problem of P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961)
        849; best-fit decreasing, D. S. Johnson, 1973 (both from memory).
    """
    longest = max((one.length for one in stock), default=0.0)
    for piece in pieces:
        if not 0.0 < piece.length <= longest + SLACK:
            raise ValueError(f"{piece.name!r} of {piece.length} m does not fit a stock length")
    if not pieces:
        return Cutting(cuts=(), least=True)
    useful = _useful(stock)
    ordered = sorted(pieces, key=lambda one: (-one.length, one.name))
    # what leaves no room beside it for the shortest piece stands alone in any cutting
    widest = useful[-1].length - ordered[-1].length + SLACK
    alone = [
        Cut(stock=_fitting(one.length, useful), pieces=(one,))
        for one in ordered
        if one.length > widest
    ]
    shared, proved = _shared(ordered[len(alone) :], useful)
    cuts = sorted(
        [*alone, *shared], key=lambda one: (-one.stock.length, -one.used, one.pieces[0].name)
    )
    return Cutting(cuts=tuple(cuts), least=proved)


def _shared(ordered: Sequence[Piece], useful: Sequence[Stock]) -> tuple[list[Cut], bool]:
    """The cheapest cutting found, and whether it is proved; pieces from long to short."""
    if not ordered:
        return [], True
    handling = HANDLING * min(one.cost for one in useful)
    best = min((_opened(ordered, useful, one) for one in useful), key=lambda c: _cost(c, handling))
    bound = _cost(best, handling)
    mixes, proved = _mixes(ordered, useful, bound, handling)
    for mix in mixes:
        packed = _best_fit(ordered, mix)
        if packed is not None:
            best = packed
            break
        proved = False
    if not proved:
        better, proved = _program(ordered, useful, _cost(best, handling), handling)
        best = better or best
    return best, proved


def _cost(cuts: Sequence[Cut], handling: float) -> float:
    return math.fsum(one.stock.cost + handling for one in cuts)


def _useful(stock: Sequence[Stock]) -> list[Stock]:
    """Ascending by length; a length that a longer one undercuts is never bought."""
    found: list[Stock] = []
    for one in sorted(stock, key=lambda one: (-one.length, one.cost)):
        if not found or one.cost < found[-1].cost:
            found.append(one)
    return found[::-1]


def _fitting(length: float, stock: Sequence[Stock]) -> Stock:
    """The cheapest stock that holds a length."""
    return next(one for one in stock if one.length >= length - SLACK)


def _opened(pieces: Sequence[Piece], stock: Sequence[Stock], kind: Stock) -> list[Cut]:
    """Best fit, opening one kind of stock wherever it holds the piece; then each made smaller."""
    bins: list[list[Piece]] = []
    room: list[float] = []
    for piece in pieces:
        fits = [i for i, left in enumerate(room) if left >= piece.length - SLACK]
        if fits:
            i = min(fits, key=lambda i: room[i])
        else:
            first = kind if kind.length >= piece.length - SLACK else _fitting(piece.length, stock)
            bins.append([])
            room.append(first.length)
            i = len(bins) - 1
        bins[i].append(piece)
        room[i] -= piece.length
    return [
        Cut(stock=_fitting(math.fsum(one.length for one in held), stock), pieces=tuple(held))
        for held in bins
    ]


def _mixes(
    pieces: Sequence[Piece], stock: Sequence[Stock], bound: float, handling: float
) -> tuple[Iterator[tuple[Stock, ...]], bool]:
    """Mixes cheaper than a bound and long enough, the cheapest first; and whether that is all."""
    wanted = math.fsum(one.length for one in pieces) - SLACK
    found: list[tuple[float, tuple[int, ...]]] = []
    kinds = stock[::-1]
    below = bound * (1.0 - 1e-12)
    rates = [(kind.cost + handling) / kind.length for kind in kinds]

    def extend(k: int, counts: tuple[int, ...], cost: float, length: float) -> None:
        each, further = kinds[k].cost + handling, kinds[k].length
        last = k == len(kinds) - 1
        rate = 0.0 if last else min(rates[k + 1 :])
        number = max(math.ceil((wanted - length) / further) - 1, 0) if last else 0
        while (spent := cost + number * each) < below and len(found) <= MOST_MIXES:
            missing = wanted - length - number * further
            if missing <= 0.0:
                rest = (0,) * (len(kinds) - 1 - k)
                found.append((spent, (*counts, number, *rest)))
                return
            # what is missing costs at least so much more
            if not last and spent + missing * rate < below:
                extend(k + 1, (*counts, number), spent, wanted - missing)
            number += 1

    extend(0, (), 0.0, 0.0)
    mixes = (
        tuple(
            itertools.chain.from_iterable(
                itertools.repeat(kind, number) for kind, number in zip(kinds, counts, strict=True)
            )
        )
        for _, counts in sorted(found)
    )
    return mixes, len(found) <= MOST_MIXES


def _best_fit(pieces: Sequence[Piece], bins: Sequence[Stock]) -> list[Cut] | None:
    """Best fit decreasing into given bins; None where it does not fit that way."""
    room = [one.length for one in bins]
    held: list[list[Piece]] = [[] for _ in bins]
    for piece in pieces:
        fits = [i for i, left in enumerate(room) if left >= piece.length - SLACK]
        if not fits:
            return None
        i = min(fits, key=lambda i: room[i])
        held[i].append(piece)
        room[i] -= piece.length
    return [Cut(stock=b, pieces=tuple(h)) for b, h in zip(bins, held, strict=True) if h]


def _program(
    pieces: Sequence[Piece], stock: Sequence[Stock], bound: float, handling: float
) -> tuple[list[Cut] | None, bool]:
    """(a packing cheaper than the bound, whether the cheapest is now known)."""
    lengths = sorted({one.length for one in pieces}, reverse=True)
    demand = [sum(one.length == length for one in pieces) for length in lengths]
    patterns: list[tuple[Stock, tuple[int, ...]]] = []
    for kind in stock:
        for pattern in _patterns(lengths, demand, kind.length):
            patterns.append((kind, pattern))
            if len(patterns) > MOST_PATTERNS:
                return None, False
    counts, proved = _solve(patterns, demand, bound, handling)
    if counts is None:
        return None, proved
    waiting = {length: [one for one in pieces if one.length == length][::-1] for length in lengths}
    cuts: list[Cut] = []
    for (kind, pattern), number in zip(patterns, counts, strict=True):
        for _ in range(number):
            taken = [
                waiting[length].pop()
                for length, wanted in zip(lengths, pattern, strict=True)
                for _ in range(min(wanted, len(waiting[length])))
            ]
            if taken:
                total = math.fsum(one.length for one in taken)
                # a pattern may offer more than is left to cut
                smallest = min(kind, _fitting(total, stock), key=lambda one: one.cost)
                cuts.append(Cut(stock=smallest, pieces=tuple(taken)))
    return (cuts, proved) if _cost(cuts, handling) < bound else (None, proved)


def _patterns(
    lengths: Sequence[float], demand: Sequence[int], room: float
) -> Iterator[tuple[int, ...]]:
    """Every way to cut one stock that leaves no room for a further piece."""

    def extend(k: int, left: float, counts: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        if k == len(lengths):
            fits = any(
                lengths[j] <= left + SLACK and counts[j] < demand[j] for j in range(len(lengths))
            )
            if not fits and any(counts):
                yield counts
            return
        most = min(demand[k], int((left + SLACK) / lengths[k]))
        for number in range(most, -1, -1):
            yield from extend(k + 1, left - number * lengths[k], (*counts, number))

    return extend(0, room, ())


def _solve(
    patterns: Sequence[tuple[Stock, tuple[int, ...]]],
    demand: Sequence[int],
    bound: float,
    handling: float,
) -> tuple[list[int] | None, bool]:
    """Fewest cost of patterns that cover the demand; (numbers or None, proved)."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    cost = np.array([kind.cost + handling for kind, _ in patterns])
    rows = np.array([pattern for _, pattern in patterns], dtype=float).T
    result = milp(
        c=cost,
        constraints=[
            LinearConstraint(rows, lb=np.array(demand, dtype=float)),
            LinearConstraint(cost[None, :], ub=bound * (1.0 + 1e-9)),
        ],
        integrality=np.ones(len(patterns)),
        bounds=Bounds(0, np.inf),
        options={"time_limit": TIME_LIMIT, "mip_rel_gap": 1e-9},
    )
    if result.x is None:
        return None, result.status == 2
    return [round(value) for value in result.x.tolist()], result.status == 0
