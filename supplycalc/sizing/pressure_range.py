"""What every pipe and point may have to bear: the highest and the lowest pressure in it.

One account for findings, the well and the slab, from the pump to the outlets: the runs before the
tank and those behind it. Highest in ordinary use is the pressure at rest, at the lowest height that
the file leaves open; higher still are a pressure switch that sticks, as far as a relief valve lets
it, a reducing valve that fails, and a well that falls to its pump. Lowest is the pressure at a
crest.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from supplycalc.catalogue import Tube, TubeSize
from supplycalc.hydraulics.pressure import pressures_below, static_gains
from supplycalc.hydraulics.water import density, specific_weight
from supplycalc.model import Device, House, Run
from supplycalc.network import Tree, line_tree, well_side, wellhead
from supplycalc.sizing.design import Design, RunResult
from supplycalc.supply.pump import curve_known
from supplycalc.supply.several_wells import is_shared, lines_apart
from supplycalc.supply.supply_curve import flows_through_lines, pump_pressure
from supplycalc.supply.well_line import pressures_to_tank
from supplycalc.units import STANDARD_GRAVITY, show
from supplycalc.units.quantities import Elevation, Pressure, Share

BEFORE_TANK = -1
"""In place of the index of a link: a crest before the tank."""


class PipePressure(Struct, frozen=True, kw_only=True):
    """The highest pressures in one pipe, each at the end where it is highest [Pa gauge].

    For a drop pipe, less the pressure of the well's water around it.
    """

    name: str
    run: Run
    index: int | None
    """Of its link in the tree; None for the runs before the tank."""
    tube: Tube
    size: TubeSize
    temperature: float
    """Of the water in it [K]."""
    working: float
    """In ordinary use: with nothing running at the pump's cut-out or the main's highest, or while
    the pump fills the tank."""
    at_lowest_height: float
    """The same where points without a height lie as low as the lowest that they feed."""
    unknown: str
    """The point without a height that makes the difference; empty where none does."""
    stuck_switch: float | None
    """With a pump that does not stop, as far as the relief valve lets it; None: not known."""
    failed_valve: float | None
    """With the reducing valve before it failed; None where there is none."""
    low_level: float | None = None
    """With the well's water down at the pump; None where no drop pipe."""

    @property
    def rating(self) -> float | None:
        """Of the tube at the water's temperature [Pa gauge]; None: not known."""
        return self.tube.pressure_rating(self.size, self.temperature)


class Crest(Struct, frozen=True):
    """A height on the way; told where it lies above an outlet that it feeds and the pressure there
    falls below that of the air."""

    name: str
    index: int
    """Of the link that ends there."""
    link: str
    """Name of the link in which, or at whose end, it lies."""
    height: Elevation
    along: Share
    """Of the link's length that lies before it."""
    at_rest: float
    """Pressure with nothing running [Pa gauge], below 0 where that of the air is not reached."""
    flowing: float
    """The same while the design flow runs."""

    @property
    def below_at_rest(self) -> Pressure:
        """How far below the air's pressure with nothing running; 0 where it is not."""
        return max(-self.at_rest, 0.0)

    @property
    def below_flowing(self) -> Pressure:
        """The same while the design flow runs."""
        return max(-self.flowing, 0.0)


def pipe_pressures(design: Design) -> tuple[PipePressure, ...]:
    """The highest pressures in every pipe, from the pump to the outlets.

    Returns:
        The runs from the pump to the tank, then those from the tank down.

    Source: hydrostatics; the pump's head by its curve, where the file gives one (IPC 605.3 asks
        pipe rated for the highest pressure available).
    """
    return (*_before_tank(design), *_runs(design))


def pressure_to_test(design: Design, pipe: PipePressure) -> Pressure:
    """The highest pressure in ordinary use in a pipe, from which its test follows; in the line to
    an open tank that against a shut valve."""
    opens = pipe.index is None and design.house.source.filled_by is not None
    return max(pipe.at_lowest_height, (pipe.stuck_switch or 0.0) if opens else 0.0)


def highest_at_source(design: Design) -> tuple[float, float | None]:
    """Highest pressure at the source's gauge, in ordinary use and with a switch that sticks.

    Returns:
        (cut-out or the main's highest, pump at shut-off as far as a relief valve lets it) [Pa
        gauge]; the second is None on a main and where no curve of the pump is given.

    Source: the pump's curve; a relief valve is taken to pass all that the pump gives.
    """
    return _highest(design.house, design.source.static_pressure)


def _highest(house: House, working: float) -> tuple[float, float | None]:
    if not _has_curve(house):
        return working, None
    return working, max(working, min(pump_pressure(house, 0.0), _relief(house)))


def taken_lower(tree: Tree) -> list[float]:
    """How far each point of unknown height is taken to lie below the last one that is known [m]."""
    lower = [0.0] * len(tree)
    for i in range(1, len(tree)):
        above = tree.parent[i]
        if not tree.known_elevation[i]:
            lower[i] = lower[above] + tree.elevation[above] - tree.elevation[i]
    return lower


def lowest_heights(tree: Tree) -> list[float]:
    """The lowest height at which each link's end may be expected.

    Returns:
        Its height where the file gives it, else the lower of the point's before it and the
        nearest given ones behind it [m].
    """
    lowest = list(tree.elevation)
    for i in range(len(tree) - 1, 0, -1):
        if not tree.known_elevation[i]:
            lowest[i] = min([lowest[i], *(lowest[below] for below in tree.children[i])])
    return lowest


def crests(design: Design) -> tuple[Crest, ...]:
    """Points where water would have to stand below the air's pressure, the worst of each path.

    Returns:
        Only points of known height that lie above an outlet they feed: where water does not reach
        an outlet that lies higher, the outlet itself is short. While the design flow runs, only
        those under which an outlet lies deeper than what it needs: else the outlet is short, too.

    Source: hydrostatics; a line below the air's pressure draws air and lets the flow break off.
    """
    tree = design.tree
    at_rest = standing_pressures(design)
    flowing = _flowing(design)
    outlets = {outlet.index: outlet for outlet in design.outlets}
    weight = specific_weight(design.house.water.cold)
    tops = [
        Crest(tree.points[i], i, tree.names[i], tree.elevation[i], 1.0, at_rest[i], flowing[i])
        for i in range(1, len(tree))
        if tree.known_elevation[i]
    ]
    for run in design.runs:
        tops += _inside(design, run, run.index, at_rest)
    low: list[Crest] = []
    for top in tops:
        below = [outlets[at] for at in tree.at_or_below(top.index) if at in outlets]
        lower = [outlet for outlet in below if outlet.elevation < top.height]
        deep = any(weight * (top.height - outlet.elevation) > outlet.required for outlet in lower)
        if lower and (top.at_rest < 0.0 or (top.flowing < 0.0 and deep)):
            low.append(top)
    told: list[Crest] = []
    for worst in sorted(low, key=lambda top: (top.flowing, top.index)):
        if not any(
            worst.index in tree.at_or_below(other.index)
            or other.index in tree.at_or_below(worst.index)
            for other in told
        ):
            told.append(worst)
    return (*_crests_before_tank(design), *told)


def _crests_before_tank(design: Design) -> Iterator[Crest]:
    """The worst height between pump and pressure tank that stands below the air's pressure."""
    if design.house.source.filled_by is None:
        low = [
            top
            for before in design.stretches[:-1]
            for top in _heights_above_end(before)
            if min(top.at_rest, top.flowing) < 0.0
        ]
        if low:
            yield min(low, key=lambda top: top.flowing)


def heights_before_open_tank(design: Design) -> Iterator[tuple[House, Crest]]:
    """The highest place of each line to an open tank that lies above that line's end, with the
    house as its well sees it."""
    if design.house.source.filled_by is None or design.line is None:
        return
    apart = lines_apart(well_side(design.house))
    for house, before in zip(apart, design.stretches[:-1], strict=True):
        tops = tuple(_heights_above_end(before))
        if tops:
            yield house, max(tops, key=lambda top: top.height)


def _heights_above_end(before: Design) -> Iterator[Crest]:
    """The places of known height of a line before the tank that lie above its end."""
    tree, at_rest, flowing = before.tree, standing_pressures(before), _flowing(before)
    behind_pump = len(before.house.suction) + 1
    tops = [
        Crest(tree.points[i], BEFORE_TANK, tree.names[i], height, 1.0, at_rest[i], flowing[i])
        for i, height in enumerate(tree.elevation)
        if i >= behind_pump and tree.known_elevation[i]
    ]
    for run in before.runs:
        if run.index >= behind_pump:
            tops += _inside(before, run, BEFORE_TANK, at_rest)
    yield from (top for top in tops if top.height > before.house.source.elevation)


def _inside(
    design: Design, run: RunResult, index: int, at_rest: Sequence[float]
) -> Iterator[Crest]:
    """The points of a run's profile between its ends."""
    for at, height, resting, running in along(run, at_rest[run.index])[1:-1]:
        share = at / run.run.profile[-1][0]
        name = _on_its_way(design, run, at)
        yield Crest(name, index, run.name, height, share, resting, running)


def _on_its_way(design: Design, run: RunResult, distance: float) -> str:
    """A place of a run by its distance from where it starts [m]."""
    return f"{run.name} at {show(distance, 'length', design.house.project.units)}"


def along(run: RunResult, at_rest: Pressure) -> list[tuple[float, float, float, float]]:
    """Pressures at the points of a run's profile.

    Returns:
        (distance along it [m], height [m], pressure at rest, while the design flow runs [Pa
        gauge]) of each point; below zero where that of the air is not reached. Empty without a
        profile.

    Source: hydrostatics; what is lost is spread evenly over the length.
    """
    if not run.run.profile:
        return []
    weight = density(run.temperature) * STANDARD_GRAVITY
    whole, end = run.run.profile[-1]
    points = []
    for distance, height in run.run.profile:
        fall = weight * (end - height)
        ahead = run.loss * (1.0 - distance / whole)
        points.append((distance, height, at_rest + fall, run.end_pressure + fall + ahead))
    return points


def standing_pressures(design: Design) -> list[float]:
    """Pressure at each link's end with nothing running, when it is lowest: at cut-in on a well.

    Args:
        design: sized; of the line before a tank too.
    """
    source, tree = design.house.source, design.tree
    standing = design.source.static_pressure if source.cut_in is None else source.cut_in
    if tree.before_tank:
        weight = specific_weight(design.house.water.cold)
        standing += weight * (source.elevation - tree.elevation[0])
    return resting(tree, standing, valves_hold=True)


def _dip(run: Run) -> float:
    """How far the lowest place of a run's profile lies below its end [m]."""
    if not run.profile:
        return 0.0
    return max(run.profile[-1][1] - min(height for _, height in run.profile), 0.0)


def _has_curve(house: House) -> bool:
    """Whether the pump's head without flow is given: of a pump known by one point it is not."""
    source = house.source
    return source.kind == "well" and curve_known(house)


def _relief(house: House) -> float:
    tank = house.source.tank
    return math.inf if tank is None or tank.relief is None else tank.relief


def _flowing(design: Design) -> list[float]:
    """Pressure at each link's end while the design flow runs; a manifold's is its inlet's."""
    results, tree = design.result_at, design.tree
    pressure = [design.source.design_pressure]
    gains = height_gains(tree)
    for i in range(1, len(tree)):
        if i in results:
            pressure.append(results[i].end_pressure)
        else:
            pressure.append(pressure[tree.parent[i]] + gains[i])
    return pressure


def height_gains(tree: Tree) -> list[float]:
    """Pressure gained along each link by height, negative going up [Pa]."""
    water = {"cold": density(tree.house.water.cold), "hot": density(tree.house.water.hot)}
    return static_gains(tree.parent, tree.elevation, [water[side] for side in tree.rise_side])


def resting(tree: Tree, source_pressure: Pressure, *, valves_hold: bool) -> list[Pressure]:
    """Pressure at each link's end with nothing running."""
    limits = [
        link.setting
        if valves_hold and isinstance(link, Device) and link.setting is not None
        else math.inf
        for link in tree.links
    ]
    zero = [0.0] * len(tree)
    return pressures_below(tree.parent, source_pressure, height_gains(tree), zero, limits)


def _runs(design: Design) -> Iterator[PipePressure]:
    tree = design.tree
    working_source, stuck_source = highest_at_source(design)
    working = resting(tree, working_source, valves_hold=True)
    failed = resting(tree, working_source, valves_hold=False)
    stuck = None if stuck_source is None else resting(tree, stuck_source, valves_hold=True)
    heights, guessed = lowest_heights(tree), taken_lower(tree)
    weight = specific_weight(tree.house.water.cold)
    lower = [
        weight * (height - lowest) for height, lowest in zip(tree.elevation, heights, strict=True)
    ]
    for run in design.runs:
        ends = (tree.parent[run.index], run.index)

        dip = weight * _dip(run.run)

        def highest(pressure: list[float], ends: tuple[int, int] = ends, dip: float = dip) -> float:
            return max(pressure[ends[1]] + dip, *(pressure[end] + lower[end] for end in ends))

        # as drawn, a height that nobody gave is that of the point before
        as_drawn = max(
            working[ends[1]] - weight * guessed[ends[1]] + dip,
            *(working[end] - weight * guessed[end] for end in ends),
        )
        lowest_end = max(ends, key=lambda end: working[end] + lower[end])
        valve = any(
            isinstance(link, Device) and link.setting is not None
            for link in (tree.links[i] for i in tree.feeding(run.index))
        )
        at_lowest = highest(working)
        yield PipePressure(
            name=run.name,
            run=run.run,
            index=run.index,
            tube=run.tube,
            size=run.size,
            temperature=run.temperature,
            working=as_drawn,
            at_lowest_height=at_lowest,
            unknown=tree.points[lowest_end] if at_lowest > as_drawn else "",
            stuck_switch=None if stuck is None else highest(stuck),
            failed_valve=highest(failed) if valve else None,
        )


def _before_tank(design: Design) -> Iterator[PipePressure]:
    """The runs between pump and tank; the suction pipe of a pump above the water is none."""
    if design.line is None:
        return
    house = well_side(design.house)
    working, stuck = _highest(house, design.stretches[0].source.static_pressure)
    relieved = stuck is not None and _relief(house) <= stuck
    flows = flows_through_lines(house, working if _has_curve(house) else None)
    stuck_flows = flows_through_lines(house, _relief(house) if relieved else None)
    for line, *through in zip(lines_apart(house), flows, stuck_flows, strict=True):
        if line.line:
            yield from _of_line(line, (working, stuck), through)


def _of_line(
    house: House,
    at_gauge: tuple[float, float | None],
    flows: Sequence[tuple[float, float]],
) -> Iterator[PipePressure]:
    """The same of the line of one well, or of what several share.

    Args:
        at_gauge: pressure there in ordinary use, and with a switch that sticks [Pa gauge].
        flows: then what comes through, and what is lost from the line's end to the gauge [Pa].
    """
    (flow, lost), (stuck_flow, stuck_lost) = flows
    working = at_gauge[0] + lost
    stuck = None if at_gauge[1] is None else at_gauge[1] + stuck_lost
    tree, first = line_tree(house), len(house.suction)
    filling = pressures_to_tank(tree, house, working, flow)
    sticking = None if stuck is None else pressures_to_tank(tree, house, stuck, stuck_flow)
    weight = specific_weight(house.water.cold)
    well = house.source.well
    for i, link in enumerate(tree.links):
        if i <= first or not isinstance(link, Run):
            continue
        hangs = i == 1 and not is_shared(house)
        depth = link.length if well is None or well.pump_depth is None else well.pump_depth
        bottom = house.source.elevation - wellhead(house.source) + depth
        tube = house.catalogue.tubes[link.material]
        assert link.size is not None
        deep = weight * _dip(link)
        highest = max(filling[i][0], filling[i][1] + deep)
        yield PipePressure(
            name=link.name,
            run=link,
            index=None,
            tube=tube,
            size=tube.size(link.size),
            temperature=house.water.cold,
            working=highest,
            at_lowest_height=highest,
            unknown="",
            stuck_switch=None if sticking is None else max(sticking[i][0], sticking[i][1] + deep),
            failed_valve=None,
            low_level=working + weight * bottom if hangs else None,
        )
