"""Taps on the line between pump and tank: what the tank gives them, back through that line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from msgspec.structs import replace

from supplycalc.catalogue import CHECK_VALVES
from supplycalc.model import BACK_FROM_TANK, Device, House, Point, Run
from supplycalc.model.field_paths import hung_elsewhere
from supplycalc.problems import InputError, Problem
from supplycalc.reading.reporter import quoted

FED_BACK = "{0}, fed back"
"""Name of a point before the tank, as the tank feeds it."""


def with_taps_before_tank(house: House) -> House:
    """The same house with what hangs on its line before the tank fed back from the tank.

    While the pump rests, its check valve shut, such a tap is fed by the tank, through the line the
    other way; while the pump runs it has more pressure. So the part of the line that it draws
    through stands in the tree twice: as the line that fills the tank, and behind the tank as pipe
    that is there already.

    Raises:
        InputError: water cannot go back, or the line's size there is left open.
    """
    between = {link.end: i for i, link in enumerate(house.line[:-1])}
    starts = [link.start for link in _behind(house) if link.start in between]
    if not starts:
        return house
    back = house.line[min(between[start] for start in starts) + 1 :]
    problems = [*_no_way_back(back), *_beside_a_meeting(house, between)]
    if problems:
        raise InputError(problems)
    heights = {point.name: point for point in house.points}
    at, runs, points = house.source.point, [], []
    for link in reversed(back):
        assert isinstance(link, Run)
        end = FED_BACK.format(link.start)
        runs.append(
            replace(
                link,
                name=BACK_FROM_TANK.format(link.name),
                start=at,
                end=end,
                existing=True,
                group=None,
                buried=None,
                embedded=False,
                profile=(),
            )
        )
        if link.start in heights:
            points.append(replace(heights[link.start], name=end))
        elif house.source.well is not None and link.start == house.line[0].end:
            points.append(Point(name=end, elevation=house.source.well.elevation))
        at = end
    hanging = ", ".join(link.name for link in _behind(house) if link.start in between)
    told = (
        f"{hanging}: fed back from the tank through the line, as while the pump rests; while it "
        "runs there is more"
    )

    fed = hung_elsewhere(house, {point: FED_BACK.format(point) for point in between})
    return replace(
        fed,
        points=(*house.points, *points),
        runs=(*fed.runs, *runs),
        assumptions=(*house.assumptions, told),
    )


def _behind(house: House) -> Iterator[Any]:
    """Every link that is not before the tank."""
    yield from (*house.runs, *house.devices, *house.manifolds)
    for fixture in house.fixtures:
        yield from fixture.branches


def _beside_a_meeting(house: House, between: dict[str, int]) -> Iterator[Problem]:
    """Taps on the first well's line where the water of the others does not pass."""
    if not house.further_wells:
        return
    joins = house.further_wells[0].joins
    meeting = between.get(joins, len(house.line))
    for link in _behind(house):
        if between.get(link.start, meeting) < meeting:
            message = (
                f"{quoted(link.name)} hangs on the line of one well before the others join; let it "
                f"start from {quoted(joins)}, where they meet, or behind"
            )
            yield Problem(place=link.place, message=message)


def _no_way_back(back: tuple[Run | Device, ...]) -> Iterator[Problem]:
    why = "what hangs before it would have water only while the pump runs"
    for link in back:
        if isinstance(link, Device):
            message = (
                f"{quoted(link.name)} stands between a tap and the tank; let what hangs before it "
                f"start from {quoted(link.end)}, behind it"
            )
        elif any(kind in CHECK_VALVES for kind, _ in link.fittings or ()):
            message = f"the check valve of {quoted(link.name)} lets nothing back: {why}"
        elif link.size is None:
            message = (
                f"{quoted(link.name)} carries what hangs before the tank both ways; give its size"
            )
        else:
            continue
        yield Problem(place=link.place, message=message)
