"""Names that questions not yet converted still use."""

from __future__ import annotations

from typing import Any

from supplycalc.records.data import quantity, to_json, unit_system
from supplycalc.records.sentences import Assumption, Finding
from supplycalc.records.sentences import citation_data as source_to_dict
from supplycalc.sizing.design import cost_data as cost_quantity
from supplycalc.units import UnitSystem

__all__ = [
    "assumption_to_dict",
    "cost_quantity",
    "finding_to_dict",
    "quantity",
    "source_to_dict",
    "to_json",
    "unit_system",
]


def finding_to_dict(finding: Finding, system: UnitSystem) -> dict[str, Any]:
    """Stands in until all questions are converted."""
    return finding.to_data(system)


def assumption_to_dict(assumption: Assumption, system: UnitSystem) -> dict[str, Any]:
    """Stands in until all questions are converted."""
    return assumption.to_data(system)
