"""`words`: what screens and files say is explained."""

from __future__ import annotations

import json

import pytest

from supplycalc.catalogue import load_catalogue
from supplycalc.questions.words.glossary import trade_words, words_like
from tests.commands.files import run

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
