"""Sentences with quantities, spoken in the reader's units: findings, assumptions, sources."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, ClassVar, Literal

from msgspec import Struct

from supplycalc.records.data import quantity
from supplycalc.tables import Citation
from supplycalc.units import UnitSystem, base_of, show

Level = Literal["fail", "warn", "note"]
LEVELS: tuple[Level, ...] = ("fail", "warn", "note")
"""As findings are told."""

FROM_MEMORY = "from memory, check it"
NO_SOURCE = "common practice, no source"
_MARK = re.compile(r"\{(\d+)\}")
_TRADE_WORD = re.compile(r"\{([a-z0-9][a-zA-Z0-9 .,]*)\|([a-zA-Z0-9 .,]+)\}")
"""The American trade's word or figure and the European one's, as in `{hose bibb|garden tap}`."""
TEXT = {"type": "string"}
CITED = {"cite": TEXT, "source": TEXT, "source_check": TEXT}


class Finding(Struct, frozen=True, kw_only=True):
    """One judgement of the design."""

    level: Level
    code: str
    where: str
    message: str
    """A sentence with values marked as `{0}`, `{1}`, … to be shown in the reader's units."""
    values: tuple[tuple[float, str], ...] = ()
    """(SI value, dimension) of each mark."""
    remedy: str = ""
    remedy_values: tuple[tuple[float, str], ...] = ()
    source: Citation | None = None
    """None: common practice, no source."""

    data_schema: ClassVar[dict[str, Any]] = {
        "type": "object",
        "properties": {
            "level": {"enum": ["fail", "warn", "note"]},
            **dict.fromkeys(("code", "where", "message"), TEXT),
            "values": {"type": "array", "items": {"$ref": "#/$defs/quantity"}},
            "remedy": {"type": ["string", "null"]},
            **CITED,
        },
        "required": ["level", "code", "where", "message", "values", "remedy", *CITED],
    }

    def said(self, system: UnitSystem) -> str:
        """What it says, without its place and source."""
        return sentence(self.message, self.values, system)

    def remedy_said(self, system: UnitSystem) -> str:
        """What would mend it; empty where nothing is known to."""
        return sentence(self.remedy, self.remedy_values, system)

    def opening(self, system: UnitSystem) -> str:
        """Where it stands, as the start of its sentence; nothing if the sentence begins so."""
        begins = self.said(system).startswith(self.where)
        return "" if not self.where or begins else f"{self.where}: "

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it."""
        return {
            "level": self.level,
            "code": self.code,
            "where": self.where,
            "message": self.said(system),
            "values": [quantity(value, dimension, system) for value, dimension in self.values],
            "remedy": self.remedy_said(system) or None,
            **citation_data(self.source),
        }


class Assumption(Struct, frozen=True, kw_only=True):
    """Something the file leaves out, and what was taken instead."""

    text: str
    values: tuple[tuple[float, str], ...] = ()
    source: Citation | None = None
    weight: float | None = None
    """How much the worst margin would move if it were left out or doubled [Pa]."""

    data_schema: ClassVar[dict[str, Any]] = {
        "type": "object",
        "properties": {
            "text": TEXT,
            **{key: {"type": ["string", "null"]} for key in CITED},
            "weight": {"anyOf": [{"$ref": "#/$defs/quantity"}, {"type": "null"}]},
        },
        "required": ["text", *CITED, "weight"],
    }

    def said(self, system: UnitSystem) -> str:
        """What was assumed, with its source where it has one."""
        text = sentence(self.text, self.values, system)
        return text if self.source is None else f"{text} [{cite(self.source)}]"

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it."""
        cited = dict.fromkeys(CITED) if self.source is None else citation_data(self.source)
        return {
            "text": sentence(self.text, self.values, system),
            **cited,
            "weight": quantity(self.weight, "pressure", system),
        }


def sentence(text: str, values: Sequence[tuple[float, str]], system: UnitSystem) -> str:
    """Fill the marks `{0}`, `{1}`, … of a text and choose its trade words; other braces stay."""

    def filled(match: re.Match[str]) -> str:
        number = int(match[1])
        if number >= len(values):
            return match[0]
        value, dimension = values[number]
        return show(value, dimension, system)

    text = _TRADE_WORD.sub(r"\1" if base_of(system) == "us" else r"\2", text)
    return _MARK.sub(filled, text)


def amount(value: float, system: UnitSystem) -> str:
    """A pressure to spare or short; one that rounds to nothing is told as less than a digit."""
    text = show(value, "pressure", system)
    number, unit = text.split()
    if float(number) != 0.0 or value <= 0.0:
        return text
    digits = len(number.partition(".")[2])
    return f"less than {10.0**-digits:.{digits}f} {unit}"


def money(amount: float, currency: str) -> str:
    """An amount with its currency, e.g. "1,234.50 USD"."""
    return f"{amount:,.2f} {currency}".rstrip()


def cite(source: Citation | None) -> str:
    """A source in one line, with its mark where the figure was not seen in print."""
    if source is None:
        return NO_SOURCE
    text = source.short or source.text
    return f"{text} ({FROM_MEMORY})" if source.check == "memory" else text


def citation_data(source: Citation | None) -> dict[str, Any]:
    """The keys that say where a figure comes from: in one line, the whole story, how verified."""
    if source is None:
        return {"cite": NO_SOURCE, "source": "common practice", "source_check": "none"}
    return {"cite": cite(source), "source": source.whole, "source_check": source.check}
