"""Demand method `en806`: loading units of the European simplified method.

The standard goes from loading units straight to pipe sizes; its tables hold the simultaneity and
rest on 2.0 m/s. The design flow for a sum of loading units is read back from them: at that flow and
2.0 m/s every pipe of the tables carries the loading units printed for it, and the tightest pipe
decides. Its copper and PE-X tables, known from memory only, do not take part.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from supplycalc.demand.fixture_units import Curve
from supplycalc.demand.loads import Columns, LinkFlows, greatest_below, has_own_demand, summed_loads
from supplycalc.demand.method import Formula, Method, Reading
from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table, to_si

SHARED_FROM = 6.0
"""Loading units from which the tables give a pipe for several draw-offs, of any length."""


def _flows(tree: Tree) -> LinkFlows:
    """Flows by loading units, read back from the standard's pipe tables.

    A pipe that feeds both sides of a mixer counts both. Never less than the largest draw-off below.

    Source: EN 806-3:2006, Table 2, Clause 4.4 and Tables 3; the flows are derived.
    """
    units_of, row_of = loading_units(), METHOD.row_of

    def columns(fixture: Fixture) -> Columns:
        units = units_of[row_of[fixture.kind]]
        return Columns(cold=units, hot=units, total=2.0 * units)

    load = summed_loads(tree, columns)
    units = [
        units_of[row_of[fixture.kind]] if has_own_demand(fixture) else 0.0
        for fixture in tree.house.fixtures
    ]
    single = np.array(greatest_below(tree, units)) * draw_off_flow()
    flow = np.maximum(flow_by_loading_units().flow(load), single)
    return LinkFlows(load=tuple(load.tolist()), design_flow=tuple(flow.tolist()))


@cache
def loading_units() -> dict[str, float]:
    """Loading units of each draw-off point.

    Source: EN 806-3:2006, Table 2.
    """
    return {
        name: units for name, units, _, _ in load_table("demand_en806")["loading_units"]["rows"]
    }


def draw_off_flow() -> float:
    """Draw-off flow of one loading unit [m3/s]; EN 806-3:2006, Table 2."""
    unit = load_table("demand_en806")["unit"]
    return to_si(unit["value"], unit["unit"])


@cache
def flow_by_loading_units() -> Curve:
    """Loading units to flow in m3/s: up to the first shared pipe in proportion."""
    rows = readings()
    return Curve(loads=tuple(row.load for row in rows), flows=tuple(row.flow for row in rows))


@cache
def readings() -> tuple[Reading, ...]:
    """The pipes of the standard's tables that decide, by the loading units that they carry.

    Source: derived from EN 806-3:2006, Tables 3 (PP, PVC-C, PEX/AL/PE-HD, PB) and Clause 4.4.
    """
    table = load_table("demand_en806")
    velocity = table["velocity"]["value"]
    carried = [
        Reading(
            load=units[-1],
            flow=velocity * flow_area(to_si(inside, "mm")),
            why=f"{pipe} {size} for {units[-1]:g}, inside {inside:g} mm, at {velocity:g} m/s",
        )
        for pipe, size, inside, units, _, _, check in table["pipes"]["rows"]
        if check == "seen" and units[-1] >= SHARED_FROM
    ]
    # a pipe for more units that carries less decides for the fewer units, too
    tightest = [
        (load, min((row for row in carried if row.load >= load), key=lambda row: row.flow))
        for load in sorted({row.load for row in carried})
    ]
    return tuple(Reading(load=load, flow=row.flow, why=row.why) for load, row in tightest)


METHOD = Method(
    name="en806",
    flows=_flows,
    counts="adds loading units of 0.1 l/s; read back from the standard's pipe tables, which take "
    "water to run at 2 m/s and already hold how many draw-offs run at once",
    verb="adds cold and hot loading units and reads pipe tables made for 2 m/s",
    load_name="loading units",
    readings=readings,
    fixture_table="loading_units",
    own_draw_offs=True,
    size_table=None,
    formulas=(
        Formula(
            name="en806-flow",
            words="flow of a sum of loading units: what the tightest pipe of EN 806-3, Tables 3, "
            "carries at 2 m/s",
            source="our own reading back of EN 806-3:2006, Tables 3 and Clause 4.4",
            check="derived",
        ),
    ),
)
