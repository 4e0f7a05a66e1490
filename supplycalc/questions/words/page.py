"""What `words` shows: a line for each word."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from supplycalc.output.blocks import Block, Checklist, Heading, Paragraph
from supplycalc.questions.words.glossary import TradeWord
from supplycalc.records import Column, Table, table_of


def words_table(words: Iterable[TradeWord]) -> Table:
    """The words for a spreadsheet."""
    columns = ("group", "us", "europe", "meaning")
    return table_of("Words", TradeWord, words, (Column(name=name, of=name) for name in columns))


def words_page(words: Iterable[TradeWord], *, all_of_them: bool) -> Iterator[Block]:
    """Words by groups, the American and the European one where they differ."""
    group = ""
    for word in words:
        if word.group != group:
            group = word.group
            yield Heading(group.capitalize())
        same = word.us.lower() == word.europe.lower()
        other = "" if same else f" (Europe: {word.europe})"
        yield Checklist(items=(f"{word.us}{other}: {word.meaning}",))
    if all_of_them:
        yield Paragraph(text="One word alone: supplycalc words precharge", apart=True)
