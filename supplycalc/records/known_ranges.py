"""What is known within a range, in words and as JSON: what it is, what it means, how to measure."""

from __future__ import annotations

from typing import Any, ClassVar

from msgspec import Struct

from supplycalc.model import FieldPath, Range
from supplycalc.records.data import quantity
from supplycalc.records.sentences import TEXT
from supplycalc.units import UnitSystem, show

_WORDS = {
    "cut_in": "cut-in pressure",
    "cut_out": "cut-out pressure",
    "residual": "residual pressure",
    "static": "static pressure",
    "residual_flow": "flow of the residual reading",
    "elevation": "height",
    "static_level": "water level",
    "precharge": "air charge",
    "cold": "temperature of cold water",
    "hot": "temperature of hot water",
}
"""Keys that are not the trade's words for what they hold."""
_TOOLS = {
    "cut_in": "read the tank's gauge as the pump starts",
    "cut_out": "read the tank's gauge as the pump stops",
    "set_pressure": "read the tank's gauge while a tap runs",
    "residual": "read a gauge on an outdoor tap while another runs, and fill a bucket by a watch",
    "static": "read a gauge on an outdoor tap with nothing running",
    "precharge": "pump off and tank drained, read a tyre gauge on its air valve",
    "static_level": "pump's circuit off and locked, let a weighted tape down the casing",
    "measured_flow": "fill a bucket by a watch at the tank, while its gauge is read",
    "recovery": "fill a bucket by a watch for an hour of pumping",
    "specific_capacity": "pump for hours by bucket and watch, read the falling level by a tape",
    "loss": "read a gauge before and after it while a bucket fills by a watch",
    "size": "measure around the pipe with a tape, compare with the outside diameters of its kind",
    "volume": "read the label",
    "curve": "read the label",
    "cold": "hold a thermometer in the water after it has run for minutes",
    "hot": "hold a thermometer in the water after it has run for minutes",
}
_TOOLS_BY_DIMENSION = {
    "length": "measure the way with a tape",
    "elevation": "measure the height with tape and level, or with a hose full of water",
    "flow": "fill a bucket by a watch",
    "pressure": "read a gauge",
    "setting": "read a gauge",
    "temperature": "hold a thermometer in the running water",
    "cover": "dig down and measure with a tape",
    "diameter": "measure with a calliper",
}


class KnownRange(Struct, frozen=True, kw_only=True):
    """A range of the file, as results tell it."""

    known: Range

    data_schema: ClassVar[dict[str, Any]] = {
        "type": "object",
        "properties": {
            **dict.fromkeys(("field", "written", "distribution", "measure"), TEXT),
            **{key: {"$ref": "#/$defs/quantity"} for key in ("low", "middle", "high")},
            "sizes": {"type": "array", "items": {"type": "string"}},
        },
        "required": [
            "field", "written", "distribution", "measure", "low", "middle", "high", "sizes",
        ],
    }  # fmt: skip

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it."""
        known = self.known
        return {
            "field": known.field,
            "written": known.written,
            "distribution": known.distribution,
            **{
                end: quantity(getattr(known, end), known.dimension, system)
                for end in ("low", "middle", "high")
            },
            "sizes": list(known.sizes),
            "measure": how_to_measure(known.path, known.dimension),
        }


def name_of(path: FieldPath) -> str:
    """What a field is called in a sentence, such as "length of service"."""
    key = path[-1]
    word = _WORDS.get(key, key.replace("_", " "))
    if path[0] == "water" or (path[0] == "source" and len(path) == 2):
        return word
    owner = f"the {path[1]}" if path[0] == "source" else " ".join(path[1:-1])
    return f"{word} of {owner}"


def range_said(known: Range, system: UnitSystem) -> str:
    """What a range means, such as "85.0 ft, in 95 of 100 cases 75.0 ft to 95.0 ft"."""
    if known.distribution == "sizes":
        return f"one of {', '.join(known.sizes)}, each as likely"
    low, middle, high = (
        show(value, known.dimension, system) for value in (known.low, known.middle, known.high)
    )
    if known.distribution == "even":
        return f"{low} to {high}, each value as likely; {middle} is the middle"
    return f"{middle}, in 95 of 100 cases {low} to {high}"


def how_to_measure(path: FieldPath, dimension: str) -> str:
    """How to measure a field with gauge, bucket, watch or tape, as an order."""
    return _TOOLS.get(path[-1]) or _TOOLS_BY_DIMENSION.get(dimension, "read the label or measure")
