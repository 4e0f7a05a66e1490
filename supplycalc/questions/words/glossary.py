"""The words of the trade that pages use, each in half a line."""

from __future__ import annotations

from msgspec import Struct

from supplycalc.problems import InputError, Place, Problem
from supplycalc.tables import load_table


class TradeWord(Struct, frozen=True, kw_only=True):
    """One word."""

    group: str
    us: str
    europe: str
    meaning: str


def trade_words() -> tuple[TradeWord, ...]:
    """Every word, by groups."""
    table = load_table("words")["trade-words"]
    rows = (dict(zip(table["columns"], row, strict=True)) for row in table["rows"])
    return tuple(TradeWord(**row) for row in rows)


def words_like(text: str) -> tuple[TradeWord, ...]:
    """The words of a name or that hold a text.

    Raises:
        InputError: there is none; with the nearest.
    """
    plain = text.strip().lower().replace("-", " ")
    words = trade_words()

    def names(word: TradeWord) -> tuple[str, ...]:
        return tuple(name.lower().replace("-", " ") for name in (word.us, word.europe))

    exact = tuple(word for word in words if plain in names(word))
    partly = tuple(word for word in words if any(plain in name for name in names(word)))
    if plain and (exact or partly):
        return exact or partly
    known = tuple(dict.fromkeys(name for word in words for name in (word.us, word.europe)))
    message = f"{text!r} is not among the words; without one, all are listed"
    raise InputError([Problem(place=Place("words"), message=message, value=text, valid=known)])
