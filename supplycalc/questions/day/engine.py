"""The event loop: from one event to the next, exactly, for as long as is asked.

Events are draws that begin or end, the switch, the pump running dry or coming back, the tank
emptying, and every edge of the straight pieces that pump and house are made of. On a street main
nothing is stored, so that nothing moves between two draws.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from supplycalc.chance.random_days import PlannedDraw
from supplycalc.delivery.open_supply import Law
from supplycalc.problems import ComputationError
from supplycalc.questions.day.draw_curve import DrawCurves
from supplycalc.questions.day.draws import Openings
from supplycalc.questions.day.far_motion import FarMotion
from supplycalc.questions.day.motion import (
    Edge,
    State,
    balance_pressure,
    first_edge,
    first_full,
    pumped_at,
    recovered,
    stretch_ahead,
)
from supplycalc.questions.day.pump_system import PumpSystem
from supplycalc.questions.day.several_wells import falls_after
from supplycalc.questions.day.totals import Event, Totals, WellTotals
from supplycalc.supply.storage import OpenLevel
from supplycalc.supply.tank_motion import value
from supplycalc.units import DAY
from supplycalc.units.quantities import Flow, Pressure, Time, Volume

STUCK = 1000
"""Steps in which no time passes, one after the other, after which a run is given up."""
MOST_STEPS = 150_000
"""Stretches of motion for each day begun, after which a run is given up: nearly two a second, and
well over those of a tank of 2 gal under the worst draw, if it lasts all day (90,000)."""
EMPTY = 1e-3
"""Share of an open tank's volume at which its float keeps the pump from sucking air."""
_MOMENT = 1e-9
_SAME = 1e-12
_TOLD = 200


class Engine:
    """A supply in motion; `run` moves it to the end."""

    def __init__(
        self,
        system: PumpSystem,
        curves: DrawCurves,
        draws: Iterable[PlannedDraw],
        end: Time,
        *,
        keep_until: Time = 0.0,
        progress: Callable[[float], None] | None = None,
        tank: OpenLevel | None = None,
        far: FarMotion | None = None,
    ) -> None:
        self.system, self.curves, self.end, self.tank = system, curves, end, tank
        self.far = far
        self.totals = Totals(series=[] if keep_until > 0.0 else None)
        self.state = State(
            time=0.0,
            pressure=system.cut_out,
            air=system.air_volume(system.cut_out),
            fall=0.0,
            on=False,
            mode="tank",
            falls=[0.0] * len(system.parts),
            running=[False] * len(system.parts),
        )
        self.totals.wells = [WellTotals() for _ in system.parts]
        self._well_locked = [0.0] * len(system.parts)
        self._progress, self._keep_until = progress, keep_until
        self._openings = Openings(curves, draws, self.totals)
        self._locked_until = math.inf
        self._started = 0.0

    def run(self) -> Totals:
        """Move to the end and return what was counted; ComputationError where it cannot settle."""
        state, told, still = self.state, 0.0, 0
        self._note("begin")
        self._due()
        while state.time < self.end:
            before, pumped = state.time, self.totals.pumped
            waits = [at for at in self._well_locked if at > state.time]
            self._move(
                self._openings.until(min(self.end, self._locked_until, self._tank_lasts(), *waits))
            )
            if self.tank is not None and state.time > before:
                self._draw_from_tank(self.tank, before, self.totals.pumped - pumped)
            if self.far is not None and self.far.water <= 0.0:
                self.far.empty += state.time - before
            self._due()
            still = still + 1 if state.time - before < _MOMENT else 0
            if still > STUCK:
                raise ComputationError(
                    f"the supply does not settle at {state.time:.1f} s: pump and draws switch "
                    "without end"
                )
            self.totals.steps += 1
            if self.totals.steps > MOST_STEPS * max(state.time / DAY, 1.0):
                raise ComputationError(
                    f"the supply moves too fast to follow: {self.totals.steps} changes in "
                    f"{state.time:.0f} s; look for a tank far smaller than pump and "
                    "draws, or a switch with next to no range"
                )
            if self._progress is not None and state.time - told > self.end / _TOLD:
                told = state.time
                self._progress(state.time / self.end)
        self._note("end")
        return self.totals

    # ---- open tank

    def _tank_lasts(self) -> Time:
        """A time up to which the open tank holds water for the pump, however little it meets."""
        tank, state = self.tank, self.state
        if tank is None or not state.on:
            return math.inf
        flow = pumped_at(self.system, state, min(state.pressure, self.system.cut_in))
        return state.time + tank.left / flow if flow > 0.0 else math.inf

    def _draw_from_tank(self, tank: OpenLevel, before: Time, pumped: Volume) -> None:
        """Take from the open tank what was pumped; the pump rests where it is dry."""
        span = self.state.time - before
        tank.move(before, span, pumped / span)
        if self.state.on and tank.left <= EMPTY * tank.volume:
            tank.run_dry(self.state.time)
            self._locked_until = self.state.time + self.system.dry_wait
            self._stop("dry")

    # ---- motion

    def _move(self, until: Time) -> None:
        """One stretch of motion, up to the first event or `until`."""
        system, state, openings = self.system, self.state, self._openings
        if until - state.time < _MOMENT:
            state.time = until
            return
        still = self.far is None or self.far.level is None
        if not state.on and not openings.draws and still:
            if system.casing_area and state.fall > 0.0:
                state.fall = recovered(system, state.fall, until - state.time)
            state.falls = [
                recovered(part, fall, until - state.time) if part.casing_area else fall
                for part, fall in zip(system.parts, state.falls, strict=True)
            ]
            state.time = until
            return
        stretch = stretch_ahead(system, state, openings.curve, self._locked_until < math.inf)
        whole = until - state.time
        span, event = first_edge(system, state, stretch, min(stretch.motion.reach, whole))
        if openings.by_volume:
            span, event = first_full(stretch, [draw.left for draw in openings.draws], span, event)
        far = self.far if stretch.segment is not None else None
        if far is not None and stretch.segment is not None:
            span, told = far.first_step(stretch.segment, stretch.motion, span)
            event = ("far", 0.0) if told else event
            far.move(stretch.segment, stretch.motion, span)
        self.totals.count(system, state, stretch, span, openings.draws, openings.watches)
        state.time = until if span == whole else state.time + span
        state.pressure = value(stretch.motion.pressure, span)
        if system.casing_area:
            state.fall = max(value(stretch.motion.fall, span), 0.0)
        if stretch.wells is not None:
            state.falls = falls_after(stretch.wells, span)
        self._happen(event)
        if state.mode == "tank":
            state.air = system.air_volume(state.pressure)

    def _happen(self, event: Edge) -> None:
        """Put the state right on the edge that was reached, and do what follows from it."""
        kind, at = event
        state = self.state
        if kind in ("edge", "cut-in", "cut-out", "empty", "filled"):
            state.pressure = at
        elif kind in ("dry", "inflow"):
            state.fall = at
        elif kind.startswith(("dry ", "inflow ")):
            word, number = kind.split()
            state.falls[int(number)] = at
            if word == "dry":
                self._well_dry(int(number))
        elif kind == "full":
            self._openings.draws[int(at)].left = 0.0
        if kind == "filled":
            state.mode = "tank"
        elif kind == "dry":
            self.totals.dry_runs.append(state.time)
            self._locked_until = state.time + self.system.dry_wait
            self._stop("dry")
        elif kind == "edge":
            self._note(None)
        elif kind == "piece" and state.mode == "hold":
            state.mode = "tank"

    def _well_dry(self, number: int) -> None:
        """One of several pumps has run dry and rests; the others go on."""
        state = self.state
        state.running[number] = False
        self.totals.wells[number].dry_runs.append(state.time)
        self.totals.dry_runs.append(state.time)
        self._well_locked[number] = state.time + self.system.dry_wait
        if any(state.running):
            self._balance()
        else:
            self._locked_until = min(self._well_locked)
            self._stop("dry")

    def _balance(self) -> None:
        """Where an empty tank stands after one of several pumps has come or gone."""
        state = self.state
        if state.mode == "empty":
            state.mode, state.pressure = "tank", self.system.precharge
            if self._net(state.pressure) > 0.0:
                self._empty()

    def _due(self) -> None:
        """Begin and end what is due now, and see to the switch."""
        now = self.state.time
        changed = self._openings.due(now)
        if changed:
            if self.state.mode == "empty":
                self.state.pressure = self.system.precharge
            self.state.mode = "tank"
        if now >= self._locked_until:
            self._locked_until = math.inf
        if self.state.on:
            running = [now >= at for at in self._well_locked]
            if running != self.state.running:
                self.state.running = running
                self._balance()
        if self.far is not None:
            if self.state.mode == "empty" and not self.state.on:
                self.far.level = None
            else:
                self.far.choose(self._openings.curve_at, self.state.pressure)
            self._openings.see(self.far.level)
        self._switch()
        if changed:
            self._note("draw")

    # ---- pump

    def _net(self, pressure: Pressure) -> Flow:
        """Growth of the tank's air at a pressure."""
        return self._openings.curve.flow_at(pressure) - pumped_at(self.system, self.state, pressure)

    def _switch(self) -> None:
        system, state = self.system, self.state
        dry = state.pressure <= system.precharge * (1.0 + _SAME)
        if state.mode == "tank" and dry and self._net(system.precharge) > 0.0:
            self._empty()
        if (
            not state.on
            and self._locked_until == math.inf
            and state.pressure <= system.cut_in + _SAME * system.cut_out
        ):
            self._start()
        if not state.on or state.mode != "tank" or state.pressure < system.cut_out * (1.0 - _SAME):
            return
        drawn = self._openings.curve.flow_at(system.cut_out)
        if system.control == "switch" or drawn < system.sleep_flow:
            self._stop("stop")
        elif pumped_at(system, state, system.cut_out) >= drawn:
            state.mode = "hold"

    def _empty(self) -> None:
        """The tank has given all it held: what comes now is what the pump gives."""
        system, state = self.system, self.state
        state.mode = "empty"
        state.air = system.tank_volume
        if state.on:
            state.pressure = balance_pressure(system, state, self._openings.curve)
        else:  # it collapses, to where the switch starts the pump if it may
            state.pressure = system.cut_in if self._locked_until == math.inf else 0.0
        if state.pressure < self.totals.lowest:
            self.totals.lowest, self.totals.lowest_at = state.pressure, state.time
        self._note("empty")

    def _start(self) -> None:
        state = self.state
        state.on = True
        state.running = [state.time >= at for at in self._well_locked]
        self._started = state.time
        self.totals.starts.append(state.time)
        self.totals.events += 1
        if state.mode == "empty":
            state.mode, state.pressure = "tank", self.system.precharge
            if self._net(state.pressure) > 0.0:
                self._empty()
        self._note("start")

    def _stop(self, why: str) -> None:
        state = self.state
        state.on = False
        state.running = [False] * len(state.running)
        self.totals.runs.append(state.time - self._started)
        self.totals.events += 1
        if state.mode == "hold":
            state.mode = "tank"
        elif state.mode == "empty":
            state.pressure = 0.0
        self._note(why)

    def _note(self, event: str | None) -> None:
        """Keep a line of the series, where that is asked for."""
        if self.totals.series is None or self.state.time > self._keep_until:
            return
        system, state = self.system, self.state
        through = drawn = 0.0
        if state.on or state.mode == "tank":
            through = drawn = self._openings.curve.flow_at(state.pressure)
        pumped = through if state.mode == "hold" else pumped_at(system, state, state.pressure)
        if self.far is not None:
            drawn += self._openings.curve.far_flow_at(state.pressure)
        self.totals.series.append(
            Event(
                time=state.time,
                event=event,
                pressure=state.pressure,
                water=system.tank_volume - system.air_volume(state.pressure)
                if state.mode != "empty"
                else 0.0,
                pump_on=state.on,
                pump_flow=pumped,
                drawn=drawn,
                fall=max(state.falls, default=state.fall),
                falls=tuple(state.falls),
            )
        )


def run_on_main(
    curves: DrawCurves,
    law: Law,
    draws: Iterable[PlannedDraw],
    end: Time,
    *,
    keep_until: Time = 0.0,
    progress: Callable[[float], None] | None = None,
    tank: OpenLevel | None = None,
) -> Totals:
    """Follow a house on a main or open water from draw to draw, each set of outlets settled once.

    What is told of pump, tank and well stays at nothing.
    """
    totals = Totals(series=[] if keep_until > 0.0 else None)
    openings = Openings(curves, draws, totals)
    settled = {openings.curve: curves.settle(openings.curve, law)}
    now, told = 0.0, 0.0
    openings.due(now)
    while True:
        rung = settled.get(openings.curve)
        if rung is None:
            rung = settled[openings.curve] = curves.settle(openings.curve, law)
        source = rung.source_pressure
        if totals.series is not None and now <= keep_until:
            event = "begin" if now <= 0.0 else "end" if now >= end else "draw"
            totals.series.append(Event(time=now, event=event, pressure=source, drawn=rung.total))
        if now >= end:
            return totals
        span = openings.until(end) - now
        for draw, flow in zip(openings.draws, rung.flow, strict=True):
            if flow > 0.0 and draw.left < flow * span:
                span = draw.left / flow
        if tank is not None:
            tank.move(now, min(span, end - now), rung.total)
        for draw, flow in zip(openings.draws, rung.flow, strict=True):
            totals.take(draw, flow * span)
            if draw.left < 1e-12:
                draw.left = 0.0
        for watch, pressure in zip(openings.watches, rung.pressure, strict=True):
            watch.running += span
            watch.below += span if pressure < watch.outlet.required_pressure else 0.0
            watch.see(pressure, now, source, openings.draws)
        if source < totals.lowest:
            totals.lowest, totals.lowest_at = source, now
        totals.highest = max(totals.highest, source)
        now = min(now + span, end) if math.isfinite(span) else end
        totals.steps += 1
        openings.due(now)
        if progress is not None and now - told > end / _TOLD:
            told = now
            progress(now / end)
