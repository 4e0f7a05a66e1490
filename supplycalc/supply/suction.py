"""A pump that stands above the water: how high it must suck, and how high it may."""

from __future__ import annotations

from typing import ClassVar

from msgspec import Struct

from supplycalc.hydraulics.water import specific_weight, vapour_pressure
from supplycalc.records import Form
from supplycalc.supply.limits import well_limit
from supplycalc.supply.station import Station
from supplycalc.supply.supply_curve import WellsTogether
from supplycalc.supply.tank import SEA_LEVEL, atmospheric_pressure
from supplycalc.supply.well_line import loss_with_slope
from supplycalc.units import STANDARD_GRAVITY
from supplycalc.units.quantities import Elevation, Flow, Head, Length, Temperature


def suction_head_available(
    lift: float, friction_head: Head, altitude: Elevation, temperature: Temperature
) -> Head:
    """Absolute head above vapour pressure at the inlet of a pump that stands above the water.

    Args:
        lift: from the pumping level up to the pump [m].

    Source: MIL-HDBK-1005/7A, 5.4.5 (definition of NPSH).
    """
    weight = specific_weight(temperature)
    held = (atmospheric_pressure(altitude) - vapour_pressure(temperature)) / weight
    return held - lift - friction_head


def practical_suction_lift(limit: Length, altitude: Elevation) -> float:
    """A practical limit of suction lift at sea level, less what thinner air takes away.

    Returns:
        Limit at the site, not below zero [m].

    Source: the standard atmosphere (about 1.1 ft per 1000 ft).
    """
    weight = 999.0 * STANDARD_GRAVITY
    return max(limit - (SEA_LEVEL - atmospheric_pressure(altitude)) / weight, 0.0)


class Suction(Struct, frozen=True, kw_only=True):
    """Suction at the largest flow that the pump gives."""

    form: ClassVar[Form] = Form(omit=("flow",), add=("ok",))

    flow: Flow
    """At cut-in."""
    lift: Length
    """From the pumping level up to the pump."""
    friction_head: Head
    """Of the suction pipe."""
    limit: Length
    """Practical limit of lift and friction together at this altitude."""
    available: Head
    """NPSH available."""
    required: Head | None
    """NPSH required by the pump's sheet."""

    @property
    def ok(self) -> bool:
        """Whether the pump can suck so high."""
        if self.required is not None:
            return self.available >= self.required + well_limit("npsh-margin").value
        return self.lift + self.friction_head <= self.limit


def suction(station: Station) -> Suction | None:
    """Suction of a jet pump above the water.

    A jet pump whose ejector hangs in the well (pump_depth given) does not suck.

    Returns:
        The suction at cut-in; None for a pump in the water or where no level is known.

    Source: NPSH by MIL-HDBK-1005/7A; practical limit by The Driller, Selecting a pump.
    """
    source, well = station.house.source, station.house.source.well
    if station.pump.kind != "jet" or well is None or well.static_level is None:
        return None
    if well.pump_depth is not None:
        return None
    flow = station.supply_curve.flow_at(station.cut_in)
    if station.house.further_wells:  # the one that sucks is the source's own
        flow = WellsTogether(station.house).flows_at(station.cut_in)[0]
    wellhead = well.elevation if well.elevation is not None else source.elevation
    place = station.pump.elevation if station.pump.elevation is not None else source.elevation
    level = well.static_level
    if well.specific_capacity:
        level += flow / well.specific_capacity
    height = place - wellhead + level
    sucked = () if source.open_water else station.house.suction
    loss = loss_with_slope(station.house, sucked, flow)[0]
    lost = loss / specific_weight(station.house.water.cold)
    return Suction(
        flow=flow,
        lift=height,
        friction_head=lost,
        limit=practical_suction_lift(well_limit("suction-lift").value, source.altitude),
        available=suction_head_available(height, lost, source.altitude, station.house.water.cold),
        required=station.pump.npsh_required,
    )
