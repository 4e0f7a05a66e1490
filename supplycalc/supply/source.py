"""What the source gives: its pressure while the design flow runs, and its highest at rest."""

from __future__ import annotations

import math

from msgspec import Struct

from supplycalc.catalogue import Catalogue
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, WaterSource
from supplycalc.problems import ComputationError
from supplycalc.supply.pump import lift, pump_head, with_curve
from supplycalc.supply.rising import rising_loss_with_slope

MAIN_EXPONENT = 1.852
"""A main's pressure falls with flow as Hazen-Williams friction does: NFPA 291 (from memory)."""

MOST_PUMPED = 1.0
"""[m3/s] A pump whose curve, carried on, gives more is not told by its curve at all; our own."""


class SourcePressure(Struct, frozen=True, kw_only=True):
    """What the source gives at the design flow, and at rest."""

    design_pressure: float
    """[Pa gauge] at the source while the design flow runs."""
    static_pressure: float
    """[Pa gauge] highest, with nothing running."""
    elevation: float
    limited_by: str
    """What decided the design pressure: "cut-in", "residual" or "pump"."""
    pump_flow: float | None = None
    """What the pump holds at cut-in [m3/s], when a curve is given."""


def source_pressure(house: House, catalogue: Catalogue, design_flow: float) -> SourcePressure:
    """Lowest working and highest static pressure at the source.

    A well gives cut-in pressure, or less where the pump's curve, given or guessed from one point,
    cannot hold the design flow at cut-in. A main gives its residual, corrected for flow when its
    static pressure is known too.

    Args:
        house: the house.
        catalogue: for the pipes up to the tank.
        design_flow: of the whole house [m3/s].

    Returns:
        The pressures at the source's gauge.

    Source: the main's sag by NFPA 291's exponent (from memory).
    """
    source = house.source
    if source.kind == "main":
        working, limited_by = _main(source, design_flow), "residual"
        static = source.static if source.static is not None else source.residual
        return SourcePressure(
            design_pressure=working,
            static_pressure=max(working, static or 0.0),
            elevation=source.elevation,
            limited_by=limited_by,
        )
    cut_in = source.cut_in or 0.0
    cut_out = source.cut_out if source.cut_out is not None else cut_in
    working, limited_by, pump_flow = cut_in, "cut-in", None
    house = with_curve(house, catalogue)
    if house.source.pump is not None and len(house.source.pump.curve) > 1:
        pump_flow = flow_at_pressure(house, catalogue, cut_in)
        held = pump_pressure(house, catalogue, design_flow)
        if held < cut_in:
            working, limited_by = max(held, 0.0), "pump"
    return SourcePressure(
        design_pressure=working,
        static_pressure=cut_out,
        elevation=source.elevation,
        limited_by=limited_by,
        pump_flow=pump_flow,
    )


def _main(source: WaterSource, flow: float) -> float:
    static, residual, at = source.static, source.residual, source.residual_flow
    if residual is None:
        return static or 0.0
    if static is None or at is None or at <= 0.0 or static <= residual:
        return residual
    return max(static - (static - residual) * math.pow(flow / at, MAIN_EXPONENT), 0.0)


def pump_pressure(house: House, catalogue: Catalogue, flow: float) -> float:
    """Pressure that the pump alone holds at the source's gauge at a given flow.

    Args:
        house: with a well and a pump curve.
        catalogue: for the pipes up to the tank.
        flow: [m3/s].

    Returns:
        Pressure [Pa gauge]; negative where the pump cannot lift that flow at all.

    Source: total dynamic head rearranged (MIL-HDBK-1164).
    """
    pump = house.source.pump
    if pump is None:
        return math.inf
    weight = specific_weight(house.water.cold)
    head = pump_head(pump, flow) - lift(house, flow)
    return weight * head - rising_loss_with_slope(house, catalogue, flow)[0]


def flow_at_pressure(house: House, catalogue: Catalogue, pressure: float) -> float:
    """Flow that the pump gives when the source's gauge stands at a given pressure.

    Args:
        house: with a well and a pump curve.
        catalogue: for the pipes up to the tank.
        pressure: [Pa gauge].

    Returns:
        Flow [m3/s]; 0 where the pump cannot reach that pressure.

    Raises:
        ComputationError: the curve hardly falls, so that no flow can be told.

    Source: intersection of pump and system curve, by bisection.
    """
    pump = house.source.pump
    if pump is None or pump_pressure(house, catalogue, 0.0) <= pressure:
        return 0.0
    low, high = 0.0, pump.curve[-1][0]
    while pump_pressure(house, catalogue, high) > pressure:
        low, high = high, 2.0 * high
        not_endless(high)
    for _ in range(60):
        middle = 0.5 * (low + high)
        if pump_pressure(house, catalogue, middle) > pressure:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def not_endless(flow: float) -> None:
    """Refuse a flow that only a pump curve without an end would give.

    Args:
        flow: reached by carrying the curve on [m3/s].

    Raises:
        ComputationError: it is more than `MOST_PUMPED`.
    """
    if flow > MOST_PUMPED:
        raise ComputationError(
            "the pump's curve hardly falls: carried on, it would give a river at this pressure; "
            "give the curve ([source.pump], curve) down to where its head falls"
        )
