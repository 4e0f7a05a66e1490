"""A table of variants of one house (CSV): column names are fields, cells their values."""

from __future__ import annotations

import csv
import io
import re

from msgspec import Struct

from supplycalc.model import FieldPath, House, Loss
from supplycalc.model.field_paths import NoSuchField, value_at
from supplycalc.problems import InputError, Place, Problem
from supplycalc.reading.fields import SECTIONS
from supplycalc.reading.keys import Key
from supplycalc.reading.runs import nominal_size
from supplycalc.units import NotAQuantity, parse

MOST_ROWS = 1_000_000
NAME = "name"
"""The column that says what a variant is called."""
_UNIT_IN_HEAD = re.compile(r"(.+?)\s*[\[(]([^\])]+)[\])]")


class VariantColumn(Struct, frozen=True, kw_only=True):
    """One field that a table varies."""

    head: str
    path: FieldPath
    key: Key
    unit: str
    """Of plain numbers in its cells; empty: each cell names its own."""
    sizes: tuple[str, ...] = ()
    """The family's nominal sizes, where it varies a size."""


class VariantTable(Struct, frozen=True, kw_only=True):
    """Variants of one house."""

    columns: tuple[VariantColumn, ...]
    names: tuple[str, ...]
    values: tuple[tuple[float | None, ...], ...]
    """By row: in SI, or the number of a size in its family; None: as in the file."""


def read_variants(text: str, name: str, house: House) -> VariantTable:
    """Read a table of variants.

    Raises:
        InputError: everything that is wrong, by line.
    """
    rows = [row for row in csv.reader(io.StringIO(text.removeprefix("\ufeff"))) if any(row)]
    problems: list[Problem] = []

    def wrong(line: int, message: str) -> None:
        problems.append(Problem(place=Place(name, line), message=message))

    if len(rows) < 2 or len(rows) > MOST_ROWS:
        wrong(1, "a table of variants has a heading and a row for each variant")
        raise InputError(problems)
    heads = [head.strip() for head in rows[0]]
    columns: list[VariantColumn | None] = []
    for head in heads:
        try:
            columns.append(None if head.lower() == NAME else _column(head, house))
        except NotAQuantity as error:
            wrong(1, error.reason)
            columns.append(None)
    if not problems and not any(columns):
        wrong(1, "no column names a field, such as run.service.length or source.cut_in")
    names, values = [], []
    for line, row in enumerate(rows[1:], start=2):
        if len(row) != len(heads):
            wrong(line, f"{len(row)} cells, {len(heads)} in the heading")
            continue
        called, cells = str(line - 1), []
        for column, cell in zip(columns, row, strict=True):
            if column is None:
                called = cell.strip() or called
                continue
            try:
                cells.append(_cell(column, cell.strip()))
            except NotAQuantity as error:
                wrong(line, f"{column.head}: {error.reason}")
        names.append(called)
        values.append(tuple(cells))
    if problems:
        raise InputError(problems)
    return VariantTable(
        columns=tuple(column for column in columns if column is not None),
        names=tuple(names),
        values=tuple(values),
    )


def _column(head: str, house: House) -> VariantColumn:
    match = _UNIT_IN_HEAD.fullmatch(head)
    text, unit = match.groups() if match else (head, "")
    path = _path(text, house)
    key = _key(path)
    try:
        value = value_at(house, path)
    except NoSuchField:
        key = None
    if key is None or key.kind not in ("quantity", "loss", "size"):
        raise NotAQuantity(
            f"{head!r} is no field with a quantity or a size of this house; write it like "
            "run.service.length, source.cut_in or fixture.bath.elevation"
        )
    if key.kind == "loss" and (not isinstance(value, Loss) or value.curve):
        raise NotAQuantity(f"{head!r} is varied only where the file gives it as a pressure")
    if key.kind == "size":
        run_path = (*path[:-1], "material")
        tube = house.catalogue.tubes[value_at(house, run_path)]
        return VariantColumn(
            head=head, path=path, key=key, unit="", sizes=tuple(s.nominal for s in tube.sizes)
        )
    return VariantColumn(head=head, path=path, key=key, unit=unit)


def _path(text: str, house: House) -> FieldPath:
    """The path that a word means; names may have points of their own."""
    section, _, rest = text.partition(".")
    named = {
        "run": [run.name for run in house.all_runs],
        "device": [item.name for item in house.every_device],
        "manifold": [item.name for item in house.manifolds],
        "point": [item.name for item in house.points],
        "fixture": [item.name for item in house.fixtures],
    }
    for name in sorted(named.get(section, ()), key=len, reverse=True):
        if rest.startswith(f"{name}."):
            return (section, name, *rest[len(name) + 1 :].split("."))
    return tuple(text.split("."))


def _key(path: FieldPath) -> Key | None:
    """The declaration of a field; None where there is none."""
    section = next((each for each in SECTIONS if each.name == path[0]), None)
    if section is None:
        return None
    keys, key = section.keys, None
    for part in path[2:] if section.many else path[1:]:
        key = next((each for each in keys if each.name == part), None)
        if key is None:
            return None
        keys = key.keys
    return key


def _cell(column: VariantColumn, text: str) -> float | None:
    if not text:
        return None
    if column.sizes:
        nominal = nominal_size(text, column.sizes)
        if nominal is None:
            raise NotAQuantity(f"{text!r} is no size of it; choose from {', '.join(column.sizes)}")
        return float(column.sizes.index(nominal))
    key = column.key
    dimension = "pressure" if key.kind == "loss" else key.dimension
    value = parse(f"{text} {column.unit}".strip(), dimension)
    low, high = key.bounds()
    if key.kind == "quantity" and not low <= value <= high:
        raise NotAQuantity(f"{text!r} is out of range: a unit went wrong")
    return value
