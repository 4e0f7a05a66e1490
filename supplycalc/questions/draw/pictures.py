"""The pictures of a supply: riser diagram and plans, as drawings and as files."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import Figure
from supplycalc.output.drawing import Drawing, stacked
from supplycalc.questions.draw.riser import NARROW, WIDE, riser
from supplycalc.questions.draw.storey_plan import storey_plans
from supplycalc.questions.draw.study import SupplyDrawing
from supplycalc.questions.draw.trench_section import trench_sections
from supplycalc.units import UnitSystem

CAPTION = (
    "Riser diagram: the storeys as levels, each run with its size, length and flow, each end with "
    "its pressure, each fixture with what it has to spare."
)


def pictures(drawn: SupplyDrawing, system: UnitSystem, *, phone: bool = False) -> list[Drawing]:
    """The riser diagram, then what else the file lets be drawn."""
    width = NARROW if phone else WIDE
    return [
        riser(drawn, system, width),
        *storey_plans(drawn, system, width),
        *trench_sections(drawn, system, width),
    ]


def figures(drawn: SupplyDrawing, system: UnitSystem) -> Iterator[Figure]:
    """The same pictures for a page, each wide and narrow."""
    wide, narrow = (pictures(drawn, system, phone=phone) for phone in (False, True))
    for each, slim in zip(wide, narrow, strict=True):
        yield Figure(wide=each, narrow=slim, caption=CAPTION if each is wide[0] else each.title)


def as_file(
    drawn: SupplyDrawing, system: UnitSystem, form: str, *, phone: bool = False
) -> str | bytes:
    """All pictures on one sheet, as what a ".svg", ".png" or ".pdf" file holds."""
    return sheet_as(stacked(pictures(drawn, system, phone=phone)), system, form)


def sheet_as(drawing: Drawing, system: UnitSystem, form: str) -> str | bytes:
    """A drawing as what a file of a form holds."""
    if form == ".svg":
        from supplycalc.output.svg import to_svg

        return to_svg(drawing)
    from supplycalc.output import raster

    return raster.to_png(drawing) if form == ".png" else raster.to_pdf(drawing, system)
