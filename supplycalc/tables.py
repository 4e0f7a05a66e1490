"""The data files: loaded once, refused without a source, converted to SI here and nowhere else."""

from __future__ import annotations

import functools
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import tomli
from msgspec import Struct

from supplycalc.units import DAY, FOOT, HORSEPOWER, HOUR, INCH, MINUTE, PSI

DATA = Path(__file__).with_name("data")
"""Plain files: importlib.resources would import zipfile and take a fifth of the loading time."""

CHECKS = ("seen", "memory", "derived", "common practice")
"""How a figure was verified; "seen" is a looked-up text of the source or a copy of it."""

RANKING = ("seen", "derived", "memory", "common practice")
"""From the best verified to the least."""

GALLON = 3.785411784e-3
"""[m3] One bit from the product 231 in3 that `units` shows by: made equal, table flows that end on
a half (4.25 gpm) would be printed rounded down instead of up."""
GPM = GALLON / MINUTE
SI = {
    "": 1.0,
    "in": INCH,
    "mm": 1e-3,
    "m": 1.0,
    "ft": FOOT,
    "psi": PSI,
    "bar": 1e5,
    "kPa": 1e3,
    "GPa": 1e9,
    "ft/s": FOOT,
    "m/s": 1.0,
    "gpm": GPM,
    "l/s": 1e-3,
    "kg/m3": 1.0,
    "mg/L": 1e-3,
    "1/K": 1.0,
    "K": 1.0,
    "gal": GALLON,
    "floz": GALLON / 128.0,
    "l": 1e-3,
    "gal/day": GALLON / DAY,
    "l/day": 1e-3 / DAY,
    "min": MINUTE,
    "h": HOUR,
    "hp": HORSEPOWER,
}
"""Factors from the units that data files use; temperatures go through `kelvin`."""

DEMAND_METHODS = {
    "irc": "demand_irc",
    "ipc": "demand_ipc",
    "upc": "demand_upc",
    "peak-demand-study": "demand_probability",
    "en806": "demand_en806",
    "din1988": "demand_din1988",
    "exact": "demand_probability",
    "listed": "",
}
DEMAND_METHODS |= {
    path.stem.removeprefix("demand_").replace("_", "-"): path.stem
    for path in sorted(DATA.glob("demand_*.toml"))
    if path.stem not in DEMAND_METHODS.values()
}
"""Demand method -> its data file, in the order in which methods are shown; a data file
`demand_<name>.toml` that the list above does not name is one method more.

What a file may ask for, what `demand` compares and what `sources` lists follow from it. Each
method's record stands in the module of its name in `supplycalc/demand/`.
"""

DATA_FILES = (
    "tubes_copper",
    "tubes_pex",
    "tubes_pe",
    "tubes_rigid",
    "fittings",
    "devices",
    "fixtures",
    "code_limits",
    "consumption_limits",
    "delivery",
    *dict.fromkeys(file for file in DEMAND_METHODS.values() if file),
    "prescriptive",
    "guide",
    "findings_limits",
    "well",
    "day",
    "hot_water",
    "parts",
    "slab",
    "commission",
    "surge",
    "gauge",
    "starter",
    "ranges",
    "words",
)


class UnsourcedDataError(Exception):
    """A row of a data file has no source or says nothing of how it was checked."""


class Citation(Struct, frozen=True, kw_only=True):
    """Where a figure comes from and how far it was verified."""

    key: str
    text: str
    """The whole story, with the print or the copy in which it was read."""
    short: str = ""
    """Standard and table in one line, as screens show it; where empty, `text` is short enough."""
    edition: str = ""
    check: str = "seen"
    note: str = ""
    where: str = ""
    """Where the source stands in the open, if it is a public document."""

    @property
    def from_memory(self) -> bool:
        """Whether the figure was not verified in a text."""
        return self.check == "memory"

    @property
    def whole(self) -> str:
        """The whole story with its edition."""
        apart = self.edition and self.edition not in self.text
        return f"{self.text} ({self.edition})" if apart else self.text


OWN = Citation(key="own", text="your file", check="seen")
"""The source of what a file declares itself."""


class CodeLimit(Struct, frozen=True, kw_only=True):
    """A limit of a code, in SI, or a word such as a nominal size."""

    name: str
    title: str
    value: float
    text: str
    citation: Citation


def kelvin(value: float, unit: str) -> float:
    """Temperature in kelvin [K] from degF or degC.

    Args:
        value: temperature [degF or degC].
        unit: "degF" or "degC".

    Source: definition of the scales.
    """
    return (value - 32.0) / 1.8 + 273.15 if unit == "degF" else value + 273.15


def to_si(value: float, unit: str) -> float:
    """A figure of a data file in SI.

    Args:
        value: as published [unit].
        unit: one of `SI`, "degF" or "degC".

    Source: exact definitions of the units.
    """
    return kelvin(value, unit) if unit in ("degF", "degC") else value * SI[unit]


@functools.cache
def load_table(name: str) -> dict[str, Any]:
    """One data file as it stands, after checking that everything in it has a source.

    Returns:
        The parsed file, published units; not to be changed.

    Raises:
        UnsourcedDataError: a value without source or check.
    """
    table = tomli.loads((DATA / f"{name}.toml").read_text(encoding="utf-8"))
    if name != "sources":
        refuse_unsourced(table, name)
    return table


def refuse_unsourced(table: dict[str, Any], where: str) -> None:
    """Raise unless every table with figures names a known source and how it was checked.

    A figure is a number or a list; a table may leave its check to a column of that name.

    Raises:
        UnsourcedDataError: naming the first fault.
    """
    if "source" in table or any(isinstance(value, int | float | list) for value in table.values()):
        source = table.get("source")
        if source is None or not publication(source):
            raise UnsourcedDataError(f"{where}: {source!r} is not a known source")
        column = table["columns"].index("check") if "check" in table.get("columns", ()) else None
        if column is None and table.get("check") not in CHECKS:
            raise UnsourcedDataError(f"{where}: nothing says how it was checked")
        for row in table["rows"] if column is not None else ():
            if row[column] not in CHECKS:
                raise UnsourcedDataError(f"{where}: row {row[0]!r} says nothing of its check")
    for key, value in table.items():
        if isinstance(value, dict) and key != "row_checks":
            refuse_unsourced(value, f"{where}.{key}")


def publication(source: str | dict[str, str]) -> dict[str, str]:
    """What a data file's `source` says of the publication.

    Args:
        source: a key of sources.toml, or the publication itself as `{ text = "…" }`, for a file
            that brings its own book.

    Returns:
        Its text, and perhaps how screens cite it, edition and where it stands; empty for an unknown
        key.
    """
    listed: dict[str, dict[str, str]] = load_table("sources")
    return source if isinstance(source, dict) else listed.get(source, {})


def citation_of(table: dict[str, Any], check: str | None = None) -> Citation:
    """The citation of a table or property of a data file.

    Raises:
        UnsourcedDataError: the source is not listed.
    """
    key = table.get("source", "")
    source = publication(key)
    if not source:
        raise UnsourcedDataError(f"{key!r} is not a known source")
    return _citation(
        key=key if isinstance(key, str) else source["text"],
        text=source["text"],
        short=source.get("cite", ""),
        edition=source.get("edition", ""),
        where=source.get("where", ""),
        check=check or table.get("check") or _weakest_row(table),
        note=table.get("note") or table.get("assumed", ""),
    )


_citation = functools.cache(Citation)


def _weakest_row(table: dict[str, Any]) -> str:
    column = table["columns"].index("check")
    return weakest(row[column] for row in table["rows"])


def weakest(checks: Iterable[str]) -> str:
    """The least verified of several marks."""
    return max(checks, key=RANKING.index)


@functools.cache
def limit(file: str, name: str) -> CodeLimit:
    """A limit by its file and its name there.

    Args:
        file: with a table of limits, such as "code_limits".
        name: e.g. "max-static".
    """
    row = load_table(file)["limit"][name]
    return CodeLimit(
        name=name,
        title=row["title"],
        value=to_si(row["value"], row.get("unit", "")) if "value" in row else 0.0,
        text=row.get("text", ""),
        citation=citation_of(row),
    )


def code_limit(name: str) -> CodeLimit:
    """A limit of a code by its name in code_limits.toml, in SI."""
    return limit("code_limits", name)
