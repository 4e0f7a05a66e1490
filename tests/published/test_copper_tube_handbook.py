"""Hazen-Williams against the Copper Tube Handbook, types K, L and M.

Source: Copper Development Association, The Copper Tube Handbook (A4015), table 14.6; every row is
from memory. The handbook's formula is Hazen-Williams with C = 150, in psi per foot; bores of ASTM
B88.

Tolerance: half a unit of the last of three decimals (up to 12 % of the small rows), and 1 % for the
rounded constants of the handbook's own form (4.52, 1.85, 4.87), which differ from the SI form by
0.5 to 0.7 %. The three rows of type L, 3/8 in are left out as suspect: they fit a bore of 0.440 in,
where ASTM B88 gives 0.430 in.

This table can only test the Hazen-Williams path. Colebrook for smooth cold tube lies above it, as
the last test says.
"""

from __future__ import annotations

import pytest

from tests.published.friction_tables import Row, rows

TABLE = rows("copper-tube-handbook")


@pytest.mark.parametrize("row", TABLE, ids=str)
def test_loss(row: Row) -> None:
    """45 rows of the three types, 3/8 to 1-1/4 in."""
    assert row.excess() <= 0.01


def test_suspect_rows_fit_another_bore() -> None:
    """Type L, 3/8 in: too low by 10 to 12 % at 0.430 in, which the reason given for them claims."""
    suspects = rows("copper-tube-handbook", suspect=True)

    assert len(suspects) == 3
    assert len(TABLE) == 45
    for row in suspects:
        assert 1.09 < row.computed() / row.printed < 1.13


def test_darcy_at_60_degf_lies_above_the_trade_table() -> None:
    """Drawn tube of 0.0015 mm at 60 degF: 4 to 31 % above every row that rounding leaves clear."""
    for row in TABLE:
        if row.half_digit < 0.02 * row.printed:
            assert 1.04 < row.computed("darcy", 1.5e-6) / row.printed < 1.31
