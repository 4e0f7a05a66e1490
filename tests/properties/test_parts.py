"""Whatever the house: no pipe lost, no stock overfilled, waits never negative."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.questions.parts.cutting import Piece, Stock, cut
from supplycalc.questions.parts.study import parts_of
from supplycalc.questions.size.study import size
from tests.houses import FOOT, two_storey

LENGTHS = st.floats(min_value=1.0, max_value=380.0)
TUBES = st.sampled_from([("pex-sdr9", "crimp"), ("copper-l", "soldered"), ("cpvc-sdr11", "socket")])


@st.composite
def houses(draw: st.DrawFn) -> House:
    """The two-storey house with other lengths, tubes and places of its runs."""

    def each(run: Run) -> Run:
        material, joining = draw(TUBES)
        return replace(
            run,
            length=draw(LENGTHS) * FOOT,
            material=material,
            joining=joining,
            embedded=draw(st.booleans()),
        )

    return map_runs(two_storey(), each)


@given(houses(), st.floats(min_value=0.0, max_value=0.4))
@settings(max_examples=30, deadline=None)
def test_lengths_are_the_trees_and_the_waste(house: House, waste: float) -> None:
    """Pieces = runs x (1 + waste) for every tube; every piece whole in stock long enough."""
    design = size(house, mend=False)
    listed = parts_of(design, waste=waste)
    runs = math.fsum(run.length for run in design.runs)

    assert math.fsum(lot.length for lot in listed.lots) == pytest.approx(runs, rel=1e-9)
    for lot in listed.lots:
        pieces = math.fsum(piece.length for coil in lot.cuts for piece in coil.pieces)
        assert pieces == pytest.approx(lot.length * (1.0 + waste), rel=1e-9)
        assert math.fsum(coil.stock.length for coil in lot.cuts) == pytest.approx(lot.bought_length)
        assert lot.left >= -1e-6
        for coil in lot.cuts:
            assert coil.used <= coil.stock.length + 1e-6
        if lot.supplied_as == "coil":
            below = {strand.name for strand in lot.strands if strand.below}
            held = [piece.name for coil in lot.cuts for piece in coil.pieces]
            assert all(held.count(name) == 1 for name in below)


@given(
    st.lists(st.floats(min_value=0.05, max_value=10.0), min_size=1, max_size=25),
    st.lists(st.sampled_from([10.0, 12.5, 20.0, 30.0]), min_size=1, max_size=3, unique=True),
)
@settings(max_examples=40, deadline=None)
def test_cutting_never_overfills(lengths: list[float], kinds: list[float]) -> None:
    """Every piece once, no stock beyond its length, cost at least that of the sum."""
    pieces = [Piece(name=str(i), length=length) for i, length in enumerate(lengths)]
    cutting = cut(pieces, [Stock(length=kind, cost=kind) for kind in kinds])

    assert sorted(piece.name for coil in cutting.cuts for piece in coil.pieces) == sorted(
        piece.name for piece in pieces
    )
    assert all(coil.used <= coil.stock.length + 1e-9 for coil in cutting.cuts)
    assert cutting.cost >= math.fsum(lengths) - 1e-6
