"""What a published table holds beside its rows, in words and in its published units."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from supplycalc.tables import Citation, citation_of, load_table

NOT_SHOWN = ("title", "source", "check", "note", "columns", "rows")
HEADINGS = {
    ("fixtures", "outlet"): "valve, flow and pressure",
    ("fixtures", "mixed"): "mixing valve",
}
"""(data file, key) -> what stands there, where the key does not say it."""
FORMS = {
    "equivalent-length": "equivalent length in ft of the same tube, by size",
    "k": "K by size",
    "diameter-ratio": "K from the ratio of the fitting's diameter to the tube's",
}
"""How a family of fittings is published."""


def properties(file: str, data: Mapping[str, Any]) -> Iterator[tuple[str, str, Citation | None]]:
    """What a table holds beside its rows: name, value in words, its own source if it has one.

    Last the units of a file that names them once for all its tables; a formula has no file.
    """
    for key, value in data.items():
        if key in NOT_SHOWN:
            continue
        heading = HEADINGS.get((file, key), key)
        if not isinstance(value, dict):
            known = FORMS.get(value) if key == "form" and isinstance(value, str) else None
            yield heading, known or plain(value), None
            continue
        inside = {name: part for name, part in value.items() if name not in NOT_SHOWN}
        if set(inside) <= {"value", "unit"}:
            text = " ".join(plain(inside[part]) for part in ("value", "unit") if part in inside)
        else:
            text = "; ".join(f"{name} {plain(part)}" for name, part in inside.items())
        yield heading, text, citation_of(value) if "source" in value else None
    units = load_table(file).get("units") if file and data else None
    if isinstance(units, dict) and "source" not in units:  # else a table of figures called so
        yield "units", ", ".join(f"{name} in {unit}" for name, unit in units.items()), None


def plain(value: Any) -> str:
    """A value in words: rows apart by semicolons, what is not there as a dash."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        nested = any(isinstance(part, list) for part in value)
        return ("; " if nested else ", ").join(plain(part) for part in value)
    if isinstance(value, dict):
        check, note = value.get("check", ""), value.get("note", "")
        shown = ((key, part) for key, part in value.items() if key not in NOT_SHOWN)
        rest = [f"{key} {plain(part)}" for key, part in shown]
        mark = f"{check} ({note})" if check and note else check or note
        return ", ".join([*rest, mark] if mark else rest)
    return "-" if isinstance(value, float) and math.isnan(value) else str(value)


def cell(value: Any) -> str:
    """A cell of a published row: numbers without idle zeros."""
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return f"{value:g}" if number and not math.isnan(value) else plain(value)
