"""Several wells on one tank in motion: each one's level a state of its own, exactly.

While every pump is on one straight piece of its supply curve, the line that they share on one piece
of its loss and the house on one piece of what it draws, the pressure where the lines meet is

    J = j0 + jp P + sum ji si          each pump gives  Qi = ai - bi (J + w si)

of the tank's pressure P and the falls si of the levels, and tank and levels move as in
`supply.tank_motion`: U' = D - sum Qi, Ai si' = Qi - Ii, by Taylor's series to rounding.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from operator import mul

from msgspec import Struct

from supplycalc.questions.day.pump_system import WellsOnALine
from supplycalc.supply.supply_curve import SupplyCurve
from supplycalc.supply.tank_motion import ORDER, reach_of, value
from supplycalc.units.quantities import Flow, Length, Pressure, Time

AT_REST = 1e-9
"""[m] A fall of a well's level below this is none."""
NEARLY = 1.0 - 1e-9
"""Share of the recovery from which on a pump that gives more and more draws the level down."""
SLACK = 1e-13
"""Share of a pressure or flow: nearer to an end of a piece than this counts as on it."""
MOST_PIECES = 20
"""Steps from piece to piece after which the pressure where lines meet is sought by halving."""
Edge = tuple[str, float]


class WellsAhead(Struct, frozen=True):
    """How the wells move up to the next event."""

    falls: tuple[list[float], ...]
    """Series of each level's fall [m]."""
    flows: tuple[list[float], ...]
    """Of what each pump gives [m3/s]."""
    back: tuple[list[float], ...]
    """Of what each pump works against [Pa]."""
    ends: tuple[tuple[Pressure, Pressure], ...]
    """Of each pump's piece, as what it works against."""
    pieces: tuple[int, ...]
    """Of each pump's curve; -1 of one that stands or is shut off."""
    shared_ends: tuple[Flow, Flow]
    """Of the shared line's piece."""
    pressure: list[float]
    """At the tank [Pa gauge]."""
    reach: Time


class Cell(Struct, frozen=True):
    """The straight laws in force."""

    a: tuple[float, ...]
    b: tuple[float, ...]
    joint: tuple[float, float, tuple[float, ...]]
    """(j0 [Pa], jp, ji [Pa/m]) of the pressure where the lines meet."""
    pieces: tuple[int, ...]
    shared_ends: tuple[Flow, Flow]

    def joint_at(self, pressure: float, falls: Sequence[float]) -> float:
        """The pressure where the lines meet [Pa]."""
        first, of_tank, of_falls = self.joint
        return first + of_tank * pressure + math.fsum(map(mul, of_falls, falls))

    def flows(self, pressure: float, falls: Sequence[float], weight: float) -> list[float]:
        """What each pump gives [m3/s]."""
        joint = self.joint_at(pressure, falls)
        return [
            a - b * (joint + weight * fall)
            for a, b, fall in zip(self.a, self.b, falls, strict=True)
        ]


def joint_pressure(
    wells: WellsOnALine, pressure: Pressure, falls: Sequence[Length], running: Sequence[bool]
) -> Pressure:
    """Pressure where the lines meet: it rises with the tank's and with what the pumps give, which
    falls with it. From piece to piece where that settles, else by halving."""
    low = joint = pressure + wells.rise
    if wells.shared is None or not any(running):
        return low
    for _ in range(MOST_PIECES):
        found = _cell(wells, joint, falls, running, None).joint_at(pressure, falls)
        if abs(found - joint) <= SLACK * (abs(found) + 1e3):
            return found
        joint = found
    high = max(
        part.supply_curve.pressure[0] - wells.specific_weight * fall
        for part, fall, runs in zip(wells.parts, falls, running, strict=True)
        if runs
    )
    while low < (middle := 0.5 * (low + high)) < high:
        lost = -wells.shared.pressure_at(math.fsum(_given(wells, middle, falls, running)))
        if pressure + wells.rise + lost > middle:
            low = middle
        else:
            high = middle
    return low


def _given(
    wells: WellsOnALine, joint: Pressure, falls: Sequence[Length], running: Sequence[bool]
) -> list[Flow]:
    return [
        part.supply_curve.flow_at(joint + wells.specific_weight * fall) if runs else 0.0
        for part, fall, runs in zip(wells.parts, falls, running, strict=True)
    ]


def pumped_by_all(
    wells: WellsOnALine, pressure: Pressure, falls: Sequence[Length], running: Sequence[bool]
) -> list[Flow]:
    """What each pump gives at a pressure at the tank."""
    return _given(wells, joint_pressure(wells, pressure, falls, running), falls, running)


def cell_at(
    wells: WellsOnALine,
    pressure: Pressure,
    falls: Sequence[Length],
    running: Sequence[bool],
    rates: tuple[Sequence[float], float] | None = None,
) -> Cell:
    """The laws at a state; on the end of a piece those of the side that `rates` leads to."""
    joint = joint_pressure(wells, pressure, falls, running)
    return _cell(wells, joint, falls, running, rates)


def _cell(
    wells: WellsOnALine,
    joint: Pressure,
    falls: Sequence[Length],
    running: Sequence[bool],
    rates: tuple[Sequence[float], float] | None,
) -> Cell:
    """The laws on the pieces at a pressure where the lines meet."""
    weight = wells.specific_weight
    given = _given(wells, joint, falls, running)
    count = len(given)
    ways, way = ((0.0,) * count, 0.0) if rates is None else rates
    pieces, a, b = [], [], []
    for part, fall, runs, rate in zip(wells.parts, falls, running, ways, strict=True):
        back = joint + weight * fall
        side = math.copysign(SLACK * (abs(back) + 1e3), rate) if rate else 0.0
        piece = part.supply_curve.piece_at(back + side) if runs else -1
        first, second = part.supply_curve.coefficients(piece)
        pieces.append(piece)
        a.append(first)
        b.append(second)
    at_zero, slope, ends = _shared_piece(wells.shared, math.fsum(given), way)
    lever = 1.0 + slope * math.fsum(b)
    base = wells.rise + at_zero + slope * math.fsum(a)
    of_falls = tuple(-slope * each * weight / lever for each in b)
    return Cell(
        a=tuple(a),
        b=tuple(b),
        joint=(base / lever, 1.0 / lever, of_falls),
        pieces=tuple(pieces),
        shared_ends=ends,
    )


def _shared_piece(
    shared: SupplyCurve | None, flow: Flow, way: float
) -> tuple[float, float, tuple[Flow, Flow]]:
    """(loss at no flow [Pa], rise of the loss [Pa s/m3], flows between which it holds)."""
    if shared is None:
        return 0.0, 0.0, (-math.inf, math.inf)
    side = math.copysign(SLACK * (flow + 1e-3), way) if way else 0.0
    last = len(shared.flow) - 2
    i = min(max(bisect.bisect_right(shared.flow, flow + side) - 1, 0), last)
    low, high = shared.flow[i], shared.flow[i + 1]
    slope = (shared.pressure[i] - shared.pressure[i + 1]) / (high - low)
    slack = 2.0 * SLACK * (flow + 1e-3)
    ends = (low - slack if i else -math.inf, high + slack if i < last else math.inf)
    return -shared.pressure[i] - slope * low, slope, ends


def wells_ahead(
    wells: WellsOnALine,
    pressure: Pressure,
    air: float | None,
    drawn: tuple[float, float] | None,
    falls: Sequence[Length],
    running: Sequence[bool],
) -> WellsAhead:
    """The motion of tank and wells from a state on.

    Args:
        pressure: at the tank; where nothing is stored it follows from what is drawn.
        air: volume of the tank's air [m3]; None: the tank is empty, the pumps give what is drawn.
        drawn: (c [m3/s], d [m3/s per Pa]) of what the house draws, c + d P; None: the pressure
            stays, as at the inlet of an open tank.
    """
    cell = cell_at(wells, pressure, falls, running)
    flows = cell.flows(pressure, falls, wells.specific_weight)
    rates = _rates(wells, cell, pressure, air, drawn, falls, flows)
    cell = cell_at(wells, pressure, falls, running, rates)
    flows = cell.flows(pressure, falls, wells.specific_weight)
    return _series(wells, cell, pressure, air, drawn, falls, flows, rates[0])


def _water_in(
    wells: WellsOnALine,
    falls: Sequence[Length],
    flows: Sequence[Flow],
    back: Sequence[float] | None = None,
) -> list[tuple[float, float, float, Flow]]:
    """(area, i0, i1, most that is pumped while the level stands) of each well; no area where its
    level does not move by itself. `back`: how what each pump works against changes."""
    told = []
    for i, (part, fall, flow) in enumerate(zip(wells.parts, falls, flows, strict=True)):
        i0, i1 = part.inflow(fall, flow)
        area, most = part.casing_area, math.inf
        if area and not part.specific_capacity and fall <= AT_REST:
            turning = back is not None and back[i] < 0.0 and flow >= part.recovery * NEARLY
            if flow <= part.recovery and not turning:
                area, most = 0.0, part.recovery  # more comes in than is pumped: it stays full
            else:
                i0 = part.recovery
        told.append((area, i0, i1, most))
    return told


def _rates(
    wells: WellsOnALine,
    cell: Cell,
    pressure: Pressure,
    air: float | None,
    drawn: tuple[float, float] | None,
    falls: Sequence[Length],
    flows: Sequence[Flow],
) -> tuple[list[float], float]:
    """How what each pump works against changes, and what all give."""
    sinking = [
        (flow - i0 - i1 * fall) / area if area else 0.0
        for (area, i0, i1, _), flow, fall in zip(
            _water_in(wells, falls, flows), flows, falls, strict=True
        )
    ]
    _, of_tank, of_falls = cell.joint
    if drawn is None or air is None:
        rise = math.fsum(map(mul, _level_slopes(wells, cell, drawn)[1], sinking))
    else:
        growth = drawn[0] + drawn[1] * pressure - math.fsum(flows)
        rise = -(pressure + wells.atmosphere) * growth / air
    joint = of_tank * rise + math.fsum(map(mul, of_falls, sinking))
    back = [joint + wells.specific_weight * each for each in sinking]
    return back, -math.fsum(map(mul, cell.b, back))


def _level_slopes(
    wells: WellsOnALine, cell: Cell, drawn: tuple[float, float] | None
) -> tuple[float, tuple[float, ...]]:
    """(first [Pa], [Pa/m]) of the pressure at an empty tank over the falls of the levels."""
    first, of_tank, of_falls = cell.joint
    total = math.fsum(cell.b)
    if drawn is None:
        return 0.0, (0.0,) * len(cell.b)
    lever = drawn[1] + total * of_tank
    if lever <= 0.0:
        return 0.0, (0.0,) * len(cell.b)
    weight = wells.specific_weight
    slopes = tuple(
        -(b * weight + total * of_fall) / lever for b, of_fall in zip(cell.b, of_falls, strict=True)
    )
    return (math.fsum(cell.a) - total * first - drawn[0]) / lever, slopes


def _series(
    wells: WellsOnALine,
    cell: Cell,
    pressure: Pressure,
    air: float | None,
    drawn: tuple[float, float] | None,
    falls: Sequence[Length],
    flows: Sequence[Flow],
    rates: Sequence[float],
) -> WellsAhead:
    """The series of tank and levels on the pieces in force."""
    weight, count = wells.specific_weight, len(flows)
    water = _water_in(wells, falls, flows, rates)
    _, of_tank, of_falls = cell.joint
    slopes = _level_slopes(wells, cell, drawn)[1]
    s: list[list[float]] = [[fall] for fall in falls]
    q: list[list[float]] = [[flow] for flow in flows]
    joint = cell.joint_at(pressure, falls)
    back: list[list[float]] = [[joint + weight * fall] for fall in falls]
    p, u = [pressure + wells.atmosphere], [0.0]
    if air is not None and drawn is not None:
        u = [air, drawn[0] + drawn[1] * pressure - math.fsum(flows)]
    for i, (area, i0, i1, _) in enumerate(water):
        s[i].append((flows[i] - i0 - i1 * falls[i]) / area if area else 0.0)
    for n in range(1, ORDER):
        now = [each[n] for each in s]
        if air is None:
            p.append(math.fsum(map(mul, slopes, now)))
        else:
            p.append(-math.fsum(map(mul, u[1:], reversed(p))) / air)
        change = of_tank * p[n] + math.fsum(map(mul, of_falls, now))
        for i in range(count):
            back[i].append(change + weight * now[i])
            q[i].append(-cell.b[i] * back[i][n])
        if air is not None and drawn is not None:
            total = math.fsum(each[n] for each in q)
            u.append((drawn[1] * p[n] - total) / (n + 1))
        for i, (area, _, i1, _) in enumerate(water):
            s[i].append((q[i][n] - i1 * s[i][n]) / (area * (n + 1)) if area else 0.0)
    reach = min(reach_of(each, max(each[0], 1.0)) for each in s)
    reach = min(reach, reach_of(p, p[0]))
    if air is not None:
        reach = min(reach, reach_of(u, air))
    p[0] = pressure
    ends = []
    for part, piece, (_, _, _, most) in zip(wells.parts, cell.pieces, water, strict=True):
        low, high = part.supply_curve.ends(piece)
        if math.isfinite(most):
            low = max(low, part.supply_curve.pressure_at(most))
        # as far beyond as a state may lie on it: the laws of both sides are the same there
        slack = 2.0 * SLACK
        ends.append((low - slack * (abs(low) + 1e3), high + slack * (abs(high) + 1e3)))
    return WellsAhead(
        falls=tuple(s),
        flows=tuple(q),
        back=tuple(back),
        ends=tuple(ends),
        pieces=cell.pieces,
        shared_ends=cell.shared_ends,
        pressure=p,
        reach=reach,
    )


def edges_of_wells(
    wells: WellsOnALine, ahead: WellsAhead, running: Sequence[bool]
) -> list[tuple[list[float], float, float, Edge]]:
    """What ends the motion beside the tank: (series, low, high, what happens) of each edge."""
    edges: list[tuple[list[float], float, float, Edge]] = []
    for i, part in enumerate(wells.parts):
        if running[i]:
            edges.append((ahead.back[i], *ahead.ends[i], ("piece", 0.0)))
            if part.casing_area:
                edges.append(
                    (ahead.falls[i], -math.inf, part.dry_fall, (f"dry {i}", part.dry_fall))
                )
        level = part.inflow_edge
        if part.casing_area and math.isfinite(level):
            start = ahead.falls[i][0]
            if start < level - AT_REST:
                edges.append((ahead.falls[i], -math.inf, level, (f"inflow {i}", level)))
            elif start > level + AT_REST:
                edges.append((ahead.falls[i], level, math.inf, (f"inflow {i}", level)))
    if wells.shared is not None:
        total = [math.fsum(terms) for terms in zip(*ahead.flows, strict=True)]
        edges.append((total, *ahead.shared_ends, ("piece", 0.0)))
    return edges


def levels_rest(
    wells: WellsOnALine, falls: Sequence[Length], flows: Sequence[Flow], slack: Flow
) -> bool:
    """Whether no level moves any more."""
    return all(
        not area or abs(flow - i0 - i1 * fall) <= slack
        for (area, i0, i1, _), flow, fall in zip(
            _water_in(wells, falls, flows), flows, falls, strict=True
        )
    )


def standing(
    wells: WellsOnALine, pressure: Pressure, falls: Sequence[Length], running: Sequence[bool]
) -> WellsAhead:
    """Nothing moves until a draw begins or ends."""
    cell = cell_at(wells, pressure, falls, running)
    flows = cell.flows(pressure, falls, wells.specific_weight)
    joint = cell.joint_at(pressure, falls)
    wide = (-math.inf, math.inf)
    return WellsAhead(
        falls=tuple([fall] for fall in falls),
        flows=tuple([flow] for flow in flows),
        back=tuple([joint + wells.specific_weight * fall] for fall in falls),
        ends=(wide,) * len(flows),
        pieces=cell.pieces,
        shared_ends=wide,
        pressure=[pressure],
        reach=math.inf,
    )


def empty_tank_sinks(
    wells: WellsOnALine,
    pressure: Pressure,
    falls: Sequence[Length],
    running: Sequence[bool],
) -> bool:
    """Whether the pressure at an empty tank is about to fall, with the levels of running wells."""
    cell = cell_at(wells, pressure, falls, running)
    flows = cell.flows(pressure, falls, wells.specific_weight)
    water = _water_in(wells, falls, flows)
    sinking = [
        (flow - i0 - i1 * fall) / area if area else 0.0
        for (area, i0, i1, _), flow, fall in zip(water, flows, falls, strict=True)
    ]
    return math.fsum(map(mul, _level_slopes(wells, cell, (0.0, 0.0))[1], sinking)) < 0.0


def falls_after(ahead: WellsAhead, span: Time) -> list[Length]:
    """The falls of the levels after a span."""
    return [max(value(each, span), 0.0) for each in ahead.falls]
