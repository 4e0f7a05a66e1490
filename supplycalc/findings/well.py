"""Pump, switch, tank and well together: what breaks pumps, empties wells and bursts tanks."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from supplycalc.findings.rule import (
    PRESSURE_SLACK,
    YOUR_FILE,
    Remark,
    Values,
    published,
    rule,
)
from supplycalc.model import Run
from supplycalc.network import well_side
from supplycalc.sizing.design import Design
from supplycalc.supply.day_need import day_balance, day_need
from supplycalc.supply.limits import least_run_time, tank_volumes, well_limit
from supplycalc.supply.pump_check import ROUND_FIGURE, PumpCheck
from supplycalc.supply.several_wells import named_wells
from supplycalc.supply.station import Station, pump_station, usual_precharge
from supplycalc.supply.suction import suction
from supplycalc.supply.tank import fill_time, volume_for_run_time
from supplycalc.supply.well import sustained_yield, usable_storage
from supplycalc.supply.well_line import tank_place_known
from supplycalc.supply.well_shares import sustained_by_all
from supplycalc.units import long_time
from supplycalc.units.quantities import Flow

NEARLY_USUAL = 0.9
"""Of the least usual tank, so that 18 L passes for 5 gal; common practice, no source."""
LONG_LINE = 10.0
"""[m] Buried line from which on the place of the tank decides its size; common practice, no
source."""
RELIEF_SHARE = 0.5
"""Of the usual margin above cut-out; a relief valve that has less of it weeps."""
RELIEF_VALVE = (
    "fit a relief valve that passes all the pump gives, set above cut-out and not above the "
    "tank's rating; pipe it to where hot or cold water hurts nobody"
)
"""Common practice, no source."""


def well_station(design: Design) -> Station | None:
    """Pump, switch, tank and well as they work together; None where no pump is known."""
    return pump_station(design.house)


@rule("switch-above-pump", "fail", subject=well_station, well=True)
def switch_above_pump(station: Station) -> Iterator[Remark]:
    """A switch whose cut-out the pump never reaches, so that it never stops."""
    if station.supply_curve.flow_at(station.cut_out) > 0.0:
        return
    if station.curve_guessed or station.supply_curve.flow_at(station.cut_in) <= 0.0:
        return  # nothing is concluded from a guess; a pump that reaches not even cut-in is told
    reached = station.supply_curve.pressure[0]
    yield Remark(
        where="pressure switch",
        message=(
            "the pump never stops: cut-out is {0}, and the most it can give at the tank is {1}"
            if not station.held
            else "the pump is to hold {0}, and the most it can give at the tank is {1}"
        ),
        values=((station.cut_out, "setting"), (max(reached, 0.0), "setting")),
        remedy="lower the switch, or fit a pump with more head; running against a shut tank "
        "overheats it",
        source=YOUR_FILE,
    )


@rule("jet-depth", "warn", subject=well_station, well=True)
def jet_depth(station: Station) -> Iterator[Remark]:
    """A jet pump whose ejector hangs deeper than they are used."""
    deepest = well_limit("jet-depth")
    for name, each in named_wells(station.house):
        well, pump = each.source.well, each.source.pump
        depth = well.pump_depth if well is not None else None
        if pump is None or pump.kind != "jet" or depth is None or depth <= deepest.value:
            continue
        yield Remark(
            where=name or "pump",
            message="the ejector of this jet pump hangs {0} deep; they are used down to {1}",
            values=((depth, "length"), (deepest.value, "length")),
            remedy="use a submersible pump",
            source=deepest.citation,
        )


@rule("suction-lift", "fail", well=True)
def suction_lift(design: Design) -> Iterator[Remark]:
    """A pump that would have to suck water higher than it can."""
    yield from _sucks_too_high(pump_station(design.house), "pump")
    if design.house.source.filled_by is not None:
        yield from _sucks_too_high(pump_station(well_side(design.house)), "well pump")


def _sucks_too_high(station: Station | None, where: str) -> Iterator[Remark]:
    """The same for one pump."""
    intake = None if station is None else suction(station)
    if intake is None or intake.ok:
        return
    if intake.required is not None:
        yield Remark(
            where=where,
            message=(
                "with {0} of lift its inlet has {1} of suction head; it needs {2} and {3} to spare"
            ),
            values=(
                (intake.lift, "length"),
                (intake.available, "head"),
                (intake.required, "head"),
                (well_limit("npsh-margin").value, "head"),
            ),
            remedy="set the pump lower, widen the suction pipe, or use a pump in the well",
            source=well_limit("npsh-margin").citation,
        )
        return
    yield Remark(
        where=where,
        message="it would have to suck {0}, friction included; {1} is the practical limit here",
        values=((intake.lift + intake.friction_head, "length"), (intake.limit, "length")),
        remedy="set the pump lower, widen the suction pipe, or use a pump in the well",
        source=well_limit("suction-lift").citation,
    )


@rule("pump-oversized", "warn", well=True)
def pump_oversized(design: Design) -> Iterator[Remark]:
    """A pump that gives more than the well sustains."""
    station, pump = well_station(design), design.pump
    well = design.house.source.well
    if station is None or pump is None or well is None or design.house.further_wells:
        return
    allowance = well_limit("submergence").value
    lasting = sustained_yield(well, allowance)
    flow = station.supply_curve.flow_at(pump.pressure)
    if lasting is None or flow <= lasting:
        return
    stored = usable_storage(well, allowance)
    message = "gives up to {0}; the well sustains {1}, so that a long draw can run it dry"
    values = [(flow, "flow"), (lasting, "flow")]
    if stored > 0.0:
        message += ", after about {2} of pumping"
        values.append((stored / (flow - lasting), "minutes"))
    keeps_up = day_balance(design.house, station, day_need(design.house)).keeps_up
    remedy, remedy_values = _less_than_pumped(pump, lasting, keeps_up)
    yield Remark(
        where="pump",
        message=message,
        values=tuple(values),
        remedy=remedy,
        remedy_values=remedy_values,
        source=YOUR_FILE,
    )


def _less_than_pumped(pump: PumpCheck, lasting: Flow, keeps_up: bool) -> tuple[str, Values]:
    """Dry-run protection in any case; a smaller pump only where the well gives what the house
    needs at once, else storage, where that helps."""
    if pump.design_flow <= lasting:
        return "fit dry-run protection; a pump of {0} would do and cannot outrun the well", (
            (pump.design_flow, "flow"),
        )
    if not keeps_up:
        return "fit dry-run protection; a pump of another size does not help", ()
    if pump.well_is_the_limit:
        return (
            "fit dry-run protection; a pump of another size does not help: store water in a "
            "covered tank that the well fills slowly, with a second pump from there"
        ), ()
    return "fit dry-run protection; where long draws are usual, store water and pump it twice", ()


@rule("yield-short", "warn", well=True)
def yield_short(design: Design) -> Iterator[Remark]:
    """A well that gives less than a day's water, or not in the hours in which it is wanted."""
    house, well = design.house, design.house.source.well
    if well is None or house.source.kind != "well" or house.source.open_water:
        return
    need = day_need(house)
    sustained = sustained_by_all(house)
    if sustained is None and well_station(design) is None:
        return
    supply = day_balance(house, well_station(design), need)
    people = f"{need.people} people"
    if need.assumed:
        people += " (assumed, as the file names no number)"
    if not supply.keeps_up:
        yield Remark(
            level="fail",
            where="well",
            message=f"gives {{0}} in a day; {people} need {{1}}, as a well is planned",
            values=((supply.daily_yield, "volume"), (supply.daily_need, "volume")),
            remedy="use less, or find more water: storage alone does not help",
            source=well_limit("per-person-planning").citation,
        )
    elif supply.storage > 0.0:
        by_pump = supply.lifted < supply.period_yield + supply.bore_storage
        of = "" if by_pump else ": its yield and what stands in its bore"
        outrun = sustained is not None and supply.lifted > supply.period_yield
        instead = "fit a larger pump, or " if by_pump and not outrun else ""
        yield Remark(
            where="pump" if by_pump else "well",
            message=f"gives {{0}} within {long_time(supply.period)}, when a day's {{1}} should be "
            f"there for {people}{of}",
            values=(
                (supply.available, "volume"),
                (supply.daily_need, "volume"),
            ),
            remedy=f"{instead}store at least {{0}} in a covered tank that the well fills slowly, "
            "with a second pump to the pressure tank; supplycalc well sizes it by drawn years",
            remedy_values=((supply.storage, "volume"),),
            source=well_limit("peak-period").citation,
        )


@rule("short-cycling", "warn", subject=well_station, well=True)
def short_cycling(station: Station) -> Iterator[Remark]:
    """A tank too small for the pump: it starts so often that its motor wears out."""
    vessel = station.vessel
    if vessel is None or station.held:
        return
    if station.supply_curve.flow_at(station.cut_out) <= 0.0:
        return
    run_time = fill_time(vessel, station.supply_curve) if vessel.drawdown > 0.0 else 0.0
    at_cut_in = station.supply_curve.flow_at(station.cut_in)
    mean = vessel.drawdown / run_time if run_time > 0.0 else at_cut_in
    least, source = least_run_time(mean, station.motor_power)
    if run_time >= least * ROUND_FIGURE:
        return
    if run_time == 0.0:  # no tank helps with an air charge as high as cut-out
        vessel = replace(
            vessel, precharge=usual_precharge(station.cut_in, station.cut_out, station.held)
        )
    needed = volume_for_run_time(vessel, station.supply_curve, least)
    standard = standard_volume(needed, station.house.project.units == "metric")
    what = "a tank of {0} (least {1})" if standard is not None else "tanks of {0} together"
    several = bool(station.house.further_wells)
    yield Remark(
        where="pumps" if several else "pump",
        message="run only {0} to fill the tank; they should run {1}, or their motors wear out early"
        if several
        else "runs only {0} to fill the tank; it should run {1}, or its motor wears out early",
        values=((run_time, "time"), (least, "time")),
        remedy=f"fit {what}, with the air charge right",
        remedy_values=((standard or needed, "volume"), (needed, "volume")),
        source=published(source),
    )


def standard_volume(needed: float, metric: bool) -> float | None:
    """The smallest common tank that is large enough [m3]; None beyond the largest."""
    return next((size for size in tank_volumes(metric) if size >= needed * (1.0 - 1e-9)), None)


@rule("held-tank-small", "warn", subject=well_station, well=True)
def held_tank_small(station: Station) -> Iterator[Remark]:
    """Less behind a pump that holds its pressure than is usual: each trickle wakes it."""
    vessel, least = station.vessel, well_limit("held-tank-least")
    most = well_limit("held-tank-most").value
    if vessel is None or not station.held or vessel.volume >= NEARLY_USUAL * least.value:
        return
    yield Remark(
        where="pressure tank",
        message="holds {0}; behind a pump that holds its pressure {1} to {2} are usual, so that a "
        "trickle does not wake it at once",
        values=((vessel.volume, "volume"), (least.value, "volume"), (most, "volume")),
        remedy="fit one of {0} or more, its air charge below the set pressure as the maker says",
        remedy_values=((least.value, "volume"),),
        source=least.citation,
    )


@rule("tank-stretched", "warn", subject=well_station, well=True)
def tank_stretched(station: Station) -> Iterator[Remark]:
    """A tank of which so much is water at cut-out that its diaphragm suffers."""
    vessel, limit = station.vessel, well_limit("acceptance")
    if vessel is None or vessel.cut_out <= vessel.precharge:
        return
    share = 1.0 - (vessel.precharge + vessel.atmosphere) / (vessel.cut_out + vessel.atmosphere)
    if share > limit.value:
        yield Remark(
            where="pressure tank",
            message="{0} of its volume is water at cut-out; its diaphragm may be made for {1}",
            values=((share, "share"), (limit.value, "share")),
            remedy="raise the air charge to just below cut-in, or narrow the switch's range",
            source=limit.citation,
        )


@rule("relief-valve", "warn", well=True)
def relief_valve(design: Design) -> Iterator[Remark]:
    """No relief valve at the tank, or one that opens too high or too low."""
    source, station = design.house.source, pump_station(design.house)
    tank = source.tank
    if tank is None or source.kind != "well":
        return
    rating, relief = tank.max_pressure, tank.relief
    cut_out, margin = design.source.static_pressure, well_limit("relief-margin")
    if relief is None:
        if station is not None:
            yield _no_relief_valve(station, rating)
    elif relief <= cut_out + PRESSURE_SLACK:
        yield Remark(
            level="fail",
            where="pressure tank",
            message="its relief valve opens at {0}, but the pump stops only at {1}: it spills what "
            "the pump gives, and the pump may never stop",
            values=((relief, "setting"), (cut_out, "setting")),
            remedy="fit one that opens at {0} or more, within the tank's rating, or set the switch "
            "so much lower",
            remedy_values=((cut_out + margin.value, "setting"),),
        )
    elif rating is not None and relief > rating + PRESSURE_SLACK:
        yield Remark(
            level="fail",
            where="pressure tank",
            message="its relief valve opens at {0}, above its rating of {1}",
            values=((relief, "setting"), (rating, "setting")),
            remedy="fit a relief valve that opens at the rating or below",
        )
    elif relief < cut_out + RELIEF_SHARE * margin.value:
        yield Remark(
            where="pressure tank",
            message="its relief valve opens at {0}, so near to cut-out at {1} that it will weep",
            values=((relief, "setting"), (cut_out, "setting")),
            remedy="fit one that opens at {0} or more, within the tank's rating",
            remedy_values=((cut_out + margin.value, "setting"),),
        )


def _no_relief_valve(station: Station, rating: float | None) -> Remark:
    if station.curve_guessed:
        return Remark(
            level="note",
            where="pressure tank",
            message="a switch that sticks lets the pump bring more than cut-out to the tank, how "
            "much its one known point does not tell; the file names no relief valve",
            remedy=RELIEF_VALVE,
        )
    most = station.supply_curve.pressure[0]
    over = rating is not None and most > rating + PRESSURE_SLACK
    message = "a switch that sticks lets the pump bring {0} to the tank"
    values = [(most, "pressure")]
    if rating is not None:
        message += ", which is rated for {1}" if over else "; its rating of {1} is above that"
        values.append((rating, "pressure"))
    return Remark(
        level="warn" if over else "note",
        where="pressure tank",
        message=f"{message}; the file names no relief valve",
        values=tuple(values),
        remedy=RELIEF_VALVE,
    )


@rule("tank-place", "note", well=True)
def tank_place_unknown(design: Design) -> Iterator[Remark]:
    """A long buried line from the source, and nobody says whether the tank stands before it."""
    source, tree = design.house.source, design.tree
    held = source.pump is not None and source.pump.kind == "constant-pressure"
    if source.kind != "well" or held or tank_place_known(design.house):
        return
    for result in design.runs:
        if tree.parent[result.index] == 0 and is_long_line(result.run):
            yield Remark(
                where=result.run.name,
                message="{0} of buried line, and the file does not say where the pressure tank "
                "stands: at the well, the line carries the {1} that the house draws, as computed "
                "here; in the house, only what the pump gives",
                values=((result.run.length, "length"), (result.design_flow, "flow")),
                remedy="write at_well = true in [source.tank] where the tank stands at the well; "
                "where it stands in the house, let the line start from well and name its end as "
                "the tank's point (at in [[tank]])",
            )


def is_long_line(run: Run) -> bool:
    """Whether a run is a long line in the ground."""
    return run.buried is not None and not run.embedded and run.length > LONG_LINE
