"""`supplycalc compare`, `check`, `schema` and the Python names, on real files."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import tomllib
from pathlib import Path

import jsonschema
import pytest

import supplycalc
from tests.commands.files import SCENARIOS, cottage, run

FILES = sorted(SCENARIOS.glob("*.toml"))


def test_three_quarters_against_one_inch() -> None:
    """The answer in one sentence, then one row for each size, within 80 columns."""
    result = run(
        "compare", SCENARIOS / "ridge-cottage.toml", "--run", "service", "--sizes", "3/4,1,1-1/4"
    )
    lines = result.stdout.splitlines()

    assert result.exit_code == 0
    assert lines[0].startswith("service ")
    assert [sum(line.startswith(f"{size} ") for line in lines) for size in ("3/4", "1-1/4")] == [
        1,
        1,
    ]
    assert max(map(len, lines)) <= 80


def test_json_tells_what_the_table_tells(tmp_path: Path) -> None:
    """One entry per option, the design of each as `size` gives it, the cheapest by index."""
    house = cottage(tmp_path)
    data = json.loads(run("compare", house, "--run", "service", "--json").stdout)
    fixed = tmp_path / "fixed.toml"
    text = house.read_text(encoding="utf-8")
    fixed.write_text(text.replace('sizes = ["3/4", "1", "1-1/4"]', 'size = "1"'), encoding="utf-8")
    alone = json.loads(run("size", fixed, "--json").stdout)
    option = next(option for option in data["options"] if option["size"] == "1")

    assert data["schema"] == "supplycalc-compare/1"
    assert [option["size"] for option in data["options"]] == ["3/4", "1", "1-1/4"]
    assert option["worst"] == alone["worst"]
    assert option["cost"] == alone["cost"]
    assert data["options"][data["best"]]["ok"] is True


def test_plain_pressures_are_in_the_units_shown(tmp_path: Path) -> None:
    """30,40 are psi; with --units metric plain numbers are bar, and units may always be given."""
    house = cottage(tmp_path)
    us = json.loads(run("compare", house, "--cut-in", "30, 40", "--json").stdout)
    metric = json.loads(
        run("compare", house, "--cut-in", "2.1,300 kPa", "--units", "metric", "--json").stdout
    )

    assert [option["setting"]["value"] for option in us["options"]] == pytest.approx(
        [30, 40], rel=1e-12
    )
    assert us["options"][0]["setting"]["unit"] == "psi"
    values = [option["setting"]["value"] for option in metric["options"]]
    assert values == pytest.approx([2.1, 3.0], rel=1e-12)


def test_none_that_works_leaves_with_1(tmp_path: Path) -> None:
    """The table is printed all the same."""
    result = run("compare", cottage(tmp_path, bath="90 ft"), "--run", "service")

    assert result.exit_code == 1
    assert result.stdout.startswith("None of these works")
    assert "FAILS, short by" in " ".join(result.stdout.split())


@pytest.mark.parametrize(
    ("args", "word"),
    [
        (("--run", "servise"), "run: 'servise' is not a run"),
        (("--run", "service", "--sizes", "7/9"), "sizes: '7/9' is not a size of pe-cts-sdr9"),
        (("--cut-in", "40 ft"), "cut-in: "),
        (("--cut-in", "280", "--units", "metric"), "write '280 kPa' for kPa"),
        (("--run", "service", "--materials", "copper"), "did you mean 'copper-l'?"),
        ((), "nothing to compare"),
    ],
)
def test_wrong_choices_leave_with_2(args: tuple[str, ...], word: str, tmp_path: Path) -> None:
    """Told on stderr with the nearest word or the choices."""
    result = run("compare", cottage(tmp_path), *args)

    assert result.exit_code == 2
    assert word in result.stderr


def test_a_csv_file_gets_the_table(tmp_path: Path) -> None:
    """One row per option."""
    target = tmp_path / "choices.csv"
    run("compare", cottage(tmp_path), "--run", "service", "-o", target)
    rows = list(csv.DictReader(target.open(encoding="utf-8", newline="")))

    assert [row["size"] for row in rows] == ["3/4", "1", "1-1/4"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_check_shows_every_run_and_fixture(path: Path) -> None:
    """The tree as read, each link once, within 80 columns; exit status 0."""
    result = run("check", "--full", path)
    data = json.loads(run("check", "--full", path, "--json").stdout)
    text = " ".join(result.stdout.split())

    assert result.exit_code == 0
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    assert all(f"{link['name']}:" in text for link in data["links"])
    file = tomllib.loads(path.read_text(encoding="utf-8"))
    named = {link["name"] for part in ("run", "device", "manifold") for link in file.get(part, [])}
    read = {link["name"] for link in data["links"]}
    assert named <= read | {link.get("route") for link in data["links"]}
    fixtures = {link["fixture"] for link in data["links"] if link.get("fixture")}
    assert fixtures == {fixture["name"] for fixture in file["fixture"]}


def test_check_indents_what_hangs_below() -> None:
    """A line stands further right than the line that feeds it."""
    path = SCENARIOS / "ridge-cottage.toml"
    lines = run("check", "--full", path).stdout.splitlines()
    data = json.loads(run("check", "--full", path, "--json").stdout)

    def indent(name: str) -> int:
        line = next(line for line in lines if line.lstrip().startswith(f"{name}:"))
        return len(line) - len(line.lstrip())

    ends = {link["to"]: link["name"] for link in data["links"]} | {
        "source": "source",
        "well": "well",
    }
    assert all(indent(link["name"]) > indent(ends[link["from"]]) for link in data["links"])


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_schema_is_valid_and_takes_every_scenario(path: Path) -> None:
    """What `schema` prints is a JSON Schema (draft 2020-12) by the jsonschema library."""
    schema = json.loads(run("schema").stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    house = tomllib.loads(path.read_text(encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(schema)

    assert list(validator.iter_errors(house)) == []
    assert not validator.is_valid({**house, "source": {**house["source"], "kind": "cistern"}})


def test_python_names_do_what_the_commands_print(tmp_path: Path) -> None:
    """load, loads, size and compare give the same numbers as --json."""
    path = cottage(tmp_path)
    house = supplycalc.load(path)
    design = supplycalc.size(house)
    result = supplycalc.compare(house, run="service", cut_in=["40 psi"])

    assert design.to_dict() == json.loads(run("size", path, "--json").stdout)
    assert supplycalc.loads(path.read_text(encoding="utf-8")).fixtures[0].name == "far bath"
    told = json.loads(run("compare", path, "--run", "service", "--cut-in", "40", "--json").stdout)
    assert result.to_dict() == told
    with pytest.raises(supplycalc.InputError, match=r"nowhere\.toml"):
        supplycalc.load(tmp_path / "nowhere.toml")
    with pytest.raises(AttributeError):
        _ = supplycalc.sise


def test_importing_the_package_is_light() -> None:
    """`import supplycalc` alone loads no part of it."""
    code = "import sys, supplycalc; print([n for n in sys.modules if n.startswith('supplycalc.')])"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)

    assert result.stdout.strip() == b"[]"
