"""What screens say of sources: standard and table in one line; `sources` has the whole story."""

from __future__ import annotations

import re

import pytest
from typer.testing import CliRunner

from supplycalc.cli import app
from supplycalc.records.sentences import FROM_MEMORY, NO_SOURCE
from supplycalc.tables import OWN, load_table
from tests.commands.files import SCENARIOS

CITES = {source["cite"] for source in load_table("sources").values()}
ONE_LINE = {*CITES, *(f"{cite} ({FROM_MEMORY})" for cite in CITES), OWN.text, NO_SOURCE}
DETOURS = {
    text for source in load_table("sources").values() if (text := source["text"]) not in CITES
}
PAGES = (
    *("check", "size", "demand", "hot", "parts", "slab", "well", "flow", "day"),
    *("surge", "commission"),
)
OPTIONS = {"day": ("--days", "1", "--seed", "1")}


@pytest.mark.parametrize("scenario", sorted(path.stem for path in SCENARIOS.glob("*.toml")))
def test_a_page_tells_each_source_in_one_line(scenario: str) -> None:
    """Every source of every whole page stands on its line, 80 letters at most."""
    file = str(SCENARIOS / f"{scenario}.toml")
    told = 0
    for command in PAGES:
        call = [command, file, "--full", *OPTIONS.get(command, ())]
        page = CliRunner().invoke(app, call).output
        lines = [line.strip() for line in page.splitlines()]
        sources = [line for line in lines if line.startswith("Source: ")]
        told += len(sources)
        assert {line.removeprefix("Source: ") for line in sources} <= ONE_LINE, command
        assert all(len(line) <= 80 for line in page.splitlines() if "Source: " in line), command
        together = " ".join(page.split())
        assert [text for text in DETOURS if text in together] == [], command
    assert told > 0


def test_what_a_page_cites_can_be_asked_for() -> None:
    """The words after "Source:" lead to the tables that rest on it, and to the whole story."""
    result = CliRunner().invoke(app, ["sources", "irc p2903.8.2"])

    assert result.exit_code == 0
    assert "manifold-exception-length" in result.output
    assert "California Residential Code" in " ".join(result.output.split())


def test_a_tables_page_tells_the_whole_story() -> None:
    """`sources` says where the text was read, and how the screens cite it."""
    page = CliRunner().invoke(app, ["sources", "irc.fixture_units"]).output
    together = " ".join(page.split())

    assert "Modern Plumbing" in together
    assert re.search(r"Cited as: IRC Table P2903\.6\b", together)
