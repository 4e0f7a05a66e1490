"""`House` -> the text of an input file that reads back as the same house, number by number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec.structs import fields

from supplycalc.model import FieldPath, FurtherWell, House, Loss, Range, Run, WaterSource
from supplycalc.model.field_paths import FILLING
from supplycalc.reading.build import read
from supplycalc.reading.fields import SECTIONS
from supplycalc.reading.keys import FIELDS, Key
from supplycalc.units import NotAQuantity, UnitSystem, convert, parse, unit_of
from supplycalc.units.dimensions import DIMENSIONS, SI

MOST_DIGITS = 6
"""Decimals tried in a common unit before a number is written in full in its SI unit."""
_SECTIONS = {
    "project": "project", "source": "source", "water": "water", "limits": "limits",
    "well": "joined_wells", "defaults": "defaults", "point": "points", "run": "every_run",
    "device": "every_device",
    "manifold": "manifolds", "tank": "far_tanks", "household": "households", "fixture": "fixtures",
    "draw": "draws", "reading": "readings", "layout": "layout",
    "storey": "storeys", "wall": "walls", "zone": "zones", "tube": "own_tubes",
    "fitting": "own_fittings", "device_kind": "own_devices",
}  # fmt: skip
"""Section of the file -> attribute of the house, or of its catalogue (`own_...`); the tank at
the switch is written in its source."""


def written_quantity(value: float, dimension: str, system: UnitSystem) -> str:
    """The shortest text that reads back as exactly this value.

    Args:
        value: the value [SI unit of the dimension].

    Returns:
        Such as "85 ft"; in full in the SI unit where no short number in a common unit is exact.
    """
    value = float(value)
    exact: list[str] = []
    for unit in dict.fromkeys((unit_of(dimension, system), *DIMENSIONS[dimension].units)):
        number = _number_in(value, dimension, unit)
        if number is None:
            continue
        for digits in range(MOST_DIGITS + 1):
            text = f"{number:.{digits}f} {unit}"
            if _reads_as(text, dimension, value):
                exact.append(text)
                break
    if exact:
        return min(exact, key=len)
    base = DIMENSIONS[dimension].base
    si = {**SI, "head": "m", "temperature": "K", "specific-capacity": "m3/s/m"}.get(base, "")
    text = f"{value!r} {si.replace('**', '')}"
    if _reads_as(text, dimension, value):
        return text
    number, unit = convert(value, dimension, system)
    return f"{number!r} {unit}"


def _number_in(value: float, dimension: str, unit: str) -> float | None:
    """The value in a unit, by two readings, so that offsets of temperature are met too."""
    try:
        if dimension == "temperature":
            zero, step = (273.15, 1.0) if unit == "degC" else (459.67 * 5 / 9, 5 / 9)
            return value if unit == "K" else (value - zero) / step
        return value / parse(f"1 {unit}", dimension)
    except NotAQuantity:
        return None


def _reads_as(text: str, dimension: str, value: float) -> bool:
    try:
        return parse(text, dimension) == value
    except NotAQuantity:
        return False


def write(house: House, remark: str = "") -> str:
    """Write a house as an input file.

    Comments and the order of a file that the house was read from are lost; every value is kept.

    Returns:
        TOML that `loads` reads as the same house; ends in a line break.

    Raises:
        InputError: the house, changed since it was read, is none that a file may describe.
    """
    lines = [f"# {line}".rstrip() for line in remark.splitlines()]
    for section in SECTIONS:
        if section.name not in _SECTIONS:
            continue
        attribute = _SECTIONS[section.name]
        content = getattr(house.catalogue if attribute.startswith("own_") else house, attribute)
        for record in content if isinstance(content, tuple) else (content,):
            path = (section.name, *([getattr(record, "name", "")] if section.many else []))
            keys = list(_keys(record, section.keys, house, path))
            if keys or section.many:
                lines += ["", section.header]
                lines += [f"{name} = {text}" for name, text in keys]
    text = "\n".join(lines).lstrip("\n") + "\n"
    read(text, "(the house as it would be written)")  # what no command would accept is not written
    return text


def _keys(
    record: Any, keys: Sequence[Key], house: House, path: FieldPath
) -> Iterator[tuple[str, str]]:
    """The keys of a record that say more than their absence would."""
    plain = _defaults_of(record)
    ranges = {each.path: each for each in house.ranges}
    for key in keys:
        value = _value(record, key, house)
        spread = ranges.get((*path, key.name))
        if spread is not None and _still_holds(spread, value):
            yield key.name, toml_text(spread.written)
            continue
        given = hasattr(record, "given") or key.required
        if value is None or (not given and value == plain.get(key.name)):
            continue
        if value == () and key.kind != "fittings":
            continue
        if key.kind == "table":
            inside = _keys(value, key.keys, house, (*path, key.name))
            inner = ", ".join(f"{n} = {t}" for n, t in inside)
            yield key.name, f"{{ {inner} }}"
        else:
            yield key.name, _text(value, key, house.project.units)


def _still_holds(spread: Range, value: Any) -> bool:
    """Whether a house, perhaps changed since, has the middle of what was read as a range."""
    if spread.distribution == "sizes":
        return value is None
    if isinstance(value, Loss):
        return spread.middle in (value.constant, value.quadratic)
    return bool(value == spread.middle)


def _defaults_of(record: Any) -> Mapping[str, Any]:
    """What the record's class takes where a key is missing."""
    defaults = {}
    for field in fields(record):
        name = field.name
        word = next((key for key, attribute in FIELDS.items() if attribute == name), name)
        defaults[word] = field.default
    return defaults


def _value(record: Any, key: Key, house: House) -> Any:
    """The record's value for a key; None where the key is better left out."""
    name = FIELDS.get(key.name, key.name)
    if isinstance(record, FurtherWell) and key.name not in ("name", "pump"):
        if key.name == "joins":
            return None if record.line or record.joins == house.source.point else record.joins
        record = record.well
    if isinstance(record, WaterSource) and record.open_water:
        filling = record.filled_by
        if key.name == "kind":
            return "tank" if record.kind == "well" else record.kind
        if key.name in FILLING:
            return None if filling is None else getattr(filling, FILLING[key.name])
    if key.name == "falloff":
        return None if record.falloff is None else (record.falloff, record.falloff_flow)
    if isinstance(getattr(record, "loss", None), Loss) and key.name in ("loss", "curve"):
        curve = record.loss.curve
        return (curve or None) if key.name == "curve" else (None if curve else record.loss)
    if key.name == "curve" and not hasattr(record, "curve"):
        return None
    value = getattr(record, name, None)
    at = getattr(record, "at", None)
    if key.name == "elevation" and isinstance(at, tuple) and len(at) == 3 and value == at[2]:
        return None
    if hasattr(record, "given") and name not in record.given:
        return None
    if isinstance(record, Run):
        return _run_value(record, key.name, value, house)
    if isinstance(record, WaterSource) and key.name in ("cut_in", "cut_out"):
        pump = record.pump
        held = pump is not None and pump.kind == "constant-pressure" and pump.set_pressure == value
        return None if held else value
    return value


def _run_value(run: Run, name: str, value: Any, house: House) -> Any:
    defaults = house.defaults
    if name == "length" and run.length_measured:
        return None
    if name == "material" and value == defaults.material:
        return None
    if name == "fitting_allowance" and run.fittings is not None:
        return None  # counted fittings leave it nothing to stand for
    if name == "joined":
        usual = house.catalogue.tubes[run.material].joinings
        taken = defaults.joining if defaults.joining in usual else usual[0]
        return None if value == taken else value
    if run.fixture is not None and name in ("name", "to"):
        return None
    return value


def _text(value: Any, key: Key, system: UnitSystem) -> str:
    if key.kind == "quantity":
        return toml_text(written_quantity(value, key.dimension, system))
    if key.kind == "loss":
        return toml_text(_loss(value, system))
    if key.kind == "falloff":
        return toml_text(
            f"{written_quantity(value[0], 'pressure', system)} at "
            f"{written_quantity(value[1], 'flow', system)}"
        )
    if key.kind == "rarely":
        return toml_text(value.text)
    if key.kind == "profile":
        return _rows(value, ("length", "elevation"), system)
    if key.kind == "curve":
        return _rows(value, ("flow", key.dimension), system)
    if key.kind == "tube-sizes":
        return _rows(value, ("", "diameter", "diameter"), system)
    if key.kind == "position":
        return _list(written_quantity(part, key.dimension, system) for part in value)
    if key.kind == "fittings":
        counts = ", ".join(f"{kind} = {count}" for kind, count in value)
        return f"{{ {counts} }}" if counts else "{}"
    if key.kind in ("names", "sizes"):
        return _list(value)
    if key.kind == "times":
        return _list(_clock(time) for time in value)
    if key.kind == "flag":
        return "true" if value else "false"
    return repr(value) if isinstance(value, int | float) else toml_text(value)


def _loss(loss: Loss, system: UnitSystem) -> str:
    if loss.constant and not loss.quadratic:
        return written_quantity(loss.constant, "pressure", system)
    if not loss.quadratic:
        return written_quantity(0.0, "pressure", system)
    pressure = written_quantity(loss.quadratic, "pressure", system)
    return f"{pressure} at {written_quantity(loss.reference_flow, 'flow', system)}"


def _rows(rows: Sequence[Sequence[Any]], dimensions: Sequence[str], system: UnitSystem) -> str:
    texts = (
        _list(
            written_quantity(item, dimension, system) if dimension else item
            for item, dimension in zip(row, dimensions, strict=True)
        )
        for row in rows
    )
    return f"[{', '.join(texts)}]"


def _list(words: Iterator[str] | Sequence[str]) -> str:
    return f"[{', '.join(toml_text(word) for word in words)}]"


def _clock(seconds: float) -> str:
    whole = round(seconds)
    hours, minutes, rest = whole // 3600, whole // 60 % 60, whole % 60
    return f"{hours}:{minutes:02d}:{rest:02d}" if rest else f"{hours}:{minutes:02d}"


def toml_text(text: str) -> str:
    """A TOML basic string with what must be escaped escaped."""
    import json

    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
