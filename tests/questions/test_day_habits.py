"""Random days: as many and as long as the habits say, the same ones from the same seed."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise

import pytest
from msgspec.structs import replace

from supplycalc.chance.habits import Habit, habits
from supplycalc.chance.random_days import random_days
from supplycalc.network import build_tree
from supplycalc.units import DAY, HOUR
from tests.houses import cold_fixture
from tests.supply.stations import house


def habit(usual: tuple[Habit, ...], name: str) -> Habit:
    """The habit of one use."""
    return next(habit for habit in usual if habit.name == name)


def test_random_days_repeat_and_go_on() -> None:
    """The same seed gives the same days, whatever their number; another seed gives others."""
    usual = habits(build_tree(house()), 4)
    first, again, other = (list(random_days(usual, 3, seed)) for seed in (5, 5, 6))
    longer = list(random_days(usual, 6, 5))

    assert first == again != other
    assert first == [draw for draw in longer if draw.start < 3 * DAY]
    assert all(a.start <= b.start for a, b in pairwise(longer))


def test_random_days_are_as_many_and_as_long_as_the_habits_say() -> None:
    """Means over 400 days within four standard errors of Poisson's and the lognormal's."""
    days, usual = 400, habits(build_tree(house()), 5)
    draws = list(random_days(usual, days, 3))
    count = Counter(draw.use.fixture.kind for draw in draws)
    flushes, basin = habit(usual, "toilet"), habit(usual, "basin")
    minutes = [
        draw.duration for draw in draws if draw.use.fixture.kind == "lavatory" and draw.duration
    ]

    expected = flushes.per_day * days
    assert count["water-closet"] == pytest.approx(expected, abs=4.0 * math.sqrt(expected))
    mean = math.fsum(minutes) / len(minutes)
    assert mean == pytest.approx(
        basin.duration, abs=4.0 * basin.spread * basin.duration / math.sqrt(len(minutes)) + 0.2
    )


def test_the_busy_hour_has_the_methods_own_probability() -> None:
    """A basin runs 2 % of the busy hour (Peak Water Demand Study), where habits allow that much."""
    tree = build_tree(house())
    basin, crowded = habit(habits(tree, 2), "basin"), habit(habits(tree, 8), "basin")
    peak = max(basin.hourly)

    assert max(crowded.hourly) * crowded.duration / HOUR > 0.02
    assert peak * basin.duration / HOUR == pytest.approx(0.02, rel=1e-9)
    assert math.fsum(basin.hourly) == pytest.approx(basin.per_day, rel=1e-12)


@pytest.mark.parametrize("seed", range(1, 9))
def test_every_machine_washes_on_the_first_day(seed: int) -> None:
    """0.3 loads a person would leave one person's washers out of most days; day one shows them."""
    washers = tuple(cold_fixture(name, "clothes-washer", "entry") for name in ("washer", "second"))
    dishwasher = cold_fixture("dishwasher", "dishwasher", "entry")
    plain = house()
    tree = build_tree(replace(plain, fixtures=(*plain.fixtures, *washers, dishwasher)))
    usual = habits(tree, 1)
    first = list(random_days(usual, 1, seed))

    names = {draw.use.name for draw in first if draw.start < DAY}
    assert names >= {"washer", "second", "dishwasher"}
