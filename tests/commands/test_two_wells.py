"""A house on two wells through the command line: each answer knows both."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from supplycalc.cli import app
from tests.commands.files import SCENARIOS
from tests.two_wells import BOTH


@pytest.fixture
def house(tmp_path: Path) -> str:
    """The file."""
    path = tmp_path / "two.toml"
    path.write_text(BOTH, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize(
    ("call", "told"),
    [
        (("check", "--full"), ("Lower well: wellhead at", "where the wells' lines meet")),
        (("size",), ("The pumps keep up: together they give", "from lower well")),
        (
            ("well", "--full"),
            ("Each well's share, all pumps running", "With lower well off first well"),
        ),
        (("slab",), ("lower trench at",)),
        (("parts", "--full"), ("drop pipe of lower well",)),
        (("draw",), ("lower well", "joins at well tee", "first well")),
        (("compare", "--run", "lower trench"), ("lower trench at",)),
        (("flow", "--open", "shower"), ("shower",)),
        (("day", "--full"), ("Each well", "lower well", "held shut")),
    ],
)
def test_each_command_knows_both(
    house: str, call: tuple[str, ...], told: tuple[str, ...], units: str
) -> None:
    """In both unit systems, without a failure."""
    command, *options = call
    answer = CliRunner().invoke(app, [command, house, *options, "--units", units])
    text = " ".join(answer.stdout.split())

    assert answer.exit_code == 0, answer.stdout
    assert [words for words in told if words not in text] == []


def test_the_shares_stand_in_json(house: str) -> None:
    """For each well what it gives at cut-in, halfway and at cut-out, and what lasts."""
    answer = CliRunner().invoke(app, ["well", house, "--json"])
    shares = json.loads(answer.stdout)["shares"]

    assert [share["name"] for share in shares] == ["first well", "lower well"]
    for share in shares:
        flows = [share[key]["value"] for key in ("at_cut_in", "halfway", "at_cut_out")]
        assert flows == sorted(flows, reverse=True)
        assert share["lasting"]["value"] <= flows[0]
        assert share["alone"]["value"] > flows[0]


def test_the_picture_and_the_report_show_both(house: str, tmp_path: Path) -> None:
    """Both pumps and their names."""
    for command, name in (("draw", "o.svg"), ("report", "o.html")):
        target = tmp_path / name
        answer = CliRunner().invoke(app, [command, house, "-o", str(target)])

        assert answer.exit_code == 0, answer.stdout
        text = target.read_text(encoding="utf-8")
        assert "lower well" in text
        assert "first well" in text


def test_a_day_tells_what_each_well_gave(house: str) -> None:
    """Their water adds up to what is pumped, and each level has its column."""
    answer = CliRunner().invoke(app, ["day", house, "--seed", "3", "--json"])
    told = json.loads(answer.stdout)

    assert [well["name"] for well in told["wells"]] == ["first well", "lower well"]
    pumped = sum(well["pumped"]["value"] for well in told["wells"])
    assert pumped == pytest.approx(told["water"]["pumped"]["value"])
    assert all(well["deepest_fall"]["value"] > 0.0 for well in told["wells"])


def test_two_wells_are_never_told_as_one() -> None:
    """What flow and day say of the farm that has both, and a tank in its barn."""
    farm = str(SCENARIOS / "two-wells-farm.toml")
    flow = CliRunner().invoke(app, ["flow", farm, "--open", "barn hydrant"]).stdout
    day = CliRunner().invoke(app, ["day", farm]).stdout

    assert "the wells give only 7.0 gpm" in " ".join(flow.split())
    assert "the wells sustain" in " ".join(flow.split())
    assert "the pumps start" in " ".join(day.split())
