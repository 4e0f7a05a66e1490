"""Tables as CSV that a spreadsheet opens without running anything."""

from __future__ import annotations

import csv
import io

from supplycalc.records.table import Cell, Table
from supplycalc.units import UnitSystem

STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def to_csv(table: Table, system: UnitSystem) -> str:
    """A table as CSV (RFC 4180, lines end in CR LF), numbers to twelve digits.

    Text that a spreadsheet would take for a formula gets a leading apostrophe.

    Args:
        system: units of the numbers; named in the heading of each column.
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(
        [
            harmless(f"{column.name} [{unit}]" if (unit := column.unit(system)) else column.name)
            for column in table.columns
        ]
    )
    for row in table.rows:
        writer.writerow(
            [
                _written(column.number(cell, system))
                for column, cell in zip(table.columns, row, strict=True)
            ]
        )
    return stream.getvalue()


def _written(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return harmless(cell)
    if isinstance(cell, int):
        return str(cell)  # a count is whole
    return repr(float(f"{cell:.12g}"))  # 17.65, not 17.650000000000006


def harmless(text: str) -> str:
    """The same text, with an apostrophe before what a spreadsheet would run.

    A plain number in text, such as "-6", is left as it is.
    """
    if text.lstrip(" ").startswith(STARTS_A_FORMULA) or text.startswith(STARTS_A_FORMULA):
        try:
            float(text)
        except ValueError:
            return f"'{text}"
    return text
