"""Text to SI numbers, and the only home of pint.

A quantity in a file is data, never an expression: one small grammar splits the number from its
unit, a table of common units gives the factor, and only an unusual unit is looked up with pint.
"""

from __future__ import annotations

import functools
import math
import re
from typing import TYPE_CHECKING, Any

from supplycalc.problems import NOWHERE, Problem
from supplycalc.units.dimensions import (
    DIMENSIONS,
    FACTORS,
    FOOT,
    HEAD_DENSITY,
    HEAD_UNITS,
    INCH,
    OFFSETS,
    PSI,
    RATIOS,
    SI,
    STANDARD_GRAVITY,
    Dimension,
)
from supplycalc.units.hints import hint
from supplycalc.units.loss import Loss

if TYPE_CHECKING:
    import pint


class NotAQuantity(ValueError):  # noqa: N818 - says what it is
    """The text is not a quantity of the wanted dimension; `reason` says why, for the user."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(reason)


_DECIMAL = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_NUMBER = rf"(?:[0-9]+[ -]+[0-9]+/[0-9]+|[0-9]+/[0-9]+|{_DECIMAL})"
_UNIT = r"[A-Za-zµ°%'\"][^0-9+*()=,;-]*?(?:[23](?:/[A-Za-z/]+)?|/100 ft)?"
QUANTITY = re.compile(rf"([+-]?)\s*({_NUMBER})\s*({_UNIT})")
FEET_INCHES = re.compile(
    rf"([+-]?)\s*([0-9]+)\s*(?:ft\.?|foot|feet|')[ -]*({_NUMBER})\s*(?:in\.?|inch|inches|\")"
)
_MINUTES = r"[0-9]+\s*(?:min|minutes?)"
_SECONDS = rf"{_DECIMAL}\s*(?:s|secs?|seconds?)"
_STOPWATCH = r"[0-9]{1,3}:[0-5][0-9](?:\.[0-9]+)?"
MINUTES_SECONDS = re.compile(rf"({_MINUTES})[ ,]*({_SECONDS})")
RATIO = re.compile(
    rf"({_NUMBER}\s*{_UNIT})\s*(?:/|\bin\b|\bper\b)\s*"
    rf"({_MINUTES}[ ,]*{_SECONDS}|{_STOPWATCH}|{_NUMBER}\s*{_UNIT})"
)
_EACH = re.compile(r"\s*(?:/|\b(?:in an?|per|an?|each|every)\b)\s*", re.IGNORECASE)
_IMPERIAL = re.compile(r"(?:imp\.|imperial|uk|u\.k\.|british)\s+", re.IGNORECASE)
BARE = re.compile(rf"[+-]?\s*{_NUMBER}")
ROUGHLY = re.compile(
    r"(?:about|roughly|around|approximately|approx\.?|circa|ca\.?|maybe|~|some)\s*(?=[-+]?[0-9.])",
    re.IGNORECASE,
)
"""What people say before a number that is rough."""
UNKNOWN = ("", "unknown", "not known", "don't know", "tbd", "to be measured", "n/a", "na")
COMMA = re.compile(r"([+-]?[0-9]+),([0-9]+)(.*)")
PLAIN = str.maketrans({
    "′": "'", "’": "'", "″": '"', "”": '"', "−": "-", "º": "°", "μ": "µ", "³": "3",
    "²": "2", "\u00a0": " ", "\u202f": " ", "½": " 1/2", "¼": " 1/4", "¾": " 3/4",
    "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
})  # fmt: skip
PINT_UNIT = re.compile(r"[A-Za-z_µ°]+[23]?(?:/[A-Za-z_µ°]+[23]?){0,3}")


def parse(text: str, dimension: str) -> float:
    """Read one quantity as people write it.

    A height of water and a pressure are one for `head`, at the density of water at 60 degF.

    Args:
        text: e.g. "140 ft", "5' 3\\"", "85 1/2 ft", "50 degF", "5 gal in 28 s".
        dimension: a key of `DIMENSIONS`.

    Returns:
        The value [SI unit of the dimension].

    Raises:
        NotAQuantity: not a number with a fitting unit.

    Source: factors are exact by definition, density of water at 60 degF from the
    petroleum measurement tables' reference value (from memory), held against IAPWS-95 in the tests.
    """
    want = DIMENSIONS[dimension]
    plain = plain_text(text)
    if len(plain) > 60:
        raise NotAQuantity(f"the text is too long for {want.phrase} ({len(plain)} characters)")
    value = _read(text, plain, dimension, want)
    if not math.isfinite(value):
        raise NotAQuantity(f"{text!r} is too large a number")
    if value < 0 and (want.base == "temperature" or not want.signed):
        below = "below absolute zero" if dimension == "temperature" else "negative"
        if dimension != "temperature-difference":
            raise NotAQuantity(f"{text!r}: {want.phrase} cannot be {below}")
    return value


def plain_text(text: str) -> str:
    """A text with plain signs and single blanks."""
    return " ".join(text.translate(PLAIN).replace("''", '"').replace('""', '"').split())


def says_unknown(plain: str) -> bool:
    """Whether a text, its signs plain, says that nobody knows."""
    return plain.strip("?. ").lower() in UNKNOWN and plain.strip() != ""


def _read(text: str, plain: str, dimension: str, want: Dimension) -> float:
    base = want.base
    if base in ("length", "head") and (match := FEET_INCHES.fullmatch(plain)):
        sign, feet, inches = match.groups()
        over = _number(inches, text)
        if over >= 12:
            more, rest = divmod(over, 12)
            meant = f"{sign}{int(feet) + int(more)} ft {rest:g} in"
            raise NotAQuantity(
                f"{text!r}: {over:g} inches are a foot or more; write {meant!r} if that is meant"
            )
        length = int(feet) * FOOT + over * INCH
        return -length if sign == "-" else length
    if base == "time" and (match := MINUTES_SECONDS.fullmatch(plain)):
        return sum(parse(part, "time") for part in match.groups())
    if advice := hint(plain, base):
        raise NotAQuantity(f"{text!r}: {advice}")
    if base in RATIOS and (match := RATIO.fullmatch(plain)):
        first, second = match.groups()
        above = parse(first, RATIOS[base][0])
        below = _stopwatch(second) or parse(second, RATIOS[base][1])
        if below == 0:
            raise NotAQuantity(f"{text!r} divides by zero")
        return above / below
    if match := QUANTITY.fullmatch(plain):
        sign, digits, unit = match.groups()
        number = _number(digits, text) * (-1.0 if sign == "-" else 1.0)
        factor, offset = _unit(unit.strip(), text, want)
        return number * factor + (offset if dimension == "temperature" else 0.0)
    raise NotAQuantity(_why_not(text, plain, want))


def _stopwatch(text: str) -> float | None:
    """Seconds of "1:15", as a stopwatch shows it; None where the text is none."""
    if re.fullmatch(_STOPWATCH, text) is None:
        return None
    minutes, _, seconds = text.partition(":")
    return int(minutes) * 60.0 + float(seconds)


def _number(digits: str, text: str) -> float:
    """A decimal number, a fraction or a mixed number such as 1-1/2."""
    whole, _, fraction = digits.replace("-", " ").rpartition(" ") if "/" in digits else ("", "", "")
    if not fraction:
        return float(digits)
    over, _, under = fraction.partition("/")
    if int(under) == 0:
        raise NotAQuantity(f"{text!r} divides by zero")
    return float(whole.strip() or 0) + int(over) / int(under)


def _unit(unit: str, text: str, want: Dimension) -> tuple[float, float]:
    """Factor and offset to SI."""
    unit = _IMPERIAL.sub("imp ", _EACH.sub("/", unit.replace("^", "")))
    known = HEAD_UNITS if want.base == "head" else FACTORS[want.base]
    for word in (unit, unit.removesuffix("."), _folded(unit)):
        if word in known:
            return known[word], OFFSETS.get(word, 0.0)
    above, slash, below = unit.partition("/")
    if slash and want.base in RATIOS:
        over, under = (FACTORS[base] for base in RATIOS[want.base])
        above, below = _folded(above), _folded(below)
        if above in over and below in under:
            return over[above] / under[below], 0.0
    for base, words in FACTORS.items():
        if unit in words:
            raise NotAQuantity(_wrong_dimension(text, DIMENSIONS[base].phrase, want))
    return _rare_unit(unit, text, want), 0.0


@functools.cache
def _folded_words() -> dict[str, str]:
    words = (word for units in FACTORS.values() for word in units)
    return {word.lower(): word for word in words if word != "MPa"}


def _folded(unit: str) -> str:
    """The word meant by "PSI" or "Gpm"; mixed case after the first letter is left alone."""
    usual = unit.isupper() or unit.islower() or unit.istitle() or "/" in unit
    return _folded_words().get(unit.lower(), unit) if usual else unit


@functools.cache
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    try:
        registry: pint.UnitRegistry[Any] = pint.UnitRegistry(cache_folder=":auto:")
    except OSError:
        registry = pint.UnitRegistry()
    registry.define("gpm = gallon / minute")
    return registry


@functools.lru_cache(maxsize=256)
def _pint_factor(unit: str, base: str) -> float | str | None:
    """Factor to SI; None for an unknown unit, the phrase of what else it measures."""
    import pint

    registry = _registry()
    if PINT_UNIT.fullmatch(unit) is None:
        return None
    try:
        quantity = registry.Quantity(1.0, re.sub(r"(?<=[A-Za-z])([23])", r"**\1", unit))
    except Exception:
        # pint answers odd unit names with errors of many kinds; all mean the same here
        return None
    try:
        return float(quantity.to(SI[base]).magnitude) if base in SI else ""
    except (pint.DimensionalityError, pint.OffsetUnitCalculusError):
        for other, si in SI.items():
            if quantity.is_compatible_with(si):
                return DIMENSIONS[other].phrase
        return ""


def _rare_unit(unit: str, text: str, want: Dimension) -> float:
    base = "length" if want.base == "head" else want.base
    factor = _pint_factor(unit, base)
    if want.base == "head" and isinstance(factor, str):
        factor = _pint_factor(unit, "pressure")
        if isinstance(factor, float):
            factor /= HEAD_DENSITY * STANDARD_GRAVITY
    if isinstance(factor, float):
        return factor
    if factor is not None:
        raise NotAQuantity(_wrong_dimension(text, factor, want))
    message = f"{text!r}: {unit!r} is not a known unit for {want.phrase}"
    raise NotAQuantity(Problem(place=NOWHERE, message=message, value=unit, valid=want.units).text)


def _wrong_dimension(text: str, phrase: str, want: Dimension) -> str:
    such = f"such as {want.examples[0]!r} or {want.examples[1]!r}"
    seen = f"is {phrase}" if phrase else "measures something else"
    hint = ""
    if want.base == "pressure" and phrase == DIMENSIONS["length"].phrase:
        hint = "; a height of water presses with 0.433 psi per ft, 9.8 kPa per m"
    return f"{text!r} {seen}, but {want.phrase} is expected, {such}{hint}"


def _why_not(text: str, plain: str, want: Dimension) -> str:
    units = ", ".join(want.units)
    such = f"write it like {want.examples[0]!r} or {want.examples[1]!r}"
    if not plain:
        return f"the text is empty; {such}"
    if says_unknown(plain):
        guess = want.examples[0]
        return f"{text!r}: measure it, or write your best guess as 'about {guess}'; {such}"
    if rough := ROUGHLY.match(plain):
        return f"{text!r} is not a number with a unit; write {plain[rough.end() :]!r}"
    if BARE.fullmatch(plain):
        return f"{text!r} has no unit; choose from: {units} ({such})"
    if match := COMMA.fullmatch(plain):
        whole, rest, unit = match.groups()
        if len(rest) == 3:
            return f"{text!r} has a comma; write {whole}{rest}{unit} or {whole}.{rest}{unit}"
        return f"{text!r} has a decimal comma; write {whole}.{rest}{unit}"
    return f"{text!r} is not a number with a unit; {such}"


LOSS = re.compile(r"(.+?)\s*(?:@|\bat\b)\s*(.+)")
COEFFICIENT = re.compile(rf"([CcKk][Vv])\s*=?\s*({_DECIMAL})")


def parse_loss(text: str) -> Loss:
    """Read a device's loss.

    Args:
        text: "12 psi at 7 gpm" (with the square of the flow), "5 psi" (the same at every flow),
            "Cv 8" (US gpm at 1 psi) or "Kv 6.9" (m3/h at 1 bar).

    Raises:
        NotAQuantity: none of these.

    Source: valve coefficients as IEC 60534-1 defines Cv and Kv (from memory).
    """
    plain = text.strip()
    if match := COEFFICIENT.fullmatch(plain):
        number = float(match[2])
        if not 0 < number < math.inf:
            raise NotAQuantity(f"{text!r}: a flow coefficient must be above zero")
        if match[1].lower() == "cv":
            return Loss(quadratic=PSI, reference_flow=number * FACTORS["flow"]["gpm"])
        return Loss(quadratic=1e5, reference_flow=number * FACTORS["flow"]["m3/h"])
    if match := LOSS.fullmatch(plain):
        loss, flow = parse(match[1], "pressure"), parse(match[2], "flow")
        if flow == 0:
            raise NotAQuantity(f"{text!r}: the flow it was read at must be above zero")
        return Loss(quadratic=loss, reference_flow=flow)
    try:
        return Loss(constant=parse(plain, "pressure"))
    except NotAQuantity as error:
        hint = "a loss is written like '12 psi at 7 gpm', '5 psi', 'Cv 8' or 'Kv 6.9'"
        raise NotAQuantity(f"{error.reason}; {hint}") from None
