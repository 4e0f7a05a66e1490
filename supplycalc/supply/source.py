"""What the source gives: its pressure while the design flow runs, and its highest at rest."""

from __future__ import annotations

from typing import Any

from msgspec import Struct

from supplycalc.hydraulics.numbers import Numbers, not_below
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House
from supplycalc.supply.pump import curve_known, with_curve
from supplycalc.supply.supply_curve import flow_at_pressure
from supplycalc.units.quantities import Elevation, Flow, Pressure

MAIN_EXPONENT = 1.852
"""A main's pressure falls with flow as Hazen-Williams friction does: NFPA 291 (from memory)."""


class SourcePressure(Struct, frozen=True, kw_only=True):
    """What the source gives at the design flow, and at rest."""

    design_pressure: Pressure
    """At the source while the design flow runs."""
    static_pressure: Pressure
    """Highest, with nothing running."""
    elevation: Elevation
    limited_by: str
    """What decided the design pressure: "cut-in", "set pressure", "residual" or "lowest level"."""
    pump_flow: Flow | None = None
    """What the pump gives at that pressure, when a curve is given or guessed from one point."""


def source_pressure(
    house: House, design_flow: Flow, pump_flow: Flow | None = None
) -> SourcePressure:
    """Pressure that pipe is sized at, and the highest at rest.

    A well gives cut-in pressure, a constant-pressure pump the pressure it holds; whether the pump
    keeps up with the design flow is a question of its own (`pump_check`). A main gives its
    residual, corrected for flow when its static pressure is known too; open water the height of its
    lowest level, and at rest that of its highest.

    Args:
        pump_flow: what a well's pump gives at that pressure, if that was computed before.

    Source: the main's sag by NFPA 291's exponent (from memory).
    """
    source = house.source
    if source.by_gravity:
        low, high = level_pressures(house)
        return SourcePressure(
            design_pressure=low,
            static_pressure=high,
            elevation=source.elevation,
            limited_by="lowest level",
        )
    working = working_pressure(house, design_flow)
    if source.kind == "main":
        limited_by = "residual"
        static = source.static if source.static is not None else source.residual
        return SourcePressure(
            design_pressure=working,
            static_pressure=max(working, static or 0.0),
            elevation=source.elevation,
            limited_by=limited_by,
        )
    house = with_curve(house)
    if pump_flow is None and curve_known(house):
        pump_flow = flow_at_pressure(house, working)
    return SourcePressure(
        design_pressure=working,
        static_pressure=max(working, source.cut_out or 0.0),
        elevation=source.elevation,
        limited_by="cut-in" if source.set_pressure is None else "set pressure",
        pump_flow=pump_flow,
    )


def level_pressures(house: House) -> tuple[float, float]:
    """Pressure where the water leaves an open tank or spring box.

    Returns:
        (with the water at its lowest level, when it is full) [Pa gauge].

    Source: hydrostatics.
    """
    source, weight = house.source, specific_weight(house.water.cold)
    low = source.elevation if source.lowest_level is None else source.lowest_level
    high = low if source.highest_level is None else source.highest_level
    return weight * (low - source.elevation), weight * (high - source.elevation)


def working_pressure(house: House, flow: Numbers) -> Numbers:
    """Pressure at the source while a flow runs; floats, or arrays of one value for each draw.

    Args:
        flow: of the whole house [m3/s].

    Returns:
        Cut-in or set pressure of a well, the lowest level's of open water, residual of a main
        corrected for flow [Pa gauge].

    Source: the main's sag by NFPA 291's exponent (from memory).
    """
    pressure: Any
    source = house.source
    if source.by_gravity:
        pressure = level_pressures(house)[0]
        return pressure  # type: ignore[no-any-return]
    if source.kind == "well":
        return source.kept_pressure  # type: ignore[return-value]
    static, residual, at = source.static, source.residual, source.residual_flow
    if residual is None or static is None or at is None:
        pressure = static if residual is None else residual
        return 0.0 if pressure is None else pressure  # type: ignore[return-value]
    top = not_below(static, residual)
    sagged: Numbers = not_below(top - (top - residual) * (flow / at) ** MAIN_EXPONENT, 0.0)
    return sagged
