"""The sizes of the line before the tank: least cost against pump, rating and velocity.

Its design flow is not the code's peak but what the pump gives there. The pump is an element that
adds its head between two points; the tank asks for the pressure at which the pump starts, or which
it holds. So the line is the same problem as the house: exact fronts over its sizes, at the flow
that the pump should reach. The flow that it then really gives follows from pump and line.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from supplycalc.demand.loads import Demand
from supplycalc.hydraulics.friction import flow_area
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Device, House, Run
from supplycalc.network import line_tree
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.choices import (
    LineSizes,
    RunChoice,
    Situation,
    is_settled,
    narrow,
    prepare,
    reconcile,
    sizing_problem,
)
from supplycalc.sizing.classes import pressures_to_bear, with_line_classes
from supplycalc.sizing.costs import Cost
from supplycalc.sizing.fronts import cheapest
from supplycalc.supply.limits import well_limit
from supplycalc.supply.pump import curve_known, pump_head, with_curve
from supplycalc.supply.source import SourcePressure
from supplycalc.supply.suction import practical_suction_lift
from supplycalc.supply.supply_curve import flow_at_pressure, pump_pressure
from supplycalc.supply.well import sustained_yield
from supplycalc.units.quantities import Flow, Pressure

NEARLY = 0.95
"""Share of what the pump gives through the widest line that a cheaper one may leave it, where the
house could use more (common practice, no source)."""
SAME_FLOW = 1.0 + 1e-9
"""Flows that differ by less are the same."""


def flow_to_tank(house: House, design_flow: Flow) -> Flow:
    """What the line to the tank is to carry at most: what the house draws at its peak; to an open
    tank, which holds that, what the well sustains or its pump was measured to give."""
    filling = house.source.filled_by
    if filling is None:
        return design_flow
    total = 0.0
    wells = ((each.well, each.pump) for each in house.joined_wells)
    for well, pump in ((filling.well, filling.pump), *wells):
        known = (sustained_yield(well, well_limit("submergence").value), pump.measured_flow)
        total += min((flow for flow in known if flow is not None), default=design_flow)
    return min(total, design_flow) if house.joined_wells else total


def size_line(
    house: House,
    design_flow: Flow,
    cost: Cost,
    energy: float = 0.0,
    asked: tuple[Flow, Pressure] | None = None,
) -> tuple[House, LineSizes]:
    """Choose the sizes before the tank that the file leaves open.

    The cheapest at which the pump still gives the design flow, or where it cannot, nearly
    what it gives through the widest; no run faster than its limit with what the pump then gives,
    none under more pressure than it bears. Without a pump that is known the design flow and the
    velocity decide.

    Args:
        design_flow: that it is to carry at most.
        energy: what pumping against a pressure costs over the years, at the wanted flow [1/Pa]; 0:
            pipe alone counts.
        asked: of one of several wells the flow [m3/s] and the pressure at its line's end [Pa].

    Returns:
        The house with a size for every run before the tank, and what was chosen.

    How: exact fronts, as for the house, once for each flow at which some size gets too fast: the
        sizes that may carry that flow, and of those solutions that carry no more the cheapest.
    """
    house = with_line_classes(house)
    as_read = house.before_tank
    if all(isinstance(link, Device) or link.size is not None for link in as_read):
        settled = _settled(house, design_flow, cost, energy)
        return house, settled if asked is None else replace(settled, wanted=asked[0])
    situation = line_situation(house, design_flow, cost)
    pumped, pressure = with_curve(at_widest(house, situation)), house.source.kept_pressure
    if asked is None:
        most = _most_pumped(pumped) or 0.0
        wanted = _wanted(design_flow, most)
    else:
        wanted, pressure = asked
        most = flow_at_pressure(pumped, pressure) if curve_known(pumped) else 0.0
    open_sizes = any(
        choice is not None and not is_settled(choice.run) for choice in situation.choices
    )
    if open_sizes:
        situation = _with_energy(line_situation(house, wanted, cost), energy)
        if most > 0.0:
            situation = _against_pump(situation, pumped, wanted, pressure)
            picked = _slow_enough(situation, pumped, wanted, pressure)
        else:
            picked = _cheapest_sizes(situation)[0]
    else:
        picked = [choice.offered[0] if choice else 0 for choice in situation.choices]
    spent = situation.cost(picked)
    if open_sizes:
        spent -= energy * math.fsum(option.loss for _, option in situation.options_at(picked))
    sized = _with_choice(house, situation, picked)
    return sized, LineSizes(as_read=as_read, wanted=wanted, cost=spent, energy=energy)


def _settled(house: House, design_flow: Flow, cost: Cost, energy: float) -> LineSizes:
    """A line whose every run has its size."""
    tubes, most = house.catalogue.tubes, _most_pumped(with_curve(house))
    spent = math.fsum(
        cost(run, tubes[run.material], tubes[run.material].size(run.size))
        for run in house.before_tank
        if isinstance(run, Run) and run.size is not None and not run.existing
    )
    return LineSizes(
        as_read=house.before_tank,
        wanted=_wanted(design_flow, most or 0.0),
        cost=spent,
        energy=energy,
        pump_flow=most,
    )


def _most_pumped(house: House) -> float | None:
    """What the pump gives through a line at the tank's lowest pressure [m3/s]; None: not known."""
    return flow_at_pressure(house, house.source.kept_pressure) if curve_known(house) else None


def _wanted(design_flow: float, most: float) -> float:
    """Flow that the pump should give, of the most that it can [m3/s]."""
    return min(design_flow, NEARLY * most) if most > 0.0 else design_flow


def at_widest(house: House, situation: Situation) -> House:
    """The house with the widest size that each open run before the tank may have."""
    return _with_choice(house, situation, [c.offered[-1] if c else 0 for c in situation.choices])


def _with_energy(situation: Situation, energy: float) -> Situation:
    """The situation with what pumping through a size costs added to its pipe [1/Pa]."""
    return replace(
        situation,
        choices=tuple(
            choice
            and replace(
                choice,
                options=tuple(
                    replace(option, cost=option.cost + energy * option.loss)
                    for option in choice.options
                ),
            )
            for choice in situation.choices
        ),
    )


def line_situation(house: House, flow: Flow, cost: Cost) -> Situation:
    """What every size of every run before the tank would do at a flow.

    Returns:
        The situation; pipe in a trench may be wider than the drop pipe that feeds it.
    """
    limits = replace(house.limits, larger_than_feed=True)
    tree = line_tree(replace(house, limits=limits))
    count = len(tree)
    demand = Demand(
        method="",
        load_name="",
        load=(0.0,) * count,
        design_flow=(flow,) * count,
        largest=(flow,) * count,
    )
    at_tank = house.source.kept_pressure
    source = SourcePressure(
        design_pressure=at_tank,
        static_pressure=max(at_tank, house.source.cut_out or 0.0),
        elevation=tree.elevation[0],
        limited_by="pump",
    )
    return prepare(tree, demand, source, cost)


def bears(choice: RunChoice, size: int, pressure: float, temperature: float) -> bool:
    """Whether a size of a run bears a pressure [Pa gauge], as far as its rating is known."""
    rating = choice.tube.pressure_rating(choice.options[size].size, temperature)
    return rating is None or rating >= pressure


def _against_pump(situation: Situation, pumped: House, wanted: float, pressure: float) -> Situation:
    """The situation with the pump's head between its points, and what tank and suction ask for."""
    working, stuck = pressures_to_bear(pumped)
    choices: list[RunChoice | None] = []
    for i, choice in enumerate(situation.choices):
        if choice is None:
            choices.append(None)
            continue
        fixed = is_settled(choice.run)
        allowed = narrow(choice.options, choice.offered, choice.minimum, math.inf, fixed=fixed)
        if not fixed:
            for needed in (working[i], stuck[i]):
                strong = [
                    j for j in allowed if bears(choice, j, needed, situation.tree.temperature[i])
                ]
                allowed = tuple(strong) or allowed
        choices.append(replace(choice, allowed=allowed))
    source, well, pump = pumped.source, pumped.source.well, pumped.source.pump
    assert pump is not None
    weight = specific_weight(pumped.water.cold)
    falls = wanted / well.specific_capacity if well is not None and well.specific_capacity else 0.0
    gain, required = list(situation.static_gain), list(situation.required)
    before, lifted = len(pumped.suction), weight * pump_head(pump, wanted)
    required[-1] = pressure
    if before + 1 < len(gain):
        gain[before + 1] += lifted
    else:
        required[-1] -= lifted
    if before:
        sucks = weight * practical_suction_lift(well_limit("suction-lift").value, source.altitude)
        required[before] = max(required[before], -sucks)
    return reconcile(
        replace(
            situation,
            choices=tuple(choices),
            static_gain=tuple(gain),
            required=tuple(required),
            source=replace(situation.source, design_pressure=-weight * falls),
        )
    )


def _slow_enough(situation: Situation, pumped: House, wanted: float, pressure: float) -> list[int]:
    """The cheapest sizes in which no open run carries more than its velocity limit allows."""
    tops = {
        i: {
            j: choice.velocity_limit * flow_area(choice.options[j].size.inside_diameter)
            for j in choice.allowed
        }
        for i, choice in enumerate(situation.choices)
        if choice is not None and not is_settled(choice.run)
    }
    flows = sorted({top for of_run in tops.values() for top in of_run.values() if top >= wanted})
    best: tuple[float, list[int]] | None = None
    for flow in flows:
        picked, cost, feasible = _cheapest_sizes(_carrying(situation, tops, flow))
        tried = _with_choice(pumped, situation, picked, open_only=False)
        slow = pump_pressure(tried, flow * SAME_FLOW) <= pressure
        if slow and feasible and (best is None or cost < best[0]):
            best = cost, picked
    if best is not None:
        return best[1]
    return _cheapest_sizes(_carrying(situation, tops, math.inf))[0]


def _carrying(
    situation: Situation, tops: Mapping[int, Mapping[int, float]], flow: float
) -> Situation:
    """The situation with only such sizes of each open run as may carry a flow, else its largest."""
    choices = list(situation.choices)
    for i, of_run in tops.items():
        choice = choices[i]
        assert choice is not None
        allowed = tuple(j for j, top in of_run.items() if top >= flow) or choice.allowed[-1:]
        choices[i] = replace(choice, allowed=allowed)
    return reconcile(replace(situation, choices=tuple(choices)))


def _cheapest_sizes(situation: Situation) -> tuple[list[int], float, bool]:
    """Index of each run's size, what they cost, and whether the tank gets what is wanted."""
    solution = cheapest(sizing_problem(situation, 0.0))
    return situation.sizes_by(solution.choice), solution.cost, solution.feasible


def _with_choice(
    house: House, situation: Situation, picked: Sequence[int], *, open_only: bool = True
) -> House:
    """The house with a size for every run before the tank."""
    sizes = {
        choice.run.name: choice.options[j].size.nominal
        for choice, j in zip(situation.choices, picked, strict=True)
        if choice is not None and (choice.run.size is None or not open_only)
    }
    return with_sizes(house, sizes) if sizes else house
