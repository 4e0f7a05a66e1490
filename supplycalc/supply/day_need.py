"""A well against the water that a household needs in a day, by the planning figure of the trade."""

from __future__ import annotations

import math

from msgspec import Struct

from supplycalc.model import House
from supplycalc.supply.limits import well_limit
from supplycalc.supply.station import Station
from supplycalc.supply.well import Balance, balance
from supplycalc.supply.well_shares import stored_in_all, sustained_by_all
from supplycalc.tables import load_table
from supplycalc.units import DAY
from supplycalc.units.quantities import Flow, Volume


class DayNeed(Struct, frozen=True, kw_only=True):
    """Who needs how much, as a well is planned for."""

    people: int
    assumed: bool
    """Whether the file names no number of people."""
    per_person: Flow

    @property
    def volume(self) -> Volume:
        """Of all people in a day."""
        return self.people * self.per_person * DAY


BATHING = ("tub-shower", "shower", "bathtub", "whirlpool-tub")
"""Kinds of fixture of which a house has no more than people, usually."""


def usual_people(house: House) -> int:
    """How many live in a house whose file does not say.

    Returns:
        The usual number, or one for each bath or shower where there are more of them.

    Source: common practice, no source.
    """
    bathing = sum(fixture.kind in BATHING and not fixture.planned for fixture in house.fixtures)
    return max(int(load_table("day")["people"]["value"]), bathing)


def day_need(house: House, people: int | None = None) -> DayNeed:
    """The water for a day that a well is planned for.

    Args:
        people: who live there instead; None takes the file's number, else the usual one.

    Source: The Groundwater Project, Domestic Wells, box 1 (a figure to plan by, some twice what is
        drawn on an ordinary day).
    """
    given = people if people is not None else house.project.people
    return DayNeed(
        people=usual_people(house) if given is None else given,
        assumed=given is None,
        per_person=well_limit("per-person-planning").value,
    )


def day_balance(house: House, station: Station | None, need: DayNeed) -> Balance:
    """Whether a well covers a day's need within the peak period, bore and pump counted.

    Args:
        station: None where too little is known of the pump.

    Source: The Groundwater Project, Domestic Wells, box 1.
    """
    return balance(
        need.volume,
        sustained_by_all(house),
        stored_in_all(house),
        well_limit("peak-period").value,
        math.inf if station is None else station.supply_curve.flow_at(station.cut_in),
    )
