"""What closes each connection at a fixture: stops, boxes, wall elbows, a valve's own outlets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from supplycalc.catalogue import nominal_inches
from supplycalc.model import Fixture, Manifold
from supplycalc.questions.parts.connections import (
    DIRECT,
    Need,
    adapter_needs,
    part_row,
    reduced,
    thread_of,
    tube_need,
)
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table, to_si

SINKS = ("kitchen-sink", "bar-sink")
MACHINE = "dishwasher"
OUTLET = "3/8 compression outlet"


def run_end(design: Design, run: RunResult) -> Iterator[Need]:
    """A stop, valve, box or wall elbow at a run that feeds nothing further, and its reducer.

    Source: International Plumbing Code 606.2 (from memory); metric tube common practice.
    """
    fixture = _fixture(design, run)
    if fixture is None:
        yield tube_need("cap", run, run.name)
        return
    row = part_row("fixture-end", fixture.kind)
    part, thread = row["metric" if run.tube.metric else "part"], row["thread"]
    if part == "adapter":
        yield from adapter_needs(run, fixture.name, thread, "male")
        return
    nominal, reducers = _brought_down(run, fixture.name, thread)
    yield from reducers
    if part == "washer-box" and not _first(fixture, run):
        part = DIRECT  # one box has both valves
    note = OUTLET if part == "stop" else ""
    yield tube_need(part, run, fixture.name, nominal, note=note)
    if run.tube.metric and row["metric_valve"]:
        kind = row["metric_valve"]
        yield Need(kind=kind, size=f"R {thread}", place=fixture.name)


def _brought_down(run: RunResult, place: str, thread: str) -> tuple[str, Sequence[Need]]:
    """The end of a run at a fixture: smaller tube stays, wider tube is reduced."""
    own = thread_of(run.tube, run.size)
    if nominal_inches(own) <= nominal_inches(thread):
        return run.nominal, ()
    return reduced(run, place, thread)


def wall_outlets(design: Design, run: RunResult) -> Iterator[Need]:
    """Wall elbows for arm and spout of a bath or shower, at its first branch.

    Metric mixers have arm and spout themselves.
    """
    fixture = _fixture(design, run)
    if fixture is None or not _first(fixture, run) or run.tube.metric:
        return
    count = dict(load_table("parts")["wall-outlet"]["rows"]).get(fixture.kind, 0)
    if not count:
        return
    nominal, _ = _brought_down(run, fixture.name, part_row("fixture-end", fixture.kind)["thread"])
    for kind in (DIRECT, "wall-elbow"):  # the tube's end at the valve, and at the elbow
        yield tube_need(kind, run, fixture.name, nominal, count=count)


def dual_stop(design: Design, i: int) -> tuple[RunResult, RunResult] | None:
    """The branches of a sink and a machine beside it that are its hoses: short, alone at a point.

    Source: parts.toml (common practice, no source).
    """
    tree, results = design.tree, design.run_at
    if len(tree.children[i]) != 2 or isinstance(tree.links[i], Manifold):
        return None
    limit = load_table("parts")["dual-stop"]
    most = to_si(limit["value"], limit["unit"]) + 1e-9
    branches = [results[j] for j in tree.children[i] if j in results and not tree.children[j]]
    kinds = {fixture.kind for run in branches if (fixture := _fixture(design, run)) is not None}
    if not kinds.intersection((MACHINE, "ice-maker")) or not kinds.intersection(SINKS):
        return None
    first, second = branches
    short = all(run.length <= most and not run.tube.metric for run in branches)
    return (first, second) if short else None


def shared_end(before: RunResult, branches: tuple[RunResult, RunResult]) -> Iterator[Need]:
    """One stop with two outlets at the end of the pipe that feeds sink and dishwasher."""
    places = " and ".join(run.run.fixture or run.name for run in branches)
    nominal, reducers = _brought_down(before, places, "1/2")
    yield from reducers
    yield tube_need("dual-stop", before, places, nominal, note="two outlets, 3/8 compression")


def machines_beside_sinks(design: Design) -> Iterator[tuple[RunResult, RunResult]]:
    """Branches of dishwashers, each with the sink's hot branch at the same point, off manifolds."""
    tree, results = design.tree, design.run_at
    for i, below in enumerate(tree.children):
        if isinstance(tree.links[i], Manifold) or dual_stop(design, i) is not None:
            continue
        ends = {
            fixture.kind: results[j]
            for j in below
            if j in results and (fixture := _fixture(design, results[j])) is not None
        }
        sink = next((ends[kind] for kind in SINKS if kind in ends), None)
        machine = ends.get(MACHINE)
        if machine is not None and sink is not None and not machine.run.existing:
            yield machine, sink


def _fixture(design: Design, run: RunResult) -> Fixture | None:
    return None if run.run.fixture is None else design.tree.fixtures[run.run.fixture]


def _first(fixture: Fixture, run: RunResult) -> bool:
    """Whether a branch is the first of its fixture's."""
    first = fixture.cold or fixture.hot
    return first is not None and first.name == run.run.name
