"""Fittings by exact counting: what stands where runs meet and end, and what the runs list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from supplycalc.catalogue import nominal_inches
from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import Device, Manifold
from supplycalc.network import Link
from supplycalc.questions.parts.connections import (
    DIRECT,
    Need,
    adapter_needs,
    between_families,
    by_passes,
    close_coupled,
    connection_row,
    equipment_needs,
    joined,
    rings,
    thread_of,
    transition,
    tube_need,
)
from supplycalc.questions.parts.fixture_ends import dual_stop, run_end, shared_end, wall_outlets
from supplycalc.questions.parts.pipe_lots import Lot, Strand
from supplycalc.sizing.design import Design, RunResult

BY_PLACE = ("tee-run", "tee-branch", "reducer")
"""Listed for their loss; as parts they are counted where runs meet."""
VALVES = ("ball-valve", "gate-valve", "globe-valve", "angle-valve", "check-valve", "foot-valve")
LEAST_WIDTH = 0.95
"""Inside diameter of tees of another tube, over that of the pipe that feeds them."""


def fitting_needs(
    design: Design, pieces: Sequence[Strand], bought: Sequence[Lot]
) -> tuple[Need, ...]:
    """Every fitting, valve and stop of a design, place by place from the source down.

    Source: ends at fixtures by International Plumbing Code 606.2 (from memory).
    """
    needs = [need for i in range(len(design.tree)) for need in _at_point(design, i, pieces)]
    new = [run for run in design.runs if not run.run.existing]
    needs += [need for run in new for need in _listed(design, run, needs)]
    needs += [
        tube_need("coupling", joined.strand.runs[0], joined.strand.name, count=joined.count)
        for lot in bought
        for joined in lot.joints
    ]
    needs += [need for run in new for need in wall_outlets(design, run)]
    return (*(need for need in needs if need.kind != DIRECT), *rings(needs), *by_passes(design))


def _at_point(design: Design, i: int, pieces: Sequence[Strand]) -> Iterator[Need]:
    """What stands at the end of link i."""
    tree = design.tree
    results = design.run_at
    link, place, before = tree.links[i], tree.points[i], results.get(i)
    below = tuple(j for j in tree.children[i] if j not in results or not results[j].run.fed_back)
    if before is not None and before.run.fed_back:
        at = before.nominal
        for run in (results[j] for j in below if j in results):
            yield tube_need("tee", before, place, f"{at} x {at} x {run.nominal}")
            if not _same_family(run, before):
                yield from between_families(before, run, place)
        return
    runs = [results[j] for j in below if j in results]
    if isinstance(link, Manifold):
        return
    meeting = [run for run in (before, *runs) if run is not None]
    if meeting and all(run.run.existing for run in meeting):
        return  # nothing new meets here
    shared = dual_stop(design, i)
    if shared is not None and before is not None:
        yield from shared_end(before, shared)
        return
    if not below:
        hose = before is not None and dual_stop(design, tree.parent[i]) is not None
        if before is not None and not hose:
            yield from run_end(design, before)
        return
    others = [other for j in below if j not in results and (other := _equipment(tree.links[j]))]
    if len(below) == 1:
        if before is None and others:
            yield from close_coupled(design, _equipment(link), others[0], place)
        elif before is None:
            yield from equipment_needs(design, runs[0], _equipment(link), place)
        elif not runs:
            yield from equipment_needs(design, before, others[0], place)
        else:
            yield from _in_line(before, runs[0], pieces, place)
        return
    feed = results.get(tree.feeding_run[i])
    yield from _tees(design, before, feed, runs, others, _equipment(link), place)


def _equipment(link: Link) -> Device | Manifold | None:
    """A link that is no pipe; None for the source and for runs."""
    return link if isinstance(link, Device | Manifold) else None


def _in_line(
    before: RunResult, after: RunResult, pieces: Sequence[Strand], place: str
) -> Iterator[Need]:
    if any(before in strand.runs and after in strand.runs for strand in pieces):
        return
    if not _same_family(before, after):
        yield from between_families(before, after, place)
    elif before.nominal == after.nominal:
        yield tube_need("coupling", before, place)
    else:
        large, small = sorted((before, after), key=lambda run: -run.inside_diameter)
        yield tube_need("reducer", before, place, f"{large.nominal} x {small.nominal}")


def _same_family(run: RunResult, other: RunResult) -> bool:
    return (run.material, run.run.joining) == (other.material, other.run.joining)


def _tees(
    design: Design,
    before: RunResult | None,
    feed: RunResult | None,
    runs: Sequence[RunResult],
    others: Sequence[Device | Manifold],
    behind: Device | Manifold | None,
    place: str,
) -> Iterator[Need]:
    """One tee less than ways out: the smallest branch off first, the largest goes on."""
    line = _line(before, runs)
    if line is None:
        return
    at = _line_size(line, before or feed, runs)
    if before is None:
        if feed is not None and not others:
            at = _behind_equipment(design, line, at, feed, runs, behind)
        yield from equipment_needs(design, line, behind, place, at)
    elif not _same_family(before, line):
        yield from _to_line(before, line, at, place)
    ways: list[tuple[float, str]] = []
    for run in runs:
        if _same_family(run, line):
            ways.append((run.inside_diameter, run.nominal))
            continue
        # another tube: an outlet of the line's own family in the nearest size, and two adapters
        sizes = line.tube.sizes
        near = min(sizes, key=lambda size: abs(size.inside_diameter - run.inside_diameter))
        ways.append((near.inside_diameter, near.nominal))
        yield from _to_line(run, line, near.nominal, place)
    for other in others:
        ways.append((line.tube.size(at).inside_diameter, at))
        yield from equipment_needs(design, line, other, place, at)
    nominals = [nominal for _, nominal in sorted(ways)]
    through = nominals.pop()
    for number, branch in enumerate(nominals, start=1):
        on = through if number == len(nominals) else at
        yield tube_need("tee", line, place, f"{at} x {on} x {branch}")


def _to_line(run: RunResult, line: RunResult, nominal: str, place: str) -> Iterator[Need]:
    """A run of another tube at tees of a line's own."""
    if run.run.existing or line.run.existing:
        yield transition(run, line, place, nominal if run.run.existing else "")
        return
    thread = thread_of(run.tube, run.size)
    yield from adapter_needs(run, place, thread, "male")
    yield from adapter_needs(line, place, thread, "female", nominal)


def _line_size(line: RunResult, feed: RunResult | None, runs: Sequence[RunResult]) -> str:
    """Size of the tees' line: that of the pipe which feeds them, in the line's own family."""
    if feed is not None and _same_family(feed, line):
        return feed.nominal
    if feed is not None and not (feed.tube.metric or line.tube.metric):
        # the trade goes by nominal sizes
        rank = max(feed.size.rank, *(run.size.rank for run in runs if _same_family(run, line)))
        named = [size.nominal for size in line.tube.sizes if size.rank >= rank - 1e-9]
        return named[0] if named else line.tube.sizes[-1].nominal
    least = max((run.inside_diameter for run in runs if _same_family(run, line)), default=0.0)
    wanted = max(least, LEAST_WIDTH * feed.inside_diameter if feed is not None else 0.0)
    sizes = line.tube.sizes
    wide = [size.nominal for size in sizes if size.inside_diameter >= wanted]
    return wide[0] if wide else sizes[-1].nominal


def _behind_equipment(
    design: Design,
    line: RunResult,
    at: str,
    feed: RunResult,
    runs: Sequence[RunResult],
    behind: Device | Manifold | None,
) -> str:
    """Size of tees behind equipment alone: its thread or the widest pipe that leaves them, if less,
    but wide enough that all the water keeps the line's velocity limit."""
    thread = connection_row(design, behind)["thread"]
    if line.tube.metric or not thread:
        return at
    ranks = [run.size.rank for run in runs if _same_family(run, line)]
    least, most = max(*ranks, nominal_inches(thread)), line.tube.size(at).rank
    water = min(feed.design_flow, sum(run.design_flow for run in runs))
    return next(
        (
            it.nominal
            for it in line.tube.sizes
            if least - 1e-9 <= it.rank <= most
            and water <= line.velocity_limit * flow_area(it.inside_diameter)
        ),
        at,
    )


def _line(before: RunResult | None, runs: Sequence[RunResult]) -> RunResult | None:
    """The run whose tube the tees are made for: what feeds them, or what most ways out are."""

    def alike(run: RunResult) -> int:
        return sum(_same_family(run, other) for other in runs)

    most = max(sorted(runs, key=lambda run: -run.inside_diameter), key=alike, default=None)
    if before is not None and (most is None or alike(before) or alike(most) < 2):
        return before
    return most


def _listed(design: Design, result: RunResult, counted: Sequence[Need]) -> Iterator[Need]:
    """What a run lists beyond what its ends have already."""
    run = result.run
    start = design.tree.parent[result.index]
    above, ends = design.tree.links[start], {result.end, design.tree.points[start]}
    for kind, number in run.fittings or ():
        if kind in BY_PLACE or kind == "bend" or number == 0:
            continue
        have = 0
        if kind == "adapter":
            have = sum(
                need.count
                for need in counted
                if need.kind == kind
                and need.place in ends
                and need.ends == (result.nominal,)
                and need.joining == joined(result)
            )
        elif kind == "stop":
            have = 1 if run.fixture is not None else 0
        elif kind in VALVES and isinstance(above, Manifold):
            # the valve at its port
            have = 1
        if number > have:
            yield tube_need(kind, result, run.name, count=number - have)


def tees_without_branch(design: Design) -> tuple[str, ...]:
    """Runs that list a tee though nothing branches off at either of their ends."""
    tree = design.tree
    lone = []
    for run in design.runs:
        branches = any(
            len(tree.children[i]) > 1 and not isinstance(tree.links[i], Manifold)
            for i in (tree.parent[run.index], run.index)
        )
        lists = any(kind.startswith("tee") and n for kind, n in run.run.fittings or ())
        if lists and not branches:
            lone.append(run.name)
    return tuple(lone)


MANY_WAYS = 5
"""Pipes from one point that ask for a manifold rather than tees"""


def crowded(design: Design) -> tuple[tuple[str, int], ...]:
    """Points, each with how many ways out, at which a manifold would serve better than tees."""
    tree = design.tree
    return tuple(
        (tree.points[i], len(fed))
        for i, fed in enumerate(tree.children)
        if len(fed) >= MANY_WAYS and not isinstance(tree.links[i], Manifold)
    )
