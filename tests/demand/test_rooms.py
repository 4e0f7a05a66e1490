"""Rooms that the file names: groups of the American tables, usage units of DIN 1988-300.

International Residential Code, Table P2903.6 (bathroom group 3.6, from memory). DIN 1988-300: of
one room at most two draw-offs run at once; a second basin, a bidet and a shower beside a bath are
left out (trade journal, 2018). The sums are worked by hand.
"""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.demand import Demand, design_flows
from supplycalc.model import House
from supplycalc.network import Tree, build_tree
from tests.demand.houses import home_runs, house_of

LITRE = 1e-3


def named(house: House, rooms: dict[str, list[int]]) -> House:
    """The house with rooms for fixtures by their number."""
    room_of = {number: room for room, numbers in rooms.items() for number in numbers}
    return replace(
        house,
        fixtures=tuple(
            replace(fixture, room=room_of.get(number))
            for number, fixture in enumerate(house.fixtures)
        ),
    )


def demanded(house: House) -> tuple[Tree, Demand]:
    tree = build_tree(house)
    return tree, design_flows(tree)


BATH = ["tub-shower", "lavatory", "water-closet"]


def test_home_runs_of_a_named_room_make_a_group() -> None:
    """Without rooms 1.4 + 0.7 + 2.2 units each, beside a sink of 1.4; a full bath counts 3.6."""
    house = home_runs([*BATH, *BATH, "kitchen-sink"])
    _, single = demanded(house)
    _, grouped = demanded(named(house, {"bath up": [0, 1, 2], "bath down": [3, 4, 5]}))

    assert single.load[0] == pytest.approx(2 * 4.3 + 1.4)
    assert grouped.load[0] == pytest.approx(2 * 3.6 + 1.4)
    assert [use.room for use in grouped.groups_used] == ["bath up", "bath down"]


def test_a_part_of_a_room_never_counts_more_than_the_whole() -> None:
    house = named(home_runs(BATH), {"bath": [0, 1, 2]})
    tree, demand = demanded(house)
    assert demand.load[tree.index["water-closet 2 cold"]] == pytest.approx(2.2)
    assert demand.load[tree.index["hot manifold"]] <= 1.5 + 1e-9


def test_two_bathrooms_on_one_hot_riser_are_two() -> None:
    """0.15 + 0.07 twice: 1.48 x 0.44^0.19 - 0.94 = 0.326 l/s, with names and without."""
    kinds = ["bathtub", "lavatory", "shower", "lavatory"]
    house = house_of({"riser": kinds}, "din1988")
    hot = 1.48 * 0.44**0.19 - 0.94
    for rooms in ({}, {"bath": [0, 1], "guests": [2, 3]}):
        tree, demand = demanded(named(house, rooms))
        assert demand.design_flow[tree.index["riser hot"]] == pytest.approx(hot * LITRE)


def test_a_named_usage_unit_runs_its_two_largest() -> None:
    """Bath 0.15, closet 0.13, two basins, shower, bidet: 0.28 l/s cold; hot 0.15 + 0.07."""
    kinds = ["bathtub", "water-closet", "lavatory", "lavatory", "shower", "bidet"]
    house = named(house_of({"bath": kinds}, "din1988"), {"bath": list(range(6))})
    tree, demand = demanded(house)
    assert demand.design_flow[tree.index["bath cold"]] == pytest.approx(0.28 * LITRE)
    assert demand.design_flow[tree.index["bath hot"]] == pytest.approx(0.22 * LITRE)


def test_a_washing_machine_in_the_bathroom_belongs_to_the_unit() -> None:
    """Bath 0.15, closet 0.13, basin 0.07 and machine 0.15: two at once, 0.30 l/s cold, less than
    the 0.36 of the formula."""
    kinds = ["bathtub", "lavatory", "clothes-washer", "water-closet"]
    house = named(house_of({"bath": kinds}, "din1988"), {"bath": [0, 1, 2, 3]})
    tree, demand = demanded(house)
    assert demand.design_flow[tree.index["bath cold"]] == pytest.approx(0.30 * LITRE)


def test_one_fixture_more_in_a_room_never_lowers_a_flow() -> None:
    for method in ("irc", "ipc", "din1988"):
        flows = []
        for count in range(1, 4):
            house = named(
                home_runs([*BATH[:count], "kitchen-sink"], method), {"r": list(range(count))}
            )
            flows.append(demanded(house)[1].design_flow[0])
        assert flows == sorted(flows)
