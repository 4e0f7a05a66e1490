"""What `check` shows: the supply tree as it was read, before any sizing."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator
from typing import Any

from supplycalc.demand import method_record
from supplycalc.model import Device, Fixture, House, Loss, Manifold, Run, WaterSource
from supplycalc.network import Tree, line_tree, well_side
from supplycalc.output.blocks import (
    Block,
    Checklist,
    Heading,
    Paragraph,
    Verdict,
    assumptions_blocks,
)
from supplycalc.questions.check.source_as_read import (
    height_lines,
    household_lines,
    levels_said,
    pressures_said,
    source_heading,
    source_lines,
)
from supplycalc.questions.check.study import DeviceAsRead, LinkAsRead, RunAsRead, SupplyCheck
from supplycalc.records import Column, Table
from supplycalc.records.known_ranges import name_of, range_said
from supplycalc.supply.pump import level_known
from supplycalc.supply.several_wells import is_shared, lines_apart
from supplycalc.supply.well_line import tank_place
from supplycalc.units import UnitSystem, show

DEEPEST = 12
"""Levels that are still indented: beyond, a line would have no room."""


def check_page(check: SupplyCheck, name: str, system: UnitSystem) -> Iterator[Block]:
    """The supply tree as read, and what was assumed."""
    tree = check.tree
    yield Verdict(text=f"{name} can be read: {counted(tree)}.", mood="good")
    yield Paragraph(text=f"{tree.house.project.name}. {_key(tree.house)}", apart=True)
    method = method_record(check.method)
    yield Paragraph(text=f"Demand method: {method.told}. It {method.verb}.")
    if tree.house.before_tank:
        yield Heading("From the water to the tank")
        for line in lines_apart(well_side(tree.house)):
            yield from _tree_paragraphs(line_tree(line), system)
    yield Heading("The supply, from the source down")
    yield from _tree_paragraphs(tree, system)
    source = tuple(source_lines(tree, system))
    if source:
        yield Heading(source_heading(tree.house))
        yield Checklist(items=source)
    yield Heading("Heights above the datum, the highest first")
    yield Checklist(items=tuple(height_lines(tree, system)))
    households = tuple(household_lines(tree.house))
    if households:
        yield Heading("Households")
        yield Checklist(items=households)
    if check.ranges:
        yield Heading("Known within a range; the middle is taken")
        yield Checklist(
            items=tuple(
                f"line {each.known.place.line}, {name_of(each.known.path)}, written "
                f'"{each.known.written}": {range_said(each.known, system)}'
                for each in check.ranges
            ),
            mark="-",
        )
        yield Paragraph(
            text="What follows ± is half the width that holds 95 of 100 cases of a normal "
            "distribution; in 'a to b' each value is as likely; 'about' is ± 10 % (a height "
            "± 1 ft at least, a temperature ± 5 degC); of 'unknown' figures the usual range is "
            "taken, and of a size '?' each that the pipe may have."
        )
    yield from assumptions_blocks(check.assumptions, system)
    yield Paragraph(text=f"Next: supplycalc size {shlex.quote(name)}", apart=True)


def _tree_paragraphs(tree: Tree, system: UnitSystem) -> Iterator[Paragraph]:
    for depth, text in tree_lines(tree, system):
        yield Paragraph(text=text, indent=2 * min(depth, DEEPEST), hang=5)


def links_table(check: SupplyCheck) -> Table:
    """Every run, device and manifold as read, for a spreadsheet."""

    def of_run(name: str) -> Callable[[LinkAsRead], Any]:
        return lambda link: getattr(link, name) if isinstance(link, RunAsRead) else None

    return Table(
        title="Links as read, as the water flows",
        columns=(
            *(Column(name=name) for name in ("name", "type", "from", "to", "side")),
            Column(name="height of its end", dimension="elevation"),
            Column(name="kind or tube"),
            Column(name="length", dimension="length"),
            Column(name="size"),
            Column(name="sizes"),
        ),
        rows=tuple(
            (
                *(link.name, link.type, link.start, link.end, link.side, link.end_elevation),
                link.kind if isinstance(link, DeviceAsRead) else of_run("material")(link),
                of_run("length")(link),
                of_run("size")(link),
                ", ".join(of_run("sizes")(link) or ()),
            )
            for link in check.links
        ),
    )


def tree_lines(tree: Tree, system: UnitSystem) -> Iterator[tuple[int, str]]:
    """A line for each link, hanging from what feeds it; of the water's, one for its pump too.

    Yields:
        (how many links stand before it, what it is)
    """
    house, fixtures = tree.house, {outlet.link: outlet.fixture for outlet in tree.outlets}
    pump = "the pump" if house.source.pump is None else f"the {house.source.pump.kind} pump"
    for index, link in enumerate(tree.links):
        depth = len(tree.path(index))
        if index == 0 and tree.points[0] != house.source.point:
            level = show(tree.elevation[0], "elevation", system)
            known = (
                "" if level_known(house) else " (not said how deep; taken level with the wellhead)"
            )
            hangs = "" if house.suction or _pump_between(house) else f"; {pump} hangs in it"
            text = f"the water at rest at {level}{known}{hangs}"
            if is_shared(house):
                text = f"where the wells' lines meet, at {level}"
        else:
            text = "; ".join(_details(tree, index, link, fixtures, system))
        yield depth, f"{tree.names[index]}: {text}"
        between = index == len(house.suction) and _pump_between(house)
        if between and tree.points[0] != house.source.point:
            yield depth + 1, f"pump: {pump} stands here"


def _pump_between(house: House) -> bool:
    """Whether the pump stands between two points, not in the water."""
    return house.source.pump is not None and house.source.pump.end is not None


def _key(house: House) -> str:
    """How to read the tree."""
    text = (
        "Each line hangs from the nearest line above it that stands further left. Heights are "
        "those of a line's end above the datum, the file's zero. Where no size is named it is open"
    )
    if house.defaults.material is not None:
        text += f"; where no tube is named it is {house.defaults.material}"
    return f"{text}."


def counted(tree: Tree) -> str:
    """How many runs, devices, manifolds and fixtures there are."""
    house = tree.house
    counted = (
        (
            sum(isinstance(link, Run) for link in (*house.all_before_tank, *tree.links)),
            "run",
            "runs",
        ),
        (len(house.every_device), "device", "devices"),
        (len(house.manifolds), "manifold", "manifolds"),
        (len(house.fixtures), "fixture", "fixtures"),
    )
    return ", ".join(
        f"{number} {single if number == 1 else plural}"
        for number, single, plural in counted
        if number
    )


def _details(
    tree: Tree,
    index: int,
    link: WaterSource | Run | Device | Manifold,
    fixtures: dict[int, Fixture],
    system: UnitSystem,
) -> Iterator[str]:
    height = show(tree.elevation[index], "elevation", system)
    if isinstance(link, WaterSource):
        kind = "open tank and its pump" if link.open_water and not link.by_gravity else link.kind
        yield f"{kind} at {height}"
        yield from _source(tree.house, system)
    elif isinstance(link, Run):
        length = show(link.length, "length", system)
        usual = link.material == tree.house.defaults.material
        yield length if usual else f"{length} of {link.material}"
        yield from _sizes(link)
        yield from _run(link, system)
        fixture = fixtures.get(index)
        if fixture is None:
            yield f"to {tree.points[index]} at {height}"
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


def _source(house: House, system: UnitSystem) -> Iterator[str]:
    source = house.source
    yield from pressures_said(house, system)
    yield from levels_said(house, system)
    if source.residual_flow is not None:
        yield f"read at {show(source.residual_flow, 'flow', system)}"
    if source.kind == "well":
        yield tank_place(house)


def _sizes(run: Run) -> Iterator[str]:
    if run.existing:
        yield "there already" if run.size else "there already, its size not known"
    if run.size is not None:
        yield f"size {run.size}" if run.existing else f"size {run.size}, fixed"
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
        own = any(device.name == kind.name for device in tree.house.catalogue.own_devices)
        yield _loss(kind.loss, system) + ("" if own else " (usual for its kind)")
    if device.setting is not None:
        yield f"set to {show(device.setting, 'setting', system)}"
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
