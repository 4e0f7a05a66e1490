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
VALVES = ("ball-valve", "gate-valve", "globe-valve", "angle-valve", "check-valve")
BORE_SLACK = 0.95
"""Tees of another tube may be so much narrower than the pipe that feeds them; our own."""
ENDS = {
    "adapter": 1, "cap": 1, "wall-elbow": 1, "stop": 1, "washer-valve": 1, "port-valve": 1,
    "drain-valve": 0, "port-cap": 0, "bend": 0,
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
    found = [need for i in range(len(design.tree)) for need in _at_point(design, i, pieces)]
    found += [need for one in design.runs for need in _listed(design, one, found)]
    for lot in bought:
        for strand, joints in lot.joints:
            found.append(
                Need(
                    kind="coupling",
                    size=lot.size.nominal,
                    joining=strand.runs[0].run.joining,
                    place=strand.name,
                    count=joints,
                )
            )
    return (*found, *_rings(found))


def _at_point(design: Design, i: int, pieces: Sequence[Strand]) -> Iterator[Need]:
    """What stands at the end of link i."""
    tree = design.tree
    results = design.run_at
    link, place, below = tree.links[i], tree.points[i], tree.children[i]
    before = results.get(i)
    runs = [results[j] for j in below if j in results]
    if isinstance(link, Manifold):
        return
    if not below:
        if before is not None:
            yield _end(before)
        return
    if len(below) == 1:
        after = runs[0] if runs else None
        yield from _in_line(before, after, pieces, place)
        return
    others = [tree.links[j] for j in below if j not in results]
    yield from _tees(before, results.get(tree.feeding_run(i)), runs, others, place)


def _end(one: RunResult) -> Need:
    """What closes a run that feeds nothing further: a stop, a valve, an elbow in the wall."""
    if one.run.fixture is None:
        return _need("cap", one, one.run.name)
    return _need("stop", one, one.run.fixture)


def _need(kind: str, one: RunResult, place: str) -> Need:
    return Need(kind=kind, size=one.size.nominal, joining=one.run.joining, place=place)


def _in_line(
    before: RunResult | None, after: RunResult | None, pieces: Sequence[Strand], place: str
) -> Iterator[Need]:
    if before is None or after is None:
        # the source or a device on one side: its own connection, by an adapter
        for one in (before, after):
            if one is not None:
                yield _need("adapter", one, place)
        return
    if any(before in strand.runs and after in strand.runs for strand in pieces):
        return
    if not _same_family(before, after):
        yield _need("adapter", before, place)
        yield _need("adapter", after, place)
    elif before.size.nominal == after.size.nominal:
        yield _need("coupling", before, place)
    else:
        large, small = sorted((before, after), key=lambda one: -one.size.inside_diameter)
        yield Need(
            kind="reducer",
            size=f"{large.size.nominal} x {small.size.nominal}",
            joining=before.run.joining,
            place=place,
        )


def _same_family(one: RunResult, other: RunResult) -> bool:
    return (one.run.material, one.run.joining) == (other.run.material, other.run.joining)


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
        yield Need(kind="adapter", size=at, joining=line.run.joining, place=place)
    elif not _same_family(before, line):
        yield _need("adapter", before, place)
        yield Need(kind="adapter", size=at, joining=line.run.joining, place=place)
    ways: list[tuple[float, str]] = []
    for one in runs:
        if _same_family(one, line):
            ways.append((one.size.inside_diameter, one.size.nominal))
            continue
        # another tube: an outlet of the line's own family in the nearest size, and two adapters
        sizes = line.tube.sizes
        near = min(sizes, key=lambda s: abs(s.inside_diameter - one.size.inside_diameter))
        ways.append((near.inside_diameter, near.nominal))
        yield Need(kind="adapter", size=near.nominal, joining=line.run.joining, place=place)
        yield _need("adapter", one, place)
    for _ in others:
        ways.append((line.tube.size(at).inside_diameter, at))
        yield Need(kind="adapter", size=at, joining=line.run.joining, place=place)
    nominals = [nominal for _, nominal in sorted(ways)]
    through = nominals.pop()
    for number, branch in enumerate(nominals, start=1):
        on = through if number == len(nominals) else at
        yield Need(
            kind="tee", size=f"{at} x {on} x {branch}", joining=line.run.joining, place=place
        )


def _line_size(line: RunResult, feed: RunResult | None, runs: Sequence[RunResult]) -> str:
    """Size of the tees' line: that of the pipe which feeds them, in the line's own family."""
    if feed is not None and _same_family(feed, line):
        return feed.size.nominal
    least = max((one.size.inside_diameter for one in runs if _same_family(one, line)), default=0.0)
    wanted = max(least, BORE_SLACK * feed.size.inside_diameter if feed is not None else 0.0)
    sizes = line.tube.sizes
    return next((s.nominal for s in sizes if s.inside_diameter >= wanted), sizes[-1].nominal)


def _line(before: RunResult | None, runs: Sequence[RunResult]) -> RunResult | None:
    """The run whose tube the tees are made for: what feeds them, or what most ways out are."""
    largest = sorted(runs, key=lambda one: -one.size.inside_diameter)
    if before is not None:
        alike = [sum(_same_family(one, other) for other in runs) for one in largest]
        if not runs or any(_same_family(before, one) for one in runs) or max(alike) < 2:
            return before
    if not largest:
        return None
    return max(largest, key=lambda one: sum(_same_family(one, other) for other in runs))


def _listed(design: Design, one: RunResult, counted: Sequence[Need]) -> Iterator[Need]:
    """What a run lists beyond what its ends have already."""
    run = one.run
    start = design.tree.parent[one.index]
    above, ends = design.tree.links[start], {one.end, design.tree.points[start]}
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
                and (need.size, need.joining) == (one.size.nominal, run.joining)
            )
        elif kind == "stop":
            have = 1 if run.fixture is not None else 0
        elif kind in VALVES and isinstance(above, Manifold):
            # the valve at its port
            have = 1
        if number > have:
            yield Need(
                kind=kind,
                size=one.size.nominal,
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


def with_fixture_ends(design: Design, needs: Sequence[Need]) -> tuple[Need, ...]:
    """The same needs, each stop made the part that its fixture's kind asks for.

    Args:
        design: for the fixtures' kinds.
        needs: of `fitting_needs`.

    Returns:
        The needs.

    Source: as `fixture_end`.
    """
    kinds = {fixture.name: fixture.kind for fixture in design.house.fixtures}
    return tuple(
        Need(
            kind=fixture_end(kinds[one.place]),
            size=one.size,
            joining=one.joining,
            place=one.place,
            count=one.count,
        )
        if one.kind == "stop" and one.place in kinds
        else one
        for one in needs
    )


def _rings(needs: Sequence[Need]) -> Iterator[Need]:
    """Rings on every tube end of every part, by the way of joining."""
    rows = {joining: (part, each) for joining, part, each in load_table("parts")["ring"]["rows"]}
    for one in needs:
        if one.joining not in rows:
            continue
        part, each = rows[one.joining]
        sizes = one.size.split(" x ")
        if len(sizes) == 1:
            sizes *= ENDS.get(one.kind, 2)
        for size in sizes:
            yield Need(
                kind=part,
                size=size,
                joining=one.joining,
                place=one.place,
                count=int(each) * one.count,
            )


def rings_of(needs: Sequence[Need]) -> tuple[Need, ...]:
    """Rings of parts that are counted elsewhere, such as a manifold's.

    Args:
        needs: the parts.

    Returns:
        Their rings.

    Source: parts.toml (common practice, no source).
    """
    return tuple(_rings(needs))


def tees_without_branch(design: Design) -> tuple[str, ...]:
    """Runs that list a tee though nothing branches off at either of their ends.

    Args:
        design: the sized house.

    Returns:
        Names of the runs.
    """
    tree = design.tree
    found = []
    for one in design.runs:
        above = tree.parent[one.index]
        meets = [
            i
            for i in (above, one.index)
            if len(tree.children[i]) > 1 and not isinstance(tree.links[i], Manifold)
        ]
        lists = any(kind.startswith("tee") and n for kind, n in one.run.fittings or ())
        if lists and not meets:
            found.append(one.run.name)
    return tuple(found)


MANY_WAYS = 5
"""Pipes from one point that ask for a manifold rather than tees; our own."""


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
