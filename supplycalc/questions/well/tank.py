"""The pressure tank of a well: how the pump cycles with it, and how large it should be."""

from __future__ import annotations

import math
from typing import Any, ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.findings.well import standard_volume
from supplycalc.records import Form, fields_to_data
from supplycalc.records.sentences import CITED, citation_data
from supplycalc.supply.far_tank import FarTank
from supplycalc.supply.limits import (
    least_run_time,
    most_starts_per_day,
    most_starts_per_hour,
    well_limit,
)
from supplycalc.supply.station import Station
from supplycalc.supply.supply_curve import SupplyCurve
from supplycalc.supply.tank import Cycling, Vessel, fill_time, time_until_empty, volume_for_run_time
from supplycalc.tables import Citation, to_si
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Minutes, Time, Volume

USUAL_TANK = to_si(44.0, "gal")
"""[m3] tried where no volume is given: what a tank must hold does not depend on it."""


class WithFarTank(Struct, frozen=True, kw_only=True):
    """A second tank far away beside the first one, as far as the line lets its water through."""

    name: str
    drawdown: Volume
    """Of both, at most."""
    run_time: Time
    """From cut-in to cut-out with nothing drawn, at most."""


class TankCheck(Struct, frozen=True, kw_only=True):
    """The tank as it is, as it should be, and with its charge lost."""

    form: ClassVar[Form] = Form(
        omit=("run_time_source", "starts_source", "starts_per_day_source"),
    )
    more_schema: ClassVar[dict[str, Any]] = {
        "least_run_time": {"type": ["object", "null"], "required": ["value", *CITED]},
        "most_starts_per_hour": {"type": ["object", "null"], "required": ["value", *CITED]},
        "most_starts_per_day": {"type": ["object", "null"], "required": ["value", *CITED]},
    }

    cycles: Cycling | None
    """None where no volume is given."""
    waterlogged: Cycling | None
    """With the air charge lost."""
    with_far: WithFarTank | None
    """With a second tank far away; None: there is none, or a volume is not given."""
    usual: tuple[Volume, Volume] | None
    """Usual for a constant-pressure pump; None for a pump that fills and rests."""
    least_run_time: Time | None
    """None for a constant-pressure pump, which slows down instead of resting."""
    run_time_source: Citation
    """Of the least run time, or of the usual volumes."""
    most_starts_per_hour: float | None
    """[1/h]; None for a constant-pressure pump, which starts softly: its maker says how often."""
    starts_source: Citation
    most_starts_per_day: float | None
    """[1/d]; None likewise."""
    starts_per_day_source: Citation
    needed: Volume | None
    """That gives the least run time; inf where nothing does; None without a limit."""
    standard: Volume | None
    """The next common one; None: more than the largest, or no limit."""
    peak_shortfall: Volume
    """Water that the pump lacks over the peak minutes."""
    needed_for_peak: Volume | None
    """That carries the design flow over the peak minutes from full, the pump off at first; None
    without a limit."""
    carries_peak: tuple[Minutes, Minutes] | None
    """How long tank and pump carry the design flow, from full and from nearly empty, the pump off
    at first; None: the pump holds it, or no volume is given."""

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it: each limit with its source."""
        data = fields_to_data(self, system)
        for key, source in (
            ("least_run_time", self.run_time_source),
            ("most_starts_per_hour", self.starts_source),
            ("most_starts_per_day", self.starts_per_day_source),
        ):
            if data[key] is not None:
                data[key] = {"value": data[key], **citation_data(source)}
        return data


def tank_check(station: Station, flow: float, far: FarTank | None = None) -> TankCheck:
    """The tank as it is, as it should be, with its charge lost, and with a second one far away.

    Source: limits of well.toml, each with its own.
    """
    vessel = station.vessel
    trial = vessel or station.vessel_of(USUAL_TANK)
    cycles = station.cycles(trial)
    least, source = least_run_time(cycles.mean_flow, station.motor_power)
    smallest, largest = well_limit("held-tank-least"), well_limit("held-tank-most")
    starts, starts_source = most_starts_per_hour(station.motor_power)
    daily, daily_source = most_starts_per_day(station.motor_power)
    curve = station.supply_curve
    needed = None if station.held else volume_for_run_time(trial, curve, least)
    missing = max(flow - curve.flow_at(station.cut_in), 0.0) * well_limit("peak-minutes").value
    from_full, from_low = _times(trial, curve, flow)
    for_peak = needed or 0.0
    if missing > 0.0 and math.isfinite(from_full):
        minutes = well_limit("peak-minutes").value
        enough = trial.volume * minutes / from_full if from_full > 0.0 else math.inf
        for_peak = max(for_peak, enough)
    flat = well_limit("precharge-lost").value
    metric = station.house.project.units == "metric"
    return TankCheck(
        cycles=None if vessel is None else cycles,
        waterlogged=None if vessel is None else station.cycles(replace(vessel, precharge=flat)),
        with_far=_with_far(station, vessel, far),
        usual=(smallest.value, largest.value) if station.held else None,
        least_run_time=None if station.held else least,
        run_time_source=smallest.citation if station.held else source,
        most_starts_per_hour=None if station.held else starts,
        starts_source=starts_source,
        most_starts_per_day=None if station.held else daily,
        starts_per_day_source=daily_source,
        needed=needed,
        standard=None if needed is None else standard_volume(needed, metric),
        peak_shortfall=missing,
        needed_for_peak=None if station.held else for_peak,
        carries_peak=(from_full, from_low) if vessel is not None and missing > 0.0 else None,
    )


def _with_far(station: Station, vessel: Vessel | None, far: FarTank | None) -> WithFarTank | None:
    second = None if far is None else far.seen_from_switch
    if vessel is None or far is None or second is None:
        return None
    both = (vessel, second)
    return WithFarTank(
        name=far.name,
        drawdown=math.fsum(each.drawdown for each in both),
        run_time=math.fsum(fill_time(each, station.supply_curve) for each in both),
    )


def _times(vessel: Vessel, curve: SupplyCurve, flow: float) -> tuple[float, float]:
    """How long a tank lasts at a steady flow [s], from full and from just above cut-in: first its
    drawdown with the pump off, then what it holds below cut-in while the pump runs."""
    low = time_until_empty(vessel, curve, flow, vessel.cut_in)
    return vessel.drawdown / flow + low, low
