"""Pump, switch, tank and well together: what breaks pumps, empties wells and bursts tanks."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from supplycalc.findings.common import PRESSURE_SLACK, published
from supplycalc.sizing.design import Design, Finding
from supplycalc.supply.limits import formula_source, least_run_time, tank_volumes, well_limit
from supplycalc.supply.station import Station, pump_station, usual_precharge
from supplycalc.supply.suction import suction
from supplycalc.supply.tank import fill_time, volume_for_run_time
from supplycalc.supply.well import sustained_yield, usable_storage

CODES = (
    "switch-above-pump", "suction-lift", "jet-depth", "pump-oversized", "short-cycling",
    "tank-stretched", "relief-valve",
)  # fmt: skip
"""Of every finding in this module."""


def well_supply(design: Design) -> Iterator[Finding]:
    """Everything that the well's parts show together; silent where no pump is known."""
    one = pump_station(design.house)
    if one is None:
        return
    if one.supply_curve.flow_at(one.cut_out) <= 0.0:
        yield _switch_above_pump(one)
    yield from _suction(one)
    yield from _oversized(one)
    yield from _short_cycling(one)
    yield from _stretched(one)
    yield from _relief(one)


def _switch_above_pump(one: Station) -> Finding:
    reached = one.supply_curve.pressure[0]
    return Finding(
        level="fail",
        code="switch-above-pump",
        where="pressure switch",
        message=(
            "the pump never stops: cut-out is {0}, and the most it can give at the tank is {1}"
            if not one.held
            else "the pump is to hold {0}, and the most it can give at the tank is {1}"
        ),
        values=((one.cut_out, "pressure"), (max(reached, 0.0), "pressure")),
        remedy="lower the switch, or fit a pump with more head; running against a shut tank "
        "overheats it",
        source=formula_source("total-head"),
    )


def _suction(one: Station) -> Iterator[Finding]:
    well = one.house.source.well
    deepest = well_limit("jet-depth")
    depth = well.pump_depth if well is not None else None
    if one.pump.kind == "jet" and depth is not None and depth > deepest.value:
        yield Finding(
            level="warn",
            code="jet-depth",
            where="pump",
            message="the ejector of this jet pump hangs {0} deep; they are used down to {1}",
            values=((depth, "length"), (deepest.value, "length")),
            remedy="use a submersible pump",
            source=deepest.citation,
        )
    found = suction(one)
    if found is None or found.ok:
        return
    if found.required is not None:
        yield Finding(
            level="fail",
            code="suction-lift",
            where="pump",
            message=(
                "with {0} of lift its inlet has {1} of suction head; it needs {2} and {3} to spare"
            ),
            values=(
                (found.lift, "length"),
                (found.available, "head"),
                (found.required, "head"),
                (well_limit("npsh-margin").value, "head"),
            ),
            remedy="set the pump lower, widen the suction pipe, or use a pump in the well",
            source=well_limit("npsh-margin").citation,
        )
        return
    yield Finding(
        level="fail",
        code="suction-lift",
        where="pump",
        message="it would have to suck {0}, friction included; {1} is the practical limit here",
        values=((found.lift + found.friction_head, "length"), (found.limit, "length")),
        remedy="set the pump lower, widen the suction pipe, or use a pump in the well",
        source=well_limit("suction-lift").citation,
    )


def _oversized(one: Station) -> Iterator[Finding]:
    well = one.house.source.well
    if well is None:
        return
    allowance = well_limit("submergence").value
    lasting = sustained_yield(well, allowance)
    flow = one.supply_curve.flow_at(one.cut_in)
    if lasting is None or flow <= lasting:
        return
    stored = usable_storage(well, allowance)
    message = "gives up to {0}; the well sustains {1}, so that a long draw can run it dry"
    values = [(flow, "flow"), (lasting, "flow")]
    if stored > 0.0:
        message += ", after about {2} of pumping"
        values.append((stored / (flow - lasting), "minutes"))
    yield Finding(
        level="warn",
        code="pump-oversized",
        where="pump",
        message=message,
        values=tuple(values),
        remedy="fit a smaller pump, or throttle it, and dry-run protection in any case; where the "
        "house needs more, store water and pump it twice",
        source=formula_source("total-head"),
    )


def _short_cycling(one: Station) -> Iterator[Finding]:
    vessel = one.vessel
    if vessel is None or one.held:
        return
    if one.supply_curve.flow_at(one.cut_out) <= 0.0:
        return
    run_time = fill_time(vessel, one.supply_curve) if vessel.drawdown > 0.0 else 0.0
    mean = vessel.drawdown / run_time if run_time > 0.0 else one.supply_curve.flow_at(one.cut_in)
    least, source = least_run_time(mean, one.motor_power)
    if run_time >= least * (1.0 - 1e-9):
        return
    if run_time == 0.0:  # no tank helps with an air charge as high as cut-out
        vessel = replace(vessel, precharge=usual_precharge(one.cut_in, one.cut_out, one.held))
    needed = volume_for_run_time(vessel, one.supply_curve, least)
    standard = standard_volume(needed, one.house.project.units == "metric")
    what = "a tank of {0} (least {1})" if standard is not None else "tanks of {0} together"
    yield Finding(
        level="warn",
        code="short-cycling",
        where="pump",
        message="runs only {0} to fill the tank; it should run {1}, or its motor wears out early",
        values=((run_time, "time"), (least, "time")),
        remedy=f"fit {what}, with the air charge right",
        remedy_values=((standard or needed, "volume"), (needed, "volume")),
        source=published(source),
    )


def standard_volume(needed: float, metric: bool) -> float | None:
    """The smallest common tank that is large enough [m3]; None beyond the largest."""
    return next((one for one in tank_volumes(metric) if one >= needed * (1.0 - 1e-9)), None)


def _stretched(one: Station) -> Iterator[Finding]:
    vessel, limit = one.vessel, well_limit("acceptance")
    if vessel is None or vessel.cut_out <= vessel.precharge:
        return
    share = 1.0 - (vessel.precharge + vessel.atmosphere) / (vessel.cut_out + vessel.atmosphere)
    if share > limit.value:
        yield Finding(
            level="warn",
            code="tank-stretched",
            where="pressure tank",
            message="{0} of its volume is water at cut-out; its diaphragm may be made for {1}",
            values=((share, "share"), (limit.value, "share")),
            remedy="raise the air charge to just below cut-in, or narrow the switch's range",
            source=limit.citation,
        )


def _relief(one: Station) -> Iterator[Finding]:
    tank = one.house.source.tank
    if tank is None:
        return
    most, rating, relief = one.supply_curve.pressure[0], tank.max_pressure, tank.relief
    margin = well_limit("relief-margin")
    if relief is None:
        over = rating is not None and most > rating + PRESSURE_SLACK
        message = "a switch that sticks lets the pump bring {0} to the tank"
        values = [(most, "pressure")]
        if rating is not None:
            message += ", which is rated for {1}" if over else "; its rating of {1} is above that"
            values.append((rating, "pressure"))
        yield Finding(
            level="warn" if over else "note",
            code="relief-valve",
            where="pressure tank",
            message=f"{message}; the file names no relief valve",
            values=tuple(values),
            remedy="fit a relief valve that passes all the pump gives, set above cut-out and not "
            "above the tank's rating; pipe it to where hot or cold water hurts nobody",
        )
    elif rating is not None and relief > rating + PRESSURE_SLACK:
        yield Finding(
            level="fail",
            code="relief-valve",
            where="pressure tank",
            message="its relief valve opens at {0}, above its rating of {1}",
            values=((relief, "pressure"), (rating, "pressure")),
            remedy="fit a relief valve that opens at the rating or below",
        )
    elif relief < one.cut_out + 0.5 * margin.value:
        yield Finding(
            level="warn",
            code="relief-valve",
            where="pressure tank",
            message="its relief valve opens at {0}, so near to cut-out at {1} that it will weep",
            values=((relief, "pressure"), (one.cut_out, "pressure")),
            remedy="fit one that opens at {0} or more, within the tank's rating",
            remedy_values=((one.cut_out + margin.value, "pressure"),),
        )
