"""The line before the tank: from the water in the well, through the pump, to the tank's gauge."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from msgspec.structs import replace

from supplycalc.hydraulics.devices import device_loss_with_slope, loss_of_device
from supplycalc.hydraulics.fittings import counted_length, fitting_k
from supplycalc.hydraulics.pressure import pipe_loss_with_slope
from supplycalc.hydraulics.water import density, specific_weight, viscosity
from supplycalc.model import Device, House, Run
from supplycalc.network import Tree
from supplycalc.units.quantities import Flow, Pressure

LossLaw = Callable[[float], tuple[float, float]]
"""(loss [Pa], its derivative by flow [Pa s/m3]) over the flow that is pumped [m3/s]."""


def trench_runs(house: House) -> tuple[Run, ...]:
    """The runs from the wellhead on to the tank: all behind the pump but a drop pipe."""
    runs = [link for link in house.line if isinstance(link, Run)]
    hangs = not house.suction and house.line[:1] == tuple(runs[:1])
    return tuple(runs[1:] if hangs else runs)


def every_trench_run(house: House) -> tuple[Run, ...]:
    """The same of all wells, of what they share once."""
    apart = (replace(house, suction=(), line=well.line) for well in house.joined_wells)
    return tuple(run for each in (house, *apart) for run in trench_runs(each))


def tank_place_known(house: House) -> bool:
    """Whether the file says where the pressure tank stands: by its point, by at_well, or by a line
    that goes on from the wellhead."""
    tank = house.source.tank
    told = tank is not None and (tank.at is not None or tank.at_well is not None)
    if house.source.open_water:
        return True  # it stands behind the second pump
    return told or len(house.line) > 1 or bool(house.suction and house.line)


def tank_place(house: House) -> str:
    """Where the pressure tank of a well stands, in words."""
    if house.source.open_water:
        return "the pressure tank stands behind the pump that draws from the open tank"
    if not tank_place_known(house):
        return "where the tank stands is not said: taken to stand where the runs start"
    tank = house.source.tank
    if tank is not None and tank.at_well:
        return "the tank stands at the wellhead"
    if tank is not None and tank.at is not None:
        return f"the tank stands at {tank.at}"
    return "the tank stands in the house"


def _link_law(house: House, link: Run | Device) -> LossLaw:
    """What a run or device before the tank loses.

    Source: as for every other run: Darcy-Weisbach or Hazen-Williams, fittings by their K.
    """
    if isinstance(link, Device):
        loss = loss_of_device(link, house.catalogue)
        return lambda flow: device_loss_with_slope(loss, flow)
    assert link.size is not None, f"{link.name} has no size yet"
    tube = house.catalogue.tubes[link.material]
    size = tube.size(link.size)
    joining, water = house.catalogue.joinings[link.joining], house.water.cold
    figures = (
        counted_length(link, house),
        size.inside_diameter,
        tube.roughness if link.roughness is None else link.roughness,
        sum(count * fitting_k(joining, kind, tube, size) for kind, count in link.fittings or ()),
        density(water),
        viscosity(water),
        tube.hazen_williams_c if house.project.friction == "hazen-williams" else None,
    )
    return lambda flow: pipe_loss_with_slope(flow, *figures)


def link_loss_with_slope(house: House, link: Run | Device, flow: Flow) -> tuple[float, float]:
    """Loss of a run or device before the tank [Pa], and its derivative by flow [Pa s/m3]."""
    return _link_law(house, link)(flow)


def loss_law(house: House, links: Iterable[Run | Device]) -> LossLaw:
    """What several runs and devices before the tank lose; 0 where there are none."""
    laws = [_link_law(house, link) for link in links]

    def law(flow: float) -> tuple[float, float]:
        parts = [each(flow) for each in laws]
        return math.fsum(loss for loss, _ in parts), math.fsum(rise for _, rise in parts)

    return law


def loss_with_slope(house: House, links: Iterable[Run | Device], flow: Flow) -> tuple[float, float]:
    """Loss of several runs and devices before the tank [Pa], and its derivative by flow."""
    return loss_law(house, links)(flow)


def pressures_to_tank(
    tree: Tree, house: House, at_tank: Pressure, flow: Flow
) -> list[tuple[float, float]]:
    """Pressure at both ends of each link before the tank, for a pressure there and a flow.

    Returns:
        (at its start, at its end) [Pa gauge] of each link, the water first. The water itself has
        what the pump gives against its pumping level, or before a pump that sucks the air's
        pressure.

    Source: hydrostatics and `link_loss_with_slope`.
    """
    weight, well, count = specific_weight(house.water.cold), house.source.well, len(house.suction)
    falls = flow / well.specific_capacity if well is not None and well.specific_capacity else 0.0
    drops = [
        link_loss_with_slope(house, link, flow)[0]
        + weight * (tree.elevation[i + 1] - tree.elevation[i])
        for i, link in enumerate(house.before_tank)
    ]
    if drops:
        drops[0] += weight * falls
    spans: list[tuple[float, float]] = []
    end = at_tank
    for drop in reversed(drops[count:]):
        spans.append((end + drop, end))
        end += drop
    sucked = [(0.0, 0.0)]
    for drop in drops[:count]:
        sucked.append((sucked[-1][1], sucked[-1][1] - drop))
    first = sucked[0] if count else (end, end)
    return [first, *sucked[1:], *reversed(spans)]


def law_to_tank(house: House) -> LossLaw:
    """What is lost on the way from the water to the tank.

    Returns:
        The law; of 0 where nothing is given, and for a pump that draws from an open tank: what
        fills that is seen from its `well_side`.
    """
    return loss_law(house, () if house.source.open_water else house.before_tank)


def loss_to_tank_with_slope(house: House, flow: Flow) -> tuple[float, float]:
    """The same at one flow: loss [Pa], and its derivative by flow [Pa s/m3]."""
    return law_to_tank(house)(flow)
