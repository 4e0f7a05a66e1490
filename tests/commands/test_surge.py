"""`supplycalc surge` on real files."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.commands.files import SCENARIOS, cottage, run

FILES = sorted(SCENARIOS.glob("*.toml"))
RIDGE = SCENARIOS / "ridge-cottage.toml"


def answer(file: Path) -> Any:
    """What it prints as data."""
    return json.loads(run("surge", file, "--json").stdout)


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_house_on_one_screen(file: Path, units: str) -> None:
    """30 lines of 80, no pressure below zero, what hurts; it leaves as `size` does."""
    result = run("surge", file, "--units", units)
    lines = result.stdout.splitlines()

    assert result.exit_code == run("size", file).exit_code
    assert len(lines) <= (45 if file.stem == "bunkhouse" else 30)
    assert max(map(len, lines)) <= 80
    assert not re.search(r"-\d[\d.]* (psi|kPa|bar)", result.stdout)
    assert "let the pressure off before a joint is opened" in " ".join(result.stdout.split())
    assert "Noise: " in result.stdout


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
def test_size_is_not_silent(file: Path) -> None:
    """A missing arrestor, or pipe before the tank over what it bears: `size` says so."""
    data = answer(file)
    said = [it["code"] for it in json.loads(run("size", file, "--json").stdout)["findings"]]

    assert ("water-hammer" in said) == any(cure["arrestor"] for cure in data["cures"])
    assert ("pump-stop" in said) == any(stop["over"] for stop in data["pump"])


def test_an_arrestor_that_is_there_is_not_asked_for(tmp_path: Path) -> None:
    """`arrestor = true` at both machines ends the advice here, in `size` and in the order."""
    text = RIDGE.read_text(encoding="utf-8")
    machines = re.sub(r'(kind += "(clothes-washer|dishwasher)")', r"\1\narrestor = true", text)
    path = tmp_path / "house.toml"
    path.write_text(machines, encoding="utf-8")

    data = answer(path)
    assert [cure["arrestor"] for cure in data["cures"] if cure["arrestor"]] == []
    assert "water-hammer" not in {it["code"] for it in data["findings"]}
    assert "there" in run("surge", path).stdout
    assert len([it for it in answer(RIDGE)["cures"] if it["arrestor"]]) == 3


def test_a_failing_house_says_so_and_leaves_with_1(tmp_path: Path) -> None:
    """It is mended first; the peaks stand there all the same."""
    result = run("surge", cottage(tmp_path, bath="90 ft"))

    assert result.exit_code == 1
    assert result.stdout.startswith("Mend first. Fails")
    assert "As each valve shuts alone" in result.stdout
    assert len(result.stdout.splitlines()) <= 30


def test_european_houses_are_held_to_what_may_stand_in_them(tmp_path: Path) -> None:
    """No code asks for an arrestor there: only a shock over 10 bar is told, in a note."""
    data = answer(SCENARIOS / "town-house.toml")

    assert data["most"] == {"value": 1000.0, "unit": "kPa"}
    over = {it["name"] for it in data["valves"] if it["peak"]["value"] > 1000.0}
    assert {it["name"] for it in data["cures"] if it["arrestor"]} == over == {"washing machine"}
    assert [it["level"] for it in data["findings"] if it["code"] == "water-hammer"] == ["note"]


def test_the_table_as_a_file(tmp_path: Path) -> None:
    """A line for each valve."""
    target = tmp_path / "surge.csv"

    assert run("surge", RIDGE, "-o", target).exit_code == 0
    assert target.read_text(encoding="utf-8").count("\n") == 1 + len(answer(RIDGE)["valves"])
