"""Whatever the house: a layout's numbers are those of `size` on its file; no place is better."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import supplycalc as sc
from supplycalc.questions.layout.kept_house import kept_of
from supplycalc.questions.layout.places import survey
from supplycalc.questions.layout.study import layout, rank
from tests.questions.layout_houses import random_house


@settings(max_examples=8, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    count=st.integers(2, 6),
    storeys=st.integers(1, 2),
    zone=st.booleans(),
)
def test_reported_is_what_the_file_gives(seed: int, count: int, storeys: int, zone: bool) -> None:
    """Every layout written, read and sized again; a candidate drawn by lot sized whole."""
    house = random_house(seed, count, storeys=storeys, zone=zone)
    study = layout(house)
    places = study.places.places
    site = survey(kept_of(house))
    drawn = seed % len(places)
    alone = sc.size(site.house(drawn))

    assert places[drawn].cost == pytest.approx(alone.cost, rel=1e-12)
    assert places[drawn].worst_margin == pytest.approx(alone.worst.margin, abs=1e-6)
    assert all(rank(places[study.places.best]) <= rank(place) for place in places)
    for option in study.options:
        again = sc.size(sc.loads(sc.write(option.house)))
        assert again.cost == pytest.approx(option.design.cost, rel=1e-12)
        assert again.worst.margin == pytest.approx(option.design.worst.margin, abs=1e-6)
        assert again.worst.name == option.design.worst.name
        assert again.ok == option.design.ok
