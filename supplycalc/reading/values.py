"""One value of a file against its key's declaration; what is right comes back in SI.

A reader raises what is wrong; one of a list reports what is wrong in it, and returns None.
"""

from __future__ import annotations

import datetime
import itertools
import math
import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import ShortLimit
from supplycalc.problems import MOST_CHOICES
from supplycalc.reading.keys import LEAST, SANE, Key
from supplycalc.reading.places import Path
from supplycalc.reading.reporter import Reporter, quoted
from supplycalc.reading.synonyms import meant_by, nearly_meant_by
from supplycalc.units import DAY, DIMENSIONS, MINUTE, Loss, NotAQuantity, parse, parse_loss, show

_Read = TypeVar("_Read")
LONGEST_TEXT = 200
MOST_PARTS_OF_AN_INCH = 16


def what(raw: object) -> str:
    """How a message calls a value of the wrong type."""
    if isinstance(raw, bool):
        return "true or false"
    if isinstance(raw, str):
        return f"the text {quoted(raw)}"
    if isinstance(raw, int | float):
        return f"the number {_digits(raw)}"
    if isinstance(raw, list):
        return "a list"
    if isinstance(raw, dict):
        return "a table"
    return "a date or time" if isinstance(raw, datetime.date | datetime.time) else "this"


def _digits(raw: float) -> str:
    try:
        digits = str(raw)
    except ValueError:
        return "of too many digits"
    return digits if len(digits) <= 30 else f"{digits[:27]}..."


def sample(key: Key) -> str:
    """A key with its example, as it would stand in the file."""
    return f"{key.name} = {key.example}"


class WrongValueError(Exception):
    """A value is not what its key asks for."""

    def __init__(self, value: Value, message: str, word: str = "") -> None:
        super().__init__(message)
        self.value = value
        self.word = word


class Value(Struct, frozen=True):
    """One value of a file, and the key that it stands under."""

    reporter: Reporter
    key: Key
    raw: Any
    path: Path
    label: str
    """How messages call it; they begin with it."""

    def read(self, reader: Callable[[Value], _Read | None]) -> _Read | None:
        """What a reader makes of it; None where that is wrong, which is then reported."""
        try:
            return reader(self)
        except WrongValueError as error:
            at = error.value
            self.reporter.report(at.path, f"{at.label}{error}", error.word)
        except NotAQuantity as error:
            self.reporter.report(self.path, f"{self.label}: {error.reason}")
        return None

    def wrong(self, message: str, word: str = "") -> WrongValueError:
        """What is wrong with it."""
        return WrongValueError(self, message, word)

    def mistyped(self, wanted: str) -> WrongValueError:
        """That it is not what it must be; of lists none may be empty."""
        seen = "an empty list" if self.raw == [] and wanted == "a list" else what(self.raw)
        return self.wrong(f" must be {wanted}, not {seen}; write it like {sample(self.key)}")

    def entry(self, i: int, label: str = "", key: Key | None = None) -> Value:
        """One entry of a list, counted from 0."""
        path = (*self.path, i)
        return Value(self.reporter, key or self.key, self.raw[i], path, label or self.label)

    def numbered(self, i: int) -> Value:
        """The same, called by its number."""
        return self.entry(i, f"{self.label}, entry {i + 1}")


def _string(value: Value) -> str:
    if not isinstance(value.raw, str):
        raise value.mistyped("text in quotes")
    text = value.raw.strip()
    if not text:
        raise value.wrong(f" is empty; write it like {sample(value.key)}")
    if len(text) > LONGEST_TEXT:
        raise value.wrong(f" is longer than {LONGEST_TEXT} characters")
    if not text.isprintable():
        bad = next(char for char in text if not char.isprintable())
        raise value.wrong(f" holds a character that cannot be printed (U+{ord(bad):04X})")
    return text


def _word(value: Value) -> str | None:
    text, key, reporter = _string(value), value.key, value.reporter
    valid = reporter.choices.get(key.among, ()) if key.among else key.words
    if text in valid:
        return text
    noun = _NOUNS.get(key.among, "one of the choices")
    message = f"{value.label}: {quoted(text)} is not {noun}"
    meant = meant_by(key.among or key.name, text, valid)
    meant = meant or nearly_meant_by(key.among or key.name, text, valid)
    problem = reporter.report(value.path, message, text, valid, meant)
    if problem.nearest is None and len(valid) > MOST_CHOICES:
        reporter.problems.remove(problem)
        message = f"{message}; 'supplycalc sources' lists them"
        reporter.report(value.path, message, text, valid)
    return None


_NOUNS = {
    "tubes": "a known material",
    "joinings": "a known way of joining",
    "devices": "a known kind of device",
    "fixtures": "a known kind of fixture",
}


def _quantity(value: Value) -> float:
    if isinstance(value.raw, bool) or not isinstance(value.raw, str | int | float):
        raise value.mistyped("text with a unit")
    text = value.raw if isinstance(value.raw, str) else _digits(value.raw)
    try:
        number = parse(text, value.key.dimension)
    except NotAQuantity as error:
        return _spread(value, text, error)
    low, high = value.key.bounds()
    if number < low or number > high:
        raise value.wrong(f": {text!r} is out of range: {_range(value.key, number)}")
    return number


def _spread(value: Value, text: str, error: NotAQuantity) -> float:
    """The middle of a range, which is noted; None where the text is no range or a wrong one."""
    from supplycalc.reading.ranges import range_of

    key = value.key
    spread = range_of(key, text, value.path)
    if spread is None:
        raise error
    for end in (spread.low, spread.high, spread.middle):
        if not key.bounds()[0] <= end <= key.bounds()[1]:
            raise value.wrong(f": {text!r} is out of range: {_range(key, end)}")
    if spread.low < spread.high:
        value.reporter.ranges.append((value.path, spread))
    return spread.middle


def _range(key: Key, value: float) -> str:
    low, high = key.bounds()
    if key.positive and value < low:
        return "it must be above zero" if value == 0 else "that is next to nothing"
    end, word = (low, "at least") if value < low else (high, "at most")
    us, metric = (show(end, key.dimension, system) for system in ("us", "metric"))
    return f"it must be {word} {us}" + ("" if us == metric else f" ({metric})")


def _flag(value: Value) -> bool:
    if isinstance(value.raw, bool):
        return value.raw
    raise value.wrong(f" must be true or false without quotes, not {what(value.raw)}")


def _count(value: Value) -> int:
    low, high = value.key.bounds()
    raw = value.raw
    if isinstance(raw, bool) or not isinstance(raw, int):
        raise value.mistyped("a whole number")
    if not low <= raw <= high:
        raise value.wrong(f": {_digits(raw)} is not between {low:.0f} and {high:.0f}")
    return raw


def _number(value: Value) -> float:
    low, high = value.key.bounds()
    raw = value.raw
    if isinstance(raw, bool) or not isinstance(raw, int | float) or raw != raw:
        raise value.mistyped("a plain number")
    if not low <= raw <= high:
        raise value.wrong(f": {_digits(raw)} is not between {low:g} and {high:g}")
    return float(raw)


def _size(value: Value) -> str:
    if isinstance(value.raw, int | float) and not isinstance(value.raw, bool):
        seen = what(value.raw)
        raise value.wrong(
            f": write the nominal size as text in quotes, not {seen}: {value.key.name} = "
            f'"{_nominal(value.raw)}"'
        )
    return _string(value)


def _nominal(number: float) -> str:
    """A number as sizes are called: "1-1/4" for 1.25."""
    if not math.isfinite(number):
        return f"{number:g}"
    whole, parts = divmod(Fraction(number), 1)
    if parts == 0 or parts.denominator > MOST_PARTS_OF_AN_INCH:
        return f"{number:g}"
    return f"{whole}-{parts}" if whole else str(parts)


def _list(value: Value, reader: Callable[[Value], str]) -> tuple[str, ...] | None:
    if not isinstance(value.raw, list) or not value.raw:
        raise value.mistyped("a list")
    items = [value.entry(i).read(reader) for i in range(len(value.raw))]
    return None if None in items else tuple(item for item in items if item is not None)


def _sizes(value: Value) -> tuple[str, ...] | None:
    return _list(value, _size)


def _names(value: Value) -> tuple[str, ...] | None:
    return _list(value, _string)


CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?\s*([AaPp][Mm])?")


def _clock(value: Value) -> str:
    """A time of day, as text of the seconds after midnight."""
    text = _string(value)
    match = CLOCK.fullmatch(text)
    if match is not None:
        hour, minute, second = (int(part or 0) for part in match.groups()[:3])
        half = (match[4] or "").lower()
        if half and 1 <= hour <= 12:
            hour = hour % 12 + (12 if half == "pm" else 0)
            half = ""
        if not half and hour < 24 and minute < 60 and second < 60:
            return str(3600 * hour + 60 * minute + second)
    raise value.wrong(f': {quoted(text)} is not a time of day, such as "6:30"')


def _times(value: Value) -> tuple[float, ...] | None:
    """Seconds after midnight, each once, in order."""
    if isinstance(value.raw, str):
        value = replace(value, raw=[value.raw])
    times = _list(value, _clock)
    return None if times is None else tuple(sorted({float(text) for text in times}))


def _loss(value: Value) -> Loss:
    if not isinstance(value.raw, str):
        raise value.mistyped("text")
    try:
        loss = parse_loss(value.raw)
    except NotAQuantity as error:
        loss = _loss_within(value, error)
    most = SANE["pressure"][1]
    if loss.reference_flow < LEAST["flow"] or max(loss.constant, loss.quadratic) > most:
        raise value.wrong(f": {quoted(value.raw)} is out of range: a unit went wrong")
    return loss


def _loss_within(value: Value, error: NotAQuantity) -> Loss:
    """A loss whose pressure is a range, such as "about 12 psi at 7 gpm"."""
    pressure, _, flow = value.raw.replace("@", " at ").partition(" at ")
    key = replace(value.key, dimension="pressure", kind="quantity")
    middle = _spread(replace(value, key=key), pressure.strip(), error)
    if not flow:
        return Loss(constant=middle)
    return Loss(quadratic=middle, reference_flow=parse(flow.strip(), "flow"))


def _falloff(value: Value) -> tuple[float, float]:
    """(pressure [Pa], flow [m3/s])"""
    loss = _loss(value)
    if loss.quadratic <= 0 or value.raw.strip()[1:2] in "vV":
        raise value.wrong(f" is a pressure at a flow; write it like {sample(value.key)}")
    return loss.quadratic, loss.reference_flow


STEEPEST = 1.01
"""Height over length of pipe beyond which a profile is a slip; the rest is rounding."""
_PARTS = {"tube-sizes": "nominal size, outside and inside diameter"}


def _rows(value: Value, *dimensions: str) -> list[tuple[Any, ...]] | None:
    """Rows of quantities; an empty dimension stands for text."""
    if not isinstance(value.raw, list) or not value.raw:
        raise value.mistyped("a list")
    name = value.key.name
    keys = [
        Key(
            name=name,
            kind="quantity",
            help="",
            example=f'"{DIMENSIONS[dimension].examples[0]}"' if dimension else '"3/4"',
            dimension=dimension,
        )
        for dimension in dimensions
    ]

    def cells(row: Value) -> tuple[Any, ...]:
        if not isinstance(row.raw, list) or len(row.raw) != len(dimensions):
            parts = _PARTS.get(row.key.kind, f"{dimensions[0]} and {dimensions[-1]}")
            must = f" must be a list of {len(dimensions)}, {parts}"
            raise row.wrong(f"{must}; write it like {sample(row.key)}")
        return tuple(
            row.entry(j, key=key).read(_quantity if key.dimension else _size)
            for j, key in enumerate(keys)
        )

    before = len(value.reporter.problems)
    rows = [value.numbered(i).read(cells) for i in range(len(value.raw))]
    return None if len(value.reporter.problems) > before else [row for row in rows if row]


def _curve(value: Value) -> tuple[tuple[float, float], ...] | None:
    rows = _rows(value, "flow", value.key.dimension)
    if rows is None:
        return None
    falls = value.key.dimension == "head"
    if any(0.0 < flow < LEAST["flow"] for flow, _ in rows):
        raise value.wrong(": a flow in it is next to nothing: a unit went wrong")
    for i, (left, right) in enumerate(itertools.pairwise(rows), start=1):
        row = value.numbered(i)
        if right[0] - left[0] < LEAST["flow"]:
            raise row.wrong(f": the flow must rise from entry {i}")
        if falls and right[1] > left[1]:
            raise row.wrong(": a pump's head falls as flow rises")
        if not falls and right[1] < left[1]:
            raise row.wrong(": the loss rises as flow rises")
    if falls and len(rows) > 1 and rows[-1][1] == rows[-2][1]:
        raise value.numbered(len(rows) - 1).wrong(
            ": the head must fall at last, or the flow has no end"
        )
    if not falls and len(rows) < 2:
        raise value.wrong(" needs two points; one is written loss = '12 psi at 7 gpm'")
    return tuple(rows)


def _profile(value: Value) -> tuple[tuple[float, float], ...] | None:
    """Distances along a pipe, from 0 on, with the height there; no steeper than straight up."""
    rows = _rows(value, "length", "elevation")
    if rows is None:
        return None
    if len(rows) < 2:
        raise value.wrong(" needs two points at least: where the run starts and ends")
    if rows[0][0] != 0.0:
        raise value.numbered(0).wrong(": the first distance is 0, where the run starts")
    for i, (left, right) in enumerate(itertools.pairwise(rows), start=1):
        along, up = right[0] - left[0], abs(right[1] - left[1])
        row = value.numbered(i)
        if along <= 0.0:
            raise row.wrong(f": the distance must rise from entry {i}")
        if up > along * STEEPEST:
            raise row.wrong(
                f": more height than pipe between it and entry {i}; distances are along the pipe"
            )
    return tuple(rows)


def _position(value: Value) -> tuple[float, ...] | None:
    raw = value.raw
    if not isinstance(raw, list) or len(raw) != 3:
        seen = f"a list of {len(raw)}" if isinstance(raw, list) else what(raw)
        raise value.wrong(
            f" must be a list of three lengths, not {seen}; write it like {sample(value.key)}"
        )
    lengths = [value.entry(i).read(_quantity) for i in range(3)]
    return None if None in lengths else tuple(length for length in lengths if length is not None)


def _fittings(value: Value) -> tuple[tuple[str, int], ...]:
    raw = value.raw
    if not isinstance(raw, dict):
        hint = ""
        if isinstance(raw, str) and raw in value.reporter.choices.get("joinings", ()):
            hint = f'; the way of joining is written joined = "{raw}"'
        raise value.wrong(
            f" must be counts by kind, not {what(raw)}; write it like {sample(value.key)}{hint}"
        )
    counts: list[tuple[str, int]] = []
    counted = Key(name="elbow-90", kind="count", help="", example="3", most=1000)
    for kind, number in raw.items():
        label = f"{value.label}, {quoted(kind)}"
        count = Value(value.reporter, counted, number, (*value.path, kind), label).read(_count)
        if count is not None:
            counts.append((kind, count))
    return tuple(counts)


def _tube_sizes(value: Value) -> tuple[tuple[str, float, float], ...] | None:
    rows = _rows(value, "", "diameter", "diameter")
    if rows is None:
        return None
    for i, (nominal, outside, inside) in enumerate(rows):
        row = value.entry(i, f"{value.label}, {quoted(nominal)}")
        if not 0 < inside < outside:
            raise row.wrong(": the inside diameter must be below the outside")
        if inside < LEAST["diameter"]:
            raise row.wrong(": an inside diameter next to nothing")
        if i and inside <= rows[i - 1][2]:
            raise row.wrong(": sizes must stand from small to large")
        if nominal in [row[0] for row in rows[:i]]:
            raise row.wrong(": the size stands twice")
    return tuple(rows)


_A_YEAR = re.compile(r"(.+?)\s*(?:a|per|/)\s*year")
_ONE_IN = re.compile(r"(\d+)\s+in\s+([\d,]+)(?:\s+(?:draws|minutes))?")
_MOST_RARE = 100_000


def _rarely(value: Value) -> ShortLimit:
    """A time a year, or a part of all draws."""
    text = _string(value)
    message = f'{quoted(text)} is neither like "10 min a year" nor like "1 in 100 draws"'
    if match := _A_YEAR.fullmatch(text):
        time = parse(match[1], "time")
        if MINUTE <= time <= DAY:
            return ShortLimit(text=text, a_year=time)
        message = f"{quoted(text)} is out of range: from 1 min to 24 h a year"
    elif match := _ONE_IN.fullmatch(text):
        number, of = int(match[1]), int(match[2].replace(",", ""))
        if 0 < number < of <= _MOST_RARE:
            return ShortLimit(text=text, share=number / of)
        message = f"{quoted(text)} is out of range: from 1 in 100,000 to less than all"
    raise value.wrong(f": {message}", text)


READERS: Mapping[str, Callable[[Value], Any]] = {
    "quantity": _quantity, "text": _string, "name": _string, "word": _word, "size": _size,
    "sizes": _sizes, "flag": _flag, "count": _count, "number": _number, "loss": _loss,
    "falloff": _falloff, "curve": _curve, "profile": _profile, "position": _position,
    "fittings": _fittings, "names": _names, "times": _times, "tube-sizes": _tube_sizes,
    "rarely": _rarely,
}  # fmt: skip
