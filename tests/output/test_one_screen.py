"""First screens give way until they fit, and use the room that is left."""

from __future__ import annotations

from supplycalc.output.blocks import Block, FindingBlock, Paragraph
from supplycalc.output.one_screen import first_that_fits, screen_of
from supplycalc.output.terminal import height_of, is_cut
from supplycalc.records.sentences import Finding

NOTE = Finding(
    level="note",
    code="note",
    where="store",
    message="it heats water that has nowhere to go",
    remedy="take an expansion tank of seven gallons or more and set its air to what the street "
    "gives with nothing running",
)


def lines(number: int) -> list[Block]:
    """A page of so many lines."""
    return [Paragraph(text="a line")] * number


def test_the_first_screen_that_fits_is_shown() -> None:
    """A house of 40 outlets may take more of it; where none fits, the shortest is shown."""
    screens = [lines(50), lines(40), lines(20), lines(10)]

    assert len(list(first_that_fits(screens, "us", fixtures=5))) == 20
    assert len(list(first_that_fits(screens, "us", fixtures=40))) == 40
    assert len(list(first_that_fits(screens[:2], "us", fixtures=5))) == 40


def test_a_sentence_is_cut_only_where_no_other_line_fits() -> None:
    """With a line to spare the finding is told whole; without, its end is seen to be missing."""
    note = FindingBlock(finding=NOTE, brief=1)
    room = screen_of(5)
    assert is_cut(note, "us")

    whole = list(first_that_fits([[*lines(room - 2), note]], "us", fixtures=5))
    assert height_of(whole, "us") == room
    assert not is_cut(whole[-1], "us")

    cut = list(first_that_fits([[*lines(room - 1), note]], "us", fixtures=5))
    assert height_of(cut, "us") == room
    assert is_cut(cut[-1], "us")
