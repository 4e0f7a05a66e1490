"""A page cut to one screen: its answer, the tables that bear it, the findings that matter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from supplycalc.output.blocks import (
    CARE,
    EVERYTHING,
    Account,
    Bars,
    Block,
    Chart,
    Checklist,
    FindingBlock,
    Heading,
    Outline,
    Paragraph,
    Picture,
    Verdict,
    care_in_short,
    first_findings,
)
from supplycalc.output.terminal import height_of, is_cut
from supplycalc.records.table import Table
from supplycalc.units import UnitSystem

LINES = 29
MANY_LINES = 45
MANY_ROWS = 40
"""A page with a table this long, such as of 40 fixtures, may take `MANY_LINES`."""
LEAST_ROWS = 3
"""A table is not cut to fewer."""
FOR_FINDINGS = 8
NEXT_STEP = "Next: "
"""How a paragraph begins that says what to do next."""


def one_screen(blocks: Iterable[Block], system: UnitSystem) -> Iterator[Block]:
    """The first screen of a page.

    Yields:
        The verdict, tables and drawings in order as far as there is room, the findings in short,
        the next step, the cautions in two lines.
    """
    page = list(blocks)
    rows = (len(block.rows) for block in page if isinstance(block, Table))
    room = MANY_LINES if max(rows, default=0) >= MANY_ROWS else LINES
    verdicts = [block for block in page if isinstance(block, Verdict)]
    findings = [block.finding for block in page if isinstance(block, FindingBlock)]
    cares = any(isinstance(block, Heading) and block.text == CARE for block in page)
    end: list[Block] = [*care_in_short(hot=True)] if cares else [Paragraph(text=EVERYTHING)]
    end = [*(block for block in page if _is_next_step(block)), *end]
    brief = list(first_findings(findings, room=FOR_FINDINGS))
    room -= height_of([*verdicts, *brief, *end], system) + bool(brief)
    yield from verdicts
    drawn = [block for block in page if isinstance(block, Table | Account | Bars | Chart | Outline)]
    yield from _tables(drawn, room, system) if drawn else _lines(page, room - 1, system)
    yield from brief
    yield from end


def screen_of(fixtures: int) -> int:
    """The lines that a first screen may take for a house of so many outlets."""
    return MANY_LINES if fixtures >= MANY_ROWS else LINES + 1


def first_that_fits(
    screens: Iterable[Iterable[Block]], system: UnitSystem, *, fixtures: int
) -> Iterator[Block]:
    """The first of screens, each with less than the one before, that fits, or else the last.

    Findings that are cut get a second line where there is room.
    """
    room = screen_of(fixtures)
    page: list[Block] = []
    for screen in screens:
        page = list(screen)
        if height_of(page, system) <= room:
            break
    yield from _told_longer(page, room, system)


def _told_longer(page: list[Block], room: int, system: UnitSystem) -> list[Block]:
    """A page whose cut findings have a second line where there is room."""
    for place, block in enumerate(page):
        if isinstance(block, FindingBlock) and block.brief == 1 and is_cut(block, system):
            longer = [*page[:place], replace(block, brief=2), *page[place + 1 :]]
            page = longer if height_of(longer, system) <= room else page
    return page


def fitted(blocks: Iterable[Block], system: UnitSystem, *, fixtures: int) -> Iterator[Block]:
    """Blocks of a first screen, the longest lists and tables cut until all fit."""
    page = list(blocks)
    room = screen_of(fixtures)
    kept = {i: count for i, block in enumerate(page) if (count := _count(block))}

    def shown() -> list[Block]:
        return [
            part
            for i, block in enumerate(page)
            for part in (_start(block, kept[i]) if i in kept else (block,))
        ]

    least = LEAST_ROWS
    while (excess := height_of(shown(), system) - room) > 0:
        heights = {i: height_of(_start(page[i], n), system) for i, n in kept.items() if n > least}
        if not heights and least > 1:
            least = 1
            continue
        if not heights:
            break
        tallest = max(heights, key=heights.__getitem__)
        second = max((h for i, h in heights.items() if i != tallest), default=0)
        lines_each = -(-heights[tallest] // kept[tallest])
        fewer = max(min(excess, heights[tallest] - second) // lines_each, 1)
        kept[tallest] = max(kept[tallest] - fewer, least)
    yield from _told_longer(shown(), room, system)


def _count(block: Block) -> int:
    """Rows or items of a block that may be cut; 0 of any other."""
    if isinstance(block, Table):
        return len(block.rows)
    return len(block.items) if isinstance(block, Checklist) else 0


def _start(block: Block, count: int) -> Iterator[Block]:
    """The first rows of a table or items of a list, and how many more there are."""
    more = _count(block) - count
    if more <= 0:
        yield block
    elif isinstance(block, Table):
        yield replace(block, rows=block.rows[:count])
        yield Paragraph(text=f"and {more} more", indent=2)
    elif isinstance(block, Checklist):
        yield replace(block, items=block.items[:count])
        yield Paragraph(text=f"and {more} more", indent=2)


def _is_next_step(block: Block) -> bool:
    return isinstance(block, Paragraph) and block.text.startswith(NEXT_STEP)


def _tables(blocks: Iterable[Block], room: int, system: UnitSystem) -> Iterator[Block]:
    """What fits of the tables and drawings, the last table cut."""
    for block in blocks:
        height = height_of([block], system) + 1
        if height <= room:
            yield block
            room -= height
        elif isinstance(block, Table) and len(block.rows) > LEAST_ROWS:
            kept = len(block.rows) - 1
            while kept >= LEAST_ROWS:
                cut = replace(block, rows=block.rows[:kept])
                if height_of([cut], system) + 2 <= room:
                    yield cut
                    yield Paragraph(text=f"and {len(block.rows) - kept} more")
                    break
                kept -= 1
            return
        else:
            return


def _lines(blocks: Iterable[Block], room: int, system: UnitSystem) -> Iterator[Block]:
    """What fits of a page of running text, from its start."""
    for block in blocks:
        if isinstance(block, Heading | Paragraph | Checklist | Picture):
            height = height_of([block], system) + isinstance(block, Heading)
            if height > room:
                return
            yield block
            room -= height
