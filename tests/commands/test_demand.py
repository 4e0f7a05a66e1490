"""`supplycalc demand` on real files: text, JSON, CSV, wrong calls, the Python name."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

import supplycalc
from supplycalc.demand import DEMAND_METHODS
from supplycalc.tables import GALLON
from tests.commands.files import SCENARIOS, run

FILES = sorted(SCENARIOS.glob("*.toml"))
RIDGE = SCENARIOS / "ridge-cottage.toml"


def test_every_method_stands_in_one_table() -> None:
    """The answer first, one row per method, reasons and the code's table, within 80 columns."""
    result = run("demand", "--full", RIDGE)
    lines = result.stdout.splitlines()

    assert result.exit_code == 0
    assert lines[0].startswith("The service line 'service' carries ")
    for method in DEMAND_METHODS:
        assert sum(line.startswith(f"{method} ") for line in lines) == 1
    assert "Why they differ" in lines
    assert "IRC Table AP201.1" in result.stdout
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_scenario_can_be_compared(path: Path) -> None:
    """Passing, failing and metric houses alike; the status is that of `size`."""
    result, alone = run("demand", path, "--every-run"), run("size", path)

    assert result.exit_code == alone.exit_code
    assert max(map(len, result.stdout.splitlines())) <= 90
    assert "Traceback" not in result.stdout


def test_json_gives_what_size_gives() -> None:
    """For each method the service's flow and size are those of `size --method`."""
    data = json.loads(run("demand", RIDGE, "--json").stdout)

    assert data["schema"] == "supplycalc-demand/1"
    assert data["run"] == "service"
    assert data["is_service"] is True
    assert [method["method"] for method in data["methods"]] == list(DEMAND_METHODS)
    for method in data["methods"]:
        alone = json.loads(run("size", RIDGE, "--method", method["method"], "--json").stdout)
        service = next(each for each in alone["runs"] if each["name"] == "service")
        assert method["design_flow"] == service["design_flow"]
        assert method["size"] == service["size"]
        assert method["worst"]["margin"] == alone["worst"]["margin"]
        assert method["ok"] == alone["ok"]


def test_json_gives_every_run() -> None:
    """Per run every method's flow, and from the exact one the chance of no flow and the mean."""
    data = json.loads(run("demand", RIDGE, "--json").stdout)
    runs = {each["name"]: each for each in data["runs"]}

    assert set(runs["service"]["design_flow"]) == set(DEMAND_METHODS)
    for each in runs.values():
        assert 0.0 < each["zero_chance"] <= 1.0
        assert each["mean_flow"]["value"] <= each["design_flow"]["exact"]["value"]
    exact = next(method for method in data["methods"] if method["method"] == "exact")
    assert runs["service"]["zero_chance"] == exact["zero_chance"]


def test_groups_stand_in_the_report_of_size_too() -> None:
    """A bathroom on a riser of its own: the assumptions say that its group value was used."""
    page = run("size", "--full", SCENARIOS / "old-farmhouse.toml").stdout

    assert "full bath (3.6)" in " ".join(page.split())


def test_the_sheet_says_what_a_bathroom_counts_on_each_of_its_pipes() -> None:
    """A riser with cold water alone counts 2.7 of the 3.6, as its own row says."""
    page = run("report", SCENARIOS / "old-farmhouse.toml", "--full").stdout

    assert "full bath, 3.6 (2.7 cold, 1.5 hot alone), below cold riser" in " ".join(page.split())


def test_any_run_can_be_looked_at() -> None:
    """A branch: the largest fixture decides by most methods, and the text says so."""
    data = json.loads(run("demand", RIDGE, "--run", "upstairs toilet cold", "--json").stdout)

    flows = {method["method"]: method["design_flow"]["value"] for method in data["methods"]}
    assert flows["irc"] == pytest.approx(3.0)
    assert data["is_service"] is False
    assert any("largest single fixture decides" in text for text in data["why"])


def test_chosen_methods_and_the_files_own() -> None:
    """--methods exact: that one, and irc because the file asks for it."""
    data = json.loads(run("demand", RIDGE, "--methods", "exact", "--json").stdout)

    assert [method["method"] for method in data["methods"]] == ["irc", "exact"]


def test_a_csv_of_every_run(tmp_path: Path) -> None:
    """One line per run, one column per method."""
    target = tmp_path / "flows.csv"
    result = run("demand", RIDGE, "--every-run", "-o", target)
    lines = list(csv.reader(target.read_text(encoding="utf-8").splitlines()))

    assert result.exit_code == 0
    assert len(lines[0]) == 1 + len(DEMAND_METHODS)
    assert any(line[0] == "service" for line in lines)


def test_units_change_what_is_shown_only() -> None:
    """The metric page tells the same flows in L/min."""
    us = json.loads(run("demand", RIDGE, "--json").stdout)
    metric = json.loads(run("demand", RIDGE, "--units", "metric", "--json").stdout)

    for in_us, in_metric in zip(us["methods"], metric["methods"], strict=True):
        assert in_metric["design_flow"]["value"] == pytest.approx(
            in_us["design_flow"]["value"] * GALLON / 1e-3
        )


@pytest.mark.parametrize(
    ("args", "message"),
    [
        (("--run", "servise"), "did you mean 'service'"),
        (("--methods", "exakt"), "did you mean 'exact'"),
    ],
)
def test_wrong_words_name_the_nearest(args: tuple[str, ...], message: str) -> None:
    """An unknown run or method ends with 2 and the nearest word."""
    result = run("demand", RIDGE, *args)

    assert result.exit_code == 2
    assert message in result.stderr


def test_the_python_name_gives_the_same() -> None:
    """supplycalc.compare_demand(house).to_dict() is the JSON of the command."""
    data = json.loads(run("demand", RIDGE, "--json").stdout)

    house = supplycalc.load(RIDGE)

    assert supplycalc.compare_demand(house).to_dict() == data


def test_a_small_load_is_not_shown_as_none() -> None:
    """A fraction of a busy fixture keeps its digits on the page."""
    data = json.loads(run("demand", RIDGE, "--json").stdout)
    text = run("demand", RIDGE).stdout
    load = next(method["load"] for method in data["methods"] if method["method"] == "exact")

    assert 0.0 < load < 1.0
    assert re.search(rf"^exact +{load:.2g} +expected", text, re.MULTILINE)
