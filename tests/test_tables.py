"""Data files: everything has a source, nothing slips past the loader, units convert once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from supplycalc import tables
from supplycalc.questions.sources.study import FORMULAS
from supplycalc.tables import (
    CHECKS,
    DATA,
    DATA_FILES,
    RANKING,
    UnsourcedDataError,
    citation_of,
    code_limit,
    load_table,
    refuse_unsourced,
    to_si,
    weakest,
)

GOOD = {"source": "astm_f876", "check": "seen"}


def sourced_tables(table: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Every table with a source inside a data file, at any depth."""
    if "source" in table:
        yield table
    for value in table.values():
        if isinstance(value, dict):
            yield from sourced_tables(value)


def test_every_data_file_is_listed() -> None:
    """The list of sources forgets no file, and names none that is not there."""
    files = {path.stem for path in DATA.glob("*.toml")} - {"sources"}

    assert set(DATA_FILES) == files
    assert len(DATA_FILES) == len(set(DATA_FILES))


@pytest.mark.parametrize("name", DATA_FILES)
def test_every_file_is_fully_sourced(name: str) -> None:
    """Loading refuses a figure without source or check, so loading is the test."""
    assert load_table(name)


@pytest.mark.parametrize(
    "table",
    [
        {"value": 1.0},
        {"value": 1.0, "source": "astm_f876"},
        {"value": 1.0, "source": "nobody", "check": "seen"},
        {"value": 1.0, "source": "astm_f876", "check": "certain"},
        {"rows": [["1/2", 0.625]], "check": "seen"},
        {"elbow-90": [1.0, 2.0], "form": "k"},
        {"inner": {"deeper": {"value": 2}}},
        {**GOOD, "columns": ["name", "check"], "rows": [["a", "seen"], ["b", "surely"]]},
        {"source": "nobody"},
    ],
)
def test_unsourced_figures_are_refused(table: dict[str, Any]) -> None:
    """A number or a list needs a known source and a known check, at any depth."""
    with pytest.raises(UnsourcedDataError):
        refuse_unsourced(table, "test")


@pytest.mark.parametrize(
    "table",
    [
        {"units": {"flow": "gpm"}},
        {"value": 1.0, **GOOD},
        {"columns": ["name", "check"], "rows": [["a", "memory"]], "source": "astm_f876"},
    ],
)
def test_sourced_figures_pass(table: dict[str, Any]) -> None:
    """Words need no source; a column of checks stands in for the table's own.

    Without what makes it pass, each is refused.
    """
    refuse_unsourced(table, "test")

    bare = {**table, "value": 1.0, "check": "certain", "columns": ["name"]}
    with pytest.raises(UnsourcedDataError):
        refuse_unsourced(bare, "test")


def test_the_message_says_where() -> None:
    """Whoever adds a row finds it by the message."""
    with pytest.raises(UnsourcedDataError, match=r"demo\.inner: row 'b'"):
        refuse_unsourced(
            {"inner": {**GOOD, "columns": ["name", "check"], "rows": [["b", "surely"]]}}, "demo"
        )


def test_every_citation_can_be_shown() -> None:
    """Each sourced table has a text and a known mark; every key of the sources is in use."""
    sourced = [table for name in DATA_FILES for table in sourced_tables(load_table(name))]

    assert len(sourced) > 200
    for table in sourced:
        assert citation_of(table).text
        assert citation_of(table).check in CHECKS
    used = "\n".join(path.read_text(encoding="utf-8") for path in DATA.glob("*.toml"))
    assert [key for key in load_table("sources") if used.count(f'"{key}"') == 0] == []


def test_sources_name_no_page_address() -> None:
    """Citations name documents; no web address of a page stands in for one."""
    for key, source in load_table("sources").items():
        text = " ".join(source.values())
        assert not re.search(r"https?:|www\.", text), key


PROGRAMS = re.compile(
    r"source code|transcribed|transcription|copied|github|gitlab|repositor|spreadsheet|public set"
    r"|open library|library of (building|fluid)|\bprograms?\b|\bsoftware\b",
    re.IGNORECASE,
)
"""What a figure cannot come from: a program says nothing of who asked for its figures."""


def words_of(data: Any) -> Iterator[str]:
    """Every sentence of a data file, at any depth."""
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict):
        for value in data.values():
            yield from words_of(value)
    elif isinstance(data, list):
        for value in data:
            yield from words_of(value)


@pytest.mark.parametrize("name", [*DATA_FILES, "sources"])
def test_no_figure_comes_from_a_program(name: str) -> None:
    """No source and no note of a row names source code, a repository or a copy of a copy."""
    assert [text for text in words_of(load_table(name)) if PROGRAMS.search(text)] == []


def test_formulas_come_from_no_program() -> None:
    """What `sources` says of formulas is held to the same rule."""
    for source in FORMULAS:
        assert not PROGRAMS.search(source.citation.text), source.name


def test_no_docstring_names_a_program_as_its_source() -> None:
    """`Source:` of a function names what was published."""
    named = re.compile(
        r"Source:(?:(?!\n\n|\"{3}).)*?(source code|transcribed|repositor)", re.DOTALL
    )
    files = DATA.parent.rglob("*.py")

    assert [path.name for path in files if named.search(path.read_text(encoding="utf-8"))] == []


def test_every_source_is_cited_in_one_line() -> None:
    """Standard and table, without how the text came to be read; 40 letters and the mark of a figure
    from memory fit a page of 80 behind a finding's indent."""
    detour = re.compile(r"as (re)?printed|quoted|described|adopted|seen|told|copy")
    shown = [source["cite"] for source in load_table("sources").values()]

    assert all(0 < len(cite) <= 40 for cite in shown)
    assert [cite for cite in shown if detour.search(cite)] == []


def test_a_table_of_marked_rows_is_as_good_as_its_weakest() -> None:
    """A statement on a whole table carries the mark of its least verified row."""
    table = {
        "source": "astm_f876",
        "columns": ["name", "check"],
        "rows": [["a", "seen"], ["b", "memory"], ["c", "derived"]],
    }

    assert citation_of(table).check == "memory"
    assert citation_of(table, "seen").check == "seen"
    assert weakest(["seen", "derived"]) == "derived"
    assert set(RANKING) == set(CHECKS)


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (1.0, "psi", 6894.757293168361),  # 0.45359237 kg x 9.80665 m/s2 over 1 in2
        (1.0, "gpm", 231 * 0.0254**3 / 60),  # a US gallon is 231 in3
        (1.0, "ft/s", 0.3048),
        (32.0, "degF", 273.15),
        (212.0, "degF", 373.15),
        (20.0, "degC", 293.15),
        (1.0, "bar", 1e5),
        (3.0, "", 3.0),
    ],
)
def test_units_convert_by_definition(value: float, unit: str, expected: float) -> None:
    """Factors of the international foot and pound; scales of temperature by their fixed points."""
    assert to_si(value, unit) == pytest.approx(expected, rel=1e-12)


def test_an_unknown_unit_is_an_error() -> None:
    """Nothing is converted by guess."""
    with pytest.raises(KeyError):
        to_si(1.0, "furlong")


LIMIT_FILES = (
    *("code_limits", "findings_limits", "well", "hot_water", "demand_upc", "commission"),
    "surge",
)


@pytest.mark.parametrize("file", LIMIT_FILES)
def test_every_limit_is_read_by_a_rule_or_is_for_reference(file: str) -> None:
    """A row that nothing reads would look like a check that is made; no row is both."""
    code = "\n".join(path.read_text(encoding="utf-8") for path in DATA.parent.rglob("*.py"))
    rows = load_table(file)["limit"]
    call = r'limit\w*\(\s*(?:"\w+", )?'  # a plain word such as "cover" may stand for other things

    def is_read(name: str) -> bool:
        by_book = f'(limit_by_book|commission_limit)\\(design, "{name.removesuffix("-europe")}"\\)'
        if re.search(by_book, code):
            return True
        return re.search(("" if "-" in name else call) + f'"{name}"', code) is not None

    read = {name for name in rows if is_read(name)}
    reference = {name for name, row in rows.items() if row.get("use") == "for reference"}

    assert read | reference == set(rows)
    assert read & reference == set()


def test_code_limits() -> None:
    """Limits in SI, each with its source: IRC P2903.3.1, P2903.7, P2603.5, P2713.3."""
    assert code_limit("max-static").value == pytest.approx(80 * 6894.757, rel=1e-6)
    assert code_limit("service-minimum").text == "3/4"
    assert code_limit("cover").value == pytest.approx(12 * 0.0254)
    assert code_limit("cover-below-frost").value == pytest.approx(6 * 0.0254)
    assert code_limit("scald").value == pytest.approx(322.039, abs=0.001)
    for name in load_table("code_limits")["limit"]:
        limit = code_limit(name)
        assert limit.title
        assert limit.citation.text
        assert bool(limit.value) != bool(limit.text), name


def test_tables_are_read_once() -> None:
    """The same object comes back; nobody parses a file twice."""
    assert tables.load_table("tubes_pex") is tables.load_table("tubes_pex")
