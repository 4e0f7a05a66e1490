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


def test_only_a_single_branch_is_cut_to_its_fixture() -> None:
    """Closet and shower on cold water, 2.7 units by the bathroom's group: the table says 6.05 gpm,
    though they draw 5.5 together; a closet alone gets its 3 gpm, not the 5.3 of 2.2 units."""
    shower = cold_fixture("shower", "shower", "manifold")
    closet = cold_fixture("closet", "water-closet", "manifold")
    tree = build_tree(home_run(fixtures=(shower, closet)))
    flow = design_flows(tree).design_flow

    assert flow[tree.index["closet cold"]] == pytest.approx(3.0 * GPM)
    assert flow[0] == pytest.approx((5.0 + 0.7 * 1.5) * GPM)


def test_up_to_the_tables_first_row_no_more_than_is_drawn() -> None:
    """Two basins, cold: one unit, where the table begins with 3 gpm; they draw 1.6 together."""
    basins = (cold_fixture(f"basin {i}", "lavatory", "manifold") for i in range(2))
    tree = build_tree(home_run(fixtures=tuple(basins)))

    assert design_flows(tree).design_flow[0] == pytest.approx(1.6 * GPM)
