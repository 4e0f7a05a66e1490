"""Trunk and branches: a rectilinear Steiner tree over the lines through everything to be joined.

Hanan showed that a shortest rectilinear tree needs only crossings of the lines through its
terminals. On that grid, at every level where pipe may run, networkx finds a tree by Mehlhorn's
method, whose length is at most 2 - 2/terminals times the shortest; of several such trees the
shortest is taken. In a second shape each fixture takes its own shortest way and ways that meet
share one pipe: longer, but with less loss.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import Fixture, House, Point, Position, Run, Side
from supplycalc.questions.layout.kept_house import KeptHouse
from supplycalc.questions.layout.routes import TICK, Routes, Way, inside, ticks
from supplycalc.questions.layout.shapes import assembled, branch_run, main_run

if TYPE_CHECKING:
    import networkx

Node = tuple[int, int, int]
Method = Literal["steiner", "shortest-ways"]
IN_SLAB = 1e-3
"""Share by which a piece in the slab counts longer, so that an equal way above it is taken."""
MOST_CORRIDORS = 20
"""Lines that are made cheap in turn."""


class TrunkTree(Struct, frozen=True, kw_only=True):
    """The trees of one trunk-and-branch layout."""

    house: House
    cold_length: float
    """Along the axes, before any allowance [m]."""
    bound: float
    """No tree of these terminals is shorter than the length over this factor."""
    slab_tees: int
    """Tees that lie in a slab."""


def trunk_house(
    kept: KeptHouse, routes: Routes, method: Method, levels: Sequence[int]
) -> TrunkTree:
    """Lay a house out with trunk and branches.

    Raises:
        ValueError: a terminal cannot be reached.

    Source: Hanan, SIAM J. Appl. Math. 14 (1966); Mehlhorn, Inf. Process. Lett. 27 (1988) (both from
        memory), as networkx implements it.
    """
    cold = [fixture for fixture in kept.fixtures if fixture.cold is not None]
    hot = [fixture for fixture in kept.fixtures if fixture.hot is not None]
    ends: list[tuple[str, Position]] = [
        (fixture.name, at) for fixture in cold if (at := fixture.at)
    ]
    if kept.heater is not None:
        ends.append(("", kept.heater_at))
    laid = _Laid(kept)
    cold_tree = _tree(kept, routes, kept.origin_at, [at for _, at in ends], method, levels)
    laid.lay("cold", cold_tree, kept.origin_at, kept.origin, cold)
    if kept.heater is not None and hot:
        spots = [at for fixture in hot if (at := fixture.at)]
        hot_tree = _tree(kept, routes, kept.heater_at, spots, method, levels)
        laid.lay("hot", hot_tree, kept.heater_at, kept.heater.end, hot)
    terminals = max(len(ends), len(hot)) + 1
    return TrunkTree(
        house=assembled(kept, laid.runs, (), laid.points, laid.fixtures, laid.inlet),
        cold_length=sum(_far(a, b) for a, b in cold_tree.edges) * TICK,
        bound=2.0 - 2.0 / terminals,
        slab_tees=laid.slab_tees,
    )


def _far(a: Node, b: Node) -> int:
    return sum(abs(p - q) for p, q in zip(a, b, strict=True))


def _node(at: Position) -> Node:
    return (ticks(at[0]), ticks(at[1]), ticks(at[2]))


def _tree(
    kept: KeptHouse,
    routes: Routes,
    root: Position,
    ends: Sequence[Position],
    method: Method,
    levels: Sequence[int],
) -> networkx.DiGraph[Node]:
    """The tree from a root to all ends, edges pointing away from the root."""
    import networkx

    start = _node(root)
    terminals = [start, *(_node(at) for at in ends)]
    graph = _grid(routes, terminals, levels)
    lost = [terminal for terminal in terminals if terminal not in graph]
    reached = networkx.node_connected_component(graph, start) if not lost else set()
    if lost or not reached.issuperset(terminals):
        raise ValueError("a fixture or the heater cannot be reached by a trunk at these levels")
    wanted = list(dict.fromkeys(terminals))
    if method == "steiner" and len(wanted) > 1:
        tree = _steiner(graph, wanted)
    else:
        paths = networkx.single_source_dijkstra_path(graph, start, weight="weight")
        tree = networkx.Graph()
        tree.add_node(start)
        for end in wanted:
            networkx.add_path(tree, paths[end])
    return networkx.bfs_tree(tree, start)


def _steiner(graph: networkx.Graph[Node], wanted: Sequence[Node]) -> networkx.Graph[Node]:
    """The shortest of several trees: Mehlhorn's, and his with one line after another made cheap.

    On lines of equal length Mehlhorn's method takes any way; a corridor that costs half draws the
    ways together. Taking the shortest keeps the bound of the first.
    """
    import networkx

    lines: dict[tuple[int, int, int], list[tuple[Node, Node]]] = {}
    for a, b in graph.edges:
        axis = _axis(a, b)
        if axis < 2:
            lines.setdefault((axis, a[1 - axis], a[2]), []).append((a, b))
    step = max(len(lines) // MOST_CORRIDORS, 1)
    corridors: list[list[tuple[Node, Node]]] = [[], *[lines[key] for key in sorted(lines)][::step]]
    best: networkx.Graph[Node] | None = None
    shortest = float("inf")
    for corridor in corridors:
        for _, _, data in graph.edges(data=True):
            data["biased"] = data["weight"]
        for a, b in corridor:
            graph.edges[a, b]["biased"] *= 0.5
        tree = networkx.algorithms.approximation.steiner_tree(
            graph, wanted, weight="biased", method="mehlhorn"
        )
        tree = _trimmed(graph, tree, wanted)
        length = tree.size(weight="weight")
        if length < shortest - 1e-9:
            best, shortest = tree, length
    assert best is not None
    return best


def _trimmed(
    graph: networkx.Graph[Node], tree: networkx.Graph[Node], wanted: Sequence[Node]
) -> networkx.Graph[Node]:
    """The shortest tree over the same nodes, without ends that nothing needs."""
    import networkx

    spanning = networkx.minimum_spanning_tree(graph.subgraph(tree.nodes), weight="weight")
    needed = set(wanted)
    while ends := [node for node in spanning if spanning.degree(node) == 1 and node not in needed]:
        spanning.remove_nodes_from(ends)
    return spanning


def _grid(routes: Routes, terminals: Sequence[Node], levels: Sequence[int]) -> networkx.Graph[Node]:
    """Lines through terminals and along zones at each level, with uprights at the terminals."""
    import networkx

    boxes = routes.zones
    east = sorted({terminal[0] for terminal in terminals} | {x for b in boxes for x in b[:2]})
    north = sorted({terminal[1] for terminal in terminals} | {y for b in boxes for y in b[2:]})
    graph: networkx.Graph[Node] = networkx.Graph()
    at = [routes.levels[i] for i in levels]
    heights = {level.height: (level.blocked, level.in_slab) for level in at}
    if not levels:
        heights = {terminal[2]: (boxes, False) for terminal in terminals}
    for height, (blocked, slab) in heights.items():
        for a, b in _steps(east, north, blocked):
            p, q = (*a, height), (*b, height)
            graph.add_edge(p, q, weight=_far(p, q) * (1.0 + (IN_SLAB if slab else 0.0)))
    uprights = {(terminal[0], terminal[1]) for terminal in terminals}
    for x, y in uprights:
        open_at = [h for h in heights if (x, y, h) in graph]
        own = [terminal[2] for terminal in terminals if terminal[:2] == (x, y)]
        stops = sorted({*open_at, *own})
        for low, high in pairwise(stops):
            graph.add_edge((x, y, low), (x, y, high), weight=float(high - low))
    return graph


def _steps(
    east: Sequence[int], north: Sequence[int], blocked: Sequence[tuple[int, int, int, int]]
) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    for i, x in enumerate(east):
        for j, y in enumerate(north):
            for a, b in ((i + 1, j), (i, j + 1)):
                if a == len(east) or b == len(north):
                    continue
                u, v = east[a], north[b]
                if not inside((x + u) / 2, (y + v) / 2, blocked):
                    yield (x, y), (u, v)


def _named(side: Side, number: int) -> tuple[str, str]:
    """Names of a piece of the trunk and of its end."""
    return f"{side} trunk {number}", f"{side} trunk {number} end"


def _names_in(house: House) -> set[str]:
    """Names that what is kept has already, as in a file that a layout wrote."""
    links = (*house.runs, *house.devices, *house.manifolds, *house.line, *house.suction)
    ends = (getattr(link, end, "") for link in links for end in ("start", "end"))
    named = (*links, *house.points, *house.fixtures)
    return {house.source.point, *ends, *(item.name for item in named)}


class _Laid:
    """Runs, points and branches as they are read off the trees."""

    def __init__(self, kept: KeptHouse) -> None:
        self.kept = kept
        self.taken = _names_in(kept.house)
        self.runs: list[Run] = []
        self.points: list[Point] = []
        self.fixtures: dict[str, Fixture] = {}
        self.inlet = kept.origin
        self.slab_tees = 0
        self.slab_heights = {
            ticks(storey.floor if storey.pipes_at is None else storey.pipes_at)
            for storey in kept.house.storeys
            if storey.in_slab
        }

    def lay(
        self,
        side: Side,
        tree: networkx.DiGraph[Node],
        root: Position,
        start: str,
        fixtures: Sequence[Fixture],
    ) -> None:
        """Turn one tree into runs from junction to junction and branches to the fixtures."""
        at: dict[Node, list[Fixture]] = {}
        for branch in fixtures:
            assert branch.at is not None
            at.setdefault(_node(branch.at), []).append(branch)
        heater = _node(self.kept.heater_at) if side == "cold" and self.kept.heater else None
        number = 0
        # (junction, its point, node before it)
        todo: list[tuple[Node, str, Node | None]] = [(_node(root), start, None)]
        while todo:
            node, point, before = todo.pop()
            ways = [_follow(tree, node, child, at, heater) for child in tree.successors(node)]
            hanging = len(ways) + len(at.get(node, ())) + (node == heater)
            if before is not None and node[2] in self.slab_heights and hanging > 1:
                self.slab_tees += hanging - 1
                # three joints of each tee, told of the run that ends there
                number_of = next(i for i, run in enumerate(self.runs) if run.end == point)
                run = self.runs[number_of]
                self.runs[number_of] = replace(run, joints=run.joints + 3 * (hanging - 1))
            for fixture in at.get(node, ()):
                self._branch(side, fixture, point, [node], before, hanging)
            if node == heater and before is not None:
                self.inlet = point
            for chain in ways:
                end = chain[-1]
                standing = at.get(end, [])
                last = tree.out_degree(end) == 0
                if last and len(standing) == 1 and end != heater:
                    self._branch(side, standing[0], point, chain, before, hanging)
                    continue
                number += 1
                while not self.taken.isdisjoint(_named(side, number)):
                    number += 1
                name, target = _named(side, number)
                way = self._way(chain)
                more = _tee_kind(chain, before, hanging)
                if before is None:
                    more["ball_valve"] = 1
                self.runs.append(main_run(self.kept, side, name, point, target, way, **more))
                self.points.append(
                    Point(name=target, at=(end[0] * TICK, end[1] * TICK, end[2] * TICK))
                )
                todo.append((end, target, chain[-2]))

    def _branch(
        self,
        side: Side,
        fixture: Fixture,
        point: str,
        chain: Sequence[Node],
        before: Node | None,
        hanging: int,
    ) -> None:
        like = fixture.cold if side == "cold" else fixture.hot
        assert like is not None
        more = _tee_kind(chain, before, hanging) if len(chain) > 1 else {"tee_branch": 1}
        run = branch_run(self.kept, like, point, self._way(chain), **more)
        so_far = self.fixtures.get(fixture.name, fixture)
        self.fixtures[fixture.name] = (
            replace(so_far, cold=run) if side == "cold" else replace(so_far, hot=run)
        )

    def _way(self, chain: Sequence[Node]) -> Way:
        pieces = list(pairwise(chain))
        axes = [_axis(a, b) for a, b in pieces]
        turns = sum(axis != other for axis, other in pairwise(axes))
        slab = any(a[2] in self.slab_heights for a, b in pieces if _axis(a, b) < 2)
        length = sum(_far(a, b) for a, b in pieces) * TICK
        return Way(length=length, turns=turns, level=-1, in_slab=slab)


def _follow(
    tree: networkx.DiGraph[Node],
    node: Node,
    child: Node,
    at: dict[Node, list[Fixture]],
    heater: Node | None,
) -> list[Node]:
    """The nodes from a junction to the next one, a fixture or the heater."""
    chain = [node, child]
    while tree.out_degree(chain[-1]) == 1 and chain[-1] not in at and chain[-1] != heater:
        chain.append(next(iter(tree.successors(chain[-1]))))
    return chain


def _axis(a: Node, b: Node) -> int:
    return next(i for i in range(3) if a[i] != b[i])


def _tee_kind(chain: Sequence[Node], before: Node | None, hanging: int) -> dict[str, int]:
    """What a run passes where it leaves a junction: straight through or round the corner."""
    if hanging < 2:
        return {}
    if before is None:
        return {"tee_branch": 1}
    straight = _axis(before, chain[0]) == _axis(chain[0], chain[1])
    return {"tee_run": 1} if straight else {"tee_branch": 1}
