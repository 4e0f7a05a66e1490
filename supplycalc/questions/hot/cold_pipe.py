"""Pipe that stands cold before a hot outlet: its volume, and the wait it costs."""

from __future__ import annotations

import math

from supplycalc.delivery.heat import hot_runs
from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import Manifold
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table, to_si


def usual_factor() -> float:
    """Water drawn before it is hot over the volume in the pipe, the usual figure."""
    return float(load_table("hot_water")["factor"]["usual"]["value"])


def waiting_time(volume: float, flow: float, factor: float) -> float:
    """Time until hot water arrives [s], by the volume in the pipe and how much more is drawn.

    Source: geometry; factor as in hot_water.toml (EPA WaterSense; Hiller, ASHRAE Transactions).
    """
    if volume <= 0.0:
        return 0.0
    return factor * volume / flow if flow > 0.0 else math.inf


def pipe_volume(run: RunResult) -> float:
    """Water in a run [m3]."""
    return flow_area(run.inside_diameter) * run.length


def code_volume(run: RunResult) -> float:
    """Water in a hot run [m3] by the American codes' table, by its inside diameter beyond it.

    Source: International Plumbing Code 2009, Table E202.1.
    """
    table = load_table("hot_water")["volume_per_foot"]
    for tube, *ounces in table["rows"]:
        printed = dict(zip(table["columns"][1:], ounces, strict=True))
        per_foot = printed.get(run.nominal, math.nan)
        if tube == run.tube.name and not math.isnan(per_foot):
            return to_si(per_foot, "floz") * run.length / to_si(1.0, "ft")
    return pipe_volume(run)


def manifold_volume(design: Design, link: int) -> float:
    """Water in a manifold's body [m3], taken as wide as its feed and as long as its ports.

    Source: geometry; the distance of ports is common practice, no source.
    """
    manifold = design.tree.links[link]
    assert isinstance(manifold, Manifold)
    results = design.run_at
    used = [results[i] for i in design.tree.children[link] if i in results]
    feed = results.get(design.tree.parent[link])
    inside_diameter = max(
        (run.inside_diameter for run in ([feed] if feed is not None else used)), default=0.0
    )
    pitch = load_table("parts")["port-pitch"]
    ports = max(manifold.ports or 0, len(used))
    return flow_area(inside_diameter) * ports * to_si(pitch["value"], pitch["unit"])


def cold_stretch(design: Design, link: int) -> tuple[tuple[RunResult, ...], float, bool]:
    """The runs that stand cold before an outlet, their volume, and whether kept-hot pipe is before.

    Returns:
        (runs in order of flow, volume in them and in manifolds [m3], begins at kept-hot pipe).

    Source: geometry.
    """
    results = design.run_at
    path = [results[i] for i in hot_runs(design, link)]
    kept = 0
    while kept < len(path) and path[kept].run.circulated:
        kept += 1
    cold = tuple(path[kept:])
    volume = math.fsum(pipe_volume(run) for run in cold)
    first = cold[0].index if cold else link
    tree = design.tree
    on_the_way = tree.path(link)
    start = on_the_way.index(first)
    while start > 0 and tree.side[on_the_way[start - 1]] == "hot" and kept == 0:
        start -= 1
    for i in on_the_way[start:]:
        if isinstance(tree.links[i], Manifold):
            volume += manifold_volume(design, i)
    return cold, volume, kept > 0
