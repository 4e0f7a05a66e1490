"""What the fixture-unit methods share: a load becomes a flow by the code's own conversion table."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

import numpy as np
from msgspec import Struct

from supplycalc.demand.groups import Family, grouped_loads
from supplycalc.demand.loads import (
    Columns,
    FloatArray,
    LinkFlows,
    count_below,
    few_fixtures_at_own_flow,
    fixture_flows,
    greatest_below,
    has_own_demand,
    is_public,
)
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table, to_si
from supplycalc.units.quantities import Flow


class Curve(Struct, frozen=True, kw_only=True):
    """A printed conversion of load to flow: straight lines between its rows and from no load."""

    loads: tuple[float, ...]
    """Ascending, in the code's units."""
    flows: tuple[Flow, ...]

    def flow(self, load: FloatArray) -> FloatArray:
        """Flows of many loads; past the last row the last two rows' line goes on [m3/s]."""
        loads, flows = np.array((0.0, *self.loads)), np.array((0.0, *self.flows))
        between = np.interp(load, loads, flows)
        slope = (flows[-1] - flows[-2]) / (loads[-1] - loads[-2])
        beyond = flows[-1] + slope * (load - loads[-1])
        read = np.where(load > loads[-1], beyond, between)
        result: FloatArray = np.where(load > 1e-9, read, 0.0)
        return result


def flows_by_column(load: FloatArray, valves: FloatArray, tank: Curve, valve: Curve) -> FloatArray:
    """Convert loads to flows by the tank column, or the valve column where a valve is fed [m3/s].

    The codes ask for the valve column where a system is "predominantly" of flushometer valves; a
    pipe is taken so as soon as it feeds one. This is on the safe side, and one fixture more can
    then never lower a flow. Hot pipes feed no closet and keep the tank column.

    Source: International Plumbing Code 2018, Table E103.3(3), and Uniform Plumbing Code 2018,
        Chart A 103.1; the rule for mixed systems is a choice of this package.
    """
    with_valve = np.maximum(valve.flow(load), tank.flow(load))
    result: FloatArray = np.where(valves > 0.5, with_valve, tank.flow(load))
    return result


def load_columns(file: str, table: str) -> dict[str, Columns]:
    """The rows of a code's table by name, with a column for cold, hot and total."""
    return {
        name: Columns(cold=cold, hot=hot, total=total)
        for name, cold, hot, total, _ in load_table(file)[table]["rows"]
    }


def load_curve(table: str, column: str) -> Curve:
    """One column of a printed conversion table.

    Returns:
        Fixture units to flow in m3/s.
    """
    rows = load_table(table)[column]["rows"]
    return Curve(
        loads=tuple(float(units) for units, _ in rows),
        flows=tuple(to_si(flow, "gpm") for _, flow in rows),
    )


def public_rows() -> dict[str, Columns]:
    """Fixture units in public use, by kind of fixture.

    Source: International Plumbing Code 2018, Table E103.3(2); the residential code has no such
        rows, so that they serve both.
    """
    return load_columns("demand_ipc", "public")


def code_flows(
    tree: Tree,
    *,
    columns: Callable[[Fixture], Columns],
    families: Sequence[Family],
    valve_kinds: Collection[str],
    tank: Curve,
    valve: Curve,
    apart: Collection[str] = (),
) -> LinkFlows:
    """Flows of a code of the fixture-unit kind with cold, hot and total columns.

    The tables begin at one fixture unit. Up to it, where two basins or a basin and a drinking
    fountain share a pipe, that first row is read, though no more than they draw together; a pipe
    to one fixture carries that fixture's own flow. Every other pipe carries what the row says, even
    where its fixtures at their rated flows would draw less: the table is the code's word.

    Args:
        apart: kinds of fixture without units, of which the largest flow below a pipe is added to
            the flow of the others.

    Returns:
        Fixture units, flows in m3/s and the group values that were used.

    Source: International Residential Code 2018/2021, Section P2903.6; International Plumbing Code
        2018, Appendix E; that the first row holds below it is a choice on the safe side.
    """
    public = public_rows()

    def by_use(fixture: Fixture) -> Columns:
        own = columns(fixture)
        return public.get(fixture.kind, own) if is_public(tree, fixture) else own

    units, used = grouped_loads(tree, by_use, families)
    valves = count_kinds(tree, valve_kinds)
    read = np.where(units > 1e-9, np.maximum(units, tank.loads[0]), 0.0)
    small = units <= tank.loads[0] + 1e-9
    flow = few_fixtures_at_own_flow(tree, flows_by_column(read, valves, tank, valve), small, apart)
    if apart:
        added, others = _largest_apart(tree, apart)
        flow = np.maximum(flow, others) + added
    return LinkFlows(load=tuple(units.tolist()), design_flow=tuple(flow.tolist()), groups_used=used)


def count_kinds(tree: Tree, kinds: Collection[str]) -> FloatArray:
    """How many fixtures of some kinds hang below each link, continuous loads left out."""
    return count_below(
        tree,
        [
            float(fixture.kind in kinds and has_own_demand(fixture))
            for fixture in tree.house.fixtures
        ],
    )


def _largest_apart(tree: Tree, apart: Collection[str]) -> tuple[FloatArray, FloatArray]:
    """The largest flow below each link of these kinds, and of all others [m3/s]."""
    own, others = [], []
    for fixture, flow in zip(tree.house.fixtures, fixture_flows(tree), strict=True):
        counted = flow if has_own_demand(fixture) else 0.0
        own.append(counted if fixture.kind in apart else 0.0)
        others.append(0.0 if fixture.kind in apart else counted)
    return np.array(greatest_below(tree, own)), np.array(greatest_below(tree, others))
