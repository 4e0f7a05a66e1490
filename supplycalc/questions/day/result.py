"""What `day` found: water, pump, source, well, fixtures, every event; and the answer in words."""

from __future__ import annotations

import math
from typing import ClassVar

from msgspec import Struct

from supplycalc.findings.well import relief_valve
from supplycalc.model import Side
from supplycalc.network import Outlet
from supplycalc.questions.day.pump_system import PumpSystem
from supplycalc.questions.day.totals import Event
from supplycalc.records import Form
from supplycalc.records.sentences import Assumption, Finding
from supplycalc.sizing.design import DesignAnswer
from supplycalc.units import DAY, HOUR, MINUTE, UnitSystem, show
from supplycalc.units.quantities import Energy, Hours, Length, Minutes, Pressure, Time, Volume

LEAST_TOLD = 3.0
"""[s] below what an outlet requires; less shows as 0.0 min, as while a pump wakes."""


class FixtureWater(Struct, frozen=True, kw_only=True):
    """Water that one fixture drew."""

    name: str
    drawn: Volume


class HouseholdWater(Struct, frozen=True, kw_only=True):
    """Water that one household drew, or what is everybody's."""

    name: str
    people: int
    drawn: Volume


class WaterUse(Struct, frozen=True, kw_only=True):
    """Where the water came from and went; nothing is pumped or stored on a main."""

    drawn: Volume
    pumped: Volume | None
    tank_change: Volume | None
    """Water in the tank at the end less that at the beginning; of both tanks where a second one
    stands far away."""
    by_fixture: tuple[FixtureWater, ...]
    by_household: tuple[HouseholdWater, ...]
    """Empty where the file names none."""

    form: ClassVar[Form] = Form(add=("imbalance",))

    @property
    def imbalance(self) -> Volume | None:
        """Pumped less drawn less change of the tank: rounding."""
        if self.pumped is None or self.tank_change is None:
            return None
        return self.pumped - self.drawn - self.tank_change


class PumpUse(Struct, frozen=True, kw_only=True):
    """What the pump did."""

    form: ClassVar[Form] = Form(omit=("runs",), add=("starts", "shortest_run", "longest_run"))

    start_times: tuple[Time, ...]
    runs: tuple[Time, ...]
    """Length of every finished run."""
    most_in_an_hour: int
    """Starts within any 60 minutes."""
    most_in_a_day: int
    """Starts within a calendar day."""
    run_time: Hours
    energy: Energy | None
    """Electricity for pumping; None where the file does not give the well's level, and with it the
    lift."""
    energy_range: tuple[Energy, Energy] | None
    """The same by the ends of the usual efficiency; None where the file gives one, or no level."""

    @property
    def starts(self) -> int:
        """How often it started."""
        return len(self.start_times)

    @property
    def shortest_run(self) -> Time | None:
        """None where no run ended."""
        return min(self.runs, default=None)

    @property
    def longest_run(self) -> Time | None:
        """None where no run ended."""
        return max(self.runs, default=None)


class SourceRange(Struct, frozen=True, kw_only=True):
    """Pressure at the source's gauge."""

    lowest: Pressure
    lowest_at: Time
    highest: Pressure
    tank_empty: Minutes
    """With no water left in the tank."""


class WellUse(Struct, frozen=True, kw_only=True):
    """What the well's level did."""

    deepest_fall: Length
    dry_runs: tuple[Time, ...]
    """When the pump ran dry."""


class FarTankUse(Struct, frozen=True, kw_only=True):
    """What a second pressure tank did."""

    name: str
    full: Volume
    """Held at first."""
    least: Volume
    """Held, at its emptiest."""
    given: Volume
    """To the house, over all; it was filled again meanwhile."""
    empty: Minutes


class WellRun(Struct, frozen=True, kw_only=True):
    """What one of several wells and its pump did."""

    name: str
    pumped: Volume
    run_time: Hours
    held_shut: Hours
    """For which its pump ran against the pressure of the others and gave nothing."""
    deepest_fall: Length
    dry_runs: tuple[Time, ...]
    """When its pump ran dry."""
    energy: Energy | None
    """None without the water's level."""


class OpenTankUse(Struct, frozen=True, kw_only=True):
    """What the level of an open tank did."""

    volume: Volume
    """Between full and empty."""
    most_missing: Volume
    """Of full, at its lowest."""
    missing_at_end: Volume
    came: Volume
    """What came to it and was kept."""
    lacked: Volume
    """What the house would have drawn while it was dry."""
    ran_dry: tuple[Time, ...]
    """When."""
    fillings: int | None
    """Starts of the well's pump by the float switch; None: no pump fills it."""
    fill_time: Time | None
    """For which that pump ran."""

    form: ClassVar[Form] = Form(add=("imbalance",))

    drawn: Volume

    @property
    def imbalance(self) -> Volume:
        """Came less drawn and what is missing more: rounding."""
        return self.came - self.drawn + self.missing_at_end


class OutletUse(Struct, frozen=True, kw_only=True):
    """What happened at one connection of a fixture."""

    form: ClassVar[Form] = Form(omit=("outlet", "interpolated"), add=("name", "side", "required"))

    outlet: Outlet
    lowest: Pressure
    """While it ran, by the solver."""
    interpolated: Pressure
    """The same between two rungs of the ladder."""
    lowest_at: Time
    source_pressure: Pressure
    """At the source then."""
    beside: tuple[str, ...]
    """What else ran then."""
    running: Hours
    below: Hours
    """With less than it requires."""

    @property
    def name(self) -> str:
        """Of the fixture."""
        return self.outlet.fixture.name

    @property
    def side(self) -> Side:
        """Of the fixture."""
        return self.outlet.side

    @property
    def required(self) -> Pressure:
        """What it asks for."""
        return self.outlet.required_pressure


class Day(DesignAnswer, frozen=True, kw_only=True):
    """One or many days of draws."""

    schema: ClassVar[str] = "supplycalc-day/1"
    form: ClassVar[Form] = Form(omit=("design", "pump_system"), add=("verdict",))

    pump_system: PumpSystem | None
    """None on a main."""
    days: int
    seed: int | None
    """None: the file's schedule."""
    people: int | None
    """Who live there, for random days."""
    waterlogged: bool
    draws: int
    events: int
    """Draws begun and ended, starts and stops."""
    steps: int
    """Stretches of motion."""
    solves: int
    """How often the delivery solver was asked."""
    water: WaterUse
    pump: PumpUse | None
    source: SourceRange
    well: WellUse | None
    wells: tuple[WellRun, ...]
    """Each of several, all on one switch; empty with one."""
    open_tank: OpenTankUse | None
    """None where there is none, or the file does not say how much it holds."""
    far_tank: FarTankUse | None
    """None where there is none, or no volume is given."""
    fixtures: tuple[OutletUse, ...]
    """The connections that were used."""
    findings: tuple[Finding, ...] = ()
    assumptions: tuple[Assumption, ...]
    series: tuple[Event, ...]
    """Every event that was kept."""

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    @property
    def span(self) -> str:
        """How long, in words."""
        return "the day" if self.days == 1 else f"{self.days} days"

    @property
    def short(self) -> tuple[OutletUse, ...]:
        """Connections that had less than they require."""
        return tuple(outlet for outlet in self.fixtures if outlet.below >= LEAST_TOLD)

    def verdict(self, system: UnitSystem) -> str:
        """What it was like, in one or two sentences."""
        text = f"In {self.span} {show(self.water.drawn, 'volume', system)} are drawn"
        if self.pump is not None:
            times = "once" if self.pump.starts == 1 else f"{self.pump.starts} times"
            start = "the pumps start" if len(self.wells) > 1 else "the pump starts"
            text += (
                f" and {start} {times} (at most {self.pump.most_in_an_hour} within an "
                f"hour), running {stretch_of_time(self.pump.run_time)}"
                if self.pump.starts
                else " and no pump starts: the tank gives that"
            )
        spills = (item.code == relief_valve.code for item in self.findings)
        if any(spills):
            text += "; the relief valve opens before the pump stops, and spills what it gives"
        elif self.open_tank is not None and self.open_tank.ran_dry:
            text += f"; the tank runs dry, first at {clock(self.open_tank.ran_dry[0], self.days)}"
        elif self.well is not None and self.well.dry_runs:
            text += f"; it ran dry, first at {clock(self.well.dry_runs[0], self.days)}"
        elif self.short:
            worst = longest_below(self.short)
            text += (
                f"; {worst.outlet.name} has less than it requires for "
                f"{show(worst.below, 'minutes', system)} of its use"
            )
        elif self.fixtures:
            text += "; every fixture keeps its pressure while it is used"
        if self.idle and self.seed is None:
            whole = len(self.house.fixtures)
            text += f"; {len(self.idle)} of {whole} fixtures are not used in the file's schedule"
        return f"{text}."

    @property
    def idle(self) -> tuple[str, ...]:
        """Fixtures that nothing is drawn at."""
        used = {fixture.name for fixture in self.water.by_fixture}
        return tuple(it.name for it in self.house.fixtures if it.name not in used)


def longest_below(short: tuple[OutletUse, ...]) -> OutletUse:
    """Of connections with less than they require, the one that had it for longest."""
    return max(short, key=lambda outlet: outlet.below)


def clock(time: Time, days: int = 1) -> str:
    """A time as people say it: "6:42", with the day's number where there are several."""
    day, rest = divmod(math.floor(time), int(DAY))
    hours, minutes = divmod(rest // int(MINUTE), 60)
    text = f"{hours}:{minutes:02d}"
    return f"day {day + 1}, {text}" if days > 1 else text


def stretch_of_time(time: Time) -> str:
    """A stretch of time in seconds, in minutes or in hours, whichever people would say."""
    if time < 5 * MINUTE:
        return f"{time:.0f} s"
    return f"{time / MINUTE:.0f} min" if time < 2 * HOUR else f"{time / HOUR:.1f} h"
