"""Hazen-Williams against the Irrigation Association's charts for polyethylene and for aged steel.

Source: Irrigation Association, Friction Loss Charts: polyethylene SDR pressure-rated tube C =
140, and schedule 40 standard steel pipe C = 100; every row and the attribution are from memory.
Bores: ASTM D2239 (controlled inside diameter) and ASME B36.10, the same figures.

Tolerance: half a unit of the last digit, and 1 % for the rounded constants of the charts' own form
(0.2083 and 4.8655, times 0.433 psi per foot), which gives 0.7 % more than the SI form.
"""

from __future__ import annotations

import pytest

from tests.published.friction_tables import Row, rows

TABLE = rows("irrigation-association")


@pytest.mark.parametrize("row", TABLE, ids=str)
def test_loss(row: Row) -> None:
    """19 rows of polyethylene and 16 of steel, 1/2 to 1-1/2 in."""
    assert row.excess() <= 0.01


def test_enough_rows() -> None:
    """The data file is all there."""
    assert len(TABLE) == 35
