"""A page as data: what a command shows is a list of these, built once and drawn by a renderer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal

from msgspec import Struct

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


class Checklist(Struct, frozen=True, kw_only=True):
    """Things to do or to know, one line or more each."""

    items: tuple[str, ...]
    mark: str = ""
    """Before each item, such as "-"; lines that follow stand under the item's first word."""


class Picture(Struct, frozen=True, kw_only=True):
    """A small drawing of characters, its blanks kept."""

    lines: tuple[str, ...]


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
    """A line through points; what its axes are stands in the heading above it."""

    points: tuple[tuple[float, float], ...]
    """(x, y) as shown, in order."""
    x_range: tuple[float, float]


Block = (
    Verdict
    | Heading
    | Paragraph
    | Table
    | Account
    | FindingBlock
    | Checklist
    | Picture
    | Outline
    | Chart
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


def assumptions_blocks(
    assumptions: Iterable[Assumption], system: UnitSystem, heading: str
) -> Iterator[Block]:
    """What was assumed, a line each; nothing at all where nothing was."""
    items = tuple(assumption.said(system) for assumption in assumptions)
    if items:
        yield Heading(heading)
        yield Checklist(items=items, mark="-")


def care_blocks(cautions: Iterable[str]) -> Iterator[Block]:
    """The cautions that belong beside a result."""
    yield Heading("Take care")
    yield Checklist(items=tuple(cautions))
