"""A hose bibb for which the file asks more than its row stands for.

International Residential Code, Table P2903.6, footnote on hose bibbs (from memory): a larger flow
counts as the fixture units for which the estimating table gives it. Whole rows of that table are
used, so the numbers are exact.
"""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.demand import design_flows
from supplycalc.model import House
from supplycalc.network import build_tree
from tests.houses import GPM, cold_fixture, home_run


def house(gpm: float | None) -> House:
    """A garden tap and three closets behind one service; 3 x 2.2 = 6.6 fixture units beside it."""
    tap = cold_fixture("tap", "hose-bibb", "manifold")
    closets = (cold_fixture(f"closet {i}", "water-closet", "manifold") for i in range(3))
    return home_run(
        fixtures=(replace(tap, flow=None if gpm is None else gpm * GPM), *closets),
    )


@pytest.mark.parametrize(
    ("gpm", "units"),
    [(None, 2.5), (2.0, 2.5), (5.0, 2.5), (8.0, 4.0), (12.8, 8.0), (10.0, 5.0 + 0.6 / 1.3)],
)
def test_fixture_units_of_a_larger_flow(gpm: float | None, units: float) -> None:
    """8 gpm is the row of 4 units, 12.8 gpm that of 8; never less than the printed 2.5."""
    tree = build_tree(house(gpm))
    load = design_flows(tree).load

    assert load[tree.index["tap cold"]] == pytest.approx(units)
    assert load[0] == pytest.approx(6.6 + units)
