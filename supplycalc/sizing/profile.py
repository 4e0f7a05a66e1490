"""The pressure line over the ground: at rest and flowing, at the points of a line's profile."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

from supplycalc.hydraulics.friction import flow_area
from supplycalc.sizing.design import Design, LineProfile, PlaceKind, ProfilePoint, RunResult
from supplycalc.sizing.pressure_range import along, standing_pressures
from supplycalc.tables import CodeLimit, limit
from supplycalc.units import STANDARD_GRAVITY
from supplycalc.units.quantities import Diameter, Velocity

LIMITS = "findings_limits"
LEAST_RISE = 0.05
"""[m] Air and water find no crest or low place in less; common practice, no source."""


def line_profiles(design: Design) -> tuple[LineProfile, ...]:
    """The lines whose profile the file gives, from the water on.

    Returns:
        One for each run with a profile; the pieces of one line stand together.

    Source: hydrostatics; crests by `clearing_flow`.
    """
    profiles = []
    for stretch in design.stretches:
        for pieces in _lines(stretch):
            profiles.append(_profile(stretch, pieces))
    return tuple(profiles)


def clearing_velocity(inside_diameter: Diameter, slope: float) -> Velocity:
    """Speed of water that sweeps air out of a pipe that falls.

    Args:
        slope: fall over length of pipe, the sine of its angle; 0 where it is level.

    Source: as quoted from a handbook on pumping stations (findings_limits.toml): sqrt(g D)
        (0.825 + 0.25 sqrt(sin a)).
    """
    level, falling = clearing_limit().value, limit(LIMITS, "air-clearing-slope").value
    return math.sqrt(STANDARD_GRAVITY * inside_diameter) * (
        level + falling * math.sqrt(min(max(slope, 0.0), 1.0))
    )


def clearing_limit() -> CodeLimit:
    """The figure of the clearing velocity in a level pipe, with its source."""
    return limit(LIMITS, "air-clearing-level")


def _lines(design: Design) -> Iterator[list[RunResult]]:
    """Runs with a profile, those of one line that follow each other together."""
    line: list[RunResult] = []
    for run in design.runs:
        if not run.run.profile:
            continue
        goes_on = (
            line
            and run.run.route is not None
            and run.run.route == line[-1].run.route
            and design.tree.parent[run.index] == line[-1].index
        )
        if line and not goes_on:
            yield line
            line = []
        line.append(run)
    if line:
        yield line


def _profile(design: Design, runs: Sequence[RunResult]) -> LineProfile:
    standing = standing_pressures(design)
    rows: list[tuple[float, float, float, float, float, RunResult]] = []
    passed = 0.0
    for run in runs:
        points = along(run, standing[run.index])
        more = run.static_end_pressure - standing[run.index]
        if rows:
            rows.pop()  # where two pieces meet the point is told once, with the pipe behind it
        rows += [
            (passed + at, height, resting, flowing, resting + more, run)
            for at, height, resting, flowing in points
        ]
        passed += run.run.profile[-1][0]
    kinds = _kinds([row[1] for row in rows])
    return LineProfile(
        name=runs[0].run.route or runs[0].name,
        runs=tuple(run.name for run in runs),
        design_flow=runs[0].design_flow,
        points=tuple(
            ProfilePoint(
                distance=at,
                height=height,
                at_rest=None if resting < 0.0 else resting,
                flowing=None if flowing < 0.0 else flowing,
                highest=max(highest, 0.0),
                kind=kind,
                clearing_flow=_clearing_flow(rows, i, run) if kind == "crest" else None,
            )
            for i, ((at, height, resting, flowing, highest, run), kind) in enumerate(
                zip(rows, kinds, strict=True)
            )
        ),
    )


def _clearing_flow(
    rows: Sequence[tuple[float, float, float, float, float, RunResult]], crest: int, run: RunResult
) -> float:
    """The most that the falling pipe behind a crest asks for, down to where it rises again."""
    most = 0.0
    for (at, height, *_, _), (further, lower, *_, behind) in itertools.pairwise(rows[crest:]):
        if lower >= height:
            break
        speed = clearing_velocity(behind.inside_diameter, (height - lower) / (further - at))
        most = max(most, speed * flow_area(behind.inside_diameter))
    return most


def _kinds(heights: Sequence[float]) -> list[PlaceKind]:
    """Which points are crests, and which low places, ends of the line left out."""
    kinds: list[PlaceKind] = [""] * len(heights)
    for i in range(1, len(heights) - 1):
        if abs(heights[i] - heights[i - 1]) < LEAST_RISE:
            continue  # of a level stretch the first point stands for all
        before = heights[i - 1] - heights[i]
        behind = _behind(heights, i)
        if before < 0.0 and behind < 0.0:
            kinds[i] = "crest"
        elif before > 0.0 and behind > 0.0:
            kinds[i] = "low place"
    return kinds


def _behind(heights: Sequence[float], point: int) -> float:
    """How much higher the line goes on behind a point and what is level with it [m]."""
    for height in heights[point + 1 :]:
        if abs(height - heights[point]) >= LEAST_RISE:
            return height - heights[point]
    return 0.0
