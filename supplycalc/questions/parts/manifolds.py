"""Manifolds: which port takes which run in which size, what is spare, and what the body loses."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import ClassVar

from msgspec import Struct

from supplycalc.hydraulics.pressure import pipe_loss
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import Device, Manifold
from supplycalc.questions.parts.connections import Need, tube_need
from supplycalc.questions.parts.fitting_count import VALVES
from supplycalc.records import Form
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table, to_si
from supplycalc.units.quantities import Pressure


class Port(Struct, frozen=True, kw_only=True):
    """One used port."""

    form: ClassVar[Form] = Form(
        omit=("run", "smallest"),
        rename={"number": "port", "run.name": "run", "run.nominal": "size"},
        add=("run.name", "run.nominal", "run.length", "run.design_flow", "run.decided_by"),
    )

    number: int
    run: RunResult
    smallest: bool
    """Whether its run has the smallest size that its tube is made in."""
    why_not_smaller: str | None
    """What the next smaller size would have done; None where there is none."""


class ManifoldUse(Struct, frozen=True, kw_only=True):
    """One manifold with its ports."""

    form: ClassVar[Form] = Form(
        omit=("manifold", "index", "feed", "bare", "assumed", "joining"),
        rename={"ports": "used", "total": "ports"},
        add=("manifold.name", "spare"),
    )

    manifold: Manifold
    index: int
    feed: RunResult | None
    """The run that ends in it; None where a device or the source does."""
    body: str
    """Nominal size of its body: that of the pipe which feeds it, else of its largest branch."""
    ports: tuple[Port, ...]
    bare: int
    """Ports on which a device stands without a pipe between."""
    total: int
    """Ports to buy, spares included."""
    assumed: bool
    """Whether the file leaves the number of ports out."""
    body_loss: Pressure
    """What its body loses up to its last port, all its flow leaving evenly port by port."""
    joining: str

    @property
    def spare(self) -> int:
        """Ports left over."""
        return max(self.total - len(self.ports) - self.bare, 0)


def manifolds(design: Design) -> tuple[ManifoldUse, ...]:
    """Every manifold of a design with its ports, from the source down.

    Source: sizes by exact sizing; spares and the distance of ports are common practice, no source.
    """
    return tuple(
        _use(design, i, link)
        for i, link in enumerate(design.tree.links)
        if isinstance(link, Manifold)
    )


def _use(design: Design, index: int, manifold: Manifold) -> ManifoldUse:
    tree, results = design.tree, design.run_at
    branches = [results[i] for i in tree.children[index] if i in results]
    feed = results.get(tree.parent[index])
    bare = sum(isinstance(tree.links[i], Device) for i in tree.children[index])
    used = len(branches) + bare
    total = manifold.ports
    if total is None:
        total = used + max(1, math.ceil(load_table("parts")["spare-ports"]["value"] * used))
    body = feed or results.get(tree.feeding_run[index])
    body = body or max(branches, key=lambda run: run.inside_diameter, default=None)
    return ManifoldUse(
        manifold=manifold,
        index=index,
        feed=feed,
        body="" if body is None else body.nominal,
        ports=tuple(_port(number, run) for number, run in enumerate(branches, start=1)),
        bare=bare,
        total=max(total, used),
        assumed=manifold.ports is None,
        body_loss=0.0 if body is None else _body_loss(design, index, body, total),
        joining="" if body is None else body.run.joining,
    )


def _port(number: int, run: RunResult) -> Port:
    less = run.next_smaller
    smallest = run.inside_diameter <= run.tube.sizes[0].inside_diameter
    why = run.decided_by if less is None and not smallest else None
    return Port(
        number=number,
        run=run,
        smallest=smallest,
        why_not_smaller=why if less is None else f"{less.nominal}: {less.reason}",
    )


def _body_loss(design: Design, index: int, body: RunResult, ports: int) -> float:
    pitch = load_table("parts")["port-pitch"]
    length = ports * to_si(pitch["value"], pitch["unit"])
    friction, _ = pipe_loss(
        float(design.demand.design_flow[index]),
        length,
        body.size.inside_diameter,
        body.tube.roughness,
        0.0,
        density(body.temperature),
        viscosity(body.temperature),
    )
    return even_outflow(ports) * friction


def even_outflow(ports: int) -> float:
    """Loss of a body whose flow leaves evenly port by port, over that of the whole flow.

    It is 1 for one port and falls towards 1/3 for many.

    Source: sum of squares of the flows that are left, which is J. E. Christiansen's factor for
        losses with the square of the flow (Irrigation by Sprinkling, 1942, from memory).
    """
    return (ports + 1) * (2 * ports + 1) / (6.0 * ports**2) if ports > 0 else 0.0


def manifold_needs(use: ManifoldUse) -> Iterator[Need]:
    """Body, valves at the ports, caps, one shut-off and one drain of a manifold.

    Source: a valve at each port, one shut-off and one drain are common practice.
    """
    name = use.manifold.name
    for port in use.ports:
        yield tube_need("port-valve", port.run, name)
    if use.spare:
        yield Need(kind="port-cap", place=name, count=use.spare)
    listed = dict(use.feed.run.fittings or ()) if use.feed is not None else {}
    if not any(listed.get(kind) for kind in VALVES):
        line = use.feed or next((port.run for port in use.ports), None)
        if line is None:
            yield Need(kind="ball-valve", size=use.body, joining=use.joining, place=name)
        else:
            yield tube_need("ball-valve", line, name, use.body)
    yield Need(kind="drain-valve", place=name)


def manifold_body(use: ManifoldUse) -> Need:
    """The body itself, by its size and its ports."""
    return Need(
        kind="manifold",
        size=use.body,
        place=use.manifold.name,
        note=f"{use.total} ports",
        ports=use.total,
    )
