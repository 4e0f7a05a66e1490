"""The port of a manifold that a device stands on without a pipe between."""

from __future__ import annotations

from supplycalc.catalogue import TubeSize
from supplycalc.hydraulics.fittings import manifold_port_k
from supplycalc.hydraulics.friction import velocity
from supplycalc.hydraulics.water import density
from supplycalc.model import Device, Manifold, Run
from supplycalc.network import Tree


def device_port(tree: Tree, link: int, flow: float) -> TubeSize | None:
    """Size of the port that a device hangs on, where it hangs right on a manifold's.

    No pipe tells it. It is taken as one would buy it: the smallest size of the next pipe's tube
    that keeps the velocity limit. A manifold right on another one is its longer body and has no
    port between.

    Args:
        tree: the supply.
        link: index of the device.
        flow: its design flow [m3/s].

    Returns:
        The size; None where a pipe or another device feeds it, or no pipe is near.
    """
    if not isinstance(tree.links[link], Device):
        return None
    if not isinstance(tree.links[tree.parent[link]], Manifold):
        return None
    run = _next_run(tree, link)
    if run is None:
        return None
    tube, hot = tree.catalogue.tubes[run.material], tree.side[link] == "hot"
    limits = tree.house.limits
    own = limits.velocity_hot if hot else limits.velocity_cold
    most = tube.velocity_limit(tree.temperature[link], hot) if own is None else own
    sizes = [size for size in tube.sizes if size.common]
    return next((size for size in sizes if velocity(flow, size.inside_diameter) <= most), sizes[-1])


def port_loss(tree: Tree, link: int, flow: float) -> float:
    """Pressure lost in the port that a device hangs on.

    Args:
        tree: the supply.
        link: index of the device.
        flow: its design flow [m3/s].

    Returns:
        Loss [Pa]; 0 where the device stands in pipe.

    Source: K of a manifold's port (entrance and exit) on the port's velocity head.
    """
    size = device_port(tree, link, flow)
    if size is None:
        return 0.0
    head = density(tree.temperature[link]) * velocity(flow, size.inside_diameter) ** 2 / 2.0
    return manifold_port_k() * head


def _next_run(tree: Tree, link: int) -> Run | None:
    """The first run behind a link, else the nearest one before it."""
    behind = (tree.links[i] for i in range(link + 1, tree.last[link]))
    before = (tree.links[i] for i in reversed(tree.path(link)))
    return next((one for one in (*behind, *before) if isinstance(one, Run)), None)
