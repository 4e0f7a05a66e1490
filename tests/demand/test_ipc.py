"""Hose bibbs by the plumbing code: no fixture units, their flow in gpm on top.

International Plumbing Code 2018, Appendix E: Table E103.3(2) has no hose bibb; by E102.2 lawn
sprinklers, air conditioners and other continuous supplies are estimated in gpm and added to the
demand of the fixtures. That the largest hose bibb below a pipe is enough is read from UPC 2018,
M 102.5, which adds hose bibbs as well (that it asks for one only is from memory). Sums, so exact.
"""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.demand import Demand, design_flows
from supplycalc.network import Tree, build_tree
from tests.demand.houses import home_runs, house_of
from tests.houses import GPM

INDOORS = ["tub-shower", "water-closet", "lavatory", "kitchen-sink"]


def demanded(kinds: list[str], gpm: float | None = None) -> tuple[Tree, Demand]:
    """Home runs by `ipc`; the file's own flow for the hose bibbs, if any."""
    house = home_runs(kinds, "ipc")
    if gpm is not None:
        house = replace(
            house,
            fixtures=tuple(
                replace(fixture, flow=gpm * GPM) if fixture.kind == "hose-bibb" else fixture
                for fixture in house.fixtures
            ),
        )
    tree = build_tree(house)
    return tree, design_flows(tree)


def flow(tree: Tree, demand: Demand, run: str) -> float:
    """Design flow of a run [gpm]."""
    return demand.design_flow[tree.names.index(run)] / GPM


@pytest.mark.parametrize("count", [1, 2, 3])
@pytest.mark.parametrize(("gpm", "added"), [(None, 5.0), (3.0, 3.0), (12.0, 12.0)])
def test_the_largest_is_added_in_gpm(count: int, gpm: float | None, added: float) -> None:
    """5 gpm of IPC Table 604.3, or the file's own flow; the units stay those of the fixtures."""
    tree, dry = demanded(INDOORS)
    wet_tree, wet = demanded([*INDOORS, *["hose-bibb"] * count], gpm)

    assert flow(wet_tree, wet, "service") == pytest.approx(flow(tree, dry, "service") + added)
    assert wet.load[0] == pytest.approx(dry.load[0])
    assert flow(wet_tree, wet, "hose-bibb 4 cold") == pytest.approx(added)
    assert wet.load[wet_tree.names.index("hose-bibb 4 cold")] == 0.0


def test_of_two_flows_the_larger() -> None:
    """3 gpm and 8 gpm on one service: 8 gpm more than without them."""
    tree, dry = demanded(INDOORS)
    house = home_runs([*INDOORS, "hose-bibb", "hose-bibb"], "ipc")
    own = iter((3.0, 8.0))
    fixtures = tuple(
        replace(fixture, flow=next(own) * GPM) if fixture.kind == "hose-bibb" else fixture
        for fixture in house.fixtures
    )
    wet_tree = build_tree(replace(house, fixtures=fixtures))

    wet = design_flows(wet_tree)

    assert flow(wet_tree, wet, "service") == pytest.approx(flow(tree, dry, "service") + 8.0)


def test_nothing_is_counted_twice_beside_one_small_fixture() -> None:
    """A lavatory and a hose bibb on one run: what both draw (Table 604.3), no more and no less."""
    tree = build_tree(house_of({"yard": ["lavatory", "hose-bibb"]}, "ipc"))
    demand = design_flows(tree)
    both = flow(tree, demand, "yard lavatory 0 cold") + flow(tree, demand, "yard hose-bibb 1 cold")

    assert flow(tree, demand, "yard cold run") == pytest.approx(both)


def test_a_hot_run_gets_nothing_of_it() -> None:
    """Hose bibbs are cold: the heater's flow is the same with and without them."""
    tree, dry = demanded(INDOORS)
    wet_tree, wet = demanded([*INDOORS, "hose-bibb"])

    assert flow(wet_tree, wet, "heater feed") == pytest.approx(flow(tree, dry, "heater feed"))
