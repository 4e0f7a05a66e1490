"""The parts of a well check: what one pump must do, a tank's size, a well's yield."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.findings.well import standard_volume
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House
from supplycalc.sizing.design import Design
from supplycalc.supply.limits import (
    efficiency,
    least_run_time,
    most_starts_per_day,
    most_starts_per_hour,
    well_limit,
)
from supplycalc.supply.pump import OnePoint, one_point, total_dynamic_head
from supplycalc.supply.station import OperatingPoint, Station, guesses, operating_point
from supplycalc.supply.tank import Cycling, drawdown, volume_for_run_time
from supplycalc.supply.well import (
    Balance,
    available_drawdown,
    balance,
    sustained_yield,
    usable_storage,
)
from supplycalc.tables import Citation, load_table, to_si
from supplycalc.units import DAY

Range = tuple[float, float]


class Duty(Struct, frozen=True, kw_only=True):
    """What a pump must be able to do."""

    flow: float
    """The design flow [m3/s]."""
    head: float
    """Total head for that flow at cut-in [m]."""
    head_at_cut_out: float
    """Total head for that flow at cut-out [m]; beyond it the pump holds the flow all the time."""
    least_shut_off: float
    """Head without flow that cut-out and its margin need [m]."""
    most_shut_off: float | None
    """Head without flow that the tank's rating allows [m]."""
    least_flow: float
    """Flow of the largest single fixture [m3/s]: less than this starves it."""
    most_flow: float | None
    """What the well sustains [m3/s]."""
    motor_power: Range
    """[W]"""


class TankCheck(Struct, frozen=True, kw_only=True):
    """The tank as it is, as it should be, and with its charge lost."""

    cycles: Cycling | None
    """None where no volume is given."""
    usual: tuple[float, float] | None
    """Volumes usual for a constant-pressure pump [m3]; None for a pump that fills and rests."""
    least_run_time: float | None
    """[s]; None for a constant-pressure pump, which slows down instead of resting."""
    run_time_source: Citation
    """Of the least run time, or of the usual volumes."""
    most_starts: float
    """[1/h]"""
    starts_source: Citation
    most_starts_per_day: float
    starts_per_day_source: Citation
    needed: float | None
    """Volume that gives the least run time [m3]; inf where nothing does; None without a limit."""
    standard: float | None
    """The next common volume [m3]; None: more than the largest, or no limit."""
    peak_shortfall: float
    """Water that the pump lacks over the peak minutes [m3]."""
    needed_for_peak: float | None
    """Volume whose drawdown covers that beside the least run time's [m3]; None without a limit."""
    waterlogged: Cycling | None
    """With the air charge lost."""


class Yield(Struct, frozen=True, kw_only=True):
    """The well against a day's need."""

    people: int
    people_assumed: bool
    per_person: float
    """[m3/s]"""
    sustained: float | None
    """[m3/s]"""
    by_drawdown: bool
    """Whether that is specific capacity times the drawdown at hand: an upper bound."""
    drawdown: float | None
    """How far the level may fall before the pump is in danger [m]; None: not known."""
    bore_known: bool
    """Whether the file tells what stands in the bore."""
    balance: Balance
    second_pump: tuple[float, float] | None
    """Flow [m3/s] and head [m] of a pump from storage to the tank; None: not needed."""
    peak_flow_short: float
    """By how much the design flow exceeds what the well sustains [m3/s]."""


class Uncertain(Struct, frozen=True, kw_only=True):
    """What one known point of a pump leaves open."""

    point: OnePoint
    flow_at_cut_in: Range
    flow_at_cut_out: Range
    held_pressure: Range
    """At the design flow [Pa gauge]."""


def points(one: Station, flow: float) -> Iterator[OperatingPoint]:
    """Where the pump works at the switch's settings and at what it sinks to.

    Args:
        one: the station.
        flow: the design flow [m3/s].

    Returns:
        The points.

    Source: `operating_point`.
    """
    if one.held:
        yield operating_point(one, "set pressure, full speed", one.cut_out)
    else:
        yield operating_point(one, "cut-in", one.cut_in)
        yield operating_point(one, "cut-out", one.cut_out)
    held = one.supply_curve.pressure_at(flow)
    if 0.0 <= held < one.cut_in:
        yield operating_point(one, "design flow", held)


def uncertain(house: House, design: Design, flow: float) -> Uncertain | None:
    """What one known point of a pump leaves open.

    Args:
        house: with a pump.
        design: sized.
        flow: the design flow [m3/s].

    Returns:
        Ranges; None where the curve is given.

    Source: `guesses` (common practice, no source).
    """
    point = one_point(house)
    stations = guesses(house)
    if point is None or not stations:
        return None

    def over(values: list[float]) -> Range:
        return min(values), max(values)

    return Uncertain(
        point=point,
        flow_at_cut_in=over([one.supply_curve.flow_at(one.cut_in) for one in stations]),
        flow_at_cut_out=over([one.supply_curve.flow_at(one.cut_out) for one in stations]),
        held_pressure=over([max(one.supply_curve.pressure_at(flow), 0.0) for one in stations]),
    )


def duty(design: Design, supply: Yield) -> Duty | None:
    """What a pump must be able to do.

    Args:
        design: sized, on a well.
        supply: the well against a day's need.

    Returns:
        Duty point and ranges; None without a switch.

    Source: total head by MIL-HDBK-1164; margin by The Driller, pump selection, 2007.
    """
    house = design.house
    source = house.source
    if source.cut_in is None:
        return None
    cut_out = source.cut_out if source.cut_out is not None else source.cut_in
    flow = design.demand.design_flow[0]
    weight = specific_weight(house.water.cold)
    head = total_dynamic_head(house, flow, source.cut_in)
    rating = source.tank.max_pressure if source.tank is not None else None
    at_rest = total_dynamic_head(house, 0.0, 0.0)
    pump = efficiency("pump-end")
    hydraulic = weight * flow * head
    return Duty(
        flow=flow,
        head=head,
        head_at_cut_out=total_dynamic_head(house, flow, cut_out),
        least_shut_off=at_rest + (cut_out + well_limit("pump-margin").value) / weight,
        most_shut_off=None if rating is None else at_rest + rating / weight,
        least_flow=max((outlet.flow for outlet in design.tree.outlets), default=0.0),
        most_flow=None if supply.by_drawdown else supply.sustained,
        motor_power=(hydraulic / pump.high, hydraulic / pump.low),
    )


def tank_check(one: Station, flow: float) -> TankCheck:
    """The tank as it is, as it should be, and with its charge lost.

    Args:
        one: the station.
        flow: the design flow [m3/s].

    Returns:
        Cycling, limits and volumes.

    Source: limits of well.toml, each with its own.
    """
    vessel = one.vessel
    trial = vessel or one.vessel_of(to_si(44.0, "gal"))
    cycles = one.cycles(trial)
    least, source = least_run_time(cycles.mean_flow, one.motor_power)
    smallest, largest = well_limit("held-tank-least"), well_limit("held-tank-most")
    starts, starts_source = most_starts_per_hour(one.motor_power)
    daily, daily_source = most_starts_per_day(one.motor_power)
    needed = None if one.held else volume_for_run_time(trial, one.supply_curve, least)
    missing = (
        max(flow - one.supply_curve.flow_at(one.cut_in), 0.0) * well_limit("peak-minutes").value
    )
    share = drawdown(1.0, one.precharge, one.cut_in, one.cut_out, one.atmosphere)
    for_peak = math.inf
    if share > 0.0:
        for_peak = (needed or 0.0) + missing / share
    flat = well_limit("precharge-lost").value
    metric = one.house.project.units == "metric"
    return TankCheck(
        cycles=cycles if vessel is not None else None,
        usual=(smallest.value, largest.value) if one.held else None,
        least_run_time=None if one.held else least,
        run_time_source=smallest.citation if one.held else source,
        most_starts=starts,
        starts_source=starts_source,
        most_starts_per_day=daily,
        starts_per_day_source=daily_source,
        needed=needed,
        standard=None if needed is None else standard_volume(needed, metric),
        peak_shortfall=missing,
        needed_for_peak=None if one.held else for_peak,
        waterlogged=one.cycles(replace(vessel, precharge=flat)) if vessel is not None else None,
    )


def well_yield(design: Design, people: int | None, one: Station | None) -> Yield:
    """The well against a day's need.

    Args:
        design: sized, on a well.
        people: who live there; None takes the file's number, else the usual one.
        one: the station; None where too little is known of the pump.

    Returns:
        Need, yield, storage.

    Source: The Groundwater Project, Domestic Wells, box 1.
    """
    house = design.house
    well, allowance = house.source.well, well_limit("submergence").value
    given = people if people is not None else house.project.people
    number = int(load_table("day")["people"]["value"]) if given is None else given
    per_person = well_limit("per-person-planning").value
    sustained = None if well is None else sustained_yield(well, allowance)
    fall = None if well is None else available_drawdown(well, allowance)
    stored = 0.0 if well is None else usable_storage(well, allowance)
    flow = design.demand.design_flow[0]
    found = balance(
        number * per_person * DAY,
        sustained,
        stored,
        well_limit("peak-period").value,
        math.inf if one is None else one.supply_curve.flow_at(one.cut_in),
    )
    short = 0.0 if sustained is None else max(flow - sustained, 0.0)
    second = None
    if found.storage > 0.0:
        cut_out = house.source.cut_out or house.source.cut_in or 0.0
        head = (cut_out + well_limit("pump-margin").value) / specific_weight(house.water.cold)
        second = (flow, head)
    return Yield(
        people=number,
        people_assumed=given is None,
        per_person=per_person,
        sustained=sustained,
        by_drawdown=sustained is not None and (well is None or sustained != well.recovery),
        drawdown=fall,
        bore_known=well is not None and well.diameter is not None and fall is not None,
        balance=found,
        second_pump=second,
        peak_flow_short=short,
    )
