"""`supplycalc flow` on real files."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from tests.commands.files import SCENARIOS, cottage, run

RIDGE = SCENARIOS / "ridge-cottage.toml"


def test_the_answer_comes_first_and_fits_80_columns() -> None:
    """One sentence, then what comes out, who takes it, both ends of the switch, the path."""
    result = run("flow", "--full", RIDGE, "--open", "upstairs bath", "--open", "clothes washer")
    text = result.stdout

    assert result.exit_code == 0
    assert text.startswith("With these 2 open at cut-in")
    for part in (
        "What comes out, source at cut-in",
        "What each loses to each of the others",
        "The same at each state of the source",
        "Pipes that they share",
        "Where the pressure goes on the way to",
        "Assumptions",
        "Scalding",
    ):
        assert part in text
    assert max(map(len, text.splitlines())) <= 80


def test_one_outlet_alone() -> None:
    """Its flow and share; no table of losses to others."""
    result = run("flow", RIDGE, "--open", "garden tap")

    assert result.exit_code == 0
    assert result.stdout.startswith("garden tap alone gets")
    assert "What each loses" not in result.stdout
    assert "Scalding" not in result.stdout


def test_no_solvers_figures_on_the_page() -> None:
    """How closely the solver agrees with itself is for JSON; foam is half an inch, not 0.500."""
    us, metric = (
        " ".join(
            run(
                "flow", "--full", RIDGE, "--open", "garden tap", "--open", "upstairs bath", *more
            ).stdout.split()
        )
        for more in ((), ("--units", "metric"))
    )

    assert " Pa " not in us
    assert "insulated ones have 0.5 in of foam" in us
    assert "insulated ones have 13 mm of foam" in metric


def test_json_tells_what_the_table_tells() -> None:
    """Flows per case, what each lost to the other, the path of every outlet."""
    data = json.loads(
        run("flow", RIDGE, "--open", "upstairs bath", "--open", "garden tap@50%", "--json").stdout
    )
    first = data["cases"][0]
    bath, tap = first["outlets"]

    assert data["schema"] == "supplycalc-flow/1"
    assert data["open"][1] == {
        "name": "garden tap", "fixture": "garden tap", "through": "cold", "share": 0.5
    }  # fmt: skip
    assert [case["source"] for case in data["cases"]] == ["cut-in", "cut-out", "pump alone"]
    assert first["total"]["unit"] == "gpm"
    assert first["total"]["value"] == pytest.approx(bath["flow"]["value"] + tap["flow"]["value"])
    assert bath["lost_to"]["garden tap"]["value"] > 0
    assert bath["path"][-1]["end_pressure"]["value"] == pytest.approx(bath["pressure"]["value"])
    assert bath["cold"]["value"] + bath["hot"]["value"] == pytest.approx(bath["flow"]["value"])


def test_disturb_lists_the_others_and_the_worst_set() -> None:
    """Sorted by harm; says how the worst set was found."""
    result = run("flow", "--full", RIDGE, "--open", "upstairs bath", "--disturb", "--at-once", "2")
    text = result.stdout

    assert "Who spoils upstairs bath" in text
    assert "Worst 2 at once for upstairs bath" in text
    assert "every set tried" in text
    assert max(map(len, text.splitlines())) <= 80


def test_metric_units() -> None:
    """L/min, kPa and degC where they are asked for."""
    text = run("flow", RIDGE, "--open", "kitchen sink", "--units", "metric").stdout

    assert "L/min" in text
    assert "kPa" in text
    assert "degC" in text


def test_paths_follows_every_outlet() -> None:
    """One account for each open outlet."""
    args = (RIDGE, "--open", "upstairs bath", "--open", "garden tap")

    assert run("flow", "--full", *args).stdout.count("Where the pressure goes") == 1
    assert run("flow", "--full", *args, "--paths").stdout.count("Where the pressure goes") == 2


def test_csv_has_the_outlets(tmp_path: Path) -> None:
    """One row per open outlet."""
    target = tmp_path / "flow.csv"
    result = run("flow", RIDGE, "--open", "kitchen sink", "--open", "garden tap", "-o", target)
    rows = list(csv.reader(target.open(encoding="utf-8")))

    assert result.exit_code == 0
    assert [row[0] for row in rows[1:]] == ["kitchen sink", "garden tap"]


def test_a_wrong_name_leaves_with_2() -> None:
    """Nothing on stdout, the nearest name on stderr."""
    result = run("flow", RIDGE, "--open", "upstairs bsth")

    assert result.exit_code == 2
    assert result.stdout == ""
    assert "did you mean 'upstairs bath'?" in result.stderr


def test_nothing_open_leaves_with_2() -> None:
    """It says what to write."""
    result = run("flow", RIDGE)

    assert result.exit_code == 2
    assert "nothing is open" in result.stderr


def test_a_dry_outlet_leaves_with_1(tmp_path: Path) -> None:
    """A bath 40 m up gets nothing from 40 psi."""
    result = run("flow", cottage(tmp_path, bath="130 ft"), "--open", "far bath", "--open", "sink")

    assert result.exit_code == 1
    assert "nothing comes out at far bath" in result.stdout
    assert "FAIL" in result.stdout


def test_an_unknown_method_is_told_with_the_nearest() -> None:
    """As by every other command."""
    result = run("flow", RIDGE, "--open", "upstairs bath", "--method", "ircc")

    assert result.exit_code == 2
    assert "'ircc' is not a demand method; did you mean 'irc'?" in result.stderr
