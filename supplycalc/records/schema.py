"""JSON Schema of a result, derived from the types of its records."""

from __future__ import annotations

from collections.abc import Mapping
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from msgspec import Struct

from supplycalc.records.data import Result
from supplycalc.records.fields import measure_of, public_fields

QUANTITY = {
    "type": "object",
    "properties": {"value": {"type": "number"}, "unit": {"type": "string"}},
    "required": ["value", "unit"],
}
PLAIN = {str: "string", bool: "boolean", int: "integer", float: "number"}
HEAD = {
    "schema": {"type": "string"},
    "project": {"type": "string"},
    "ok": {"type": "boolean"},
    "units": {"enum": ["us", "metric"]},
}


def result_schema(result: type[Result]) -> dict[str, Any]:
    """The JSON Schema (2020-12) of what a command prints with `--json`.

    Returns:
        The schema; a field that may have no value, or none that is finite, may be null.
    """
    whole = _of(result)
    properties = {**HEAD, "schema": {"const": result.schema}, **whole.get("properties", {})}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": result.schema,
        "description": (result.__doc__ or "").split("\n")[0],
        **whole,
        "properties": properties,
        "required": [*properties],
        "$defs": {"quantity": QUANTITY},
    }


def _of(hint: Any) -> dict[str, Any]:
    """The schema of one type."""
    if measure_of(hint) is not None:
        return {"anyOf": [{"$ref": "#/$defs/quantity"}, {"type": "null"}]}
    origin, kinds = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return _of(kinds[0])
    if origin in (Union, UnionType):
        return {"anyOf": [_of(kind) for kind in kinds]}
    if hint is type(None):
        return {"type": "null"}
    if origin is Literal:
        return {"enum": list(kinds)}
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": _of(kinds[1])}
    if origin in (tuple, list):
        item = _of(kinds[0]) if len(kinds) == 1 or kinds[-1] is Ellipsis else {}
        return {"type": "array", "items": item}
    if isinstance(hint, type) and issubclass(hint, Struct):
        return _of_record(hint)
    # a plain number that is not finite is written as null
    return {"type": ["number", "null"]} if hint is float else {"type": PLAIN[hint]}


def _of_record(record: type[Struct]) -> dict[str, Any]:
    own = getattr(record, "data_schema", None)
    if own is not None:
        return dict(own)
    kind: Any = record
    properties = {field.key: _of(field.hint) for field in public_fields(kind)}
    properties |= getattr(record, "more_schema", {})
    return {"type": "object", "properties": properties, "required": [*properties]}
