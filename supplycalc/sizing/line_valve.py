"""Where along a line one reducing valve, or one open tank that breaks the pressure, keeps all pipe
within its rating: every place of the way is held against the water at rest, the best are sized."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Mapping

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.demand import highest_at_rest
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Device, House, Run
from supplycalc.model.field_paths import hung_elsewhere
from supplycalc.sizing.design import OVER_RATING, Design, Remedy
from supplycalc.sizing.pressure_range import pipe_pressures
from supplycalc.sizing.source_changes import (
    ADDED_VALVE,
    OVER_STATIC,
    failing,
    remedy_of,
    usual_settings,
    valve_place,
)
from supplycalc.sizing.trials import Trial

SPANS = 10
"""Places that are tried between two points of a profile, and one."""
MOST_SIZED = 6
"""Places of the best that are sized before the search is given up."""
BEHIND = "behind the valve"


class _Place(Struct, frozen=True):
    """A place of the line: its run, distance along that and along the run of the file that it is a
    piece of, height [m], rating of its pipe [Pa gauge]."""

    run: Run
    along: float
    of_route: float
    height: float
    rating: float


def valve_on_line(design: Design, size: Callable[[House], Design]) -> Iterator[Remedy]:
    """A valve at a usual setting, and of a line from open water a tank, that mend pipe over its
    rating.

    Yields:
        Of each the one that leaves the house most, within what it may have at rest where that can
        be; nothing where no place along the way does.
    """
    way = list(_way(design)) if OVER_RATING in failing(design) else []
    of_line = {place.run.name for place in way}
    if not any(
        it.name in of_line and it.rating is not None and it.at_lowest_height > it.rating
        for it in pipe_pressures(design)
    ):
        return
    settings = [tuple(usual_settings(design.house, 0.0))]
    if design.house.source.by_gravity:
        settings.append((0.0,))
    for tried in settings:
        for trial in itertools.islice(_trials(design, way, tried), MOST_SIZED):
            changed = size(trial.house)
            new = failing(changed) - failing(design)
            if OVER_RATING not in failing(changed) and not new and changed.shortfall <= 0.0:
                if OVER_STATIC in failing(design) - failing(changed):
                    text = f"{trial.text}; it keeps the house within its limit at rest, too"
                    trial = replace(trial, text=text)
                yield remedy_of(changed, trial, "rating")
                break


def _way(design: Design) -> Iterator[_Place]:
    """The places of the line from the source to where it enters the house, in order."""
    tree = design.tree
    ratings: Mapping[str, float | None] = {it.name: it.rating for it in pipe_pressures(design)}
    routes: dict[str, float] = {}
    for i in tree.path(valve_place(design)[0]):
        run = tree.links[i]
        if not isinstance(run, Run):
            continue
        passed = routes.setdefault(run.route or run.name, 0.0)
        routes[run.route or run.name] += run.length
        rating = ratings[run.name]
        ends = ((0.0, tree.elevation[tree.parent[i]]), (run.length, tree.elevation[i]))
        for (begin, low), (end, high) in itertools.pairwise(run.profile or ends):
            for step in range(1, SPANS + 1):
                share = step / SPANS
                along = begin + share * (end - begin)
                height = low + share * (high - low)
                yield _Place(
                    run, along, passed + along, height, math.inf if rating is None else rating
                )


def _trials(design: Design, way: list[_Place], settings: tuple[float, ...]) -> Iterator[Trial]:
    """The house with a valve at each place and setting that the water at rest allows, the best
    first."""
    house, weight = design.house, specific_weight(design.house.water.cold)
    source, top = design.source.static_pressure, design.house.source.elevation
    limit = house.limits.max_static or highest_at_rest(house).value
    found: list[tuple[tuple[bool, float, float], int, float]] = []
    for i, place in enumerate(way[:-1]):
        before = (source + weight * (top - it.height) <= it.rating for it in way[: i + 1])
        if not all(before):
            break
        for setting in settings:
            if source + weight * (top - place.height) <= setting:
                continue  # it would stand open
            behind = [setting + weight * (place.height - it.height) for it in way[i + 1 :]]
            bears = all(
                0.0 <= pressure <= it.rating
                for pressure, it in zip(behind, way[i + 1 :], strict=True)
            )
            if bears:
                found.append(((behind[-1] > limit, -behind[-1], -i), i, setting))
    for _, i, setting in sorted(found):
        yield _with_valve_in(house, way[i], setting)


def _with_valve_in(house: House, place: _Place, setting: float) -> Trial:
    """The house with a run cut at a place and a valve, or an open tank, between its parts."""
    run = place.run
    kind = next(kind for kind in house.catalogue.devices.values() if kind.reduces)
    at_end = place.along >= run.length * (1.0 - 1e-9)
    start = run.end if at_end else f"{run.name}, valve"
    house = hung_elsewhere(house, {run.end: ADDED_VALVE}) if at_end else _cut(house, place, start)
    valve = Device(
        name=ADDED_VALVE,
        kind=kind.name,
        start=start,
        end=ADDED_VALVE,
        elevation=place.height,
        setting=setting,
    )
    where = f"{run.route or run.name} {{0}} along, at a height of {{1}}"
    text = (
        f"fit a pressure-reducing valve in {where}, set to {{2}}, in a pit that drains and can be "
        "reached, with a strainer before and a relief valve behind it"
    )
    if setting == 0.0:  # an open tank holds the air's pressure whatever flows
        valve = replace(valve, falloff=0.0, falloff_flow=1e-3)
        text = f"put a break-pressure tank, open and with a float valve, in {where}"
    return Trial(
        house=replace(house, devices=(valve, *house.devices)),
        text=text,
        values=((place.of_route, "length"), (place.height, "elevation"), (setting, "setting")),
    )


def _cut(house: House, place: _Place, start: str) -> House:
    """The house with a run in two parts: up to a point, and on from the valve there."""
    run, along, height = place.run, place.along, place.height
    before = tuple(point for point in run.profile if point[0] < along)
    after = tuple((at - along, z) for at, z in run.profile if at > along)
    first = replace(run, end=start, length=along)
    second = replace(
        run,
        name=f"{run.name} {BEHIND}",
        start=ADDED_VALVE,
        length=run.length - along,
        fittings=None if run.fittings is None else (),
        joints=0,
    )
    if run.profile:
        first = replace(first, profile=(*before, (along, height)))
        second = replace(second, profile=((0.0, height), *after))
    parts = {run.name: (first, second)}
    runs = tuple(part for it in house.runs for part in parts.get(it.name, (it,)))
    return replace(house, runs=runs)
