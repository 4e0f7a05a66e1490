"""`supplycalc draw` on real files."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

import supplycalc
from tests.commands.files import SCENARIOS, cottage, run


def test_the_terminal_shows_a_tree(tmp_path: Path) -> None:
    """Every link has its line, the worst fixture is told, and a short one fails the call."""
    shown = run("draw", cottage(tmp_path, cut_in="50 psi"))
    short = run("draw", cottage(tmp_path, bath="90 ft", name="high"))

    assert shown.exit_code == 0
    assert all(name in shown.stdout for name in ("service", "filter", "far bath (hot)", "sink"))
    assert "worst" in shown.stdout
    assert short.exit_code == 1
    assert "SHORT" in short.stdout


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_a_first_screen_is_short(path: Path) -> None:
    """Thirty lines; a hall of forty fixtures and more takes a few more."""
    shown = run("draw", path)
    fixtures = len(supplycalc.load(path).fixtures)

    assert shown.stdout.count("\n") <= (30 if fixtures < 40 else 48)
    assert max(map(len, shown.stdout.split("\n"))) <= 80


def test_all_outlets_are_shown_on_wish() -> None:
    """What shares a line on the first screen has its own under --full."""
    path = SCENARIOS / "ridge-cottage.toml"

    assert "dishwasher" not in run("draw", path).stdout
    assert "dishwasher" in run("draw", path, "--full").stdout


@pytest.mark.parametrize(
    ("form", "start"), [("svg", b"<?xml"), ("png", b"\x89PNG\r\n"), ("pdf", b"%PDF-")]
)
def test_pictures_are_written(tmp_path: Path, form: str, start: bytes) -> None:
    """Each form by its ending, the same bytes each time, and never over a file."""
    path = cottage(tmp_path)
    first, second = tmp_path / f"a.{form}", tmp_path / f"b.{form}"

    assert run("draw", path, "-o", first).exit_code in (0, 1)
    run("draw", path, "-o", second)
    again = run("draw", path, "-o", first)

    assert first.read_bytes().startswith(start)
    assert first.read_bytes() == second.read_bytes()
    assert again.exit_code == 2
    if form == "svg":
        ElementTree.parse(first)


def test_other_commands_still_refuse_pictures(tmp_path: Path) -> None:
    """Text under the name of a picture would not open."""
    path = cottage(tmp_path)

    assert run("size", path, "-o", tmp_path / "a.svg").exit_code == 2
    assert run("draw", path, "-o", tmp_path / "a.gif").exit_code == 2
    assert run("report", path, "-o", tmp_path / "a.png").exit_code == 2


def test_rows_go_to_a_spreadsheet_with_formulas_as_text(tmp_path: Path) -> None:
    """A name that begins like a formula stays a name."""
    text = cottage(tmp_path).read_text().replace('"sink"', "'=HYPERLINK(\"x\")'")
    (path := tmp_path / "formula.toml").write_text(text)
    run("draw", path, "-o", tmp_path / "rows.csv")

    assert "=HYPERLINK" in (tmp_path / "rows.csv").read_text()
    assert not any(
        cell.lstrip('"').startswith("=")
        for line in (tmp_path / "rows.csv").read_text().split("\n")
        for cell in line.split(",")
    )


def test_python_draws_what_the_command_draws(tmp_path: Path) -> None:
    """The same SVG from the API; an unknown form names the known ones."""
    path = cottage(tmp_path)
    run("draw", path, "-o", tmp_path / "a.svg")

    assert supplycalc.draw(supplycalc.load(path)) == (tmp_path / "a.svg").read_text()
    with pytest.raises(supplycalc.InputError, match="svg"):
        supplycalc.draw(supplycalc.load(path), "gif")


def test_json_and_picture_are_of_the_same_house(tmp_path: Path) -> None:
    """The worst way of the rows is the path that `size` tells."""
    path = cottage(tmp_path)
    rows = json.loads(run("draw", path, "--json").stdout)["rows"]
    worst = json.loads(run("size", path, "--json").stdout)["fixtures"][0]
    way = [
        row["run"] or row["name"]
        for row in rows
        if row["worst_way"] and row["type"] in ("run", "device", "fixture")
    ]

    assert sorted(way) == sorted(worst["path"])


def test_a_terminal_without_lines_gets_plain_characters(tmp_path: Path) -> None:
    """The tree keeps its shape where the encoding has no box characters."""
    asked = [sys.executable, "-m", "supplycalc", "draw", str(cottage(tmp_path)), "--full"]
    plain = {**os.environ, "PYTHONIOENCODING": "ascii"}
    told = subprocess.run(asked, capture_output=True, text=True, env=plain, check=False)

    assert told.stdout.isascii()
    assert "#= " in told.stdout
    assert "+- " in told.stdout


def test_drawing_loads_only_when_it_is_asked_for(tmp_path: Path) -> None:
    """`size` starts without the libraries of pictures and pages."""
    call = "import sys; from supplycalc.cli import main; sys.argv = ['s', 'size', sys.argv[1]]\n"
    call += "try: main()\nexcept SystemExit: pass\n"
    call += "print({'matplotlib', 'jinja2', 'watchfiles'} & set(sys.modules), file=sys.stderr)"
    asked = [sys.executable, "-c", call, str(cottage(tmp_path))]
    told = subprocess.run(asked, capture_output=True, text=True, check=True)

    assert told.stderr.strip() == "set()"
