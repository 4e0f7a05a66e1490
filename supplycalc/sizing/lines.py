"""The sizes of the lines of several wells, and of what they share.

Each pump is asked for its part of what the house draws: as its share is of all
that the pumps give through the widest lines. The sizes of the line that they share decide the
pressure where the lines meet, so each of its few choices is tried with the cheapest lines that
answer it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.friction import velocity
from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.choices import LineSizes, Situation, is_settled
from supplycalc.sizing.classes import with_line_classes
from supplycalc.sizing.costs import Cost
from supplycalc.sizing.line import NEARLY, SAME_FLOW, at_widest, line_situation, size_line
from supplycalc.supply.pump import curve_known, with_curve
from supplycalc.supply.several_wells import common_line, lines_apart, wells_apart
from supplycalc.supply.supply_curve import WellsTogether
from supplycalc.units.quantities import Flow

LEAST_ASKED = 1e-6
"""[m3/s] Asked of a pump that gives nothing, so that its line gets sizes: 0.02 gpm."""
SHORT_OF = 1e-6
"""Share of what is wanted that a choice of sizes may miss by rounding."""


class Tried(Struct, frozen=True, kw_only=True):
    """One choice of sizes of the line that wells share, with the lines that answer it."""

    house: House
    lines: tuple[LineSizes, ...]
    given: float
    """What all pumps give at the tank [m3/s]; inf where that is not known."""
    slow: bool
    """Whether water keeps its limit in every open run with what the pumps give."""

    @property
    def cost(self) -> float:
        """Of all the lines, with what pumping through them costs."""
        return math.fsum(line.cost for line in self.lines)


def size_lines(
    house: House, design_flow: Flow, cost: Cost, energy: float = 0.0
) -> tuple[House, tuple[LineSizes, ...]]:
    """Choose the sizes before the tank that the file leaves open.

    Args:
        energy: what pumping against a pressure costs over the years [1/Pa].

    Returns:
        The house with a size for every run before the tank, and what was chosen: of each well's
        own line, last of what they share.
    """
    widest = house
    for part in lines_apart(house):
        classed = with_line_classes(part)
        house = with_runs_of(house, classed)
        widest = with_runs_of(
            with_runs_of(widest, classed),
            at_widest(classed, line_situation(classed, design_flow, cost)),
        )
    pumped, count = with_curve(widest), len(wells_apart(house))
    known, pressure = curve_known(pumped), house.source.kept_pressure
    flows = WellsTogether(pumped).flows_at(pressure) if known else (0.0,) * count
    most = math.fsum(flows)
    if most > 0.0:
        asked = [max(min(design_flow / most, NEARLY) * flow, LEAST_ASKED) for flow in flows]
    else:
        asked = [design_flow / count] * count
    wanted = math.fsum(asked)
    as_read, opened = common_line(house), _open_runs(house)
    best: Tried | None = None
    for sizes in _shared_sizes(house, wanted, cost):
        through = wanted
        for _ in range(2):  # again at the pressure that there is with what the pumps then give
            fixed = with_sizes(house, sizes)
            tried = _tried(fixed, opened, asked, cost, energy, pressure, through)
            if best is None or _better(tried, best, wanted):
                best = tried
            if as_read is None or not wanted * SAME_FLOW < tried.given < math.inf:
                break
            through = tried.given
    assert best is not None
    lines = best.lines
    if as_read is not None:  # its sizes were fixed to try them
        lines = (*lines[:-1], replace(lines[-1], as_read=as_read.before_tank))
    return best.house, lines


def with_runs_of(house: House, part: House) -> House:
    """The house with the runs before the tank of one that shows a part of it.

    Args:
        part: such as one of its wells apart, its runs changed.
    """
    runs = {link.name: link for link in part.before_tank if isinstance(link, Run)}
    return map_runs(house, lambda run: runs.get(run.name, run))


def _shared_sizes(house: House, flow: float, cost: Cost) -> Iterator[dict[str, str]]:
    """Every choice of sizes of the line that the wells share; a group has one."""
    shared = common_line(house)
    if shared is None:
        yield {}
        return
    groups: dict[str, list[str]] = {}
    offered: dict[str, list[str]] = {}
    for choice in line_situation(shared, flow, cost).choices:
        if choice is None or is_settled(choice.run):
            continue
        group = choice.group or choice.run.name
        sizes = [choice.options[j].size.nominal for j in choice.allowed]
        groups.setdefault(group, []).append(choice.run.name)
        offered[group] = [size for size in offered.get(group, sizes) if size in sizes] or sizes
    for picked in itertools.product(*offered.values()):
        yield {
            name: size
            for names, size in zip(groups.values(), picked, strict=True)
            for name in names
        }


def _open_runs(house: House) -> frozenset[str]:
    """Names of the runs before the tank whose size is to be chosen."""
    return frozenset(
        link.name
        for part in lines_apart(house)
        for link in part.before_tank
        if isinstance(link, Run) and not is_settled(link)
    )


def _tried(
    house: House,
    opened: frozenset[str],
    asked: list[float],
    cost: Cost,
    energy: float,
    pressure: float,
    through: float,
) -> Tried:
    """The cheapest lines of the wells before a shared line whose sizes are given.

    Args:
        opened: names of the runs whose size is chosen.
        through: flow in the shared line that decides the pressure where the lines meet [m3/s].
    """
    shared, wanted = common_line(house), math.fsum(asked)
    meets = pressure + WellsTogether(house).lost(through)
    lines: list[LineSizes] = []
    for part, flow in zip(wells_apart(house), asked, strict=True):
        if part.before_tank:
            part, line = size_line(part, flow, cost, energy * flow / wanted, (flow, meets))
            house = with_runs_of(house, part)
        else:
            line = LineSizes(as_read=(), wanted=flow, cost=0.0)
        lines.append(line)
    pumped, flows = with_curve(house), (*asked, wanted)
    given = math.inf
    if curve_known(pumped):
        real = WellsTogether(pumped).flows_at(pressure)
        given = math.fsum(real)
        flows = (*real, given)
    if shared is not None:
        situation = line_situation(shared, wanted, cost)
        lines.append(_shared_line(shared, situation, wanted, energy))
    slow = not any(
        choice is not None
        and choice.run.name in opened
        and velocity(flow, choice.options[choice.offered[0]].size.inside_diameter)
        > choice.velocity_limit * SAME_FLOW
        for part, flow in zip(lines_apart(house), flows, strict=False)
        for choice in line_situation(part, flow, cost).choices
    )
    return Tried(house=house, lines=tuple(lines), given=given, slow=slow)


def _shared_line(shared: House, situation: Situation, wanted: float, energy: float) -> LineSizes:
    spent = math.fsum(
        choice.options[choice.offered[0]].cost for choice in situation.choices if choice is not None
    )
    return LineSizes(as_read=shared.before_tank, wanted=wanted, cost=spent, energy=energy)


def _better(tried: Tried, best: Tried, wanted: float) -> bool:
    """Whether a choice is to be preferred: enough at the tank, then slow enough, then cheap."""

    def rank(each: Tried) -> tuple[float, bool, float]:
        missing = max(wanted * (1.0 - SHORT_OF) - each.given, 0.0)
        return missing, not each.slow, each.cost

    return rank(tried) < rank(best)
