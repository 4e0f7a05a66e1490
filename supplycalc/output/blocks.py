"""A page as data: what a command shows is a list of these, built once and drawn by a renderer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.output.drawing import Drawing
from supplycalc.records.sentences import LEVELS, Assumption, Finding
from supplycalc.records.table import Table
from supplycalc.units import UnitSystem

Mood = Literal["good", "care", "bad", "strong", "plain"]
"""How a verdict is meant; a renderer may colour it, the words say it anyway."""


class Verdict(Struct, frozen=True, kw_only=True):
    """The answer, first of all."""

    text: str
    mood: Mood = "plain"


class Heading(Struct, frozen=True):
    """The start of a section."""

    text: str


class Paragraph(Struct, frozen=True, kw_only=True):
    """Running text."""

    text: str
    label: str = ""
    """A first word that stands out, such as "WARN" or "1."."""
    mood: Mood = "plain"
    indent: int = 0
    """[characters] before the first line"""
    hang: int = 0
    """[characters] more before the lines that follow"""
    apart: bool = False
    """Whether space stands before it."""


class Account(Struct, frozen=True):
    """A running account: a table whose last rows sum up those before."""

    table: Table


class FindingBlock(Struct, frozen=True, kw_only=True):
    """One finding with what mends it and where its limit comes from."""

    finding: Finding
    where: bool = True
    """Whether it says where it stands, unless its sentence begins so."""
    brief: int = 0
    """Lines that must do, without its source, as the whole stands elsewhere; 0: the whole."""


class Checklist(Struct, frozen=True, kw_only=True):
    """Things to do or to know, one line or more each."""

    items: tuple[str, ...]
    mark: str = ""
    """Before each item, such as "-"; lines that follow stand under the item's first word."""


class Picture(Struct, frozen=True, kw_only=True):
    """A small drawing of characters, its blanks kept."""

    lines: tuple[str, ...]
    narrow: tuple[str, ...] = ()
    """The same for a telephone; empty: as it is."""


class Figure(Struct, frozen=True, kw_only=True):
    """A picture for a page, drawn for two widths of it."""

    wide: Drawing
    narrow: Drawing
    """The same for a phone held upright."""
    caption: str


class SheetLine(Struct, frozen=True, kw_only=True):
    """One line: what is computed, by which formula, with which numbers, to which result."""

    symbol: str
    """Such as "v"; later lines use it."""
    words: str
    formula: str = ""
    """In symbols; empty: a given figure."""
    numbers: str = ""
    """The same with numbers; empty where nothing is computed."""
    result: str = ""
    unit: str = ""
    source: str = ""

    @property
    def equation(self) -> str:
        """Symbol and formula; a formula that is an equation already stands alone."""
        if "=" in self.formula:
            return self.formula
        return f"{self.symbol} = {self.formula}" if self.formula else self.symbol


class Sheet(Struct, frozen=True, kw_only=True):
    """Lines of a calculation that can be followed by hand."""

    title: str
    lines: tuple[SheetLine, ...]


class OutlineLine(Struct, frozen=True, kw_only=True):
    """One line of an outline."""

    stem: str
    """Before its name: the lines that lead to it."""
    hang: str
    """Before what does not fit beside it."""
    name: str
    facts: str = ""
    figure: str = ""
    mark: str = ""
    """At the end, such as "5.0 psi to spare"."""
    mood: Mood = "plain"


class Outline(Struct, frozen=True, kw_only=True):
    """A tree in lines of text."""

    lines: tuple[OutlineLine, ...]


class Chart(Struct, frozen=True, kw_only=True):
    """A line through points."""

    title: str
    """What its axes are."""
    points: tuple[tuple[float, float], ...]
    """(x, y) as shown, in order."""
    x_range: tuple[float, float]


class Bar(Struct, frozen=True, kw_only=True):
    """One step of a quantity that is used up on the way."""

    name: str
    value: float
    """What is left after it, in SI; below zero: nothing."""
    size: str = ""
    length: float | None = None
    """[m]"""
    limit: bool = False
    """Whether it is what is asked for, not what is there."""


class Bars(Struct, frozen=True, kw_only=True):
    """A quantity along a way, a bar per step."""

    title: str
    dimension: str
    """Key of `units.DIMENSIONS`."""
    bars: tuple[Bar, ...]


Block = (
    Verdict
    | Heading
    | Paragraph
    | Table
    | Account
    | FindingBlock
    | Checklist
    | Picture
    | Figure
    | Sheet
    | Outline
    | Chart
    | Bars
)


def by_level(findings: Iterable[Finding]) -> list[Finding]:
    """Failures first, then warnings, then notes; their order within a level stays."""
    return sorted(findings, key=lambda finding: LEVELS.index(finding.level))


def findings_blocks(findings: Iterable[Finding], none: str) -> Iterator[Block]:
    """Findings by level under their heading, or the sentence for none."""
    yield Heading("Findings")
    listed = by_level(findings)
    if not listed:
        yield Paragraph(text=none, indent=2)
    for finding in listed:
        yield FindingBlock(finding=finding)


MOST_FINDINGS = 5
"""On a first screen."""


def first_findings(findings: Iterable[Finding], *, room: int) -> Iterator[Block]:
    """The findings that matter most in so many lines, and how many more there are.

    A note takes one line, a warning or a failure two, and one more for what to do where there is
    room. Of notes with one remedy the first is shown.
    """
    listed = by_level(findings)
    shown: list[FindingBlock] = []
    remedies: set[str] = set()
    for finding in listed:
        if finding.level == "note" and finding.remedy in remedies:
            continue
        if len(shown) == MOST_FINDINGS:
            break
        remedies.add(finding.remedy or finding.message)
        if room <= 0 and shown:
            break
        lines = 1 if finding.level == "note" else min(2, max(room, 1))
        shown.append(FindingBlock(finding=finding, brief=lines))
        room -= lines
    for place, block in enumerate(shown):
        if room > 0 and block.brief > 1 and block.finding.remedy:
            shown[place] = replace(block, brief=block.brief + 1)
            room -= 1
    if listed:
        more = f" (and {len(listed) - len(shown)} more)" if len(listed) > len(shown) else ""
        yield Heading(f"Look at{more}")
    yield from shown


ASSUMED = "Assumed, because the file leaves it out"


def assumptions_blocks(
    assumptions: Iterable[Assumption], system: UnitSystem, heading: str = ASSUMED
) -> Iterator[Block]:
    """What was assumed, a line each; nothing at all where nothing was."""
    items = tuple(assumption.said(system) for assumption in assumptions)
    if items:
        yield Heading(heading)
        yield Checklist(items=items, mark="-")


EVERYTHING = "Everything: --full"
CARE = "Take care"
"""The heading of the cautions."""


def care_in_short(*, hot: bool, trench: bool = False) -> Iterator[Block]:
    """The cautions in two lines, and where everything stands; beside a first screen."""
    dig = "an unshored trench kills; " if trench else ""
    scald = "mixed water scalds until a valve and a thermometer say not; " if hot else ""
    decide = "code, inspector and licensed trades decide."
    yield Paragraph(text=f"Care: an estimate; {dig}{scald}{decide} {EVERYTHING}")


def care_blocks(cautions: Iterable[str]) -> Iterator[Block]:
    """The cautions that belong beside a result."""
    yield Heading(CARE)
    yield Checklist(items=tuple(cautions))
