"""Names that commands not yet converted still use."""

from __future__ import annotations

from pathlib import Path

from supplycalc.model import House
from supplycalc.output.call import (
    Call,
    File,
    Force,
    Json,
    Output,
    Units,
    UnitsOption,
    UnitsPublished,
    comma_separated,
)
from supplycalc.units import UnitSystem

__all__ = ["File", "Force", "Json", "Output", "UnitsOption", "UnitsPublished", "comma_separated"]


def read_house(file: Path) -> House:
    """Stands in until all questions are converted."""
    return Call(file=file).house()


def system_of(house: House, units: Units | None) -> UnitSystem:
    """Stands in until all questions are converted."""
    return Call(file=Path(), units=units).system(house)
