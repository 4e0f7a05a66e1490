"""Mistakes of every kind in one pass, those of one cause once."""

from __future__ import annotations

import json
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from supplycalc.reading.mending import mend
from tests.commands.files import run
from tests.reading.good import GOOD, problems_of, spoilt


def test_curly_quotes_are_named_once_for_the_whole_file() -> None:
    """A word processor's quotes in twenty lines are one mistake."""
    curly = "".join(
        line if line.count('"') != 2 else line.replace('"', "“", 1).replace('"', "”", 1)
        for line in GOOD.splitlines(keepends=True)
    )
    lines = sum("“" in line for line in curly.splitlines())

    (problem,) = problems_of(curly)

    assert lines > 15
    assert problem.startswith("2: curly quotes")
    assert f"here and in {lines - 1} more lines" in problem


def test_curly_quotes_inside_straight_ones_are_text() -> None:
    """A name may be written as it is called."""
    assert problems_of(spoilt('name = "Cabin"', 'name = "The “old” cabin"')) == []


def test_what_is_not_toml_and_what_is_wrong_come_together() -> None:
    """Unquoted values do not hide unknown words, and are told once with their lines."""
    text = spoilt(
        '"180 ft"', "180 ft",
        'length = "48 ft"', "length = 48 ft",
        '"40 psi"', "40 psi",
        '"water-closet"', '"toilet"',
        'from = "entry"', 'from = "entri"',
        '[project]', "[project",
    )  # fmt: skip
    problems = problems_of(text)

    assert [problem.partition(":")[0] for problem in problems] == ["1", "8", "42", "66", "70"]
    assert problems[1].endswith('write cut_in = "40 psi" (so too in line 35)')
    assert "entri" in problems[2]
    assert "a value is not quoted" in problems[3]
    assert "did you mean 'water-closet'" in problems[4]


def test_one_wrong_word_in_many_places_is_one_mistake() -> None:
    """The first is told in full, with the lines of the others."""
    text = GOOD.replace('"cold manifold", length = "', '"manifold", length = "').replace(
        ' ft", fittings', '", fittings'
    )
    problems = problems_of(text)

    starts = [problem for problem in problems if "which is no point" in problem]
    assert len(starts) == 1
    assert "(so too in line 72)" in starts[0]


def test_a_list_that_is_not_closed_is_told_where_it_begins() -> None:
    """The lines after it are not blamed."""
    (problem,) = problems_of(spoilt('sizes = ["3/4", "1"]', 'sizes = ["3/4", "1"'))

    assert problem.startswith("36: not TOML")
    assert problem.endswith('write sizes = ["3/4", "1"]')


def test_lines_of_one_cause_stand_in_the_json_too(tmp_path: Path) -> None:
    """An editor finds every place; unquoted values in three lines are one problem."""
    path = tmp_path / "cabin.toml"
    path.write_text(spoilt('"180 ft"', "180 ft", '"40 psi"', "40 psi", '"60 psi"', "60 psi"))

    told = run("check", path, "--json")

    (problem,) = json.loads(told.stdout)["problems"]
    assert told.exit_code == 2
    assert (problem["line"], problem["also"]) == (8, [9, 35])


@settings(max_examples=200, deadline=None)
@given(
    at=st.integers(0, len(GOOD)),
    middle=st.sampled_from([*"\"[]{}=,.#\\\n'0-x“”", '"""', "[["]),
)
def test_what_is_mended_keeps_its_lines(at: int, middle: str) -> None:
    """Line numbers of the mended text are those of the file."""
    text = GOOD[:at] + middle + GOOD[at:]

    assert mend(text, "x").text.count("\n") == text.count("\n")


def test_fittings_are_looked_at_though_the_material_is_not_known() -> None:
    """A wrong material does not hide a wrong fitting until the next call."""
    text = spoilt('material = "pex-sdr9"', 'material = "pex"', "elbow-90", "elbow")

    assert [problem.partition(":")[0] for problem in problems_of(text)] == ["27", "65"]


def test_of_a_point_fed_twice_it_is_said_what_to_do() -> None:
    """Cold and hot riser to one point: the second needs a name of its own, told in one pass."""
    (problem,) = problems_of(spoilt('to = "treated"', 'to = "entry"'))

    assert "let this one end at a name of its own" in problem
