"""`supplycalc well` on real files: screen, JSON, CSV, exit codes."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from tests.commands.files import SCENARIOS, cottage, run

WELLS = sorted(
    path for path in SCENARIOS.glob("*.toml") if 'kind      = "well"' in path.read_text("utf-8")
)


def test_the_scenarios_have_wells() -> None:
    """Those that the tests below go through."""
    assert {path.stem for path in WELLS} >= {"ridge-cottage", "slow-well"}


@pytest.mark.parametrize("path", WELLS, ids=lambda path: path.stem)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_well_fits_the_screen(path: Path, system: str) -> None:
    """A verdict first, 80 columns, and the code says whether anything fails."""
    result = run("well", "--full", path, "--units", system)
    lines = result.stdout.splitlines()

    assert result.exit_code == (1 if "  FAIL " in result.stdout else 0)
    assert max(map(len, lines)) <= 80
    assert "Findings" in lines
    assert "Take care" in lines
    assert "{0}" not in result.stdout
    assert " nan" not in result.stdout


def test_json_says_what_the_page_says() -> None:
    """Operating points, limits with their sources, and one entry per switch setting."""
    result = run("well", SCENARIOS / "ridge-cottage.toml", "--json", "--units", "us")
    data = json.loads(result.stdout)

    assert data["schema"] == "supplycalc-well/1"
    assert data["holds"] is True
    assert [point["at"] for point in data["points"]] == ["cut-in", "cut-out"]
    assert data["points"][0]["pressure"] == {"value": pytest.approx(50.0), "unit": "psi"}
    assert data["points"][0]["flow"]["value"] > data["points"][1]["flow"]["value"]
    assert [option["now"] for option in data["switches"]].count(True) == 1
    assert data["tank"]["least_run_time"]["source_check"] == "seen"
    assert (
        data["tank"]["waterlogged"]["drawdown"]["value"]
        < (data["tank"]["cycles"]["drawdown"]["value"])
    )


def test_a_bucket_test_and_a_slow_well(tmp_path: Path) -> None:
    """What one point leaves open is told, storage and second pump are sized, the CSV is whole."""
    target = tmp_path / "switch.csv"
    data = json.loads(run("well", SCENARIOS / "slow-well.toml", "--json").stdout)
    written = run("well", SCENARIOS / "slow-well.toml", "-o", target)
    with target.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))

    assert "but not for long: the well sustains only" in data["verdict"]
    assert data["uncertain"]["measured"] is True
    low, high = (end["value"] for end in data["uncertain"]["flow_at_cut_in"])
    assert low < data["points"][0]["flow"]["value"] < high
    assert data["well"]["people"] == 6
    assert data["well"]["storage"]["value"] > 0.0
    assert data["well"]["second_pump"]["flow"] == data["design_flow"]
    assert written.exit_code in (0, 1)
    assert rows[0][0] == "switch"
    assert len(rows) == 1 + len(data["switches"])


def test_the_open_tank_that_a_weak_well_needs() -> None:
    """By drawn years, with its range; a longer outage and a reserve come on top; no larger pump is
    advised; a well that gives less than is drawn gets no tank, and one that keeps up only on wish.
    """
    slow = SCENARIOS / "slow-well.toml"
    wish = ("--outage", "24 h", "--reserve", "1200 gal")
    result = run("well", slow, "--years", "2", *wish, "--full")
    text = " ".join(result.stdout.split())
    data = json.loads(run("well", slow, "--years", "2", "--json").stdout)["storage"]
    drawn = data["drawn"]
    ridge = SCENARIOS / "ridge-cottage.toml"

    assert "Open tank between well and house, gal" in result.stdout
    assert "on top, for the time without a pump" in text
    assert "on top, for a fire 1,200" in text
    assert "every day of a year" in text
    assert "larger pump" not in text
    years = drawn["every_day"]
    assert 0.0 < drawn["ordinary"]["value"] < drawn["most_days"]["usual"]["value"]
    assert years["lowest"]["value"] <= years["usual"]["value"] <= years["highest"]["value"]
    assert data["volume"]["value"] == pytest.approx(
        years["usual"]["value"] + data["between_floats"]["value"]
    )
    assert json.loads(run("well", ridge, "--json").stdout)["storage"] is None
    assert "Open tank" in run("well", ridge, "--storage", "--years", "1").stdout
    assert "Open tank" not in run("well", slow, "--people", "40").stdout
    crowd = run("well", slow, "--storage", "--people", "80", "--years", "1", "--full").stdout
    assert "No storage tank carries this house for good" in " ".join(crowd.split())
    wrong = run("well", slow, "--reserve", "1200")
    assert wrong.exit_code == 2
    assert "--reserve" in wrong.stderr


def test_what_is_hardly_known_is_not_shown_to_the_gallon() -> None:
    """A yield by drawdown alone: two digits, "at most", a bound; a bore not given is unknown."""
    result = run("well", "--full", SCENARIOS / "ridge-cottage.toml")
    data = json.loads(run("well", "--full", SCENARIOS / "ridge-cottage.toml", "--json").stdout)[
        "well"
    ]
    text = " ".join(result.stdout.split())
    (shown,) = re.findall(r"gives in 24 hours, at most ([0-9,]+)", text)

    assert "That is an upper bound" in text
    assert re.fullmatch(r"[0-9]{2}0,000", shown)
    assert int(shown.replace(",", "")) == pytest.approx(data["daily_yield"]["value"], rel=0.05)
    assert "usable in the well itself unknown" in text
    assert data["upper_bound"] is True
    assert data["bore_storage"] is None


def test_the_pipe_in_the_trench_is_tried_in_other_sizes() -> None:
    """A table with the present size marked, the trench caution with it; neither without a pipe."""
    path = SCENARIOS / "slow-well.toml"
    text = run("well", "--full", path).stdout
    data = json.loads(run("well", "--full", path, "--json").stdout)["pipe"]
    without = run("well", "--full", SCENARIOS / "low-switch.toml").stdout

    assert "Pipe from the well to the tank, 180 ft of pe-cts-sdr9: other sizes" in text
    assert re.search(r"^1 now +\d", text, re.MULTILINE)
    assert [option["now"] for option in data].count(True) == 1
    assert "Trench" in text
    assert "Trench" not in without
    assert "Pipe from the well" not in without


def test_more_people_need_more_storage() -> None:
    """By 100 gal for each."""
    few, many = (
        json.loads(run("well", SCENARIOS / "slow-well.toml", "--json", "--people", n).stdout)
        for n in (6, 8)
    )
    more = many["well"]["storage"]["value"] - few["well"]["storage"]["value"]

    assert more == pytest.approx(200.0, rel=1e-9)


def test_a_house_without_a_pump_gets_a_duty_point(tmp_path: Path) -> None:
    """Head and flow that a pump must give, the lift included; the level is asked for without it."""
    blind = cottage(tmp_path)
    told = tmp_path / "told.toml"
    level = '[source.well]\nstatic_level = "62 ft"\n'
    told.write_text(f"{blind.read_text('utf-8')}\n{level}", "utf-8")
    without = run("well", blind)
    data = json.loads(run("well", told, "--json").stdout)

    assert "names no pump" in without.stdout
    assert "static_level" in without.stdout
    assert json.loads(run("well", blind, "--json").stdout)["duty"] is None
    assert data["holds"] is None
    assert data["duty"]["flow"] == data["design_flow"]
    assert data["duty"]["head"]["unit"] == "ft"
    # no pipe to the tank is told: 62 ft of lift and 40 psi at 62.4 lb/ft3
    assert data["duty"]["head"]["value"] == pytest.approx(62.0 + 40.0 * 144.0 / 62.4, abs=0.2)


def test_a_pump_too_small_for_the_house_fails(tmp_path: Path) -> None:
    """The verdict begins with it, and the exit status says so."""
    text = (SCENARIOS / "ridge-cottage.toml").read_text("utf-8")
    start = text.index("curve = ")
    weak = text[:start] + 'curve = [["0 gpm", "250 ft"], ["2 gpm", "150 ft"]]\n'
    path = tmp_path / "weak.toml"
    path.write_text(weak + text[text.index("[source.well]") :], "utf-8")
    result = run("well", path)

    assert result.stdout.startswith("Fails (pump): gives 1.4 gpm at the cut-in of 50.0 psi;")
    assert result.exit_code == 1


def test_a_main_is_refused() -> None:
    """With its line, and exit status 2."""
    result = run("well", SCENARIOS / "old-farmhouse.toml")

    assert result.exit_code == 2
    assert "comes from a main" in result.stderr


def test_a_booster_that_holds_its_pressure_is_not_judged_as_a_switch() -> None:
    """127 wakings an hour at a trickle are told as what they are, by `well`; no command warns."""
    cistern = SCENARIOS / "cistern-booster.toml"
    page = " ".join(run("well", cistern, "--years", "1", "--full").stdout.split())
    others = [run(command, cistern, "--full").stdout for command in ("size", "day")]

    assert "it sleeps while less than about 3.8 L/min is drawn" in page
    assert "wakes it 127 times an hour" in page
    assert "WARN" not in page
    assert not any("most for" in text for text in (page, *others))
