"""A house's tree with given sizes as laws of flow: for one state, or for many draws at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from supplycalc.catalogue import Tube
from supplycalc.hydraulics.devices import loss_of_device
from supplycalc.hydraulics.fittings import counted_length, manifold_port_k
from supplycalc.hydraulics.numbers import is_array
from supplycalc.hydraulics.pressure import HeldPressure, LinkLaws, static_gains
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import Device, Loss, Run
from supplycalc.network import Tree
from supplycalc.sizing.choices import RunChoice, Situation, device_port
from supplycalc.sizing.design import Design

Pipe = tuple[int, Tube, Any, Any, Any]
"""Index of a run's link, its tube, inside diameter [m], length that friction acts on [m], sum of K;
the last three floats or arrays."""


def laws_of_design(design: Design) -> LinkLaws:
    """The laws of a sized house."""
    return _link_laws(
        design.tree,
        design.demand.design_flow,
        (
            (run.index, run.tube, run.inside_diameter, run.counted_length, run.k)
            for run in design.runs
        ),
    )


def laws_of_sizes(
    situation: Situation, sizes: Sequence[Any], varied: Tree | None = None
) -> LinkLaws:
    """The laws of a tree for one choice of sizes, or for many states of it at once.

    Args:
        sizes: index of each run's size in its family; an array of it where it differs.
        varied: the tree of the same house with arrays for some of its figures; None: as it is.
    """
    tree = situation.tree if varied is None else varied
    pipes: list[Pipe] = []
    for i, (choice, size) in enumerate(zip(situation.choices, sizes, strict=True)):
        run = tree.links[i]
        if choice is None or not isinstance(run, Run):
            continue
        length = choice.counted_length if varied is None else counted_length(run, tree.house)
        inside, k = _of_size(choice, size)
        pipes.append((i, choice.tube, inside, length, k))
    return _link_laws(tree, situation.demand.design_flow, pipes)


def _of_size(choice: RunChoice, size: Any) -> tuple[Any, Any]:
    """Inside diameter [m] and sum of K of a run in a size, or in one for each draw."""
    if not is_array(size):
        return choice.options[size].size.inside_diameter, choice.options[size].k
    import numpy as np

    inside = np.array([option.size.inside_diameter for option in choice.options])
    return inside[size], np.array([option.k for option in choice.options])[size]


def _link_laws(tree: Tree, design_flow: Sequence[float], pipes: Iterable[Pipe]) -> LinkLaws:
    """The laws; a port that a device hangs on is sized at the design flow [m3/s]."""
    count = len(tree)
    temperatures = {"cold": tree.house.water.cold, "hot": tree.house.water.hot}
    densities = {side: density(at) for side, at in temperatures.items()}
    viscosities = {side: viscosity(at) for side, at in temperatures.items()}
    rise_density = [densities[side] for side in tree.rise_side]
    length, k, roughness = ([0.0] * count for _ in range(3))
    inside_diameter, c = [1.0] * count, [100.0] * count
    device: list[Loss | None] = [None] * count
    held: list[HeldPressure | None] = [None] * count
    for i, tube, inside, counted, coefficients in pipes:
        link = tree.links[i]
        own = link.roughness if isinstance(link, Run) else None
        length[i], inside_diameter[i], k[i] = counted, inside, coefficients
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
        density=tuple(densities[side] for side in tree.side),
        viscosity=tuple(viscosities[side] for side in tree.side),
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
