"""Cutting stock: nothing lost, nothing too long, and no cheaper way by brute force."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import pytest

from supplycalc.questions.parts.cutting import Cutting, Piece, Stock, cut


def pieces(*lengths: float) -> list[Piece]:
    """Pieces of these lengths [m]."""
    return [Piece(name=f"p{i}", length=length) for i, length in enumerate(lengths)]


def stock(*lengths: float) -> list[Stock]:
    """Stock that costs its length."""
    return [Stock(length=length, cost=length) for length in lengths]


def sound(cutting: Cutting, wanted: Sequence[Piece]) -> None:
    """Every piece once, no stock overfilled."""
    held = [piece.name for coil in cutting.cuts for piece in coil.pieces]
    assert sorted(held) == sorted(piece.name for piece in wanted)
    for coil in cutting.cuts:
        assert coil.used <= coil.stock.length + 1e-9
        assert coil.left == pytest.approx(coil.stock.length - coil.used, abs=1e-9)


def partitions(items: list[Piece]) -> Iterator[list[list[Piece]]]:
    """Every way to put items into bins."""
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for others in partitions(rest):
        yield [[first], *others]
        for i, held in enumerate(others):
            yield [*others[:i], [first, *held], *others[i + 1 :]]


def cheapest(wanted: Sequence[Piece], kinds: Sequence[Stock]) -> float:
    """The least cost by trying everything."""
    best = math.inf
    for bins in partitions(list(wanted)):
        cost = 0.0
        for held in bins:
            total = sum(piece.length for piece in held)
            cost += min(
                (kind.cost for kind in kinds if kind.length >= total - 1e-9), default=math.inf
            )
        best = min(best, cost)
    return best


CASES = [
    ((6.0, 6.0, 4.0, 4.0), (10.0,)),
    ((7.0, 5.0, 5.0, 3.0, 3.0, 3.0, 2.0), (10.0,)),
    ((4.4, 4.4, 3.4, 3.4, 2.2, 2.2), (10.0,)),
    ((5.1, 5.1, 5.1, 4.9, 4.9, 4.9), (10.0, 15.0)),
    ((9.5, 9.5, 3.0), (10.0, 20.0)),
    ((6.0, 5.0, 4.0, 3.0, 2.0), (7.0, 11.0, 13.0)),
    ((3.1,), (10.0, 20.0)),
    ((2.6, 2.6, 2.6, 2.6, 2.4, 2.4, 2.4), (10.0,)),
]


@pytest.mark.parametrize(("lengths", "kinds"), CASES)
def test_no_cheaper_way_exists(lengths: tuple[float, ...], kinds: tuple[float, ...]) -> None:
    """Equal to brute force over all partitions, and known to be the least."""
    wanted, sold = pieces(*lengths), stock(*kinds)
    cutting = cut(wanted, sold)

    sound(cutting, wanted)
    assert cutting.cost == pytest.approx(cheapest(wanted, sold), abs=1e-9)
    assert cutting.least


def test_best_fit_alone_would_fail_here() -> None:
    """A perfect packing that best-fit decreasing misses: the integer program has to find it."""
    lengths = (44, 24, 24, 22, 21, 17, 8, 8, 6, 6)
    assert sum(lengths) == 180
    wanted = pieces(*map(float, lengths))
    cutting = cut(wanted, stock(60.0))

    sound(cutting, wanted)
    assert len(cutting.cuts) == 3
    assert cutting.least


def test_prices_decide_not_lengths() -> None:
    """A long coil at a discount beats short ones that would leave less."""
    wanted = pieces(30.0, 30.0, 30.0)
    sold = [Stock(length=30.0, cost=50.0), Stock(length=100.0, cost=120.0)]
    cutting = cut(wanted, sold)

    assert [coil.stock.length for coil in cutting.cuts] == [100.0]
    assert cutting.cost == pytest.approx(120.0)


def test_a_dear_short_length_is_never_bought() -> None:
    """What a longer one undercuts drops out."""
    cutting = cut(pieces(5.0), [Stock(length=6.0, cost=9.0), Stock(length=10.0, cost=8.0)])

    assert [coil.stock.length for coil in cutting.cuts] == [10.0]


def test_fewer_at_the_same_cost() -> None:
    """One coil of 300 rather than three of 100, if they cost the same and pieces fit both."""
    cutting = cut(pieces(*(50.0,) * 6), stock(100.0, 300.0))

    assert [coil.stock.length for coil in cutting.cuts] == [300.0]


@pytest.mark.parametrize("bad", [11.0, 0.0, -1.0])
def test_what_cannot_be_cut_is_refused(bad: float) -> None:
    """Longer than any stock, or no length at all."""
    with pytest.raises(ValueError, match="does not fit"):
        cut(pieces(bad), stock(10.0))


def test_nothing_to_cut() -> None:
    """No pieces, nothing bought."""
    assert cut([], stock(10.0)).cuts == ()


def test_many_short_pieces() -> None:
    """A corridor of branches: 72 pieces of six lengths, proved within the bound of their sum."""
    lengths = list(itertools.islice(itertools.cycle((9.45, 2.6, 6.3, 8.4, 7.35, 10.0)), 72))
    wanted = pieces(*lengths)
    cutting = cut(wanted, stock(10.0))

    sound(cutting, wanted)
    assert len(cutting.cuts) >= math.ceil(sum(lengths) / 10.0)
    assert cutting.least


def test_many_pieces_from_many_coils_are_not_tried_one_by_one() -> None:
    """Sixty pieces and twelve coils: mixes that cannot hold all at less are never followed."""
    kinds = [Stock(length=3.0 + 7.0 * i, cost=(3.0 + 7.0 * i) ** 0.97) for i in range(12)]
    wanted = pieces(*(1.0 + 0.37 * (i % 53) for i in range(60)))
    cutting = cut(wanted, kinds)
    least = sum(piece.length for piece in wanted) * min(kind.cost / kind.length for kind in kinds)

    sound(cutting, wanted)
    assert least <= cutting.cost <= 1.05 * least


def test_a_line_of_full_lengths_needs_no_search() -> None:
    """Three kilometres of full coils and a rest: each full length stands alone."""
    wanted = pieces(*([90.0] * 33), 30.0, 0.5)
    cutting = cut(wanted, stock(30.0, 90.0))

    sound(cutting, wanted)
    assert cutting.least
    assert [coil.stock.length for coil in cutting.cuts] == [90.0] * 33 + [30.0, 30.0]
