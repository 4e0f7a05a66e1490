"""The first screen of `layout`: the layouts in short, where the manifold stands, the plan."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import (
    EVERYTHING,
    Block,
    Checklist,
    Heading,
    Paragraph,
    Verdict,
)
from supplycalc.output.one_screen import LINES
from supplycalc.output.terminal import height_of
from supplycalc.questions.layout.page import (
    cost_column,
    longest_wait_column,
    place_text,
    plan_picture,
    where,
)
from supplycalc.questions.layout.study import LayoutOption, LayoutStudy
from supplycalc.records import Column, Table, table_of
from supplycalc.units import UnitSystem, show

SHARE = 0.05
"""Of the cost: how far a manifold may move for so much more is told."""
CARE_IN_SHORT = (
    "Care: a proposal; framing, frost and other trades decide the way, code and inspector the rest."
)


def layout_first(study: LayoutStudy, name: str, system: UnitSystem) -> Iterator[Block]:
    """Which layout, and where its manifold stands, on one screen."""
    chosen = study.options[study.chosen]
    blocks: list[Block] = [
        Verdict(text=study.answer(system), mood="good" if chosen.works else "bad"),
        _table(study),
        Heading("Where manifolds stand, from the file's zero"),
        Checklist(items=tuple(_spots(study, system))),
    ]
    end: list[Block] = [
        Paragraph(text=f"Next: supplycalc layout {name} --write piped.toml, then size it."),
        Paragraph(text=f"{CARE_IN_SHORT} {EVERYTHING}"),
    ]
    picture: list[Block] = [Heading("Plan"), plan_picture(study)]
    room = LINES + 1 - height_of([*blocks, *end], system)
    yield from blocks
    if height_of(picture, system) < room:
        yield from picture
    yield from end


def _table(study: LayoutStudy) -> Table:
    """The layouts by what tells them apart for a builder."""
    return table_of(
        "Side by side, each sized at least cost",
        LayoutOption,
        study.options,
        (
            Column(name="layout", of="title", wrap=True),
            Column(name="to spare", of="design.worst.margin"),
            Column(name="pipe", of="pipe"),
            cost_column(study, "parts"),
            Column(name="ports", of="ports", digits=0),
            longest_wait_column(),
        ),
    )


def _spots(study: LayoutStudy, system: UnitSystem) -> Iterator[str]:
    """The best place of one manifold and how far it may move, then the places of more."""
    yield place_text(study, system)
    free = next((it for it in study.places.freedom if it.share >= SHARE), None)
    if free is not None:
        moves = ", ".join(
            f"{show(getattr(free, side), 'length', system)} {side}"
            for side in ("west", "east", "south", "north")
        )
        yield f"for at most {free.share:.0%} more it may move {moves}"
    for option in study.options[1:]:
        spots = dict.fromkeys(at for _, at in option.places)
        if spots:
            yield f"{option.title}: {'; '.join(where(at, system) for at in spots)}"
