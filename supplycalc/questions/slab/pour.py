"""The sheet for the site before the pour: what lies where, the tests, the checklist; no more."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import Block, Checklist, Heading, Paragraph, Verdict
from supplycalc.output.cautions import LIMITS, cautions
from supplycalc.questions.parts.supports import sleeves
from supplycalc.questions.slab.page import (
    check_item_said,
    laid_columns,
    pressure_test_said,
    tanks_to_shut,
)
from supplycalc.questions.slab.study import LockedRun, SlabStudy
from supplycalc.records import Column, Table, table_of
from supplycalc.units import UnitSystem, show


def pour_page(study: SlabStudy, system: UnitSystem) -> Iterator[Block]:
    """What the site needs before the pour or the backfill."""
    yield Verdict(text=f"Before the pour: {study.house.project.name}", mood="strong")
    yield Paragraph(text=study.answer(system), mood="plain" if study.ok else "bad")
    trench = [text for text in cautions(study.design) if text.startswith("Trench")]
    care = Checklist(items=(*trench, LIMITS), mark="!")
    if not study.runs:
        yield care
        return
    yield laid_table(study, system)
    highest = show(study.highest_pressure, "pressure", system)
    yield Heading(f"Test pressure; the highest in what gets covered is {highest}")
    for test in study.tests:
        yield Paragraph(text=pressure_test_said(test, system, ""), indent=2, hang=2)
    yield from tanks_to_shut(study)
    yield Paragraph(
        text="Never above what tube, valves and gauge are rated for. Gauge at start ________ "
        "after ____ min ________ by ______________ on __________",
        indent=2,
    )
    yield Heading("Before it is covered")
    items = tuple(check_item_said(item, system) for item in study.checklist)
    yield Checklist(items=items, mark="[ ]")
    yield care


def laid_table(study: SlabStudy, system: UnitSystem) -> Table:
    """Every run that gets covered: tube, size, length, depth and sleeves."""
    around = {
        sleeve.run.name: f"{sleeve.count} x {sleeve.nominal}" for sleeve in sleeves(study.design)
    }

    return table_of(
        "What lies there, each in one piece",
        LockedRun,
        study.runs,
        (
            *laid_columns(system),
            Column(name="sleeves", of=lambda locked: around.get(locked.result.name, "")),
        ),
    )
