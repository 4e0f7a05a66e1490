"""Published limits of what stands before a hot outlet: length, volume, wait."""

from __future__ import annotations

import functools
from typing import Any, ClassVar

from msgspec import Struct

from supplycalc.catalogue import nominal_inches
from supplycalc.records import quantity
from supplycalc.records.sentences import CITED, TEXT, citation_data
from supplycalc.sizing.design import RunResult
from supplycalc.tables import CodeLimit, citation_of, load_table, to_si
from supplycalc.units import UnitSystem

SLACK = 1e-9


class LimitCheck(Struct, frozen=True, kw_only=True):
    """One published limit held against one outlet."""

    limit: CodeLimit
    dimension: str
    """Of the value and the limit: lengths and volumes have limits."""
    value: float
    """In SI."""

    data_schema: ClassVar[dict[str, Any]] = {
        "type": "object",
        "properties": {
            "name": TEXT,
            "title": TEXT,
            "value": {"$ref": "#/$defs/quantity"},
            "limit": {"$ref": "#/$defs/quantity"},
            "kept": {"type": "boolean"},
            **CITED,
        },
        "required": ["name", "title", "value", "limit", "kept", *CITED],
    }

    @property
    def kept(self) -> bool:
        """Whether the limit is kept."""
        return self.value <= self.limit.value * (1.0 + SLACK)

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it."""
        return {
            "name": self.limit.name,
            "title": self.limit.title,
            "value": quantity(self.value, self.dimension, system),
            "limit": quantity(self.limit.value, self.dimension, system),
            "kept": self.kept,
            **citation_data(self.limit.citation),
        }


@functools.cache
def hot_limit(name: str) -> CodeLimit:
    """A limit of hot_water.toml in SI.

    Source: named in the data file, row by row.
    """
    row = load_table("hot_water")["limit"][name]
    value = to_si(row["value"], row["unit"])
    return CodeLimit(name=name, title=row["title"], value=value, text="", citation=citation_of(row))


@functools.cache
def _lengths() -> tuple[tuple[float, float, float], ...]:
    """(nominal [in], longest from a heater [m], from kept-hot pipe [m]), ascending."""
    rows = load_table("hot_water")["pipe_length"]["rows"]
    return tuple(
        (nominal_inches(nominal), to_si(heater, "ft"), to_si(circulation, "ft"))
        for nominal, heater, circulation in rows
    )


def length_by_size(largest: RunResult, from_circulation: bool) -> CodeLimit:
    """The longest hot pipe [m] by its widest run, from the heater or from pipe that is kept hot.

    Source: International Energy Conservation Code, Table C404.5.1.
    """
    inches = largest.tube.inch_size(largest.size)
    row = next((row for row in _lengths() if inches <= row[0] + SLACK), _lengths()[-1])
    return CodeLimit(
        name="length-by-size",
        title="longest pipe by its largest size",
        value=row[2] if from_circulation else row[1],
        text="",
        citation=citation_of(load_table("hot_water")["pipe_length"]),
    )


def wait_class(time: float) -> str:
    """The published class of a waiting time [s]: "good", "fair" or "long".

    Source: ASPE Domestic Water Heating Design Manual.
    """
    for name, most in load_table("hot_water")["wait_class"]["rows"]:
        if time <= most * (1.0 + SLACK):
            return str(name)
    return "long"


def best_wait() -> float:
    """The longest wait of the best published class [s]."""
    return float(load_table("hot_water")["wait_class"]["rows"][0][1])
