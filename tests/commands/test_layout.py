"""`supplycalc layout` on a real file, and the file that it writes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from supplycalc.cli import app
from tests.commands.files import SCENARIOS, cottage, run

RUNNER = CliRunner()
SMALL = """
[project]
name = "Small"                         # invented

[source]
kind = "well"
cut_in = "50 psi"
cut_out = "70 psi"

[defaults]
material = "pex-sdr9"
joining = "crimp"

[layout]
grid = "5 ft"
submanifolds = 2

[[storey]]
name = "ground"
floor = "0 ft"
pipes_at = "-6 in"
in_slab = true

[[storey]]
name = "attic"
floor = "9 ft"
manifolds = false

[[run]]
name = "service"
from = "source"
to = "entry"
length = "60 ft"
buried = "30 in"

[[point]]
name = "entry"
at = ["0 ft", "0 ft", "2 ft"]

[[device]]
name = "water heater"
kind = "heater"
from = "entry"
to = "heater outlet"
at = ["3 ft", "0 ft", "5 ft"]

[[fixture]]
name = "sink"
kind = "kitchen-sink"
at = ["4 ft", "18 ft", "3 ft"]
cold = { from = "entry" }
hot = { from = "heater outlet" }

[[fixture]]
name = "shower"
kind = "shower"
at = ["25 ft", "5 ft", "6 ft"]
cold = { from = "entry" }
hot = { from = "heater outlet" }

[[fixture]]
name = "toilet"
kind = "water-closet"
at = ["25 ft", "10 ft", "1 ft"]
cold = { from = "entry" }
"""


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A small house with positions."""
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def test_the_page_fits_and_has_a_plan(small: Path) -> None:
    """Answer, table, place and plan within 80 columns."""
    result = run("layout", "--full", small)
    lines = result.stdout.splitlines()

    assert result.exit_code == 0
    assert lines[0].startswith("Of the layouts that work ")
    assert max(map(len, lines)) <= 80
    assert "Where the manifold should stand" in lines
    plan = lines[lines.index("Plan") + 1 :]
    drawn = plan[: next(i for i, line in enumerate(plan) if line.startswith("* best"))]
    assert sum(line.count("*") for line in drawn) == 1
    assert sum(line.count("f") for line in drawn) == 3
    assert sum(line.count("E") for line in drawn) == 1


@pytest.mark.parametrize("code", ["home-run", "sub-2", "trunk", "short-trunk"])
def test_a_written_layout_gives_equal_numbers(small: Path, tmp_path: Path, code: str) -> None:
    """`size` on the written file: the same worst fixture, margin, cost and runs."""
    target = tmp_path / "piped.toml"
    result = run("layout", small, "--write", target, "--layout", code, "--json")
    option = next(
        option for option in json.loads(result.stdout)["layouts"] if option["code"] == code
    )
    sized = json.loads(run("size", target, "--json").stdout)

    assert sized["worst"]["name"] == option["worst"]["name"]
    assert sized["worst"]["margin"]["value"] == pytest.approx(
        option["worst"]["margin"]["value"], abs=1e-9
    )
    assert sized["cost"]["total"]["value"] == pytest.approx(
        option["cost"]["total"]["value"], rel=1e-12
    )
    assert [(run["name"], run["size"]) for run in sized["runs"]] == [
        (run["name"], run["size"]) for run in option["runs"]
    ]
    assert sum(run["length"]["value"] for run in sized["runs"]) == pytest.approx(
        sum(run["length"]["value"] for run in option["runs"]), rel=1e-12
    )


def test_stdout_takes_the_file_alone(small: Path) -> None:
    """--write - puts the file on stdout and nothing else, so that it can be piped on."""
    result = run("layout", small, "--write", "-")
    piped = RUNNER.invoke(app, ["size", "-"], input=result.stdout)

    assert result.stdout.startswith("# ")
    assert piped.exit_code == 0


def test_nothing_is_overwritten_unasked(small: Path, tmp_path: Path) -> None:
    """An existing file is refused before any work, unless --force is given."""
    target = tmp_path / "there.toml"
    target.write_text("mine")
    refused = run("layout", small, "--write", target)

    assert refused.exit_code == 2
    assert target.read_text() == "mine"
    assert run("layout", small, "--write", target, "--force").exit_code == 0
    assert "[[manifold]]" in target.read_text() or "trunk" in target.read_text()


def test_an_unknown_layout_gets_the_nearest_name(small: Path, tmp_path: Path) -> None:
    """--layout names one of those that were compared."""
    result = run("layout", small, "--write", tmp_path / "x.toml", "--layout", "homerun")

    assert result.exit_code == 2
    assert "did you mean 'home-run'" in result.stderr


def test_json_holds_every_place(small: Path) -> None:
    """Each candidate with its cost; the best one is the cheapest of those that work."""
    data = json.loads(run("layout", small, "--json").stdout)
    places = data["place"]["places"]
    best = places[data["place"]["best"]]

    assert data["schema"] == "supplycalc-layout/1"
    assert best["ok"]
    assert best["cost"]["value"] == min(place["cost"]["value"] for place in places if place["ok"])
    assert all(len(place["at"]) == 3 for place in places)
    assert {option["code"] for option in data["layouts"]} >= {"home-run", "trunk", "short-trunk"}


def test_a_file_without_positions_is_told_what_is_missing(tmp_path: Path) -> None:
    """All fixtures in one line, the heater and the origin."""
    result = run("layout", cottage(tmp_path))

    assert result.exit_code == 2
    assert "fixtures 'far bath' and 'sink' have no position (at)" in result.stderr
    assert result.stderr.count("no position") == 3


def test_prices_are_shown_in_their_currency(small: Path) -> None:
    """With a price list cost is that of all parts."""
    prices = SCENARIOS / "prices" / "counter.toml"
    data = json.loads(run("layout", small, "--prices", prices, "--json").stdout)

    assert data["prices"]["currency"] in data["answer"]
    assert all(option["all_parts"]["total"] > 0 for option in data["layouts"])


def test_a_new_trunk_takes_free_names(tmp_path: Path) -> None:
    """As where a layout wrote the file before: the point to start from is called like its ends."""
    text = (SCENARIOS / "ranch-on-slab.toml").read_text(encoding="utf-8")
    (house := tmp_path / "house.toml").write_text(text.replace('"entry"', '"cold trunk 1 end"'))
    result = run("layout", house, "--json")

    assert result.exit_code == 0
    codes = {option["code"] for option in json.loads(result.stdout)["layouts"]}
    assert {"home-run", "trunk", "short-trunk"} <= codes
