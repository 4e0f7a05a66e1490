"""CSV: twelve digits, units in the heading, nothing that a spreadsheet would run."""

from __future__ import annotations

import csv
import io

import pytest

from supplycalc.records.spreadsheet import harmless, to_csv
from supplycalc.records.table import Column, Table


@pytest.mark.parametrize(
    "text",
    ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\tx", "\r=1", '=HYPERLINK("http://x")', " =1+1"],
)
def test_what_looks_like_a_formula_gets_an_apostrophe(text: str) -> None:
    """The list of OWASP's page on CSV injection: = + - @, tab and carriage return."""
    assert harmless(text) == f"'{text}"


@pytest.mark.parametrize("text", ["-6", "+5", "-1.5e3", "upstairs bath", "3/4", "1-1/4", ""])
def test_plain_numbers_and_words_stay(text: str) -> None:
    """A plain number is no formula, whatever its sign."""
    assert harmless(text) == text


def test_a_table_round_trips_through_the_standard_reader() -> None:
    """Commas, quotes and line breaks survive; a pressure keeps twelve digits, so half a unit of the
    twelfth is the tolerance."""
    table = Table(
        title="t",
        columns=(Column(name="run"), Column(name="loss", dimension="pressure")),
        rows=(('a, "b"\nc', 12345.678901234), ("=cmd", None)),
    )

    rows = list(csv.reader(io.StringIO(to_csv(table, "metric"), newline="")))

    assert rows[0] == ["run", "loss [kPa]"]
    assert rows[1][0] == 'a, "b"\nc'
    assert float(rows[1][1]) == pytest.approx(12.345678901234, abs=0.5e-10)
    assert rows[2] == ["'=cmd", ""]
    noisy = Table(title="t", columns=table.columns, rows=(("x", 17.65 * 1000.0 * (1 + 3e-16)),))
    assert to_csv(noisy, "metric").splitlines()[1] == "x,17.65"
