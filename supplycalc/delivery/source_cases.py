"""The states that the source can be in, each as a law of pressure over flow."""

from __future__ import annotations

import bisect
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.delivery.open_supply import Head, Law, constant_source, lower_of, sagging_main
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import BACK_FROM_TANK, House
from supplycalc.network import Tree
from supplycalc.supply.pump import curve_known, level_known, lift, pump_head, with_curve
from supplycalc.supply.source import MAIN_EXPONENT, level_pressures
from supplycalc.supply.supply_curve import WellsTogether
from supplycalc.supply.well_line import loss_to_tank_with_slope, loss_with_slope

LEAST_SLOPE = 1e-3
"""[Pa s/m3] Least fall of a pump's pressure with its flow, so that flows can be added."""


class SourceCase(Struct, frozen=True, kw_only=True):
    """One state that the source can be in."""

    name: str
    """ "cut-in", "cut-out", "pump alone", "set pressure", "main", "lowest level" or "highest
    level", "pump running"."""
    law: Law
    heads: tuple[Head, ...] = ()
    """What feeds the house from elsewhere in the tree."""


def source_cases(house: House) -> tuple[SourceCase, ...]:
    """The states that the source can be in, the weakest that lasts first.

    Returns:
        For a main one case; for open water its lowest and highest level; for a well cut-in and
        cut-out, and the pump alone where its curve is guessed from a bucket test, or given together
        with the water's level; for a constant-pressure pump what it holds.
    """
    source = house.source
    if source.by_gravity:
        low, high = level_pressures(house)
        lowest = SourceCase(name="lowest level", law=constant_source(low))
        if high == low:
            return (lowest,)
        return (lowest, SourceCase(name="highest level", law=constant_source(high)))
    if source.kind == "main":
        return (SourceCase(name="main", law=_main_law(house)),)
    measured = source.pump is not None and not source.pump.curve
    told = measured or level_known(house)
    house = with_curve(house)
    curve = pump_law(house) if told and curve_known(house) else None
    if source.set_pressure is not None:
        held = constant_source(source.set_pressure)
        return (SourceCase(name="set pressure", law=lower_of(held, curve) if curve else held),)
    cut_in = source.cut_in if source.cut_in is not None else 0.0
    cut_out = source.cut_out if source.cut_out is not None else cut_in
    cases = [
        SourceCase(name="cut-in", law=constant_source(cut_in)),
        SourceCase(name="cut-out", law=constant_source(cut_out)),
    ]
    if curve is not None:
        cases.append(SourceCase(name="pump alone", law=lower_of(curve, constant_source(cut_out))))
    return tuple(cases)


def pump_running(tree: Tree) -> SourceCase | None:
    """Cut-in while the pump runs: taps on the line before the tank stand between two heads.

    Returns:
        None where there are none, or the pump's curve or the water's level is not known.
    """
    suffix = BACK_FROM_TANK.format("")
    backs = [i for i, run in tree.runs() if run.fed_back]
    house = tree.house
    measured = house.source.pump is not None and not house.source.pump.curve
    house, cut_in = with_curve(house), house.source.cut_in
    if not backs or cut_in is None or not (curve_known(house) and (measured or level_known(house))):
        return None
    names = [link.name for link in house.line]
    before = names.index(tree.names[backs[-1]].removesuffix(suffix))
    at = tree.elevation[backs[-1]]
    pump = pump_law(
        replace(house, line=house.line[:before], source=replace(house.source, elevation=at))
    )
    from_tank = specific_weight(house.water.cold) * (house.source.elevation - at)
    if pump(0.0)[0] <= cut_in + from_tank:
        return None
    return SourceCase(
        name="pump running",
        law=constant_source(cut_in),
        heads=(Head(name="pump", link=backs[-1], law=pump),),
    )


def _main_law(house: House) -> Law:
    source = house.source
    static, residual, at = source.static, source.residual, source.residual_flow
    if residual is None:
        return constant_source(static or 0.0)
    if static is None or at is None or static <= residual:
        return constant_source(residual)
    return sagging_main(static, residual, at, MAIN_EXPONENT)


def pump_law(house: House) -> Law:
    """Pressure that the pump alone holds at the source's gauge, and its slope.

    Source: total dynamic head rearranged (MIL-HDBK-1164) and differentiated.
    """
    if house.further_wells:
        return _law_of_several(WellsTogether(house))
    pump, well = house.source.pump, house.source.well
    assert pump is not None
    weight = specific_weight(house.water.cold)
    flows = [flow for flow, _ in pump.curve]
    steepness = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(pump.curve)]
    deeper = 1.0 / well.specific_capacity if well is not None and well.specific_capacity else 0.0

    def law(flow: float) -> tuple[float, float]:
        piece = min(max(bisect.bisect_left(flows, flow) - 1, 0), len(steepness) - 1)
        lost, rise = loss_to_tank_with_slope(house, flow)
        value = weight * (pump_head(pump, flow) - lift(house, flow)) - lost
        return value, min(weight * (steepness[piece] - deeper) - rise, 0.0)

    return law


def _law_of_several(wells: WellsTogether) -> Law:
    """The same of several wells: of pumps side by side it is the flows' slopes that add."""
    alone = [pump_law(house) for house in wells.apart]

    def law(flow: float) -> tuple[float, float]:
        pressure = wells.pressure_at(flow)
        flows = wells.flows_at(pressure)
        most = max(flows)
        # a pump that is shut off has no part in it; without any flow the strongest alone begins
        working = (
            [i for i, given in enumerate(flows) if given > 0.0]
            if most > 0.0
            else [max(range(len(alone)), key=lambda i: alone[i](0.0)[0])]
        )
        slopes = [min(alone[i](flows[i])[1], -LEAST_SLOPE) for i in working]
        lost = loss_with_slope(wells.house, wells.common, flow)[1]
        return pressure, 1.0 / sum(1.0 / slope for slope in slopes) - lost

    return law
