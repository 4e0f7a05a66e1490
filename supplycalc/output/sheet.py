"""A page of blocks as a sheet to hand over: text of 80 columns, or the same as PDF."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from supplycalc.output.blocks import Block
    from supplycalc.units import UnitSystem


def sheet_files(
    page: Callable[[UnitSystem], Iterable[Block]], title: str
) -> dict[str, Callable[[UnitSystem], str | bytes]]:
    """What files named *.txt and *.pdf get."""

    def as_text(system: UnitSystem) -> str:
        from supplycalc.output.terminal import to_text

        return to_text(page(system), system)

    def as_pdf(system: UnitSystem) -> bytes:
        from supplycalc.output.raster import text_pdf

        return text_pdf(as_text(system), title, system)

    return {".txt": as_text, ".pdf": as_pdf}
