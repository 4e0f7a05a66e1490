"""An open tank that wells fill by a float switch: its level and theirs at once, exactly.

The pumps work against the open inlet, so that what they give moves with the levels of the wells
alone; between two events the levels, and what is missing in the tank, are Taylor's series as those
of `several_wells`. What is drawn from the tank is steady for each span that it is told.
"""

from __future__ import annotations

import math

from supplycalc.questions.day.motion import recovered
from supplycalc.questions.day.pump_system import WellsOnALine
from supplycalc.questions.day.several_wells import (
    WellsAhead,
    edges_of_wells,
    falls_after,
    wells_ahead,
)
from supplycalc.questions.day.totals import GAUSS, WellTotals
from supplycalc.supply.storage import OpenLevel
from supplycalc.supply.tank_motion import crossing, integral, value
from supplycalc.units.quantities import Flow, Length, Time, Volume

NONE_MISSING = 1e-12
"""Share of the tank of which less is nothing."""
USUAL_BAND = 0.02
"""Share of the tank that is missing when a float of which nothing is told starts the pump; common
practice, no source."""
SHORTEST = 1e-9
"""[s] A span below this is none."""


class FillLevel(OpenLevel):
    """The open tank with its wells through a day, event by event.

    Source: mass balance; `several_wells` for the wells.
    """

    def __init__(self, wells: WellsOnALine, volume: Volume, band: Volume, dry_wait: Time) -> None:
        super().__init__(0.0, volume, band)
        self.wells, self._dry_wait = wells, dry_wait
        count = len(wells.parts)
        self.falls: list[Length] = [0.0] * count
        self.of_wells = [WellTotals() for _ in wells.parts]
        self._locked: list[Time] = [0.0] * count

    def move(self, time: Time, span: Time, flow: Flow) -> None:
        """Let a flow be drawn for a span from a time on."""
        while span > SHORTEST:
            before = self.missing
            running = self._running(time)
            if any(running):
                step = self._fill(time, span, flow, running)
            else:
                step = self._rest(time, span, flow)
            if self.filling:
                self.fill_time += step
            if before < self.volume <= self.missing:
                self.dry.append(time + step)
            self.most = max(self.most, self.missing)
            time, span = time + step, span - step

    def _running(self, time: Time) -> list[bool]:
        """Which pumps the float lets run now."""
        if self.filling and self.missing <= NONE_MISSING * self.volume:
            self.filling, self.missing = False, 0.0
        if not self.filling and self.missing >= self.band and self.missing > 0.0:
            self.filling = True
            self.fillings.append(time)
        free = [at <= time for at in self._locked]
        return free if self.filling else [False] * len(free)

    def _until(self, time: Time, span: Time) -> Time:
        """As far as no pump comes back that ran its well dry."""
        return min([span, *(at - time for at in self._locked if at > time)])

    def _rest(self, time: Time, span: Time, flow: Flow) -> Time:
        """No pump runs: the tank falls and the wells come back."""
        step = self._until(time, span)
        mark = self.band if not self.filling and self.missing < self.band else self.volume
        if flow > 0.0 and self.missing < mark:
            step = min(step, (mark - self.missing) / flow)
        reached = flow > 0.0 and self.missing + flow * step >= mark * (1.0 - NONE_MISSING)
        gone = flow * step if self.left > 0.0 else 0.0
        self.lacked += flow * step - gone
        self.drawn += gone
        self.missing = min(mark if reached and gone else self.missing + gone, self.volume)
        self.falls = [
            recovered(part, fall, step) if part.casing_area else fall
            for part, fall in zip(self.wells.parts, self.falls, strict=True)
        ]
        return step

    def _fill(self, time: Time, span: Time, flow: Flow, running: list[bool]) -> Time:
        """The pumps fill the tank up to the next event."""
        ahead = wells_ahead(self.wells, 0.0, None, None, self.falls, running)
        step, event, at = self._first(ahead, running, min(self._until(time, span), ahead.reach))
        given = [math.fsum(terms) for terms in zip(*ahead.flows, strict=True)]
        missing = [self.missing, flow - given[0]]
        missing += [-term / (n + 2) for n, term in enumerate(given[1:])]
        empty = self.left <= 0.0 and given[0] < flow
        if not empty:
            for mark, passed in ((0.0, value(missing, step) < 0.0), (self.volume, True)):
                beyond = value(missing, step) > mark if mark else passed
                if beyond:
                    step, event = crossing(missing, mark, step), f"at {mark}"
        came = integral(given, step)
        for i in range(len(running)):
            if running[i]:
                self._count(i, ahead, step)
        gone = came if empty else flow * step
        self.lacked += flow * step - gone
        self.came += came
        self.drawn += gone
        self.falls = falls_after(ahead, step)
        self.missing = self.volume if empty else value(missing, step)
        if event.startswith("at "):
            self.missing = float(event.removeprefix("at "))
        elif event.startswith("inflow "):
            self.falls[int(event.split()[1])] = at
        elif event.startswith("dry "):
            self._run_dry(event, time + step, at)
        return step

    def _first(
        self, ahead: WellsAhead, running: list[bool], span: Time
    ) -> tuple[Time, str, Length]:
        """The first edge of the wells within a span: (time into it, what happens, the fall)."""
        event, at = "", 0.0
        for series, least, most, (name, fall) in edges_of_wells(self.wells, ahead, running):
            at_end = value(series, span)
            if at_end < least or at_end > most:
                span = crossing(series, least if at_end < least else most, span)
                event, at = name, fall
        return span, event, at

    def _count(self, number: int, ahead: WellsAhead, span: Time) -> None:
        """Add what one pump does in a span."""
        told = self.of_wells[number]
        told.run_time += span
        told.pumped += integral(ahead.flows[number], span)
        told.deepest = max(told.deepest, self.falls[number], value(ahead.falls[number], span))
        if ahead.pieces[number] < 0:
            told.held_shut += span
            return
        first, second = self.wells.parts[number].head_lines[ahead.pieces[number]]
        for place, part in GAUSS:
            flow = value(ahead.flows[number], place * span)
            told.work += part * span * flow * (first + second * flow)

    def _run_dry(self, event: str, time: Time, fall: Length) -> None:
        number = int(event.split()[1])
        self.falls[number] = fall
        self.of_wells[number].dry_runs.append(time)
        self._locked[number] = time + self._dry_wait
