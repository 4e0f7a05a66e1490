"""The computed distribution of simultaneous flow against closed forms and sampling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from supplycalc.demand.distribution import (
    STEP,
    mean_flow,
    percentile_flows,
    probability_masses,
    variance,
    zero_chance,
)
from tests.houses import GPM


def percentile_gpm(
    counts: list[int], probability: list[float], gpm: list[float], level: float
) -> float:
    """Percentile of one set [gpm]."""
    flows = percentile_flows(np.array([counts]), np.array(probability), np.array(gpm) * GPM, level)
    return float(flows[0]) / GPM


def by_characteristic_function(
    counts: list[int], probability: list[float], steps: list[int]
) -> np.ndarray:
    """The same distribution by the product of the fixtures' characteristic functions."""
    size = 1 + sum(n * k for n, k in zip(counts, steps, strict=True))
    wave = np.exp(-2j * np.pi * np.arange(size) / size)
    product = np.ones(size, dtype=np.complex128)
    for n, p, k in zip(counts, probability, steps, strict=True):
        product *= (1.0 - p + p * wave**k) ** n
    return np.fft.ifft(product).real


@pytest.mark.parametrize(
    ("number", "probability"), [(1, 0.2), (5, 0.067), (20, 0.055), (100, 0.03), (100, 0.2)]
)
def test_alike_fixtures_are_binomial(number: int, probability: float) -> None:
    """n alike fixtures of 80 steps each: mass only at multiples of 80, binomial, to rounding."""
    masses = probability_masses(np.array([number]), np.array([probability]), np.array([4.0 * GPM]))

    running = np.arange(number + 1)
    inside = running * 80 < masses.size
    expected = np.zeros(masses.size)
    expected[running[inside] * 80] = binom.pmf(running[inside], number, probability)
    assert np.max(np.abs(masses - expected)) < 1e-14


def test_unlike_fixtures_equal_the_product_of_characteristic_functions() -> None:
    """Five classes against one inverse Fourier transform, to rounding."""
    counts, probability, steps = (
        [3, 2, 5, 1, 4],
        [0.055, 0.045, 0.02, 0.3, 0.01],
        [80, 50, 16, 35, 60],
    )

    masses = probability_masses(np.array(counts), np.array(probability), np.array(steps) * STEP)

    expected = by_characteristic_function(counts, probability, steps)
    common = min(masses.size, expected.size)
    assert np.max(np.abs(masses[:common] - expected[:common])) < 1e-14
    assert expected[common:].sum() < 1e-13


def test_what_lies_beyond_the_grid_is_negligible() -> None:
    """In a large building the grid is far shorter than all fixtures together; it sums to 1."""
    counts = np.array([2000, 3000, 5000])
    probability, flow = np.array([0.055, 0.02, 0.01]), np.array([4.0, 0.8, 3.0]) * GPM

    masses = probability_masses(counts, probability, flow)

    grid = np.arange(masses.size) * STEP
    assert masses.size * STEP < 0.1 * (counts * flow).sum()
    assert masses.sum() == pytest.approx(1.0, abs=1e-12)
    assert (masses * grid).sum() == pytest.approx(
        float(mean_flow(counts[None, :], probability, flow)[0]), rel=1e-9
    )
    spread = (masses * grid**2).sum() - (masses * grid).sum() ** 2
    assert spread == pytest.approx(float(variance(counts[None, :], probability, flow)[0]), rel=1e-8)


def test_flows_between_grid_points_keep_their_mean() -> None:
    """A flow of 31.7 steps is shared to 31 and 32 so that the mean is exact."""
    flow = np.array([31.7 * STEP])

    masses = probability_masses(np.array([1]), np.array([0.5]), flow)

    assert masses[31] == pytest.approx(0.5 * 0.3, abs=1e-12)
    assert masses[32] == pytest.approx(0.5 * 0.7, abs=1e-12)
    assert masses[0] == pytest.approx(0.5, abs=1e-12)


def test_a_tie_counts_as_reached() -> None:
    """One fixture at 1 %: P(no flow) is 0.99 exactly, so its 99th percentile is zero; at 1.01 %
    it is the whole flow."""
    assert percentile_gpm([1], [0.01], [3.0], 0.99) == 0.0
    assert percentile_gpm([1], [0.0101], [3.0], 0.99) == pytest.approx(3.0)


def test_rows_of_any_length_agree_with_each_alone() -> None:
    """Sets computed together give what each gives by itself."""
    rng = np.random.default_rng(7)
    counts = rng.integers(0, 3, (40, 6)) * rng.integers(1, 40, (40, 1))
    probability, gpm = rng.uniform(0.005, 0.06, 6), rng.uniform(0.5, 6.0, 6)

    together = percentile_flows(counts, probability, gpm * GPM, 0.99)

    alone = [
        percentile_gpm(list(row), list(probability), list(gpm), 0.99) for row in counts.tolist()
    ]
    assert together / GPM == pytest.approx(alone, abs=1e-9)


def test_monte_carlo_agrees_within_its_own_error() -> None:
    """100,000 draws of 30 fixtures: the share of draws at or below the computed percentile is the
    level within four standard errors of a share, and mean and zero chance likewise."""
    rng = np.random.default_rng(20260101)
    counts = np.array([6, 4, 8, 6, 3, 3])
    probability = np.array([0.055, 0.045, 0.02, 0.01, 0.02, 0.055])
    gpm = np.array([4.0, 2.5, 0.8, 3.0, 1.75, 4.0])
    draws = 100_000
    total = (rng.binomial(counts, probability, (draws, 6)) * gpm).sum(axis=1)

    for level in (0.9, 0.95, 0.99, 0.999):
        flow = percentile_gpm(list(counts), list(probability), list(gpm), level)
        error = 4.0 * np.sqrt(level * (1 - level) / draws)
        assert (total <= flow + 1e-9).mean() >= level - error
        assert (total < flow - 1e-9).mean() <= level + error
    silent = float(zero_chance(counts[None, :], probability)[0])
    assert (total == 0).mean() == pytest.approx(silent, abs=4.0 * np.sqrt(silent / draws))
    mean = float(mean_flow(counts[None, :], probability, gpm)[0])
    assert total.mean() == pytest.approx(mean, abs=4.0 * total.std() / np.sqrt(draws))


CLASSES = st.lists(
    st.tuples(
        st.integers(0, 6),
        st.floats(0.001, 0.4),
        st.sampled_from([0.4, 0.8, 1.75, 2.0, 2.5, 2.75, 3.0, 4.0, 5.0, 1.234, 3.777]),
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=60, deadline=None)
@given(CLASSES, st.integers(0, 5), st.permutations(range(6)))
def test_percentiles_order_and_growth(
    classes: list[tuple[int, float, float]], which: int, order: list[int]
) -> None:
    """Percentiles rise with the level, never fall with one fixture more, and do not depend on the
    order of the classes."""
    counts = [number for number, _, _ in classes]
    probability = [chance for _, chance, _ in classes]
    gpm = [flow for _, _, flow in classes]
    levels = [0.5, 0.9, 0.95, 0.99, 0.999]

    by_level = [percentile_gpm(counts, probability, gpm, level) for level in levels]
    more = list(counts)
    more[which % len(counts)] += 1
    grown = [percentile_gpm(more, probability, gpm, level) for level in levels]
    shuffled = [i for i in order if i < len(counts)]
    turned = percentile_gpm(
        [counts[i] for i in shuffled],
        [probability[i] for i in shuffled],
        [gpm[i] for i in shuffled],
        0.99,
    )

    assert by_level == sorted(by_level)
    assert all(big >= small - 1e-9 for small, big in zip(by_level, grown, strict=True))
    assert turned == pytest.approx(by_level[3], abs=1e-9)


def test_wrong_input_is_refused() -> None:
    """A probability above 1 and a negative flow raise."""
    with pytest.raises(ValueError, match="probability"):
        percentile_gpm([1], [1.2], [3.0], 0.99)
    with pytest.raises(ValueError, match="flow"):
        percentile_gpm([1], [0.2], [-3.0], 0.99)
