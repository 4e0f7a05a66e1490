"""A drawing as data: lines, shapes and labels on a sheet; `svg` and `raster` put it on paper.

Positions are in units of the sheet, x to the right, y downwards; a label's height is 12 or so.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.output.text import clean

Ink = Literal["black", "grey", "pale", "white", "cold", "hot", "none"]
"""What a mark is drawn in; all of them can be told apart in black and white by dash or width."""
Anchor = Literal["start", "middle", "end"]
Dashes = tuple[float, ...]

SOLID: Dashes = ()
HOT: Dashes = (7.0, 4.0)
"""Hot pipe is dashed, cold pipe is not."""
LEADER: Dashes = (1.0, 4.0)

SIZE = 12.0
"""Of usual labels."""
ASCENT, DESCENT = 0.8, 0.22
"""Of letters above and below their line, over their size."""
WIDE = 1.0
"""Of a letter that the table does not have, over its size."""

_REGULAR = {
    0.30: "'IJijl", 0.35: " ,./:;\\|", 0.40: "()-[]ft", 0.45: "!r", 0.50: '"*_`', 0.55: "?csz",
    0.60: "FLkvxy·", 0.65: "$0123456789EPSTYabdeghnopqu{}", 0.70: "ABCKRVXZ", 0.75: "NU",
    0.80: "&DGHOQ", 0.85: "#+<=>^w~×−≤≥≈", 0.90: "M", 1.00: "%@Wm–",
}  # fmt: skip
_BOLD = {
    0.35: " 'ijl", 0.40: ",./:;IJ\\|·", 0.45: "-f", 0.50: "!()[]_`rt", 0.55: '"*', 0.60: "?csz",
    0.65: "Lx", 0.70: "$0123456789EFTaekovy", 0.75: "CPSYZbdghnpqu{}", 0.80: "ABKRVX",
    0.85: "#+<=>DGHNU^~×−≤≥≈", 0.90: "&OQ", 0.95: "w", 1.00: "@M–", 1.05: "%m", 1.15: "W",
}  # fmt: skip
WIDTHS = {
    bold: {letter: width for width, letters in table.items() for letter in letters}
    for bold, table in ((False, _REGULAR), (True, _BOLD))
}
"""Of letters over their size, of a wide sans serif: a reader's own face is seldom wider.

Source: advance widths of DejaVu Sans 2.37, rounded up."""


class Stroke(Struct, frozen=True, kw_only=True):
    """A line through points."""

    points: tuple[tuple[float, float], ...]
    ink: Ink = "black"
    width: float = 1.5
    dashes: Dashes = SOLID


class Shape(Struct, frozen=True, kw_only=True):
    """A closed line through points, or a circle where it has a radius."""

    points: tuple[tuple[float, float], ...]
    radius: float = 0.0
    fill: Ink = "white"
    edge: Ink = "black"
    width: float = 1.2


class Label(Struct, frozen=True, kw_only=True):
    """A line of text; its letters stand on `y`."""

    x: float
    y: float
    text: str
    size: float = SIZE
    anchor: Anchor = "start"
    ink: Ink = "black"
    bold: bool = False

    @property
    def box(self) -> tuple[float, float, float, float]:
        """What it covers at most: left, top, right, bottom."""
        width = text_width(self.text, self.size, bold=self.bold)
        left = self.x - {"start": 0.0, "middle": width / 2, "end": width}[self.anchor]
        return left, self.y - ASCENT * self.size, left + width, self.y + DESCENT * self.size


Mark = Stroke | Shape | Label


class Drawing(Struct, frozen=True, kw_only=True):
    """A sheet with marks, drawn in their order."""

    title: str
    """In a few words: what it is of."""
    description: str
    """What it shows, for who does not see it."""
    width: float
    height: float
    marks: tuple[Mark, ...]
    breaks: tuple[float, ...] = ()
    """Heights, ascending, at which it may be cut between two pages."""

    @property
    def labels(self) -> Iterator[Label]:
        """Its texts."""
        return (mark for mark in self.marks if isinstance(mark, Label))

    def slices(self, tallest: float) -> list[tuple[float, float]]:
        """Where to cut it so that no part is taller than asked, if its breaks allow."""
        cuts = [0.0]
        reached = 0.0
        for place in (*self.breaks, self.height):
            if place - cuts[-1] > tallest and reached > cuts[-1]:
                cuts.append(reached)
            reached = place
        return list(zip(cuts, [*cuts[1:], self.height], strict=True))


def text_width(text: str, size: float = SIZE, *, bold: bool = False) -> float:
    """Width of a text at most, in units of the sheet."""
    widths = WIDTHS[bold]
    return size * sum(widths.get(letter, WIDE) for letter in clean(text))


def fold(text: str, width: float, size: float = SIZE, *, bold: bool = False) -> list[str]:
    """A text in lines that are no wider than asked, broken at blanks, long words by force."""
    lines: list[str] = []
    # a number and its unit stay on one line
    for word in _NUMBER.sub("\N{NO-BREAK SPACE}", " ".join(clean(text).split())).split(" "):
        for piece in _pieces(word.replace("\N{NO-BREAK SPACE}", " "), width, size, bold):
            joined = f"{lines[-1]} {piece}" if lines else piece
            if lines and text_width(joined, size, bold=bold) <= width:
                lines[-1] = joined
            else:
                lines.append(piece)
    return lines or [""]


_NUMBER = re.compile(r"(?<=\d) (?=(?:ft|in|m|mm|psi|kPa|bar|gpm|L/min)\b)")
"""Between a number and its unit."""


def _pieces(word: str, width: float, size: float, bold: bool) -> Iterable[str]:
    if text_width(word, size, bold=bold) <= width:
        return (word,)
    return textwrap.wrap(word, max(int(width / (size * 1.15)), 1))


def labels_of(lines: Sequence[str], x: float, y: float, leading: float, **more: Any) -> list[Label]:
    """Lines of text one below the other, the first standing on `y`."""
    return [
        Label(x=x, y=y + number * leading, text=text, **more) for number, text in enumerate(lines)
    ]


def circle(x: float, y: float, radius: float, **more: Any) -> Shape:
    """A circle around a point."""
    return Shape(points=((x, y),), radius=radius, **more)


def rectangle(left: float, top: float, right: float, bottom: float, **more: Any) -> Shape:
    """A rectangle by its corners."""
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    return Shape(points=corners, **more)


def moved(mark: Mark, down: float) -> Mark:
    """A mark further down on its sheet."""
    if isinstance(mark, Label):
        return replace(mark, y=mark.y + down)
    return replace(mark, points=tuple((x, y + down) for x, y in mark.points))


def stacked(drawings: Sequence[Drawing]) -> Drawing:
    """Several drawings below each other on one sheet."""
    first, *others = drawings
    if not others:
        return first
    marks: list[Mark] = []
    breaks: list[float] = []
    top = 0.0
    for drawing in drawings:
        if top:
            breaks.append(top)
        marks += [moved(mark, top) for mark in drawing.marks]
        breaks += [top + place for place in drawing.breaks]
        top += drawing.height
    return Drawing(
        title=first.title,
        description=" ".join(drawing.description for drawing in drawings),
        width=max(drawing.width for drawing in drawings),
        height=top,
        marks=tuple(marks),
        breaks=tuple(breaks),
    )
