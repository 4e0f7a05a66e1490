"""Price lists: what is read, and every mistake told with its line and the nearest word."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from supplycalc.problems import InputError
from supplycalc.reading.prices import load_prices, loads_prices, same_size
from tests.commands.files import SCENARIOS

COUNTER = SCENARIOS / "prices" / "counter.toml"
HEAD = '[list]\ndate = "2026-03-01"\ncurrency = "USD"\n'  # invented
PIPE = '[[pipe]]\nmaterial = "pex-sdr9"\nsize = "3/4"\nlength = "100 ft"\nprice = 74\n'


def told(text: str) -> list[str]:
    """Every problem of a text as it is printed."""
    with pytest.raises(InputError) as caught:
        loads_prices(text, "p.toml")
    return [str(problem) for problem in caught.value.problems]


def test_a_right_list() -> None:
    """Numbers in SI, sizes as the catalogue writes them."""
    prices = loads_prices(
        HEAD
        + PIPE.replace('"3/4"', "'3/4\"'")
        + '[[part]]\nkind = "tee"\nsize = "1 x 3/4 x 1/2"\njoined = "crimp"\nprice = 4.5\n'
        + '[[part]]\nkind = "clamp"\npack = 10\nprice = 16\n'
    )

    assert prices.date == datetime.date(2026, 3, 1)
    assert prices.currency == "USD"
    assert (prices.pipes[0].size, prices.pipes[0].price) == ("3/4", 74.0)
    assert prices.pipes[0].length == pytest.approx(30.48)
    assert prices.part("tee", "1 x 3/4 x 1/2", "crimp") == prices.parts[0]
    assert prices.part("tee", "1 x 3/4 x 1/2", "insert") is None
    assert prices.part("tee", "1 x 1/2 x 1/2", "crimp") is None
    assert prices.part("clamp", "3/4", "insert") == prices.parts[1]


def test_the_shipped_list_is_right_and_marked() -> None:
    """The scenario's list reads, and says that it is invented."""
    prices = load_prices(COUNTER)

    assert "invented" in COUNTER.read_text(encoding="utf-8").splitlines()[0]
    assert prices.pipe("pex-sdr9", "1/2")
    assert prices.part("manifold", "1", None, 8) is not None
    assert prices.part("manifold", "1", None, 9) is None


def test_the_closer_entry_wins() -> None:
    """A price for the size beats one for any size, whatever stands first."""
    prices = loads_prices(
        HEAD
        + '[[part]]\nkind = "stop"\nprice = 9\n'
        + '[[part]]\nkind = "stop"\nsize = "3/8"\nprice = 8\n'
    )
    exact, general = prices.part("stop", "3/8"), prices.part("stop", "1/2")

    assert exact is not None
    assert general is not None
    assert (exact.price, general.price) == (8.0, 9.0)


def test_reducers_in_either_order() -> None:
    """Large x small or small x large is one fitting; a tee's ways are not."""
    assert same_size("reducer", "1 x 3/4") == same_size("reducer", "3/4 x 1")
    assert same_size("tee", "1 x 1 x 3/4") != same_size("tee", "3/4 x 1 x 1")


CASES = [
    (HEAD + PIPE.replace("pex-sdr9", "pex-sdr-9"), "p.toml:5", "did you mean 'pex-sdr9'?"),
    (HEAD + PIPE.replace("[[pipe]]", "[[pip]]"), "p.toml:4", "did you mean 'pipe'?"),
    (HEAD + PIPE.replace("price", "prise"), "p.toml:8", "did you mean 'price'?"),
    (HEAD + PIPE.replace('"100 ft"', "100"), "p.toml:7", "has no unit"),
    (HEAD + PIPE.replace('"3/4"', '"7/8"'), "p.toml:6", "is not a size of pex-sdr9"),
    (HEAD + PIPE.replace("74", "-1"), "p.toml:8", "is not between 0 and"),
    (HEAD + PIPE.replace("74", '"74 USD"'), "p.toml:8", "must be a plain number"),
    (HEAD + PIPE + PIPE, "p.toml:9", "a price already, in line 4"),
    (HEAD.replace("2026-03-01", "1.3.2026") + PIPE, "p.toml:2", "is not a day"),
    (HEAD.replace('"2026-03-01"', "2026-03-01") + PIPE, "p.toml:2", "must be text in quotes"),
    (HEAD.replace('currency = "USD"\n', "") + PIPE, "p.toml:1", "currency is missing"),
    (PIPE, "p.toml", "[list] is missing"),
    (HEAD, "p.toml", "has no prices"),
    (HEAD + '[[part]]\nkind = "ellbow-90"\nprice = 1\n', "p.toml:5", "did you mean 'elbow-90'?"),
    (HEAD + '[[part]]\nkind = "tee"\nsize = "1x1x1"\nprice = 1\n', "p.toml:6", "is not made of"),
    ("# nothing\n", "p.toml", "it needs a [list]"),
    ("[list\n", "p.toml:1", "not TOML"),
]


@pytest.mark.parametrize(("text", "place", "message"), CASES)
def test_mistakes(text: str, place: str, message: str) -> None:
    """Told with file, line and what would be right."""
    problems = told(text)

    assert any(problem.startswith(f"{place}:") and message in problem for problem in problems), (
        problems
    )


def test_every_mistake_at_once() -> None:
    """Three mistakes, three problems, in the order of the file."""
    text = HEAD.replace("2026", "20-26") + PIPE.replace("pex", "pecks").replace("74", "true")

    assert len(told(text)) == 3


def test_no_such_file(tmp_path: Path) -> None:
    """The nearest file is named."""
    (tmp_path / "prices.toml").write_text(HEAD + PIPE, encoding="utf-8")
    with pytest.raises(InputError, match=r"did you mean 'prices.toml'"):
        load_prices(tmp_path / "price.toml")
