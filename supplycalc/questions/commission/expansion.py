"""Water that grows when it is heated: by how much, where it goes, what would take it in."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from supplycalc.demand import highest_at_rest
from supplycalc.findings.rule import limit_by_book
from supplycalc.findings.source import closed_heaters
from supplycalc.hydraulics.water import density
from supplycalc.model import Device
from supplycalc.sizing.design import Design
from supplycalc.supply.station import settings_of_switch, vessel_at_switch
from supplycalc.supply.tank import Vessel, air_constant, atmospheric_pressure, water_held
from supplycalc.tables import CodeLimit
from supplycalc.units.quantities import (
    PipeVolume,
    Pressure,
    Setting,
    Temperature,
    Volume,
)


class Expansion(Struct, frozen=True, kw_only=True):
    """A tank heater whose water grows from cold to hot while nothing is drawn."""

    heater: str
    volume: Volume
    volume_assumed: bool
    cold: Temperature
    hot: Temperature
    grows: PipeVolume
    closed_by: tuple[str, ...]
    """What lets nothing back to the source; empty: nothing does."""
    taken_by: str
    """What takes it in; empty: nothing in the file does."""
    at_rest: Pressure
    """At the heater, when it is highest."""
    reaches: Pressure | None
    """There, when all heaters are hot; of a closed one the relief valve's setting; None: not
    known."""
    relief: Setting
    """Of the heater's relief valve, as is usual."""
    most: Pressure
    """That it may reach."""
    tank: Volume | None
    """Expansion tank that keeps it there; None where none is needed."""
    charge: Setting | None
    """Of that tank's air."""


def heater_volume(design: Design, heater: Device) -> tuple[float, bool]:
    """Water that a tank heater holds [m3], and whether it was assumed."""
    if heater.volume is not None:
        return heater.volume, False
    return commission_limit(design, "heater-volume").value, True


def commission_limit(design: Design, name: str) -> CodeLimit:
    """A figure of commission.toml by the house's book, in SI."""
    return limit_by_book(design, name, "commission")


def growth(volume: Volume, cold: Temperature, hot: Temperature) -> float:
    """How much a volume of cold water grows by [m3]; 0 where it is not heated.

    Source: IAPWS densities; ASPE, expansion tanks.
    """
    return max(volume * (density(cold) / density(hot) - 1.0), 0.0)


def expansion_tank(grows: PipeVolume, at_rest: Pressure, most: float, atmosphere: float) -> Volume:
    """Whole volume of an expansion tank that is charged to the pressure at rest.

    Args:
        most: that the pressure may reach [Pa gauge].
        atmosphere: [Pa absolute].

    Source: Boyle's law; Griffith, Thermal Expansion Tanks, 2015.
    """
    return grows / (1.0 - (at_rest + atmosphere) / (most + atmosphere))


def pressure_when_taken_in(tank: Vessel, more: PipeVolume) -> Pressure:
    """Pressure in a full tank after it took in more water; inf where it has no room.

    Source: Boyle's law.
    """
    held = water_held(tank.volume, tank.precharge, tank.cut_out, tank.atmosphere)
    air = tank.volume - held - more
    whole = air_constant(tank.volume, tank.precharge, tank.atmosphere)
    return whole / air - tank.atmosphere if air > 0.0 else math.inf


def expansions(design: Design) -> Iterator[Expansion]:
    """Every tank heater, closed or not.

    Source: the limits of data/commission.toml.
    """
    house, closed = design.house, closed_heaters(design)
    cold, hot = house.water.cold, house.water.hot
    relief = commission_limit(design, "heater-relief").value
    share = commission_limit(design, "expansion-share").value * relief
    allowed = min(house.limits.max_static or highest_at_rest(house).value, share)
    below = commission_limit(design, "vessel-charge-below").value
    weeps = _room_to_relief(design)
    heaters = [it for it in design.devices if design.tree.does(it.device, "stores")]
    held = {it.name: heater_volume(design, it.device) for it in heaters}
    in_all = math.fsum(
        growth(held[it.name][0], cold, hot) for it in heaters if it.name not in closed
    )
    for heater in heaters:
        volume, assumed = held[heater.name]
        grows, at_rest = growth(volume, cold, hot), max(heater.static_end_pressure, 0.0)
        most = allowed if at_rest < LEAST_ROOM * allowed else share
        closed_by = closed.get(heater.name, ())
        if not closed_by and weeps is not None:
            most = min(most, at_rest + weeps)
        fits = bool(closed_by) and at_rest < most
        taken_by, reaches = ("", relief) if closed_by else _taken(design, at_rest, in_all)
        yield Expansion(
            heater=heater.name,
            volume=volume,
            volume_assumed=assumed,
            cold=cold,
            hot=hot,
            grows=grows,
            closed_by=closed_by,
            taken_by=taken_by,
            at_rest=at_rest,
            reaches=reaches,
            relief=relief,
            most=most,
            tank=expansion_tank(grows, at_rest, most, _atmosphere(design)) if fits else None,
            charge=max(at_rest - below, 0.0) if fits else None,
        )


LEAST_ROOM = 0.9
"""Of the highest pressure at rest: a house that rests above this gets its vessel by the relief
valve instead (common practice, no source)."""


def _room_to_relief(design: Design) -> Pressure | None:
    """From where the pump stops to where the tank's relief valve opens; None: not known."""
    settings, tank = settings_of_switch(design.house), design.house.source.tank
    if settings is None or tank is None or tank.relief is None:
        return None
    return tank.relief - settings[1]


def _atmosphere(design: Design) -> float:
    return atmospheric_pressure(design.house.source.altitude)


def _taken(design: Design, at_rest: float, grows: float) -> tuple[str, float | None]:
    """What takes in the growth of all open heaters, and the pressure at one of them then."""
    source, settings = design.house.source, settings_of_switch(design.house)
    if settings is None:
        return ("open tank" if source.by_gravity else "main"), at_rest
    tank, vessel = source.tank, vessel_at_switch(design.house)
    if tank is None or vessel is None:
        return ("pressure tank" if tank is None else tank.name), None
    after = pressure_when_taken_in(vessel, grows)
    return tank.name, at_rest + after - vessel.cut_out
