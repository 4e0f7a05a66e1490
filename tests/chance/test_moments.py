"""What runs together: the listed sets against enumeration and convolution, draws against both."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from supplycalc.chance.moments import WORTH_DRAWING, likely_moments
from supplycalc.demand.distribution import STEP, probability_masses

ALL_DAY = np.ones(1)


def test_two_fixtures_are_three_sets() -> None:
    """One, the other, both: p(1-q), q(1-p), pq on each occasion, weighted by its time."""
    chances = np.array([[0.1, 0.02], [0.3, 0.05]])
    weight = np.array([0.25, 0.75])
    moments = likely_moments(chances, weight, weight, np.array([0, 1]))

    both = moments.running.all(axis=0)
    first = moments.running[0] & ~both
    p, q = chances
    assert moments.running.shape == (2, 3)
    assert moments.chance[both] == pytest.approx([weight @ (p * q)], rel=1e-12)
    assert moments.chance[first] == pytest.approx([weight @ (p * (1.0 - q))], rel=1e-12)
    assert moments.total == pytest.approx([weight @ p, weight @ q], rel=1e-12)
    assert moments.left_out == pytest.approx([0.0, 0.0], abs=1e-12)


def test_a_fixture_serves_one_use_at_a_time() -> None:
    """A tub that is a shower or a bath: never both; idle with 1 - p - q."""
    chances = np.array([[0.2], [0.1], [0.3]])
    moments = likely_moments(chances, ALL_DAY, ALL_DAY, np.array([0, 0, 1]))
    columns = map(tuple, moments.running.T.tolist())
    chance = dict(zip(columns, moments.chance.tolist(), strict=True))

    assert not (moments.running[0] & moments.running[1]).any()
    assert chance[True, False, False] == pytest.approx(0.2 * 0.7)
    assert chance[False, True, True] == pytest.approx(0.1 * 0.3)
    assert chance[False, False, True] == pytest.approx(0.7 * 0.3)
    assert moments.chance.sum() == pytest.approx(1.0 - 0.7 * 0.7)


def test_the_flow_of_all_sets_is_the_exact_distribution() -> None:
    """The sum over sets is the convolution that demand method `exact` makes, flow by flow.

    Eight fixtures, each on a grid of its own flow; what the list leaves out is below 1e-6 of all.
    """
    chance = np.array([0.055, 0.045, 0.01, 0.01, 0.02, 0.02, 0.02, 0.005])
    steps = np.array([110, 40, 60, 60, 30, 30, 44, 26])
    moments = likely_moments(chance[:, None], ALL_DAY, ALL_DAY, np.arange(8))
    exact = probability_masses(np.ones(8, dtype=np.int64), chance, steps * STEP)

    flows = steps @ moments.running
    masses = np.bincount(flows, weights=moments.chance, minlength=exact.size)

    assert not moments.drawn.any()
    assert masses[1:] == pytest.approx(exact[1:], abs=1e-6)
    assert moments.chance.sum() == pytest.approx(1.0 - exact[0], abs=1e-6)


def test_every_set_of_a_small_house_is_listed() -> None:
    """Five busy fixtures: 31 sets, the product of their chances each."""
    chance = np.array([0.3, 0.2, 0.4, 0.1, 0.25])
    moments = likely_moments(chance[:, None], ALL_DAY, ALL_DAY, np.arange(5))

    assert moments.running.shape == (5, 31)
    for column, told in zip(moments.running.T, moments.chance, strict=True):
        assert told == pytest.approx(np.where(column, chance, 1.0 - chance).prod(), rel=1e-12)
    assert len(set(map(bytes, moments.running.T.astype(np.uint8)))) == 31


def test_draws_stand_for_what_is_not_listed() -> None:
    """Forty fixtures at 6 %: far too many sets; sums over listed and drawn ones are true.

    The chance that a fixture runs, the mean flow and the chance that more than six run are known
    from the binomial distribution; draws come within four of their standard errors (at most 4 %).
    """
    chance = np.full((40, 1), 0.06)
    moments = likely_moments(chance, ALL_DAY, ALL_DAY, np.arange(40))
    count = moments.running.sum(axis=0)
    binomial = probability_masses(np.array([40]), np.array([0.06]), np.array([STEP]))

    assert moments.drawn.any()
    assert WORTH_DRAWING < np.sqrt(np.mean(moments.left_out**2)) < 0.1
    assert moments.chance.sum() == pytest.approx(1.0 - binomial[0], rel=0.04)
    assert (moments.chance @ count) == pytest.approx(40 * 0.06, rel=0.04)
    assert moments.chance[count > 6].sum() == pytest.approx(binomial[7:].sum(), rel=0.15)


def test_a_busier_day_counts_by_its_weight() -> None:
    """`alike` weighs the same sets by other occasions."""
    chances = np.array([[0.1, 0.2], [0.05, 0.1]])
    moments = likely_moments(chances, np.array([0.0, 1.0]), np.array([1.0, 0.0]), np.arange(2))

    for column, busy, alike in zip(moments.running.T, moments.chance, moments.alike, strict=True):
        for p, told in ((chances[:, 1], busy), (chances[:, 0], alike)):
            assert told == pytest.approx(np.where(column, p, 1.0 - p).prod(), rel=1e-12)


def test_sets_do_not_depend_on_the_order_of_fixtures() -> None:
    """Another order lists the same sets with the same chances."""
    chance = np.array([0.05, 0.01, 0.02, 0.045, 0.06, 0.015])
    orders = [(0, 1, 2, 3, 4, 5), (5, 3, 0, 1, 4, 2)]
    told = []
    for order in orders:
        moments = likely_moments(chance[list(order), None], ALL_DAY, ALL_DAY, np.arange(6))
        sets = [frozenset(order[i] for i in np.flatnonzero(column)) for column in moments.running.T]
        told.append(dict(zip(sets, moments.chance.tolist(), strict=True)))

    assert told[0].keys() == told[1].keys()
    assert list(itertools.chain(told[0].values())) == pytest.approx(
        [told[1][key] for key in told[0]], rel=1e-12
    )
