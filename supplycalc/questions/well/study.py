"""Pump, well and tank of a design: operating points, cycling, yield, tank size, other switches."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from supplycalc.findings import RULES
from supplycalc.problems import InputError, Problem
from supplycalc.questions.well.parts import (
    Duty,
    Range,
    TankCheck,
    Uncertain,
    Yield,
    duty,
    points,
    tank_check,
    uncertain,
    well_yield,
)
from supplycalc.questions.well.pipe import PipeOption, pipe_options
from supplycalc.questions.well.switch import SwitchOption, switch_options
from supplycalc.sizing.design import LEVELS, Assumption, Design, Finding
from supplycalc.supply.limits import well_limit
from supplycalc.supply.station import OperatingPoint, Station, pump_station, speed_for
from supplycalc.supply.suction import Suction, suction
from supplycalc.tables import cite, code_limit, load_table
from supplycalc.units import DAY

CODES = frozenset(rule.code for rule in RULES if rule.well)
"""Of the findings of `size` that belong to the well's parts."""


class WellCheck(Struct, frozen=True, kw_only=True):
    """What `well` found."""

    design: Design
    station: Station | None
    """None where nothing is known of the pump."""
    points: tuple[OperatingPoint, ...]
    design_flow: float
    """[m3/s]"""
    held_pressure: float | None
    """What the pump alone holds at the design flow [Pa gauge]; below 0: it cannot lift it."""
    speeds: Range | None
    """Of a constant-pressure pump without draw and at the design flow, over full speed."""
    uncertain: Uncertain | None
    duty: Duty | None
    tank: TankCheck | None
    suction: Suction | None
    supply: Yield
    pipe: tuple[PipeOption, ...]
    """Other sizes of the pipe from the wellhead to a tank in the house."""
    switches: tuple[SwitchOption, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def holds(self) -> bool | None:
        """Whether the pump holds the design flow at cut-in; None: not known."""
        if self.station is None or self.held_pressure is None:
            return None
        return self.held_pressure >= self.pressure_to_hold - 1.0

    @property
    def pressure_to_hold(self) -> float:
        """Cut-in, or the pressure of a constant-pressure pump [Pa gauge]."""
        if self.station is not None and self.station.held:
            return self.station.cut_out
        return self.design.house.source.cut_in or 0.0

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc well --json` prints it."""
        from supplycalc.questions.well.json import well_to_dict

        return well_to_dict(self, units)


def well_check(design: Design, people: int | None = None) -> WellCheck:
    """Check pump, well and tank of a sized house.

    Args:
        design: sized, on a well.
        people: who live there; None takes the file's number.

    Returns:
        Operating points, cycling, yield, other switches, findings.

    Raises:
        InputError: the house stands on a main.

    Source: each part names its own.
    """
    house = design.house
    if house.source.kind != "well":
        message = "this supply comes from a main; 'well' is for a house on a well"
        raise InputError([Problem(place=house.source.place, message=message)])
    one = pump_station(house)
    flow = design.demand.design_flow[0]
    supply = well_yield(design, people, one)
    tank = None if one is None else tank_check(one, flow)
    found = tuple(one for one in design.findings if one.code in CODES)
    extra = (*_starts(one, tank), *_yield_findings(supply), *_dry(one))
    return WellCheck(
        design=design,
        station=one,
        points=() if one is None else tuple(points(one, flow)),
        design_flow=flow,
        held_pressure=None if one is None else one.supply_curve.pressure_at(flow),
        speeds=(speed_for(one, 0.0), speed_for(one, flow)) if one and one.held else None,
        uncertain=uncertain(house, design, flow),
        duty=duty(design, supply) if one is None else None,
        tank=tank,
        suction=None if one is None else suction(one),
        supply=supply,
        pipe=pipe_options(design),
        switches=switch_options(design),
        findings=tuple(sorted((*found, *extra), key=lambda each: LEVELS.index(each.level))),
        assumptions=tuple(_assumptions(design, one, supply)),
    )


def _starts(one: Station | None, tank: TankCheck | None) -> Iterator[Finding]:
    if one is None or tank is None or tank.cycles is None:
        return
    most = tank.cycles.starts_per_hour
    if math.isinf(most) or most <= tank.most_starts * (1.0 + 1e-9):
        return
    if tank.usual is not None and one.vessel is not None and one.vessel.volume >= tank.usual[0]:
        yield Finding(
            level="note",
            code="starts-per-hour",
            where="pump",
            message=f"a steady draw just under {{0}}, such as a running toilet, lets it stop and "
            f"start {most:.0f} times an hour; {tank.most_starts:g} are the most for its motor",
            values=((tank.cycles.worst_draw, "flow"),),
            remedy="mend what drips or runs on; ask the maker how often its drive may start",
            source=tank.starts_source,
        )
        return
    yield Finding(
        level="warn",
        code="starts-per-hour",
        where="pump",
        message=f"starts up to {most:.0f} times an hour, at a steady draw of {{0}}; "
        f"{tank.most_starts:g} are the most for its motor",
        values=((tank.cycles.worst_draw, "flow"),),
        remedy="fit a larger tank; mend what drips",
        source=tank.starts_source,
    )


def _yield_findings(supply: Yield) -> Iterator[Finding]:
    found = supply.balance
    if not found.keeps_up:
        yield Finding(
            level="fail",
            code="yield-short",
            where="well",
            message=f"gives {{0}} in a day; {supply.people} people need {{1}}",
            values=((found.daily_yield, "volume"), (found.daily_need, "volume")),
            remedy="use less, or find more water: storage alone does not help",
            source=well_limit("per-person-planning").citation,
        )
    elif found.storage > 0.0:
        by_pump = found.lifted < found.period_yield + found.bore_storage
        gives = "the pump lifts {2}" if by_pump else "yield and bore give {2}"
        instead = "fit a larger pump where the well allows it, or " if by_pump else ""
        yield Finding(
            level="warn",
            code="yield-short",
            where="pump" if by_pump else "well",
            message=f"a day's water for {supply.people} people, {{0}}, should be there in {{1}}; "
            f"{gives}",
            values=(
                (found.daily_need, "volume"),
                (found.period, "hours"),
                (found.available, "volume"),
            ),
            remedy=f"{instead}store at least {{0}} in a covered tank that the well fills slowly, "
            "with a second pump to the pressure tank",
            remedy_values=((found.storage, "volume"),),
            source=well_limit("peak-period").citation,
        )


def _dry(one: Station | None) -> Iterator[Finding]:
    well = one.house.source.well if one is not None else None
    if one is None or well is None or well.pump_depth is None or well.static_level is None:
        return
    if well.pump_depth - well.static_level < well_limit("submergence").value:
        yield Finding(
            level="fail",
            code="runs-dry",
            where="well",
            message="the pump hangs only {0} below the water at rest; {1} should stand above it",
            values=(
                (well.pump_depth - well.static_level, "length"),
                (well_limit("submergence").value, "length"),
            ),
            remedy="hang the pump lower, off the bottom, and fit dry-run protection",
        )


def _assumptions(design: Design, one: Station | None, supply: Yield) -> Iterator[Assumption]:
    source, well = design.house.source, design.house.source.well
    words = ("pump", "well", "source", "gauge")
    yield from (each for each in design.assumptions if any(word in each.text for word in words))
    if one is not None and one.precharge_assumed:
        yield Assumption(
            text="air charge of the tank {0}",
            values=((one.precharge, "pressure"),),
            source=code_limit("precharge-below-cut-in").citation,
        )
    if one is not None and one.motor_assumed:
        yield Assumption(
            text="motor of {0}, by the pump's work at cut-in and a pump end's usual efficiency",
            values=((one.motor_power, "power"),),
        )
    if supply.people_assumed:
        yield Assumption(
            text=f"{supply.people} people (the file names no number: people in [project])",
            source=cite(load_table("day")["people"]),
        )
    yield Assumption(
        text="{0} for a person and day",
        values=((supply.per_person * DAY, "volume"),),
        source=well_limit("per-person-planning").citation,
    )
    if supply.sustained is None:
        yield Assumption(
            text="the well gives what is asked of it: neither recovery nor specific capacity with "
            "levels and depth of the pump is given"
        )
    elif supply.by_drawdown:
        yield Assumption(
            text="what the well gives for good is reckoned from its specific capacity in a "
            "straight line, an upper bound: a driller's test, written as recovery, tells it"
        )
    if well is None or well.drop_pipe is None:
        yield Assumption(text="no friction between pump and tank: the file names no drop pipe")
    elif (
        well.offset_pipe is None
        and not (source.tank is not None and source.tank.at_well)
        and not any("offset_pipe" in each.text for each in design.assumptions)  # told with heights
    ):
        yield Assumption(
            text="no friction between wellhead and tank: the file names no offset pipe"
        )
    if supply.second_pump is not None:
        yield Assumption(
            text="storage and its second pump are sized, not run: a file holds one pump. A copy of "
            "it with the second pump in [source.pump] and without [source.well], the storage's "
            "water then standing at the tank's gauge, shows that side by size, well and day"
        )
    if source.altitude == 0.0:
        yield Assumption(text="the air's pressure is that at the sea (no altitude given)")
