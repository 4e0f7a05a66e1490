"""`words`: what screens and files say is explained."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from supplycalc.catalogue import load_catalogue
from supplycalc.questions.words.glossary import trade_words, words_like
from tests.commands.files import SCENARIOS, run

SAID = {name.lower() for word in trade_words() for name in (word.us, word.europe)}


def test_every_kind_that_a_file_may_name_is_explained() -> None:
    """Fixtures, devices and ways of joining, by the words that files and pages use."""
    shipped = load_catalogue()
    kinds = {*shipped.fixtures, *shipped.devices, *shipped.joinings}
    plain = {name.replace("-", " ") for name in SAID}
    told_by_another = {"device", "water closet one piece", "check", "none"}

    assert {kind.replace("-", " ") for kind in kinds} - plain - told_by_another == set()


@pytest.mark.parametrize(
    "word",
    [
        *("duty point", "datum", "fixture units", "residual", "specific capacity", "static"),
        *("waterlogged", "hose bibb", "lavatory", "angle stop", "drop-ear elbow", "supply house"),
        *("cut-in", "cut-out", "precharge", "drawdown", "design flow", "developed length"),
        *("home run", "submanifold", "trunk", "manifold", "service", "drop pipe", "NPSH"),
    ],
)
def test_the_words_of_the_screens_are_explained(word: str) -> None:
    """One word is found alone, in half a line."""
    text = run("words", word).stdout

    assert f"  {word}" in text
    assert word.lower() in SAID


def test_all_words_fit_the_page_and_no_word_explains_itself() -> None:
    """Half a line is half a line; each has both terms."""
    for word in trade_words():
        assert len(word.meaning) <= 110, word.us
        assert word.us
        assert word.europe
        assert word.meaning.lower() != word.us.lower()
    names = [word.us for word in trade_words()]
    assert len(names) == len(set(names))
    text = run("words").stdout
    assert all(f"  {name}" in text for name in names)
    assert max(map(len, text.splitlines())) <= 80


def test_a_word_is_found_by_either_trade_or_named_the_nearest() -> None:
    """The European word leads to the American one."""
    assert [word.us for word in words_like("garden tap")] == ["hose bibb"]
    assert [word.us for word in words_like("Hose-bibb")] == ["hose bibb"]
    wrong = run("words", "prechage")
    assert wrong.exit_code == 2
    assert "did you mean 'precharge'?" in wrong.stderr
    data = json.loads(run("words", "precharge", "--json").stdout)
    assert data["words"][0]["europe"] == "pre-pressure"


@pytest.mark.parametrize(
    ("call", "us", "metric"),
    [
        (("check", "valley-house.toml"), "residual (while flowing)", "flow pressure"),
        (("parts", "ridge-cottage.toml"), "for the supply house", "for the merchant"),
        (("day", "ridge-cottage.toml", "--full", "--days", "1"), "no hose bibbs", "no garden taps"),
    ],
)
def test_each_trade_reads_its_own_words(call: tuple[str, ...], us: str, metric: str) -> None:
    """American words with American units, European ones with metric; never both."""
    command, name, *more = call
    pages = {
        units: " ".join(run(command, SCENARIOS / name, *more, "--units", units).stdout.split())
        for units in ("us", "metric")
    }

    assert us in pages["us"]
    assert metric not in pages["us"]
    assert metric in pages["metric"]
    assert us not in pages["metric"]


def test_hard_words_are_explained_where_they_stand() -> None:
    """Half a line, on the first page that uses them."""
    demand = " ".join(run("demand", SCENARIOS / "ridge-cottage.toml").stdout.split())
    check = " ".join(run("check", SCENARIOS / "ridge-cottage.toml").stdout.split())
    size = " ".join(run("size", SCENARIOS / "ridge-cottage.toml", "--full").stdout.split())

    assert "units: points for how much and how often fixtures draw" in demand
    assert "datum, the zero that the file counts from" in check
    assert "fixture units (points for how much" in size


def test_words_and_links_as_read_go_into_a_spreadsheet(tmp_path: Path) -> None:
    """`-o` with a name in .csv, as the help says."""
    path, links = tmp_path / "words.csv", tmp_path / "links.csv"
    assert run("words", "-o", path).exit_code == 0
    rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    assert [row["us"] for row in rows] == [word.us for word in trade_words()]

    assert run("check", SCENARIOS / "ridge-cottage.toml", "-o", links).exit_code == 0
    read = list(csv.DictReader(links.read_text(encoding="utf-8").splitlines()))
    service = next(row for row in read if row["name"] == "service")
    assert service["type"] == "run"
    assert service["length [ft]"] == "85.0"
