"""A pump that stands above the water: how high it must suck, and how high it may."""

from __future__ import annotations

from msgspec import Struct

from supplycalc.hydraulics.water import specific_weight
from supplycalc.supply.air import practical_suction_lift, suction_head_available
from supplycalc.supply.limits import well_limit
from supplycalc.supply.rising import pipe_loss_with_slope
from supplycalc.supply.station import Station


class Suction(Struct, frozen=True, kw_only=True):
    """Suction at the largest flow that the pump gives."""

    flow: float
    """At cut-in [m3/s]."""
    lift: float
    """From the pumping level up to the pump [m]."""
    friction_head: float
    """Of the suction pipe [m]."""
    limit: float
    """Practical limit of lift and friction together at this altitude [m]."""
    available: float
    """NPSH available [m]."""
    required: float | None
    """NPSH required by the pump's sheet [m]."""

    @property
    def ok(self) -> bool:
        """Whether the pump can suck so high."""
        if self.required is not None:
            return self.available >= self.required + well_limit("npsh-margin").value
        return self.lift + self.friction_head <= self.limit


def suction(one: Station) -> Suction | None:
    """Suction of a jet pump above the water.

    A jet pump whose ejector hangs in the well (pump_depth given) does not suck.

    Args:
        one: the station.

    Returns:
        The suction at cut-in; None for a pump in the water or where no level is known.

    Source: NPSH by MIL-HDBK-1005/7A; practical limit by The Driller, Selecting a pump.
    """
    source, well = one.house.source, one.house.source.well
    if one.pump.kind != "jet" or well is None or well.static_level is None:
        return None
    if well.pump_depth is not None:
        return None
    flow = one.chain.flow_at(one.cut_in)
    wellhead = well.elevation if well.elevation is not None else source.elevation
    place = one.pump.elevation if one.pump.elevation is not None else source.elevation
    level = well.static_level
    if well.specific_capacity:
        level += flow / well.specific_capacity
    height = place - wellhead + level
    lost = 0.0
    if well.drop_pipe is not None:
        loss = pipe_loss_with_slope(well.drop_pipe, one.house, one.catalogue, flow)[0]
        lost = loss / specific_weight(one.house.water.cold)
    return Suction(
        flow=flow,
        lift=height,
        friction_head=lost,
        limit=practical_suction_lift(well_limit("suction-lift").value, source.altitude),
        available=suction_head_available(height, lost, source.altitude, one.house.water.cold),
        required=one.pump.npsh_required,
    )
