"""Every table and formula of the data with where it comes from."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from msgspec import Struct, field

from supplycalc.demand import DEMAND_METHODS, method_record
from supplycalc.problems import InputError, Place, Problem
from supplycalc.tables import DATA_FILES, Citation, citation_of, load_table
from supplycalc.units import UnitSystem

OF_DEMAND = {*DEMAND_METHODS.values(), "prescriptive", "guide"}
"""Files whose tables are told apart by the file's name."""
GROUPS = (
    ("tubes", "Tubes"),
    ("fittings", "Fittings and ways of joining"),
    ("devices", "Devices"),
    ("fixtures", "Fixtures"),
    ("code", "Limits"),
    ("consumption", "Limits"),
    ("findings", "Limits"),
    ("demand", "Demand"),
    ("prescriptive", "Demand"),
    ("guide", "Demand"),
    ("slab", "Before the pour"),
    ("commission", "Before it is used"),
    ("surge", "Water hammer"),
    ("gauge", "Readings"),
    ("words", "Words"),
    ("starter", "Where answers are not known"),
    ("ranges", "Where answers are not known"),
)


class Sourced(Struct, frozen=True, kw_only=True):
    """One table of the data, or one formula."""

    group: str
    name: str
    file: str
    """Data file; empty for a formula."""
    citation: Citation
    marks: tuple[str, ...]
    """How its figures were checked: one mark, or several where rows differ."""
    words: str = ""
    """A title, or a formula in words."""
    data: dict[str, Any] = field(default_factory=dict)
    """The table as published; empty for a formula."""

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it: rows and properties in their published units, whatever the reader's."""
        del system
        return {
            "group": self.group,
            "name": self.name,
            "what": self.words or None,
            "source": self.citation.text,
            "cite": self.citation.short or None,
            "edition": self.citation.edition or None,
            "check": list(self.marks),
            "note": self.citation.note or None,
            "data": _finite(self.data) or None,
        }


def _formula(name: str, words: str, text: str, check: str) -> Sourced:
    citation = Citation(key=name, text=text, check=check)
    return Sourced(
        group="Formulas", name=name, file="", citation=citation, marks=(check,), words=words
    )


OURS = ("words", "roles", "added_later", "by_hand", "slow")
"""Keys of a device kind that nobody published: what it is called and does, not what it loses."""
FORMULAS = (
    _formula(
        "static-head",
        "density x g x height, g = 9.80665 m/s2",
        "hydrostatics; standard gravity of ISO 80000-3",
        "tested",
    ),
    _formula(
        "water",
        "density and viscosity by temperature",
        "IAPWS SR6-08(2011), properties of liquid water at 0.1 MPa",
        "tested",
    ),
    _formula(
        "friction",
        "Darcy-Weisbach; 64/Re below Re 2000, Colebrook above 4000, between them a smooth passage "
        "of our own",
        "C. F. Colebrook, J. ICE 11 (1939) 133, solved as D. Clamond, Ind. Eng. Chem. Res. 48 "
        "(2009) 3665",
        "tested",
    ),
    _formula(
        "hazen-williams",
        "friction by C, where the file asks for it",
        "G. S. Williams and A. Hazen, Hydraulic Tables, 1905",
        "tested",
    ),
    _formula(
        "fittings",
        "K x density x velocity squared / 2; equivalent lengths are turned into K once",
        "textbook hydraulics",
        "tested",
    ),
    _formula(
        "insert-fittings",
        "K of a narrower passage: 0.5(1 - b2) in and (1 - b2)2 out, b2 the ratio of areas",
        "sudden contraction and Borda-Carnot enlargement, textbook hydraulics",
        "derived",
    ),
    _formula(
        "flow-coefficient",
        "Cv: US gpm of water at 1 psi; Kv: m3/h at 1 bar",
        "IEC 60534-1 and ISA-75.01.01",
        "memory",
    ),
    _formula(
        "water-hammer",
        "wave speed by Korteweg; density x wave speed x velocity (Joukowsky); slow valves 2 x "
        "density x length x velocity / time; at a point 2(A/a) / sum(A/a) goes on",
        "E. B. Wylie and V. L. Streeter, Fluid Transients in Systems",
        "memory",
    ),
    _formula(
        "main-sag",
        "a main's pressure falls with flow to the power 1.852",
        "NFPA 291",
        "memory",
    ),
    _formula(
        "pumping-level",
        "static level + flow / specific capacity; total dynamic head",
        "MIL-HDBK-1164",
        "memory",
    ),
    *(
        _formula(formula.name, formula.words, formula.source, formula.check)
        for method in DEMAND_METHODS
        for formula in method_record(method).formulas
    ),
    _formula(
        "as3500-demand",
        "AS/NZS 3500.1 is left out: no text of its tables of simultaneous flow was found to cite",
        "none",
        "common practice",
    ),
    _formula(
        "trunk-layout",
        "tree of pipe on the lines through everything to be joined, at most 2 - 2/ends times the "
        "shortest",
        "M. Hanan, SIAM J. Appl. Math. 14 (1966) 255; K. Mehlhorn, Inf. Process. Lett. 27 (1988) "
        "125, as networkx implements it",
        "memory",
    ),
    _formula(
        "submanifolds",
        "places exchanged one by one, then moved while the sized house gets cheaper",
        "M. B. Teitz and P. Bart, Operations Research 16 (1968) 955",
        "memory",
    ),
    _formula(
        "sizing",
        "cheapest sizes by Pareto fronts of pressure needed and cost, exact",
        "our own; the tests hold it equal to brute force and to a linear solver",
        "tested",
    ),
)


def all_sources() -> tuple[Sourced, ...]:
    """Every table that has a source, in the order of the data files, then the formulas."""
    return (*(table for name in DATA_FILES for table in _of_file(name)), *FORMULAS)


def _of_file(file: str) -> Iterator[Sourced]:
    group = next((title for start, title in GROUPS if file.startswith(start)), file)
    stem = file.removeprefix("demand_") if file in OF_DEMAND else ""
    for key, value in load_table(file).items():
        if not isinstance(value, dict):
            continue
        # the first level only sorts (tube, joining, limit, ...) unless it is a table itself
        inner = [(key, value)] if "source" in value else value.items()
        for name, entry in inner:
            full = name if not stem else f"{stem}.{name}" if name == key else f"{stem}.{key}.{name}"
            yield from _tables(group, full, file, entry)


def _tables(group: str, name: str, file: str, entry: Any) -> Iterator[Sourced]:
    """A table with a source, or those inside it."""
    if not isinstance(entry, dict):
        return
    if "source" in entry:
        yield _sourced(group, name, file, entry)
        return
    for key, value in entry.items():
        yield from _tables(group, f"{name}.{key}", file, value)


def _sourced(group: str, name: str, file: str, table: dict[str, Any]) -> Sourced:
    columns = table.get("columns", [])
    checks = [at for at, column in enumerate(columns) if column.endswith("check")]
    rows = table["rows"] if checks and "rows" in table else []
    marks = dict.fromkeys(row[at] for at in checks for row in rows)
    data = {**table, **_demand_rows(name)} if file == "fixtures" else table
    return Sourced(
        group=group,
        name=name,
        file=file,
        citation=citation_of(table),
        marks=tuple(marks) or (table.get("check", "seen"),),
        words=table.get("title", ""),
        data={key: value for key, value in data.items() if key not in OURS},
    )


def _demand_rows(kind: str) -> dict[str, str]:
    """Demand method -> the row of its table that stands for a kind of fixture.

    A method that reads the table of one before it is left out.
    """
    first = {file: method for method, file in reversed(DEMAND_METHODS.items())}
    rows = {method: method_record(method).row_of.get(kind, "") for method in DEMAND_METHODS}
    return {method: row for method, row in rows.items() if row and method in first.values()}


def find(name: str, sources: tuple[Sourced, ...]) -> tuple[Sourced, ...]:
    """The tables of a name: its own and all inside it; or all that pages cite in these words.

    Raises:
        InputError: no such table; with the nearest name.
    """
    exact = tuple(source for source in sources if source.name == name)
    below = tuple(
        source for source in sources if source.name.startswith(f"{name}.") or source.file == name
    )
    matching = (*exact, *below) if name else ()
    if not matching:
        cited = name.strip().lower()
        matching = tuple(
            source for source in sources if cited and source.citation.short.lower() == cited
        )
    if not matching:
        words = [source.name for source in sources]
        words += [source.name.partition(".")[0] for source in sources]
        message = f"{name!r} is not a table or formula"
        problem = Problem(
            place=Place("sources"), message=message, value=name, valid=tuple(dict.fromkeys(words))
        )
        raise InputError([problem])
    return matching


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_finite(part) for part in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
