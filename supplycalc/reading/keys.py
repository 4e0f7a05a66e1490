"""What a key and a section of the input file are; `fields` declares them all."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, get_args

from msgspec import Struct
from msgspec.structs import fields, replace

from supplycalc.units.quantities import Of

Kind = Literal[
    "quantity",  # text with a number and a unit
    "text",  # free text
    "name",  # a new name
    "word",  # one of a list of words
    "size",  # a nominal size
    "sizes",  # a list of nominal sizes
    "flag",  # true or false
    "count",  # a whole number
    "number",  # a plain number, no unit
    "loss",  # "12 psi at 7 gpm" and its other forms
    "falloff",  # a pressure at a flow
    "rarely",  # "10 min a year" or "1 in 100 draws"
    "curve",  # a list of pairs of quantities
    "profile",  # a list of distances and heights
    "position",  # three lengths
    "fittings",  # a table of counts by fitting kind
    "names",  # a list of names
    "times",  # a list of times of day
    "tube-sizes",  # a list of [nominal, outside, inside]
    "table",  # keys of its own
]

SANE: Mapping[str, tuple[float, float]] = {
    "length": (0.0, 20e3),
    "elevation": (-3e3, 6e3),
    "diameter": (0.0, 5.0),
    "roughness": (0.0, 0.05),
    "cover": (0.0, 50.0),
    "pressure": (0.0, 1e7),
    "setting": (0.0, 1e7),
    "flow": (0.0, 1.0),
    "temperature": (273.15, 373.15),
    "velocity": (0.0, 30.0),
    "volume": (0.0, 1e3),
    "head": (0.0, 2e3),
    "specific-capacity": (0.0, 1.0),
    "power": (0.0, 1e6),
    "density": (100.0, 2e4),
    "share": (0.0, 10.0),
}
"""Least and greatest sensible value of each dimension [SI]: beyond them a unit went wrong."""
LEAST: Mapping[str, float] = {
    "length": 1e-4,
    "diameter": 1e-5,
    "pressure": 1.0,
    "setting": 1.0,
    "flow": 1e-9,
    "velocity": 1e-3,
    "volume": 1e-7,
    "time": 1e-3,
    "specific-capacity": 1e-12,
    "power": 1e-2,
    "share": 1e-6,
}
"""Least sensible value where zero is refused [SI]: what is less is a slip, and dividing by it would
leave no number."""


class Key(Struct, frozen=True, kw_only=True):
    """One key of a section."""

    name: str
    kind: Kind
    help: str
    """In plain words; a sentence."""
    example: str
    """As TOML text."""
    dimension: str = ""
    """Of a quantity, or of a curve's second entry."""
    words: tuple[str, ...] = ()
    among: str = ""
    """Which names of the catalogue a word is one of: tubes, joinings, devices, fixtures."""
    required: bool = False
    default: str = ""
    """What is taken where the key is missing, in words."""
    positive: bool = False
    """Zero is refused."""
    least: float | None = None
    most: float | None = None
    keys: tuple[Key, ...] = ()
    """Of a table."""
    old_name: str = ""
    """What the key was called once; still read, and told."""

    def bounds(self) -> tuple[float, float]:
        """Least and greatest value [SI or plain]."""
        low, high = SANE.get(self.dimension, (0.0, 1e6))
        if self.positive:
            low = LEAST[self.dimension]
        return (
            low if self.least is None else self.least,
            high if self.most is None else self.most,
        )


class Section(Struct, frozen=True, kw_only=True):
    """One section of the file: a table, or a list of tables."""

    name: str
    many: bool
    help: str
    keys: tuple[Key, ...]
    required: bool = False

    @property
    def header(self) -> str:
        """As it stands in the file."""
        return f"[[{self.name}]]" if self.many else f"[{self.name}]"


def quantity_key(name: str, example: str, help: str, **more: Any) -> Key:  # noqa: A002
    """A key whose value is a quantity; `keys_of` knows its dimension."""
    return Key(name=name, kind="quantity", example=f'"{example}"', help=help, **more)


def flag_key(name: str, help: str) -> Key:  # noqa: A002
    """A key that is false where it is missing."""
    return Key(name=name, kind="flag", example="true", default="false", help=help)


FIELDS = {"from": "start", "to": "end", "joined": "joining"}
"""Key of the file -> field of its record, where the two differ."""


def keys_of(record: type[Struct], *keys: Key) -> tuple[Key, ...]:
    """The keys that fill a record, each quantity with the dimension of its field's type."""
    types = {field.name: field.type for field in fields(record)}
    return tuple(
        replace(key, dimension=_dimension(types[FIELDS.get(key.name, key.name)]))
        if key.kind == "quantity"
        else key
        for key in keys
    )


def _dimension(field_type: Any) -> str:
    """Of a quantity's type, which may be None too."""
    for kind in (field_type, *get_args(field_type)):
        for part in get_args(kind):
            if isinstance(part, Of):
                return part.dimension
    raise TypeError(f"{field_type} is no quantity")
