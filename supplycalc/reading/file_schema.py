"""JSON Schema of the input file, so that editors complete and check it."""

from __future__ import annotations

from typing import Any

import tomli

from supplycalc.reading.fields import SECTIONS
from supplycalc.reading.keys import Key

_PAIR = {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}
_TRIPLE = {"type": "array", "items": {"type": "string"}, "minItems": 3, "maxItems": 3}
_SHAPES: dict[str, dict[str, Any]] = {
    "quantity": {"type": "string"},
    "text": {"type": "string", "minLength": 1},
    "name": {"type": "string", "minLength": 1},
    "word": {"type": "string"},
    "size": {"type": "string"},
    "sizes": {"type": "array", "items": {"type": "string"}, "minItems": 1},
    "flag": {"type": "boolean"},
    "count": {"type": "integer"},
    "number": {"type": "number"},
    "loss": {"type": "string"},
    "falloff": {"type": "string"},
    "rarely": {"type": "string"},
    "curve": {"type": "array", "items": _PAIR, "minItems": 1},
    "profile": {"type": "array", "items": _PAIR, "minItems": 2},
    "position": _TRIPLE,
    "fittings": {"type": "object", "additionalProperties": {"type": "integer", "minimum": 0}},
    "names": {"type": "array", "items": {"type": "string"}, "minItems": 1},
    "times": {"type": "array", "items": {"type": "string"}, "minItems": 1},
    "tube-sizes": {"type": "array", "items": _TRIPLE, "minItems": 1},
}


def schema() -> dict[str, Any]:
    """Describe the input file for editors.

    Source: JSON Schema draft 2020-12; the keys from `fields`.
    """
    properties: dict[str, Any] = {}
    for section in SECTIONS:
        table = {**_table(section.keys), "description": section.help}
        properties[section.name] = (
            {"type": "array", "items": table, "description": section.help}
            if section.many
            else table
        )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "supplycalc input file",
        "type": "object",
        "properties": properties,
        "required": [
            *(section.name for section in SECTIONS if section.required),
            "fixture",
        ],
        "additionalProperties": False,
    }


def _table(keys: tuple[Key, ...]) -> dict[str, Any]:
    table: dict[str, Any] = {
        "type": "object",
        "properties": {
            **{key.name: _key(key) for key in keys},
            **{
                key.old_name: {**_key(key), "description": f"Now {key.name}.", "deprecated": True}
                for key in keys
                if key.old_name
            },
        },
        "additionalProperties": False,
    }
    required = [key.name for key in keys if key.required]
    return {**table, "required": required} if required else table


def _key(key: Key) -> dict[str, Any]:
    shape = _table(key.keys) if key.kind == "table" else dict(_SHAPES[key.kind])
    if key.words:
        shape["enum"] = list(key.words)
    if key.kind in ("count", "number"):
        shape["minimum"], shape["maximum"] = key.bounds()
    default = f" Left out: {key.default}." if key.default else ""
    shape["description"] = f"{key.help}{default}"
    shape["examples"] = [tomli.loads(f"example = {key.example}")["example"]]
    return shape
