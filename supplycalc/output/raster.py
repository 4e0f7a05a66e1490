"""A drawing as PNG or PDF, and a text as PDF, by matplotlib; nothing else loads it."""

from __future__ import annotations

import io
from typing import Any

from supplycalc.output.drawing import Drawing, Label, Mark, Shape
from supplycalc.output.svg import INKS
from supplycalc.output.text import clean
from supplycalc.units import UnitSystem, base_of

POINT = 72.0
"""Units of a sheet to the inch, on paper and before it is enlarged."""
ENLARGED = 2.0
"""Pixels of a PNG over units of the sheet."""
MOST_PIXELS = 30_000
"""A PNG's height at most; beyond it the picture is made smaller."""
PAPER = {"us": (8.5, 11.0), "metric": (8.27, 11.69)}
"""[in] letter and A4"""
MARGIN = 0.5
"""[in] of a page"""


def to_png(drawing: Drawing) -> bytes:
    """A drawing as a PNG file, twice as large as its sheet."""
    figure, axes = _sheet(drawing, drawing.width / POINT, drawing.height / POINT)
    _draw(axes, drawing, 0.0, drawing.height)
    scale = min(ENLARGED, MOST_PIXELS / drawing.height)
    return _saved(figure, "png", dpi=POINT * scale)


def to_pdf(drawing: Drawing, system: UnitSystem) -> bytes:
    """A drawing as a PDF file, on as many pages as it needs, cut between rows."""
    from matplotlib.backends.backend_pdf import PdfPages

    paper = PAPER[base_of(system)]
    room = (paper[0] - 2 * MARGIN, paper[1] - 2 * MARGIN)
    scale = min(room[0] * POINT / drawing.width, 1.0)
    stream = io.BytesIO()
    # without a date the same file gives the same bytes
    about = {"Title": clean(drawing.title), "CreationDate": None, "Creator": None, "Producer": None}
    with PdfPages(stream, metadata=about) as pages:
        for top, bottom in drawing.slices(room[1] * POINT / scale):
            figure, axes = _sheet(drawing, *paper)
            height = (bottom - top) * scale / POINT
            axes.set_position(
                (
                    MARGIN / paper[0],
                    1.0 - (MARGIN + height) / paper[1],
                    drawing.width * scale / POINT / paper[0],
                    height / paper[1],
                )
            )
            _draw(axes, drawing, top, bottom, scale)
            pages.savefig(figure)
    return stream.getvalue()


LINES = 60
"""Of a text on a page."""
COLUMNS = 80
LETTER_WIDTH = 0.602
"""Of the monospaced letters, over their height."""


def text_pdf(text: str, title: str, system: UnitSystem) -> bytes:
    """A text as a PDF file in letters of one width, 60 lines of 80 columns on a page."""
    from matplotlib.backends.backend_pdf import PdfPages
    from matplotlib.figure import Figure

    paper = PAPER[base_of(system)]
    lines = text.rstrip("\n").split("\n")
    height = (paper[1] - 2 * MARGIN) / LINES
    points = min((paper[0] - 2 * MARGIN) * POINT / COLUMNS / LETTER_WIDTH, height * POINT / 1.15)
    stream = io.BytesIO()
    about = {"Title": clean(title), "CreationDate": None, "Creator": None, "Producer": None}
    with PdfPages(stream, metadata=about) as pages:
        for start in range(0, len(lines), LINES):
            figure = Figure(figsize=paper)
            for row, line in enumerate(lines[start : start + LINES]):
                figure.text(
                    MARGIN / paper[0],
                    1.0 - (MARGIN + row * height) / paper[1],
                    line,
                    family="DejaVu Sans Mono",
                    size=points,
                    va="top",
                    parse_math=False,
                )
            pages.savefig(figure)
    return stream.getvalue()


def _sheet(drawing: Drawing, width: float, height: float) -> tuple[Any, Any]:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    return figure, axes


def _draw(axes: Any, drawing: Drawing, top: float, bottom: float, scale: float = 1.0) -> None:
    axes.set_xlim(0.0, drawing.width)
    axes.set_ylim(bottom, top)
    for order, mark in enumerate(drawing.marks):
        _put(axes, mark, order, scale)


def _put(axes: Any, mark: Mark, order: int, scale: float) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Circle, Polygon

    if isinstance(mark, Label):
        axes.text(
            mark.x,
            mark.y,
            clean(mark.text),
            fontsize=mark.size * scale * 0.94,  # its face is wider than most
            color=INKS[mark.ink],
            fontweight="bold" if mark.bold else "normal",
            ha={"start": "left", "middle": "center", "end": "right"}[mark.anchor],
            va="baseline",
            zorder=order,
            clip_on=True,
            parse_math=False,
        )
        return
    if isinstance(mark, Shape):
        colours = {"facecolor": INKS[mark.fill], "edgecolor": INKS[mark.edge]}
        more = {**colours, "linewidth": mark.width * scale, "zorder": order}
        shape = Circle(mark.points[0], mark.radius, **more) if mark.radius else None
        axes.add_patch(shape or Polygon(mark.points, closed=True, **more))
        return
    line = Line2D(
        [x for x, _ in mark.points],
        [y for _, y in mark.points],
        color=INKS[mark.ink],
        linewidth=mark.width * scale,
        zorder=order,
        solid_capstyle="butt",
        dash_capstyle="butt",
    )
    if mark.dashes:
        # matplotlib counts dashes in line widths
        line.set_linestyle((0, tuple(dash / mark.width for dash in mark.dashes)))
    axes.add_line(line)


def _saved(figure: Any, form: str, dpi: float) -> bytes:
    stream = io.BytesIO()
    figure.savefig(stream, format=form, dpi=dpi, metadata={"Software": None})
    return stream.getvalue()
