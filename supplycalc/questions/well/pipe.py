"""The pipe from the wellhead to a tank in the house: what other sizes would let the pump give."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.friction import velocity
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import DropPipe, House
from supplycalc.sizing.design import Design
from supplycalc.supply.drop_pipe import drop_pipe_loss_with_slope, offset_pipe
from supplycalc.supply.pump import total_dynamic_head, with_curve
from supplycalc.supply.station import pump_station

NEIGHBOURS = 2
"""How many sizes below and above the present one are tried; our own."""


class PipeOption(Struct, frozen=True, kw_only=True):
    """The pipe in one size, pump and all else as they are."""

    nominal: str
    now: bool
    """Whether it is the size in the file."""
    flow: float
    """What the pump gives at cut-in, or at the pressure it holds; without one the design flow
    [m3/s]."""
    flow_at_cut_out: float | None
    """[m3/s]; None without a pump."""
    velocity: float
    """In this pipe at `flow` [m/s]."""
    friction_head: float
    """Of this pipe at `flow` [m]."""
    held_pressure: float | None
    """What the pump alone holds at the design flow [Pa gauge]; 0: nothing; None without a pump."""
    required_head: float | None
    """Total head that holds the design flow at cut-in [m]; None where a pump is known."""


def pipe_options(design: Design) -> tuple[PipeOption, ...]:
    """Try other sizes of the pipe from the wellhead to the tank.

    A pump that is known by one point keeps the curve that this point gives with the present pipe.

    Args:
        design: sized, on a well.

    Returns:
        Up to two sizes less and more of the same tube, small to large; empty without such a pipe
        or without a switch.

    Source: the intersection of the pump's and the system's curve, as `station` finds it.
    """
    pipe = offset_pipe(design.house)
    if pipe is None or design.house.source.cut_in is None:
        return ()
    house = with_curve(design.house)
    sizes = house.catalogue.tubes[pipe.material].sizes
    here = next(i for i, size in enumerate(sizes) if size.nominal == pipe.size)
    flow = design.demand.design_flow[0]
    return tuple(
        _option(_with_pipe(house, replace(pipe, size=size.nominal)), flow, i == here)
        for i, size in enumerate(sizes)
        if abs(i - here) <= NEIGHBOURS
    )


def _option(house: House, design_flow: float, now: bool) -> PipeOption:
    pipe, cut_in = offset_pipe(house), house.source.cut_in
    assert pipe is not None
    assert cut_in is not None
    one = pump_station(house)
    flow = design_flow
    if one is not None:
        flow = one.supply_curve.flow_at(one.cut_out if one.held else one.cut_in)
    size = house.catalogue.tubes[pipe.material].size(pipe.size)
    lost = drop_pipe_loss_with_slope(pipe, house, flow)[0]
    return PipeOption(
        nominal=pipe.size,
        now=now,
        flow=flow,
        flow_at_cut_out=None if one is None else one.supply_curve.flow_at(one.cut_out),
        velocity=velocity(flow, size.inside_diameter),
        friction_head=lost / specific_weight(house.water.cold),
        held_pressure=None if one is None else max(one.supply_curve.pressure_at(design_flow), 0.0),
        required_head=total_dynamic_head(house, flow, cut_in) if one is None else None,
    )


def _with_pipe(house: House, pipe: DropPipe) -> House:
    assert house.source.well is not None
    well = replace(house.source.well, offset_pipe=pipe)
    return replace(house, source=replace(house.source, well=well))
