"""The open tank that a weak well needs between itself and the house."""

from __future__ import annotations

import math
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.chance.storage import YEARS, DrawnStorage, drawn_storage
from supplycalc.chance.well_yield import WellYield
from supplycalc.delivery.open_supply import constant_source
from supplycalc.model import House
from supplycalc.network import well_side
from supplycalc.records import Form
from supplycalc.sizing.design import Design
from supplycalc.supply.limits import least_run_time, well_limit
from supplycalc.supply.open_water import fill_of
from supplycalc.supply.source import level_pressures
from supplycalc.supply.station import Station
from supplycalc.supply.storage import Filling
from supplycalc.supply.well_shares import stored_in_all
from supplycalc.units import DAY
from supplycalc.units.quantities import Hours, Time, Volume


class StorageWish(Struct, frozen=True, kw_only=True):
    """What the user wants of a storage tank beyond carrying the drawn years."""

    asked: bool = False
    """Whether it is to be sized though the well keeps up."""
    years: int = YEARS
    outage: Time = 0.0
    """Time without a pump that it must bear."""
    reserve: Volume = 0.0
    """Kept for fire, beside all else."""


class TankNeeded(Struct, frozen=True, kw_only=True):
    """The smallest open tank that carries the drawn years, and how it fills."""

    form: ClassVar[Form] = Form(add=("volume",))

    held: Volume | None
    """What the file's own open tank holds; None: it has none, or does not say."""

    drawn: DrawnStorage
    between_floats: Volume
    """What the pump gives in its least run time: the floats stand at least so far apart; 0 where
    no pump fills it."""
    peak: Volume
    """What the design flow draws beyond what comes in the minutes that a peak lasts."""
    reserve: Volume
    """For fire."""
    refill: Hours | None
    """From empty while a mean day is drawn; None: it never fills."""

    @property
    def volume(self) -> Volume | None:
        """Usable, between the outlet and the upper float; None: no tank does."""
        if not self.drawn.enough:
            return None
        carried = max(self.drawn.every_day.usual, self.peak)
        return carried + self.between_floats + self.drawn.outage + self.reserve


def tank_needed(
    design: Design, station: Station | None, supply: WellYield, wish: StorageWish
) -> TankNeeded | None:
    """The open tank that a house needs on its well; None where the well's yield is not known, where
    it gives the design flow for good and nobody asked, or where nothing is drawn.

    Source: `drawn_storage`.
    """
    filling = _filling(design.house, station, supply)
    if filling is None or filling.inflow <= 0.0:
        return None
    # a well that gives less than a day's water as planned is told that storage does not help
    weak = supply.keeps_up and (supply.peak_flow_short > 0.0 or supply.storage > 0.0)
    source = design.house.source
    if not (weak or wish.asked or source.open_water):
        return None
    pump = filling.pump
    low = source.cut_in or 0.0
    high = low if source.cut_out is None else source.cut_out
    if source.by_gravity:
        low, high = level_pressures(design.house)
    drawn = drawn_storage(
        design,
        supply.people,
        filling,
        constant_source(0.5 * (low + high)),
        years=wish.years,
        outage=wish.outage,
    )
    if drawn is None:
        return None
    lifted = drawn.fill_flow if math.isinf(pump) else pump
    motor = 0.0 if station is None or source.open_water else station.motor_power
    run_time, _ = least_run_time(lifted, motor)
    floats = not source.open_water or source.filled_by is not None
    needed = TankNeeded(
        drawn=drawn,
        between_floats=lifted * run_time if floats else 0.0,
        peak=max(design.demand.design_flow[0] - drawn.fill_flow, 0.0)
        * well_limit("peak-minutes").value,
        reserve=wish.reserve,
        refill=None,
        held=source.volume,
    )
    volume, spare = needed.volume, drawn.fill_flow - drawn.drawn / DAY
    if volume is None:
        return needed
    return replace(needed, refill=volume / spare)


def _filling(house: House, station: Station | None, supply: WellYield) -> Filling | None:
    """How water gets, or would get, to an open tank; None where what comes is not known."""
    source, fill = house.source, fill_of(house)
    if not source.open_water:
        if supply.sustained is None:
            return None
        pump = math.inf if station is None else station.supply_curve.flow_at(station.cut_in)
        return Filling(inflow=supply.sustained, pump=pump, bore=supply.bore_storage)
    if fill is None or source.filled_by is None:
        return None if source.inflow is None else Filling(inflow=source.inflow)
    stored = stored_in_all(well_side(house))
    inflow = fill.pump if fill.sustained is None else fill.sustained
    return Filling(inflow=inflow, pump=fill.pump, bore=stored)
