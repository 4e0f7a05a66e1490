"""The pipe from the wellhead to the tank: what other sizes would let the pump give."""

from __future__ import annotations

from msgspec import Struct

from supplycalc.hydraulics.friction import velocity
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House
from supplycalc.network import well_side
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.design import Design
from supplycalc.sizing.line import flow_to_tank
from supplycalc.supply.pump import level_known, total_dynamic_head, with_curve
from supplycalc.supply.station import pump_station
from supplycalc.supply.well_line import loss_with_slope, trench_runs
from supplycalc.units.quantities import Flow, Head, Pressure, Velocity

NEIGHBOURS = 2
"""How many sizes below and above the present one are tried."""


class PipeOption(Struct, frozen=True, kw_only=True):
    """The pipe in one size, pump and all else as they are."""

    size: str
    now: bool
    """Whether it is the size in the file."""
    flow: Flow
    """What the well's pump gives at cut-in, at the pressure it holds, or into an open tank; without
    one the design flow."""
    flow_at_cut_out: Flow | None
    """None without a pump, and into an open tank."""
    velocity: Velocity
    """In this pipe at `flow`."""
    friction_head: Head
    """Of this pipe at `flow`."""
    held_pressure: Pressure | None
    """What the pump alone holds at the design flow; 0: nothing; None without a pump, and over an
    open tank."""
    required_head: Head | None
    """Total head that holds the design flow at cut-in; None where a pump is known, or not the
    water's level."""


def pipe_options(design: Design) -> tuple[PipeOption, ...]:
    """Try other sizes of the pipe from the wellhead to the tank.

    A pump that is known by one point keeps the curve that this point gives with the present pipe.

    Returns:
        Up to two sizes less and more of the same tube, small to large; empty without such a pipe
        or without a switch.

    Source: the intersection of the pump's and the system's curve, as `station` finds it.
    """
    pipes = trench_runs(design.house)
    house = well_side(design.house)
    several = bool(house.further_wells)  # of each well's own: compare --run
    if several or not pipes or house.source.cut_in is None:
        return ()
    house = with_curve(house)
    longest = max(pipes, key=lambda pipe: pipe.length)
    alike = [pipe for pipe in pipes if pipe.material == longest.material]
    sizes = house.catalogue.tubes[longest.material].sizes
    present = next(place for place, size in enumerate(sizes) if size.nominal == longest.size)
    flow = flow_to_tank(design.house, design.demand.design_flow[0])
    return tuple(
        _option(
            with_sizes(house, {pipe.name: size.nominal for pipe in alike}),
            longest.name,
            flow,
            place == present,
        )
        for place, size in enumerate(sizes)
        if abs(place - present) <= NEIGHBOURS
    )


def _option(house: House, name: str, design_flow: float, now: bool) -> PipeOption:
    pipes, cut_in = trench_runs(house), house.source.cut_in
    pipe = next(pipe for pipe in pipes if pipe.name == name)
    assert cut_in is not None
    assert pipe.size is not None
    station = pump_station(house)
    flow, at_cut_out, held = design_flow, None, None
    if station is not None:
        curve = station.supply_curve
        flow = curve.flow_at(station.cut_out if station.held else station.cut_in)
        if station.cut_out > 0.0:  # no open tank
            at_cut_out = curve.flow_at(station.cut_out)
            held = max(curve.pressure_at(design_flow), 0.0)
    size = house.catalogue.tubes[pipe.material].size(pipe.size)
    lost = loss_with_slope(house, pipes, flow)[0]
    return PipeOption(
        size=pipe.size,
        now=now,
        flow=flow,
        flow_at_cut_out=at_cut_out,
        velocity=velocity(flow, size.inside_diameter),
        friction_head=lost / specific_weight(house.water.cold),
        held_pressure=held,
        required_head=total_dynamic_head(house, flow, cut_in)
        if station is None and level_known(house)
        else None,
    )
