"""Fittings by exact counting: what stands where runs meet and end, and what the runs list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from supplycalc.model import Manifold
from supplycalc.network import Link
from supplycalc.questions.parts.pipe_lots import Lot, Strand
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table

BY_PLACE = ("tee-run", "tee-branch", "reducer")
"""Listed for their loss; as parts they are counted where runs meet."""
DIRECT = "direct"
"""No part of its own: the fixture's valve takes the tube, and its rings."""
VALVES = ("ball-valve", "gate-valve", "globe-valve", "angle-valve", "check-valve")
LEAST_WIDTH = 0.95
"""Inside diameter of tees of another tube, over that of the pipe that feeds them."""
ENDS = {
    "adapter": 1, "cap": 1, "wall-elbow": 1, "stop": 1, "washer-valve": 1, "port-valve": 1,
    "direct": 1, "drain-valve": 0, "port-cap": 0, "bend": 0,
}  # fmt: skip
"""Tube ends of a part; any other has two, a tee three."""


class Need(Struct, frozen=True, kw_only=True):
    """Parts of one kind that one place needs."""

    kind: str
    size: str
    """Of a tee run x run x branch, of a reducer large x small."""
    joining: str
    place: str
    count: int = 1


def fitting_needs(
    design: Design, pieces: Sequence[Strand], bought: Sequence[Lot]
) -> tuple[Need, ...]:
    """Every fitting, valve and stop of a design, place by place from the source down.

    Args:
        design: with a size for every run.
        pieces: its strands.
        bought: its lots, for couplings between sticks.

    Returns:
        Needs; the same part may stand in several.

    Source: ends at fixtures by International Plumbing Code 606.2 (from memory).
    """
    needs = [need for i in range(len(design.tree)) for need in _at_point(design, i, pieces)]
    new = [run for run in design.runs if not run.run.existing]
    needs += [need for run in new for need in _listed(design, run, needs)]
    needs += [
        Need(
            kind="coupling",
            size=lot.size.nominal,
            joining=joined.strand.runs[0].run.joining,
            place=joined.strand.name,
            count=joined.count,
        )
        for lot in bought
        for joined in lot.joints
    ]
    needs += [need for run in new for need in _wall_outlets(design, run)]
    return (*(need for need in needs if need.kind != DIRECT), *rings(needs))


def _wall_outlets(design: Design, run: RunResult) -> Iterator[Need]:
    """Wall elbows for arm and spout behind the valve of a bath or shower, once for each fixture."""
    fixture = next((each for each in design.house.fixtures if each.name == run.run.fixture), None)
    first = None if fixture is None else fixture.cold or fixture.hot
    if fixture is None or first is None or first.name != run.name:
        return
    count = dict(load_table("parts")["wall-outlet"]["rows"]).get(fixture.kind, 0)
    for kind in (DIRECT, "wall-elbow"):  # the tube's end at the valve, and at the elbow
        if count:
            yield Need(
                kind=kind,
                size=run.nominal,
                joining=run.run.joining,
                place=fixture.name,
                count=count,
            )


def _at_point(design: Design, i: int, pieces: Sequence[Strand]) -> Iterator[Need]:
    """What stands at the end of link i."""
    tree = design.tree
    results = design.run_at
    link, place, below = tree.links[i], tree.points[i], tree.children[i]
    before = results.get(i)
    runs = [results[j] for j in below if j in results]
    if isinstance(link, Manifold):
        return
    meeting = [run for run in (before, *runs) if run is not None]
    if meeting and all(run.run.existing for run in meeting):
        return  # nothing new meets here
    if not below:
        if before is not None:
            yield _end(design, before)
        return
    if len(below) == 1:
        after = runs[0] if runs else None
        yield from _in_line(before, after, pieces, place)
        return
    others = [tree.links[j] for j in below if j not in results]
    yield from _tees(before, results.get(tree.feeding_run(i)), runs, others, place)


def _end(design: Design, run: RunResult) -> Need:
    """What closes a run that feeds nothing further: a stop, a valve, an elbow in the wall."""
    name = run.run.fixture
    if name is None:
        return _need("cap", run, run.name)
    kind = next(fixture.kind for fixture in design.house.fixtures if fixture.name == name)
    return _need(fixture_end(kind), run, name)


def _need(kind: str, run: RunResult, place: str, size: str | None = None) -> Need:
    """A part that is joined to a run; its size is the run's unless given."""
    return Need(kind=kind, size=size or run.nominal, joining=run.run.joining, place=place)


def _in_line(
    before: RunResult | None, after: RunResult | None, pieces: Sequence[Strand], place: str
) -> Iterator[Need]:
    if before is None or after is None:
        # the source or a device on one side: its own connection, by an adapter
        for run in (before, after):
            if run is not None:
                yield _need("adapter", run, place)
        return
    if any(before in strand.runs and after in strand.runs for strand in pieces):
        return
    if not _same_family(before, after):
        yield _need("adapter", before, place)
        yield _need("adapter", after, place)
    elif before.nominal == after.nominal:
        yield _need("coupling", before, place)
    else:
        large, small = sorted((before, after), key=lambda run: -run.inside_diameter)
        yield _need("reducer", before, place, f"{large.nominal} x {small.nominal}")


def _same_family(run: RunResult, other: RunResult) -> bool:
    return (run.material, run.run.joining) == (other.material, other.run.joining)


def _tees(
    before: RunResult | None,
    feed: RunResult | None,
    runs: Sequence[RunResult],
    others: Sequence[Link],
    place: str,
) -> Iterator[Need]:
    """One tee less than ways out: the smallest branch off first, the largest goes on."""
    line = _line(before, runs)
    if line is None:
        return
    at = _line_size(line, before or feed, runs)
    if before is None:
        yield _need("adapter", line, place, at)
    elif not _same_family(before, line):
        yield _need("adapter", before, place)
        yield _need("adapter", line, place, at)
    ways: list[tuple[float, str]] = []
    for run in runs:
        if _same_family(run, line):
            ways.append((run.inside_diameter, run.nominal))
            continue
        # another tube: an outlet of the line's own family in the nearest size, and two adapters
        sizes = line.tube.sizes
        near = min(sizes, key=lambda size: abs(size.inside_diameter - run.inside_diameter))
        ways.append((near.inside_diameter, near.nominal))
        yield _need("adapter", line, place, near.nominal)
        yield _need("adapter", run, place)
    for _ in others:
        ways.append((line.tube.size(at).inside_diameter, at))
        yield _need("adapter", line, place, at)
    nominals = [nominal for _, nominal in sorted(ways)]
    through = nominals.pop()
    for number, branch in enumerate(nominals, start=1):
        on = through if number == len(nominals) else at
        yield _need("tee", line, place, f"{at} x {on} x {branch}")


def _line_size(line: RunResult, feed: RunResult | None, runs: Sequence[RunResult]) -> str:
    """Size of the tees' line: that of the pipe which feeds them, in the line's own family."""
    if feed is not None and _same_family(feed, line):
        return feed.nominal
    least = max((run.inside_diameter for run in runs if _same_family(run, line)), default=0.0)
    wanted = max(least, LEAST_WIDTH * feed.inside_diameter if feed is not None else 0.0)
    sizes = line.tube.sizes
    wide = [size.nominal for size in sizes if size.inside_diameter >= wanted]
    return wide[0] if wide else sizes[-1].nominal


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
                and (need.size, need.joining) == (result.nominal, run.joining)
            )
        elif kind == "stop":
            have = 1 if run.fixture is not None else 0
        elif kind in VALVES and isinstance(above, Manifold):
            # the valve at its port
            have = 1
        if number > have:
            yield Need(
                kind=kind,
                size=result.nominal,
                joining=run.joining,
                place=run.name,
                count=number - have,
            )


def fixture_end(kind: str) -> str:
    """What closes a connection at a kind of fixture.

    Args:
        kind: of fixture.

    Returns:
        Kind of part.

    Source: International Plumbing Code 606.2 (from memory).
    """
    rows: dict[str, str] = dict(load_table("parts")["fixture-end"]["rows"])
    return rows.get(kind, rows["other"])


def rings(needs: Sequence[Need]) -> Iterator[Need]:
    """Rings on every tube end of every part, by the way of joining (common practice, no source)."""
    rows = {joining: (part, each) for joining, part, each in load_table("parts")["ring"]["rows"]}
    for need in needs:
        if need.joining not in rows:
            continue
        part, each = rows[need.joining]
        sizes = need.size.split(" x ")
        if len(sizes) == 1:
            sizes *= ENDS.get(need.kind, 2)
        for size in sizes:
            yield Need(
                kind=part,
                size=size,
                joining=need.joining,
                place=need.place,
                count=int(each) * need.count,
            )


def tees_without_branch(design: Design) -> tuple[str, ...]:
    """Runs that list a tee though nothing branches off at either of their ends.

    Args:
        design: the sized house.

    Returns:
        Names of the runs.
    """
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
    """Points with so many ways out that a manifold would serve better than tees.

    Args:
        design: the sized house.

    Returns:
        (point, number of ways out).
    """
    tree = design.tree
    return tuple(
        (tree.points[i], len(fed))
        for i, fed in enumerate(tree.children)
        if len(fed) >= MANY_WAYS and not isinstance(tree.links[i], Manifold)
    )
