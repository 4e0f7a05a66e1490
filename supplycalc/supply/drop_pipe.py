"""The pipes between pump and tank: the drop pipe, and the offset pipe on from the wellhead."""

from __future__ import annotations

import math
from collections.abc import Iterator

from supplycalc.hydraulics.fittings import fitting_k
from supplycalc.hydraulics.friction import flow_area, pressure_gradient_with_slope
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import DropPipe, House, WaterSource

CHECK_VALVE = ("threaded", "check-valve")
"""Joining and kind of fitting whose figures stand for the check valves."""


def pipes_to_tank(house: House) -> Iterator[DropPipe]:
    """The pipes that the pump pushes through before the tank: the drop pipe, and the offset pipe
    unless the tank stands at the wellhead.

    Args:
        house: with a well or without.
    """
    well, offset = house.source.well, offset_pipe(house)
    if well is not None and well.drop_pipe is not None:
        yield well.drop_pipe
    if offset is not None:
        yield offset


def offset_pipe(house: House) -> DropPipe | None:
    """The pipe in the trench between wellhead and tank.

    Args:
        house: on a well or not.

    Returns:
        The pipe; None without one, or where the tank stands at the wellhead.
    """
    well, tank = house.source.well, house.source.tank
    if well is None or (tank is not None and tank.at_well):
        return None
    return well.offset_pipe


def tank_place_known(source: WaterSource) -> bool:
    """Whether the file says where the pressure tank stands: by at_well, or by an offset pipe.

    Args:
        source: with a well or without.
    """
    by_pipe = source.well is not None and source.well.offset_pipe is not None
    return by_pipe or (source.tank is not None and source.tank.at_well is not None)


def tank_place(source: WaterSource) -> str:
    """Where the pressure tank of a well stands, in words.

    Args:
        source: a well.
    """
    if not tank_place_known(source):
        return "where the tank stands is not said: taken to stand where the runs start"
    if source.tank is not None and source.tank.at_well:
        return "the tank stands at the wellhead"
    return "the tank stands in the house"


def drop_pipe_loss_with_slope(pipe: DropPipe, house: House, flow: float) -> tuple[float, float]:
    """Loss of one of these pipes with its check valves, and its slope.

    Args:
        pipe: drop pipe or offset pipe.
        house: for its catalogue and the water's temperature.
        flow: pumped [m3/s].

    Returns:
        (loss [Pa], derivative by flow [Pa s/m3]).

    Source: Darcy-Weisbach; check valves by K of threaded ones, fittings.toml.
    """
    tube = house.catalogue.tubes[pipe.material]
    size = tube.size(pipe.size)
    rho, mu = density(house.water.cold), viscosity(house.water.cold)
    gradient, slope = pressure_gradient_with_slope(
        flow, size.inside_diameter, tube.roughness, rho, mu
    )
    loss, rise = gradient * pipe.length, slope * pipe.length
    if pipe.check_valves:
        joining, kind = CHECK_VALVE
        k = pipe.check_valves * fitting_k(house.catalogue.joinings[joining], kind, tube, size)
        half = 0.5 * k * rho / flow_area(size.inside_diameter) ** 2
        loss, rise = loss + half * flow * flow, rise + 2.0 * half * flow
    return loss, rise


def loss_to_tank_with_slope(house: House, flow: float) -> tuple[float, float]:
    """Loss between pump and tank, and its slope.

    Args:
        house: with or without such pipes.
        flow: pumped [m3/s].

    Returns:
        (loss [Pa], derivative by flow [Pa s/m3]); 0 where no pipe is given.

    Source: as `drop_pipe_loss_with_slope`.
    """
    parts = [drop_pipe_loss_with_slope(pipe, house, flow) for pipe in pipes_to_tank(house)]
    return math.fsum(loss for loss, _ in parts), math.fsum(rise for _, rise in parts)
