"""The first screen of `commission`: the steps in order, what is set, what is expected."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import EVERYTHING, Block, Paragraph, Verdict, first_findings
from supplycalc.output.one_screen import fitted
from supplycalc.questions.commission.page import STEPS, step_said
from supplycalc.questions.commission.study import CommissionStudy
from supplycalc.units import UnitSystem


def commission_first(study: CommissionStudy, system: UnitSystem) -> Iterator[Block]:
    """What is done before anyone drinks, on one screen."""
    return fitted(_screen(study, system), system, fixtures=len(study.design.outlets))


def _screen(study: CommissionStudy, system: UnitSystem) -> Iterator[Block]:
    yield Verdict(text=study.answer(system), mood="strong" if study.ok else "bad")
    for number, (key, title) in enumerate(STEPS.items(), 1):
        text = f"{title}: {step_said(study, key, system)}"
        yield Paragraph(text=text, label=f"{number}", hang=2)
    yield from first_findings(study.findings, room=3)
    yield Paragraph(text="Also: supplycalc surge. One sheet to sign: -o commission.pdf (.txt).")
    yield Paragraph(
        text="Care: an estimate; air bursts plastic pipe; bleach with acid or ammonia kills; hot "
        f"water scalds; code, inspector and licensed trades decide. {EVERYTHING}"
    )
