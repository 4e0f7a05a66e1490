"""What moves the tank's pressure: pump, switch, tank and well, and what was assumed of them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from msgspec import Struct
from msgspec.structs import asdict, replace

from supplycalc.chance.well_yield import NOT_RUN
from supplycalc.hydraulics.friction import flow_area
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Pump
from supplycalc.network import well_side
from supplycalc.problems import InputError, Problem
from supplycalc.records.sentences import Assumption
from supplycalc.supply.limits import Spread, efficiency, well_limit
from supplycalc.supply.pump import curve_known, level_known, lift, pump_head, with_curve
from supplycalc.supply.several_wells import well_names, wells_alone
from supplycalc.supply.station import Station, pump_station
from supplycalc.supply.supply_curve import SupplyCurve, WellsTogether, supply_curve
from supplycalc.supply.tank import air_constant, atmospheric_pressure
from supplycalc.supply.well import available_drawdown
from supplycalc.supply.well_line import loss_to_tank_with_slope
from supplycalc.supply.well_shares import sustained_by_all
from supplycalc.units import INCH
from supplycalc.units.quantities import Flow, Head, Length, Pressure, Setting, Time, Volume

Control = Literal["switch", "held"]
USUAL_CASING, NARROW_CASING = 6.0 * INCH, 4.0 * INCH
"""[m] Usual and narrowest casing of a house's drilled well; common practice, no source."""


class WellPart(Struct, frozen=True, kw_only=True):
    """A well and its pump in the form that the engine moves."""

    house: House
    supply_curve: SupplyCurve
    casing_area: float
    """[m2]; 0: the level follows the flow at once, or is not known."""
    casing_assumed: bool
    """Whether the file leaves the casing's diameter out and the usual one was taken."""
    specific_capacity: float
    """Inflow per fall of the level [m2/s]."""
    recovery: Flow
    """The most that flows in; inf where the well's yield is not known."""
    dry_fall: Length
    """Fall of the level at which the pump runs dry; inf where that is not known."""
    head_lines: tuple[tuple[float, float], ...]
    """For each piece of the supply curve the pump's head = first + second * flow [m]."""
    efficiency: float
    """Wire to water."""
    efficiency_range: Spread | None
    """Where the file gives none."""

    def inflow(self, fall: Length, pumped: Flow) -> tuple[float, float]:
        """How water comes into the well: (i0 [m3/s], i1 [m2/s]) of inflow = i0 + i1 * fall.

        It is the specific capacity times the fall, at most the recovery; where these two rules
        meet, the way that the level is going decides.
        """
        if not self.casing_area:
            return 0.0, 0.0
        if self.specific_capacity:
            over = self.specific_capacity * fall - self.recovery
            at_edge = abs(over) <= 1e-12 * self.recovery
            if (over > 0.0 and not at_edge) or (at_edge and pumped > self.recovery):
                return self.recovery, 0.0
            return 0.0, self.specific_capacity
        return self.recovery if fall > 0.0 else min(pumped, self.recovery), 0.0

    @property
    def inflow_edge(self) -> Length:
        """Fall at which the other rule of inflow begins."""
        return self.recovery / self.specific_capacity if self.specific_capacity else 0.0


class WellsOnALine(Struct, frozen=True, kw_only=True):
    """Wells that move together: each as far as the point where their lines meet."""

    parts: tuple[WellPart, ...]
    shared: SupplyCurve | None
    """Friction of the line that they share, as the pressure that it takes; None: no line."""
    rise: Pressure
    """From that point up to the gauge, by height."""
    specific_weight: float
    """Of water [N/m3]."""
    atmosphere: Pressure
    """Absolute."""


class PumpSystem(WellPart, frozen=True, kw_only=True):
    """Pump, switch, tank and well in the form that the engine moves."""

    station: Station
    control: Control
    cut_in: Setting
    cut_out: Setting
    tank_volume: Volume
    precharge: Setting
    atmosphere: Pressure
    """Absolute."""
    air_constant: float
    """Absolute pressure times volume of the tank's air [J]."""
    specific_weight: float
    """Of water [N/m3]."""
    dry_wait: Time
    sleep_flow: Flow
    """Below it a constant-pressure pump stops."""
    wells: WellsOnALine | None = None
    """Where there are several; then `casing_area` is 0."""

    def air_volume(self, pressure: Pressure) -> Volume:
        """What the tank's air takes up at a pressure, by Boyle's law."""
        return self.air_constant / (pressure + self.atmosphere)

    def back_pressure(self, pressure: Pressure, fall: Length) -> Pressure:
        """What the pump works against: the tank's pressure and the fall of the well's level."""
        return pressure + self.specific_weight * fall

    def total_head(self, flow: Flow, pressure: Pressure, fall: Length) -> Head:
        """Head that is really needed at a flow, pressure and fall of the level."""
        loss = loss_to_tank_with_slope(self.house, flow)[0]
        at_rest = lift(self.house, 0.0 if self.casing_area else flow)
        return at_rest + fall + (pressure + loss) / self.specific_weight

    @property
    def parts(self) -> tuple[WellPart, ...]:
        """Each of several wells; empty with one."""
        return () if self.wells is None else self.wells.parts


def pump_system_of(house: House, *, waterlogged: bool) -> PumpSystem | None:
    """A house's pump system, or that of its waterlogged tank; None on a main.

    Raises:
        InputError: pump or tank is not known well enough.
    """
    if house.source.kind != "well":
        return None
    station = pump_station(house)
    if station is None:
        pump = house.source.pump
        place = house.source.place if pump is None else pump.place
        message = (
            "a day needs to know the pump: its curve, or one measured point such as "
            'measured_flow = "5 gal in 28 s" and measured_pressure = "45 psi" in [source.pump]'
        )
        raise InputError([Problem(place=place, message=message)])
    system = several_wells(station) if house.further_wells else pump_system(station)
    if not waterlogged:
        return system
    charge = well_limit("precharge-lost").value
    air = air_constant(system.tank_volume, charge, system.atmosphere)
    return replace(system, precharge=charge, air_constant=air)


def pump_system(station: Station) -> PumpSystem:
    """Put a station into the form that the engine moves.

    The well's level is a state of its own where the file gives the casing's diameter and how water
    comes in; otherwise it follows the pumped flow at once by the specific capacity. A recovery
    without a diameter gets the usual casing: left aside, it would make a poor well look endless.

    Raises:
        InputError: there is no tank volume, or the tank takes no water at cut-out.
    """
    house = station.house
    vessel = station.vessel
    tank = house.source.tank
    if vessel is None:
        place = house.source.place if tank is None else tank.place
        message = 'a day needs the tank\'s volume, such as volume = "44 gal" in [source.tank]'
        raise InputError([Problem(place=place, message=message)])
    if station.precharge >= station.cut_out and tank is not None:
        message = "the tank takes no water: its precharge is not below cut-out"
        raise InputError([Problem(place=tank.place, message=message)])
    return PumpSystem(
        **asdict(well_part(house)),
        station=station,
        control="held" if station.held else "switch",
        cut_in=station.cut_in,
        cut_out=station.cut_out,
        tank_volume=vessel.volume,
        precharge=station.precharge,
        atmosphere=station.atmosphere,
        air_constant=air_constant(vessel.volume, station.precharge, station.atmosphere),
        specific_weight=specific_weight(house.water.cold),
        dry_wait=well_limit("dry-restart").value,
        sleep_flow=well_limit("sleep-flow").value,
    )


def well_part(house: House) -> WellPart:
    """A well whose pump has a curve, in that form: its level as `pump_system` tells."""
    well, pump = house.source.well, house.source.pump
    assert pump is not None
    area, capacity, recovery, dry_fall = 0.0, 0.0, math.inf, math.inf
    casing = None if well is None else well.diameter
    assumed = well is not None and not casing and well.recovery is not None
    if assumed:
        casing = USUAL_CASING
    if well is not None and casing and (well.specific_capacity or well.recovery):
        area = flow_area(casing)
        capacity = well.specific_capacity or 0.0
        recovery = well.recovery if well.recovery is not None else math.inf
        available = available_drawdown(well, well_limit("submergence").value)
        dry_fall = math.inf if available is None else max(available, 1e-3)
    curve = supply_curve(house, level_follows=not area)
    usual = efficiency(pump.kind) if pump.efficiency is None else None
    return WellPart(
        house=house,
        supply_curve=curve,
        casing_area=area,
        casing_assumed=assumed,
        specific_capacity=capacity,
        recovery=recovery,
        dry_fall=dry_fall,
        head_lines=tuple(_head_lines(pump, curve)),
        efficiency=usual.middle if usual is not None else pump.efficiency or 1.0,
        efficiency_range=usual,
    )


def wells_on_a_line(house: House) -> WellsOnALine:
    """The wells of a house whose pumps have curves, together."""
    weight, air = specific_weight(house.water.cold), atmospheric_pressure(house.source.altitude)
    if not house.further_wells:
        return WellsOnALine(
            parts=(well_part(house),), shared=None, rise=0.0, specific_weight=weight, atmosphere=air
        )
    together = WellsTogether(house)
    return WellsOnALine(
        parts=tuple(map(well_part, together.apart)),
        shared=together.shared_loss(),
        rise=together.rise,
        specific_weight=weight,
        atmosphere=air,
    )


def filling_wells(house: House) -> WellsOnALine | None:
    """The wells that fill a house's open tank; None where none does, or a pump has no curve."""
    before = with_curve(well_side(house))
    if house.source.filled_by is None or not curve_known(before):
        return None
    return wells_on_a_line(before)


def several_wells(station: Station) -> PumpSystem:
    """Put a station with several wells on one switch and tank into that form.

    Raises:
        InputError: as `pump_system`.
    """
    house = station.house
    first = pump_system(replace(station, house=wells_alone(house)[0]))
    return replace(
        first,
        house=house,
        station=station,
        supply_curve=station.supply_curve,
        casing_area=0.0,
        casing_assumed=False,
        wells=wells_on_a_line(house),
    )


def _head_lines(pump: Pump, curve: SupplyCurve) -> Iterator[tuple[float, float]]:
    """The pump's head is straight on each piece, since the supply curve goes through its points."""
    for low, high in zip(curve.flow, curve.flow[1:], strict=False):
        at_low, at_high = pump_head(pump, low), pump_head(pump, high)
        second = (at_high - at_low) / (high - low)
        yield at_low - second * low, second


def pump_system_assumptions(system: PumpSystem) -> Iterator[Assumption]:
    """What was taken for granted of pump, well and tank."""
    usual = system.efficiency_range
    known = level_known(system.house)
    if not known:
        yield Assumption(
            text="energy is not known, as [source.well] gives no static_level and so no lift; the "
            "pump is taken to give what its curve says at the tank, as if the lift were taken off"
        )
    if usual is not None and known:
        yield Assumption(
            text=f"{system.efficiency:.0%} of the electricity becomes work on the water (usual: "
            f"{usual.low:.0%} to {usual.high:.0%})",
            source=usual.citation,
        )
    wells = () if system.house.source.open_water else system.parts or (system,)
    for name, part in zip(well_names(system.house), wells, strict=False):
        yield from level_assumptions(part, system.cut_in, name if system.parts else "")
    yield from _relief_assumptions(system)
    lasting = sustained_by_all(system.house)
    if lasting is not None and lasting < system.supply_curve.flow_at(system.cut_in):
        yield Assumption(text=NOT_RUN)
    if system.station.precharge_assumed:
        yield Assumption(
            text="air charge of the tank {0}", values=((system.station.precharge, "setting"),)
        )


def level_assumptions(system: WellPart, cut_in: Pressure, name: str) -> Iterator[Assumption]:
    """What the well's level was taken to do, and how much that weighs."""
    the_well, its_table = name or "the well", f"{name!r}" if name else "[source.well]"
    well = system.house.source.well
    capacity = None if well is None else well.specific_capacity
    if system.casing_assumed:
        text = f"a casing of 6 in (152 mm), as {its_table} names no diameter"
        values: tuple[tuple[float, str], ...] = ()
        if math.isfinite(system.dry_fall):
            text += "; it holds {0} down to the pump, one of 4 in (102 mm) {1}: so much later or "
            text += "earlier the pump runs dry"
            volume = system.casing_area * system.dry_fall
            values = (
                (volume, "volume"),
                (volume * (NARROW_CASING / USUAL_CASING) ** 2, "volume"),
            )
        yield Assumption(text=text, values=values)
    elif capacity and not system.casing_area:
        flow = system.supply_curve.flow_at(cut_in)
        at_rest = supply_curve(system.house, level_follows=False)
        yield Assumption(
            text=f"{the_well}'s level follows the pump at once, to {{0}} below rest at cut-in, as "
            "no casing diameter is given: water standing in the bore would let it fall slowly, and "
            "the pump give {1} instead of {2} at first",
            values=(
                (flow / capacity, "length"),
                (at_rest.flow_at(cut_in), "flow"),
                (flow, "flow"),
            ),
        )
    elif not system.casing_area:
        yield Assumption(
            text=f"{the_well} gives all that is pumped and cannot run dry here: neither recovery "
            "nor specific capacity is given"
        )


def _relief_assumptions(system: PumpSystem) -> Iterator[Assumption]:
    tank = system.house.source.tank
    relief = None if tank is None else tank.relief
    if relief is None:
        return
    if relief > system.cut_out:
        text = "the relief valve at {0} stays shut: the pump stops at {1}"
    else:
        text = "the relief valve does not act here, though it opens at {0}, below cut-out at {1}"
    yield Assumption(text=text, values=((relief, "setting"), (system.cut_out, "setting")))
