"""`supplycalc gauge` on real files."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from tests.commands.files import SCENARIOS, cottage, run

FARMHOUSE = SCENARIOS / "old-farmhouse.toml"


def test_readings_that_differ_leave_with_1() -> None:
    """The softener of the farmhouse first, and where to read next."""
    result = run("gauge", FARMHOUSE)

    assert result.exit_code == 1
    assert result.stdout.startswith("The house does not do what its file says: laundry tub (cold)")
    assert "softener" in result.stdout
    assert "Next: read at softener inlet" in " ".join(result.stdout.split())
    assert len(result.stdout.splitlines()) <= 30


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_scenario_fits_one_screen(path: Path, units: str) -> None:
    """With readings or without, in both systems; nothing to be told is no failure."""
    result = run("gauge", path, "--units", units)

    assert result.exit_code == (1 if path == FARMHOUSE else 0)
    assert len(result.stdout.splitlines()) <= 30
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_without_readings_it_says_which_to_take(tmp_path: Path) -> None:
    """Exit status 0, and how one is written."""
    result = run("gauge", cottage(tmp_path))

    assert result.exit_code == 0
    assert result.stdout.startswith("Nothing was measured yet.")
    assert "[[reading]]" in result.stdout


def test_a_house_that_falls_short_is_read_as_any_other(tmp_path: Path) -> None:
    """The far bath is out of reach; the file says so, and the gauge agrees."""
    path = cottage(tmp_path, bath="160 ft")
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text + '\n[[reading]]\nat = "far bath"\npressure = "0 psi"\n'
        '[[reading]]\nat = "sink"\nopen = ["far bath"]\npressure = "45 psi"\n'
        'source_pressure = "50 psi"\n',
        encoding="utf-8",
    )
    result = run("gauge", path)

    assert result.exit_code == 0
    assert run("size", path).exit_code == 1
    assert "2 stand in the file" in run("size", path, "--full").stdout


def test_json_and_csv_hold_every_reading(tmp_path: Path) -> None:
    """Quantities with units, explanations with their figure; a table with a unit of its own."""
    data = json.loads(run("gauge", FARMHOUSE, "--json").stdout)
    target = tmp_path / "readings.csv"
    run("gauge", FARMHOUSE, "--units", "metric", "-o", target)
    rows = list(csv.DictReader(target.read_text(encoding="utf-8").splitlines()))

    assert [row["read"]["unit"] for row in (*data["pressures"], *data["flows"])] == [
        "psi", "psi", "psi", "gpm",
    ]  # fmt: skip
    assert data["explanations"][0]["where"][0] == "softener"
    assert data["explanations"][0]["pressure"]["unit"] == "psi"
    assert [row["unit"] for row in rows] == ["kPa", "kPa", "kPa", "L/min"]
    assert [row["within"] for row in rows] == ["yes", "no", "no", "yes"]


WRONG = {
    'at = "yard tab"\npressure = "60 psi"': "did you mean 'yard tap'?",
    'at = "yard tap"\nopen = ["bth"]\npressure = "60 psi"': "did you mean 'bath'?",
    'at = "yard tap"\nopen = ["bath", "bath (hot)"]\npressure = "60 psi"': "opened twice",
    'at = "yard tap"\nopen = ["bath@150%"]\npressure = "60 psi"': "at most 100 %",
    'at = "toilet upstairs (hot)"\npressure = "60 psi"': "has no hot side",
    'at = "yard tap"': "pressure is missing",
    'at = "treated"\nflow = "3 gpm"': "flow is what runs out of a fixture",
    'at = "source"\npressure = "60 psi"\nsource_pressure = "60 psi"': "that of its gauge",
    'at = "yard tap"\npressure = "60 psi"\nfell = "4 psi"': "fell needs fell_in beside it",
    'at = "yard tap"\nflow = "3 gpm"\nfell = "4 psi"\nfell_in = "9 min"': "leave flow out",
    'at = "yard tap"\npressure = "60 psi"\nwhen = "cut-in"': "needs cut_in in [source]",
    'at = "yard tap"\npressure = "about 60 psi"': "accuracy beside it",
    'at = "yard tap"\nflow = "3 gpm"\naccuracy = "1 psi"': "accuracy needs pressure beside it",
}


@pytest.mark.parametrize("lines", WRONG, ids=lambda lines: lines.replace("\n", ", "))
def test_what_is_wrong_with_a_reading_is_told_with_its_line(lines: str, tmp_path: Path) -> None:
    """By `check` as by `gauge`, with the nearest right name; exit status 2."""
    path = tmp_path / "house.toml"
    text = FARMHOUSE.read_text(encoding="utf-8")
    path.write_text(f"{text}\n[[reading]]\n{lines}\n", encoding="utf-8")
    for command in ("check", "gauge"):
        result = run(command, path)

        assert result.exit_code == 2
        assert result.stdout == ""
        assert WRONG[lines] in result.stderr
        assert f"{path}:" in result.stderr


def test_a_reading_before_the_tank_is_refused(tmp_path: Path) -> None:
    """There the pump decides, and nothing is computed against."""
    text = (SCENARIOS / "ridge-line.toml").read_text(encoding="utf-8")
    path = tmp_path / "line.toml"
    path.write_text(f'{text}\n[[reading]]\nat = "wellhead"\npressure = "1 bar"\n', encoding="utf-8")
    result = run("check", path)

    assert result.exit_code == 2
    assert "stands before the tank" in result.stderr


def test_the_page_of_all_answers_tells_of_readings_where_there_are_any() -> None:
    """Readings that differ stand at its head, and it leaves with 1 as `gauge` does."""
    told = run("report", FARMHOUSE, "--full")
    none = run("report", SCENARIOS / "ridge-cottage.toml", "--full")

    assert told.exit_code == 1
    assert "Fails elsewhere: The house does not do what its file says" in told.stdout
    assert "Readings, against the file" in told.stdout
    assert "Readings, against the file" not in none.stdout
