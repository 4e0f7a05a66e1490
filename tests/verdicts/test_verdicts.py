"""Some forty small houses, each with the verdict of a practitioner."""

from __future__ import annotations

import pytest

from tests.verdicts import lines, other_books, wells
from tests.verdicts.judged import House, check, parameters

HOUSES = (
    *wells.ORDINARY,
    *wells.WEAK_WELLS,
    *wells.SETTINGS,
    *lines.LONG_LINES,
    *lines.HEIGHTS,
    *lines.MAINS,
    *lines.TREATMENT,
    *lines.OLD_STEEL,
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
