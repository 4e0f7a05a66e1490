"""A page as plain text that fits the terminal; colour only repeats what words say."""

from __future__ import annotations

import itertools
import re
import textwrap
from collections.abc import Callable, Iterable, Iterator
from functools import partial

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.output.blocks import (
    Account,
    Bars,
    Block,
    Chart,
    Checklist,
    Figure,
    FindingBlock,
    Heading,
    Outline,
    OutlineLine,
    Paragraph,
    Picture,
    Sheet,
    SheetLine,
    Verdict,
)
from supplycalc.output.text import clean
from supplycalc.records.sentences import cite
from supplycalc.records.table import Column, Table
from supplycalc.units import UnitSystem

COLOURS = {"bad": "31", "care": "33", "good": "32", "strong": "1"}
LABELS = {"fail": ("FAIL", "bad"), "warn": ("WARN", "care"), "note": ("NOTE", "strong")}
"""Of a finding's level: the word and its mood."""
GAP = 2
"""Blanks between two columns."""
NARROWEST = 9
"""A column of text is not squeezed below this, as long as the table fits."""
SCANT = 5
"""Nor below this, whatever else."""
WIDEST_PROSE = 100
LEAST_PROSE = 30
LEAST_OUTLINE = 24
"""Of the names of an outline, with their stems; else what belongs to them stands below."""
MOST_FACTS = 26
"""Of what stands beside the names of an outline, before it is folded."""
CHART_HEIGHT = 12
AXIS_WIDTH = 12
"""Beside a chart."""


class Line(Struct, frozen=True):
    """One line of output; the first `span` characters carry the mood."""

    text: str
    mood: str = ""
    span: int = 0


def to_text(
    blocks: Iterable[Block], system: UnitSystem, *, width: int = 80, colour: bool = False
) -> str:
    """A page as one string that ends in a line break.

    Returns:
        Text in which nothing from a file can steer the terminal.
    """
    return "".join(_painted(line, colour) + "\n" for line in to_lines(blocks, system, width))


def to_lines(blocks: Iterable[Block], system: UnitSystem, width: int) -> list[Line]:
    """The lines of a page; everything is cleaned and fits the width."""
    lines: list[Line] = []
    for block in blocks:
        if _stands_apart(block) and lines and lines[-1].text:
            lines.append(Line(""))
        lines.extend(_lines_of(block, system, width))
    return lines


def height_of(blocks: Iterable[Block], system: UnitSystem, width: int = 80) -> int:
    """How many lines blocks take one below the other, empty ones between them counted."""
    return len(to_lines(blocks, system, width))


def is_cut(block: Block, system: UnitSystem, width: int = 80) -> bool:
    """Whether a block ends in the midst of a sentence."""
    return to_lines([block], system, width)[-1].text.endswith(CUT)


def _stands_apart(block: Block) -> bool:
    """Whether an empty line goes before it."""
    return isinstance(block, Heading | Table | Account | Bars | Chart | Sheet) or (
        isinstance(block, Paragraph) and block.apart
    )


def _lines_of(block: Block, system: UnitSystem, width: int) -> list[Line]:
    match block:
        case Verdict():
            return _prose(block.text, width, mood=block.mood)
        case Heading():
            parts = textwrap.wrap(clean(block.text), _prose_width(width))
            return [Line(part, "strong", len(part)) for part in parts]
        case Paragraph():
            return _prose(
                block.text,
                width,
                label=block.label,
                mood=block.mood,
                indent=block.indent,
                hang=block.hang,
            )
        case Table():
            return _titled(block, system, width)
        case Account():
            return _titled(block.table, system, width)
        case FindingBlock():
            return _finding(block, system, width)
        case Checklist():
            hang = len(block.mark) + 1 if block.mark else 2
            return [
                line
                for item in block.items
                for line in _prose(item, width, label=block.mark, indent=2, hang=hang)
            ]
        case Picture():
            too_wide = max(map(len, block.lines), default=0) > width
            lines = block.narrow if too_wide and block.narrow else block.lines
            return [Line(clean(text)) for text in lines]
        case Figure():
            return _prose(f"{block.caption}. {block.wide.description}", width)
        case Sheet():
            heading = _lines_of(Heading(block.title), system, width)
            return [*heading, *(line for it in block.lines for line in _computed(it, width))]
        case Outline():
            return [line for each in _outlined(block, width) for line in each]
        case Chart():
            heading = _lines_of(Heading(block.title), system, width)
            return [*heading, *(Line(text) for text in _plotted(block, width))]
        case Bars():
            return _bars(block, system, width)


def _titled(table: Table, system: UnitSystem, width: int) -> list[Line]:
    heading = _lines_of(Heading(table.title), system, width)
    return [*heading, *(Line(text) for text in draw(table, system, width))]


def _finding(block: FindingBlock, system: UnitSystem, width: int) -> list[Line]:
    """Level, where, what; then what mends it and where the limit comes from."""
    finding = block.finding
    label, mood = LABELS[finding.level]
    where = finding.opening(system) if block.where else ""
    said = f"{where}{finding.said(system)}"
    if block.brief:
        return _brief(block, said, system, width)
    lines = _prose(said, width, label=label, mood=mood, indent=2, hang=5)
    if finding.remedy:
        word = "To do" if finding.level == "note" else "To mend it"
        remedy = finding.remedy_said(system)
        lines += _prose(f"{word}: {remedy}", width, indent=7, hang=2)
    return lines + _prose(f"Source: {cite(finding.source)}", width, indent=7, hang=2)


def _computed(it: SheetLine, width: int) -> list[Line]:
    """One line of a calculation, its source below."""
    result = f"{it.result} {it.unit}".strip()
    parts = [part for part in (it.equation, it.numbers) if part]
    if "=" in it.formula:
        parts = [f"{'; '.join(parts)}; {it.symbol}"]
    text = f"{it.words}: {' = '.join((*parts, result))}"
    lines = _prose(text, width, indent=2, hang=2)
    return lines + (_prose(it.source, width, indent=6) if it.source else [])


def _outlined(outline: Outline, width: int) -> Iterator[list[Line]]:
    """Names with their stems, what belongs to them beside or, where it is narrow, below."""
    facts, figure, mark = (
        max((len(clean(text)) for text in texts), default=0)
        for texts in zip(*((it.facts, it.figure, it.mark) for it in outline.lines), strict=True)
    )
    facts = min(facts, MOST_FACTS)
    name = width - facts - figure - mark - 3 * GAP
    for it in outline.lines:
        if name < LEAST_OUTLINE:
            yield _outline_below(it, width)
            continue
        names = _fold_words(clean(it.name), max(name - len(it.stem), SCANT))
        beside = _fold_words(clean(it.facts), facts) if it.facts else [""]
        first = f"{it.stem}{names[0]}"
        end = f"{clean(it.figure):>{figure}}  {clean(it.mark)}"
        yield [Line(f"{first:{name}}  {beside[0]:{facts}}  {end}".rstrip(), it.mood, len(first))]
        for part, fact in itertools.zip_longest(names[1:], beside[1:], fillvalue=""):
            yield [Line(f"{it.hang + part:{name}}  {fact}".rstrip())]


def _outline_below(it: OutlineLine, width: int) -> list[Line]:
    parts = [part for part in (it.facts, it.figure, it.mark) if part]
    names = _fold_words(clean(it.name), max(width - len(it.stem), SCANT))
    below = _fold_words(clean(", ".join(parts)), max(width - len(it.hang) - 1, SCANT))
    first, *more = names
    return [
        Line(it.stem + first, it.mood, len(it.stem + first)),
        *(Line(it.hang + part) for part in more),
        *(Line(f"{it.hang} {part}") for part in below if part),
    ]


def _fold_words(text: str, width: int) -> list[str]:
    # a number and its unit stay on one line
    kept = _NUMBER.sub("\N{NO-BREAK SPACE}", text)
    lines = textwrap.wrap(kept, width, break_on_hyphens=False)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines] or [""]


_NUMBER = re.compile(r"(?<=\d) (?=[A-Za-z])")
"""Between a number and its unit."""


CUT = "…"
"""Shows that more follows elsewhere."""
FULL_WIDTH = 76
"""[characters] What a line holds where there is room."""


def _brief(block: FindingBlock, said: str, system: UnitSystem, width: int) -> list[Line]:
    """A failure or a warning says what there is, a note what to do, cut to a line or two.

    From three lines on the last one of a failure or a warning says what to do.
    """
    finding = block.finding
    if block.brief > WITHOUT_REMEDY and finding.level != "note" and finding.remedy:
        above = replace(block, brief=block.brief - 1)
        remedy = finding.remedy_said(system)

        def to_do(text: str) -> list[Line]:
            return _prose(f"to do: {text}", width, indent=7)

        return [*_brief(above, said, system, width), *_shortened(remedy, to_do, _room(1, width))]
    label, mood = LABELS[finding.level]
    opening, _, said = said.partition(": ") if finding.where and block.where else ("", "", said)
    if finding.level == "note" and finding.remedy:
        opening, said = finding.where, finding.remedy_said(system)
    elif opening != finding.where:
        opening, said = "", f"{opening}: {said}" if opening and said else opening or said

    def lines(place: str, text: str) -> list[Line]:
        whole = f"{place}: {text}" if place else text
        return _prose(whole, width, label=label, mood=mood, indent=2, hang=5)

    most = _room(block.brief, width)
    if len(told := lines(opening, said)) <= most:
        return told
    told = _shortened(said, partial(lines, few_names(opening)), most)
    whole = finding.level == "note" or told == lines(few_names(opening), said)
    return told if whole else _with_more(told, width)


def _room(lines: int, width: int) -> int:
    """Lines of a narrow page that hold what so many of a full one do."""
    return lines * -(-FULL_WIDTH // _prose_width(width))


def _shortened(text: str, lines: Callable[[str], list[Line]], most: int) -> list[Line]:
    """The lines of a text, ended early where it still says something, else cut."""
    for end in (len(text), *(match.start() for match in reversed([*_CLAUSE.finditer(text)]))):
        if len(told := lines(text[:end])) <= most:
            return told
    told = lines(text)[:most]
    return _with_more(told, max(len(line.text) for line in told))


def _with_more(lines: list[Line], width: int) -> list[Line]:
    """Lines whose last one shows that more follows elsewhere."""
    *above, last = lines
    if last.text.endswith(CUT):
        return lines
    fits = len(last.text) + 2 <= _prose_width(width)
    text = last.text if fits else last.text.rsplit(" ", 1)[0]
    return [*above, Line(f"{text} {CUT}", last.mood, last.span)]


WITHOUT_REMEDY = 2
"""Lines of a brief failure or warning that only says what there is."""
_CLAUSE = re.compile(r"; |: |, (?=and |or |as |but |in |where |which |so )| \((?=[a-z])")
"""Where a sentence may end early and still say something."""
LONG_PLACE = 28
"""[characters] Of the names before a brief finding; of longer ones the first and their number."""


def few_names(names: str) -> str:
    """The first of several names and how many more there are, where they are long."""
    first, *others = re.split(r", | and (?=[^,]*$)", names)
    if len(names) <= LONG_PLACE or not others:
        return names
    more = re.fullmatch(r"(\d+) more", others[-1])
    return f"{first} and {len(others) + (int(more[1]) - 1 if more else 0)} more"


LEAST_BAR = 8
"""Characters of the longest bar; where less room is left, none is drawn."""
LEAST_NAME = 12
NARROW = 60
"""On a terminal below this width bars stand without lengths."""


def _bars(block: Bars, system: UnitSystem, width: int) -> list[Line]:
    """A line per step: its name, size and length, what is left, and that as a bar."""
    value = Column(name="", dimension=block.dimension)
    length = Column(name="", dimension="length")
    cells = [
        (
            bar.size,
            f"{length.text(bar.length, system)} {length.unit(system)}" if bar.length else "",
            value.text(bar.value, system) if bar.value >= 0.0 else "used up",
        )
        for bar in block.bars
    ]
    if width < NARROW:
        cells = [(size, "", left) for size, _, left in cells]
    sizes, lengths, values = (max(len(row[i]) for row in cells) for i in range(3))
    figures = sizes + lengths + values + 4 * GAP + 2
    names = min(
        max(len(bar.name) for bar in block.bars), max(width - figures - LEAST_BAR, LEAST_NAME)
    )
    longest = min(width - names - figures, 40)
    most = max(bar.value for bar in block.bars) or 1.0
    lines = _lines_of(Heading(f"{block.title}, {value.unit(system)}"), system, width)
    for bar, (size, far, left) in zip(block.bars, cells, strict=True):
        name, *more = textwrap.wrap(clean(bar.name), names)
        drawn = max(round(bar.value / most * longest), 0) if longest >= LEAST_BAR else 0
        text = f"  {name:{names}}  {size:{sizes}}  {far:>{lengths}}  {left:>{values}}"
        lines.append(Line(f"{text}  {('-' if bar.limit else '#') * drawn}".rstrip()))
        lines += [Line(f"    {part}") for part in more]
    return lines


def _plotted(chart: Chart, width: int) -> list[str]:
    from uniplot import plot_to_string

    drawn = plot_to_string(
        xs=[x for x, _ in chart.points],
        ys=[y for _, y in chart.points],
        lines=True,
        width=max(width - AXIS_WIDTH, LEAST_PROSE),
        height=CHART_HEIGHT,
        x_min=chart.x_range[0],
        x_max=chart.x_range[1],
        x_gridlines=[],
        y_gridlines=[],
        line_length_hard_cap=width,
    )
    return [line.rstrip() for line in drawn.splitlines()]


def _prose(
    text: str, width: int, *, label: str = "", mood: str = "", indent: int = 0, hang: int = 0
) -> list[Line]:
    """Running text, broken at blanks; a label carries the mood, without one every line does."""
    whole = f"{clean(label)} {clean(text)}" if label else clean(text)
    parts = textwrap.wrap(
        whole,
        _prose_width(width),
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_on_hyphens=False,
    )
    lines = []
    for number, part in enumerate(parts):
        first = indent + len(label) if number == 0 else 0
        span = first if label else len(part)
        lines.append(Line(part, mood if span else "", span))
    return lines


def _prose_width(width: int) -> int:
    return max(min(width, WIDEST_PROSE), LEAST_PROSE)


def _painted(line: Line, colour: bool) -> str:
    if not (colour and line.mood in COLOURS and line.span):
        return line.text
    start, rest = line.text[: line.span], line.text[line.span :]
    return f"\x1b[{COLOURS[line.mood]}m{start}\x1b[0m{rest}"


def draw(table: Table, system: UnitSystem, width: int) -> list[str]:
    """Draw a table within a width, each column's unit once under its name."""
    from tabulate import tabulate

    headers = [_header(column, system) for column in table.columns]
    rows = [[clean(text) for text in row] for row in table.texts(system)]
    limits = _limits(table.columns, headers, rows, width)
    if sum(limits) + GAP * (len(limits) - 1) > width:
        return [line for row in rows for line in _stacked(headers, row, width)]
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


def _stacked(headers: list[str], row: list[str], width: int) -> list[str]:
    """A row that is too wide as lines of its own: its first cell, below it the others by name."""
    first, *others = (" ".join(cell.split()) for cell in row)
    named = []
    for header, cell in zip(headers[1:], others, strict=True):
        name, _, unit = header.partition("\n")
        if cell:
            named.append(" ".join(filter(None, (name, cell, unit))))
    lines = textwrap.wrap(first, width, break_on_hyphens=False)
    below = ", ".join(named)
    return [
        *lines,
        *textwrap.wrap(
            below, width, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False
        ),
    ]


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
    cells_of = [[row[i] for row in rows] for i in range(len(headers))]
    wanted = [
        max((len(part) for cell in (header, *cells) for part in cell.split("\n")), default=1)
        for header, cells in zip(headers, cells_of, strict=True)
    ]
    limits = [max(want, 1) for want in wanted]
    if sum(limits) + GAP * (len(limits) - 1) <= width:
        return limits
    whole, least, scant = zip(*map(_lows, columns, headers, cells_of, wanted), strict=True)
    # a word is broken only where whole words leave the table too wide; on a telephone none is
    for lows in (whole,) if width < NARROW else (whole, least, scant):
        while sum(limits) + GAP * (len(limits) - 1) > width:
            spare = [limit - low for limit, low in zip(limits, lows, strict=True)]
            if max(spare) <= 0:
                break
            widest = max(
                (i for i in range(len(limits)) if spare[i] > 0), key=lambda i: (limits[i], -i)
            )
            limits[widest] -= 1
    return limits


def _lows(column: Column, header: str, cells: list[str], wanted: int) -> tuple[int, int, int]:
    """How narrow a column may get: its words whole, then broken, then as narrow as can be."""
    if not column.wrap:
        return wanted, wanted, wanted
    word = max(map(len, header.split()))
    least = max(max(map(len, cells), default=0) if column.is_number else NARROWEST, word)
    whole = max(least, min(_longest_word(cells), wanted))
    return whole, least, least if column.is_number else min(least, max(SCANT, word))


def _longest_word(cells: list[str]) -> int:
    """Of what is never broken but by force: words, and their parts at hyphens."""
    pieces = (piece for cell in cells for piece in textwrap.wrap(cell, 1, break_long_words=False))
    return max(map(len, pieces), default=0)


def _fold(text: str, limit: int) -> str:
    if all(len(part) <= limit for part in text.split("\n")):
        return text
    parts = [textwrap.wrap(part, limit, break_on_hyphens=True) for part in text.split("\n")]
    return "\n".join(line for lines in parts for line in lines)
