"""One piece of motion: the straight laws in force, and the first edge at which they end."""

from __future__ import annotations

import math
from itertools import zip_longest

from msgspec import Struct

from supplycalc.questions.day.laws import RUNG, Cell, OpenSet
from supplycalc.questions.day.plant import Plant
from supplycalc.supply.tank_motion import Motion, Rates, crossing, integral, stored, through, value

EDGE = 1e-12
"""[-] of a rung: nearer than this counts as on it."""
SLACK = 1e-15
"""[-] of a pressure: nearer to an end of the supply curve's piece than this counts as on it."""
BALANCED = 1e-13
"""[m3/s] Flows nearer to each other than this are equal: 9 mm3 in a day."""
Edge = tuple[str, float]
"""What happens, and the pressure [Pa] or fall [m] at which it does."""


class State(Struct):
    """Where the supply stands."""

    time: float
    """[s]"""
    pressure: float
    """At the tank [Pa gauge]."""
    air: float
    """In the tank [m3]."""
    fall: float
    """Of the well's level [m]."""
    on: bool
    """Whether the pump runs."""
    mode: str
    """ "tank", "empty", or "hold" where a constant-pressure pump regulates."""


class Piece(Struct, frozen=True):
    """Motion and the laws that it obeys."""

    motion: Motion
    cell: Cell | None
    """What the open outlets draw; None: nothing is open."""
    a: float
    """[m3/s] of pumped = a - b (pressure + weight * fall)"""
    b: float
    """[m3/s per Pa]"""
    curve_piece: int
    edges: tuple[tuple[str, Edge], ...]
    """(rising or falling, what happens) for the pressure."""
    ends: tuple[float, float]
    """Of the supply curve's piece, as pressure + weight * fall [Pa]."""


def drawn_at(opened: OpenSet, pressure: float) -> float:
    """What the open outlets draw.

    Args:
        opened: the set of open outlets.
        pressure: at the tank [Pa gauge].

    Returns:
        Flow [m3/s].

    Source: straight between two rungs of the solver.
    """
    if not opened.uses:
        return 0.0
    first, second = opened.cell(math.floor(pressure / RUNG)).total
    return first + second * pressure


def pumped_at(one: Plant, state: State, pressure: float) -> float:
    """What the pump gives at a pressure.

    Args:
        one: the plant.
        state: for pump and level.
        pressure: at the tank [Pa gauge].

    Returns:
        Flow [m3/s].

    Source: the supply curve.
    """
    return one.supply_curve.flow_at(pressure + one.weight * state.fall) if state.on else 0.0


def balance_pressure(one: Plant, state: State, opened: OpenSet) -> float:
    """Pressure at which the pump alone gives what the house draws.

    Args:
        one: the plant.
        state: for pump and level.
        opened: the set of open outlets.

    Returns:
        Pressure [Pa gauge], not above the precharge; below 0 where outlets lie below the gauge.

    How: bisection to rounding.
    """
    low, high = -one.atmosphere, one.precharge
    for _ in range(100):
        middle = 0.5 * (low + high)
        if drawn_at(opened, middle) > pumped_at(one, state, middle):
            high = middle
        else:
            low = middle
        if high - low < 1e-9:
            break
    return 0.5 * (low + high)


def inflow(one: Plant, fall: float, pumped: float) -> tuple[float, float]:
    """How water comes into the well, where two rules meet by which way the level is going.

    Args:
        one: the plant.
        fall: of the level [m].
        pumped: out of the well [m3/s].

    Returns:
        (i0 [m3/s], i1 [m3/s per m]) of inflow = i0 + i1 * fall.

    Source: specific capacity times fall, at most the recovery.
    """
    if not one.area:
        return 0.0, 0.0
    if one.gain:
        over = one.gain * fall - one.most_inflow
        at_edge = abs(over) <= 1e-12 * one.most_inflow
        if (over > 0.0 and not at_edge) or (at_edge and pumped > one.most_inflow):
            return one.most_inflow, 0.0
        return 0.0, one.gain
    return one.most_inflow if fall > 0.0 else min(pumped, one.most_inflow), 0.0


def inflow_edge(one: Plant) -> float:
    """Fall at which the other rule of inflow begins.

    Args:
        one: the plant.

    Returns:
        Fall [m].

    Source: as `inflow`.
    """
    return one.most_inflow / one.gain if one.gain else 0.0


def piece(one: Plant, state: State, opened: OpenSet, locked: bool) -> Piece:
    """The piece of motion that lies ahead of a state.

    Args:
        one: the plant.
        state: now.
        opened: the set of open outlets.
        locked: whether the pump must not start.

    Returns:
        The piece.
    """
    pressure = state.pressure
    if state.mode == "tank" and _at_rest(one, state, opened):
        return _resting(one, state, opened)
    falling = _pressure_falls(one, state, opened)
    place = pressure / RUNG
    nearest = round(place)
    number = math.floor(place)
    if abs(place - nearest) < EDGE:
        number = nearest - 1 if falling else nearest
    cell = opened.cell(number) if opened.uses else None
    curve_piece, a, b = -1, 0.0, 0.0
    ends = (-math.inf, math.inf)
    if state.on:
        y = pressure + one.weight * state.fall
        slack = SLACK * (abs(y) + 1e3) * (1.0 if _back_pressure_rises(one, state, opened) else -1.0)
        curve_piece = one.supply_curve.piece_at(y + slack)
        a, b = one.supply_curve.coefficients(curve_piece)
        ends = one.supply_curve.ends(curve_piece)
    i0, i1 = inflow(one, state.fall, pumped_at(one, state, pressure))
    area = one.area
    if area and not one.gain and state.fall <= 0.0:
        pumped, most = pumped_at(one, state, pressure), one.most_inflow
        turning = falling and pumped >= most * (1.0 - 1e-9)
        if pumped <= most and not turning:
            area = 0.0  # more comes in than is pumped: the level stays until that turns
            if state.on:
                ends = (max(ends[0], one.supply_curve.pressure_at(most)), ends[1])
        else:
            i0 = most
    c, d = cell.total if cell is not None else (0.0, 0.0)
    low: Edge = ("edge", number * RUNG)
    high: Edge = ("edge", (number + 1) * RUNG)
    if state.on and not area:
        low = max(low, ("edge", ends[0]), key=_level)
        high = min(high, ("edge", ends[1]), key=_level)
    if state.mode == "hold":
        a, b = c + d * pressure, 0.0
        motion = through(state.fall, (pressure, 0.0), Rates(a, 0.0, 0.0, 0.0, 0.0, i0, i1, area))
        strongest = one.supply_curve.pressure_at(a)
        return Piece(motion, cell, a, b, -1, (), (-math.inf, strongest))
    if state.mode == "empty":
        if not state.on:
            motion = through(state.fall, (0.0, 0.0), Rates(0.0, 0.0, 0.0, 0.0, 0.0, i0, i1, area))
            return Piece(motion, _dry(cell), 0.0, 0.0, -1, (), (-math.inf, math.inf))
        second = -b * one.weight / (b + d) if b + d > 0.0 else 0.0
        first = pressure - second * state.fall
        rates = Rates(c + d * first, d * second, 0.0, 0.0, 0.0, i0, i1, area)
        motion = through(state.fall, (first, second), rates)
        full: Edge = ("filled", one.precharge)
        high = min(high, full, key=_level)
        return Piece(motion, cell, a, b, curve_piece, (("down", low), ("up", high)), ends)
    if state.on and one.cut_out <= high[1]:
        high = ("cut-out", one.cut_out)
    elif not state.on and not locked and one.cut_in >= low[1]:
        low = ("cut-in", one.cut_in)
    if one.precharge >= low[1]:
        low = ("empty", one.precharge)
    rates = Rates(a, b, c, d, one.weight, i0, i1, area)
    motion = stored(pressure, state.fall, one.air, one.atmosphere, rates)
    return Piece(motion, cell, a, b, curve_piece, (("down", low), ("up", high)), ends)


def _at_rest(one: Plant, state: State, opened: OpenSet) -> bool:
    """Whether what is pumped, drawn and flowing in are the same: then nothing moves any more."""
    pumped = pumped_at(one, state, state.pressure)
    if abs(drawn_at(opened, state.pressure) - pumped) > BALANCED:
        return False
    i0, i1 = inflow(one, state.fall, pumped)
    return not one.area or abs(pumped - i0 - i1 * state.fall) <= BALANCED


def _resting(one: Plant, state: State, opened: OpenSet) -> Piece:
    """Nothing moves until a draw begins or ends: the pump gives just what is drawn."""
    drawn = drawn_at(opened, state.pressure)
    cell = opened.cell(math.floor(state.pressure / RUNG)) if opened.uses else None
    y = state.pressure + one.weight * state.fall
    number = one.supply_curve.piece_at(y) if state.on else -1
    motion = Motion([state.pressure], [state.fall], math.inf)
    cell = cell if state.on else _dry(cell)
    return Piece(motion, cell, drawn, 0.0, number, (), (-math.inf, math.inf))


def _pressure_falls(one: Plant, state: State, opened: OpenSet) -> bool:
    """Whether the pressure at the tank is about to fall."""
    pumped = pumped_at(one, state, state.pressure)
    if state.mode == "tank":
        return drawn_at(opened, state.pressure) > pumped
    i0, i1 = inflow(one, state.fall, pumped)  # an empty tank's pressure falls with the well's level
    return pumped > i0 + i1 * state.fall


def _back_pressure_rises(one: Plant, state: State, opened: OpenSet) -> bool:
    """Whether pressure + weight * fall, which decides what is pumped, is about to rise."""
    pumped = pumped_at(one, state, state.pressure)
    rate = 0.0
    if state.mode == "tank":
        growth = drawn_at(opened, state.pressure) - pumped
        rate = -(state.pressure + one.atmosphere) * growth / state.air
    if one.area:
        i0, i1 = inflow(one, state.fall, pumped)
        rate += one.weight * (pumped - i0 - i1 * state.fall) / one.area
    return rate >= 0.0


def _level(edge: Edge) -> float:
    return edge[1]


def _dry(cell: Cell | None) -> Cell | None:
    """Nothing comes out any more."""
    if cell is None:
        return None
    return Cell((0.0, 0.0), tuple((0.0, 0.0) for _ in cell.flow), cell.pressure)


def first_edge(one: Plant, state: State, now: Piece, span: float) -> tuple[float, Edge]:
    """The first edge that is passed within a span.

    Args:
        one: the plant.
        state: at the piece's start.
        now: the piece.
        span: the longest that is asked for [s].

    Returns:
        (time into the piece [s], what happens); the span itself and nothing where none is passed.

    Source: roots of the series.
    """
    motion = now.motion
    found: Edge = ("", 0.0)
    for way, edge in now.edges:
        at_end = value(motion.pressure, span)
        if (at_end > edge[1]) if way == "up" else (at_end < edge[1]):
            span, found = crossing(motion.pressure, edge[1], span), edge
    if not one.area:
        return span, found
    if state.on:
        y = [
            p + one.weight * f for p, f in zip_longest(motion.pressure, motion.fall, fillvalue=0.0)
        ]
        at_end = value(y, span)
        if at_end < now.ends[0] or at_end > now.ends[1]:
            edge_at = now.ends[0] if at_end < now.ends[0] else now.ends[1]
            span, found = crossing(y, edge_at, span), ("piece", edge_at)
        if value(motion.fall, span) > one.dry:
            span, found = crossing(motion.fall, one.dry, span), ("dry", one.dry)
    level = inflow_edge(one)
    before, after = state.fall - level, value(motion.fall, span) - level
    if before * after < 0.0 and abs(before) > 1e-9:
        span, found = crossing(motion.fall, level, span), ("inflow", level)
    return span, found


def first_full(now: Piece, left: list[float], span: float, found: Edge) -> tuple[float, Edge]:
    """The first draw that has its volume within a span.

    Args:
        now: the piece.
        left: what each open outlet still draws, inf where time ends it [m3].
        span: up to the first edge [s].
        found: what happens there.

    Returns:
        (time into the piece [s], what happens, with the draw's number for "full").

    Source: roots of the series' integral.
    """
    if now.cell is None:
        return span, found
    for i, amount in enumerate(left):
        if amount == math.inf:
            continue
        first, second = now.cell.flow[i]
        if first * span + second * integral(now.motion.pressure, span) < amount:
            continue
        series = [0.0, *(second * term / (n + 1) for n, term in enumerate(now.motion.pressure))]
        series[1] += first
        span, found = crossing(series, amount, span), ("full", float(i))
    return span, found
