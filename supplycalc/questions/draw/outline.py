"""The supply as a tree in lines of text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from supplycalc.output.blocks import Mood, OutlineLine
from supplycalc.questions.draw.riser import said
from supplycalc.questions.draw.study import Row, SupplyDrawing
from supplycalc.records.sentences import amount
from supplycalc.units import UnitSystem

PLAIN = {"goes on": "├─ ", "ends": "└─ ", "past": "│ ", "clear": "  "}
WAY = {"goes on": "┣━ ", "ends": "┗━ ", "past": "┃ ", "clear": "  "}
"""On the way to the worst fixture."""
HOT_DASH = "╌"


def outline(
    drawn: SupplyDrawing, system: UnitSystem, *, whole: bool = True
) -> Iterator[OutlineLine]:
    """The lines of the tree, the source first; what stands one behind the other stands so here.

    Unless `whole`, fixtures of one place share a line, but for the worst and those that fall short.
    """
    rows = {row.index: row for row in drawn.rows}
    tree = drawn.design.tree
    for row in drawn.rows:
        if row.index < 0:
            yield _line(row, "", "", system)

    def below(index: int, indent: str) -> Iterator[OutlineLine]:
        fed = [rows[child] for child in tree.children[index]]
        folded = [] if whole else [row for row in fed if _goes_unsaid(row)]
        if len(folded) > 1:
            fed = [row for row in fed if row not in folded]
        if len(fed) == 1 and len(folded) < 2:
            yield _line(fed[0], indent, indent, system)
            yield from below(fed[0].index, indent)
            return
        way = max((n for n, row in enumerate(fed) if row.worst_way), default=-1)
        for number, row in enumerate(fed):
            shape = WAY if row.worst_way else PLAIN
            last = number == len(fed) - 1 and len(folded) < 2
            stem = shape["ends" if last else "goes on"]
            if not row.worst_way and number < way:  # the way goes past here
                stem = WAY["goes on"][0] + stem[1:]
            heats = row.type == "device" and rows[index].side == "cold"
            if row.side == "hot" and not heats and not row.worst_way:
                stem = stem.replace("─", HOT_DASH)
            past = "clear" if last else "past"
            hang = indent + (WAY if number < way else PLAIN)[past]
            yield _line(row, indent + stem, hang, system)
            yield from below(row.index, hang)
        if len(folded) > 1:
            stem = PLAIN["ends"]
            if folded[0].side == "hot":
                stem = stem.replace("─", HOT_DASH)
            yield _together(folded, indent + stem, indent + PLAIN["clear"], system)

    yield _line(rows[0], "", "", system)
    yield from below(0, "")


def _goes_unsaid(row: Row) -> bool:
    """Whether a fixture may share a line with others."""
    return row.type == "fixture" and not (row.worst or row.fails)


def _together(rows: Sequence[Row], stem: str, hang: str, system: UnitSystem) -> OutlineLine:
    """Several fixtures in one line, with what the one nearest to its need has to spare."""
    sizes = list(dict.fromkeys(row.size or "" for row in rows))
    inch = "" if rows[0].metric else " in"
    least = min(rows, key=lambda row: row.margin or 0.0)
    return OutlineLine(
        stem=stem,
        hang=hang,
        name=f"{len(rows)} more",
        facts=f"{', '.join(sizes)}{inch}",
        mark=f"from {_plus(least, system)}{' !' if any(row.warned for row in rows) else ''}",
    )


def _plus(row: Row, system: UnitSystem) -> str:
    return "+" + amount(row.margin or 0.0, system).replace("less than ", "<").split()[0]


def _line(row: Row, stem: str, hang: str, system: UnitSystem) -> OutlineLine:
    words = said(row, system)
    name = words.name
    if row.type == "fixture" and row.side == "hot" and "(hot)" not in name:
        name += ", hot"
    mark = words.flag
    if not mark and row.margin is not None:
        mark = _plus(row, system)
    if words.note:
        mark = f"{mark} {words.note if row.worst else '!'}".strip()
    mood: Mood = "bad" if row.fails else "strong" if row.worst_way else "plain"
    return OutlineLine(
        stem=stem,
        hang=hang,
        name=name,
        facts=", ".join(words.facts),
        figure=words.pressure,
        mark=mark,
        mood=mood,
    )
