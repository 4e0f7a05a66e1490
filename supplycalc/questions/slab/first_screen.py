"""The first screen of `slab`: what lies there, what it bears, test pressure and checklist."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import (
    Block,
    Checklist,
    Heading,
    Paragraph,
    Verdict,
    care_in_short,
)
from supplycalc.output.one_screen import fitted
from supplycalc.questions.slab.page import laid_columns, pump_gives_then, tanks_to_shut
from supplycalc.questions.slab.study import LockedRun, SlabStudy
from supplycalc.records import Column, Table, table_of
from supplycalc.records.sentences import amount, cite, sentence
from supplycalc.units import UnitSystem, show


def slab_first(study: SlabStudy, system: UnitSystem) -> Iterator[Block]:
    """What must be right before the pour, on one screen."""
    return fitted(_screen(study, system), system, fixtures=len(study.design.outlets))


def _screen(study: SlabStudy, system: UnitSystem) -> Iterator[Block]:
    yield Verdict(text=study.answer(system), mood="strong" if study.ok else "bad")
    if not study.runs:
        yield from care_in_short(hot=False, trench=bool(study.pipe_from_the_well(system)))
        return
    if pipe := study.pipe_from_the_well(system):
        yield Paragraph(text=pipe)
    if study.planned:
        yield Paragraph(text=f"Planned and counted already: {', '.join(study.planned)}.")
    yield _laid_table(study, system)
    if study.surprises and study.ok:
        yield Heading("What if, later")
        yield Checklist(items=tuple(_later(study, system)))
    yield from _test(study, system)
    yield Heading("Before it is covered")
    items = []
    for item in study.checklist:
        here = "" if item.least_cover is None else show(item.least_cover, "cover", system)
        brief = sentence(item.brief, (), system)
        items.append(f"{item.title}: {brief}" + (f", here {here} or more" if here else ""))
    yield Paragraph(text="; ".join(items), indent=2)
    yield Paragraph(text="One sheet for the site: -o pour.txt (.pdf).")
    yield from care_in_short(hot=False, trench=True)


def _laid_table(study: SlabStudy, system: UnitSystem) -> Table:
    return table_of(
        "What lies there",
        LockedRun,
        study.runs,
        (
            *laid_columns(system),
            Column(name="flow", of="result.design_flow"),
            Column(name="spare flow", of="spare_flow"),
        ),
    )


def _later(study: SlabStudy, system: UnitSystem) -> Iterator[str]:
    """What each surprise would do, in a line."""
    for surprise in study.surprises:
        title = surprise.title(system)
        if surprise.margin is None:
            yield f"{title}: cannot be computed"
            continue
        short = surprise.margin < 0.0
        spare = f"{amount(abs(surprise.margin), system)} {'short' if short else 'to spare'}"
        if surprise.absorbed:
            then = "works as laid"
        elif surprise.absorbed_if_rest_grows:
            then = "works once pipe within reach is larger"
        elif surprise.wanted:
            (name, size), *others = surprise.wanted.items()
            more = f" and {len(others)} more" if others else ""
            then = f"NOT as laid; takes {name} at {size}{more}"
        elif surprise.beyond_the_pump:
            then = "NOT as laid"
        else:
            then = "no larger pipe mends it"
        yield f"{title}: {spare}, {then}{pump_gives_then(surprise, system, brief=True)}"


def _test(study: SlabStudy, system: UnitSystem) -> Iterator[Block]:
    """The test of the method's own book, and how far others go."""
    highest = show(study.highest_pressure, "pressure", system)
    yield Heading(f"Test pressure (in use at most {highest}; never above the pipe's rating)")
    test, *others = study.tests
    text = f"{show(test.pressure, 'pressure', system)} or more"
    if test.minutes is not None:
        text += f" for {test.minutes:.0f} min"
    text += f" [{cite(test.source)}]"
    most = max((other.pressure for other in others), default=test.pressure)
    if most > test.pressure:
        text += f"; some ask {show(most, 'pressure', system)}"
    yield Paragraph(text=text, indent=2, hang=2)
    yield from tanks_to_shut(study)
