"""Sums and largest values over what hangs below each link, shared by the demand methods."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.units.quantities import Flow

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


class Columns(Struct, frozen=True, kw_only=True):
    """A fixture's load on its cold branch, its hot branch and a pipe that feeds both."""

    cold: float
    hot: float
    total: float

    @classmethod
    def alike(cls, value: float) -> Columns:
        """The same on every pipe, so that a pipe which feeds both sides counts the fixture once."""
        return cls(cold=value, hot=value, total=value)


NOTHING = Columns.alike(0.0)
OUTDOORS = frozenset({"hose-bibb", "yard-hydrant", "stock-waterer"})
"""Kinds of which a continuous flow is all that they draw, where the file gives no other."""
ZONE = "irrigation"
"""The kind that runs for hours by itself; its zones take turns."""


def has_own_demand(fixture: Fixture) -> bool:
    """Whether a fixture counts by the demand method, too, beside its continuous flow.

    A continuous flow comes on top of what a fixture draws else: a flush valve with a dripping
    humidifier stays a flush valve. A garden tap that feeds drip lines draws nothing beside them,
    unless the file gives it a flow.

    Returns:
        False for an outdoor outlet with nothing but a continuous flow, and for irrigation.

    Source: International Plumbing Code 2018, Appendix E, E102.2 (continuous supplies are added).
    """
    if fixture.kind == ZONE:
        return False
    return fixture.continuous is None or fixture.flow is not None or fixture.kind not in OUTDOORS


def is_public(tree: Tree, fixture: Fixture) -> bool:
    """Whether guests or the public use a fixture, by the fixture or by the project."""
    whose = next(
        (each.use for each in tree.house.households if each.name == fixture.household), None
    )
    return (fixture.use or whose or tree.house.project.use) == "public"


class GroupUse(Struct, frozen=True, kw_only=True):
    """A group value of a table that was used in place of its members' single values."""

    title: str
    count: int
    """How often it was used for these fixtures."""
    run: str
    """The run that feeds them."""
    fixtures: tuple[str, ...]
    """The fixtures of that room, members of the group or not."""
    value: float
    """Of one group, total column, in the method's own unit."""
    complete: bool
    """False where fewer fixtures than the group has are capped by its value."""
    room: str | None = None
    """The room by its name in the file; None: read from the pipes."""
    cold: float | None = None
    """Of one group in a pipe with cold water alone, where its table says; `hot` likewise."""
    hot: float | None = None


class LinkFlows(Struct, frozen=True, kw_only=True):
    """What a demand method gives for every link; index 0 is the whole house at the source."""

    load: tuple[float, ...]
    """In the method's own units."""
    design_flow: tuple[Flow, ...]
    zero_chance: tuple[float, ...] = ()
    """Chance that none of the fixtures below a link runs, by methods that know it."""
    mean_flow: tuple[Flow, ...] = ()
    """Mean flow of the fixtures below a link in the busy hour, by methods that know it."""
    rule: tuple[str, ...] = ()
    """Which of a method's rules gave each link's flow, by methods that have several."""
    groups_used: tuple[GroupUse, ...] = ()


class Demand(LinkFlows, frozen=True, kw_only=True):
    """Design flow of every link by one method, with what holds for all methods."""

    method: str
    load_name: str
    """What `load` counts, e.g. "fixture units"; empty where the method has no load."""
    largest: tuple[Flow, ...]
    """Flow of the largest single fixture below each link."""
    continuous: tuple[Flow, ...] = ()
    """Part of `design_flow` that may run for hours, on top of the method; empty: none."""


class Below(Struct, frozen=True, kw_only=True, eq=False):
    """The fixtures below each link, in classes of one probability and one flow.

    Many links feed the same mixture of fixtures; each mixture stands once.
    """

    counts: IntArray
    """How many fixtures of each class (columns) each distinct mixture (rows) has."""
    mixture: IntArray
    """For each link the row of `counts` that it feeds."""
    probability: FloatArray
    """Of each class."""
    flow: FloatArray
    """Of each class [m3/s]."""


def sum_below(tree: Tree, at_point: FloatArray) -> FloatArray:
    """Sum a value given at points over everything at and below each link.

    How: differences of a cumulative sum over preorder slices.
    """
    running = np.concatenate(([0.0], np.cumsum(at_point)))
    result: FloatArray = running[np.array(tree.last)] - running[:-1]
    return result


def summed_loads(tree: Tree, columns: Callable[[Fixture], Columns]) -> FloatArray:
    """Add up fixture loads as a code's cold, hot and total columns intend.

    A pipe that feeds only a fixture's cold (hot) side carries its cold (hot) column; one that feeds
    both sides carries the total column, which is less than cold plus hot.

    Continuous flows are left out: they come on top of any method.

    Source: International Residential Code 2018, Section P2903.6.
    """
    return _totals(
        tree,
        [
            columns(fixture) if has_own_demand(fixture) else NOTHING
            for fixture in tree.house.fixtures
        ],
    )


def count_below(tree: Tree, weight: Sequence[float]) -> FloatArray:
    """Add up a whole number per fixture over what hangs below each link, each fixture once.

    Args:
        weight: a whole number for each fixture, in file order.
    """
    return np.rint(_totals(tree, [Columns.alike(number) for number in weight]))


def continuous_flows(tree: Tree) -> tuple[float, ...]:
    """Flow below each link that may run for hours, such as a lawn's [m3/s]; empty where no fixture
    has one.

    Zones of an irrigation take turns: the largest below a link counts."""
    fixtures = tree.house.fixtures
    steady = [0.0 if fixture.kind == ZONE else fixture.continuous or 0.0 for fixture in fixtures]
    zones = [0.0] * len(fixtures)
    if any(fixture.kind == ZONE for fixture in fixtures):
        zones = [
            (fixture.continuous or flow) if fixture.kind == ZONE else 0.0
            for fixture, flow in zip(fixtures, fixture_flows(tree), strict=True)
        ]
    if not any(steady) and not any(zones):
        return ()
    summed = _totals(tree, [Columns.alike(flow) for flow in steady]).tolist()
    largest = greatest_below(tree, zones)
    return tuple(max(a, 0.0) + b for a, b in zip(summed, largest, strict=True))


def _totals(tree: Tree, columns: Sequence[Columns]) -> FloatArray:
    """Sums below each link of every fixture's columns, given in file order."""
    at_point = np.zeros(len(tree))
    for number, (fixture, column) in enumerate(zip(tree.house.fixtures, columns, strict=True)):
        for run, value in ((fixture.cold, column.cold), (fixture.hot, column.hot)):
            if run is not None:
                at_point[tree.index[run.end]] += value
        if fixture.cold is not None and fixture.hot is not None:
            at_point[tree.meeting[number]] += column.total - column.cold - column.hot
    return sum_below(tree, at_point)


def greatest_below(tree: Tree, value: Sequence[float]) -> list[float]:
    """The greatest of a value per fixture over what hangs below each link.

    Args:
        value: for each fixture, in file order, not negative.

    Returns:
        One value per link, 0 where nothing hangs below.
    """
    greatest = [0.0] * len(tree)
    for number, fixture in enumerate(tree.house.fixtures):
        for run in fixture.branches:
            end = tree.index[run.end]
            greatest[end] = max(greatest[end], value[number])
    return not_below_feeds(tree, greatest)


def not_below_feeds(tree: Tree, flows: Sequence[Flow]) -> list[Flow]:
    """Raise each flow to at least that of every run it feeds."""
    raised = list(flows)
    for i in range(len(tree) - 1, 0, -1):
        raised[tree.parent[i]] = max(raised[tree.parent[i]], raised[i])
    return raised


def few_fixtures_at_own_flow(
    tree: Tree, flows: FloatArray, small: BoolArray | None = None, apart: Collection[str] = ()
) -> FloatArray:
    """Lower the flow of a single fixture's pipe to what that fixture draws [m3/s].

    A code's table is made for many fixtures; read at the load of one it gives more than that one
    can draw (2.2 units read 5.3 gpm; the closet takes 3 gpm). A pipe to several keeps the table's
    flow, save where their load lies no higher than the table's first row.

    Args:
        flows: of each link, without continuous loads [m3/s].
        small: links with a load that the table does not go down to; None: there are none.

    Source: a branch to one fixture carries the flow of International Plumbing Code
        Table 604.3.
    """
    flow_of = outlet_flows(tree)
    counted = [
        float(fixture.kind not in apart and has_own_demand(fixture))
        for fixture in tree.house.fixtures
    ]

    def columns(fixture: Fixture) -> Columns:
        return NOTHING if fixture.kind in apart else Columns.alike(flow_of[fixture.name])

    few = count_below(tree, counted) < 1.5
    if small is not None:
        few |= small
    result: FloatArray = np.where(few, np.minimum(flows, summed_loads(tree, columns)), flows)
    return result


def largest_flows(tree: Tree) -> list[Flow]:
    """Flow of the largest single fixture at or below each link, continuous loads left out."""
    return greatest_below(
        tree,
        [
            flow if has_own_demand(fixture) else 0.0
            for fixture, flow in zip(tree.house.fixtures, fixture_flows(tree), strict=True)
        ],
    )


def outlet_flows(tree: Tree) -> dict[str, float]:
    """Flow of each fixture, by its name, when it runs alone [m3/s]."""
    return {outlet.fixture.name: outlet.flow for outlet in tree.outlets}


def fixture_flows(tree: Tree) -> list[float]:
    """Flow of each fixture when it runs alone, in file order [m3/s]."""
    flow_of = outlet_flows(tree)
    return [flow_of[fixture.name] for fixture in tree.house.fixtures]
