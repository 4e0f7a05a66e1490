"""`supplycalc hot` on real files."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

import supplycalc
from tests.commands.files import SCENARIOS, cottage, run

FILES = sorted(SCENARIOS.glob("*.toml"))
RIDGE = SCENARIOS / "ridge-cottage.toml"


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
def test_every_scenario_fits_the_terminal(file: Path) -> None:
    """An answer first, 80 columns, and an exit status that says whether a limit is broken."""
    if all(fixture.hot is None for fixture in supplycalc.load(file).fixtures):
        assert run("hot", file).exit_code == 2
        return
    result = run("hot", file)
    lines = result.stdout.splitlines()

    assert result.exit_code in (0, 1)
    assert lines[0].startswith(("The longest wait for hot water is", "No hot water comes"))
    assert max(map(len, lines)) <= 80
    assert ("FAIL" in result.stdout) == (result.exit_code == 1)
    assert "{" not in result.stdout


def test_json_adds_up() -> None:
    """Waits are volume x factor / flow; the year is the sum of the outlets."""
    data = json.loads(run("hot", RIDGE, "--json").stdout)

    assert data["schema"] == "supplycalc-hot/1"
    for outlet in data["outlets"]:
        gallons, gpm = outlet["volume"]["value"], outlet["hot_flow"]["value"]
        wait = data["factor"] * gallons / gpm * 60
        assert outlet["wait"]["value"] == pytest.approx(wait, rel=1e-9)
        assert outlet["drawn"]["value"] == pytest.approx(data["factor"] * gallons, rel=1e-9)
        assert outlet["length"]["value"] == pytest.approx(
            sum(run["length"]["value"] for run in outlet["runs"]), rel=1e-9
        )
    total = sum(outlet["yearly_volume"]["value"] for outlet in data["outlets"])
    assert data["year"]["volume"]["value"] == pytest.approx(total, rel=1e-9)
    assert {finding["source_check"] for finding in data["findings"]} <= {
        "seen", "memory", "derived", "common practice", "none",
    }  # fmt: skip


def test_metric_units_tell_the_same() -> None:
    """The same wait, litres for gallons."""
    us = json.loads(run("hot", RIDGE, "--json").stdout)["outlets"][0]
    metric = json.loads(run("hot", RIDGE, "--json", "--units", "metric").stdout)["outlets"][0]

    assert metric["wait"] == us["wait"]
    assert metric["volume"]["unit"] == "L"
    assert metric["volume"]["value"] == pytest.approx(us["volume"]["value"] * 3.785411784, rel=1e-9)


def test_factor_and_draws() -> None:
    """--factor scales every wait; --draws changes one outlet's year."""
    plain = json.loads(run("hot", RIDGE, "--json", "--factor", 1).stdout)
    usual = json.loads(run("hot", RIDGE, "--json", "--draws", "kitchen sink=20").stdout)
    before = json.loads(run("hot", RIDGE, "--json").stdout)

    for by_volume, outlet in zip(plain["outlets"], before["outlets"], strict=True):
        shorter = outlet["wait"]["value"] / 1.2
        assert by_volume["wait"]["value"] == pytest.approx(shorter, rel=1e-9)
    sinks = [
        next(outlet for outlet in data["outlets"] if outlet["name"] == "kitchen sink")
        for data in (before, usual)
    ]
    assert sinks[1]["draws_per_day"] == 20
    assert sinks[1]["yearly_volume"]["value"] > sinks[0]["yearly_volume"]["value"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--draws", "kitchen snik=3"), "did you mean 'kitchen sink'?"),
        (("--draws", "kitchen sink"), "not a fixture and its draws a day"),
        (("--draws", "garden tap=3"), "has no hot water"),
        (("--factor", "0.5"), "greater than or equal to 1"),
    ],
)
def test_wrong_calls(arguments: tuple[str, ...], message: str) -> None:
    """Status 2, said on stderr, nothing on stdout."""
    result = run("hot", RIDGE, *arguments)

    assert result.exit_code == 2
    assert message in result.stderr
    assert result.stdout == ""


def test_csv(tmp_path: Path) -> None:
    """One row per hot outlet, units in the headings."""
    target = tmp_path / "waits.csv"
    assert run("hot", RIDGE, "-o", target).exit_code == 0
    with target.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))

    assert "wait [s]" in rows[0]
    assert len(rows) - 1 == len(supplycalc.hot(supplycalc.load(RIDGE)).outlets)


def test_run_that_is_kept_hot(tmp_path: Path) -> None:
    """The key is read, and `check` shows it."""
    file = cottage(tmp_path)
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace('hot = { from = "hot header", length = "22 ft" }',
                     'hot = { from = "hot header", length = "22 ft", circulated = true }'),
        encoding="utf-8",
    )  # fmt: skip
    data = json.loads(run("hot", file, "--json").stdout)
    sink = next(outlet for outlet in data["outlets"] if outlet["name"] == "sink")

    assert sink["from_circulation"] is True
    assert sink["volume"]["value"] == 0.0
    assert "kept hot" in run("check", file, "--full").stdout


def test_python_tells_the_same() -> None:
    """`supplycalc.hot(...).to_dict()` is the JSON."""
    data = supplycalc.hot(supplycalc.load(RIDGE)).to_dict()

    assert json.loads(json.dumps(data)) == json.loads(run("hot", RIDGE, "--json").stdout)


def test_a_machine_s_longer_wait_is_explained() -> None:
    """The dishwasher's wait is longer than the longest that anybody waits."""
    told = run("hot", SCENARIOS / "orchard-house.toml").stdout

    assert "as nobody waits there" in told
    assert "11 s to 11 s" not in told
