"""Colebrook against the Hydraulic Institute's table for new steel pipe, the tightest check we have.

Source: Hydraulic Institute pipe friction table, 1-1/2 in schedule 40, as printed in R. Mackay, The
Practical Pumping Handbook (Elsevier, 2004), figure 14.2, p. 226. The 11 rows were read in a scan of
that page; that the table stands on 0.00015 ft and water at 60 degF is from memory.

Tolerance: half a unit of the last digit (0.05 to 0.4 %), and 0.3 % for the viscosity behind an
old table: 0.7 % in viscosity (1.130 against 1.122 mm2/s, the older figure from memory) is 0.15 %
in loss at these Reynolds numbers, as much again for its conversion of units. Velocities: half a
unit.
"""

from __future__ import annotations

import pytest

from supplycalc.hydraulics.friction import velocity
from tests.published.friction_tables import FOOT, GPM, Row, rows

TABLE = rows("hydraulic-institute-steel")


@pytest.mark.parametrize("row", TABLE, ids=str)
def test_loss_and_velocity(row: Row) -> None:
    """11 rows, 12 to 40 gpm."""
    assert row.velocity is not None
    printed, half_digit = row.velocity
    speed = velocity(row.gpm * GPM, row.inside_diameter) / FOOT

    assert row.excess() <= 0.003
    assert speed == pytest.approx(printed, abs=half_digit)


def test_enough_rows() -> None:
    """The data file is all there."""
    assert len(TABLE) == 11
