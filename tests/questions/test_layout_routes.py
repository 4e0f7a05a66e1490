"""Ways of pipe: lengths by hand, around zones against networkx, trunks against known trees."""

from __future__ import annotations

import itertools
import random

import networkx
import pytest

from supplycalc.model import House, Storey, Zone
from supplycalc.questions.layout.kept_house import kept_of
from supplycalc.questions.layout.places import survey
from supplycalc.questions.layout.routes import Routes, inside, ticks
from supplycalc.questions.layout.trunk import trunk_house
from tests.houses import FOOT
from tests.questions.layout_houses import feet, house, placed, random_house

BASIN = placed("basin", "lavatory", feet(10, 5, 3))


def test_drop_and_rise_are_counted() -> None:
    """4.5 ft down to pipes 6 in under the floor, 15 ft across, 3.5 ft up: 23 ft, three corners."""
    under = Storey(name="site", floor=0.0, pipes_at=-0.5 * FOOT, in_slab=True)
    routes = Routes(house((BASIN,), storeys=(under,)), [])
    (way,) = routes.ways(feet(0, 0, 4), [feet(10, 5, 3)])

    assert way is not None
    assert way.length == pytest.approx(23 * FOOT, abs=1e-4)
    assert way.turns == 3
    assert way.in_slab


def test_the_shorter_level_is_taken() -> None:
    """Between two points near the ceiling pipe runs above it, not under the floor."""
    storeys = (
        Storey(name="under", floor=0.0, in_slab=True),
        Storey(name="over", floor=9 * FOOT),
    )
    routes = Routes(house((BASIN,), storeys=storeys), [])
    (way,) = routes.ways(feet(0, 0, 7), [feet(10, 0, 6)])

    assert way is not None
    assert way.length == pytest.approx((2 + 10 + 3) * FOOT, abs=1e-4)
    assert not way.in_slab


def test_without_storeys_pipe_runs_along_the_axes() -> None:
    """East, north and up add up."""
    routes = Routes(house((BASIN,)), [])
    (way,) = routes.ways(feet(0, 0, 4), [feet(10, 5, 3)])

    assert way is not None
    assert way.length == pytest.approx(16 * FOOT, abs=1e-4)


def test_straight_up_needs_no_level() -> None:
    """Above one another only the height counts."""
    under = Storey(name="site", floor=0.0, pipes_at=-0.5 * FOOT)
    routes = Routes(house((BASIN,), storeys=(under,)), [])
    (way,) = routes.ways(feet(3, 3, 4), [feet(3, 3, 9)])

    assert way is not None
    assert way.length == pytest.approx(5 * FOOT, abs=1e-4)


def test_a_zone_is_gone_around() -> None:
    """From (0, 5) to (10, 5) past a box from y = 0 to y = 8: 3 ft out and back, two corners."""
    zone = Zone(name="stair", corner=feet(4, 0, -1), opposite=feet(6, 8, 9))
    places = [feet(0, 5, 0), feet(10, 5, 0), feet(0, 0, 0)]
    routes = Routes(house((BASIN,), zones=(zone,)), places)
    (way,) = routes.ways(places[0], [places[1]])

    assert way is not None
    # its south edge at y = 0 costs 5 + 10 + 5, its north edge 3 + 10 + 3
    assert way.length == pytest.approx(16 * FOOT, abs=1e-4)
    assert way.turns == 2


def test_within_a_zone_nothing_is_reached() -> None:
    """A fixture in the box has no way."""
    zone = Zone(name="stair", corner=feet(4, 0, -1), opposite=feet(6, 8, 9))
    routes = Routes(house((BASIN,), zones=(zone,)), [feet(0, 5, 0), feet(5, 5, 0)])

    assert routes.ways(feet(0, 5, 0), [feet(5, 5, 0)]) == [None]


@pytest.mark.parametrize("seed", range(12))
def test_ways_around_zones_are_shortest(seed: int) -> None:
    """Lengths equal those of networkx on the same lines; turns are the fewest among the shortest.

    networkx counts a turn as a hundredth of a tick, which no sum of turns here makes a tick.
    """
    rng = random.Random(seed)
    zones = tuple(
        Zone(
            name=f"box {n}",
            corner=feet(x := rng.randint(1, 20), y := rng.randint(1, 12), -1),
            opposite=feet(x + rng.randint(1, 6), y + rng.randint(1, 5), 9),
        )
        for n in range(3)
    )
    spots = [feet(rng.randint(0, 28), rng.randint(0, 18), 0) for _ in range(8)]
    routes = Routes(house((BASIN,), zones=zones), spots)
    graph: networkx.Graph = networkx.Graph()
    east, north = routes.east, routes.north
    for i, x in enumerate(east):
        for j, y in enumerate(north):
            if inside(x, y, routes.zones):
                continue
            graph.add_edge((x, y, 0), (x, y, 1), weight=0.01)
            for axis, (a, b) in enumerate(((i + 1, j), (i, j + 1))):
                if a < len(east) and b < len(north):
                    u, v = east[a], north[b]
                    blocked = inside(u, v, routes.zones) or inside(
                        (x + u) / 2, (y + v) / 2, routes.zones
                    )
                    if not blocked:
                        graph.add_edge((x, y, axis), (u, v, axis), weight=u - x + v - y)
    start = (ticks(spots[0][0]), ticks(spots[0][1]))
    for end, way in zip(spots[1:], routes.ways(spots[0], spots[1:]), strict=True):
        goal = (ticks(end[0]), ticks(end[1]))
        both = [
            networkx.dijkstra_path_length(graph, (*start, a), (*goal, b))
            for a, b in itertools.product((0, 1), repeat=2)
            if (*start, a) in graph and (*goal, b) in graph
            and networkx.has_path(graph, (*start, a), (*goal, b))
        ]  # fmt: skip
        if not both:
            assert way is None
            continue
        assert way is not None
        assert ticks(way.length) == int(min(both))
        if goal != start:
            assert way.turns == round((min(both) % 1) * 100)


def trunk_of(fixtures: tuple, **more: object) -> tuple[House, float]:
    """A house with a trunk and the cold tree's length [ft]."""
    given = house(fixtures, **more)
    kept = kept_of(given)
    site = survey(kept)
    tree = trunk_house(kept, site.routes, "steiner", list(range(len(given.storeys))))
    return tree.house, tree.cold_length / FOOT


def test_a_cross_is_joined_in_the_middle() -> None:
    """Four ends of a cross with arms of 5 ft need 20 ft, by Hanan's theorem through its centre.

    Entry at the west end, heater at the east end, taps north and south, all at one height.
    """
    taps = (
        placed("north tap", "hose-bibb", feet(5, 10, 0), hot=False),
        placed("south tap", "hose-bibb", feet(5, 0, 0), hot=False),
    )
    site = Storey(name="site", floor=0.0)
    built, length = trunk_of(taps, entry=feet(0, 5, 0), heater=feet(10, 5, 0), storeys=(site,))

    assert length == pytest.approx(20.0, abs=1e-3)
    assert sum(run.start == "cold trunk 1 end" for run in built.runs) >= 1


@pytest.mark.parametrize("seed", range(10))
def test_trunks_keep_mehlhorns_bound(seed: int) -> None:
    """Between the least that any tree needs and the stated factor times a spanning tree.

    Hwang (SIAM J. Appl. Math. 30, 1976): a rectilinear spanning tree is at most 3/2 of the Steiner
    tree, so no tree is shorter than the spanning tree over 1.5. Distances run along the axes.
    """
    given = random_house(seed, 7)
    kept = kept_of(given)
    site = survey(kept)
    tree = trunk_house(kept, site.routes, "steiner", [0])
    spots = [kept.origin_at, kept.heater_at]
    spots += [at for fixture in kept.fixtures if (at := fixture.at) is not None]
    graph: networkx.Graph = networkx.Graph()
    for a, b in itertools.combinations(range(len(spots)), 2):
        graph.add_edge(
            a, b, weight=sum(abs(p - q) for p, q in zip(spots[a][:2], spots[b][:2], strict=True))
        )
    flat = networkx.minimum_spanning_tree(graph).size(weight="weight")
    level = given.storeys[0].pipes_at or 0.0
    uprights = {(at[0], at[1], at[2]) for at in spots}
    rise = sum(abs(at[2] - level) for at in uprights)

    assert tree.cold_length <= tree.bound * (flat + rise) + 1e-6
    assert tree.cold_length >= flat / 1.5 - 1e-6
