"""Sums and largest values over what hangs below each link, shared by the demand methods."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import Fixture
from supplycalc.network import FloatArray, Tree


class Columns(Struct, frozen=True, kw_only=True):
    """A fixture's load on its cold branch, its hot branch and a pipe that feeds both."""

    cold: float
    hot: float
    total: float


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
    """Of one group, total column [the method's own unit]."""
    complete: bool
    """False where fewer fixtures than the group has are capped by its value."""


class Demand(Struct, frozen=True, kw_only=True):
    """Design flow of every link by one method; index 0 is the whole house at the source."""

    method: str
    load_name: str
    """What `load` counts, e.g. "fixture units"; empty where the method has no load."""
    load: tuple[float, ...]
    design_flow: tuple[float, ...]
    """[m3/s]"""
    largest: tuple[float, ...]
    """Flow of the largest single fixture below each link [m3/s]."""
    continuous: tuple[float, ...] = ()
    """Part of `design_flow` that may run for hours, on top of the method [m3/s]; empty: none."""
    zero_chance: tuple[float, ...] = ()
    """Chance that none of the fixtures below a link runs, by methods that know it."""
    mean_flow: tuple[float, ...] = ()
    """Mean flow of the fixtures below a link in the busy hour [m3/s], by methods that know it."""
    rule: tuple[str, ...] = ()
    """Which of a method's rules gave each link's flow, by methods that have several."""
    groups_used: tuple[GroupUse, ...] = ()


def sum_below(tree: Tree, at_point: FloatArray) -> FloatArray:
    """Sum a value given at points over everything at and below each link.

    Args:
        tree: the supply.
        at_point: one value per link's end, any unit [same unit].

    Returns:
        One sum per link, same unit.

    How: differences of a cumulative sum over preorder slices.
    """
    running = np.concatenate(([0.0], np.cumsum(at_point)))
    result: FloatArray = running[np.array(tree.last)] - running[:-1]
    return result


def loads(tree: Tree, columns: Callable[[Fixture], Columns]) -> FloatArray:
    """Add up fixture loads as a code's cold, hot and total columns intend.

    A pipe that feeds only a fixture's cold (hot) side carries its cold (hot) column; one that feeds
    both sides carries the total column, which is less than cold plus hot.

    Continuous loads are left out: they come on top of any method.

    Args:
        tree: the supply.
        columns: gives a fixture's loads [the method's own unit].

    Returns:
        One load per link, in the method's unit.

    Source: International Residential Code 2018, Section P2903.6.
    """
    at_point = np.zeros(len(tree))
    for number, fixture in enumerate(tree.house.fixtures):
        if fixture.continuous is not None:
            continue
        column = columns(fixture)
        sides = 0
        for run, value in ((fixture.cold, column.cold), (fixture.hot, column.hot)):
            if run is not None:
                at_point[tree.index[run.end]] += value
                sides += 1
        if sides == 2:
            at_point[tree.meeting[number]] += column.total - column.cold - column.hot
    return sum_below(tree, at_point)


def count_below(tree: Tree, weight: Sequence[float]) -> FloatArray:
    """Add up a whole number per fixture over what hangs below each link, each fixture once.

    Args:
        tree: the supply.
        weight: a whole number for each fixture, in file order.

    Returns:
        One sum per link.
    """
    at_point = np.zeros(len(tree))
    for number, fixture in enumerate(tree.house.fixtures):
        for run in (fixture.cold, fixture.hot):
            if run is not None:
                at_point[tree.index[run.end]] += weight[number]
        if fixture.cold is not None and fixture.hot is not None:
            at_point[tree.meeting[number]] -= weight[number]
    return np.rint(sum_below(tree, at_point))


def greatest_below(tree: Tree, value: Sequence[float]) -> list[float]:
    """The greatest of a value per fixture over what hangs below each link.

    Args:
        tree: the supply.
        value: for each fixture, in file order, not negative [any].

    Returns:
        One value per link, 0 where nothing hangs below.
    """
    greatest = [0.0] * len(tree)
    for number, fixture in enumerate(tree.house.fixtures):
        for run in (fixture.cold, fixture.hot):
            if run is not None:
                end = tree.index[run.end]
                greatest[end] = max(greatest[end], value[number])
    for i in range(len(tree) - 1, 0, -1):
        above = tree.parent[i]
        if greatest[i] > greatest[above]:
            greatest[above] = greatest[i]
    return greatest


def with_continuous(tree: Tree, demand: Demand) -> Demand:
    """Add the continuous loads to a method's flows.

    Args:
        tree: the supply, whose fixtures may have a continuous flow.
        demand: by a method, which has left those fixtures out.

    Returns:
        The demand with the continuous flows on top [m3/s].

    Source: International Plumbing Code 2018, Appendix E, E102.2 (lawn sprinklers, air conditioners
        and the like are estimated by themselves and added).
    """
    steady = [fixture.continuous or 0.0 for fixture in tree.house.fixtures]
    if not any(steady):
        return demand
    at_point = np.zeros(len(tree))
    for number, fixture in enumerate(tree.house.fixtures):
        for run in (fixture.cold, fixture.hot):
            if run is not None:
                at_point[tree.index[run.end]] += steady[number]
        if fixture.cold is not None and fixture.hot is not None:
            at_point[tree.meeting[number]] -= steady[number]
    added = [max(flow, 0.0) for flow in sum_below(tree, at_point).tolist()]
    return replace(
        demand,
        design_flow=tuple(a + b for a, b in zip(demand.design_flow, added, strict=True)),
        continuous=tuple(added),
    )


def not_below_feeds(tree: Tree, flows: Sequence[float]) -> list[float]:
    """Raise each flow to at least that of every run it feeds.

    Args:
        tree: the supply.
        flows: of each link [m3/s].

    Returns:
        One flow per link [m3/s].
    """
    raised = list(flows)
    for i in range(len(tree) - 1, 0, -1):
        raised[tree.parent[i]] = max(raised[tree.parent[i]], raised[i])
    return raised


def not_above_all(tree: Tree, flows: FloatArray, apart: Collection[str] = ()) -> FloatArray:
    """Lower each flow to what all fixtures below draw together, which no pipe can exceed.

    A code's table is made for many fixtures; read at the load of one it gives more than that one
    can draw (2.2 units read 5.3 gpm; the closet takes 3 gpm).

    Args:
        tree: the supply.
        flows: of each link, without continuous loads [m3/s].
        apart: kinds of fixture whose flow is none of these.

    Returns:
        One flow per link [m3/s].

    Source: a branch to one fixture carries the flow of International Plumbing Code
        Table 604.3.
    """
    flow_of = {outlet.fixture.name: outlet.flow for outlet in tree.outlets}

    def columns(fixture: Fixture) -> Columns:
        flow = 0.0 if fixture.kind in apart else flow_of[fixture.name]
        return Columns(cold=flow, hot=flow, total=flow)

    result: FloatArray = np.minimum(flows, loads(tree, columns))
    return result


def largest_flows(tree: Tree) -> list[float]:
    """Flow of the largest single fixture at or below each link, continuous loads left out.

    Args:
        tree: the supply.

    Returns:
        One flow per link [m3/s].
    """
    return greatest_below(
        tree,
        [
            0.0 if fixture.continuous is not None else flow
            for fixture, flow in zip(tree.house.fixtures, fixture_flows(tree), strict=True)
        ],
    )


def fixture_flows(tree: Tree) -> list[float]:
    """Flow of each fixture when it runs alone, in file order [m3/s]."""
    flow_of = {outlet.fixture.name: outlet.flow for outlet in tree.outlets}
    return [flow_of[fixture.name] for fixture in tree.house.fixtures]


def largest_below(tree: Tree, count: int = 1) -> list[tuple[float, ...]]:
    """The flows of the `count` largest fixtures at or below each link.

    A fixture whose cold and hot sides both hang below a link counts once. Continuous loads are left
    out.

    Args:
        tree: the supply.
        count: how many to keep.

    Returns:
        One tuple per link, largest first, flows in m3/s.
    """
    below: list[dict[str, float]] = [{} for _ in range(len(tree))]
    for outlet in tree.outlets:
        if outlet.fixture.continuous is not None:
            continue
        below[outlet.link][outlet.fixture.name] = outlet.flow
    for i in range(len(tree) - 1, 0, -1):
        _keep(below[i], count)
        below[tree.parent[i]].update(below[i])
    _keep(below[0], count)
    return [tuple(sorted(flows.values(), reverse=True)) for flows in below]


def _keep(flows: dict[str, float], count: int) -> None:
    """Drop all but the largest; equal flows are kept by name, so that file order is no matter."""
    if len(flows) > count:
        ranked = sorted(flows.items(), key=lambda item: (-item[1], item[0]))
        flows.clear()
        flows.update(ranked[:count])


def not_below_largest(
    flows: Sequence[float], largest: Sequence[tuple[float, ...]]
) -> tuple[float, ...]:
    """Raise each flow to at least its largest single fixture's [m3/s]."""
    return tuple(max(flow, *top) if top else flow for flow, top in zip(flows, largest, strict=True))
