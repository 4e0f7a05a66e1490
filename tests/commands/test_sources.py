"""`supplycalc sources`: every table and formula, its source and how it was checked."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import pytest

from supplycalc.demand import DEMAND_METHODS
from supplycalc.questions.sources import properties
from supplycalc.questions.sources.study import all_sources, find
from supplycalc.tables import DATA_FILES, load_table
from tests.commands.files import run
from tests.test_tables import sourced_tables


def test_no_data_file_and_no_source_is_left_out() -> None:
    """Every shipped data file is listed, and every source key that any table names."""
    listed = all_sources()

    assert {source.file for source in listed if source.file} == set(DATA_FILES)
    named = {table["source"] for name in DATA_FILES for table in sourced_tables(load_table(name))}
    shown = json.dumps(json.loads(run("sources", "--json").stdout))
    assert named - {source.citation.key for source in listed} <= {
        key for key in named if key in shown
    }


def test_every_line_says_how_it_was_checked() -> None:
    """Each name stands in the list; marks are of the known kind."""
    text = run("sources").stdout
    told = " ".join(text.split())
    known = {"seen", "memory", "derived", "common practice", "tested"}
    for source in all_sources():
        assert set(source.marks) <= known, source.name
        material = source.name.partition(".")[0]
        assert f" {source.name} [" in told or f"'supplycalc sources {material}'" in told
    assert max(len(line) for line in text.splitlines()) <= 80
    assert all(method in told for method in DEMAND_METHODS)


def test_one_tables_rows_are_those_of_the_standard() -> None:
    """Type L copper, 3/4 inch: 0.875 in outside, 0.045 in wall (ASTM B88), bore by subtraction."""
    result = run("sources", "copper-l")
    row = next(line.split() for line in result.stdout.splitlines() if line.startswith("3/4 "))

    assert result.exit_code == 0
    assert row[1:4] == ["0.875", "0.045", "0.785"]
    assert "Source: " in result.stdout


def test_every_table_can_be_shown() -> None:
    """By its own name, within the terminal's width and without error."""
    sources = all_sources()
    for name in dict.fromkeys(source.name for source in sources):
        result = run("sources", name)
        assert result.exit_code == 0, name
        assert name in " ".join(result.stdout.split())
        assert find(name, sources)[0].name == name


def test_an_unknown_name_gets_the_nearest() -> None:
    """Exit status 2."""
    result = run("sources", "coper-l")

    assert result.exit_code == 2
    assert "did you mean 'copper-l'?" in result.stderr


def test_json_holds_the_published_figures_and_no_nan() -> None:
    """Rows as in the data file; figures that a source leaves out are null."""
    text = run("sources", "--json").stdout
    data = json.loads(text, parse_constant=lambda word: pytest.fail(word))
    tube = next(source for source in data["sources"] if source["name"] == "copper-l")

    assert data["schema"] == "supplycalc-sources/1"
    assert next(r for r in tube["data"]["rows"] if r[0] == "3/4")[:3] == ["3/4", 0.875, 0.045]
    assert not math.isnan(tube["data"]["rows"][0][1])


def test_csv_has_one_line_per_table(tmp_path: Path) -> None:
    """For a reader who ticks sources off."""
    target = tmp_path / "sources.csv"
    run("sources", "-o", target)
    rows = list(csv.DictReader(target.open(encoding="utf-8", newline="")))

    assert [row["name"] for row in rows] == [source.name for source in all_sources()]
    assert all(row["source"] for row in rows)


def test_properties_are_told_in_words_with_their_units() -> None:
    """No Python is shown: no braces, no True or nan; feet and gpm are named."""
    names = json.loads(run("sources", "--json").stdout)["sources"]
    for name in dict.fromkeys(name["name"] for name in names):
        told = run("sources", name).stdout
        for sign in ("{'", "['", "[[", ": True", ": False", " nan"):
            assert sign not in told, (name, sign)

    assert "form: equivalent length in ft of the same tube, by size" in run(
        "sources", "soldered"
    ).stdout.replace("\n      ", " ")
    shower = run("sources", "shower").stdout
    assert "valve, flow and pressure: pressure-balanced, 2.5, 20; thermostatic, 2.5, 20;" in shower
    assert "units: flow in gpm, pressure in psi" in shower


def test_a_table_called_units_is_no_list_of_units(monkeypatch: pytest.MonkeyPatch) -> None:
    """A method's data may name its table of fixture units so: nothing is told of every row's."""
    table = {"units": {"source": "practice", "columns": ["name", "units"], "rows": [["a", 1.0]]}}
    monkeypatch.setattr(properties, "load_table", lambda file: table)
    assert list(properties.properties("demand_toy", table["units"])) == []


@pytest.mark.parametrize("command", ["sources", "schema"])
def test_the_shared_options_are_taken_where_they_change_nothing(command: str) -> None:
    """Every command has --json and --units; published figures and examples stay as they are."""
    plain = run(command, "--json")

    assert plain.exit_code == 0
    assert run(command, "--json", "--units", "metric").stdout == plain.stdout
    assert json.loads(plain.stdout)
