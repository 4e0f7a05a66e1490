"""Some forty small houses, each with the verdict of a practitioner."""

from __future__ import annotations

import re

import pytest

from tests.verdicts import lines, mended, other_books, wells
from tests.verdicts.judged import House, answered, ask, check, parameters

HOUSES = (
    *wells.ORDINARY,
    *wells.WEAK_WELLS,
    *wells.SETTINGS,
    *lines.LONG_LINES,
    *lines.HEIGHTS,
    *lines.MAINS,
    *lines.HOT_WATER,
    *lines.TREATMENT,
    *lines.OLD_STEEL,
    *mended.MENDED,
    *other_books.GERMAN,
    *other_books.UNIFORM,
)


@pytest.mark.parametrize("house", parameters(HOUSES))
def test_the_verdict_is_the_practitioner_s(house: House) -> None:
    """Works or fails, the worst fixture, what must be told and what not, no size is absurd."""
    check(house)


def test_the_houses_have_names_of_their_own() -> None:
    """Some forty, no two called alike, each with its reason in words."""
    names = [house.name for house in HOUSES]

    assert len(names) >= 40
    assert len(set(names)) == len(names)
    assert all(len(house.why) > 60 for house in HOUSES)


def test_flow_tells_what_lasts() -> None:
    """A bath and a garden tap draw 13 gpm at cut-in: what a pump of 4 gpm and a well of 0.5 give
    then, and after how long, is told first (a tank only delays the fall, ground-water leaflet)."""
    draws = ("flow", "--open", "bath", "--open", "garden tap")
    texts = {house.name: house.text for house in HOUSES}
    pump, slow, slower = (
        answered(texts[name], *draws)["findings"]
        for name in ("a pump for a tap", "three gallons a minute", "half a gallon a minute")
    )

    assert [item["code"] for item in pump] == ["pump-short"]
    assert "well-short" in [item["code"] for item in slow]
    assert slow != slower
    assert re.search(r"pump alone", ask(texts["a pump for a tap"], *draws).headline)
