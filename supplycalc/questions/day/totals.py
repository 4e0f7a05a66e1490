"""What is counted while a day runs."""

from __future__ import annotations

import math

from msgspec import Struct, field

from supplycalc.network import Outlet
from supplycalc.questions.day.motion import State, Stretch
from supplycalc.questions.day.pump_system import PumpSystem
from supplycalc.questions.day.several_wells import WellsAhead
from supplycalc.supply.tank_motion import Motion, crossing, integral, value
from supplycalc.units.quantities import Flow, Length, Pressure, Time, Volume

# Gauss-Legendre with three points on (0, 1); M. Abramowitz and I. A. Stegun, table 25.4
GAUSS = ((0.5 - math.sqrt(0.15), 5 / 18), (0.5, 8 / 18), (0.5 + math.sqrt(0.15), 5 / 18))


class OpenDraw(Struct, eq=False):
    """A draw that is running."""

    number: int
    """Of its use."""
    fixture: str
    end: Time
    """inf where a volume ends it"""
    left: Volume
    """inf where time ends it"""


class Watch(Struct):
    """A connection of a fixture, followed while it runs."""

    outlet: Outlet
    lowest: Pressure = math.inf
    lowest_at: Time = 0.0
    source_pressure: Pressure = 0.0
    """At the source then."""
    open_uses: tuple[int, ...] = ()
    """Numbers of the uses that ran then."""
    head: Pressure | None = None
    """At which a second tank was seen then."""
    running: Time = 0.0
    below: Time = 0.0
    """Below what it requires."""

    def see(
        self,
        pressure: Pressure,
        time: Time,
        source: Pressure,
        draws: list[OpenDraw],
        head: Pressure | None = None,
    ) -> None:
        """Keep a pressure if it is the lowest so far, with the source's and what else runs."""
        if pressure < self.lowest:
            self.lowest, self.lowest_at, self.source_pressure = pressure, time, source
            self.open_uses, self.head = tuple(draw.number for draw in draws), head


class Event(Struct, frozen=True, kw_only=True):
    """One line of the series."""

    time: Time
    event: str | None
    """None: only a point on the way."""
    pressure: Pressure
    """At the source."""
    water: Volume = 0.0
    """In the tank."""
    pump_on: bool = False
    pump_flow: Flow = 0.0
    drawn: Flow
    fall: Length = 0.0
    """Of the well's level; of several the deepest."""
    falls: tuple[Length, ...] = ()
    """Of several wells' levels."""


class WellTotals(Struct):
    """Sums of one of several wells."""

    pumped: Volume = 0.0
    run_time: Time = 0.0
    work: float = 0.0
    """As of all."""
    deepest: Length = 0.0
    held_shut: Time = 0.0
    """Running against a pressure that it does not reach."""
    dry_runs: list[Time] = field(default_factory=list)


class Totals(Struct):
    """Sums over a run."""

    drawn: Volume = 0.0
    pumped: Volume = 0.0
    run_time: Time = 0.0
    work: float = 0.0
    """Head times flow over time [m4]; times the water's weight it is the work done on water [J]."""
    starts: list[Time] = field(default_factory=list)
    """When the pump started."""
    runs: list[Time] = field(default_factory=list)
    """Length of every finished run."""
    dry_runs: list[Time] = field(default_factory=list)
    """When the pump ran dry."""
    empty: Time = 0.0
    """With no water left in the tank."""
    lowest: Pressure = math.inf
    """At the source."""
    lowest_at: Time = 0.0
    highest: Pressure = -math.inf
    deepest: Length = 0.0
    """Fall of the well's level."""
    draws: int = 0
    events: int = 0
    """Draws begun and ended, starts and stops."""
    steps: int = 0
    """Stretches of motion."""
    used: dict[str, Volume] = field(default_factory=dict)
    """Fixture's name -> water."""
    watches: dict[str, Watch] = field(default_factory=dict)
    """Connection's name -> what happened there."""
    wells: list[WellTotals] = field(default_factory=list)
    """Each, where there are several."""
    series: list[Event] | None = None
    """Every event, where it is kept."""

    def take(self, draw: OpenDraw, volume: Volume) -> None:
        """Count what a draw takes."""
        self.drawn += volume
        self.used[draw.fixture] = self.used.get(draw.fixture, 0.0) + volume
        draw.left -= volume

    def count(
        self,
        system: PumpSystem,
        state: State,
        stretch: Stretch,
        span: Time,
        draws: list[OpenDraw],
        watches: tuple[Watch, ...],
    ) -> None:
        """Add a span of a stretch."""
        motion = stretch.motion
        start, end = state.pressure, value(motion.pressure, span)
        under = integral(motion.pressure, span)
        if stretch.segment is not None:
            for draw, (first, second) in zip(draws, stretch.segment.flow, strict=True):
                self.take(draw, first * span + second * under)
            _watch(state.time, stretch, span, (start, end), draws, watches)
        if stretch.wells is not None:
            self._pumps(system, state, stretch.wells, span)
        elif state.on:
            self._pump(system, state, stretch, span, under)
        low, high, later = (start, end, 0.0) if start < end else (end, start, span)
        if low < self.lowest:
            self.lowest, self.lowest_at = low, state.time + later
        self.highest = max(self.highest, high)
        if system.casing_area:
            self.deepest = max(self.deepest, value(motion.fall, span))
        if state.mode == "empty":
            self.empty += span

    def _pumps(self, system: PumpSystem, state: State, wells: WellsAhead, span: Time) -> None:
        """Count what each of several pumps does."""
        self.run_time += span if state.on else 0.0
        for i, (part, told) in enumerate(zip(system.parts, self.wells, strict=True)):
            told.deepest = max(told.deepest, state.falls[i], value(wells.falls[i], span))
            self.deepest = max(self.deepest, told.deepest)
            if not state.running[i]:
                continue
            told.run_time += span
            pumped = integral(wells.flows[i], span)
            told.pumped += pumped
            self.pumped += pumped
            if wells.pieces[i] < 0:
                told.held_shut += span
                continue
            first, second = part.head_lines[wells.pieces[i]]
            for place, share in GAUSS:
                flow = value(wells.flows[i], place * span)
                work = share * span * flow * (first + second * flow)
                told.work += work
                self.work += work

    def _pump(
        self, system: PumpSystem, state: State, stretch: Stretch, span: Time, under: float
    ) -> None:
        motion, area = stretch.motion, system.casing_area
        under_fall = integral(motion.fall, span) if area else 0.0
        self.pumped += stretch.a * span - stretch.b * system.back_pressure(under, under_fall)
        self.run_time += span
        if state.mode == "hold":
            fall = under_fall / span if span else state.fall
            self.work += stretch.a * system.total_head(stretch.a, state.pressure, fall) * span
        elif stretch.curve_piece >= 0:
            first, second = system.head_lines[stretch.curve_piece]
            for place, share in GAUSS:
                time = place * span
                fall = value(motion.fall, time) if area else 0.0
                back = system.back_pressure(value(motion.pressure, time), fall)
                flow = stretch.a - stretch.b * back
                self.work += share * span * flow * (first + second * flow)


def _watch(
    time: Time,
    stretch: Stretch,
    span: Time,
    ends: tuple[Pressure, Pressure],
    draws: list[OpenDraw],
    watches: tuple[Watch, ...],
) -> None:
    assert stretch.segment is not None
    low, later = (ends[0], 0.0) if ends[0] <= ends[1] else (ends[1], span)
    for watch, line in zip(watches, stretch.segment.pressure, strict=True):
        watch.running += span
        lowest = line[0] + line[1] * low
        watch.see(lowest, time + later, low, draws, stretch.segment.head)
        required = watch.outlet.required_pressure
        if lowest < required:
            watch.below += _below(required, line, ends, span, stretch.motion)


def _below(
    required: Pressure,
    line: tuple[float, float],
    ends: tuple[Pressure, Pressure],
    span: Time,
    motion: Motion,
) -> Time:
    """Time of a span in which a connection has less than it requires."""
    first, second = line
    if max(first + second * end for end in ends) <= required:
        return span
    passing = crossing(motion.pressure, (required - first) / second, span)
    return passing if ends[0] < ends[1] else span - passing
