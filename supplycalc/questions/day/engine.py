"""The event loop: from one event to the next, exactly, for as long as is asked.

Events are draws that begin or end, the switch, the pump running dry or coming back, the tank
emptying, and every edge of the straight pieces that pump and house are made of.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from supplycalc.problems import ComputationError
from supplycalc.questions.day.draws import PlannedDraw
from supplycalc.questions.day.laws import Laws
from supplycalc.questions.day.openings import Openings
from supplycalc.questions.day.piece import (
    Edge,
    State,
    balance_pressure,
    drawn_at,
    first_edge,
    first_full,
    inflow_edge,
    piece,
    pumped_at,
)
from supplycalc.questions.day.plant import Plant
from supplycalc.questions.day.tally import Event, Tally
from supplycalc.supply.tank_motion import value
from supplycalc.units import DAY

STUCK = 1000
"""Steps in which no time passes, one after the other, after which a run is given up."""
MOST_STEPS = 150_000
"""Pieces of motion for each day begun, after which a run is given up: nearly two a second, and well
over those of a tank of 2 gal under the worst draw, if it lasts all day (90,000)."""
_MOMENT = 1e-9
_SAME = 1e-12
_TOLD = 200


class Engine:
    """A supply in motion; `run` moves it to the end."""

    def __init__(
        self,
        one: Plant,
        laws: Laws,
        draws: Iterable[PlannedDraw],
        end: float,
        *,
        keep_until: float = 0.0,
        progress: Callable[[float], None] | None = None,
    ) -> None:
        self.plant, self.laws, self.end = one, laws, end
        self.tally = Tally(series=[] if keep_until > 0.0 else None)
        self.state = State(
            time=0.0,
            pressure=one.cut_out,
            air=one.air / (one.cut_out + one.atmosphere),
            fall=0.0,
            on=False,
            mode="tank",
        )
        self._progress, self._keep_until = progress, keep_until
        self._openings = Openings(laws, draws, self.tally)
        self._locked_until = math.inf
        self._started = 0.0

    def run(self) -> Tally:
        """Move to the end and return what was counted; ComputationError where it cannot settle."""
        state, told, still = self.state, 0.0, 0
        self._note("begin")
        self._due()
        while state.time < self.end:
            before = state.time
            self._move(self._openings.until(min(self.end, self._locked_until)))
            self._due()
            still = still + 1 if state.time - before < _MOMENT else 0
            if still > STUCK:
                raise ComputationError(
                    f"the supply does not settle at {state.time:.1f} s: pump and draws switch "
                    "without end"
                )
            self.tally.steps += 1
            if self.tally.steps > MOST_STEPS * max(state.time / DAY, 1.0):
                raise ComputationError(
                    f"the supply moves too fast to follow: {self.tally.steps} changes in "
                    f"{state.time:.0f} s; look for a tank far smaller than pump and "
                    "draws, or a switch with next to no range"
                )
            if self._progress is not None and state.time - told > self.end / _TOLD:
                told = state.time
                self._progress(state.time / self.end)
        self._note("end")
        return self.tally

    # ---- motion

    def _move(self, until: float) -> None:
        """One piece of motion, up to the first event or `until`."""
        one, state, opened = self.plant, self.state, self._openings
        if until - state.time < _MOMENT:
            state.time = until
            return
        if not state.on and not opened.draws:
            if one.area and state.fall > 0.0:
                state.fall = self._recovered(state.fall, until - state.time)
            state.time = until
            return
        now = piece(one, state, opened.set, self._locked_until < math.inf)
        whole = until - state.time
        span, event = first_edge(one, state, now, min(now.motion.reach, whole))
        if opened.by_volume:
            span, event = first_full(now, [draw.left for draw in opened.draws], span, event)
        self.tally.count(one, state, now, span, opened.draws, opened.watches)
        state.time = until if span == whole else state.time + span
        state.pressure = value(now.motion.pressure, span)
        if one.area:
            state.fall = max(value(now.motion.fall, span), 0.0)
        self._happen(event)
        if state.mode == "tank":
            state.air = one.air / (state.pressure + one.atmosphere)

    def _recovered(self, fall: float, span: float) -> float:
        """The level after a rest: straight down to the edge of inflow, then exponential."""
        one = self.plant
        if not one.gain:
            return max(fall - one.most_inflow / one.area * span, 0.0)
        edge = inflow_edge(one)
        if fall > edge:
            needed = (fall - edge) * one.area / one.most_inflow
            if needed >= span:
                return fall - one.most_inflow / one.area * span
            fall, span = edge, span - needed
        return fall * math.exp(-one.gain / one.area * span)

    def _happen(self, event: Edge) -> None:
        """Put the state right on the edge that was reached, and do what follows from it."""
        kind, at = event
        state = self.state
        if kind in ("edge", "cut-in", "cut-out", "empty", "filled"):
            state.pressure = at
        elif kind in ("dry", "inflow"):
            state.fall = at
        elif kind == "full":
            self._openings.draws[int(at)].left = 0.0
        if kind == "filled":
            state.mode = "tank"
        elif kind == "dry":
            self.tally.dry_runs.append(state.time)
            self._locked_until = state.time + self.plant.dry_wait
            self._stop("dry")
        elif kind == "edge":
            self._note("")
        elif kind == "piece" and state.mode == "hold":
            state.mode = "tank"

    def _due(self) -> None:
        """Begin and end what is due now, and see to the switch."""
        now = self.state.time
        changed = self._openings.due(now)
        if changed:
            if self.state.mode == "empty":
                self.state.pressure = self.plant.precharge
            self.state.mode = "tank"
        if now >= self._locked_until:
            self._locked_until = math.inf
        self._switch()
        if changed:
            self._note("draw")

    # ---- pump

    def _net(self, pressure: float) -> float:
        """Growth of the tank's air at a pressure [m3/s]."""
        return drawn_at(self._openings.set, pressure) - pumped_at(self.plant, self.state, pressure)

    def _switch(self) -> None:
        one, state = self.plant, self.state
        dry = state.pressure <= one.precharge * (1.0 + _SAME)
        if state.mode == "tank" and dry and self._net(one.precharge) > 0.0:
            self._empty()
        if (
            not state.on
            and self._locked_until == math.inf
            and state.pressure <= one.cut_in + _SAME * one.cut_out
        ):
            self._start()
        if not state.on or state.mode != "tank" or state.pressure < one.cut_out * (1.0 - _SAME):
            return
        drawn = drawn_at(self._openings.set, one.cut_out)
        if one.control == "switch" or drawn < one.sleep:
            self._stop("stop")
        elif pumped_at(one, state, one.cut_out) >= drawn:
            state.mode = "hold"

    def _empty(self) -> None:
        """The tank has given all it held: what comes now is what the pump gives."""
        one, state = self.plant, self.state
        state.mode = "empty"
        state.air = one.volume
        if state.on:
            state.pressure = balance_pressure(one, state, self._openings.set)
        else:  # it collapses, to where the switch starts the pump if it may
            state.pressure = one.cut_in if self._locked_until == math.inf else 0.0
        if state.pressure < self.tally.lowest:
            self.tally.lowest, self.tally.lowest_at = state.pressure, state.time
        self._note("empty")

    def _start(self) -> None:
        state = self.state
        state.on = True
        self._started = state.time
        self.tally.starts.append(state.time)
        self.tally.events += 1
        if state.mode == "empty":
            state.mode, state.pressure = "tank", self.plant.precharge
            if self._net(state.pressure) > 0.0:
                self._empty()
        self._note("start")

    def _stop(self, why: str) -> None:
        state = self.state
        state.on = False
        self.tally.runs.append(state.time - self._started)
        self.tally.events += 1
        if state.mode == "hold":
            state.mode = "tank"
        elif state.mode == "empty":
            state.pressure = 0.0
        self._note(why)

    def _note(self, what: str) -> None:
        """Keep a line of the series, where that is asked for."""
        if self.tally.series is None or self.state.time > self._keep_until:
            return
        one, state = self.plant, self.state
        drawn = (
            drawn_at(self._openings.set, state.pressure)
            if state.on or state.mode == "tank"
            else 0.0
        )
        pumped = drawn if state.mode == "hold" else pumped_at(one, state, state.pressure)
        self.tally.series.append(
            Event(
                time=state.time,
                what=what,
                pressure=state.pressure,
                water=one.volume - one.air / (state.pressure + one.atmosphere)
                if state.mode != "empty"
                else 0.0,
                pump_on=state.on,
                pump_flow=pumped,
                drawn=drawn,
                fall=state.fall,
            )
        )
