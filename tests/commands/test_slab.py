"""`supplycalc slab` on real files."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import supplycalc as sc
from tests.commands.files import SCENARIOS, cottage, run
from tests.houses import FOOT
from tests.two_wells import BOTH

RIDGE = SCENARIOS / "ridge-cottage.toml"


def test_the_page_answers_first_and_fits() -> None:
    """What is locked in, in one sentence; checklist and test pressures; 80 columns."""
    result = run("slab", "--full", RIDGE)
    lines = result.stdout.splitlines()

    assert result.exit_code == 0
    assert lines[0].startswith("Locked in: service at 1-1/4 inch")
    assert max(map(len, lines)) <= 80
    assert "Before the pour or the backfill" in lines
    assert "here 42 in or more" in " ".join(result.stdout.split())
    assert "Trench:" in result.stdout


def test_json_has_every_quantity_with_its_unit() -> None:
    """One entry per locked run, the surprises and the checklist with their sources."""
    data = json.loads(run("slab", RIDGE, "--json").stdout)
    service = data["runs"][0]

    assert data["schema"] == "supplycalc-slab/1"
    assert service["size"] == "1-1/4"
    assert service["spare_flow"]["unit"] == "gpm"
    assert service["larger"]["size"] == "1-1/2"
    assert {surprise["code"] for surprise in data["surprises"]} == {
        "bath-added", "treatment-added", "weaker-pump", "lower-pressure",
    }  # fmt: skip
    assert all(item["source"] for item in [*data["checklist"], *data["tests"]])


def test_a_house_that_falls_short_says_so_and_leaves_with_1(tmp_path: Path) -> None:
    """Nothing is to be poured before it works."""
    result = run("slab", cottage(tmp_path, bath="90 ft"))

    assert result.exit_code == 1
    assert result.stdout.startswith("Do not pour yet.")


def test_one_size_larger_and_what_comes_later_agree() -> None:
    """What the answer says a larger service would bear, the list below does not deny."""
    data = json.loads(run("slab", SCENARIOS / "ranch-on-slab.toml", "--json").stdout)
    service = data["runs"][0]
    later = {surprise["code"]: surprise for surprise in data["surprises"]}
    text = " ".join(run("slab", SCENARIOS / "ranch-on-slab.toml").stdout.split())

    assert service["larger"]["absorbs_if_rest_grows"] == ["lower-pressure"]
    assert later["lower-pressure"]["wanted"] == {"service": service["larger"]["size"]}
    assert "service at 2 inch" in text
    assert "set 10.0 psi lower: 4.9 psi short, NOT as laid; takes service at 2" in text


def test_nothing_locked_in_is_told(tmp_path: Path) -> None:
    """A file without buried runs gets a hint how to write them."""
    path = cottage(tmp_path)
    path.write_text(path.read_text(encoding="utf-8").replace('buried = "40 in"\n', ""))
    result = run("slab", path)

    assert result.exit_code == 0
    assert result.stdout.startswith("Nothing gets locked in")


def test_csv_holds_the_locked_runs(tmp_path: Path) -> None:
    """-o with .csv writes the table of locked runs."""
    target = tmp_path / "slab.csv"
    result = run("slab", RIDGE, "-o", target)

    assert result.exit_code == 0
    assert target.read_text(encoding="utf-8").splitlines()[1].startswith("service,")


def test_the_pipe_from_the_well_is_locked_in_too() -> None:
    """It is no run; with the tank in the house its trench is filled all the same."""
    text = " ".join(run("slab", SCENARIOS / "slow-well.toml").stdout.split())

    assert text.startswith("The pipe from the well, 180 ft of 1 inch, gets locked in")
    assert "'supplycalc well' shows" in text
    assert "Nothing gets locked in" not in text


def test_the_pipe_of_every_well_is_locked_in(tmp_path: Path) -> None:
    """Two wells whose lines give no cover: all of them, and a command that knows them."""
    file = tmp_path / "two.toml"
    file.write_text(BOTH.replace('buried = "42 in"\n', ""), encoding="utf-8")
    text = " ".join(run("slab", file).stdout.split())
    names = ("trench", "tee to house", "lower trench")
    trenches = [run.length for run in sc.load(file).every_run if run.name in names]
    told = sum(float(feet) for feet in re.findall(r"(\d+) ft of \S+ inch", text))

    assert text.startswith("The pipe from the wells, ")
    assert told == pytest.approx(sum(trenches) / FOOT)
    assert "'supplycalc compare' shows" in text


@pytest.mark.parametrize("more", [(), ("--full",), ("-o", "pour.txt")])
def test_a_trench_is_warned_of_where_only_the_pipe_from_the_well_lies_in_one(
    more: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is dug all the same."""
    monkeypatch.chdir(tmp_path)
    told = run("slab", SCENARIOS / "slow-well.toml", *more).stdout
    if "-o" in more:
        told = (tmp_path / "pour.txt").read_text()

    assert "unshored" in told
