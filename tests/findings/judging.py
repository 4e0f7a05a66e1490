"""Sizing a small house and picking out what the rules found."""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace

from supplycalc.findings import judge
from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Design, Finding

FOOT = 0.3048
INCH = 0.0254
PSI = 6894.757293168361
GPM = 3.785411784e-3 / 60.0


def fahrenheit(degrees: float) -> float:
    """[K]"""
    return (degrees + 459.67) * 5.0 / 9.0


def sized(house: House) -> Design:
    """The judged design, without a search for remedies."""
    return size(house, mend=False)


def findings_of(case: House | Design, code: str) -> list[Finding]:
    """Every finding of one code."""
    design = sized(case) if isinstance(case, House) else case
    return [finding for finding in judge(design) if finding.code == code]


def only(case: House | Design, code: str) -> Finding:
    """The one finding of a code."""
    (finding,) = findings_of(case, code)
    return finding


def with_runs(house: House, change: Callable[[Run], Run]) -> House:
    """The house with every run and branch changed."""
    return map_runs(house, change)


def with_run(house: House, name: str, **change: object) -> House:
    """The house with one run's fields replaced."""
    return map_runs(
        house,
        lambda run: replace(run, **change) if run.name == name else run,  # type: ignore[arg-type]
    )


def frozen_sizes(design: Design) -> House:
    """The design's house with every size fixed as it was chosen."""
    chosen = {result.run.name: result.size.nominal for result in design.runs}
    return map_runs(design.house, lambda run: replace(run, size=chosen[run.name]))
