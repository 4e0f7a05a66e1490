"""Names that questions not yet converted still use."""

from __future__ import annotations

from supplycalc.records.sentences import Assumption, Finding, amount, cite, money, sentence
from supplycalc.sizing.design import THIN_MARGIN, Remedy, verdict
from supplycalc.units import UnitSystem

USED_UP = "Below zero: at these flows the pressure is used up before the water gets there."
__all__ = [
    "THIN_MARGIN",
    "USED_UP",
    "amount",
    "assumption_text",
    "cite",
    "finding_text",
    "first_words",
    "money",
    "remedy_text",
    "sentence",
    "verdict",
]


def remedy_text(remedy: Remedy, system: UnitSystem) -> str:
    """Stands in until all questions are converted."""
    return remedy.said(system)


def finding_text(finding: Finding, system: UnitSystem) -> str:
    """Stands in until all questions are converted."""
    return finding.said(system)


def assumption_text(assumption: Assumption, system: UnitSystem) -> str:
    """Stands in until all questions are converted."""
    return assumption.said(system)


def first_words(finding: Finding, message: str) -> str:
    """Stands in until all questions are converted."""
    return "" if not finding.where or message.startswith(finding.where) else f"{finding.where}: "
