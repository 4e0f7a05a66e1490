"""What is counted while a day runs."""

from __future__ import annotations

import math

from msgspec import Struct, field

from supplycalc.network import Outlet
from supplycalc.questions.day.piece import Piece, State
from supplycalc.questions.day.plant import Plant
from supplycalc.supply.tank_motion import Motion, crossing, integral, value

# Gauss-Legendre with three points on (0, 1); M. Abramowitz and I. A. Stegun, table 25.4
GAUSS = ((0.5 - math.sqrt(0.15), 5 / 18), (0.5, 8 / 18), (0.5 + math.sqrt(0.15), 5 / 18))


class OpenDraw:
    """A draw that is running."""

    __slots__ = ("end", "fixture", "left", "number")

    def __init__(self, number: int, fixture: str, end: float, left: float) -> None:
        self.number, self.fixture = number, fixture
        self.end = end
        """[s]; inf where a volume ends it"""
        self.left = left
        """[m3]; inf where time ends it"""


class Watch(Struct):
    """A connection of a fixture, followed while it runs."""

    outlet: Outlet
    lowest: float = math.inf
    """[Pa gauge]"""
    lowest_at: float = 0.0
    """[s]"""
    lowest_source: float = 0.0
    """Pressure at the source then [Pa gauge]."""
    lowest_open: tuple[int, ...] = ()
    """Numbers of the uses that ran then."""
    running: float = 0.0
    """[s]"""
    below: float = 0.0
    """Below what it requires [s]."""


class Event(Struct, frozen=True):
    """One line of the series."""

    time: float
    """[s]"""
    what: str
    """Empty: no event, only a point on the way."""
    pressure: float
    """At the source [Pa gauge]."""
    water: float
    """In the tank [m3]."""
    pump_on: bool
    pump_flow: float
    """[m3/s]"""
    drawn: float
    """[m3/s]"""
    fall: float
    """Of the well's level [m]."""


class Tally(Struct):
    """Sums over a run."""

    drawn: float = 0.0
    """[m3]"""
    pumped: float = 0.0
    """[m3]"""
    run_time: float = 0.0
    """[s]"""
    work: float = 0.0
    """Head times flow over time [m4]; times the water's weight it is the work done on water [J]."""
    starts: list[float] = field(default_factory=list)
    """Times at which the pump started [s]."""
    runs: list[float] = field(default_factory=list)
    """Length of every finished run [s]."""
    dry_runs: list[float] = field(default_factory=list)
    """Times at which the pump ran dry [s]."""
    empty: float = 0.0
    """Time with no water left in the tank [s]."""
    lowest: float = math.inf
    """Pressure at the source [Pa gauge]."""
    lowest_at: float = 0.0
    highest: float = -math.inf
    deepest: float = 0.0
    """Fall of the well's level [m]."""
    inflow: float = 0.0
    """Into the well's bore [m3], where its level is a state."""
    draws: int = 0
    events: int = 0
    """Draws begun and ended, starts and stops."""
    steps: int = 0
    """Pieces of motion."""
    used: dict[str, float] = field(default_factory=dict)
    """Fixture's name -> water [m3]."""
    watches: dict[str, Watch] = field(default_factory=dict)
    """Connection's name -> what happened there."""
    series: list[Event] | None = None
    """Every event, where it is kept."""

    def count(
        self,
        one: Plant,
        state: State,
        now: Piece,
        span: float,
        draws: list[OpenDraw],
        watches: tuple[Watch, ...],
    ) -> None:
        """Add a span of a piece.

        Args:
            one: the plant.
            state: at its start.
            now: the piece.
            span: [s].
            draws: what is open, in the order of the piece's cell.
            watches: their connections, likewise.
        """
        motion = now.motion
        start, end = state.pressure, value(motion.pressure, span)
        under = integral(motion.pressure, span)
        if now.cell is not None:
            for draw, (first, second) in zip(draws, now.cell.flow, strict=True):
                amount = first * span + second * under
                self.drawn += amount
                self.used[draw.fixture] = self.used.get(draw.fixture, 0.0) + amount
                draw.left -= amount
            self._watch(state.time, now, span, (start, end), draws, watches)
        if state.on:
            self._pump(one, state, now, span, under)
        low, high, later = (start, end, 0.0) if start < end else (end, start, span)
        if low < self.lowest:
            self.lowest, self.lowest_at = low, state.time + later
        self.highest = max(self.highest, high)
        if one.area:
            self.deepest = max(self.deepest, value(motion.fall, span))
        if state.mode == "empty":
            self.empty += span

    def _pump(self, one: Plant, state: State, now: Piece, span: float, under: float) -> None:
        motion, weight = now.motion, one.weight
        under_fall = integral(motion.fall, span) if one.area else 0.0
        self.pumped += now.a * span - now.b * (under + weight * under_fall)
        self.run_time += span
        if state.mode == "hold":
            head = one.total_head(now.a, state.pressure, under_fall / span if span else state.fall)
            self.work += now.a * head * span
        elif now.curve_piece >= 0:
            first, second = one.head[now.curve_piece]
            for place, share in GAUSS:
                t = place * span
                y = value(motion.pressure, t)
                if one.area:
                    y += weight * value(motion.fall, t)
                flow = now.a - now.b * y
                self.work += share * span * flow * (first + second * flow)

    def _watch(
        self,
        time: float,
        now: Piece,
        span: float,
        ends: tuple[float, float],
        draws: list[OpenDraw],
        watches: tuple[Watch, ...],
    ) -> None:
        assert now.cell is not None
        low, later = (ends[0], 0.0) if ends[0] <= ends[1] else (ends[1], span)
        for watch, (first, second) in zip(watches, now.cell.pressure, strict=True):
            watch.running += span
            there = first + second * low
            if there < watch.lowest:
                watch.lowest, watch.lowest_at = there, time + later
                watch.lowest_source = low
                watch.lowest_open = tuple(one.number for one in draws)
            required = watch.outlet.required_pressure
            if there < required:
                watch.below += _below(required, (first, second), ends, span, now.motion)


def _below(
    required: float,
    line: tuple[float, float],
    ends: tuple[float, float],
    span: float,
    motion: Motion,
) -> float:
    """Time of a span in which a connection has less than it requires [s]."""
    first, second = line
    if max(first + second * end for end in ends) <= required:
        return span
    passing = crossing(motion.pressure, (required - first) / second, span)
    return passing if ends[0] < ends[1] else span - passing
