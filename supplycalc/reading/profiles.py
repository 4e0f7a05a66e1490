"""Profiles of runs: whether they fit length and heights; a run cut where its size may change."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from supplycalc.model import TANK_INLET, Run
from supplycalc.problems import Problem
from supplycalc.reading.links import Entries, Link, gauge_point, line_end
from supplycalc.reading.reporter import Reporter, quoted
from supplycalc.reading.well_line import WellLine, far_tanks, gauge_heights
from supplycalc.units import UnitSystem, show

LENGTH_SLACK, LEAST_SLACK = 0.01, 0.3
"""A profile may end so far from the run's length: this share of it, or so many metres."""
HEIGHT_SLACK = 0.15
"""[m] Half a foot: nearer than that nobody reads a height off a slope."""


def check_profiles(
    reporter: Reporter,
    entries: Entries,
    links: list[Link],
    line: WellLine,
    runs: Iterable[Run],
    system: UnitSystem,
) -> None:
    """Report profiles that end elsewhere than their run."""
    heights = _heights(entries, links, line)
    for run in runs:
        if run.split and run.fixture is not None:
            message = (
                f"run {quoted(run.name)}: a fixture's own branch keeps one size; write it as a "
            )
            reporter.problems.append(_problem(run, f"{message}[[run]] to split it"))
        if not run.profile:
            if run.split:
                message = f"run {quoted(run.name)}: split needs a profile, whose points cut it"
                reporter.problems.append(_problem(run, message))
            continue
        last = run.profile[-1][0]
        if abs(last - run.length) > max(LENGTH_SLACK * run.length, LEAST_SLACK):
            ends, length = show(last, "length", system), show(run.length, "length", system)
            message = (
                f"run {quoted(run.name)}: its profile ends at {ends}, and it is {length} long; "
                "distances are along the pipe"
            )
            reporter.problems.append(_problem(run, message))
        for point, (_, height), word in (
            (run.start, run.profile[0], "starts"),
            (run.end, run.profile[-1], "ends"),
        ):
            known = heights.setdefault(point, height)
            if abs(known - height) > HEIGHT_SLACK:
                seen, other = (show(each, "elevation", system) for each in (height, known))
                message = (
                    f"run {quoted(run.name)}: its profile {word} at a height of {seen}, and "
                    f"{quoted(point)} stands at {other}"
                )
                reporter.problems.append(_problem(run, message))


def _problem(run: Run, message: str) -> Problem:
    return Problem(place=run.place, message=message)


def _heights(entries: Entries, links: list[Link], line: WellLine) -> dict[str, float]:
    """Height of each point that the file gives one [m]."""
    heights: dict[str, float] = {}
    for _, height in gauge_heights(entries):
        heights.setdefault(gauge_point(entries), height)
    by_path = {entry.path: entry for kind in _PLACED for entry in entries[kind]}
    named = {entry.get("name"): entry for entry in entries["point"]}
    for point, entry in (
        *named.items(),
        *((link.end, by_path[link.path[:2]]) for link in links if link.path[:2] in by_path),
    ):
        height = entry.get("elevation")
        if height is None and isinstance(entry.get("at"), tuple):
            height = entry.get("at")[2]
        if height is not None:
            heights.setdefault(point, height)
    for tank in far_tanks(entries):
        if tank.get("elevation") is not None:
            heights.setdefault(tank.get("at"), tank.get("elevation"))
    for source in entries["source"]:
        if line_end(entries) == TANK_INLET and source.get("highest_level") is not None:
            heights.setdefault(TANK_INLET, source.get("highest_level"))
    well = next((source.get("well") for source in entries["source"]), None)
    if well is not None and well.has("elevation") and line.line and not line.suction:
        heights.setdefault(line.line[0].end, well.get("elevation"))
    return heights


_PLACED = ("device", "manifold", "fixture")


def pieces(run: Run) -> Iterator[Run]:
    """A run cut at the points of its profile, where its size may change there.

    Yields:
        The run itself, or its pieces in order; fittings and joints stand in the first.
    """
    if not run.split:
        yield run
        return
    spans = list(itertools.pairwise(run.profile))
    scale = run.length / run.profile[-1][0]
    for i, ((begin, low), (end, high)) in enumerate(spans, start=1):
        first, last = i == 1, i == len(spans)
        length = (end - begin) * scale
        yield replace(
            run,
            name=f"{run.name} {i}",
            start=run.start if first else f"{run.name}, point {i}",
            end=run.end if last else f"{run.name}, point {i + 1}",
            length=length,
            profile=((0.0, low), (length, high)),
            fittings=run.fittings if first or run.fittings is None else (),
            joints=run.joints if first else 0,
            split=False,
            route=run.route or run.name,
        )
