"""Text output: fits the width, says its units once, lets no text of a file steer the terminal."""

from __future__ import annotations

import pytest

from supplycalc.output.blocks import FindingBlock, Paragraph
from supplycalc.output.terminal import draw, to_text
from supplycalc.output.text import clean, encodable
from supplycalc.records.sentences import Finding
from supplycalc.records.table import Column, Table

TABLE = Table(
    title="Runs",
    columns=(
        Column(name="run", wrap=True),
        Column(name="size"),
        Column(name="loss", dimension="pressure"),
        Column(name="decided by", wrap=True),
    ),
    rows=(
        ("service from the well house to the entry", "1-1/4", 6894.757293168361, "velocity"),
        ("a", "1/2", None, "the pipe below it"),
    ),
)


def test_a_unit_stands_once_under_the_columns_name() -> None:
    """Numbers carry no unit of their own; the heading says it."""
    text = "\n".join(draw(TABLE, "us", 80))

    assert text.count("psi") == 1
    assert "1.0" in text


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_of_a_table_is_wider_than_the_terminal(width: int) -> None:
    """Text columns give way; numbers and sizes never break."""
    lines = draw(TABLE, "us", width)

    assert max(map(len, lines)) <= width
    assert any("1-1/4" in line for line in lines)


def test_every_word_of_a_wrapped_cell_is_still_there() -> None:
    """Breaking a long name loses nothing."""
    text = " ".join(draw(TABLE, "us", 46))

    for word in ("service", "from", "well", "house", "entry", "decided", "by", "below"):
        assert word in text


def test_a_word_is_broken_only_where_nothing_else_gives_way() -> None:
    """A phrase gives way first, then the table; a word only where it is wider than the page."""
    table = Table(
        title="Runs",
        columns=(Column(name="run", wrap=True), Column(name="why", wrap=True)),
        rows=(("clotheswashingmachine hot", "so that the water is not too slow"),),
    )
    roomy, tight, tiny = ("\n".join(draw(table, "us", width)) for width in (32, 24, 18))

    assert "clotheswashingmachine" in roomy
    assert "clotheswashingmachine" in tight
    assert max(len(line) for line in tight.splitlines()) <= 24
    assert "clotheswashingmachine" not in tiny
    assert max(len(line) for line in tiny.splitlines()) <= 18


def test_many_columns_squeeze_a_phrase_further_than_usual() -> None:
    """Eight wide numbers beside a verdict: the verdict gives way, as far as it must."""
    table = Table(
        title="Choices",
        columns=(
            *(Column(name=f"number{i}", digits=1) for i in range(7)),
            Column(name="verdict", wrap=True),
        ),
        rows=((*[12345.6] * 7, "FAILS, short by 48.8 psi"),),
    )

    assert max(map(len, draw(table, "us", 77))) <= 77


def test_control_characters_become_visible() -> None:
    """Escapes, bells, carriage returns and direction marks can't reach the terminal."""
    assert clean("a\x1b[31mb\x07\u202ec\x9bd") == "a\\x1b[31mb\\x07\\u202ec\\x9bd"
    assert clean("two\nlines\tand\u00a0more") == "two lines and more"
    assert clean("Größe 3/4") == "Größe 3/4"


def test_a_table_cleans_names_and_headings() -> None:
    """What comes from a file is cleaned in cells, titles and paragraphs alike."""
    table = Table(title="t\x1b", columns=(Column(name="n\x1b"),), rows=(("x\x1b]0;title\x07",),))
    page = (table, Paragraph(text="p\x1b[2J", label="l\x1b"))

    assert "\x1b" not in to_text(page, "us")


def test_colour_only_marks_what_words_say() -> None:
    """With colour the same text, painted; without it not one escape."""
    page = [Paragraph(text="too fast", label="WARN", mood="care", indent=2, hang=5)]
    plain, painted = to_text(page, "us"), to_text(page, "us", colour=True)

    assert plain == "  WARN too fast\n"
    assert painted == "\x1b[33m  WARN\x1b[0m too fast\n"


def test_an_old_terminal_gets_plain_characters() -> None:
    """What ASCII does not have is put into plain characters, never a crash."""
    assert encodable("5 ± 1 × ½ °F", "ascii") == "5 +- 1 x 1/2 deg F"
    assert encodable("水", "ascii") == "?"
    assert encodable("水", "utf-8") == "水"


def test_a_paragraph_hangs_under_its_first_line() -> None:
    """Lines after the first are indented further, none beyond the width."""
    page = [Paragraph(text="word " * 30, label="FAIL", indent=2, hang=5)]
    lines = to_text(page, "us", width=60).splitlines()

    assert len(lines) > 2
    assert all(len(line) <= 60 for line in lines)
    assert all(line.startswith("       word") for line in lines[1:])


def test_a_brief_finding_ends_where_it_still_says_something() -> None:
    """A note says place and act, a warning what there is and, with room, what to do."""
    tap = Finding(
        level="note",
        code="x",
        where="garden tap, yard tap, barn tap and 4 more",
        message="a hose left in dirty water can be sucked back into the house",
        remedy="fit a vacuum breaker; " + "where it freezes one that drains itself, " * 3,
    )
    pump = Finding(
        level="warn",
        code="y",
        where="pump",
        message="gives up to 8.5 gpm; " + "a long draw can run it dry after some minutes, " * 4,
        remedy="fit dry-run protection",
    )

    assert to_text([FindingBlock(finding=tap, brief=1)], "us") == (
        "  NOTE garden tap and 6 more: fit a vacuum breaker\n"
    )
    text = to_text([FindingBlock(finding=pump, brief=2)], "us")
    assert text.count("\n") <= 2
    assert text.endswith("…\n")
    text = to_text([FindingBlock(finding=pump, brief=3)], "us")
    assert text.endswith("       to do: fit dry-run protection\n")
