"""What `sources` shows: the list of tables and formulas, and one table as published."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import Block, Heading, Paragraph
from supplycalc.questions.sources.properties import cell, properties
from supplycalc.questions.sources.study import Sourced
from supplycalc.records import Column, Table

MARKS = (
    "seen: read in the source or a copy of it; memory: from memory, check against your code; "
    "derived: arithmetic on the source's figures; common practice: no source; tested: held "
    "against an independent implementation or published values by the tests."
)


def overview(sources: tuple[Sourced, ...]) -> Table:
    """All tables and formulas as one table."""
    return Table(
        title="Sources",
        columns=(
            Column(name="group"),
            Column(name="name", wrap=True),
            Column(name="what", wrap=True),
            Column(name="checked", wrap=True),
            Column(name="cited as", wrap=True),
            Column(name="source", wrap=True),
        ),
        rows=tuple(
            (
                source.group,
                source.name,
                source.words,
                " + ".join(source.marks),
                source.citation.short,
                source.citation.whole,
            )
            for source in sources
        ),
    )


def sources_page(sources: tuple[Sourced, ...], methods: tuple[str, ...]) -> Iterator[Block]:
    """The list, group by group."""
    yield Paragraph(
        text="Where every figure comes from. 'supplycalc sources NAME' shows one table."
    )
    yield Paragraph(text=MARKS)
    for group in dict.fromkeys(source.group for source in sources):
        yield Heading(group)
        if group == "Demand":
            yield Paragraph(text=f"Methods for project.demand or --method: {', '.join(methods)}.")
        for name, several in _lines(group, sources):
            first = several[0]
            marks = " + ".join(dict.fromkeys(mark for source in several for mark in source.marks))
            words = f"{first.words}: " if first.words and not first.file else ""
            text = f"[{marks}] {words}{first.citation.whole}"
            if len(several) > 1:
                text = f"[{marks}] {len(several)} properties; 'supplycalc sources {name}'"
            yield Paragraph(text=text, label=name, mood="strong", indent=2, hang=5)


def _lines(group: str, sources: tuple[Sourced, ...]) -> Iterator[tuple[str, tuple[Sourced, ...]]]:
    """The lines of a group: a material's properties, each with its own source, share one."""
    shared: dict[str, list[Sourced]] = {}
    for source in sources:
        if source.group == group:
            material, dot, _ = source.name.partition(".")
            is_property = dot and "rows" not in source.data and source.file.startswith("tubes")
            shared.setdefault(material if is_property else source.name, []).append(source)
    for name, several in shared.items():
        yield name, tuple(several)


def rows_of(source: Sourced) -> Table | None:
    """The rows of a table as published; None where it has none."""
    data = source.data
    if not isinstance(data.get("rows"), list) or not data["rows"]:
        return None
    rows = [row if isinstance(row, list) else [row] for row in data["rows"]]
    names = data.get("columns") or [f"column {i + 1}" for i in range(len(rows[0]))]
    width = max(len(names), *(len(row) for row in rows))
    names = [*names, *("" for _ in range(width - len(names)))]
    unit = f" ({data['unit']})" if isinstance(data.get("unit"), str) else ""
    return Table(
        title=f"Rows as published{unit}",
        columns=tuple(Column(name=str(name).replace("_", " "), wrap=True) for name in names),
        rows=tuple(
            tuple(cell(row[i]) if i < len(row) else None for i in range(width)) for row in rows
        ),
    )


def table_page(source: Sourced) -> Iterator[Block]:
    """One table: its source, its rows as published, its properties with theirs."""
    yield Heading(source.name if not source.words else f"{source.name}: {source.words}")
    marks = " + ".join(source.marks)
    yield Paragraph(text=f"Source: {source.citation.whole} [{marks}]", hang=2)
    if source.citation.short:
        yield Paragraph(text=f"Cited as: {source.citation.short}", hang=2)
    if source.citation.note:
        yield Paragraph(text=f"Note: {source.citation.note}", hang=2)
    rows = rows_of(source)
    if rows is not None:
        yield rows
    for number, (key, text, citation) in enumerate(properties(source.file, source.data)):
        where = "" if citation is None else f" [{citation.check}: {citation.whole}]"
        yield Paragraph(
            text=f"{text}{where}",
            label=f"{key.replace('_', ' ')}:",
            mood="strong",
            indent=2,
            hang=4,
            apart=number == 0,
        )
