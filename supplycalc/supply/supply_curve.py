"""What pump, pipes and well give together: flow over pressure at the tank.

The law itself is `pump_pressure`. A `SupplyCurve` follows it in straight pieces, on each of which
flow = a - b * pressure; that is what makes the tank's motion exact. It goes through every point of
the pump's curve and through as many more as keep it within `TOLERANCE` of the law, friction
included.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Callable

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Device, House, Run
from supplycalc.problems import ComputationError
from supplycalc.supply.pump import lift, pump_head
from supplycalc.supply.several_wells import common_line, joint_elevation, wells_apart
from supplycalc.supply.well_line import law_to_tank, loss_with_slope
from supplycalc.units.quantities import Flow, Pressure

TOLERANCE = 100.0
"""Most that a piece may be off the true law [Pa]; 0.015 psi."""
COARSE = 1e-5
"""Nor does a piece need to be nearer than this share of the pressure itself, which decides beyond
the pressures of any house."""
LEAST_FALL = 1.0
"""Least fall of pressure along a piece [Pa], so that a level piece of a curve has a slope."""
AT_PRESSURE = 1e-6
"""[Pa] As near as a flow is sought."""
SAME_PRESSURE = 1e-7
"""[Pa] Pressures nearer to each other are one."""
LOSS_PARTS = 4
"""Into which the loss of a shared line is cut at first."""
NO_FLOW = 1e-18
"""[m3/s] Below this two flows are one."""
MOST_PUMPED = 1.0
"""[m3/s] A pump whose curve, carried on, gives more is not told by its curve at all."""


def pump_pressure(house: House, flow: Flow) -> float:
    """Pressure that the pump alone holds at the source's gauge at a given flow [Pa gauge]; negative
    where the pump cannot lift that flow at all.

    Source: total dynamic head rearranged (MIL-HDBK-1164).
    """
    return pressure_law(house)(flow)


def pressure_law(house: House) -> Callable[[float], float]:
    """`pump_pressure` over the flow [m3/s]: what does not depend on it is looked up once."""
    if house.further_wells:
        return WellsTogether(house).pressure_at
    pump = house.source.pump
    if pump is None:
        return lambda _: math.inf
    weight, lost = specific_weight(house.water.cold), law_to_tank(house)
    return lambda flow: weight * (pump_head(pump, flow) - lift(house, flow)) - lost(flow)[0]


def flow_at_pressure(house: House, pressure: Pressure) -> float:
    """Flow that the pump gives when the source's gauge stands at a given pressure [m3/s]; 0 where
    the pump cannot reach that pressure.

    Raises:
        ComputationError: the curve hardly falls, so that no flow can be told.

    Source: intersection of pump and system curve, by false position (the Illinois form: M. Dowell
        and P. Jarratt, BIT 11 (1971) 168).
    """
    if house.further_wells:
        return math.fsum(WellsTogether(house).flows_at(pressure))
    pump, law = house.source.pump, pressure_law(house)
    low, above = 0.0, law(0.0) - pressure
    if pump is None or above <= 0.0:
        return 0.0
    high = pump.curve[-1][0]
    below = law(high) - pressure
    while below > 0.0:
        low, high, above = high, 2.0 * high, below
        not_endless(high)
        below = law(high) - pressure
    return _root(lambda flow: law(flow) - pressure, (low, above), (high, below), NO_FLOW)


def _root(
    law: Callable[[float], float],
    first: tuple[float, float],
    last: tuple[float, float],
    apart: float,
) -> float:
    """Where a falling law is nothing, by false position, between two places where it is known.

    Args:
        law: in pressure [Pa].
        first: the lower place, and what the law is there: not below 0.
        last: the upper one, where it is not above 0.
        apart: places nearer than this are one.
    """
    (low, above), (high, below) = first, last
    kept = 0
    while high - low > apart:
        middle = low + (high - low) * above / (above - below)
        left = law(middle)
        if abs(left) < AT_PRESSURE:
            return middle
        # an end that stays counts half from its second time on, so that it moves, too
        if left > 0.0:
            low, above = middle, left
            below *= 0.5 if kept > 0 else 1.0
            kept = 1
        else:
            high, below = middle, left
            above *= 0.5 if kept < 0 else 1.0
            kept = -1
    return 0.5 * (low + high)


class WellsTogether:
    """Several wells on one tank: what each one's pump gives, to the point where their lines meet.

    At one pressure there each pump gives what its own curve, lift and line let it, and the flows
    add; behind that point they share a line. Every pump has a curve.
    """

    def __init__(self, house: House) -> None:
        shared = common_line(house)
        self.house = house
        self.apart = wells_apart(house)
        """Each well as far as that point."""
        self.common: tuple[Run | Device, ...] = () if shared is None else shared.line
        height = house.source.elevation - joint_elevation(house)
        self.rise: Pressure = specific_weight(house.water.cold) * height
        """Static pressure lost from that point up to the gauge."""

    def lost(self, flow: float) -> Pressure:
        """Between that point and the gauge, friction and height, for all the water."""
        return self.rise + loss_with_slope(self.house, self.common, flow)[0]

    def joint_pressure(self, pressure: float) -> Pressure:
        """Where the lines meet, while the gauge stands at a pressure [Pa].

        Source: the sum of falling curves falls, so that it meets the rising loss of the line in
            common once.
        """
        low = pressure + self.rise
        high = max(pump_pressure(each, 0.0) for each in self.apart)
        if not self.common or high <= low:
            return low

        def excess(joint: float) -> float:
            return pressure + self.lost(math.fsum(self._given(joint))) - joint

        return _root(excess, (low, excess(low)), (high, low - high), SAME_PRESSURE)

    def flows_at(self, pressure: float) -> tuple[Flow, ...]:
        """What each well gives while the gauge stands at a pressure [Pa]."""
        return self._given(self.joint_pressure(pressure))

    def pressure_at(self, flow: float) -> Pressure:
        """At the gauge, that all pumps together hold at a flow [m3/s]."""
        high = max(pump_pressure(each, 0.0) for each in self.apart)
        if flow <= 0.0:
            return high - self.rise
        low = max(pump_pressure(each, flow) for each in self.apart)
        # in pressure, as one pump's law is: the flow is turned into what its loss would be
        scale = (high - low) / flow

        def more(joint: float) -> float:
            return scale * (math.fsum(self._given(joint)) - flow)

        ends = (low, more(low)), (high, more(high))
        return _root(more, *ends, SAME_PRESSURE) - self.lost(flow)

    def _given(self, joint: float) -> tuple[Flow, ...]:
        return tuple(flow_at_pressure(each, joint) for each in self.apart)

    def shared_loss(self) -> SupplyCurve | None:
        """Friction of the shared line over flow, as the pressure that it takes; None: no line."""
        if not self.common:
            return None

        def law(flow: float) -> float:
            return self.rise - self.lost(flow)

        most = math.fsum(supply_curve(house, level_follows=False).flow[-1] for house in self.apart)
        points = [(0.0, 0.0)]
        for part in range(1, LOSS_PARTS + 1):
            flow = most * part / LOSS_PARTS
            _refine(law, points, flow, law(flow))
        flows, pressures = zip(*points, strict=True)
        return SupplyCurve(flow=flows, pressure=pressures)

    def curve(self, *, level_follows: bool) -> SupplyCurve:
        """The supply curve of all: the sum of each one's, less what the line in common loses."""
        each = [supply_curve(house, level_follows=level_follows) for house in self.apart]
        pressures = sorted({p for curve in each for p in curve.pressure}, reverse=True)
        flows = [math.fsum(curve.flow_at(p) for curve in each) for p in pressures]
        # below the first pump's shut-off, where the flow begins to rise
        begin = max(i for i, flow in enumerate(flows) if flow <= 0.0)
        total = SupplyCurve(flow=tuple(flows[begin:]), pressure=tuple(pressures[begin:]))
        if not self.common:
            return replace(total, pressure=tuple(p - self.rise for p in total.pressure))

        def law(flow: float) -> float:
            return total.pressure_at(flow) - self.lost(flow)

        return _in_pieces(law, list(total.flow))


def flows_through_lines(house: House, pressure: float | None) -> tuple[tuple[Flow, Pressure], ...]:
    """What comes through each line before the tank, and what is lost from its end to the gauge.

    Args:
        pressure: at the gauge [Pa]; None: nothing runs.

    Returns:
        (flow [m3/s], loss [Pa]) of the line of each well, last of what they share; with one well
        its flow alone.
    """
    if not house.further_wells:
        return ((0.0 if pressure is None else flow_at_pressure(house, pressure), 0.0),)
    together = WellsTogether(house)
    flows = (0.0,) * len(together.apart) if pressure is None else together.flows_at(pressure)
    total = math.fsum(flows)
    each = tuple((flow, together.lost(total)) for flow in flows)
    return (*each, (total, 0.0)) if together.common else each


def not_endless(flow: Flow) -> None:
    """Refuse a flow that only a pump curve without an end would give.

    Raises:
        ComputationError: it is more than `MOST_PUMPED`.
    """
    if flow > MOST_PUMPED:
        raise ComputationError(
            "the pump's curve hardly falls: carried on, it would give a river at this pressure; "
            "give the curve ([source.pump], curve) down to where its head falls"
        )


class SupplyCurve(Struct, frozen=True, kw_only=True):
    """Points of flow rising and pressure falling, the first without flow."""

    flow: tuple[float, ...]
    """[m3/s]"""
    pressure: tuple[float, ...]
    """[Pa gauge] that the pump can hold at the tank."""

    def flow_at(self, pressure: float) -> float:
        """Flow at a pressure [Pa] in m3/s; none above the first point."""
        return self.line(self.piece_at(pressure))(pressure)

    def pressure_at(self, flow: float) -> float:
        """Pressure at a flow [m3/s] in Pa; beyond the last point as the last piece falls."""
        i = min(max(bisect.bisect_right(self.flow, flow) - 1, 0), len(self.flow) - 2)
        share = (flow - self.flow[i]) / (self.flow[i + 1] - self.flow[i])
        return self.pressure[i] + share * (self.pressure[i + 1] - self.pressure[i])

    def piece_at(self, pressure: float) -> int:
        """Number of the piece at a pressure [Pa]; -1 above the first point."""
        low, high = 0, len(self.pressure)
        while low < high:
            middle = (low + high) // 2
            if self.pressure[middle] > pressure:
                low = middle + 1
            else:
                high = middle
        return min(low - 1, len(self.flow) - 2)

    def coefficients(self, piece: int) -> tuple[float, float]:
        """(a [m3/s], b [m3/s per Pa]) of flow = a - b pressure; (0, 0) for piece -1."""
        if piece < 0:
            return 0.0, 0.0
        b = (self.flow[piece + 1] - self.flow[piece]) / (
            self.pressure[piece] - self.pressure[piece + 1]
        )
        return self.flow[piece] + b * self.pressure[piece], b

    def line(self, piece: int) -> Callable[[float], float]:
        """Flow [m3/s] over pressure [Pa] on one piece, never negative."""
        a, b = self.coefficients(piece)
        return lambda pressure: max(a - b * pressure, 0.0)

    def ends(self, piece: int) -> tuple[float, float]:
        """Lower and upper pressure of a piece [Pa]; the outermost have none."""
        low = self.pressure[piece + 1] if piece + 2 < len(self.pressure) else float("-inf")
        return low, self.pressure[piece] if piece >= 0 else float("inf")


def supply_curve(house: House, *, level_follows: bool) -> SupplyCurve:
    """The supply curve of a house on a well.

    Args:
        level_follows: whether the well's level falls at once with the flow (specific capacity);
            otherwise the curve is for water at its static level, and a lower level counts as so
            much more pressure.

    Returns:
        The curve, down to no pressure at the tank.

    Raises:
        ComputationError: the curve hardly falls, so that no flow can be told.

    Source: total dynamic head rearranged (MIL-HDBK-1164).
    """
    if house.further_wells:
        return WellsTogether(house).curve(level_follows=level_follows)
    well, pump = house.source.well, house.source.pump
    if pump is None:
        return SupplyCurve(flow=(0.0, 1e-9), pressure=(0.0, -1.0))
    if not level_follows and well is not None:
        well = replace(well, specific_capacity=None)
        house = replace(house, source=replace(house.source, well=well))

    return _in_pieces(pressure_law(house), sorted({0.0, *(flow for flow, _ in pump.curve)}))


def _in_pieces(law: Callable[[float], float], flows: list[float]) -> SupplyCurve:
    """A law of pressure over flow [Pa over m3/s] in straight pieces, down to no pressure.

    Args:
        flows: through which the pieces go, from 0 on.
    """
    while law(flows[-1]) > 0.0:
        flows.append(2.0 * flows[-1])
        not_endless(flows[-1])
    flows = flows[: next(i for i, flow in enumerate(flows) if law(flow) <= 0.0) + 1]
    if len(flows) == 1:
        flows.append(1e-6)
    points = [(flows[0], law(flows[0]))]
    for flow in flows[1:]:
        _refine(law, points, flow, law(flow))
    pressures = [points[0][1]]
    for _, pressure in points[1:]:
        pressures.append(min(pressure, pressures[-1] - LEAST_FALL))
    return SupplyCurve(flow=tuple(flow for flow, _ in points), pressure=tuple(pressures))


def _refine(
    law: Callable[[float], float], points: list[tuple[float, float]], flow: float, pressure: float
) -> None:
    """Append points up to (flow, pressure), halving where the straight line is too far off."""
    last_flow, last_pressure = points[-1]
    middle = 0.5 * (last_flow + flow)
    at_middle = law(middle)
    near_enough = max(TOLERANCE, COARSE * abs(at_middle))
    if abs(at_middle - 0.5 * (last_pressure + pressure)) > near_enough:
        _refine(law, points, middle, at_middle)
        _refine(law, points, flow, pressure)
    else:
        points.append((flow, pressure))
