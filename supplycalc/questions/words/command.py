"""`supplycalc words`: the words of the trade."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from supplycalc.output.call import Force, Json, Output, UnitsPublished
from supplycalc.output.destination import Destination

SCHEMA = "supplycalc-words/1"


def command(
    word: Annotated[
        str | None, typer.Argument(metavar="WORD", help="A word, or a part of one; all without.")
    ] = None,
    as_json: Json = False,
    units: UnitsPublished = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Explain the words of the trade, American and European.

    Examples:
      supplycalc words
      supplycalc words precharge
      supplycalc words "garden tap"
      supplycalc words -o words.txt

    Half a line each: what screens and files say, and what the trade across the
    sea calls it.
    """
    del units
    destination = Destination(as_json=as_json, path=output, force=force)
    destination.check()

    from supplycalc.questions.words.glossary import trade_words, words_like
    from supplycalc.questions.words.page import words_page, words_table

    shown = trade_words() if word is None else words_like(word)

    def data() -> dict[str, Any]:
        import msgspec

        return {"schema": SCHEMA, "ok": True, "words": msgspec.to_builtins(shown)}

    destination.send(
        page=lambda: words_page(shown, all_of_them=word is None),
        data=data,
        system="us",
        table=lambda: words_table(shown),
    )
    return 0
