"""What `check` prints and its JSON: the supply tree as it was read, before any sizing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from supplycalc.model import Device, Manifold, Run, WaterSource
from supplycalc.output.machine import assumption_to_dict, quantity
from supplycalc.output.wording import assumption_text
from supplycalc.units import show

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from supplycalc.model import Fixture, House, Loss
    from supplycalc.network import Tree
    from supplycalc.output.old_page import Page
    from supplycalc.sizing.design import Assumption
    from supplycalc.units import UnitSystem

CHECK_SCHEMA = "supplycalc-check/1"
DEEPEST = 12
"""Levels that are still indented: beyond, a line would have no room."""


def supply_page(
    page: Page, tree: Tree, assumptions: Sequence[Assumption], name: str, system: UnitSystem
) -> None:
    """Write the supply tree as read, and what was assumed.

    Args:
        page: to write on.
        tree: the supply.
        assumptions: what the file leaves out.
        name: of the file.
        system: units to show.
    """
    page.paragraph(f"{name} can be read: {_count(tree)}.", style="green")
    page.blank()
    page.paragraph(f"{tree.house.project.name}. {_key(tree.house)}")
    page.heading("The supply, from the source down")
    kinds = _kinds(tree)
    for i, link in enumerate(tree.links):
        page.paragraph(
            f"{tree.names[i]}: {'; '.join(_details(tree, i, link, kinds, system))}",
            indent=2 * min(len(tree.path(i)), DEEPEST),
            hang=5,
        )
    if assumptions:
        page.heading("Assumed, because the file leaves it out")
        for one in assumptions:
            page.paragraph(assumption_text(one, system), label="-", indent=2, hang=2)
    page.blank()
    page.paragraph(f"Next: supplycalc size {name}")


def _key(house: House) -> str:
    """How to read the tree."""
    text = (
        "Each line hangs from the nearest line above it that stands further left. Heights are "
        "those of a line's end above the datum. Where no size is named it is open"
    )
    if house.defaults.material is not None:
        text += f"; where no tube is named it is {house.defaults.material}"
    return f"{text}."


def _count(tree: Tree) -> str:
    house = tree.house
    counted = (
        (sum(1 for _ in tree.runs()), "run", "runs"),
        (len(house.devices), "device", "devices"),
        (len(house.manifolds), "manifold", "manifolds"),
        (len(house.fixtures), "fixture", "fixtures"),
    )
    return ", ".join(f"{n} {one if n == 1 else many}" for n, one, many in counted if n)


def _kinds(tree: Tree) -> dict[int, Fixture]:
    """The fixture at the end of each branch."""
    return {outlet.link: outlet.fixture for outlet in tree.outlets}


def _details(
    tree: Tree,
    i: int,
    link: WaterSource | Run | Device | Manifold,
    fixtures: dict[int, Fixture],
    system: UnitSystem,
) -> Iterator[str]:
    height = show(tree.elevation[i], "elevation", system)
    if isinstance(link, WaterSource):
        yield f"{link.kind} at {height}"
        yield from _source(link, system)
    elif isinstance(link, Run):
        length = show(link.length, "length", system)
        usual = link.material == tree.house.defaults.material
        yield length if usual else f"{length} of {link.material}"
        yield from _sizes(link)
        yield from _run(link, system)
        fixture = fixtures.get(i)
        if fixture is None:
            yield f"to {tree.points[i]} at {height}"
        else:
            planned = ", planned" if fixture.planned else ""
            yield f"to a {fixture.kind} at {height}{planned}"
    elif isinstance(link, Device):
        yield link.kind
        yield from _device(tree, link, system)
        yield f"to {link.end} at {height}"
    else:
        ports = "" if link.ports is None else f" with {link.ports} ports"
        yield f"manifold{ports} at {height}"


def _source(source: WaterSource, system: UnitSystem) -> Iterator[str]:
    for word, value in (
        ("cut-in", source.cut_in),
        ("cut-out", source.cut_out),
        ("residual", source.residual),
        ("static", source.static),
    ):
        if value is not None:
            yield f"{word} {show(value, 'pressure', system)}"
    if source.residual_flow is not None:
        yield f"read at {show(source.residual_flow, 'flow', system)}"


def _sizes(run: Run) -> Iterator[str]:
    if run.size is not None:
        yield f"size {run.size}, fixed"
    elif run.sizes:
        yield f"size from {', '.join(run.sizes)}"
    if run.minimum is not None:
        yield f"at least {run.minimum}"


def _run(run: Run, system: UnitSystem) -> Iterator[str]:
    if run.fittings is None:
        yield "no fittings listed"
    elif run.fittings:
        yield ", ".join(f"{count} {kind}" for kind, count in run.fittings)
    if run.group is not None:
        yield f"group {run.group}"
    if run.buried is not None:
        yield f"buried {show(run.buried, 'cover', system)}"
    if run.embedded:
        yield "in or under a slab"
    if run.insulated:
        yield "insulated"
    if run.circulated:
        yield "kept hot"
    if run.length_measured:
        yield "length from positions"


def _device(tree: Tree, device: Device, system: UnitSystem) -> Iterator[str]:
    kind = tree.catalogue.devices[device.kind]
    if device.loss is not None:
        yield _loss(device.loss, system)
    elif kind.loss is not None:
        own = any(one.name == kind.name for one in tree.house.catalogue.own_devices)
        yield _loss(kind.loss, system) + ("" if own else " (usual for its kind)")
    if device.setting is not None:
        yield f"set to {show(device.setting, 'pressure', system)}"
    if kind.hot:
        yield "all below it is hot"


def _loss(loss: Loss, system: UnitSystem) -> str:
    if loss.curve:
        return f"loss by its curve of {len(loss.curve)} points"
    at_reference = loss.constant + loss.linear + loss.quadratic
    if loss.linear or loss.quadratic:
        flow = show(loss.reference_flow, "flow", system)
        return f"loses {show(at_reference, 'pressure', system)} at {flow}"
    return f"loses {show(loss.constant, 'pressure', system)}" if loss.constant else "no loss"


def supply_to_dict(
    tree: Tree, assumptions: Sequence[Assumption], system: UnitSystem
) -> dict[str, Any]:
    """The JSON contract of `check`."""
    house, fixtures = tree.house, _kinds(tree)
    return {
        "schema": CHECK_SCHEMA,
        "project": house.project.name,
        "ok": True,
        "units": system,
        "method": house.project.demand,
        "source": _source_to_dict(house, system),
        "links": [_link(tree, i, fixtures, system) for i in range(1, len(tree))],
        "assumptions": [assumption_to_dict(one, system) for one in assumptions],
    }


def _source_to_dict(house: House, system: UnitSystem) -> dict[str, Any]:
    source = house.source
    return {
        "kind": source.kind,
        "elevation": quantity(source.elevation, "elevation", system),
        "cut_in": quantity(source.cut_in, "pressure", system),
        "cut_out": quantity(source.cut_out, "pressure", system),
        "residual": quantity(source.residual, "pressure", system),
        "static": quantity(source.static, "pressure", system),
    }


def _link(tree: Tree, i: int, fixtures: dict[int, Fixture], system: UnitSystem) -> dict[str, Any]:
    link = tree.links[i]
    shared: dict[str, Any] = {
        "name": tree.names[i],
        "type": type(link).__name__.lower(),
        "from": tree.points[tree.parent[i]],
        "to": tree.points[i],
        "side": tree.side[i],
        "end_elevation": quantity(tree.elevation[i], "elevation", system),
    }
    if isinstance(link, Run):
        fixture = fixtures.get(i)
        shared |= {
            "material": link.material,
            "joining": link.joining,
            "length": quantity(link.length, "length", system),
            "size": link.size,
            "sizes": list(link.sizes),
            "minimum": link.minimum,
            "group": link.group,
            "fittings": None if link.fittings is None else dict(link.fittings),
            "buried": quantity(link.buried, "cover", system),
            "embedded": link.embedded,
            "fixture": None if fixture is None else fixture.name,
            "fixture_kind": None if fixture is None else fixture.kind,
        }
    elif isinstance(link, Device):
        shared |= {"kind": link.kind, "setting": quantity(link.setting, "pressure", system)}
    elif isinstance(link, Manifold):
        shared |= {"ports": link.ports}
    return shared
