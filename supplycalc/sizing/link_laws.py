"""A house's tree with given sizes as laws of flow: for one state, or for many draws at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from supplycalc.catalogue import Tube, TubeSize
from supplycalc.hydraulics.devices import loss_of_device
from supplycalc.hydraulics.fittings import manifold_port_k
from supplycalc.hydraulics.pressure import HeldPressure, LinkLaws, static_gains
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import Device, Loss, Run
from supplycalc.network import Tree
from supplycalc.sizing.choices import Situation, device_port
from supplycalc.sizing.design import Design

Pipe = tuple[int, Tube, TubeSize, float, float]
"""Index of a run's link, its tube and size, length that friction acts on [m], sum of K."""


def laws_of_design(design: Design) -> LinkLaws:
    """The laws of a sized house.

    Args:
        design: with a size for every run.
    """
    return _link_laws(
        design.tree,
        design.demand.design_flow,
        ((run.index, run.tube, run.size, run.counted_length, run.k) for run in design.runs),
    )


def laws_of_sizes(situation: Situation, sizes: Sequence[int]) -> LinkLaws:
    """The laws of a tree for one choice of sizes.

    Args:
        situation: the tree.
        sizes: index of each run's size in its family.
    """
    pipes = []
    for i, (choice, size) in enumerate(zip(situation.choices, sizes, strict=True)):
        if choice is not None:
            option = choice.options[size]
            pipes.append((i, choice.tube, option.size, choice.counted_length, option.k))
    return _link_laws(situation.tree, situation.demand.design_flow, pipes)


def _link_laws(tree: Tree, design_flow: Sequence[float], pipes: Iterable[Pipe]) -> LinkLaws:
    """The laws; a port that a device hangs on is sized at the design flow [m3/s]."""
    count = len(tree)
    densities = {at: density(at) for at in set(tree.temperature)}
    viscosities = {at: viscosity(at) for at in densities}
    water = {"cold": density(tree.house.water.cold), "hot": density(tree.house.water.hot)}
    rise_density = [water[side] for side in tree.rise_side]
    length, k, roughness = ([0.0] * count for _ in range(3))
    inside_diameter, c = [1.0] * count, [100.0] * count
    device: list[Loss | None] = [None] * count
    held: list[HeldPressure | None] = [None] * count
    for i, tube, size, counted, coefficients in pipes:
        link = tree.links[i]
        own = link.roughness if isinstance(link, Run) else None
        length[i], inside_diameter[i], k[i] = counted, size.inside_diameter, coefficients
        roughness[i] = tube.roughness if own is None else own
        c[i] = tube.hazen_williams_c
    for i, link in enumerate(tree.links):
        if isinstance(link, Device):
            device[i] = loss_of_device(link, tree.catalogue)
            held[i] = _reducing_valve(link, tree)
            port = device_port(tree, i, design_flow[i])
            if port is not None:
                inside_diameter[i], k[i] = port.inside_diameter, manifold_port_k()
    by_c = tree.house.project.friction == "hazen-williams"
    return LinkLaws(
        parent=tree.parent,
        length=tuple(length),
        inside_diameter=tuple(inside_diameter),
        roughness=tuple(roughness),
        k=tuple(k),
        density=tuple(densities[at] for at in tree.temperature),
        viscosity=tuple(viscosities[at] for at in tree.temperature),
        static_gain=tuple(static_gains(tree.parent, tree.elevation, rise_density)),
        device=tuple(device),
        held=tuple(held),
        hazen_williams_c=tuple(c) if by_c else None,
    )


def _reducing_valve(device: Device, tree: Tree) -> HeldPressure | None:
    if device.setting is None:
        return None
    kind = tree.catalogue.devices[device.kind]
    falloff = device.falloff if device.falloff is not None else kind.falloff or 0.0
    at = device.falloff_flow if device.falloff_flow is not None else kind.falloff_flow or 1.0
    return HeldPressure(setting=device.setting, falloff=falloff, falloff_flow=at)
