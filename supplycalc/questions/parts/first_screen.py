"""The first screen of `parts`: the whole order in short, a line for each kind of part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from supplycalc.output.blocks import (
    Block,
    Checklist,
    Heading,
    Paragraph,
    Verdict,
    care_in_short,
    first_findings,
)
from supplycalc.output.one_screen import FOR_FINDINGS, fitted
from supplycalc.questions.parts.items import Item
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.units import UnitSystem, show

SECTIONS = (
    ("Fittings", ("fittings", "well", "booster")),
    ("Valves, manifolds, equipment", ("valves and stops", "manifolds", "equipment")),
    ("Supports, sleeves, insulation", ("supports", "sleeves", "insulation")),
)
MOST_KINDS = 12
"""Kinds of a section that are named; of more, their number."""


def parts_first(parts: PartsList, system: UnitSystem) -> Iterator[Block]:
    """What to buy, on one screen."""
    return fitted(_screen(parts, system), system, fixtures=len(parts.design.outlets))


def _screen(parts: PartsList, system: UnitSystem) -> Iterator[Block]:
    yield Verdict(text=parts.answer(system), mood="good" if parts.ok else "bad")
    if not parts.design.ok:
        yield Paragraph(text=f"Do not buy yet. {parts.design.verdict(system)}", mood="bad")
    yield Heading("Pipe")
    yield Checklist(items=tuple(_pipe(parts, system)))
    for title, groups in SECTIONS:
        items = [item for item in parts.items if item.group in groups]
        if items:
            of_water = {"well": "at the well", "booster": "at the booster"}
            also = [of_water[group] for group in of_water if any(group == it.group for it in items)]
            yield Heading(f"{title}, with those {' and '.join(also)}" if also else title)
            yield Paragraph(text=", ".join(_kinds(items)), indent=2)
    yield from first_findings(parts.findings, room=FOR_FINDINGS // 2)
    counter = "supply house" if system == "us" else "merchant"
    yield Paragraph(text=f"Sizes of each, for the {counter}: -o order.txt (.csv, .pdf).")
    yield from care_in_short(hot="hot" in parts.design.tree.side)


def _pipe(parts: PartsList, system: UnitSystem) -> Iterator[str]:
    """A line for each tube: coils and sticks by size."""
    by_tube: dict[str, list[str]] = {}
    for lot in parts.lots:
        pieces, last = [], ""
        for bought in lot.bought:
            called, length = lot.called(bought.length), show(bought.length, "length", system)
            named = "" if called == last else f" {called}{'s' if bought.count > 1 else ''}"
            special = ", special order" if bought.special else ""
            pieces.append(f"{bought.count}{named} of {length}{special}")
            last = called
        if pieces:
            by_tube.setdefault(lot.tube_words, []).append(
                f"{lot.size.nominal}: {' and '.join(pieces)}"
            )
    for tube, lines in by_tube.items():
        yield f"{tube} {'; '.join(lines)}"


def _kinds(items: Sequence[Item]) -> Iterator[str]:
    """Each kind with how many, the most used first; lengths where a kind has no count."""
    counts: dict[str, int] = {}
    for item in items:
        counts[item.spoken] = counts.get(item.spoken, 0) + item.count
    ordered = sorted(counts.items(), key=lambda pair: -pair[1])
    if len(ordered) <= MOST_KINDS + 1:
        yield from (f"{count} {name}" for name, count in ordered)
    else:
        yield from (f"{count} {name}" for name, count in ordered[:MOST_KINDS])
        yield f"and {len(ordered) - MOST_KINDS} kinds more"
