"""Where a pump works, what its one known point leaves open, and what a pump to buy must give."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import asdict

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House
from supplycalc.records import Form
from supplycalc.sizing.design import Design
from supplycalc.supply.limits import efficiency, well_limit
from supplycalc.supply.pump import OnePoint, level_known, one_point, total_dynamic_head
from supplycalc.supply.pump_check import flow_range
from supplycalc.supply.station import OperatingPoint, Station, guesses, operating_point
from supplycalc.units.quantities import Flow, Head, Power, Pressure


class Duty(Struct, frozen=True, kw_only=True):
    """What a pump must be able to do."""

    flow: Flow
    """The design flow."""
    head: Head
    """Total head for that flow at cut-in."""
    head_at_cut_out: Head
    """Total head for that flow at cut-out; beyond it the pump holds the flow all the time."""
    least_flow: Flow
    """Of the largest single fixture: less than this starves it."""
    most_flow: Flow | None
    """What the well sustains."""
    least_shut_off: Head
    """Head without flow that cut-out and its margin need."""
    most_shut_off: Head | None
    """Head without flow that the tank's rating allows."""
    motor_power: tuple[Power, Power]


class Uncertain(OnePoint, frozen=True, kw_only=True):
    """The one known point of a pump and the ranges that it leaves open."""

    form: ClassVar[Form] = Form(omit=("uncertainty",))

    flow_at_cut_in: tuple[Flow, Flow]
    flow_at_cut_out: tuple[Flow, Flow]
    held_pressure: tuple[Pressure, Pressure]
    """At the design flow."""


def points(station: Station, flow: float) -> Iterator[OperatingPoint]:
    """Where the pump works at the switch's settings and at what it sinks to.

    Source: `operating_point`.
    """
    if station.held:
        yield operating_point(station, "set pressure, full speed", station.cut_out)
    else:
        yield operating_point(station, "cut-in", station.cut_in)
        yield operating_point(station, "cut-out", station.cut_out)
    held = station.supply_curve.pressure_at(flow)
    if 0.0 <= held < station.cut_in:
        yield operating_point(station, "design flow", held)


def uncertain(house: House, flow: float) -> Uncertain | None:
    """What one known point of a pump leaves open; None where the curve is given.

    Source: `guesses` (common practice, no source).
    """
    point = one_point(house)
    stations = guesses(house)
    if point is None or not stations:
        return None

    def at(pressure: float) -> tuple[float, float]:
        return flow_range(house, pressure) or (0.0, 0.0)

    held = [max(station.supply_curve.pressure_at(flow), 0.0) for station in stations]
    return Uncertain(
        **asdict(point),
        flow_at_cut_in=at(stations[0].cut_in),
        flow_at_cut_out=at(stations[0].cut_out),
        held_pressure=(min(held), max(held)),
    )


def duty(design: Design, sustained: float | None) -> Duty | None:
    """What a pump must be able to do.

    Args:
        sustained: what the well is tested to give for good [m3/s]; None: not known.

    Returns:
        Duty point and ranges; None without a switch, or without the water's level, which the lift
        starts from.

    Source: total head by MIL-HDBK-1164; margin by The Driller, pump selection, 2007.
    """
    house = design.house
    source = house.source
    if source.cut_in is None or not level_known(house) or house.further_wells:
        return None
    cut_out = source.cut_out if source.cut_out is not None else source.cut_in
    flow = design.demand.design_flow[0]
    weight = specific_weight(house.water.cold)
    head = total_dynamic_head(house, flow, source.cut_in)
    rating = source.tank.max_pressure if source.tank is not None else None
    at_rest = total_dynamic_head(house, 0.0, 0.0)
    pump_end = efficiency("pump-end")
    hydraulic = weight * flow * head
    return Duty(
        flow=flow,
        head=head,
        head_at_cut_out=total_dynamic_head(house, flow, cut_out),
        least_flow=max((outlet.flow for outlet in design.tree.outlets), default=0.0),
        most_flow=sustained,
        least_shut_off=at_rest + (cut_out + well_limit("pump-margin").value) / weight,
        most_shut_off=None if rating is None else at_rest + rating / weight,
        motor_power=(hydraulic / pump_end.high, hydraulic / pump_end.low),
    )
