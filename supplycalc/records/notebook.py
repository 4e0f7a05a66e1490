"""Results as HTML for a notebook: one row per field, one table per list of records."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from operator import attrgetter
from typing import Any

from msgspec import Struct

from supplycalc.records.fields import PublicField, item_hint, measure_of, public_fields
from supplycalc.records.table import Column, Table, table_of
from supplycalc.units import UnitSystem, show


def to_html(record: Any, system: UnitSystem) -> str:
    """A result as HTML: what it says in words, its plain fields, each of its lists as a table.

    Returns:
        HTML in which every text is escaped.
    """
    facts, tables = [], []
    kind: Any = type(record)
    in_words_first = sorted(public_fields(kind), key=lambda field: not field.spoken)
    for field in in_words_first:
        value = attrgetter(field.attribute)(record)
        if field.spoken:
            value = value(system)
        if isinstance(value, tuple) and value and isinstance(value[0], Struct):
            item = item_hint(field.hint, 0)
            for alike in _by_kind(item, value):
                tables.append(table_html(records_table(field.key, item, alike), system))
        elif not isinstance(value, Struct | tuple | list | dict) and value is not None:
            facts.append((field.key, _shown(value, field, system)))
    rows = "".join(f"<tr><th>{_words(key)}</th><td>{text}</td></tr>" for key, text in facts)
    return f"<table>{rows}</table>{''.join(tables)}"


def _by_kind(item: Any, records: Sequence[Any]) -> list[Sequence[Any]]:
    """Records of several kinds apart, as each has columns of its own."""
    if isinstance(item, type):
        return [records]
    kinds = dict.fromkeys(type(record) for record in records)
    return [[record for record in records if type(record) is kind] for kind in kinds]


def records_table(title: str, kind: Any, records: Sequence[Any]) -> Table:
    """Records as a table: a column for each plain field; lists and records within a record are left
    out."""
    fields = [
        field
        for field in public_fields(kind if isinstance(kind, type) else type(records[0]))
        if not field.spoken and _is_plain(field, records)
    ]
    fields.sort(key=lambda field: field.key != "name")
    columns = [
        Column(name=field.key, of=field.attribute, dimension=dimension_of(field))
        for field in fields
    ]
    return table_of(title, type(records[0]), records, columns)


def dimension_of(field: PublicField) -> str | None:
    """What a field measures; None for texts and plain numbers."""
    measure = measure_of(field.hint)
    return None if measure is None else measure.dimension


def table_html(table: Table, system: UnitSystem) -> str:
    """A table as HTML, each column's unit under its name."""
    heads = "".join(
        f"<th>{_words(column.name)}<br>{escape(column.unit(system))}</th>"
        for column in table.columns
    )
    rows = "".join(
        "<tr>"
        + "".join(
            f"<td>{_cell_text(column, cell, system)}</td>"
            for column, cell in zip(table.columns, row, strict=True)
        )
        + "</tr>"
        for row in table.rows
    )
    title = _words(table.title)
    return f"<table><caption>{title}</caption><thead><tr>{heads}</tr></thead>{rows}</table>"


def _cell_text(column: Column, cell: Any, system: UnitSystem) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float) and not column.is_number:
        return f"{cell:.4g}"
    return escape(column.text(cell, system) if column.is_number else str(cell))


def _is_plain(field: PublicField, records: Sequence[Any]) -> bool:
    return all(
        not isinstance(attrgetter(field.attribute)(record), Struct | tuple | list | dict)
        for record in records
    )


def _shown(value: Any, field: PublicField, system: UnitSystem) -> str:
    measure = measure_of(field.hint)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if measure is None or isinstance(value, str):
        return escape(str(value))
    return escape(show(value, measure.dimension, measure.always or system))


def _words(key: str) -> str:
    return escape(key.replace("_", " "))
