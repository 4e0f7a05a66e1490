"""Every public example runs: README's Python, the API's docstrings, the calls that help shows."""

from __future__ import annotations

import doctest
import re
import runpy
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import supplycalc as sc
from supplycalc import api
from supplycalc.questions import all_questions
from tests.commands.files import SCENARIOS, run

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
TEXTS = (README, (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
BLOCKS = [block for text in TEXTS for block in re.findall(r"```python\n(.*?)```", text, re.DOTALL)]
CALLS = [call for text in TEXTS for call in re.findall(r"`(sc\.[a-z_]+\(.*?\))`", text)]
NEEDS_MORE = ("client", "table.csv", "record")
"""A cluster, a table of one's own, any record."""


STARTS = """
import supplycalc as sc
files = ["scenarios/ridge-cottage.toml"]
house = sc.load(files[0])
"""
"""What a call within the text takes as known."""


def executed(text: str, folder: Path) -> dict[str, Any]:
    """A script's names after it ran."""
    (script := folder / "example.py").write_text(text, encoding="utf-8")
    return runpy.run_path(str(script))


def test_blocks_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """From the root of the project, as they stand; what they print is there."""
    monkeypatch.chdir(ROOT)
    for block in BLOCKS:
        executed(block, tmp_path)

    printed = capsys.readouterr().out
    assert printed.startswith("upstairs bath")
    assert "In daily use" in printed


@pytest.mark.parametrize("call", [call for call in CALLS if not any(n in call for n in NEEDS_MORE)])
def test_calls_within_the_text_run(
    call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each gives something."""
    monkeypatch.chdir(ROOT)

    assert executed(f"{STARTS}result = {call}", tmp_path)["result"] is not None


def test_names_within_the_text_exist() -> None:
    """No function is told of that is not there."""
    names = {name for text in TEXTS for name in re.findall(r"\bsc\.([a-z_]+)", text)}

    assert len(names) > 10
    assert {name for name in names if not hasattr(sc, name)} == set()


def test_docstrings_of_the_api(monkeypatch: pytest.MonkeyPatch) -> None:
    """Their examples give what they say."""
    monkeypatch.chdir(ROOT)
    told = doctest.testmod(api)

    assert told.attempted >= 5
    assert told.failed == 0


@pytest.mark.parametrize("command", sorted(all_questions()))
def test_examples_of_help_are_calls_that_are_understood(command: str) -> None:
    """Every option is one of the command's; a line may end in a remark."""
    lines = re.findall(rf"^  +supplycalc ({command}\b.*)$", run(command, "--help").stdout, re.M)

    assert lines
    for line in lines:
        call = re.split(r"   +|\s[|>]", line.strip())[0]
        result = run(*shlex.split(call), "--help")
        assert result.exit_code == 0, call


RIDGE = sc.load(SCENARIOS / "ridge-cottage.toml")
RESULTS: dict[str, Callable[[], Any]] = {
    "check": lambda: sc.check(RIDGE),
    "size": lambda: sc.size(RIDGE),
    "compare": lambda: sc.compare(RIDGE, run="service"),
    "flow": lambda: sc.flow(RIDGE, ["upstairs bath"]),
    "hot": lambda: sc.hot(RIDGE),
    "parts": lambda: sc.parts(RIDGE),
    "slab": lambda: sc.slab(RIDGE),
    "surge": lambda: sc.surge(RIDGE),
    "commission": lambda: sc.commission(RIDGE),
    "well": lambda: sc.well(RIDGE),
    "day": lambda: sc.day(RIDGE, days=1, seed=1),
    "demand": lambda: sc.compare_demand(RIDGE),
}


@pytest.mark.parametrize("name", RESULTS)
def test_a_notebook_shows_tables(name: str) -> None:
    """With a row for each record and its units."""
    page = RESULTS[name]()._repr_html_()

    assert page.count("<table>") >= 2, name
    assert page.count("<tr>") > 5
    assert "psi" in page or "gpm" in page
    assert "<td>True</td>" not in page.partition("</table>")[0]


def test_a_notebook_tells_the_verdict_first() -> None:
    """Before the figures that it rests on."""
    assert sc.size(RIDGE)._repr_html_().startswith("<table><tr><th>verdict</th><td>Works with")


def test_pictures_and_pages_come_from_the_api() -> None:
    """The same that `draw` and `report` write."""
    picture, page = sc.draw(RIDGE), sc.report(RIDGE)

    assert isinstance(picture, str)
    assert "<svg xmlns" in picture
    assert "upstairs bath" in picture
    assert page.lstrip().lower().startswith("<!doctype html>")
    assert "upstairs bath" in page
