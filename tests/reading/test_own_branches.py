"""Fixtures of which only the position is given."""

from __future__ import annotations

import re

from supplycalc.questions.layout.study import layout
from supplycalc.reading import load, loads
from tests.commands.files import SCENARIOS
from tests.reading.good import problems_of

RANCH = SCENARIOS / "ranch-on-slab.toml"
BARE = re.sub(r"^(cold|hot) .*\n", "", RANCH.read_text(encoding="utf-8"), flags=re.MULTILINE)


def test_positions_alone_are_read_as_a_pipe_to_each_fixture() -> None:
    """The same fixtures hang from the same points as where the file says it, with a note."""
    written, bare = load(RANCH), loads(BARE)

    def starts(house: object) -> dict[str, tuple[str | None, str | None]]:
        return {
            fixture.name: tuple(
                None if run is None else run.start for run in (fixture.cold, fixture.hot)
            )
            for fixture in house.fixtures  # type: ignore[attr-defined]
        }

    assert "from = " in RANCH.read_text(encoding="utf-8").split("[[fixture]]")[1]
    assert "from = " not in BARE.split("[[fixture]]", 1)[1]
    assert starts(bare) == starts(written)
    assert any("by position alone" in text for text in bare.assumptions)


def test_positions_alone_are_enough_for_a_layout() -> None:
    """It gives what the file with its pipes gives."""
    assert layout(loads(BARE)).options[0].design.ok == layout(load(RANCH)).options[0].design.ok


def test_without_a_heater_or_a_point_to_start_from_it_is_asked_for() -> None:
    """A position says nothing about where its water comes from."""
    text = BARE.replace("[[device]]", "[[manifold]]").replace('kind = "heater"\n', "")
    text = text.replace('from   = "entry"\n', "")
    problems = problems_of(text)

    assert any("or name the point in [layout]" in problem for problem in problems)
