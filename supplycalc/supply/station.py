"""Well, pump, switch and tank of a house together, with what had to be assumed."""

from __future__ import annotations

import itertools
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Pump, Well
from supplycalc.records import Form
from supplycalc.supply.limits import efficiency, one_point_ratios, well_limit
from supplycalc.supply.pump import (
    curve_known,
    level_known,
    lift,
    one_point,
    pump_head,
    total_dynamic_head,
    with_curve,
)
from supplycalc.supply.supply_curve import SupplyCurve, WellsTogether, supply_curve
from supplycalc.supply.tank import (
    Cycling,
    Vessel,
    atmospheric_pressure,
    cycling,
    fill_time,
    starts_per_hour,
)
from supplycalc.supply.well_line import loss_to_tank_with_slope
from supplycalc.tables import code_limit, to_si
from supplycalc.units.quantities import Flow, Head, Length, Power, Pressure, Setting

MOTORS = (1 / 3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0)
"""[hp] usual rated powers of domestic pump motors; common practice, no source."""


class OperatingPoint(Struct, frozen=True, kw_only=True):
    """Where pump and system meet at one pressure."""

    form: ClassVar[Form] = Form(rename={"name": "at"})

    name: str
    pressure: Pressure
    """At the source's gauge."""
    flow: Flow
    """0 where the pump does not reach the pressure."""
    drawdown: Length | None
    """Of the well's level; None of several wells, each of which has its own."""
    lift: Head | None
    """From the pumping level to the gauge; None without the water's level."""
    friction_head: Head | None
    """None of several wells."""
    total_head: Head | None
    """None without the water's level."""
    reached: bool


class Station(Struct, frozen=True, kw_only=True):
    """A well supply whose pump has a curve."""

    house: House
    """With the curve, guessed where need be."""
    supply_curve: SupplyCurve
    """With the level that follows the flow."""
    cut_in: Setting
    """Of a constant-pressure pump, the pressure at which it starts again."""
    cut_out: Setting
    """Of a constant-pressure pump, the pressure it holds."""
    precharge: Setting
    precharge_assumed: bool
    atmosphere: Pressure
    """[Pa absolute]"""
    motor_power: Power
    """Of several wells the largest motor's, which asks for the longest rest."""
    motor_assumed: bool
    curve_guessed: bool = False
    """Whether the pump is known by one point alone."""

    @property
    def pump(self) -> Pump:
        """The pump."""
        pump = self.house.source.pump
        assert pump is not None
        return pump

    @property
    def held(self) -> bool:
        """Whether the pump changes its speed to hold one pressure."""
        return self.pump.kind == "constant-pressure"

    @property
    def vessel(self) -> Vessel | None:
        """The tank between the switch's settings; None where no volume is given."""
        tank = self.house.source.tank
        if tank is None or tank.volume is None:
            return None
        return self.vessel_of(tank.volume)

    def vessel_of(self, volume: float) -> Vessel:
        """A tank of a volume [m3] in this one's place."""
        return Vessel(
            volume=volume,
            precharge=self.precharge,
            cut_in=self.cut_in,
            cut_out=self.cut_out,
            atmosphere=self.atmosphere,
        )

    def cycles(self, vessel: Vessel) -> Cycling:
        """How the pump cycles with a tank; a constant-pressure pump only at draws it sleeps at."""
        if not self.held:
            return cycling(vessel, self.supply_curve)
        draw = min(well_limit("sleep-flow").value, 0.5 * self.supply_curve.flow_at(self.cut_out))
        run_time = fill_time(vessel, self.supply_curve)
        return Cycling(
            run_time=run_time,
            starts_per_hour=starts_per_hour(vessel, self.supply_curve, draw),
            worst_draw=draw,
            drawdown=vessel.drawdown,
            mean_flow=vessel.drawdown / run_time if run_time > 0.0 else 0.0,
        )


def pump_station(house: House) -> Station | None:
    """Put a house's well supply together; None on a main, without a pump that something is known
    of, or without a switch.

    Source: precharge 2 psi below cut-in (Water Systems Council, 2007) where none is given; motor
        by its work at cut-in (common practice, no source) where none is given.
    """
    if house.source.kind != "well" or house.source.pump is None:
        return None
    guessed = not curve_known(house)
    house = with_curve(house)
    source, pump = house.source, house.source.pump
    settings = settings_of_switch(house)
    if pump is None or not curve_known(house) or settings is None:
        return None
    cut_in, cut_out, held = settings
    charge = source.tank.precharge if source.tank is not None else None
    falling = supply_curve(house, level_follows=True)
    motors = [
        (pump.motor_power, motor_for(each, flow, pump_head(pump, flow)))
        for each, flow in _each_at(house, falling, cut_in)
        if (pump := each.source.pump) is not None
    ]
    return Station(
        house=house,
        supply_curve=falling,
        cut_in=cut_in,
        cut_out=cut_out,
        precharge=usual_precharge(cut_in, cut_out, held) if charge is None else charge,
        precharge_assumed=charge is None,
        atmosphere=atmospheric_pressure(source.altitude),
        motor_power=max(usual if power is None else power for power, usual in motors),
        motor_assumed=any(power is None for power, _ in motors),
        curve_guessed=guessed,
    )


def settings_of_switch(house: House) -> tuple[float, float, bool] | None:
    """(cut-in, cut-out [Pa gauge], whether the pump holds the second); None where not told.

    A pump that holds a pressure starts again where the file has it, else so far below as is usual.
    """
    source = house.source
    cut_in, cut_out, held = source.cut_in, source.cut_out, source.set_pressure
    if held is not None:
        cut_out = held
        given = source.cut_in if source.cut_in is not None else cut_out
        cut_in = given if given < cut_out else cut_out - well_limit("restart-fall").value
    return None if cut_in is None or cut_out is None else (cut_in, cut_out, held is not None)


def vessel_at_switch(house: House) -> Vessel | None:
    """The pressure tank between the switch's settings; None without a switch or its volume.

    Source: precharge as for `pump_station`.
    """
    settings, tank = settings_of_switch(house), house.source.tank
    if settings is None or tank is None or tank.volume is None:
        return None
    cut_in, cut_out, held = settings
    usual = usual_precharge(cut_in, cut_out, held)
    return Vessel(
        volume=tank.volume,
        precharge=usual if tank.precharge is None else tank.precharge,
        cut_in=cut_in,
        cut_out=cut_out,
        atmosphere=atmospheric_pressure(house.source.altitude),
    )


def _each_at(house: House, curve: SupplyCurve, pressure: float) -> tuple[tuple[House, float], ...]:
    """Each well apart with what its pump gives at a pressure at the gauge [Pa]."""
    if not house.further_wells:
        return ((house, curve.flow_at(pressure)),)
    together = WellsTogether(house)
    return tuple(zip(together.apart, together.flows_at(pressure), strict=True))


def usual_precharge(cut_in: Pressure, cut_out: float, held: bool) -> Pressure:
    """Air charge by the trade's rules.

    Args:
        cut_out: or the pressure that a constant-pressure pump holds [Pa gauge].

    Source: Water Systems Council, Pressure Tanks, 2007; for constant pressure from memory.
    """
    if held:
        return well_limit("precharge-share").value * cut_out
    return max(cut_in - code_limit("precharge-below-cut-in").value, 0.0)


def motor_for(house: House, flow: Flow, head: Head) -> float:
    """Usual motor for a pump's work.

    Returns:
        Rated shaft power [W], the next usual one up.

    Source: hydraulic power over a pump end's usual efficiency (common practice, no source).
    """
    shaft = specific_weight(house.water.cold) * flow * head / efficiency("pump-end").middle
    horsepower = shaft / to_si(1.0, "hp")
    return to_si(next((motor for motor in MOTORS if motor >= horsepower), horsepower), "hp")


def operating_point(station: Station, name: str, pressure: Pressure) -> OperatingPoint:
    """Where a pump works at one pressure at the gauge.

    Source: intersection of the pump's and the system's curve; total head by MIL-HDBK-1164.
    """
    house = station.house
    flow = station.supply_curve.flow_at(pressure)
    if house.further_wells:
        return OperatingPoint(
            name=name,
            pressure=pressure,
            flow=flow,
            drawdown=None,
            lift=None,
            friction_head=None,
            total_head=None,
            reached=flow > 0.0,
        )
    weight = specific_weight(house.water.cold)
    friction = loss_to_tank_with_slope(house, flow)[0] / weight
    height = lift(house, flow)
    return OperatingPoint(
        name=name,
        pressure=pressure,
        flow=flow,
        drawdown=height - lift(house, 0.0),
        lift=height if level_known(house) else None,
        friction_head=friction,
        total_head=height + friction + pressure / weight if level_known(house) else None,
        reached=flow > 0.0,
    )


def speed_for(station: Station, flow: Flow) -> float:
    """Share of full speed at which a constant-pressure pump holds its pressure; 1 where even that
    is not enough.

    Source: affinity laws, flow ~ N and head ~ N^2 (Hydraulic Institute, from memory).
    """
    wanted = total_dynamic_head(station.house, flow, station.cut_out)
    low, high = 0.05, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if middle**2 * pump_head(station.pump, flow / middle) < wanted:
            low = middle
        else:
            high = middle
    return high


def guesses(house: House) -> tuple[Station, ...]:
    """Stations with every extreme of what one known point leaves open.

    Returns:
        One for each extreme of the curve's shape, of the measured flow and, where no level is
        given, of the water's depth; empty where the pump's curve is given.

    Source: common practice, no source.
    """
    point = one_point(house)
    if point is None:
        return ()
    low, _, high = one_point_ratios()
    off = point.uncertainty
    stations = []
    for level, ratio, share in itertools.product(
        _levels(house), (low, high), {1.0 - off, 1.0 + off}
    ):
        tried = with_curve(level, ratio=ratio, flow_share=max(share, 0.01))
        station = pump_station(tried)
        if station is not None:
            stations.append(station)
    return tuple(stations)


def _levels(house: House) -> tuple[House, ...]:
    """The house with the highest and the deepest water that it may have."""
    if level_known(house):
        return (house,)
    well = house.source.well or Well()
    deepest = well.pump_depth
    if deepest is None:
        jet = house.source.pump is not None and house.source.pump.kind == "jet"
        deepest = well_limit("suction-lift" if jet else "deep-level").value
    deep = replace(well, static_level=deepest)
    return house, replace(house, source=replace(house.source, well=deep))
