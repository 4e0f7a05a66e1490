"""Quantities that are not known exactly, as people write them: "140 ± 10 ft", "30 to 40 psi".

What follows ± is the half width of the middle 95 % of a normal distribution; between the ends of
`a to b` every value is as likely; `about` is a ± of its own size.
"""

from __future__ import annotations

import re

from supplycalc.model.ranges import Distribution, Range
from supplycalc.reading.keys import Key
from supplycalc.reading.places import Path
from supplycalc.tables import load_table
from supplycalc.units import NotAQuantity, parse
from supplycalc.units.parsing import QUANTITY, ROUGHLY, plain_text, says_unknown

RANGED = ("source", "tank", "well", "water", "point", "run", "device", "manifold", "fixture")
"""Sections of what is measured; limits, defaults and wishes are set, not measured."""
LABEL_SPREAD = 100e3
"""[Pa] From this difference on two pressures of a switch are its label, not a range."""
_PLUS_MINUS = re.compile(r"(.+?)\s*(?:±|\+/-|\+-|\+ -|\bplus or minus\b)\s*(.+)")
_TO = re.compile(r"(?:between\s+)?(.+?)\s*(?:\bto\b|\band\b|–|\.\.)\s*(.+)", re.IGNORECASE)
_DASH = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*-\s*([0-9]+(?:\.[0-9]+)?\s*[A-Za-z°%'\"].*)")
"""Also 50-70 ft; a mixed number such as 1-1/2 ft is none of these."""
_UNIT = re.compile(r"[A-Za-z°%'\"]")


def range_of(key: Key, text: str, path: Path) -> Range | None:
    """The range that a text means.

    Args:
        text: as in the file; no plain quantity.

    Returns:
        The range, its path as in the file; None where the text is none.

    Raises:
        NotAQuantity: a range that is not rightly written, or none can be taken here.
    """
    plain = plain_text(text)
    if says_unknown(plain):
        return _unknown(key, text, path)
    if match := _PLUS_MINUS.fullmatch(plain):
        middle, half = _plus_minus(key, text, *match.groups())
        return _range(key, text, path, (middle - half, middle, middle + half), "normal")
    if rough := ROUGHLY.match(plain):
        middle = parse(plain[rough.end() :], key.dimension)
        half = _about(key.dimension, middle)
        return _range(key, text, path, (middle - half, middle, middle + half), "normal")
    if match := _TO.fullmatch(plain) or _DASH.fullmatch(plain):
        ends = _ends(key.dimension, *match.groups())
        label = key.name in ("cut_in", "cut_out") and ends and ends[1] - ends[0] > LABEL_SPREAD
        if ends is None or label:
            return None
        if ends[0] >= ends[1]:
            raise NotAQuantity(f"{text!r}: the lower end stands first")
        return _range(key, text, path, (ends[0], (ends[0] + ends[1]) / 2.0, ends[1]), "even")
    return None


def _range(
    key: Key,
    text: str,
    path: Path,
    values: tuple[float, float, float],
    distribution: Distribution,
) -> Range:
    if path[0] == "reading":
        raise NotAQuantity(f"{text!r}: give what was read, and accuracy beside it")
    if path[0] not in RANGED or isinstance(path[-1], int):
        raise NotAQuantity(f"{text!r}: give one value; a range is for what is measured")
    low, high = key.bounds()
    return Range(
        path=tuple(str(part) for part in path),
        dimension=key.dimension,
        low=max(values[0], low) if distribution == "normal" else values[0],
        middle=values[1],
        high=min(values[2], high) if distribution == "normal" else values[2],
        distribution=distribution,
        written=text,
        bounds=(low, high),
    )


def _plus_minus(key: Key, text: str, first: str, second: str) -> tuple[float, float]:
    """Middle and half width [SI]."""
    if not _UNIT.search(first):
        unit = QUANTITY.fullmatch(second)
        if unit is None or unit[3] == "%":
            raise NotAQuantity(f"{text!r} has no unit; write it like '140 ± 10 ft'")
        first = f"{first} {unit[3]}"
    middle = parse(first, key.dimension)
    if second.rstrip().endswith("%") and key.dimension != "share":
        return middle, parse(second, "share") * abs(middle)
    if key.dimension == "temperature" and (match := QUANTITY.fullmatch(second)):
        return middle, parse(second, "temperature") - parse(f"0 {match[3]}", "temperature")
    return middle, abs(parse(second, key.dimension))


def _ends(dimension: str, first: str, second: str) -> tuple[float, float] | None:
    if not _UNIT.search(first) and (match := QUANTITY.fullmatch(second)):
        first = f"{first} {match[3]}"
    try:
        return parse(first, dimension), parse(second, dimension)
    except NotAQuantity:
        return None


def _about(dimension: str, middle: float) -> float:
    """Half width of what is written with about [SI]."""
    table = load_table("ranges")["about"]
    if dimension == "temperature":
        return parse(table["temperature"], "temperature") - parse("0 degC", "temperature")
    share = parse(table["share"], "share") * abs(middle)
    if dimension == "elevation":
        return max(share, parse(table["height"], "length"))
    return share


def _unknown(key: Key, text: str, path: Path) -> Range | None:
    """The sourced range of what is not known at all; None where there is none."""
    field = ".".join(part for part in path if isinstance(part, str))
    row = load_table("ranges")["unknown"].get(field)
    if row is None:
        return None
    low, high = (parse(row[end], key.dimension) for end in ("low", "high"))
    return _range(key, text, path, (low, (low + high) / 2.0, high), "even")
