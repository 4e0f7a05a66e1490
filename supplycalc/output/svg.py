"""A drawing as SVG, set by hand: no script, no link, every text escaped."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape

from supplycalc.output.drawing import ASCENT, DESCENT, Drawing, Label, Mark, Shape, Stroke
from supplycalc.output.text import clean

INKS = {
    "black": "#111111",
    "grey": "#4d4d4d",
    "pale": "#b8b8b8",
    "white": "#ffffff",
    "cold": "#17446b",
    "hot": "#8f2f12",
    "none": "none",
}
"""Dark enough on white to be read in print; cold and hot differ by dashes, too."""
FONT = "system-ui, sans-serif"
SPACE = 'xmlns="http://www.w3.org/2000/svg"'
"""The name of the language; nothing is fetched from there."""


def to_svg(drawing: Drawing) -> str:
    """A drawing as the text of an SVG file."""
    head = f'<?xml version="1.0" encoding="UTF-8"?>\n<svg {SPACE} '
    return f"{head}{_frame(drawing, 0.0, drawing.height)}\n</svg>\n"


def parts_svg(drawing: Drawing, tallest: float) -> Iterator[str]:
    """A drawing as SVG elements for a page, no taller each, cut where a page may end.

    All but the first are silent to a screen reader.
    """
    for number, (top, bottom) in enumerate(drawing.slices(tallest)):
        yield f"<svg {_frame(drawing, top, bottom, described=number == 0)}</svg>"


def _frame(drawing: Drawing, top: float, bottom: float, *, described: bool = True) -> str:
    size = f'width="{_n(drawing.width)}" height="{_n(bottom - top)}"'
    box = f'viewBox="0 {_n(top)} {_n(drawing.width)} {_n(bottom - top)}"'
    opening = f'{size} {box} font-family="{FONT}" font-size="12"'
    if described:
        title, words = _safe(drawing.title), _safe(drawing.description)
        opening += f' role="img" aria-label="{title}. {words}">\n<title>{title}</title>'
        opening += f"\n<desc>{words}</desc>"
    else:
        opening += ' aria-hidden="true">'
    white = INKS["white"]
    ground = f'<rect x="0" y="{_n(top)}" width="100%" height="100%" fill="{white}"/>'
    return "\n".join([opening, ground, *_marks(drawing.marks, top, bottom)])


def _marks(marks: Iterable[Mark], top: float, bottom: float) -> Iterator[str]:
    for mark in marks:
        low, high = _reach(mark)
        if high >= top and low <= bottom:
            yield _mark(mark)


def _reach(mark: Mark) -> tuple[float, float]:
    """Top and bottom of a mark."""
    if isinstance(mark, Label):
        return mark.y - ASCENT * mark.size, mark.y + DESCENT * mark.size
    more = mark.radius if isinstance(mark, Shape) else 0.0
    heights = [y for _, y in mark.points]
    return min(heights) - more - mark.width, max(heights) + more + mark.width


def _mark(mark: Mark) -> str:
    match mark:
        case Label():
            weight = ' font-weight="bold"' if mark.bold else ""
            anchor = f' text-anchor="{mark.anchor}"' if mark.anchor != "start" else ""
            return (
                f'<text x="{_n(mark.x)}" y="{_n(mark.y)}" font-size="{_n(mark.size)}"{anchor}'
                f'{weight} fill="{INKS[mark.ink]}">{_safe(mark.text)}</text>'
            )
        case Stroke():
            dashes = ""
            if mark.dashes:
                dashes = f' stroke-dasharray="{" ".join(map(_n, mark.dashes))}"'
            return (
                f'<polyline points="{_points(mark.points)}" fill="none" '
                f'stroke="{INKS[mark.ink]}" stroke-width="{_n(mark.width)}"{dashes}/>'
            )
        case Shape():
            drawn = (
                f'fill="{INKS[mark.fill]}" stroke="{INKS[mark.edge]}" '
                f'stroke-width="{_n(mark.width)}"/>'
            )
            if mark.radius:
                [(x, y)] = mark.points
                return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(mark.radius)}" {drawn}'
            return f'<polygon points="{_points(mark.points)}" {drawn}'


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _safe(text: str) -> str:
    return escape(clean(text))
