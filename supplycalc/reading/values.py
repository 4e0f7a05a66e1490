"""One value of a file against its key's declaration; what is right comes back in SI.

Each reader reports what is wrong and then returns None.
"""

from __future__ import annotations

import datetime
import itertools
import re
from collections.abc import Callable, Mapping
from typing import Any

from msgspec.structs import replace

from supplycalc.model import ShortLimit
from supplycalc.problems import MOST_CHOICES
from supplycalc.reading.keys import LEAST, SANE, Key
from supplycalc.reading.places import Path
from supplycalc.reading.reporter import Reporter, quoted
from supplycalc.reading.synonyms import meant_by
from supplycalc.units import DAY, DIMENSIONS, MINUTE, Loss, NotAQuantity, parse, parse_loss, show

LONGEST_TEXT = 200


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


def _mistyped(
    reporter: Reporter, key: Key, raw: object, path: Path, label: str, wanted: str
) -> None:
    """Report a value that is not what it must be; of lists none may be empty."""
    seen = "an empty list" if raw == [] and wanted == "a list" else what(raw)
    message = f"{label} must be {wanted}, not {seen}; write it like {sample(key)}"
    reporter.report(path, message)


def _string(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> str | None:
    if not isinstance(raw, str):
        _mistyped(reporter, key, raw, path, label, "text in quotes")
        return None
    text = raw.strip()
    if not text:
        reporter.report(path, f"{label} is empty; write it like {sample(key)}")
    elif len(text) > LONGEST_TEXT:
        reporter.report(path, f"{label} is longer than {LONGEST_TEXT} characters")
    elif not text.isprintable():
        bad = next(char for char in text if not char.isprintable())
        message = f"{label} holds a character that cannot be printed (U+{ord(bad):04X})"
        reporter.report(path, message)
    else:
        return text
    return None


def _word(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> str | None:
    text = _string(reporter, key, raw, path, label)
    if text is None:
        return None
    valid = reporter.choices.get(key.among, ()) if key.among else key.words
    if text in valid:
        return text
    noun = _NOUNS.get(key.among, "one of the choices")
    message = f"{label}: {quoted(text)} is not {noun}"
    problem = reporter.report(
        path, message, text, valid, meant_by(key.among or key.name, text, valid)
    )
    if problem.nearest is None and len(valid) > MOST_CHOICES:
        reporter.problems.remove(problem)
        reporter.report(path, f"{message}; 'supplycalc sources' lists them", text, valid)
    return None


_NOUNS = {
    "tubes": "a known material",
    "joinings": "a known way of joining",
    "devices": "a known kind of device",
    "fixtures": "a known kind of fixture",
}


def _quantity(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> float | None:
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        _mistyped(reporter, key, raw, path, label, "text with a unit")
        return None
    text = raw if isinstance(raw, str) else _digits(raw)
    try:
        value = parse(text, key.dimension)
    except NotAQuantity as error:
        spread = _spread(reporter, key, text, path, label, error)
        if spread is None:
            return None
        value = spread
    low, high = key.bounds()
    if value < low or value > high:
        reporter.report(path, f"{label}: {text!r} is out of range: {_range(key, value)}")
        return None
    return value


def _spread(
    reporter: Reporter, key: Key, text: str, path: Path, label: str, error: NotAQuantity
) -> float | None:
    """The middle of a range, which is noted; None where the text is no range or a wrong one."""
    from supplycalc.reading.ranges import range_of

    try:
        spread = range_of(key, text, path)
    except NotAQuantity as other:
        spread, error = None, other
    if spread is None:
        reporter.report(path, f"{label}: {error.reason}")
        return None
    for end in (spread.low, spread.high):
        if not key.bounds()[0] <= end <= key.bounds()[1]:
            reporter.report(path, f"{label}: {text!r} is out of range: {_range(key, end)}")
            return None
    if spread.low < spread.high:
        reporter.ranges.append((path, spread))
    return spread.middle


def _range(key: Key, value: float) -> str:
    low, high = key.bounds()
    if key.positive and value < low:
        return "it must be above zero" if value == 0 else "that is next to nothing"
    end, word = (low, "at least") if value < low else (high, "at most")
    us, metric = (show(end, key.dimension, system) for system in ("us", "metric"))
    return f"it must be {word} {us}" + ("" if us == metric else f" ({metric})")


def _flag(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> bool | None:
    if isinstance(raw, bool):
        return raw
    reporter.report(path, f"{label} must be true or false without quotes, not {what(raw)}")
    return None


def _count(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> int | None:
    low, high = key.bounds()
    if isinstance(raw, bool) or not isinstance(raw, int):
        _mistyped(reporter, key, raw, path, label, "a whole number")
    elif not low <= raw <= high:
        reporter.report(path, f"{label}: {_digits(raw)} is not between {low:.0f} and {high:.0f}")
    else:
        return raw
    return None


def _number(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> float | None:
    low, high = key.bounds()
    if isinstance(raw, bool) or not isinstance(raw, int | float) or raw != raw:
        _mistyped(reporter, key, raw, path, label, "a plain number")
    elif not low <= raw <= high:
        reporter.report(path, f"{label}: {_digits(raw)} is not between {low:g} and {high:g}")
    else:
        return float(raw)
    return None


def _size(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> str | None:
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        message = f"{label}: write the nominal size as text in quotes, not {what(raw)}"
        reporter.report(path, f"{message}: {sample(key)}")
        return None
    return _string(reporter, key, raw, path, label)


def _list(
    reporter: Reporter,
    key: Key,
    raw: object,
    path: Path,
    label: str,
    read: Callable[..., str | None],
) -> tuple[str, ...] | None:
    if not isinstance(raw, list) or not raw:
        _mistyped(reporter, key, raw, path, label, "a list")
        return None
    items = [read(reporter, key, item, (*path, i), label) for i, item in enumerate(raw)]
    return None if None in items else tuple(item for item in items if item is not None)


def _sizes(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    return _list(reporter, key, raw, path, label, _size)


def _names(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    return _list(reporter, key, raw, path, label, _string)


CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?\s*([AaPp][Mm])?")


def _clock(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> str | None:
    """A time of day, as text of the seconds after midnight."""
    text = _string(reporter, key, raw, path, label)
    if text is None:
        return None
    match = CLOCK.fullmatch(text)
    if match is not None:
        hour, minute, second = (int(part or 0) for part in match.groups()[:3])
        half = (match[4] or "").lower()
        if half and 1 <= hour <= 12:
            hour = hour % 12 + (12 if half == "pm" else 0)
            half = ""
        if not half and hour < 24 and minute < 60 and second < 60:
            return str(3600 * hour + 60 * minute + second)
    reporter.report(path, f'{label}: {quoted(text)} is not a time of day, such as "6:30"')
    return None


def _times(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    """Seconds after midnight, each once, in order."""
    raw = [raw] if isinstance(raw, str) else raw
    times = _list(reporter, key, raw, path, label, _clock)
    return None if times is None else tuple(sorted({float(text) for text in times}))


def _loss(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    if not isinstance(raw, str):
        _mistyped(reporter, key, raw, path, label, "text")
        return None
    try:
        loss = parse_loss(raw)
    except NotAQuantity as error:
        loss = _loss_within(reporter, key, raw, path, label, error)
        if loss is None:
            return None
    most = SANE["pressure"][1]
    if loss.reference_flow < LEAST["flow"] or max(loss.constant, loss.quadratic) > most:
        reporter.report(path, f"{label}: {quoted(raw)} is out of range: a unit went wrong")
        return None
    return loss


def _loss_within(
    reporter: Reporter, key: Key, raw: str, path: Path, label: str, error: NotAQuantity
) -> Any:
    """A loss whose pressure is a range, such as "about 12 psi at 7 gpm"."""
    pressure, _, flow = raw.replace("@", " at ").partition(" at ")
    part = replace(key, dimension="pressure", kind="quantity")
    value = _spread(reporter, part, pressure.strip(), path, label, error)
    if value is None:
        return None
    if not flow:
        return Loss(constant=value)
    try:
        return Loss(quadratic=value, reference_flow=parse(flow.strip(), "flow"))
    except NotAQuantity as other:
        reporter.report(path, f"{label}: {other.reason}")
        return None


def _falloff(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    """(pressure [Pa], flow [m3/s])"""
    loss = _loss(reporter, key, raw, path, label)
    if loss is None:
        return None
    if loss.quadratic <= 0 or not isinstance(raw, str) or raw.strip()[1:2] in "vV":
        reporter.report(path, f"{label} is a pressure at a flow; write it like {sample(key)}")
        return None
    return loss.quadratic, loss.reference_flow


STEEPEST = 1.01
"""Height over length of pipe beyond which a profile is a slip; the rest is rounding."""
_PARTS = {"tube-sizes": "nominal size, outside and inside diameter"}


def _rows(
    reporter: Reporter, key: Key, raw: object, path: Path, label: str, dimensions: tuple[str, ...]
) -> list[tuple[Any, ...]] | None:
    """Rows of quantities; an empty dimension stands for text."""
    if not isinstance(raw, list) or not raw:
        _mistyped(reporter, key, raw, path, label, "a list")
        return None
    rows: list[tuple[Any, ...]] = []
    before = len(reporter.problems)
    for i, row in enumerate(raw):
        spot = f"{label}, entry {i + 1}"
        if not isinstance(row, list) or len(row) != len(dimensions):
            parts = _PARTS.get(key.kind, f"{dimensions[0]} and {dimensions[-1]}")
            message = f"{spot} must be a list of {len(dimensions)}, {parts}"
            reporter.report((*path, i), f"{message}; write it like {sample(key)}")
            continue
        values: list[Any] = []
        for j, (item, dimension) in enumerate(zip(row, dimensions, strict=True)):
            part = Key(
                name=key.name,
                kind="quantity",
                help="",
                example=f'"{DIMENSIONS[dimension].examples[0]}"' if dimension else '"3/4"',
                dimension=dimension,
            )
            read = _quantity if dimension else _size
            values.append(read(reporter, part, item, (*path, i, j), spot))
        rows.append(tuple(values))
    return rows if len(reporter.problems) == before else None


def _curve(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    rows = _rows(reporter, key, raw, path, label, ("flow", key.dimension))
    if rows is None:
        return None
    falls = key.dimension == "head"
    if any(0.0 < flow < LEAST["flow"] for flow, _ in rows):
        reporter.report(path, f"{label}: a flow in it is next to nothing: a unit went wrong")
        return None
    for i, (left, right) in enumerate(itertools.pairwise(rows), start=1):
        if right[0] - left[0] < LEAST["flow"]:
            reporter.report(
                (*path, i), f"{label}, entry {i + 1}: the flow must rise from entry {i}"
            )
            return None
        if falls and right[1] > left[1]:
            reporter.report(
                (*path, i), f"{label}, entry {i + 1}: a pump's head falls as flow rises"
            )
            return None
        if not falls and right[1] < left[1]:
            reporter.report((*path, i), f"{label}, entry {i + 1}: the loss rises as flow rises")
            return None
    if falls and len(rows) > 1 and rows[-1][1] == rows[-2][1]:
        message = f"{label}, entry {len(rows)}: the head must fall at last, or the flow has no end"
        reporter.report((*path, len(rows) - 1), message)
        return None
    if not falls and len(rows) < 2:
        reporter.report(path, f"{label} needs two points; one is written loss = '12 psi at 7 gpm'")
        return None
    return tuple(rows)


def _profile(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    """Distances along a pipe, from 0 on, with the height there; no steeper than straight up."""
    rows = _rows(reporter, key, raw, path, label, ("length", "elevation"))
    if rows is None:
        return None
    if len(rows) < 2:
        reporter.report(path, f"{label} needs two points at least: where the run starts and ends")
        return None
    if rows[0][0] != 0.0:
        message = f"{label}, entry 1: the first distance is 0, where the run starts"
        reporter.report((*path, 0), message)
        return None
    for i, (left, right) in enumerate(itertools.pairwise(rows), start=1):
        along, up = right[0] - left[0], abs(right[1] - left[1])
        if along <= 0.0:
            message = f"{label}, entry {i + 1}: the distance must rise from entry {i}"
        elif up > along * STEEPEST:
            message = (
                f"{label}, entry {i + 1}: more height than pipe between it and entry {i}; "
                "distances are along the pipe"
            )
        else:
            continue
        reporter.report((*path, i), message)
        return None
    return tuple(rows)


def _position(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    if not isinstance(raw, list) or len(raw) != 3:
        seen = f"a list of {len(raw)}" if isinstance(raw, list) else what(raw)
        reporter.report(
            path,
            f"{label} must be a list of three lengths, not {seen}; write it like {sample(key)}",
        )
        return None
    lengths = [_quantity(reporter, key, item, (*path, i), label) for i, item in enumerate(raw)]
    return None if None in lengths else tuple(lengths)


def _fittings(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    if not isinstance(raw, dict):
        hint = ""
        if isinstance(raw, str) and raw in reporter.choices.get("joinings", ()):
            hint = f'; the way of joining is written joined = "{raw}"'
        message = (
            f"{label} must be counts by kind, not {what(raw)}; write it like {sample(key)}{hint}"
        )
        reporter.report(path, message)
        return None
    counts: list[tuple[str, int]] = []
    counted = Key(name="elbow-90", kind="count", help="", example="3", most=1000)
    for kind, number in raw.items():
        count = _count(reporter, counted, number, (*path, kind), f"{label}, {quoted(kind)}")
        if count is not None:
            counts.append((kind, count))
    return tuple(counts)


def _tube_sizes(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    rows = _rows(reporter, key, raw, path, label, ("", "diameter", "diameter"))
    if rows is None:
        return None
    for i, (nominal, outside, inside) in enumerate(rows):
        spot = f"{label}, {quoted(nominal)}"
        if not 0 < inside < outside:
            reporter.report((*path, i), f"{spot}: the inside diameter must be below the outside")
        elif inside < LEAST["diameter"]:
            reporter.report((*path, i), f"{spot}: an inside diameter next to nothing")
        elif i and inside <= rows[i - 1][2]:
            reporter.report((*path, i), f"{spot}: sizes must stand from small to large")
        elif nominal in [row[0] for row in rows[:i]]:
            reporter.report((*path, i), f"{spot}: the size stands twice")
        else:
            continue
        return None
    return tuple(rows)


_A_YEAR = re.compile(r"(.+?)\s*(?:a|per|/)\s*year")
_ONE_IN = re.compile(r"(\d+)\s+in\s+([\d,]+)(?:\s+(?:draws|minutes))?")
_MOST_RARE = 100_000


def _rarely(reporter: Reporter, key: Key, raw: object, path: Path, label: str) -> Any:
    """A time a year, or a part of all draws."""
    text = _string(reporter, key, raw, path, label)
    if text is None:
        return None
    if match := _A_YEAR.fullmatch(text):
        try:
            time = parse(match[1], "time")
        except NotAQuantity as error:
            reporter.report(path, f"{label}: {error.reason}")
            return None
        if MINUTE <= time <= DAY:
            return ShortLimit(text=text, a_year=time)
        message = f"{label}: {quoted(text)} is out of range: from 1 min to 24 h a year"
    elif match := _ONE_IN.fullmatch(text):
        number, of = int(match[1]), int(match[2].replace(",", ""))
        if 0 < number < of <= _MOST_RARE:
            return ShortLimit(text=text, share=number / of)
        message = f"{label}: {quoted(text)} is out of range: from 1 in 100,000 to less than all"
    else:
        message = (
            f'{label}: {quoted(text)} is neither like "10 min a year" nor like "1 in 100 draws"'
        )
    reporter.report(path, message, text)
    return None


READERS: Mapping[str, Callable[[Reporter, Key, object, Path, str], Any]] = {
    "quantity": _quantity, "text": _string, "name": _string, "word": _word, "size": _size,
    "sizes": _sizes, "flag": _flag, "count": _count, "number": _number, "loss": _loss,
    "falloff": _falloff, "curve": _curve, "profile": _profile, "position": _position,
    "fittings": _fittings, "names": _names, "times": _times, "tube-sizes": _tube_sizes,
    "rarely": _rarely,
}  # fmt: skip
