"""An open tank that a house is fed from: what comes to it, from a spring or from a well's pump."""

from __future__ import annotations

import math

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import House
from supplycalc.supply.limits import well_limit
from supplycalc.supply.supply_curve import flow_at_pressure
from supplycalc.supply.well import sustained_yield
from supplycalc.units.quantities import Flow


class Fill(Struct, frozen=True, kw_only=True):
    """What a well and its pump bring to an open tank, over an air gap above its highest level."""

    pump: Flow
    """What the pump lifts there."""
    sustained: Flow | None
    """What the well gives for good; None: not known."""

    @property
    def lasting(self) -> Flow:
        """What reaches the tank for good."""
        return self.pump if self.sustained is None else min(self.pump, self.sustained)


def filling_house(house: House) -> House | None:
    """The house seen from the well that fills its open tank: the tank's inlet as its gauge.

    Returns:
        A house on that well; None where no well fills a tank.
    """
    source = house.source
    filling = source.filled_by
    if filling is None:
        return None
    low = source.lowest_level or 0.0
    inlet = low if source.highest_level is None else source.highest_level
    well = filling.well
    if well.elevation is None:
        well = replace(well, elevation=source.elevation)
    changed = replace(
        source,
        kind="well",
        elevation=inlet,
        cut_in=0.0,
        cut_out=0.0,
        pump=filling.pump,
        well=well,
        tank=None,
        filled_by=None,
        lowest_level=None,
        highest_level=None,
        volume=None,
    )
    return replace(house, source=changed, line=house.fill_line, suction=(), fill_line=())


def fill_of(house: House) -> Fill | None:
    """What the well's pump brings to the open tank; None where no well fills one.

    Source: `flow_at_pressure` at the open air above the tank, `sustained_yield`.
    """
    seen = filling_house(house)
    if seen is None or seen.source.well is None:
        return None
    pump = house.source.filled_by.pump if house.source.filled_by is not None else None
    assert pump is not None
    flow = flow_at_pressure(seen, 0.0) if len(pump.curve) > 1 else pump.measured_flow or math.inf
    return Fill(
        pump=flow,
        sustained=sustained_yield(seen.source.well, well_limit("submergence").value),
    )


def inflow_of(house: House) -> Flow | None:
    """What comes to the open tank for good; None where there is none, or nobody knows."""
    fill = fill_of(house)
    if fill is None:
        return house.source.inflow
    return None if math.isinf(fill.lasting) else fill.lasting
