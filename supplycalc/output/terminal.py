"""Tables and sentences as plain text that fits the terminal; colour only repeats what words say."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from msgspec import Struct, field

from supplycalc.output.text import clean

if TYPE_CHECKING:
    from supplycalc.output.view import Column, Table
    from supplycalc.units import UnitSystem

COLOURS = {"red": "31", "yellow": "33", "green": "32", "bold": "1", "dim": "2"}
GAP = 2
"""Blanks between two columns."""
NARROWEST = 9
"""A column of text is not squeezed below this, as long as the table fits."""
SCANT = 5
"""Nor below this, whatever else."""
WIDEST_PROSE = 100


class Line(Struct, frozen=True):
    """One line of output; the first `span` characters carry the style."""

    text: str
    style: str = ""
    span: int = 0


class Page(Struct):
    """Lines under construction; everything that is added is cleaned and fits the width."""

    width: int = 80
    lines: list[Line] = field(default_factory=list)

    def blank(self) -> None:
        """One empty line, never two in a row."""
        if self.lines and self.lines[-1].text:
            self.lines.append(Line(""))

    def heading(self, text: str) -> None:
        """A heading after an empty line."""
        self.blank()
        for part in textwrap.wrap(clean(text), self._prose()):
            self.lines.append(Line(part, "bold", len(part)))

    def paragraph(
        self, text: str, *, label: str = "", style: str = "", indent: int = 0, hang: int = 0
    ) -> None:
        """Running text, broken at blanks.

        Args:
            text: the text.
            label: a first word that carries the style; without one the first line does.
            style: a key of `COLOURS`, or nothing.
            indent: blanks before the first line [characters].
            hang: blanks more before the lines that follow [characters].
        """
        whole = f"{clean(label)} {clean(text)}" if label else clean(text)
        parts = textwrap.wrap(
            whole,
            self._prose(),
            initial_indent=" " * indent,
            subsequent_indent=" " * (indent + hang),
            break_on_hyphens=False,
        )
        for number, part in enumerate(parts):
            first = indent + len(label) if number == 0 else 0
            span = first if label else len(part)
            self.lines.append(Line(part, style if span else "", span))

    def verbatim(self, text: str) -> None:
        """One line as it is, its blanks kept; for small drawings."""
        self.lines.append(Line(clean(text)))

    def table(self, table: Table, system: UnitSystem) -> None:
        """A heading and its table."""
        self.heading(table.title)
        self.lines.extend(Line(text) for text in draw(table, system, self.width))

    def text(self, colour: bool) -> str:
        """The page as one string that ends in a line break."""
        return "".join(_painted(line, colour) + "\n" for line in self.lines)

    def _prose(self) -> int:
        return max(min(self.width, WIDEST_PROSE), 30)


def _painted(line: Line, colour: bool) -> str:
    if not (colour and line.style in COLOURS and line.span):
        return line.text
    start, rest = line.text[: line.span], line.text[line.span :]
    return f"\x1b[{COLOURS[line.style]}m{start}\x1b[0m{rest}"


def draw(table: Table, system: UnitSystem, width: int) -> list[str]:
    """Draw a table within a width, each column's unit once under its name.

    Args:
        table: the table.
        system: "us" or "metric".
        width: of the terminal [characters].

    Returns:
        The lines, without line breaks.
    """
    from tabulate import tabulate

    headers = [_header(column, system) for column in table.columns]
    rows = [
        [clean(column.text(cell, system)) for column, cell in zip(table.columns, row, strict=True)]
        for row in table.rows
    ]
    limits = _limits(table.columns, headers, rows, width)
    rows = [[_fold(cell, limit) for cell, limit in zip(row, limits, strict=True)] for row in rows]
    headers = [_fold(text, limit) for text, limit in zip(headers, limits, strict=True)]
    # headings go in as a row of their own: as headings tabulate would widen each column by two
    drawn: str = tabulate(
        [headers, *rows],
        tablefmt="plain",
        disable_numparse=True,
        colalign=["right" if column.is_number else "left" for column in table.columns],
    )
    lines = [line.rstrip() for line in drawn.splitlines()]
    below = max(text.count("\n") for text in headers) + 1
    rule = (" " * GAP).join("-" * width for width in _widths([headers, *rows]))
    return [*lines[:below], rule, *lines[below:]]


def _widths(rows: list[list[str]]) -> list[int]:
    return [
        max(len(part) for cell in cells for part in cell.split("\n"))
        for cells in zip(*rows, strict=True)
    ]


def _header(column: Column, system: UnitSystem) -> str:
    unit = column.unit(system)
    return f"{clean(column.name)}\n{unit}" if unit else clean(column.name)


def _limits(
    columns: tuple[Column, ...], headers: list[str], rows: list[list[str]], width: int
) -> list[int]:
    """Width of each column; the widest text that may be broken gives way first."""
    wanted = [
        max((len(part) for cell in (header, *cells) for part in cell.split("\n")), default=1)
        for header, cells in zip(headers, _columns(headers, rows), strict=True)
    ]
    limits = [max(want, 1) for want in wanted]
    if sum(limits) + GAP * (len(limits) - 1) <= width:
        return limits
    least = [
        max((len(cell) for cell in cells), default=0) if column.is_number else NARROWEST
        for column, cells in zip(columns, _columns(headers, rows), strict=True)
    ]
    least = [
        max(low, max(len(word) for word in header.split())) if column.wrap else want
        for column, low, header, want in zip(columns, least, headers, wanted, strict=True)
    ]
    whole = [
        max(low, min(_longest_word(cells), want)) if column.wrap else low
        for column, low, want, cells in zip(
            columns, least, wanted, _columns(headers, rows), strict=True
        )
    ]
    scant = [
        min(low, max(SCANT, *(len(word) for word in header.split())))
        if column.wrap and not column.is_number
        else low
        for column, low, header in zip(columns, least, headers, strict=True)
    ]
    # a word is broken only where whole words leave the table too wide
    for lows in (whole, least, scant):
        while sum(limits) + GAP * (len(limits) - 1) > width:
            spare = [limit - low for limit, low in zip(limits, lows, strict=True)]
            if max(spare) <= 0:
                break
            widest = max(
                (i for i in range(len(limits)) if spare[i] > 0), key=lambda i: (limits[i], -i)
            )
            limits[widest] -= 1
    return limits


def _longest_word(cells: list[str]) -> int:
    """Of what is never broken but by force: words, and their parts at hyphens."""
    pieces = (piece for cell in cells for piece in textwrap.wrap(cell, 1, break_long_words=False))
    return max(map(len, pieces), default=0)


def _columns(headers: list[str], rows: list[list[str]]) -> list[list[str]]:
    return [[row[i] for row in rows] for i in range(len(headers))]


def _fold(text: str, limit: int) -> str:
    if all(len(part) <= limit for part in text.split("\n")):
        return text
    parts = [textwrap.wrap(part, limit, break_on_hyphens=True) for part in text.split("\n")]
    return "\n".join(line for lines in parts for line in lines)
