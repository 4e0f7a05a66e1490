"""What `draw` shows on a terminal: the supply as a tree."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import Block, Outline, Paragraph
from supplycalc.questions.draw.outline import outline
from supplycalc.questions.draw.study import Row, SupplyDrawing
from supplycalc.records import Column, Table, table_of
from supplycalc.units import UnitSystem, show, unit_of

MOST_LINES = 24
"""Of a tree that is shown whole without being asked for."""


def drawing_page(
    drawn: SupplyDrawing, system: UnitSystem, *, whole: bool = False
) -> Iterator[Block]:
    """What `draw` shows without a file to draw into."""
    design = drawn.design
    flow = show(design.demand.design_flow[0], "flow", system)
    pressure = unit_of("pressure", system)
    yield Paragraph(
        text=f"{design.house.project.name}: size, length and flow of each run, the pressure at its "
        f"end while the design flow of {flow} runs ({design.method}), and what is to spare "
        f"(+, {pressure}).{drawn.sizes_told}"
    )
    whole = whole or len(drawn.rows) <= MOST_LINES
    yield Outline(lines=tuple(outline(drawn, system, whole=whole)))
    marks = [f"Heavy line: the way to {design.worst.name}, which has least to spare."]
    if any(row.side == "hot" for row in drawn.rows):
        marks.append("Broken line: hot.")
    if any(row.warned for row in drawn.rows):
        marks.append("!: see the warnings of 'supplycalc size'.")
    if not whole:
        marks.append("Every outlet: --full.")
    marks.append("As a picture: -o supply.svg, .png or .pdf.")
    yield Paragraph(text=" ".join(marks), apart=whole)


def rows_table(drawn: SupplyDrawing) -> Table:
    """The rows of the drawing for a spreadsheet, from the source up."""
    return table_of(
        "Rows of the riser diagram, from the source up",
        Row,
        drawn.rows,
        (
            Column(name="name", of="name"),
            Column(name="type", of="type"),
            Column(name="level", of="level"),
            Column(name="side", of="side"),
            Column(name="height", of="elevation"),
            Column(name="run", of="run_name"),
            Column(name="size", of="size"),
            Column(name="length", of="length"),
            Column(name="flow", of="design_flow"),
            Column(name="pressure", of="pressure"),
            Column(name="needed", of="required"),
            Column(name="to spare", of="margin"),
            Column(name="worst way", of=lambda row: "yes" if row.worst_way else ""),
            Column(name="fails", of=lambda row: "yes" if row.fails else ""),
        ),
    )
