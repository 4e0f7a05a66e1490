"""What `batch` shows: how many pass, the thinnest first, and what was skipped."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import Block, Heading, Paragraph, Verdict
from supplycalc.questions.batch.study import Batch
from supplycalc.questions.batch.work import BatchRow
from supplycalc.records.table import Cell, Column, Table

MOST_ROWS, MOST_SKIPPED = 15, 5
"""On the screen; all of them go to a file."""


def batch_page(result: Batch) -> Iterator[Block]:
    """What `batch` shows."""
    computed = [row for row in result.rows if row.ok is not None]
    passed = sum(bool(row.ok) for row in computed)
    kind = "variants" if result.columns else "houses"
    text = f"{passed} of {len(computed)} {kind} work"
    if result.skipped:
        text += f"; {len(result.skipped)} skipped, which cannot be read or computed"
    yield Verdict(text=f"{text}.", mood="good" if result.ok else "care")
    thinnest = sorted(computed, key=lambda row: row.margin or 0.0)
    if thinnest:
        yield batch_table(result, thinnest[:MOST_ROWS], "Those with least to spare")
    if len(thinnest) > MOST_ROWS:
        yield Paragraph(text=f"and {len(thinnest) - MOST_ROWS} more: -o results.csv or .jsonl")
    if result.skipped:
        yield Heading("Skipped")
    for row in result.skipped[:MOST_SKIPPED]:
        yield Paragraph(text=f"{row.name}: {row.problem}", indent=2, hang=2)
    if len(result.skipped) > MOST_SKIPPED:
        yield Paragraph(text=f"and {len(result.skipped) - MOST_SKIPPED} more", indent=2)


def batch_table(result: Batch, rows: list[BatchRow] | None = None, title: str = "Batch") -> Table:
    """A line for each house or variant; without `rows` all of them, with every size."""
    whole = rows is None
    rows = list(result.rows) if rows is None else rows
    columns = [
        Column(name="name", wrap=True),
        Column(name="works"),
        Column(name="worst", wrap=True),
        Column(name="residual", dimension="pressure"),
        Column(name="needs", dimension="pressure"),
        Column(name="to spare", dimension="pressure"),
        Column(name="pipe", dimension="mass"),
    ]
    runs: list[str] = []
    if whole:
        columns += [
            Column(name="source", dimension="pressure"),
            Column(name="design flow", dimension="flow"),
            *(
                Column(
                    name=column.head,
                    dimension=None if column.sizes else column.key.dimension or "pressure",
                )
                for column in result.columns
            ),
        ]
        if len({tuple(row.sizes or ()) for row in rows if row.sizes}) == 1:
            runs = list(next(row.sizes for row in rows if row.sizes) or ())
        columns += [Column(name=f"size of {run}") for run in runs]
        columns.append(Column(name="problem", wrap=True))

    def cells(row: BatchRow) -> tuple[Cell, ...]:
        works = None if row.ok is None else "yes" if row.ok else "no"
        first: list[Cell] = [row.name, works, row.worst]
        first += [row.residual, row.required, row.margin, row.cost]
        if not whole:
            return tuple(first)
        values: list[Cell] = [
            column.sizes[int(value)] if column.sizes and value is not None else value
            for column, value in zip(result.columns, row.values, strict=True)
        ]
        sizes: list[Cell] = [(row.sizes or {}).get(run) for run in runs]
        return (*first, row.source, row.design_flow, *values, *sizes, row.problem)

    return Table(title=title, columns=tuple(columns), rows=tuple(cells(row) for row in rows))
