"""The first screen of `hot`: the waits, and what would shorten them."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import (
    Block,
    Checklist,
    Heading,
    Verdict,
    care_in_short,
    first_findings,
)
from supplycalc.output.one_screen import FOR_FINDINGS, fitted
from supplycalc.questions.hot.limits import best_wait
from supplycalc.questions.hot.outlets import HotOutlet
from supplycalc.questions.hot.page import MOODS
from supplycalc.questions.hot.study import HotStudy
from supplycalc.questions.hot.tables import nobody_waits
from supplycalc.records import Column, table_of
from supplycalc.records.sentences import amount
from supplycalc.records.table import wait_cell
from supplycalc.units import UnitSystem, show

MOST_CHANGES = 2
"""Of each kind."""


def hot_first(study: HotStudy, system: UnitSystem) -> Iterator[Block]:
    """How long hot water takes and what would help, on one screen."""
    return fitted(_screen(study, system), system, fixtures=len(study.design.outlets))


def _screen(study: HotStudy, system: UnitSystem) -> Iterator[Block]:
    yield Verdict(text=study.answer(system), mood=MOODS[study.outlets[0].wait_class])
    yield table_of(
        "How long until it is hot, each alone as it is used" + nobody_waits(study.outlets),
        HotOutlet,
        study.outlets,
        (
            Column(name="outlet", of="name", wrap=True),
            Column(name="hot pipe", of="length"),
            Column(name="holds", of="volume"),
            Column(name="hot flow", of="hot_flow"),
            Column(name="wait", dimension="time", of=lambda outlet: wait_cell(outlet.wait)),
            Column(name="class", of="wait_class"),
        ),
    )
    changes = tuple(_changes(study, system))
    if changes:
        yield Heading("What would help, each computed")
        yield Checklist(items=changes, mark="-")
    yield from first_findings(study.findings, room=FOR_FINDINGS // 2)
    yield from care_in_short(hot=True)


def _changes(study: HotStudy, system: UnitSystem) -> Iterator[str]:
    """The changes with the greatest gain that work."""

    def wait(seconds: float) -> str:
        return show(seconds, "time", system)

    thinner = [change for change in study.thinner if change.works and not change.too_fast]
    for change in thinner[:MOST_CHANGES]:
        yield (
            f"{', '.join(change.runs)} in {change.after} instead of {change.before}: "
            f"{wait(change.wait_before)} becomes {wait(change.wait_after)} at {change.outlet}; "
            f"{amount(change.worst_margin, system)} to spare at {change.worst_name}"
        )
    for kept in study.kept_hot[:1]:
        yield (
            f"kept hot to the end of {kept.run}: {wait(kept.wait_before)} becomes "
            f"{wait(kept.wait_after)} at {kept.outlet}, for {kept.heat:.0f} W day and night"
        )
    for shorter in study.shorter[:MOST_CHANGES]:
        if shorter.less_for_wait:
            less = show(shorter.less_for_wait, "length", system)
            now = show(shorter.length, "length", system)
            best = wait(best_wait())
            yield f"{shorter.run} {less} shorter than its {now}: hot within {best}"
