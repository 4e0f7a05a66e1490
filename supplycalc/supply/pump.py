"""A pump's head over flow, as given or as one known point lets guess it."""

from __future__ import annotations

import itertools

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Pump
from supplycalc.supply.limits import one_point_ratios, well_limit
from supplycalc.supply.several_wells import wells_alone
from supplycalc.supply.well_line import loss_to_tank_with_slope
from supplycalc.units.quantities import Flow, Head, Length, Pressure, Share

PIECES = 24
"""Straight pieces that stand for the parabola through one point, up to no head."""


class OnePoint(Struct, frozen=True, kw_only=True):
    """The one point of a pump that is known."""

    flow: Flow
    head: Head
    """Total, at the pump."""
    uncertainty: Share
    """Of the flow."""
    measured: bool
    """From a bucket test, not from a sheet."""
    pressure: Pressure | None = None
    """At the tank during a bucket test."""


def pump_head(pump: Pump, flow: Flow) -> Head:
    """Head of a pump by its curve, straight between the given points and beyond the last.

    A real curve bulges above the straight lines, so that few points err on the safe side."""
    curve = pump.curve
    for (flow_a, head_a), (flow_b, head_b) in itertools.pairwise(curve):
        if flow <= flow_b or (flow_b, head_b) == curve[-1]:
            return head_a + (head_b - head_a) * (flow - flow_a) / (flow_b - flow_a)
    return curve[-1][1]


def lift(house: House, flow: Flow) -> Length:
    """Height from the pumping water level to the source's gauge, with drawdown at this flow.

    Source: pumping level = static level + flow / specific capacity (MIL-HDBK-1164).
    """
    source, well = house.source, house.source.well
    if well is None:
        return 0.0
    wellhead = well.elevation if well.elevation is not None else source.elevation
    level = well.static_level or 0.0
    if well.specific_capacity:
        level += flow / well.specific_capacity
    return source.elevation - wellhead + level


def level_known(house: House) -> bool:
    """Whether the file tells how deep the water stands that a well's pump lifts, in every well."""
    wells = (house.source.well, *(further.well for further in house.further_wells))
    return all(well is not None and well.static_level is not None for well in wells)


def curve_known(house: House) -> bool:
    """Whether there is a pump and every pump has a curve, given or guessed."""
    pumps = (house.source.pump, *(further.pump for further in house.further_wells))
    return all(pump is not None and len(pump.curve) > 1 for pump in pumps)


def total_dynamic_head(house: House, flow: Flow, pressure: Pressure) -> float:
    """Total head that a pump must give for a flow at a pressure at the source's gauge.

    Returns:
        Total dynamic head [m]: lift from the pumping level, friction, pressure.

    Source: MIL-HDBK-1164, appendix A.
    """
    weight = specific_weight(house.water.cold)
    loss = loss_to_tank_with_slope(house, flow)[0]
    return lift(house, flow) + (loss + pressure) / weight


def one_point(house: House) -> OnePoint | None:
    """The one point that is known of a pump without a curve.

    Returns:
        A point of the sheet or of a bucket test; None where there is a curve, or nothing.

    Source: `total_dynamic_head` at the flow and pressure of the test.
    """
    pump = house.source.pump
    if pump is None or len(pump.curve) > 1:
        return None
    if pump.curve and pump.curve[0][0] > 0.0:
        flow, head = pump.curve[0]
        return OnePoint(flow=flow, head=head, uncertainty=0.0, measured=False)
    if pump.measured_flow is None or pump.measured_pressure is None:
        return None
    own = pump.measured_uncertainty
    return OnePoint(
        flow=pump.measured_flow,
        head=total_dynamic_head(house, pump.measured_flow, pump.measured_pressure),
        uncertainty=well_limit("bucket-uncertainty").value if own is None else own,
        measured=True,
        pressure=pump.measured_pressure,
    )


def curve_through(
    flow: Flow, head: Head, head_without_flow: Head
) -> tuple[tuple[float, float], ...]:
    """A falling parabola through one point, in straight pieces down to no head.

    Returns:
        (flow [m3/s], head [m]) points, flow ascending.

    Source: common practice, no source: head = head_without_flow - c flow^2.
    """
    fall = (head_without_flow - head) / flow**2
    widest = (head_without_flow / fall) ** 0.5
    flows = sorted({widest * i / PIECES for i in range(PIECES + 1)} | {flow})
    return tuple((q, head_without_flow - fall * q * q) for q in flows)


def with_curve(
    house: House,
    *,
    ratio: float | None = None,
    flow_share: float = 1.0,
) -> House:
    """The same house whose pump has a curve, guessed where only one point is known; unchanged where
    nothing is known or a curve is given.

    A pump that was measured at work reaches cut-out, so its head without flow is taken to be no
    less than cut-out needs with the usual margin.

    Args:
        ratio: head without flow over head at the known point; None takes the usual one.
        flow_share: of the known point's flow, to try its uncertainty.

    Source: common practice, no source.
    """
    if house.further_wells:
        first, *others = (
            with_curve(alone, ratio=ratio, flow_share=flow_share).source.pump
            for alone in wells_alone(house)
        )
        further = zip(house.further_wells, others, strict=True)
        return replace(
            house,
            source=replace(house.source, pump=first),
            joined_wells=tuple(
                well if pump is None else replace(well, pump=pump) for well, pump in further
            ),
        )
    pump = house.source.pump
    if pump is None or len(pump.curve) > 1:
        return house
    point = one_point(house)
    if point is None or point.head <= 0.0:
        return house
    top = point.head * (one_point_ratios()[1] if ratio is None else ratio)
    reached = house.source.cut_out if pump.reaches is None else pump.reaches
    if point.measured and reached is not None:
        margin = well_limit("pump-margin").value
        top = max(top, total_dynamic_head(house, 0.0, reached + margin))
    curve = curve_through(point.flow * flow_share, point.head, top)
    return replace(house, source=replace(house.source, pump=replace(pump, curve=curve)))
