"""How tank and well move up to the next event: the straight laws in force, and their first edge."""

from __future__ import annotations

import math
from itertools import zip_longest
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.questions.day.draw_curve import DrawCurve, Segment
from supplycalc.questions.day.pump_system import PumpSystem, WellPart, WellsOnALine
from supplycalc.questions.day.several_wells import (
    WellsAhead,
    edges_of_wells,
    empty_tank_sinks,
    levels_rest,
    pumped_by_all,
    standing,
    wells_ahead,
)
from supplycalc.supply.tank_motion import Motion, Rates, crossing, integral, stored, through, value
from supplycalc.units.quantities import Flow, Length, Pressure, Time, Volume

AT_REST = 1e-9
"""[m] A fall of the well's level below this is none."""
SLACK = 1e-15
"""Share of a pressure: nearer to an end of the supply curve's piece than this counts as on it."""
BALANCED = 1e-13
"""[m3/s] Flows nearer to each other than this are equal: 9 mm3 in a day."""
Edge = tuple[str, float]
"""What happens, and the pressure [Pa] or fall [m] at which it does."""
NO_ENDS = (-math.inf, math.inf)


class State(Struct):
    """Where the supply stands."""

    time: Time
    pressure: Pressure
    """At the tank."""
    air: Volume
    """In the tank."""
    fall: Length
    """Of the well's level below rest."""
    on: bool
    """Whether the pump runs."""
    mode: Literal["tank", "empty", "hold"]
    """What keeps the pressure: the tank; the pump alone; a constant-pressure pump's control."""
    falls: list[Length] = []
    """Of several wells' levels; `fall` is then 0."""
    running: list[bool] = []
    """Of several pumps, each."""


class Stretch(Struct, frozen=True):
    """Motion up to the next event, and the laws that it obeys."""

    motion: Motion
    segment: Segment | None
    """What the open outlets draw; None: nothing is open."""
    a: float
    """[m3/s] of pumped = a - b * back pressure"""
    b: float
    """[m3/s per Pa]"""
    curve_piece: int
    """Of the supply curve; -1 where the pump does not follow it."""
    edges: tuple[tuple[str, Edge], ...]
    """(down or up, what happens) for the pressure."""
    ends: tuple[float, float]
    """Of the supply curve's piece, as back pressures [Pa]."""
    wells: WellsAhead | None = None
    """Where there are several."""


def pumped_at(system: PumpSystem, state: State, pressure: Pressure) -> Flow:
    """What the pump gives at a pressure, by the supply curve."""
    if not state.on:
        return 0.0
    if system.wells is not None:
        return math.fsum(pumped_by_all(system.wells, pressure, state.falls, state.running))
    return system.supply_curve.flow_at(system.back_pressure(pressure, state.fall))


def balance_pressure(system: PumpSystem, state: State, curve: DrawCurve) -> Pressure:
    """Pressure at which the pump alone gives what the house draws, by bisection to rounding.

    Not above the precharge; below 0 where outlets lie below the gauge.
    """
    low, high = -system.atmosphere, system.precharge
    for _ in range(100):
        middle = 0.5 * (low + high)
        if curve.flow_at(middle) > pumped_at(system, state, middle):
            high = middle
        else:
            low = middle
        if high - low < 1e-9:
            break
    return 0.5 * (low + high)


def stretch_ahead(system: PumpSystem, state: State, curve: DrawCurve, locked: bool) -> Stretch:
    """The motion that lies ahead of a state."""
    if system.wells is not None:
        return _several_ahead(system, system.wells, state, curve, locked)
    pressure = state.pressure
    if state.mode == "tank" and _at_rest(system, state, curve):
        return _resting(system, state, curve)
    falling = _pressure_falls(system, state, curve)
    rungs = curve.segment_at(pressure, falling=falling)
    segment = rungs if curve.active else None
    curve_piece, a, b = -1, 0.0, 0.0
    ends = NO_ENDS
    if state.on:
        back = system.back_pressure(pressure, state.fall)
        way = 1.0 if _back_pressure_rises(system, state, curve) else -1.0
        curve_piece = system.supply_curve.piece_at(back + SLACK * (abs(back) + 1e3) * way)
        a, b = system.supply_curve.coefficients(curve_piece)
        ends = system.supply_curve.ends(curve_piece)
    # a pump that holds a pressure gives what is drawn, not what it could
    held = state.mode == "hold"
    pumped = curve.flow_at(pressure) if held else pumped_at(system, state, pressure)
    i0, i1 = system.inflow(state.fall, pumped)
    area = system.casing_area
    if area and not system.specific_capacity and state.fall <= AT_REST:
        recovery = system.recovery
        turning = falling and pumped >= recovery * (1.0 - 1e-9)
        if pumped <= recovery and not turning:
            area = 0.0  # more comes in than is pumped: the level stays until that turns
            if state.on:
                ends = (max(ends[0], system.supply_curve.pressure_at(recovery)), ends[1])
        else:
            i0 = recovery
    c, d = segment.total if segment is not None else (0.0, 0.0)
    low: Edge = ("edge", rungs.low)
    high: Edge = ("edge", rungs.high)
    if state.on and not area:
        low = max(low, ("edge", ends[0]), key=_level)
        high = min(high, ("edge", ends[1]), key=_level)
    if state.mode == "hold":
        a, b = c + d * pressure, 0.0
        motion = through(state.fall, (pressure, 0.0), Rates(a, 0.0, 0.0, 0.0, 0.0, i0, i1, area))
        strongest = system.supply_curve.pressure_at(a)
        return Stretch(motion, segment, a, b, -1, (), (-math.inf, strongest))
    if state.mode == "empty":
        if not state.on:
            motion = through(state.fall, (0.0, 0.0), Rates(0.0, 0.0, 0.0, 0.0, 0.0, i0, i1, area))
            return Stretch(motion, _dry(segment), 0.0, 0.0, -1, (), NO_ENDS)
        second = -b * system.specific_weight / (b + d) if b + d > 0.0 else 0.0
        first = pressure - second * state.fall
        rates = Rates(c + d * first, d * second, 0.0, 0.0, 0.0, i0, i1, area)
        motion = through(state.fall, (first, second), rates)
        full: Edge = ("filled", system.precharge)
        high = min(high, full, key=_level)
        return Stretch(motion, segment, a, b, curve_piece, (("down", low), ("up", high)), ends)
    if state.on and system.cut_out <= high[1]:
        high = ("cut-out", system.cut_out)
    elif not state.on and not locked and system.cut_in >= low[1]:
        low = ("cut-in", system.cut_in)
    if system.precharge >= low[1]:
        low = ("empty", system.precharge)
    rates = Rates(a, b, c, d, system.specific_weight, i0, i1, area)
    motion = stored(pressure, state.fall, system.air_constant, system.atmosphere, rates)
    return Stretch(motion, segment, a, b, curve_piece, (("down", low), ("up", high)), ends)


def _several_ahead(
    system: PumpSystem, parts: WellsOnALine, state: State, curve: DrawCurve, locked: bool
) -> Stretch:
    """The same of several wells on one tank."""
    pressure, falls, running = state.pressure, state.falls, state.running
    flows = pumped_by_all(parts, pressure, falls, running)
    pumped, drawn = math.fsum(flows), curve.flow_at(pressure)
    still = abs(drawn - pumped) <= BALANCED and levels_rest(parts, falls, flows, BALANCED)
    if state.mode == "tank" and still:
        wells = standing(parts, pressure, falls, running)
        segment = curve.segment_at(pressure) if curve.active else None
        segment = segment if state.on else _dry(segment)
        motion = Motion(wells.pressure, [0.0], math.inf)
        return Stretch(motion, segment, pumped, 0.0, -1, (), NO_ENDS, wells)
    if state.mode == "empty" and not state.on:
        segment = _dry(curve.segment_at(pressure) if curve.active else None)
        wells = wells_ahead(parts, 0.0, None, (0.0, 0.0), falls, running)
        return Stretch(Motion([0.0], [0.0], wells.reach), segment, 0.0, 0.0, -1, (), NO_ENDS, wells)
    stores = state.mode == "tank"
    falling = drawn > pumped if stores else empty_tank_sinks(parts, pressure, falls, running)
    rungs = curve.segment_at(pressure, falling=falling)
    segment = rungs if curve.active else None
    total = segment.total if segment is not None else (0.0, 0.0)
    air = state.air if stores else None
    wells = wells_ahead(parts, pressure, air, total, falls, running)
    low: Edge = ("edge", rungs.low)
    high: Edge = ("edge", rungs.high)
    if not stores:
        high = min(high, ("filled", system.precharge), key=_level)
    elif state.on and system.cut_out <= high[1]:
        high = ("cut-out", system.cut_out)
    elif not state.on and not locked and system.cut_in >= low[1]:
        low = ("cut-in", system.cut_in)
    if stores and system.precharge >= low[1]:
        low = ("empty", system.precharge)
    motion = Motion(wells.pressure, [0.0], wells.reach)
    edges = (("down", low), ("up", high))
    return Stretch(motion, segment, 0.0, 0.0, -1, edges, NO_ENDS, wells)


def _at_rest(system: PumpSystem, state: State, curve: DrawCurve) -> bool:
    """Whether what is pumped, drawn and flowing in are the same: then nothing moves any more."""
    pumped = pumped_at(system, state, state.pressure)
    if abs(curve.flow_at(state.pressure) - pumped) > BALANCED:
        return False
    i0, i1 = system.inflow(state.fall, pumped)
    return not system.casing_area or abs(pumped - i0 - i1 * state.fall) <= BALANCED


def _resting(system: PumpSystem, state: State, curve: DrawCurve) -> Stretch:
    """Nothing moves until a draw begins or ends: the pump gives just what is drawn."""
    drawn = curve.flow_at(state.pressure)
    segment = curve.segment_at(state.pressure) if curve.active else None
    back = system.back_pressure(state.pressure, state.fall)
    curve_piece = system.supply_curve.piece_at(back) if state.on else -1
    motion = Motion([state.pressure], [state.fall], math.inf)
    segment = segment if state.on else _dry(segment)
    return Stretch(motion, segment, drawn, 0.0, curve_piece, (), NO_ENDS)


def _pressure_falls(system: PumpSystem, state: State, curve: DrawCurve) -> bool:
    """Whether the pressure at the tank is about to fall."""
    if state.mode == "hold":
        return False
    pumped = pumped_at(system, state, state.pressure)
    if state.mode == "tank":
        return curve.flow_at(state.pressure) > pumped
    # an empty tank's pressure falls with the well's level
    i0, i1 = system.inflow(state.fall, pumped)
    return pumped > i0 + i1 * state.fall


def _back_pressure_rises(system: PumpSystem, state: State, curve: DrawCurve) -> bool:
    """Whether the back pressure, which decides what is pumped, is about to rise."""
    pumped = pumped_at(system, state, state.pressure)
    rate = 0.0
    if state.mode == "tank":
        growth = curve.flow_at(state.pressure) - pumped
        rate = -(state.pressure + system.atmosphere) * growth / state.air
    if system.casing_area:
        i0, i1 = system.inflow(state.fall, pumped)
        rate += system.specific_weight * (pumped - i0 - i1 * state.fall) / system.casing_area
    return rate >= 0.0


def _level(edge: Edge) -> float:
    return edge[1]


def _dry(segment: Segment | None) -> Segment | None:
    """Nothing comes out any more."""
    if segment is None:
        return None
    still = (0.0, 0.0)
    return replace(segment, total=still, flow=tuple(still for _ in segment.flow), far=still)


def first_edge(system: PumpSystem, state: State, stretch: Stretch, span: Time) -> tuple[Time, Edge]:
    """The first edge that is passed within a span, by the roots of the series.

    Returns:
        (time into the stretch, what happens); the span itself and nothing where none is passed.
    """
    motion = stretch.motion
    event: Edge = ("", 0.0)
    for way, edge in stretch.edges:
        at_end = value(motion.pressure, span)
        if (at_end > edge[1]) if way == "up" else (at_end < edge[1]):
            span, event = crossing(motion.pressure, edge[1], span), edge
    if stretch.wells is not None and system.wells is not None:
        for series, least, most, edge in edges_of_wells(system.wells, stretch.wells, state.running):
            at_end = value(series, span)
            if at_end < least or at_end > most:
                span, event = crossing(series, least if at_end < least else most, span), edge
        return span, event
    if not system.casing_area:
        return span, event
    if state.on:
        back = [
            system.back_pressure(pressure, fall)
            for pressure, fall in zip_longest(motion.pressure, motion.fall, fillvalue=0.0)
        ]
        at_end = value(back, span)
        if at_end < stretch.ends[0] or at_end > stretch.ends[1]:
            end = stretch.ends[0] if at_end < stretch.ends[0] else stretch.ends[1]
            span, event = crossing(back, end, span), ("piece", end)
        if value(motion.fall, span) > system.dry_fall:
            span = crossing(motion.fall, system.dry_fall, span)
            event = ("dry", system.dry_fall)
    level = system.inflow_edge
    before, after = state.fall - level, value(motion.fall, span) - level
    if before * after < 0.0 and abs(before) > AT_REST:
        span, event = crossing(motion.fall, level, span), ("inflow", level)
    return span, event


def first_full(stretch: Stretch, left: list[Volume], span: Time, event: Edge) -> tuple[Time, Edge]:
    """The first draw that has its volume within a span, by the roots of the series' integral.

    Returns:
        (time into the stretch, what happens, with the draw's number for "full").
    """
    if stretch.segment is None:
        return span, event
    pressure = stretch.motion.pressure
    for number, volume in enumerate(left):
        if volume == math.inf:
            continue
        first, second = stretch.segment.flow[number]
        if first * span + second * integral(pressure, span) < volume:
            continue
        drawn = [0.0, *(second * term / (n + 1) for n, term in enumerate(pressure))]
        drawn[1] += first
        span, event = crossing(drawn, volume, span), ("full", float(number))
    return span, event


def recovered(system: WellPart, fall: Length, span: Time) -> Length:
    """The level after a rest: straight up to the edge of inflow, then exponential."""
    area, capacity, recovery = system.casing_area, system.specific_capacity, system.recovery
    if not capacity:
        return max(fall - recovery / area * span, 0.0)
    edge = system.inflow_edge
    if fall > edge:
        needed = (fall - edge) * area / recovery
        if needed >= span:
            return fall - recovery / area * span
        fall, span = edge, span - needed
    return fall * math.exp(-capacity / area * span)
