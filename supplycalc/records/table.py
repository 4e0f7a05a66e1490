"""Tables of records: columns that know what they measure, rows in SI."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.records.fields import hint_of, measure_of
from supplycalc.units import DIMENSIONS, UnitSystem, convert, show, unit_of

Cell = str | float | None
"""Text, a number in SI (or a plain number), or nothing."""


def wait_cell(wait: float | None) -> Cell:
    """A wait [s] as a cell; without end where no water comes."""
    return "never" if wait is not None and math.isinf(wait) else wait


class Column(Struct, frozen=True, kw_only=True):
    """One column of a table."""

    name: str
    dimension: str | None = None
    """Key of `units.DIMENSIONS`; None: text, or a plain number with `digits`."""
    digits: int | None = None
    """Decimals of a plain number."""
    small: bool = False
    """Whether a plain number below 1 keeps two digits that say something: 0.037, not 0.0."""
    wrap: bool = False
    """Whether its text may be broken over lines where the table is too wide."""
    of: str | Callable[[Any], Cell] = ""
    """For `table_of`: the field of each record, as in "run.name", or what gives the cell; where a
    record within it is None, so is the cell."""

    @property
    def is_number(self) -> bool:
        """Whether its cells are numbers."""
        return self.dimension is not None or self.digits is not None

    @property
    def as_written(self) -> bool:
        """Whether its numbers, each for itself, have no noughts behind: lengths and heights."""
        want = None if self.dimension is None else DIMENSIONS[self.dimension]
        return want is not None and want.as_written and not want.grouped

    def unit(self, system: UnitSystem) -> str:
        """The unit its numbers are shown in; empty for text and plain numbers."""
        return "" if self.dimension is None else unit_of(self.dimension, system)

    def shown_digits(self, system: UnitSystem) -> int:
        """Decimals of a small number of its dimension."""
        return len(self.text(1.0, system).partition(".")[2])

    def text(self, cell: Cell, system: UnitSystem) -> str:
        """A cell as people read it, without its unit."""
        if cell is None:
            return ""
        if isinstance(cell, str):
            return cell
        if self.dimension is not None:
            return show(cell, self.dimension, system, unit=False)
        if self.small and 0.0 < abs(cell) < 1.0:
            return f"{cell:.2g}"
        return f"{cell:.{self.digits or 0}f}"

    def number(self, cell: Cell, system: UnitSystem) -> Cell:
        """A cell at full precision in the column's unit; text stays text."""
        if self.dimension is None or cell is None or isinstance(cell, str):
            return cell
        return convert(cell, self.dimension, system)[0]


class Table(Struct, frozen=True, kw_only=True):
    """A titled table; every row has one cell per column."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def texts(self, system: UnitSystem) -> list[list[str]]:
        """Every row as people read it; lengths, heads of one column end at the same decimal."""
        told = []
        for number, column in enumerate(self.columns):
            cells = [row[number] for row in self.rows]
            texts = [column.text(cell, system) for cell in cells]
            if column.as_written:
                decimals = max((len(text.partition(".")[2]) for text in texts), default=0)
                texts = [
                    f"{float(text):.{decimals}f}" if isinstance(cell, float | int) else text
                    for cell, text in zip(cells, texts, strict=True)
                ]
            elif column.dimension == "head" and any(text and "." not in text for text in texts):
                texts = [
                    f"{column.number(cell, system):.0f}" if isinstance(cell, float | int) else text
                    for cell, text in zip(cells, texts, strict=True)
                ]
            told.append(texts)
        return [list(row) for row in zip(*told, strict=True)]


def table_of(title: str, kind: Any, records: Iterable[Any], columns: Iterable[Column]) -> Table:
    """A table with one row per record, each column's dimension taken from the record's type.

    Args:
        columns: each with `of`; a dimension or digits that it names itself win over the type's.
    """
    ready = tuple(_measured(column, kind) for column in columns)
    return Table(
        title=title,
        columns=ready,
        rows=tuple(tuple(_cell(record, column) for column in ready) for record in records),
    )


def _measured(column: Column, kind: Any) -> Column:
    if not isinstance(column.of, str) or column.is_number:
        return column
    measure = measure_of(hint_of(kind, column.of))
    return column if measure is None else replace(column, dimension=measure.dimension)


def _cell(record: Any, column: Column) -> Cell:
    if not isinstance(column.of, str):
        return column.of(record)
    value = record
    for name in column.of.split("."):
        value = None if value is None else getattr(value, name)
    return value  # type: ignore[no-any-return]
