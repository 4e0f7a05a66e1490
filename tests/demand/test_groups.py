"""Group values count where one run feeds the fixtures of a room, and only there."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.demand import Demand, method_record
from supplycalc.network import Tree, build_tree
from tests.demand.houses import home_runs, house_of

BATH = ["water-closet", "lavatory", "tub-shower"]


def demand_of(rooms: dict[str, list[str]], method: str = "irc") -> tuple[Tree, Demand]:
    """A house's tree and demand."""
    tree = build_tree(house_of(rooms, method))
    return tree, method_record(method).demand(tree)


def load_at(tree: Tree, demand: Demand, run: str) -> float:
    """Load of a run by its name."""
    return demand.load[tree.names.index(run)]


def test_a_bathroom_on_its_own_runs_takes_the_group_value() -> None:
    """Cold run 2.7, hot run 1.5, service 3.6: the three columns of the full-bath row."""
    tree, demand = demand_of({"bath": BATH})

    assert load_at(tree, demand, "bath cold run") == pytest.approx(2.7)
    assert load_at(tree, demand, "bath hot run") == pytest.approx(1.5)
    assert load_at(tree, demand, "service") == pytest.approx(3.6)
    (used,) = demand.groups_used
    assert (used.title, used.count, used.complete) == ("full bath", 1, True)
    assert set(used.fixtures) == {f"bath {kind} {i}" for i, kind in enumerate(BATH)}


def test_home_runs_take_single_values() -> None:
    """The same fixtures among others on a manifold: no run feeds the bathroom alone."""
    tree = build_tree(home_runs([*BATH, "kitchen-sink"]))

    demand = method_record("irc").demand(tree)

    assert load_at(tree, demand, "service") == pytest.approx(2.2 + 0.7 + 1.4 + 1.4)
    assert demand.groups_used == ()


def test_two_bathrooms_a_kitchen_and_a_laundry() -> None:
    """2 x 3.6 + 2.5 + 2.5 + hose bibb 2.5 on the service."""
    tree, demand = demand_of(
        {
            "bath 1": BATH,
            "bath 2": ["water-closet", "lavatory", "shower"],
            "kitchen": ["kitchen-sink", "dishwasher"],
            "laundry": ["clothes-washer", "laundry-tub"],
            "alone": ["hose-bibb"],
        }
    )

    assert load_at(tree, demand, "service") == pytest.approx(2 * 3.6 + 2.5 + 2.5 + 2.5)
    assert load_at(tree, demand, "kitchen hot run") == pytest.approx(1.9)
    assert load_at(tree, demand, "laundry hot run") == pytest.approx(1.8)
    assert sorted(use.title for use in demand.groups_used) == [
        "full bath", "full bath", "kitchen", "laundry",
    ]  # fmt: skip


def test_half_bath_and_a_second_basin() -> None:
    """A closet and two basins: half bath 2.6 and a single basin 0.7."""
    tree, demand = demand_of(
        {"wc": ["water-closet", "lavatory", "lavatory"], "alone": ["kitchen-sink"]}
    )

    assert load_at(tree, demand, "service") == pytest.approx(2.6 + 0.7 + 1.4)


def test_a_part_of_a_group_never_counts_more_than_the_group() -> None:
    """Closet and bath without basin: 3.2 cold by single values, the whole group has 2.7."""
    tree, demand = demand_of({"bath": ["water-closet", "tub-shower"], "alone": ["kitchen-sink"]})

    assert load_at(tree, demand, "bath cold run") == pytest.approx(2.7)
    assert demand.groups_used[0].complete is False


def test_the_plumbing_code_has_bathroom_groups_only() -> None:
    """IPC: bathroom 3.6, with flushometer valve 8.0; a kitchen counts by single values."""
    tree, demand = demand_of({"bath": BATH, "kitchen": ["kitchen-sink", "dishwasher"]}, "ipc")
    valve_tree, valve = demand_of(
        {"bath": ["flush-valve-closet", "lavatory", "tub-shower"], "alone": ["kitchen-sink"]},
        "ipc",
    )

    assert load_at(tree, demand, "service") == pytest.approx(3.6 + 1.4 + 1.4)
    assert load_at(valve_tree, valve, "bath cold run") == pytest.approx(6.0)
    assert load_at(valve_tree, valve, "service") == pytest.approx(8.0 + 1.4)


def test_a_run_with_many_bathrooms_counts_many_groups() -> None:
    """Forty bathrooms on one run: forty groups, found without trying every number of them."""
    tree, demand = demand_of({"block": BATH * 40, "alone": ["kitchen-sink"]})

    assert load_at(tree, demand, "service") == pytest.approx(40 * 3.6 + 1.4)
    assert demand.groups_used[0].count == 40


def test_a_usage_unit_takes_its_two_largest_draw_offs() -> None:
    """DIN 1988-300: closet 0.13, bath 0.15, basin 0.07 l/s on the cold run: 0.28 l/s; a bidet
    changes nothing. A second basin or a shower beside the bath would, unless the file names the
    room (test_rooms)."""
    tree, demand = demand_of({"bath": BATH, "alone": ["kitchen-sink"]}, "din1988")
    more_tree, more = demand_of({"bath": [*BATH, "bidet"], "alone": ["kitchen-sink"]}, "din1988")

    assert load_at(tree, demand, "bath cold run") == pytest.approx(0.35)
    assert demand.design_flow[tree.names.index("bath cold run")] == pytest.approx(0.28e-3, rel=0.01)
    assert more.design_flow[more_tree.names.index("bath cold run")] == pytest.approx(
        demand.design_flow[tree.names.index("bath cold run")]
    )


def test_eight_bathrooms_on_one_run_are_no_usage_unit() -> None:
    """A run that feeds many closets feeds many rooms: the formula decides."""
    tree, demand = demand_of({"block": BATH * 8, "alone": ["kitchen-sink"]}, "din1988")

    assert demand.groups_used == ()
    assert load_at(tree, demand, "block cold run") == pytest.approx(8 * 0.35)


@pytest.mark.parametrize(
    ("method", "rooms", "more"),
    [
        ("irc", {"alone": ["tub-shower"], "room": ["kitchen-sink", "dishwasher", "bar-sink"]},
         ("room", "water-closet")),
        ("ipc", {"alone": ["tub-shower", "tub-shower", "hose-bibb"],
                 "room": ["tub-shower", "water-closet"]}, ("alone", "kitchen-sink")),
        ("din1988", {"alone": ["tub-shower", "shower"]}, ("alone", "bar-sink")),
        ("din1988", {"alone": ["water-closet", "water-closet", "bidet", "bidet", "bidet"]},
         ("alone", "tub-shower")),
        ("din1988", {"alone": ["tub-shower"], "1": ["tub-shower"], "2": ["tub-shower"],
                     "3": ["bidet"]}, ("3", "water-closet")),
    ],
)  # fmt: skip
def test_a_fixture_that_makes_or_breaks_a_room_never_lowers_a_flow(
    method: str, rooms: dict[str, list[str]], more: tuple[str, str]
) -> None:
    """Cases that once did: cold and hot runs that tell different rooms, and what is left out."""
    grown = {name: [*kinds, more[1]] if name == more[0] else kinds for name, kinds in rooms.items()}
    tree, before = demand_of(rooms, method)
    grown_tree, after = demand_of(grown, method)

    new = dict(zip(grown_tree.names, after.design_flow, strict=True))
    for name, flow in zip(tree.names, before.design_flow, strict=True):
        assert new[name] >= flow - 1e-12, name


@pytest.mark.parametrize(("method", "single"), [("irc", 4.3), ("ipc", 4.3)])
def test_fixtures_a_storey_apart_are_no_room(method: str, single: float) -> None:
    """A closet on the ground floor and a basin and bath above it hang on the same runs: 2.2 + 0.7 +
    1.4 units, not the 3.6 of a full bath. A closet's stop 2 m under a shower's head is one room."""
    for height, load in ((2.0, 3.6), (3.0, single)):
        plain = house_of({"bath": BATH}, method)
        fixtures = tuple(
            replace(fixture, elevation=0.0 if fixture.kind == "water-closet" else height)
            for fixture in plain.fixtures
        )
        tree = build_tree(replace(plain, fixtures=fixtures))
        demand = method_record(method).demand(tree)

        assert load_at(tree, demand, "service") == pytest.approx(load)
        assert bool(demand.groups_used) is (load == 3.6)


def test_the_floors_below_a_riser_keep_their_own_rooms() -> None:
    """Two bathrooms, one above the other, each on runs of its own: two full baths, 7.2."""
    plain = house_of({"bath 1": BATH, "bath 2": BATH})
    fixtures = tuple(
        replace(fixture, elevation=3.0) if fixture.name.startswith("bath 2") else fixture
        for fixture in plain.fixtures
    )
    tree = build_tree(replace(plain, fixtures=fixtures))

    assert load_at(tree, method_record("irc").demand(tree), "service") == pytest.approx(7.2)
