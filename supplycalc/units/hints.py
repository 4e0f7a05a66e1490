"""What people write and cannot be taken as it stands: what to write instead."""

from __future__ import annotations

import re

from supplycalc.units.dimensions import FOOT, HEAD_DENSITY, INCH, PSI, STANDARD_GRAVITY

ATMOSPHERE = 101325.0
"""At the sea [Pa]; what an absolute pressure counts on top of a gauge's."""
_NUMBER = r"([0-9]+(?:\.[0-9]+)?)"
_ABSOLUTE = re.compile(
    rf"{_NUMBER}\s*(?:psia|(?P<psi>psi)\s*\(?a(?:bs(?:olute)?\.?)?\)?|(?P<bar>bar)\s*\(?a(?:bs"
    rf"(?:olute)?\.?)?\)?|(?P<kpa>kpa)\s*\(?a(?:bs(?:olute)?\.?)?\)?)",
    re.IGNORECASE,
)
_HEAD = re.compile(
    rf"{_NUMBER}\s*(?P<unit>ft|foot|feet|in|inch|inches|m|meters?|metres?|cm|mm)\.?\s*"
    r"(?:of\s+)?(?:head|water|h2o|ws|wc|w\.?c\.?)",
    re.IGNORECASE,
)
_FEET_AND_BARE = re.compile(
    r"([0-9]+)\s*(?:ft\.?|foot|feet|')[ -]*([0-9]+(?:\.[0-9]+)?(?:[ -][0-9]+/[0-9]+)?)"
)
_TIME_FIRST = re.compile(
    r"(?P<time>[0-9.]+\s*(?:s|secs?|seconds?|min|minutes?))\s*(?:/|\bper\b|\bfor\b)\s*"
    r"(?P<volume>[0-9.]+\s*(?:(?:us |imp )?gal(?:lons?|s)?|l|lit(?:er|re)s?|quarts?|qt))",
    re.IGNORECASE,
)
_POUNDS = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*(?:lbs?|pounds?|#)", re.IGNORECASE)
_LABEL = re.compile(
    rf"{_NUMBER}\s*(?P<unit>psi|bar|kpa)?\s*(?:/|-|\bto\b)\s*{_NUMBER}\s*(?P<last>psi|bar|kpa)",
    re.IGNORECASE,
)
_FRACTIONS = ("1/2", "1/3", "2/3", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8")
_METRES = {"ft": FOOT, "foot": FOOT, "feet": FOOT, "in": INCH, "inch": INCH, "inches": INCH,
           "cm": 0.01, "mm": 0.001}  # fmt: skip


def hint(plain: str, base: str) -> str | None:
    """Say what to write instead of a quantity that could be misread; None where the text is none of
    those people write.

    Args:
        base: the dimension that is expected, a key of `FACTORS`.

    Source: the standard atmosphere is 101.325 kPa (ISO 2533).
    """
    if base == "pressure":
        return _pressure(plain)
    if base in ("length", "head") and (match := _FEET_AND_BARE.fullmatch(plain)):
        return f"the inches have no unit; write {match[1]} ft {match[2]} in"
    if base == "flow" and (match := _TIME_FIRST.fullmatch(plain)):
        return f"the water stands first: write {match['volume']} in {match['time']}"
    return None


def _pressure(plain: str) -> str | None:
    if match := _ABSOLUTE.fullmatch(plain):
        if match["bar"]:
            unit, factor, digits = "bar", 1e5, 2
        elif match["kpa"]:
            unit, factor, digits = "kPa", 1e3, 0
        else:
            unit, factor, digits = "psi", PSI, 1
        gauge = float(match[1]) - ATMOSPHERE / factor
        if gauge < 0.0:
            return "pressures are those a gauge shows, above the air's"
        return (
            f"pressures are those a gauge shows, without the {ATMOSPHERE / factor:.{digits}f} "
            f"{unit} of the air (at the sea): write {gauge:.{digits}f} {unit}"
        )
    if match := _HEAD.fullmatch(plain):
        metres = float(match[1]) * _METRES.get(match["unit"].lower(), 1.0)
        pressure = metres * HEAD_DENSITY * STANDARD_GRAVITY
        return (
            f"that height of water presses with {pressure / PSI:.1f} psi or "
            f"{pressure / 1e3:.0f} kPa: write one of these"
        )
    match = _LABEL.fullmatch(plain)
    if match and f"{match[1]}/{match[3]}" not in _FRACTIONS:
        unit = match["last"]
        return (
            f"these are two pressures, as a switch is labelled: write {match[1]} {unit} for cut_in "
            f"and {match[3]} {unit} for cut_out"
        )
    if match := _POUNDS.fullmatch(plain):
        return f"pounds on a gauge are pounds for each square inch: write {match[1]} psi"
    return None
