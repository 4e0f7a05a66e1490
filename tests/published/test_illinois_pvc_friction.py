"""Hazen-Williams against the PVC table of the Illinois Administrative Code.

Source: Illinois Administrative Code, Title 77, Part 906, Appendix A, Exhibit I (register current to
January 10, 2025), schedule 40 plastic pipe, C = 150 as its title says; every row was read. Bores of
ASTM D1785 as the schedule 40 pipe of the same size.

Tolerance: half a unit of the last digit, and 4 %, because the table is uneven: neighbouring rows
of 1-1/4 in lie 3.8 % below (4 gpm, 12 gpm) and 0.1 % above (15 gpm) one and the same law, which
no formula follows closer. The median of all rows must be within 1 %.
"""

from __future__ import annotations

import statistics

import pytest

from tests.published.friction_tables import Row, rows

TABLE = rows("illinois-pvc")


@pytest.mark.parametrize("row", TABLE, ids=str)
def test_loss(row: Row) -> None:
    """29 rows, 1 to 2 in, 1 to 40 gpm."""
    assert row.excess() <= 0.04


def test_median_of_the_table() -> None:
    """The unevenness cancels: half of the rows lie on either side within 1 %."""
    assert len(TABLE) == 29
    assert statistics.median(row.computed() / row.printed for row in TABLE) == pytest.approx(
        1.0, abs=0.01
    )
