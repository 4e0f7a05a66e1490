"""What moves the tank's pressure: pump, switch, tank and well as the day's engine needs them."""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.friction import flow_area
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House
from supplycalc.problems import InputError, Problem
from supplycalc.supply.drop_pipe import loss_to_tank_with_slope
from supplycalc.supply.limits import Spread, efficiency, well_limit
from supplycalc.supply.pump import lift, pump_head
from supplycalc.supply.station import Station
from supplycalc.supply.supply_curve import SupplyCurve, supply_curve
from supplycalc.supply.tank import air_constant
from supplycalc.supply.well import available_drawdown
from supplycalc.tables import to_si

Control = Literal["switch", "held"]
USUAL_CASING, NARROW_CASING = to_si(6.0, "in"), to_si(4.0, "in")
"""[m] Usual and narrowest casing of a house's drilled well; common practice, no source."""


class Plant(Struct, frozen=True, kw_only=True):
    """Pump, switch, tank and well; pressures in Pa gauge, flows in m3/s."""

    house: House
    station: Station
    control: Control
    supply_curve: SupplyCurve
    cut_in: float
    cut_out: float
    volume: float
    """Of the tank [m3]."""
    precharge: float
    atmosphere: float
    """[Pa absolute]"""
    air: float
    """Absolute pressure times volume of the air [J]."""
    weight: float
    """Of water [N/m3]."""
    area: float
    """Of the bore [m2]; 0: the level follows the flow at once, or is not known."""
    casing_assumed: bool
    """Whether the file leaves the casing's diameter out and the usual one was taken."""
    gain: float
    """Inflow per fall of the level [m2/s]."""
    most_inflow: float
    """[m3/s]; inf where the well's yield is not known"""
    dry: float
    """Fall of the level at which the pump runs dry [m]; inf where that is not known."""
    dry_wait: float
    """[s]"""
    sleep: float
    """Flow below which a constant-pressure pump stops [m3/s]."""
    head: tuple[tuple[float, float], ...]
    """For each piece of the supply curve the pump's head = first + second * flow [m]."""
    efficiency: float
    """Wire to water."""
    efficiency_range: Spread | None
    """Where the file gives none."""

    def total_head(self, flow: float, pressure: float, fall: float) -> float:
        """Head that is really needed at a flow, pressure and fall of the level [m]."""
        loss = loss_to_tank_with_slope(self.house, flow)[0]
        at_rest = lift(self.house, 0.0 if self.area else flow)
        return at_rest + fall + (pressure + loss) / self.weight


def plant(one: Station) -> Plant:
    """Put a station into the form that the engine moves.

    The well's level is a state of its own where the file gives the casing's diameter and how water
    comes in; otherwise it follows the pumped flow at once by the specific capacity. A recovery
    without a diameter gets the usual casing: left aside, it would make a poor well look endless.

    Args:
        one: the station.

    Returns:
        The plant.

    Raises:
        InputError: there is no tank volume, or the tank takes no water at cut-out.

    Source: inflow = specific capacity times fall, at most the recovery.
    """
    house = one.house
    vessel = one.vessel
    tank = house.source.tank
    if vessel is None:
        place = house.source.place if tank is None else tank.place
        message = 'a day needs the tank\'s volume, such as volume = "44 gal" in [source.tank]'
        raise InputError([Problem(place=place, message=message)])
    if one.precharge >= one.cut_out and tank is not None:
        message = "the tank takes no water: its precharge is not below cut-out"
        raise InputError([Problem(place=tank.place, message=message)])
    well = house.source.well
    area, gain, most = 0.0, 0.0, math.inf
    dry = math.inf
    casing = None if well is None else well.diameter
    assumed = well is not None and not casing and well.recovery is not None
    if assumed:
        casing = USUAL_CASING
    if well is not None and casing and (well.specific_capacity or well.recovery):
        area = flow_area(casing)
        gain = well.specific_capacity or 0.0
        most = well.recovery if well.recovery is not None else math.inf
        available = available_drawdown(well, well_limit("submergence").value)
        dry = math.inf if available is None else max(available, 1e-3)
    falling = supply_curve(house, level_follows=not area)
    usual = efficiency(one.pump.kind) if one.pump.efficiency is None else None
    return Plant(
        house=house,
        station=one,
        control="held" if one.held else "switch",
        supply_curve=falling,
        cut_in=one.cut_in,
        cut_out=one.cut_out,
        volume=vessel.volume,
        precharge=one.precharge,
        atmosphere=one.atmosphere,
        air=air_constant(vessel.volume, one.precharge, one.atmosphere),
        weight=specific_weight(house.water.cold),
        area=area,
        casing_assumed=assumed,
        gain=gain,
        most_inflow=most,
        dry=dry,
        dry_wait=well_limit("dry-restart").value,
        sleep=well_limit("sleep-flow").value,
        head=tuple(_head_lines(one, falling)),
        efficiency=usual.middle if usual is not None else one.pump.efficiency or 1.0,
        efficiency_range=usual,
    )


def _head_lines(one: Station, falling: SupplyCurve) -> list[tuple[float, float]]:
    """The pump's head is straight on each piece, since the supply curve goes through its points."""
    found = []
    for low, high in zip(falling.flow, falling.flow[1:], strict=False):
        at_low, at_high = pump_head(one.pump, low), pump_head(one.pump, high)
        second = (at_high - at_low) / (high - low)
        found.append((at_low - second * low, second))
    return found


def with_precharge(one: Plant, precharge: float) -> Plant:
    """The same plant with another air charge, as a tank that has lost it.

    Args:
        one: the plant.
        precharge: [Pa gauge].

    Returns:
        The changed plant.
    """
    air = air_constant(one.volume, precharge, one.atmosphere)
    return replace(one, precharge=precharge, air=air)
