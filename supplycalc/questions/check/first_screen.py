"""The first screen of `check`: shared pipe, source, heights and what was assumed."""

from __future__ import annotations

import shlex
from collections.abc import Iterator

from supplycalc.demand import method_record
from supplycalc.findings.words import listed
from supplycalc.model import Device, Manifold, Run
from supplycalc.network import Tree, line_tree, well_side
from supplycalc.output.blocks import (
    EVERYTHING,
    Block,
    Checklist,
    Heading,
    Paragraph,
    Verdict,
    assumptions_blocks,
)
from supplycalc.output.one_screen import fitted, screen_of
from supplycalc.output.terminal import height_of
from supplycalc.questions.check.page import counted
from supplycalc.questions.check.source_as_read import (
    gauge_name,
    height_lines,
    levels_said,
    pressures_said,
    source_heading,
    source_lines,
)
from supplycalc.questions.check.study import SupplyCheck
from supplycalc.records.known_ranges import name_of
from supplycalc.supply.several_wells import lines_apart
from supplycalc.units import UnitSystem, show

MOST = ((12, 220), (8, 140), (4, 70))
"""Runs and devices told by name (more are counted), and characters of the heights; the first that
leave the page on one screen."""


def check_first(check: SupplyCheck, name: str, system: UnitSystem) -> Iterator[Block]:
    """The supply as read, on one screen."""
    fixtures = len(check.tree.outlets)
    page: list[Block] = []
    for links, heights in MOST:
        blocks = _screen(check, name, system, links, heights)
        page = list(fitted(blocks, system, fixtures=fixtures))
        if height_of(page, system) <= screen_of(fixtures):
            break
    yield from page


def _screen(
    check: SupplyCheck, name: str, system: UnitSystem, most_links: int, most_of_heights: int
) -> Iterator[Block]:
    house = check.house
    method = method_record(check.method)
    read = f"{name} can be read: {counted(check.tree)}; demand by {method.told}."
    yield Verdict(text=read, mood="good")
    kind = house.source.kind
    yield Heading(source_heading(house) if kind == "well" else kind.capitalize())
    for text in (_switch(check, system), *source_lines(check.tree, system, in_short=True)):
        yield Paragraph(text=text, indent=2, hang=2)
    if house.households:
        who = (f"{each.name} {each.people or 'no'} people" for each in house.households)
        yield Paragraph(text=f"Households: {', '.join(who)}", indent=2, hang=2)
    if house.readings:
        text = f"Readings: {len(house.readings)}, compared by 'supplycalc gauge'"
        yield Paragraph(text=text, indent=2)
    yield from _shared(check, system, most_links)
    yield Heading("Heights above the datum, the zero that the file counts from")
    heights = "; ".join(height_lines(check.tree, system))
    if len(heights) > most_of_heights:
        heights = f"{heights[:most_of_heights].rpartition(', ')[0]} and more"
    yield Paragraph(text=heights, indent=2)
    if check.ranges:
        yield Heading("Known within a range; the middle is taken")
        names = (f"line {it.known.place.line}: {name_of(it.known.path)}" for it in check.ranges)
        yield Checklist(items=tuple(names))
    yield from assumptions_blocks(check.assumptions, system)
    yield Paragraph(text=f"Next: supplycalc size {shlex.quote(name)}. {EVERYTHING}")


def _switch(check: SupplyCheck, system: UnitSystem) -> str:
    """The pressures that the source is counted on with, and how high they are read."""
    source = check.house.source
    height = show(source.elevation, "elevation", system)
    gauge = f"{gauge_name(check.house)} at {height}"
    return ", ".join(
        (*pressures_said(check.house, system), *levels_said(check.house, system), gauge)
    )


def _shared(check: SupplyCheck, system: UnitSystem, most: int) -> Iterator[Block]:
    """What feeds more than one fixture, from the water down; branches are counted."""
    tree, before = check.tree, map(line_tree, lines_apart(well_side(check.house)))
    ends = {outlet.link for outlet in tree.outlets}
    links = [_link(line, index, system) for line in before for index in range(1, len(line))]
    links += [_link(tree, index, system) for index in range(1, len(tree)) if index not in ends]
    more = f"; and {len(links) - most} more" if len(links) > most else ""
    usual = tree.house.defaults.material
    tube = f"; where no tube is named it is {usual}" if usual is not None else ""
    yield Heading(f"As the water flows{tube}")
    yield Paragraph(text="; ".join(links[:most]) + more, indent=2)
    branches = [link.length for i in ends if isinstance(link := tree.links[i], Run)]
    if branches:
        shortest, longest = (show(it, "length", system) for it in (min(branches), max(branches)))
        text = f"then {len(branches)} branches to fixtures, {shortest} to {longest} long"
        yield Paragraph(text=text, indent=2)


def _link(tree: Tree, index: int, system: UnitSystem) -> str:
    link, name = tree.links[index], tree.names[index]
    if isinstance(link, Run):
        unknown = "size not known" if link.existing else "size open"
        size = link.size or listed(link.sizes, word="or") or unknown
        usual = link.material == tree.house.defaults.material
        told = size if usual else f"{link.material} {size}"
        if link.buried is not None:
            told += f", {show(link.buried, 'cover', system)} deep"
        return f"{name} {show(link.length, 'length', system)} ({told})"
    if isinstance(link, Device):
        return name if link.kind in name.replace(" ", "-") else f"{name} ({link.kind})"
    assert isinstance(link, Manifold)
    return name if link.ports is None else f"{name} ({link.ports} ports)"
