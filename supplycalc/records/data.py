"""Records as dictionaries for JSON: every quantity {"value", "unit"} at full precision.

Keys are only ever added; a change of meaning gets a new number in a result's `schema`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from operator import attrgetter
from typing import Any, ClassVar, get_args

from msgspec import Struct

from supplycalc.model import House
from supplycalc.problems import InputError, Place, Problem
from supplycalc.records.fields import Form, item_hint, measure_of, public_fields
from supplycalc.units import WISHED, BaseSystem, UnitSystem, base_of, convert

__all__ = ["Form", "Result", "fields_to_data", "quantity", "to_data", "to_json"]

DIGITS = 14
"""Of a number in JSON: 60.0, not 59.99999999999999; far more than any input knows."""


class Result(Struct, frozen=True, kw_only=True):
    """What a question found, with its public form; each question's result is one of these."""

    schema: ClassVar[str] = ""
    """Name and number of its JSON form, such as "supplycalc-hot/1"."""

    @property
    def house(self) -> House:
        """The house that was asked about."""
        raise NotImplementedError

    @property
    def ok(self) -> bool:
        """True when nothing fails."""
        raise NotImplementedError

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as the command's `--json` prints it.

        Args:
            units: "us" or "metric"; None takes the project's.
        """
        system = unit_system(self.house, units)
        head = {
            "schema": self.schema,
            "project": self.house.project.name,
            "ok": self.ok,
            "units": base_of(system),
        }
        return {**head, **to_data(self, system)}

    def _repr_html_(self) -> str:
        """How a notebook shows it."""
        from supplycalc.records.notebook import to_html

        return to_html(self, self.house.project.shown_in)


def unit_system(house: House, units: str | None) -> UnitSystem:
    """The units asked for, or the project's own; InputError where there are no such units."""
    if units is None:
        return house.project.shown_in
    wishes = {unit for choices in WISHED.values() for unit in choices}
    base, *wished = units.split(" ")
    if base not in get_args(BaseSystem) or not wishes.issuperset(wished):
        message = f"{units!r} is not a unit system"
        valid = get_args(BaseSystem)
        raise InputError([Problem(place=Place("units"), message=message, value=units, valid=valid)])
    return units


def quantity(value: float | None, dimension: str, system: UnitSystem) -> dict[str, Any] | None:
    """A quantity as {"value", "unit"}; None where there is no finite value."""
    if value is None or not math.isfinite(value):
        return None
    number, unit = convert(value, dimension, system)
    return {"value": float(f"{number:.{DIGITS}g}"), "unit": unit}


def to_data(value: Any, system: UnitSystem, hint: Any = None) -> Any:
    """Any value of a record as JSON knows it.

    A record with a method `to_data(system)` says itself how it looks.

    Args:
        hint: its type, which tells what a number measures; a record needs none.
    """
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, Struct):
        own = getattr(value, "to_data", None)
        return fields_to_data(value, system) if own is None else own(system)
    if isinstance(value, int | float):
        measure = measure_of(hint)
        if measure is not None:
            return quantity(value, measure.dimension, measure.always or system)
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: to_data(item, system, item_hint(hint, 1)) for key, item in value.items()}
    return [to_data(item, system, item_hint(hint, index)) for index, item in enumerate(value)]


def fields_to_data(record: Any, system: UnitSystem) -> dict[str, Any]:
    """A record's public fields as JSON knows them, by its types and its `form` alone."""
    data = {}
    kind: Any = type(record)
    for field in public_fields(kind):
        value = attrgetter(field.attribute)(record)
        if field.spoken:
            value = value(system)
        data[field.key] = to_data(value, system, field.hint)
    return data


def to_json(data: Any) -> str:
    """JSON text of a dictionary, refusing what JSON does not know; ends in a line break.

    Letters stand as they are; what could steer a terminal is escaped.
    """
    import json

    text = json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False)
    if not text.replace("\n", "").isprintable():
        text = "".join(
            letter if letter == "\n" or letter.isprintable() else json.dumps(letter)[1:-1]
            for letter in text
        )
    return text + "\n"
