"""The records of the line before the tank: its runs with what decided their size, its devices."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec.structs import replace

from supplycalc.hydraulics.friction import velocity
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Run
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.choices import LineSizes, Situation, members_of_groups
from supplycalc.sizing.classes import pressures_to_bear
from supplycalc.sizing.costs import Cost
from supplycalc.sizing.design import LineDesign, NextSmaller
from supplycalc.sizing.line import (
    SAME_FLOW,
    bears,
    line_situation,
)
from supplycalc.sizing.pressures import TreePressures
from supplycalc.sizing.results import device_results, next_smaller_size, run_results, settled_reason
from supplycalc.sizing.size import SizedTree
from supplycalc.supply.pump import curve_known, with_curve
from supplycalc.supply.several_wells import common_line, wells_apart
from supplycalc.supply.supply_curve import WellsTogether, flow_at_pressure, pump_pressure
from supplycalc.supply.well_line import link_loss_with_slope, pressures_to_tank

AT_TANK = "the tank"
"""Where the margin of a smaller size before the tank is told."""


def line_designs(house: House, lines: Sequence[LineSizes], cost: Cost) -> tuple[LineDesign, ...]:
    """The lines before the tank: each well's own, then what they share."""
    if len(lines) < 2:
        return tuple(line_design(house, sizes, cost) for sizes in lines)
    pumped, pressure, shared = with_curve(house), house.source.kept_pressure, common_line(house)
    known = curve_known(pumped)
    parts = wells_apart(pumped)
    together = WellsTogether(pumped)
    joint = together.joint_pressure(pressure) if known else pressure + together.rise
    given = together.flows_at(pressure) if known else (0.0,) * len(parts)
    designs = [
        line_design(part, sizes, cost, (joint, flow))
        for part, sizes, flow in zip(parts, lines, given, strict=False)
    ]
    if shared is not None:
        designs.append(line_design(shared, lines[-1], cost, (pressure, math.fsum(given))))
    return tuple(designs)


def line_design(
    house: House, sizes: LineSizes, cost: Cost, seen: tuple[float, float] | None = None
) -> LineDesign:
    """The line before the tank with what the pump gives through it.

    Args:
        seen: of one of several lines the pressure at its end [Pa] and what comes through it
            [m3/s].
    """
    pumped, pressure = with_curve(house), house.source.kept_pressure
    if seen is not None:
        pressure, given = seen
    else:
        given = flow_at_pressure(pumped, pressure) if curve_known(pumped) else 0.0
    flow = given if given > 0.0 else sizes.wanted
    by_pump = given > 0.0 and curve_known(pumped)
    before = len(house.suction)
    as_read = replace(house, suction=sizes.as_read[:before], line=sizes.as_read[before:])
    situation = line_situation(as_read, flow, cost)
    picked = [0] * len(situation.choices)
    for i, choice in enumerate(situation.choices):
        link = house.before_tank[i - 1]
        if choice is not None and isinstance(link, Run):
            picked[i] = [option.size.nominal for option in choice.options].index(link.size or "")
    tree, weight = situation.tree, specific_weight(house.water.cold)
    rest = situation.source.static_pressure
    at_rest = [rest + weight * (house.source.elevation - height) for height in tree.elevation]
    sized = SizedTree(
        situation=situation,
        pressures=TreePressures(
            sizes=tuple(picked),
            loss=tuple(
                situation.device_loss[i] if choice is None else choice.options[picked[i]].loss
                for i, choice in enumerate(situation.choices)
            ),
            pressure=tuple(end for _, end in pressures_to_tank(tree, house, pressure, flow)),
            worst_margin=math.inf,
            worst_outlet=-1,
        ),
        feasible=True,
        cost=sizes.cost,
        reserve=0.0,
        most=math.inf,
    )
    reasons = [
        ("", None)
        if choice is None
        else _reason(pumped, situation, i, picked[i], sizes, pressure if by_pump else None)
        for i, choice in enumerate(situation.choices)
    ]
    return LineDesign(
        tree=tree,
        flow=flow,
        wanted=sizes.wanted,
        by_pump=given > 0.0,
        runs=tuple(replace(run, before_tank=True) for run in run_results(sized, at_rest, reasons)),
        devices=tuple(
            replace(device, before_tank=True) for device in device_results(sized, at_rest)
        ),
    )


def _reason(
    pumped: House,
    situation: Situation,
    link: int,
    chosen: int,
    sizes: LineSizes,
    pressure: float | None,
) -> tuple[str, NextSmaller | None]:
    """What decided a run's size, and what the next smaller one would have done: by what the pump
    gives at a pressure [Pa] where that is known."""
    choice = situation.choices[link]
    assert choice is not None
    smaller = next_smaller_size(choice, chosen)
    settled = settled_reason(choice, smaller)
    if settled is not None or smaller is None:
        return settled or "", None
    option, by_pump = choice.options[smaller], pressure is not None
    members = members_of_groups(situation.choices).get(choice.group or "", [link])
    names = [other.run.name for i in members if (other := situation.choices[i]) is not None]
    tried = with_sizes(pumped, dict.fromkeys(names, option.size.nominal))
    flow, margin = sizes.wanted, 0.0
    if pressure is not None:
        flow = flow_at_pressure(tried, pressure)
        margin = pump_pressure(tried, sizes.wanted) - pressure
    word, why = "least cost", "dearer for the line as a whole"
    speed = velocity(flow, option.size.inside_diameter)
    if choice.run.size is not None:
        word, why = "fixed by you", "you fixed the size"
    elif smaller not in choice.offered:
        word, why = "smallest you allow", "not among the sizes you allow"
    elif smaller < choice.minimum:
        word, why = choice.minimum_source, f"below the {choice.minimum_source}"
    elif by_pump and not _as_strong(pumped, situation, link, chosen, smaller):
        word, why = "rating", "its tube bears less than may stand in it"
    elif speed > choice.velocity_limit * SAME_FLOW:
        word, why = "velocity", "water would run faster than the limit"
    elif margin < 0.0:
        word, why = "pump", "the pump would give less than is asked of it at the tank"
    elif sizes.energy > 0.0:
        word, why = "energy", "its friction would cost more in electricity than it saves in pipe"
    elif len(members) > 1:
        word, why = "its group", "another run of the group decided"
    return word, NextSmaller(
        nominal=option.size.nominal,
        velocity=speed,
        loss=link_loss_with_slope(tried, tried.before_tank[link - 1], flow)[0],
        worst_margin=margin if not pressure else max(margin, -pressure),
        worst_name=AT_TANK,
        reason=why,
    )


def _as_strong(pumped: House, situation: Situation, link: int, chosen: int, smaller: int) -> bool:
    """Whether a smaller size bears what the chosen one does."""
    choice, at = situation.choices[link], situation.tree.temperature[link]
    assert choice is not None
    return all(
        bears(choice, smaller, needed[link], at) or not bears(choice, chosen, needed[link], at)
        for needed in pressures_to_bear(pumped)
    )
