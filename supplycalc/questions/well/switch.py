"""Raising the switch: what changes at the worst fixture, for pump, tank and pipe."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.demand import highest_at_rest
from supplycalc.model import House
from supplycalc.problems import ComputationError
from supplycalc.questions.size.study import size
from supplycalc.questions.well.tank import tank_check
from supplycalc.records import Form
from supplycalc.sizing.changes import raise_switch, with_sizes
from supplycalc.sizing.design import Design
from supplycalc.sizing.pressure_range import pipe_pressures
from supplycalc.supply.limits import switch_settings
from supplycalc.supply.pump import level_known, total_dynamic_head
from supplycalc.supply.pump_check import State
from supplycalc.supply.station import guesses, pump_station, usual_precharge
from supplycalc.supply.tank import Cycling
from supplycalc.units.quantities import Flow, Head, Pressure, Setting, Time, Volume

RELIEF_VALVE = "relief valve"
"""What the valve at the tank is called among the parts that a switch may be too high for."""


class SwitchOption(Struct, frozen=True, kw_only=True):
    """One setting of the switch, with the sizes as they are."""

    form: ClassVar[Form] = Form(omit=("cycles", "limit"), add=("reached", "drawdown", "run_time"))

    cut_in: Setting
    cut_out: Setting
    now: bool
    """Whether it is the present setting."""
    precharge: Setting
    """To be set."""
    worst: str
    """The fixture with the least margin."""
    residual: Pressure
    """There."""
    margin: Pressure
    """There."""
    pump_flow: tuple[Flow, Flow] | None
    """At cut-in and cut-out; None: pump not known."""
    perhaps_reached: bool
    """Whether the pump may get to cut-out by the best curve that its one known point leaves open;
    as `reached` where its curve is given."""
    required_head: Head | None
    """Total head for the design flow at cut-in; None without the water's level."""
    pump_state: State | None
    """The verdict on the pump at this setting."""
    cycles: Cycling | None
    tank_needed: Volume | None
    """Least volume for the run time."""
    highest: Pressure
    """Highest at rest anywhere in the house."""
    limit: Pressure
    """Highest at rest that the file, or else the codes, allow in a house."""
    weakest: str | None
    """The part with the least rating left: a pipe, the tank or its relief valve, whose opening
    pressure counts as its rating; None where no rating is known."""
    rating: Pressure | None
    """Of that part."""
    pressure_there: Pressure
    """At rest at that part."""

    @property
    def reached(self) -> bool:
        """Whether the pump gets to cut-out, as far as is known."""
        return self.pump_flow is None or self.pump_flow[1] > 0.0

    @property
    def drawdown(self) -> Volume | None:
        """Usable water in the tank; None where its volume is not known."""
        return None if self.cycles is None else self.cycles.drawdown

    @property
    def run_time(self) -> Time | None:
        """Of the pump from cut-in to cut-out; inf where it never gets there."""
        return None if self.cycles is None else self.cycles.run_time

    @property
    def rated(self) -> bool:
        """Whether no rating is exceeded, as far as is known."""
        return self.rating is None or self.pressure_there <= self.rating

    @property
    def over_limit(self) -> bool:
        """Whether the highest pressure is above what is allowed in a house."""
        return self.highest > self.limit + 1.0


def switch_options(design: Design) -> tuple[SwitchOption, ...]:
    """The usual settings beside the present one, low to high, every size kept.

    Raises:
        ComputationError: the present setting itself cannot be computed.

    Source: settings as the Water Systems Council names them; each is really computed.
    """
    source = design.house.source
    if source.cut_in is None or source.cut_out is None:
        return ()
    if source.pump is not None and source.pump.kind == "constant-pressure":
        return ()
    usual = switch_settings(design.house.project.units == "metric")
    settings = {(round(low), round(high)): (low, high) for low, high in usual}
    settings.setdefault(
        (round(source.cut_in), round(source.cut_out)), (source.cut_in, source.cut_out)
    )
    bare = with_sizes(design.house, design.sizes)
    strongest = max(
        (station.supply_curve.pressure[0] for station in guesses(bare)), default=-math.inf
    )
    return tuple(_options(design, bare, sorted(settings.values()), strongest))


def _options(
    design: Design, house: House, settings: list[tuple[float, float]], strongest: float
) -> Iterator[SwitchOption]:
    source = house.source
    assert source.cut_in is not None
    for cut_in, cut_out in settings:
        raised = raise_switch(house, cut_in - source.cut_in)
        now = raised.source.cut_in == source.cut_in and abs(cut_out - (source.cut_out or 0.0)) < 1.0
        charge = usual_precharge(cut_in, cut_out, held=False)
        tank = raised.source.tank
        if tank is not None and not now:
            tank = replace(tank, precharge=charge)
        changed = replace(raised, source=replace(raised.source, cut_out=cut_out, tank=tank))
        try:
            sized = size(changed, mend=False)
        except ComputationError:
            if now:
                raise
            continue
        yield _option(design, sized, now, charge, strongest)


def _option(
    before: Design, design: Design, now: bool, charge: float, strongest: float
) -> SwitchOption:
    source = design.house.source
    assert source.cut_in is not None
    assert source.cut_out is not None
    design_flow = before.demand.design_flow[0]
    station = pump_station(design.house)
    flows, tank = None, None
    if station is not None:
        curve = station.supply_curve
        flows = (curve.flow_at(station.cut_in), curve.flow_at(station.cut_out))
        tank = tank_check(station, design_flow)
    weakest, rating, pressure_there = _weakest(design)
    most_allowed = design.house.limits.max_static
    return SwitchOption(
        cut_in=source.cut_in,
        cut_out=source.cut_out,
        now=now,
        precharge=source.tank.precharge
        if now and source.tank is not None and source.tank.precharge is not None
        else charge,
        worst=design.worst.name,
        residual=design.worst.residual,
        margin=design.worst.margin,
        pump_flow=flows,
        perhaps_reached=flows is None or flows[1] > 0.0 or strongest > source.cut_out,
        required_head=total_dynamic_head(design.house, design_flow, source.cut_in)
        if level_known(design.house) and not design.house.further_wells
        else None,
        pump_state=None if design.pump is None else design.pump.state,
        cycles=None if tank is None else tank.cycles,
        tank_needed=None if tank is None else tank.needed or None,
        highest=max(outlet.static_pressure for outlet in design.outlets),
        limit=highest_at_rest(design.house).value if most_allowed is None else most_allowed,
        weakest=weakest,
        rating=rating,
        pressure_there=pressure_there,
    )


def _weakest(design: Design) -> tuple[str | None, float | None, float]:
    """Name, rating and pressure of the part with the least rating left."""
    rated: list[tuple[float, str, float, float]] = []
    for pipe in pipe_pressures(design):
        if pipe.rating is not None:
            pressure = pipe.at_lowest_height
            rated.append((pipe.rating - pressure, pipe.name, pipe.rating, pressure))
    tank, cut_out = design.house.source.tank, design.house.source.cut_out
    if tank is not None and tank.max_pressure is not None and cut_out is not None:
        rated.append((tank.max_pressure - cut_out, "pressure tank", tank.max_pressure, cut_out))
    if tank is not None and tank.relief is not None and cut_out is not None:
        rated.append((tank.relief - cut_out, RELIEF_VALVE, tank.relief, cut_out))
    if not rated:
        return None, None, 0.0
    _, name, rating, pressure = min(rated)
    return name, rating, pressure
