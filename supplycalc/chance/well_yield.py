"""The well against a day's need: what it sustains, what to store, which second pump."""

from __future__ import annotations

from typing import ClassVar

from msgspec import Struct
from msgspec.structs import asdict

from supplycalc.hydraulics.water import specific_weight
from supplycalc.records import Form
from supplycalc.sizing.design import Design
from supplycalc.supply.day_need import day_balance, day_need
from supplycalc.supply.limits import well_limit
from supplycalc.supply.station import Station
from supplycalc.supply.well import (
    Balance,
    available_drawdown,
    sustained_yield,
)
from supplycalc.supply.well_shares import sustained_by_all
from supplycalc.units.quantities import Flow, Head, Length, Volume

NOT_RUN = (
    'storage and its second pump are not run: a copy of the file with kind = "tank" and its levels '
    "in [source], this pump as [source.well_pump] and the second as [source.pump] runs both"
)
"""What studies say of a well that needs them."""


class SecondPump(Struct, frozen=True, kw_only=True):
    """What a pump from storage to the pressure tank must give."""

    flow: Flow
    head: Head


class WellYield(Balance, frozen=True, kw_only=True):
    """The well against a day's need."""

    form: ClassVar[Form] = Form(
        omit=(
            "bore_storage",
            "people_assumed",
            "per_person",
            "drawdown",
            "bore_known",
            "peak_flow_short",
        ),
        rename={"by_drawdown": "upper_bound", "known_bore_storage": "bore_storage"},
        add=("known_bore_storage",),
    )

    people: int
    people_assumed: bool
    per_person: Flow
    sustained: Flow | None
    """For good; None: not known."""
    by_drawdown: bool
    """Whether that is specific capacity times the drawdown at hand: an upper bound."""
    drawdown: Length | None
    """How far the level may fall before the pump is in danger; None: not known."""
    bore_known: bool
    """Whether the file tells what stands in the bore."""
    second_pump: SecondPump | None
    """None: not needed."""
    peak_flow_short: Flow
    """By how much the design flow exceeds what the well sustains."""

    @property
    def known_bore_storage(self) -> Volume | None:
        """Usable water standing in the bore; None where the file does not tell."""
        return self.bore_storage if self.bore_known else None


def well_yield(design: Design, station: Station | None) -> WellYield:
    """The well against a day's need.

    Source: The Groundwater Project, Domestic Wells, box 1.
    """
    house = design.house
    well, allowance = house.source.well, well_limit("submergence").value
    need = day_need(house)
    sustained = sustained_by_all(house)
    fall = None if well is None else available_drawdown(well, allowance)
    against_need = day_balance(house, station, need)
    return WellYield(
        **asdict(against_need),
        people=need.people,
        people_assumed=need.assumed,
        per_person=need.per_person,
        sustained=sustained,
        by_drawdown=sustained is not None
        and any(
            each is not None and sustained_yield(each, allowance) not in (None, each.recovery)
            for each in (well, *(further.well for further in house.further_wells))
        ),
        drawdown=fall,
        bore_known=well is not None and well.diameter is not None and fall is not None,
        second_pump=second_pump(design)
        if against_need.storage > 0.0 and not house.source.open_water
        else None,
        peak_flow_short=0.0
        if sustained is None
        else max(design.demand.design_flow[0] - sustained, 0.0),
    )


def second_pump(design: Design) -> SecondPump:
    """What a pump must give that draws from storage at the height of the pressure tank.

    Source: common practice, no source: the design flow, and at it more than cut-out.
    """
    source = design.house.source
    most = (source.cut_out or source.cut_in or 0.0) + well_limit("pump-margin").value
    head = most / specific_weight(design.house.water.cold)
    return SecondPump(flow=design.demand.design_flow[0], head=head)
