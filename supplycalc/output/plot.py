"""Pictures of numbers: lines over an axis, and bars, drawn to be read in black and white."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct

from supplycalc.output.drawing import (
    SIZE,
    SOLID,
    Dashes,
    Drawing,
    Label,
    Mark,
    Stroke,
    circle,
    fold,
    labels_of,
    rectangle,
    text_width,
)

SMALL = SIZE - 1.0
LEADING = 14.0
EDGE = 8.0
STYLES: tuple[Dashes, ...] = (SOLID, (8.0, 4.0), (2.0, 3.0), (10.0, 3.0, 2.0, 3.0), (4.0, 2.0))
"""Of lines, the thick ones first, else in their order."""


class Series(Struct, frozen=True, kw_only=True):
    """One line of a plot, named at its right end."""

    name: str
    points: tuple[tuple[float, float], ...]
    """(x, y) as shown, x ascending."""
    thick: bool = False
    dotted: bool = False
    """Whether each point has a dot."""


class Across(Struct, frozen=True, kw_only=True):
    """A level across a plot."""

    name: str
    y: float


class BarRow(Struct, frozen=True, kw_only=True):
    """One row of a bar picture: what is left, and what was there before."""

    name: str
    value: float | None
    """None: nothing is left."""
    before: float | None = None
    shown: str = ""
    """The value in words."""
    strong: bool = False


class Span(Struct, frozen=True, kw_only=True):
    """One row of a picture of spans: from a rare value to a usual one, and what is needed."""

    name: str
    rare: float
    usual: float
    needed: float
    shown: str
    """The rare value in words."""


def nice_ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round numbers from below `low` to above `high`, at most so many and a few."""
    span = max(high - low, 1e-9)
    rough = span / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in (1.0, 2.0, 2.5, 5.0, 10.0) if power * factor >= rough)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [number * step for number in range(first, last + 1)]


def plot(
    title: str,
    description: str,
    series: Sequence[Series],
    *,
    x_name: str,
    y_name: str,
    width: float,
    height: float = 280.0,
    levels: Sequence[Across] = (),
) -> Drawing:
    """Lines over one axis, each named where it ends.

    Args:
        description: what it shows, for who does not see it.
        series: at least one, with two points or more each.
        width: of the sheet.
        height: of the part with the lines.
    """
    xs = [x for line in series for x, _ in line.points]
    ys = [y for line in series for _, y in line.points] + [level.y for level in levels]
    x_ticks = nice_ticks(min(0.0, *xs), max(xs), 6 if width > 500 else 4)
    y_ticks = nice_ticks(min(0.0, *ys), max(ys))
    names = [(line.name, line.thick) for line in series] + [(level.name, False) for level in levels]
    beside = min(max(text_width(name, SMALL, bold=bold) for name, bold in names), width * 0.34)
    left = EDGE + max(text_width(_tick(tick, y_ticks), SMALL) for tick in y_ticks) + 6.0
    right = width - EDGE - beside - 16.0
    top, bottom = EDGE + 26.0, EDGE + 26.0 + height

    def at(x: float, y: float) -> tuple[float, float]:
        across = (x - x_ticks[0]) / (x_ticks[-1] - x_ticks[0])
        up = (y - y_ticks[0]) / (y_ticks[-1] - y_ticks[0])
        return left + across * (right - left), bottom - up * (bottom - top)

    marks: list[Mark] = [Label(x=EDGE, y=EDGE + 10.0, text=y_name, size=SMALL, ink="grey")]
    for tick in y_ticks:
        x, y = at(x_ticks[0], tick)
        marks.append(Stroke(points=((left, y), (right, y)), ink="pale", width=0.6))
        words = _tick(tick, y_ticks)
        marks.append(
            Label(x=left - 6.0, y=y + 4.0, text=words, size=SMALL, anchor="end", ink="grey")
        )
    marks += _x_axis(x_ticks, at, bottom)
    marks.append(Label(x=right, y=bottom + 34.0, text=x_name, size=SMALL, anchor="end", ink="grey"))
    ends: list[tuple[float, float, str, bool]] = []
    for level in levels:
        x, y = at(x_ticks[-1], level.y)
        marks.append(Stroke(points=((left, y), (right, y)), width=1.0, dashes=(3.0, 3.0)))
        ends.append((x, y, level.name, False))
    for number, line in enumerate(sorted(series, key=lambda line: not line.thick)):
        points = tuple(at(*point) for point in line.points)
        style = STYLES[number % len(STYLES)]
        marks.append(Stroke(points=points, width=2.6 if line.thick else 1.6, dashes=style))
        if line.dotted:
            marks += [circle(x, y, 2.4, fill="black") for x, y in points]
        ends.append((*points[-1], line.name, line.thick))
    marks += end_labels(ends, right + 14.0, beside, top, bottom)
    low = max((mark.box[3] for mark in marks if isinstance(mark, Label)), default=bottom)
    return Drawing(
        title=title,
        description=description,
        width=width,
        height=max(bottom + 40.0, low + EDGE),
        marks=tuple(marks),
    )


def _x_axis(
    ticks: Sequence[float], at: Callable[[float, float], tuple[float, float]], bottom: float
) -> Iterator[Mark]:
    taken = -math.inf
    for tick in ticks:
        x, _ = at(tick, 0.0)
        yield Stroke(points=((x, bottom), (x, bottom + 4.0)), ink="grey", width=0.8)
        label = Label(
            x=x, y=bottom + 16.0, text=_tick(tick, ticks), size=SMALL, anchor="middle", ink="grey"
        )
        if label.box[0] > taken:
            taken = label.box[2] + 4.0
            yield label


def _tick(value: float, ticks: Sequence[float]) -> str:
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    digits = max(-math.floor(math.log10(step) + 1e-9), 0)
    if abs(step * 10**digits - round(step * 10**digits)) > 1e-6:
        digits += 1
    return f"{value + 0.0:.{digits}f}"


def end_labels(
    ends: Sequence[tuple[float, float, str, bool]],
    left: float,
    width: float,
    top: float,
    bottom: float,
) -> Iterator[Mark]:
    """Names at the right, spread so that none touch, each tied to the end of its line."""
    ordered = sorted(ends, key=lambda end: (round(end[1], 1), end[0]))  # so that no ties cross
    folded = [fold(name, width + 0.01, SMALL, bold=bold) for _, _, name, bold in ordered]
    starts: list[float] = []
    reached = top - 8.0
    for (_, y, _, _), lines in zip(ordered, folded, strict=True):
        starts.append(max(y + 4.0, reached + LEADING))
        reached = starts[-1] + LEADING * (len(lines) - 1)
    limit = bottom + 2.0
    for number in range(len(starts) - 1, -1, -1):  # back up where they ran out below
        starts[number] = min(starts[number], limit - LEADING * (len(folded[number]) - 1))
        limit = starts[number] - LEADING
    for (x, y, _, bold), lines, start in zip(ordered, folded, starts, strict=True):
        tie = ((x, y), (left - 3.0, start - 4.0))
        yield Stroke(points=tie, ink="grey", width=0.8, dashes=(2.0, 3.0))
        yield from labels_of(lines, left, start, LEADING, size=SMALL, bold=bold)


def bars(
    title: str,
    description: str,
    rows: Sequence[BarRow],
    *,
    width: float,
    needed: float | None = None,
    needed_name: str = "",
) -> Drawing:
    """Bars one below the other: filled what is left, open what was lost on the step.

    Args:
        width: of the sheet.
        needed: where a broken line runs down.
        needed_name: what it is called.
    """
    most = max([row.before or 0.0 for row in rows] + [row.value or 0.0 for row in rows] + [1e-9])
    stacked = width < 500.0
    values = max(text_width(row.shown, SMALL, bold=True) for row in rows)
    name_width = (
        width - 2 * EDGE
        if stacked
        else min(
            max(text_width(row.name, SIZE, bold=row.strong) for row in rows) + 1.0, width * 0.42
        )
    )
    left = EDGE if stacked else EDGE + name_width + 12.0
    right = width - EDGE - values - 8.0
    marks: list[Mark] = []
    breaks: list[float] = []
    y = EDGE

    def across(value: float) -> float:
        return left + max(value, 0.0) / most * (right - left)

    spans: list[tuple[float, float]] = []
    for row in rows:
        names = fold(row.name, name_width, SIZE, bold=row.strong)
        marks += labels_of(names, EDGE, y + 12.0, LEADING, bold=row.strong)
        down = y + (LEADING * len(names) + 2.0 if stacked else 2.0)
        value = row.value or 0.0
        if row.before is not None and row.before > value:
            open_part = rectangle(
                across(value), down, across(row.before), down + 12.0, edge="grey", width=0.8
            )
            marks.append(open_part)
        if value > 0.0:
            marks.append(
                rectangle(left, down, across(value), down + 12.0, fill="cold", edge="cold")
            )
        marks.append(
            Label(
                x=width - EDGE,
                y=down + 10.5,
                text=row.shown,
                size=SMALL,
                anchor="end",
                bold=row.strong,
            )
        )
        spans.append((down - 2.0, down + 14.0))
        y = max(down + 12.0, y + LEADING * len(names)) + 8.0
        breaks.append(y - 3.0)
    if needed is not None and spans:
        x = across(needed)
        for top, bottom in spans if stacked else [(spans[0][0], spans[-1][1] + 4.0)]:
            marks.append(Stroke(points=((x, top), (x, bottom)), ink="white", width=3.4))
            marks.append(Stroke(points=((x, top), (x, bottom)), width=1.4, dashes=(4.0, 2.0)))
        wide = text_width(needed_name, SMALL)
        start = min(max(x - wide / 2.0, EDGE), width - EDGE - wide)
        marks.append(Label(x=max(start, EDGE), y=y + 10.0, text=needed_name, size=SMALL))
        y += 18.0
    return Drawing(
        title=title,
        description=description,
        width=width,
        height=y + EDGE,
        marks=tuple(marks),
        breaks=tuple(breaks),
    )


def spans(
    title: str, description: str, rows: Sequence[Span], *, x_name: str, width: float
) -> Drawing:
    """Spans one below the other: open dot the rare value, filled dot the usual, bar the need."""
    stacked = width < 500.0
    values = max(text_width(row.shown, SMALL) for row in rows)
    names = max(text_width(row.name, SIZE) for row in rows) + 1.0
    name_width = width - 2 * EDGE if stacked else min(names, width * 0.42)
    left = EDGE + 4.0 if stacked else EDGE + name_width + 16.0
    right = width - EDGE - values - 12.0
    most = max(max(row.rare, row.usual, row.needed) for row in rows)
    ticks = nice_ticks(0.0, most, 4 if stacked else 6)
    marks: list[Mark] = []
    breaks: list[float] = []
    y = EDGE

    def across(value: float) -> float:
        return left + value / ticks[-1] * (right - left)

    for row in rows:
        folded = fold(row.name, name_width, SIZE)
        marks += labels_of(folded, EDGE, y + 12.0, LEADING)
        middle = y + (LEADING * len(folded) + 11.0 if stacked else 8.0)
        ends = ((across(0.0), middle), (right, middle))
        marks.append(Stroke(points=ends, ink="pale", width=0.6))
        marks.append(
            Stroke(points=((across(row.rare), middle), (across(row.usual), middle)), width=2.0)
        )
        need = across(row.needed)
        marks.append(Stroke(points=((need, middle - 7.0), (need, middle + 7.0)), width=2.0))
        marks.append(circle(across(row.usual), middle, 3.6, fill="black"))
        marks.append(circle(across(row.rare), middle, 3.6, fill="white"))
        marks.append(
            Label(x=width - EDGE, y=middle + 4.0, text=row.shown, size=SMALL, anchor="end")
        )
        y = max(middle + 10.0, y + LEADING * len(folded)) + 6.0
        breaks.append(y - 3.0)
    marks += _x_axis(ticks, lambda x, _: (across(x), y), y)
    marks.append(Stroke(points=((left, y), (right, y)), ink="grey", width=0.8))
    marks.append(Label(x=right, y=y + 34.0, text=x_name, size=SMALL, anchor="end", ink="grey"))
    return Drawing(
        title=title,
        description=description,
        width=width,
        height=y + 34.0 + EDGE,
        marks=tuple(marks),
        breaks=tuple(breaks),
    )
