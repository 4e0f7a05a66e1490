"""What each of several wells gives to the tank that they share, and what all sustain."""

from __future__ import annotations

import math
from typing import ClassVar

from msgspec import Struct

from supplycalc.model import House
from supplycalc.records import Form
from supplycalc.supply.limits import well_limit
from supplycalc.supply.pump import curve_known, level_known, total_dynamic_head, with_curve
from supplycalc.supply.several_wells import well_names, wells_alone, wells_apart
from supplycalc.supply.supply_curve import WellsTogether, flow_at_pressure, pump_pressure
from supplycalc.supply.well import sustained_yield, usable_storage
from supplycalc.units.quantities import Flow, Head, Length, Pressure, Share


class WellShare(Struct, frozen=True, kw_only=True):
    """One of several wells: what its pump gives while all run, and by itself."""

    form: ClassVar[Form] = Form(add=("lasting",))

    name: str
    at_cut_in: Flow
    halfway: Flow
    """Between cut-in and cut-out."""
    at_cut_out: Flow
    share: Share
    """Of what all give at cut-in; 0 where none gives any."""
    alone: Flow
    """At cut-in with the other pumps off."""
    total_head: Head | None
    """Of its pump at cut-in; None without the water's level."""
    drawdown: Length | None
    """Of its level at cut-in by its specific capacity; None where that is not given."""
    highest: Pressure
    """What its pump holds at the tank's gauge without flow."""
    sustained: Flow | None
    """What the well gives for good; None: not known."""

    @property
    def lasting(self) -> Flow:
        """The smaller of what its pump gives at cut-in and what the well sustains."""
        return self.at_cut_in if self.sustained is None else min(self.at_cut_in, self.sustained)


def well_shares(house: House) -> tuple[WellShare, ...]:
    """What each well gives.

    Returns:
        One for each well, the source's own first; empty with one well, or where too little is
        known of the pumps or the switch.

    Source: intersection of each pump's and its system's curve at the pressure where the lines meet;
        total head by MIL-HDBK-1164.
    """
    source = house.source
    if not house.further_wells or source.cut_in is None or source.cut_out is None:
        return ()
    house = with_curve(house)
    if not curve_known(house):
        return ()
    together, low, high = WellsTogether(house), source.cut_in, source.cut_out
    flows = [together.flows_at(pressure) for pressure in (low, 0.5 * (low + high), high)]
    joint, total = together.joint_pressure(low), math.fsum(flows[0])
    allowance = well_limit("submergence").value
    shares = []
    for i, (name, alone, apart) in enumerate(
        zip(well_names(house), wells_alone(house), wells_apart(house), strict=True)
    ):
        well = alone.source.well
        assert well is not None
        at_cut_in, halfway, at_cut_out = (of_all[i] for of_all in flows)
        shares.append(
            WellShare(
                name=name,
                at_cut_in=at_cut_in,
                halfway=halfway,
                at_cut_out=at_cut_out,
                share=at_cut_in / total if total > 0.0 else 0.0,
                alone=flow_at_pressure(alone, low),
                total_head=total_dynamic_head(apart, at_cut_in, joint)
                if level_known(alone)
                else None,
                drawdown=at_cut_in / well.specific_capacity if well.specific_capacity else None,
                highest=pump_pressure(alone, 0.0),
                sustained=sustained_yield(well, allowance),
            )
        )
    return tuple(shares)


def sustained_by_all(house: House) -> float | None:
    """What a house's wells give for good, each no more than its pump brings where a well limits
    [m3/s]; None where no yield is known. A well without a known yield counts with what its pump
    gives.

    Source: `sustained_yield`, `well_shares`.
    """
    if not house.further_wells:
        well = house.source.well
        return None if well is None else sustained_yield(well, well_limit("submergence").value)
    shares = well_shares(house)
    known = [share for share in shares if share.sustained is not None]
    if not known:
        return None
    if all(share.lasting >= share.at_cut_in for share in known):
        return math.fsum(
            share.at_cut_in if share.sustained is None else share.sustained for share in shares
        )
    return math.fsum(share.lasting for share in shares)


def stored_in_all(house: House) -> float:
    """Water standing in the bores of all wells above what their pumps need [m3]."""
    wells = [house.source.well, *(further.well for further in house.further_wells)]
    allowance = well_limit("submergence").value
    return math.fsum(usable_storage(well, allowance) for well in wells if well is not None)
