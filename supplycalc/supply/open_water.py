"""An open tank that a house is fed from: what comes to it, from a spring or from a well's pump."""

from __future__ import annotations

import math

from msgspec import Struct

from supplycalc.model import House
from supplycalc.network import well_side
from supplycalc.supply.pump import curve_known
from supplycalc.supply.supply_curve import flow_at_pressure
from supplycalc.supply.well_shares import sustained_by_all
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


def fill_of(house: House) -> Fill | None:
    """What the well's pump brings to the open tank; None where no well fills one.

    Source: `flow_at_pressure` at the open air above the tank, `sustained_yield`.
    """
    filling = house.source.filled_by
    if filling is None:
        return None
    before, pumps = well_side(house), (filling.pump, *(well.pump for well in house.joined_wells))
    if curve_known(before):
        flow = flow_at_pressure(before, 0.0)
    else:
        flow = math.fsum(pump.measured_flow or math.inf for pump in pumps)
    return Fill(pump=flow, sustained=sustained_by_all(before))


def inflow_of(house: House) -> Flow | None:
    """What comes to the open tank for good; None where there is none, or nobody knows."""
    fill = fill_of(house)
    if fill is None:
        return house.source.inflow
    return None if math.isinf(fill.lasting) else fill.lasting
