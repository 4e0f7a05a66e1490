"""The README tells the truth: its commands are one line each, its output is what is printed."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import supplycalc
from supplycalc.questions import all_questions

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """Fenced blocks of a language, in order."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def run(arguments: list[str]) -> str:
    """What a command prints in 80 columns without a terminal."""
    process = subprocess.run(
        [sys.executable, "-m", "supplycalc", *arguments],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={**os.environ, "COLUMNS": "80"},
        check=False,
    )
    return process.stdout


def test_the_first_two_commands_are_one_line_each() -> None:
    """A newcomer copies one line to try it, one line to test it."""
    try_it, test_it = blocks("sh")[:2]

    assert try_it.count("\n") == test_it.count("\n") == 1
    assert try_it.endswith("supplycalc size scenarios/ridge-cottage.toml\n")
    assert test_it.endswith("-m pytest\n")


def test_the_output_shown_is_the_output_printed() -> None:
    """The block after the commands is what the first command prints today."""
    assert blocks("text")[0] == run(["size", "scenarios/ridge-cottage.toml"])


def test_the_example_file_is_read(tmp_path: Path) -> None:
    """The example of an own file can be sized as it stands."""
    (path := tmp_path / "house.toml").write_text(blocks("toml")[0], encoding="utf-8")
    design = supplycalc.size(supplycalc.load(path))

    assert {outlet.fixture.name for outlet in design.outlets} == {"shower"}


def test_every_scenario_is_told_of() -> None:
    """Each shipped scenario has its line."""
    told = set(re.findall(r"^\| `([a-z-]+)` \|", README, re.MULTILINE))

    assert {path.stem for path in (ROOT / "scenarios").glob("*.toml")} - {"prices"} <= told


def test_every_command_is_listed() -> None:
    """By its word, in the table of commands."""
    listed = set(re.findall(r"^\| `([a-z]+)", README, re.MULTILINE))

    assert set(all_questions()) <= listed


def test_windows_lines_stand_beside_the_others() -> None:
    """Whoever works in PowerShell copies a line too."""
    posix, windows = "".join(blocks("sh")), "".join(blocks("powershell"))

    for part in ("pip install --quiet .", "-m pytest", "new house.toml --ask"):
        assert part in posix
        assert part in windows
    assert posix.count("\n") == windows.count("\n")
