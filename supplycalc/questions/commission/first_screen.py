"""The first screen of `commission`: the steps in order, what is set, what is expected."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import EVERYTHING, Block, Paragraph, Verdict, first_findings
from supplycalc.output.one_screen import first_that_fits
from supplycalc.questions.commission.page import STEPS, step_said
from supplycalc.questions.commission.study import CommissionStudy
from supplycalc.units import UnitSystem

IN_SHORT = {
    "read": "gauge and bucket, beside what the sheet expects.",
    "set": "tank, switch, valves, heater, each by the sheet's table.",
}


def commission_first(study: CommissionStudy, system: UnitSystem) -> Iterator[Block]:
    """What is done before anyone drinks, on one screen.

    Where there is too much for it, what is read, then what is set, then notes stand in the rest.
    """
    screens = (_screen(study, system, left_out) for left_out in range(4))
    yield from first_that_fits(screens, system, fixtures=0)


def _screen(study: CommissionStudy, system: UnitSystem, left_out: int) -> Iterator[Block]:
    yield Verdict(text=study.answer(system), mood="strong" if study.ok else "bad")
    for number, (key, title) in enumerate(STEPS.items(), 1):
        text = step_said(study, key, system)
        if key in ("read", "set")[:left_out]:
            text = IN_SHORT[key]
        yield Paragraph(text=f"{title}: {text}", label=f"{number}", hang=2)
    yield from first_findings(study.findings, room=3 if left_out < 3 else 1)
    yield Paragraph(text="Also: supplycalc surge. One sheet to sign: -o commission.pdf (.txt).")
    yield Paragraph(
        text="Care: an estimate; air bursts plastic pipe; bleach with acid or ammonia kills; hot "
        f"water scalds; code, inspector and licensed trades decide. {EVERYTHING}"
    )
