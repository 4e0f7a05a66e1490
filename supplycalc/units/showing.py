"""SI numbers to text, with as many digits as they deserve."""

from __future__ import annotations

import functools
from typing import cast

from supplycalc.units.dimensions import (
    DAY,
    DIMENSIONS,
    FACTORS,
    GALLON,
    HEAD_UNITS,
    HOUR,
    INCH,
    MINUTE,
    OFFSETS,
    WISHED,
    BaseSystem,
    UnitSystem,
)


def base_of(system: UnitSystem) -> BaseSystem:
    """The unit system without what the reader wishes shown otherwise.

    Args:
        system: such as "metric l/s hPa".

    Returns:
        "us" or "metric".
    """
    return cast(BaseSystem, system.split(" ", 1)[0])


TRICKLE = GALLON / MINUTE


@functools.cache
def _shown_in(dimension: str, system: UnitSystem) -> tuple[str, int]:
    """Unit and decimals that a dimension is shown in."""
    base, *wishes = system.split(" ")
    for units in WISHED.values():
        for wish in wishes:
            if dimension in units.get(wish, {}):
                return units[wish][dimension]
    want = DIMENSIONS[dimension]
    return want.us if base == "us" else want.metric


def unit_of(dimension: str, system: UnitSystem) -> str:
    """Name the unit that a dimension is shown in.

    Args:
        system: "us" or "metric", and units wished for after it.
    """
    return _shown_in(dimension, system)[0]


def convert(value: float, dimension: str, system: UnitSystem) -> tuple[float, str]:
    """Turn an SI value into the unit it is shown in, at full precision.

    Args:
        value: the value [SI unit of the dimension].
        system: "us" or "metric", and units wished for after it.
    """
    unit = unit_of(dimension, system)
    base = DIMENSIONS[dimension].base
    factor = HEAD_UNITS[unit] if base == "head" else FACTORS[base][unit]
    offset = OFFSETS[unit] if dimension == "temperature" else 0.0
    return (float(value) - offset) / factor + 0.0, unit


def show(value: float, dimension: str, system: UnitSystem, *, unit: bool = True) -> str:
    """Write an SI value with as many digits as it deserves.

    Args:
        value: the value [SI unit of the dimension].
        system: "us" or "metric", and units wished for after it.
        unit: whether the unit's name follows the number.

    Returns:
        For example "37.4 psi"; never a negative zero.
    """
    if unit and base_of(system) == "us" and dimension == "elevation":
        measured = _feet_and_inches(float(value))
        if measured:
            return measured
    number, name = convert(value, dimension, system)
    want = DIMENSIONS[dimension]
    digits = _shown_in(dimension, system)[1]
    if abs(round(number, digits)) >= want.whole_from:
        digits = 0
    text = f"{number:,.{digits}f}" if want.grouped else f"{number:.{digits}f}"
    if want.as_written and "." in text:
        text = text.rstrip("0").rstrip(".")
    if text.startswith("-") and not text.strip("-0."):
        text = text[1:]
    return f"{text} {name}" if unit else text


def show_flow(flow: float, system: UnitSystem) -> str:
    """Write a flow [m3/s]; a trickle below 1 gpm has a digit more."""
    return show(flow, "inflow" if abs(flow) < TRICKLE else "flow", system)


def long_time(seconds: float) -> str:
    """A time [s] to two digits: minutes, from an hour on hours, of more than four days days."""
    if seconds < HOUR:
        return f"{seconds / MINUTE:.2g} min"
    days = seconds / DAY
    return f"{days:.2g} days" if days > 4.0 else f"{seconds / HOUR:.2g} h"


_QUARTERS = ("", "-1/4", "-1/2", "-3/4")


def _feet_and_inches(metres: float) -> str:
    """What was measured in feet and inches as it was: "5 ft 3 in"; empty for any other length."""
    quarters = round(abs(metres) / INCH * 4)
    in_tenths = abs(quarters / 48 * 10 - round(quarters / 48 * 10)) < 1e-9
    if in_tenths or quarters >= 4800 or abs(abs(metres) / INCH * 4 - quarters) > 1e-6:
        return ""
    feet, rest = divmod(quarters, 48)
    inches, part = divmod(rest, 4)
    if inches == 0:
        return ""
    whole = f"{feet} ft " if feet else ""
    return f"{'-' if metres < 0 else ''}{whole}{inches}{_QUARTERS[part]} in"
