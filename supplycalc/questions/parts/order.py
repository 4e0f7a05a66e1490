"""The order on one sheet: what the supply house needs to put it together, and nothing else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from supplycalc.output.blocks import Block, Checklist, Heading, Paragraph, Verdict
from supplycalc.output.terminal import height_of
from supplycalc.questions.parts.items import GROUPS, Item
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.records.sentences import money
from supplycalc.units import UnitSystem, show

TOGETHER = ("supports", "sleeves", "insulation")
SECTIONS = (*((group,) for group in GROUPS if group not in TOGETHER), TOGETHER)
"""Groups under one heading."""
WITHOUT = {"well": "pump, tank, ", "tank": "tank, ", "spring": "spring box, "}
"""What a source of each kind has that is not on the list."""
SHEET = 60
"""[lines] of a page"""
VALVES = ("valves and stops", "manifolds", "equipment")
CLOSE = tuple(
    VALVES if "manifolds" in each else each for each in SECTIONS if each[0] not in VALVES[::2]
)
"""The same under fewer headings, for an order that else takes more than a sheet."""


def order_page(parts: PartsList, system: UnitSystem) -> Iterator[Block]:
    """The order of a house, a line for each kind of part with all its sizes."""
    page = list(_order(parts, SECTIONS, system))
    yield from page if height_of(page, system) <= SHEET else _order(parts, CLOSE, system)


def _order(
    parts: PartsList, sections: tuple[tuple[str, ...], ...], system: UnitSystem
) -> Iterator[Block]:
    house = parts.house
    yield Verdict(text=f"Order for {house.project.name}; counts stand in brackets", mood="strong")
    if not parts.ok:
        text = "NOT TO BE BOUGHT YET: the design or this list fails, see 'supplycalc parts'."
        yield Paragraph(text=text, mood="bad")
    for groups in sections:
        lines = tuple(_lines([item for item in parts.items if item.group in groups], parts, system))
        if lines:
            yield Heading(", ".join(groups).capitalize())
            yield Checklist(items=lines, mark="[ ]")
    if parts.prices is not None:
        total = money(parts.total, parts.prices.currency)
        missing = f", {len(parts.unpriced)} items without a price" if parts.unpriced else ""
        by = f"'{parts.prices.name}', {parts.prices.date.isoformat()}"
        yield Paragraph(text=f"In all {total} ({by}){missing}.", apart=True)
    yield Paragraph(
        text="All for drinking water, lead free. Without fixtures, "
        f"{WITHOUT.get(house.source.kind, '')}solder, tape.",
        apart=parts.prices is None,
    )


def _lines(items: list[Item], parts: PartsList, system: UnitSystem) -> Iterator[str]:
    """Parts of one kind and joining as one line, sizes in the order of the list; bare ones last."""
    alike: dict[tuple[str, str, str], Counter[str]] = {}
    bare = []
    for item in items:
        if not (item.size or item.material or item.note):
            bare.append(f"({item.count}) {item.spoken}")
            continue
        length = "" if item.length is None else show(item.length, "length", system)
        pipe = item.length is not None and item.kind != "insulation"
        name, way = item.spoken, item.material
        if pipe:
            name, way = parts.house.catalogue.tubes[item.material].title, item.note
        note = "" if pipe else item.note
        words = " ".join(filter(None, (item.size, length)))
        if item.kind == "insulation" and item.size:
            words = f"{length} of {item.size}"
        if pipe:
            words = f"{length} {item.spoken} of {item.size}"
        alike.setdefault((name, way, note), Counter())[words] += item.count
    for (name, way, note), sizes in alike.items():
        head = name if way in name else f"{name}, {way}"
        counted = ", ".join(f"({count}) {words}".rstrip() for words, count in sizes.items())
        noted = f"{head} ({note})" if note else head
        yield f"{noted}: {counted}" if any(sizes) else f"{counted} {noted}"
    if bare:
        yield ", ".join(bare)
