"""Tables and sentences as plain text that fits the terminal; colour only repeats what words say."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from msgspec import Struct, field

from supplycalc.output.terminal import draw
from supplycalc.output.text import clean
from supplycalc.records.sentences import cite

if TYPE_CHECKING:
    from supplycalc.records.sentences import Finding
    from supplycalc.records.table import Table
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


OLD_LABELS = {"fail": ("FAIL", "red"), "warn": ("WARN", "yellow"), "note": ("NOTE", "bold")}


def finding_lines(page: Page, finding: Finding, system: UnitSystem) -> None:
    """One finding: level, where, what; then what mends it and where the limit comes from."""
    label, style = OLD_LABELS[finding.level]
    page.paragraph(
        f"{finding.opening(system)}{finding.said(system)}",
        label=label,
        style=style,
        indent=2,
        hang=5,
    )
    if finding.remedy:
        word = "To do" if finding.level == "note" else "To mend it"
        page.paragraph(f"{word}: {finding.remedy_said(system)}", indent=7, hang=2)
    page.paragraph(f"Source: {cite(finding.source)}", indent=7, hang=2)
