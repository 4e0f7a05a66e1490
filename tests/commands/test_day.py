"""`supplycalc day` on real files: screen, chart, JSON, CSV, exit codes."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from supplycalc.output.text import encodable
from supplycalc.units import DAY
from tests.commands.files import SCENARIOS, cottage, run

COTTAGE = SCENARIOS / "ridge-cottage.toml"
SLOW = SCENARIOS / "slow-well.toml"


@pytest.mark.parametrize("path", [COTTAGE, SLOW, SCENARIOS / "old-farmhouse.toml"])
@pytest.mark.parametrize("system", ["us", "metric"])
def test_a_day_fits_the_screen(path: Path, system: str) -> None:
    """A sentence first, 80 columns, a chart where there is a tank."""
    result = run("day", path, "--units", system, "--seed", 3)
    lines = result.stdout.splitlines()

    assert result.exit_code == (1 if "  FAIL " in result.stdout else 0)
    assert lines[0].startswith("In the day ")
    assert max(map(len, lines)) <= 80
    assert ("│" in result.stdout) is ("farmhouse" not in path.stem)
    assert "{0}" not in result.stdout


def test_times_are_told_as_people_say_them() -> None:
    """Minutes while there are few, hours for a month; energy no finer than its guess."""
    day, month = (
        run("day", "--full", COTTAGE, "--seed", 3, *more).stdout for more in ((), ("--days", 30))
    )
    first, many = (" ".join(text.split()).partition(";")[0] for text in (day, month))

    assert re.search(r"running \d+ min", first)
    assert re.search(r"running \d+\.\d h", many)
    long = run("day", "--full", SCENARIOS / "orchard-house.toml").stdout
    assert re.search(r"^shortest run +\d+ s$", long, re.MULTILINE)
    assert re.search(r"^longest run +3\.\d h$", long, re.MULTILINE)
    assert re.search(r"^energy +\S{1,4} kWh$", day, re.MULTILINE)


def test_cautions_fit_the_source_and_the_unused_is_named(tmp_path: Path) -> None:
    """A house on a main has no pump to lock out; a garden tap is not drawn at random."""
    main = run("day", "--full", SCENARIOS / "old-farmhouse.toml", "--seed", 3).stdout
    own = run("day", "--full", COTTAGE, "--seed", 3).stdout
    small = tmp_path / "small.toml"
    text = COTTAGE.read_text("utf-8")
    small.write_text(re.sub(r'volume( *)= "[0-9]+ gal"', r'volume\1= "10 gal"', text), "utf-8")
    lost = " ".join(run("day", "--full", small, "--seed", 3, "--waterlogged").stdout.split())

    assert "lock out the pump" not in main
    assert "lock out the pump" in own
    assert "Scalding" in main
    assert re.search(r"Not used in the day: .*garden tap", " ".join(own.split()))
    assert "give the tank its air charge again" in lost
    assert "larger tank" not in lost


def test_a_terminal_without_box_drawing_gets_plain_characters() -> None:
    """No question marks stand in for the chart."""
    text = run("day", COTTAGE, "--seed", 3).stdout

    assert "?" not in encodable(text, "ascii").replace("What is", "")


def test_the_files_schedule_dries_the_well() -> None:
    """The slow well's wash day: the pump runs dry, the exit status says so."""
    result = run("day", SLOW)
    data = json.loads(run("day", SLOW, "--json").stdout)

    assert result.exit_code == 1
    assert "ran dry" in result.stdout
    assert data["seed"] is None
    assert len(data["well"]["dry_runs"]) >= 1
    assert {finding["code"] for finding in data["findings"]} >= {"runs-dry", "tank-empty"}


def test_json_balances_and_keeps_every_event() -> None:
    """Water in = water out to 1e-9; starts and stops in the series are the pump's."""
    data = json.loads(run("day", COTTAGE, "--seed", 5, "--days", 3, "--json").stdout)
    water = {key: data["water"][key]["value"] for key in ("drawn", "pumped", "tank_change")}
    whats = [event["event"] for event in data["series"]]

    assert water["pumped"] - water["drawn"] == pytest.approx(
        water["tank_change"], abs=1e-9 * water["drawn"]
    )
    assert whats.count("start") == data["pump"]["starts"] == len(data["pump"]["start_times"])
    assert data["series"][-1]["time"]["value"] == pytest.approx(3 * DAY)
    assert all(fixture["lowest"]["value"] > 0.0 for fixture in data["fixtures"])


def test_the_series_as_csv(tmp_path: Path) -> None:
    """One line per event, time rising, pressures within the switch's band."""
    target = tmp_path / "day.csv"
    result = run("day", COTTAGE, "--seed", 5, "-o", target)
    with target.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    times = [float(row["time [s]"]) for row in rows]
    pressures = [float(row["pressure [psi]"]) for row in rows]

    assert result.exit_code == 0
    assert times == sorted(times)
    assert 50.0 - 1e-9 <= min(pressures) <= max(pressures) <= 70.0 + 1e-9
    assert {"start", "stop", "draw", "begin", "end"} <= {row["event"] for row in rows}


def test_same_seed_same_bytes() -> None:
    """And another seed another day."""
    first, again, other = (run("day", COTTAGE, "--seed", n, "--json").stdout for n in (8, 8, 9))

    assert first == again != other


def test_watching_one_fixture() -> None:
    """Only its connections are in the table."""
    data = json.loads(run("day", COTTAGE, "--watch", "upstairs bath", "--json").stdout)
    wrong = run("day", COTTAGE, "--watch", "upstair bath")

    assert {fixture["name"] for fixture in data["fixtures"]} == {"upstairs bath"}
    assert wrong.exit_code == 2
    assert "upstairs bath" in wrong.stderr


def test_a_waterlogged_tank_as_a_what_if() -> None:
    """More starts, and the page says that it is a what-if."""
    whole = json.loads(run("day", "--full", COTTAGE, "--seed", 4, "--json").stdout)
    result = run("day", "--full", COTTAGE, "--seed", 4, "--waterlogged")
    lost = json.loads(run("day", "--full", COTTAGE, "--seed", 4, "--waterlogged", "--json").stdout)

    assert lost["pump"]["starts"] > 2 * whole["pump"]["starts"]
    assert "WHAT IF" in result.stdout


def test_what_a_day_cannot_do_without(tmp_path: Path) -> None:
    """A pump: the message shows how to write one."""
    result = run("day", cottage(tmp_path))

    assert result.exit_code == 2
    assert "measured_flow" in result.stderr


def test_energy_is_not_told_without_a_water_level(tmp_path: Path) -> None:
    """The table asks for the level; no kWh stands anywhere; JSON says null."""
    text = re.sub(r"(?m)^static_level.*\n", "", COTTAGE.read_text("utf-8"))
    path = tmp_path / "no-level.toml"
    path.write_text(text, "utf-8")
    result = run("day", "--full", path, "--seed", 3)
    pump = json.loads(run("day", "--full", path, "--seed", 3, "--json").stdout)["pump"]

    assert "kWh" not in result.stdout
    assert "give the well's static_level" in " ".join(result.stdout.split())
    assert pump["energy"] is None
    assert pump["energy_range"] is None


def test_a_schedule_that_leaves_fixtures_out_says_so_first() -> None:
    """225 gal of a barn alone are no day of two houses."""
    barn = run("day", SCENARIOS / "two-houses-and-a-barn.toml").stdout
    whole = run("day", SCENARIOS / "two-houses-and-a-barn.toml", "--seed", "1").stdout

    assert "10 of 12 fixtures are not used in the file's schedule" in " ".join(barn.split())
    assert "not used in the file's schedule" not in " ".join(whole.split())
