"""What joins a run to equipment, to the source and to other pipe: parts, rings and threads."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from typing import Any, Literal

from msgspec import Struct

from supplycalc.catalogue import Tube, TubeSize, nominal_inches
from supplycalc.model import Device, Manifold
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table

DIRECT = "direct"
"""No part of its own: a fixture's valve takes the tube, and its rings."""
ENDS = {
    "cap": 1, "wall-elbow": 1, "stop": 1, "dual-stop": 1, "port-valve": 1, "washer-valve": 1,
    "adapter": 1, "washer-box": 1, "ice-maker-box": 1, DIRECT: 1, "bend": 0,
}  # fmt: skip
"""Tube ends of a part; any other has two, a tee three."""
Sex = Literal["male", "female"]
MARKS = {
    ("male", False): "{0} MIP", ("female", False): "{0} FIP",
    ("male", True): "R {0}", ("female", True): "Rp {0}",
}  # fmt: skip
"""(sex, whether the tube is metric) -> a thread as its trade writes it."""


class Need(Struct, frozen=True, kw_only=True):
    """Parts of one kind that one place needs."""

    kind: str
    place: str
    size: str = ""
    """Of a tee run x run x branch, of a reducer large x small, of an adapter tube x thread."""
    joining: str = ""
    """Way of joining, or the tube that it is made for; empty where it does not matter."""
    count: int = 1
    ends: tuple[str, ...] = ()
    """Sizes of the tubes that each of them takes."""
    group: str = ""
    """Where the list has it; empty: as its kind says."""
    note: str = ""
    ports: int | None = None
    """Of a manifold's body."""


def joined(run: RunResult) -> str:
    """How the trade calls a run's joints: polyethylene of copper's outside size by compression."""
    return joint_words(run.material, run.run.joining)


def joint_words(material: str, joining: str) -> str:
    """What the trade calls the joints of a tube.

    Source: parts.toml (common practice, no source).
    """
    rows = load_table("parts")["joint"]["rows"]
    return next((name for tube, way, name in rows if (tube, way) == (material, joining)), joining)


def tube_need(
    kind: str,
    run: RunResult,
    place: str,
    size: str | None = None,
    *,
    count: int = 1,
    ends: tuple[str, ...] | None = None,
    note: str = "",
) -> Need:
    """A part joined to a run, of the run's size and with its kind's tube ends where not given."""
    size = size or run.nominal
    if ends is None:
        ways = tuple(size.split(" x "))
        ends = ways if len(ways) > 1 else ways * ENDS.get(kind, 2)
    return Need(
        kind=kind, size=size, joining=joined(run), place=place, count=count, ends=ends, note=note
    )


@functools.cache
def _threads() -> tuple[str, ...]:
    return tuple(load_table("parts")["thread"]["sizes"])


def thread_of(tube: Tube, size: TubeSize) -> str:
    """The thread that a tube's adapters usually have [nominal inches], the largest known beyond it.

    Source: parts.toml (common practice, no source).
    """
    threads = _threads()
    if tube.metric:
        widest = load_table("parts")["thread"]["outside_diameters"]
        millimetres = size.outside_diameter * 1e3
        steps = zip(threads, widest, strict=True)
        return next((thread for thread, most in steps if millimetres <= most), threads[-1])
    inches = size.rank
    return next((thread for thread in threads if nominal_inches(thread) >= inches), threads[-1])


def _near(thread: str, other: str) -> bool:
    """Whether adapters between two sizes are made: at most one step apart."""
    threads = _threads()
    return abs(threads.index(thread) - threads.index(other)) <= 1


def reduced(
    run: RunResult, place: str, thread: str, nominal: str | None = None, *, step: bool = False
) -> tuple[str, tuple[Need, ...]]:
    """The size of a run's end where it meets a thread, and the reducer before it, if any.

    With `step` the thread's parts are made from one size larger or smaller too.
    """
    tube, size = run.tube, run.tube.size(nominal or run.nominal)
    own = thread_of(tube, size)
    if own == thread or (step and _near(own, thread)) or run.run.joining == "threaded":
        return size.nominal, ()
    alike = [other for other in tube.sizes if other.common and thread_of(tube, other) == thread]
    if not alike:
        return size.nominal, ()
    large, small = sorted((size, alike[-1]), key=lambda each: -each.inside_diameter)
    reducer = tube_need("reducer", run, place, f"{large.nominal} x {small.nominal}")
    return alike[-1].nominal, (reducer,)


def adapter_needs(
    run: RunResult, place: str, thread: str, sex: Sex, nominal: str | None = None
) -> Iterator[Need]:
    """An adapter from a run to a thread, and the reducer before it where none is made so.

    Threaded pipe, whose end is male, takes only what makes it fit.
    """
    if run.run.joining == "threaded":
        own = thread_of(run.tube, run.tube.size(nominal or run.nominal))
        if own != thread:
            large, small = sorted((own, thread), key=nominal_inches, reverse=True)
            yield tube_need("reducer", run, place, f"{large} x {small}")
        elif sex == "female":
            yield tube_need("coupling", run, place, own)
        return
    end, reducers = reduced(run, place, thread, nominal, step=not run.tube.metric)
    yield from reducers
    mark = MARKS[sex, run.tube.metric].format(thread)
    yield tube_need("adapter", run, place, f"{end} x {mark}", ends=(end,))


def equipment_needs(
    design: Design, run: RunResult, at: Device | Manifold | None, place: str, nominal: str = ""
) -> Iterator[Need]:
    """An adapter from a run to a device, a manifold's body or (None) the source.

    With a union where such equipment is taken out for service.

    Source: parts.toml (common practice, no source).
    """
    end = nominal or run.nominal
    row = connection_row(design, at)
    thread = row["thread"] or thread_of(run.tube, run.tube.size(end))
    sex: Sex = "male"
    if row["union"]:
        name = at.name if isinstance(at, Device) else place
        mark = f"Rp {thread}" if run.tube.metric else thread
        yield Need(kind="union", size=mark, place=name)
        if row["own"] == "female":
            nipple = f"R {thread}" if run.tube.metric else thread
            yield Need(kind="nipple", size=nipple, place=name)
    elif row["own"] == "male":
        sex = "female"
    yield from adapter_needs(run, place, thread, sex, end)


def close_coupled(
    design: Design, first: Device | Manifold | None, second: Device | Manifold, place: str
) -> Iterator[Need]:
    """A nipple between two devices (None: the source) without pipe, and a union if need be."""
    rows = [connection_row(design, at) for at in (first, second)]
    thread = next((row["thread"] for row in rows if row["thread"]), "")
    if not thread:
        return
    yield Need(kind="nipple", size=thread, place=place)
    if any(row["union"] for row in rows):
        yield Need(kind="union", size=thread, place=place)


def part_row(table: str, kind: str) -> dict[str, Any]:
    """The row of a kind in a table of parts.toml, or the one of all other kinds."""
    data = load_table("parts")[table]
    rows = {row[0]: dict(zip(data["columns"], row, strict=True)) for row in data["rows"]}
    return rows.get(kind, rows["other"])


def connection_row(design: Design, at: Device | Manifold | None) -> dict[str, Any]:
    """Thread, sex, unions and by-pass of a device, a manifold's body or the source."""
    if isinstance(at, Device):
        return part_row("connection", at.kind)
    if isinstance(at, Manifold):
        return part_row("connection", "manifold")
    # an open tank's outlet is threaded as a main's is
    return part_row("connection", "well" if design.house.source.kind == "well" else "main")


def by_passes(design: Design) -> Iterator[Need]:
    """A by-pass at every treatment that is serviced while the house is in use."""
    for result in design.devices:
        row = connection_row(design, result.device)
        if row["by-pass"]:
            note = "its own valve, or three valves and two tees"
            yield Need(kind="by-pass", size=row["thread"], place=result.device.name, note=note)


def between_families(before: RunResult, after: RunResult, place: str) -> Iterator[Need]:
    """What joins two runs of different tube: adapters screwed into each other, or a transition."""
    if before.run.existing or after.run.existing:
        yield transition(before, after, place)
        return
    thread = thread_of(after.tube, after.size)
    onto_pipe = after.run.joining == "threaded"
    yield from adapter_needs(before, place, thread, "female" if onto_pipe else "male")
    yield from adapter_needs(after, place, thread, "male" if onto_pipe else "female")


def transition(before: RunResult, after: RunResult, place: str, nominal: str = "") -> Need:
    """The joint of a new run to pipe that is there, old size x new size: no old pipe is bought."""
    old, new = (before, after) if before.run.existing else (after, before)
    end = nominal or new.nominal
    return tube_need(
        "transition-fitting",
        new,
        place,
        f"{old.nominal} x {end}",
        ends=(end,),
        note=f"from {old.material} that is there",
    )


def rings(needs: tuple[Need, ...] | list[Need]) -> Iterator[Need]:
    """Rings or stiffeners on every tube end, by the joining (common practice, no source)."""
    rows = {joining: (part, each) for joining, part, each in load_table("parts")["ring"]["rows"]}
    for need in needs:
        if need.joining not in rows:
            continue
        part, each = rows[need.joining]
        for size in need.ends:
            yield Need(
                kind=part,
                size=size,
                joining=need.joining,
                place=need.place,
                count=int(each) * need.count,
                group=need.group,
            )
