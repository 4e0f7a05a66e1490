"""The border between text and SI numbers: inside the package everything is SI."""

from supplycalc.units.dimensions import (
    DAY,
    DIMENSIONS,
    FOOT,
    HORSEPOWER,
    HOUR,
    INCH,
    MINUTE,
    PSI,
    STANDARD_GRAVITY,
    WISHED,
    BaseSystem,
    Dimension,
    UnitSystem,
)
from supplycalc.units.loss import Loss
from supplycalc.units.parsing import NotAQuantity, parse, parse_loss
from supplycalc.units.showing import base_of, convert, long_time, show, show_flow, unit_of

__all__ = [
    "DAY",
    "DIMENSIONS",
    "FOOT",
    "HORSEPOWER",
    "HOUR",
    "INCH",
    "MINUTE",
    "PSI",
    "STANDARD_GRAVITY",
    "WISHED",
    "BaseSystem",
    "Dimension",
    "Loss",
    "NotAQuantity",
    "UnitSystem",
    "base_of",
    "convert",
    "long_time",
    "parse",
    "parse_loss",
    "show",
    "show_flow",
    "unit_of",
]
