"""The tree: order, sides, heights, where cold and hot meet."""

from __future__ import annotations

import networkx
import pytest

from supplycalc.model import WaterSource
from supplycalc.network import build_tree
from tests.houses import cold_fixture, home_run, pipe, two_storey


def test_every_link_comes_after_the_link_that_feeds_it() -> None:
    """Parents stand before their children and slices nest."""
    tree = build_tree(two_storey())

    assert tree.parent[0] == -1
    assert all(tree.parent[i] < i for i in range(1, len(tree)))
    assert all(
        tree.parent[i] < i < tree.last[tree.parent[i]] and tree.last[i] <= tree.last[tree.parent[i]]
        for i in range(1, len(tree))
    )


def test_slices_and_children_are_those_of_the_graph() -> None:
    """The links make one tree; slices are its descendants, children its successors."""
    tree = build_tree(two_storey())
    graph = networkx.DiGraph((tree.parent[i], i) for i in range(1, len(tree)))

    assert networkx.is_arborescence(graph)
    for i in range(len(tree)):
        assert set(tree.at_or_below(i)) == {i, *networkx.descendants(graph, i)}
        assert set(tree.children[i]) == set(graph.successors(i))
        assert tree.path(i) == networkx.shortest_path(graph, 0, i)[1:]
        assert [*tree.feeding(i)] == tree.path(i)[-2::-1]


def test_everything_beyond_the_heater_is_hot() -> None:
    """Sides and temperatures change at the heater and nowhere else."""
    tree = build_tree(two_storey())
    hot = {name for name, side in zip(tree.names, tree.side, strict=True) if side == "hot"}

    assert hot == {"water heater", "hot trunk", "bath hot", "basin hot", "sink hot"}
    assert tree.temperature[tree.index["hot hall"]] == tree.house.water.hot


def test_heights_are_inherited_until_they_are_given() -> None:
    """A junction without a height stands where the point before it stands."""
    tree = build_tree(two_storey())

    assert tree.elevation[tree.index["hall"]] == 0.0
    assert tree.elevation[tree.index["bath cold"]] == 3.5


def test_a_line_falls_on_its_way_to_a_house_below() -> None:
    """From a spring 72 ft up: the entry, whose height nobody gave, stands no higher than the tap
    that it feeds, not at the spring."""
    spring = WaterSource(kind="spring", elevation=72.0, lowest_level=72.0)
    house = two_storey(
        source=spring,
        runs=(pipe("service", "source", "entry"),),
        devices=(),
        fixtures=(
            cold_fixture("tap", "hose-bibb", "entry", elevation=2.0),
            cold_fixture("shower", "shower", "entry", elevation=6.0),
        ),
    )
    tree = build_tree(house)

    assert tree.elevation[tree.index["entry"]] == 6.0
    assert not tree.known_elevation[tree.index["entry"]]


def test_cold_and_hot_meet_where_the_service_divides() -> None:
    """A fixture's two sides meet at the entry; a cold-only one at its own branch."""
    tree = build_tree(two_storey())
    names = [tree.names[i] for i in tree.meeting]

    assert names == ["service", "service", "toilet cold", "service", "garden tap cold"]


def test_a_manifold_is_a_link_and_a_point() -> None:
    """Branches from a manifold hang below it."""
    tree = build_tree(home_run(4))
    manifold = tree.index["manifold"]

    assert tree.names[manifold] == "manifold"
    assert tree.last[manifold] - manifold == 5


def test_a_run_from_nowhere_is_refused() -> None:
    """The tree says so instead of dropping it (reading words it for the user)."""
    house = two_storey(
        fixtures=(cold_fixture("toilet", "water-closet", "nowhere"),), runs=(), devices=()
    )

    with pytest.raises(ValueError, match="does not feed"):
        build_tree(house)


def test_order_of_the_file_does_not_matter() -> None:
    """The same links in another order give the same tree but for the order of siblings."""
    house = two_storey()
    turned = two_storey(runs=tuple(reversed(house.runs)), fixtures=tuple(reversed(house.fixtures)))
    tree, turned_tree = build_tree(house), build_tree(turned)

    assert {
        name: tree.points[p] for name, p in zip(tree.names, tree.parent, strict=True) if p >= 0
    } == {
        name: turned_tree.points[p]
        for name, p in zip(turned_tree.names, turned_tree.parent, strict=True)
        if p >= 0
    }


def test_a_deep_chain_is_no_trouble() -> None:
    """Ten thousand runs in a row: no recursion limit."""
    runs = [pipe("run 0", "source", "p0")]
    runs += [pipe(f"run {i}", f"p{i - 1}", f"p{i}") for i in range(1, 10_000)]
    house = two_storey(
        runs=tuple(runs), devices=(), fixtures=(cold_fixture("tap", "hose-bibb", "p9999"),)
    )
    tree = build_tree(house)

    assert len(tree) == 10_002
    assert tree.parent == tuple(range(-1, 10_001))
