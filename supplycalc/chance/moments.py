"""What runs together at a moment, and with what chance: the likeliest sets, all of them, and draws.

A fixture serves one use at a time; else uses run independently of one another, given the hour and
how busy the household is that day. Every set of uses that is likely enough is listed with its exact
chance. What is left over is drawn, each draw with the weight that makes sums over it true.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from supplycalc.demand.loads import BoolArray, FloatArray, IntArray

MOST_LISTED = 900
"""Sets that are listed at most."""
LEAST_LISTED = 3e-9
"""Chance of a set, at any moment of the day, from which it is listed: 0.1 s a day."""
MOST_GROWN = 5_000
"""Times uses that they are grown by at most in one step; where more are likely, draws serve."""
DRAWN = 1500
"""Draws of what is not listed, where that is worth drawing."""
WORTH_DRAWING = 2e-4
"""Share of a use's time that may be left over."""
_SEED = 20
_TILTS = (1.0, 2.0)
"""Factors on the chances that draws are taken with, so that many at once are met often enough."""
_TILTED_MOST = 0.6


class Moments(Struct, frozen=True, kw_only=True, eq=False):
    """Sets of uses with their chances."""

    running: BoolArray
    """Uses by sets."""
    chance: FloatArray
    """Of each set; of a drawn one its share of what is not listed."""
    alike: FloatArray
    """The same if every day were as busy as the mean one."""
    drawn: BoolArray
    """Whether a set was drawn, not listed."""
    total: FloatArray
    """Chance that each use runs."""

    @property
    def left_out(self) -> FloatArray:
        """Share of each use's time that no set stands for; drawn ones stand for it within error."""
        counted: FloatArray = self.running @ self.chance
        return 1.0 - counted / self.total


NO_MOMENTS = Moments(
    running=np.zeros((0, 0), dtype=bool),
    chance=np.zeros(0),
    alike=np.zeros(0),
    drawn=np.zeros(0, dtype=bool),
    total=np.zeros(0),
)
"""Of a house in which nothing is used."""


def likely_moments(
    chances: FloatArray, weight: FloatArray, alike_weight: FloatArray, fixture: IntArray
) -> Moments:
    """List and draw what runs together.

    Args:
        chances: that each use (rows) runs on each occasion (columns: hours and days).
        weight: share of time of each occasion.
        alike_weight: the same if every day were as busy as the mean one.
        fixture: number of the fixture that each use is of.

    Source: independent events (textbook); draws weighted by the ratio of chances (importance
        sampling, textbook).
    """
    law = _ChanceLaw(chances, fixture)
    running = _listed(law, weight)
    chance = law.of(running) @ weight
    alike = law.of(running) @ alike_weight
    drawn = np.zeros(chance.size, dtype=bool)
    total = chances @ weight
    left = 1.0 - (running @ chance) / total
    if float(left.max()) > WORTH_DRAWING:
        more = _drawn(law, weight, running)
        if more is not None:
            sets, density = more
            running = np.concatenate([running, sets], axis=1)
            chance = np.concatenate([chance, law.of(sets) @ weight / density])
            alike = np.concatenate([alike, law.of(sets) @ alike_weight / density])
            drawn = np.concatenate([drawn, np.ones(density.size, dtype=bool)])
    return Moments(running=running, chance=chance, alike=alike, drawn=drawn, total=total)


class _ChanceLaw:
    """Chance of any set on any occasion: a product over fixtures, as a sum of logarithms."""

    def __init__(self, chances: FloatArray, fixture: IntArray) -> None:
        self.chances, self.fixture = chances, fixture
        idle = 1.0 - _by_fixture(chances, fixture)
        self.odds = chances / np.maximum(idle[fixture], 1e-9)
        with np.errstate(divide="ignore"):
            self._odds = np.maximum(np.log(self.odds), -1e3)
        self._nothing = np.log(np.maximum(idle, 1e-9)).sum(axis=0)

    def of(self, running: BoolArray) -> FloatArray:
        """Sets by occasions."""
        result: FloatArray = np.exp(running.T.astype(np.float64) @ self._odds + self._nothing)
        return result


def _by_fixture(chances: FloatArray, fixture: IntArray) -> FloatArray:
    """Sums over the uses of each fixture."""
    summed = np.zeros((int(fixture.max()) + 1, chances.shape[1]))
    np.add.at(summed, fixture, chances)
    return summed


def _listed(law: _ChanceLaw, weight: FloatArray) -> BoolArray:
    """The likeliest sets, grown one use at a time from those that are likely enough."""
    uses = law.fixture.size
    sets = np.eye(uses, dtype=bool)
    last = np.arange(uses)
    kept: list[BoolArray] = []
    chances: list[FloatArray] = []
    while last.size:
        chance = law.of(sets) @ weight
        enough = chance >= LEAST_LISTED
        sets, last, chance = sets[:, enough], last[enough], chance[enough]
        if chance.size > MOST_LISTED:
            best = np.sort(np.argsort(-chance, kind="stable")[:MOST_LISTED])
            sets, last, chance = sets[:, best], last[best], chance[best]
        kept.append(sets)
        chances.append(chance)
        grown = np.sort(np.argsort(-chance, kind="stable")[: MOST_GROWN // uses])
        sets, last = _one_more(sets[:, grown], last[grown], law.fixture)
    listed, chance = np.concatenate(kept, axis=1), np.concatenate(chances)
    if chance.size > MOST_LISTED:
        best = np.sort(np.argsort(-chance, kind="stable")[:MOST_LISTED])
        listed = listed[:, best]
    return listed


def _one_more(sets: BoolArray, last: IntArray, fixture: IntArray) -> tuple[BoolArray, IntArray]:
    """Every set with one more use, after its last one, of a fixture that it has not in use."""
    same = fixture[:, None] == fixture[None, :]
    busy = same.astype(np.float32) @ sets.astype(np.float32) > 0.0
    free = (np.arange(fixture.size)[:, None] > last[None, :]) & ~busy
    use, grown = np.nonzero(free)
    result = sets[:, grown].copy()
    result[use, np.arange(use.size)] = True
    return result, use


def _drawn(
    law: _ChanceLaw, weight: FloatArray, listed: BoolArray
) -> tuple[BoolArray, FloatArray] | None:
    """Sets that are not listed, and how many draws were to be expected of each.

    Occasions are drawn the more often the more runs in them, and every use with a chance above its
    own, which brings the sets that matter; the sum over occasions of what that makes of a set's
    chance, times the number of draws, is what was to be expected.
    """
    tilted = np.concatenate(
        [np.minimum(law.chances * tilt, _TILTED_MOST) for tilt in _TILTS], axis=1
    )
    over = _by_fixture(tilted, law.fixture)
    tilted = tilted * np.minimum(1.0, 0.9 / np.maximum(over, 1e-12))[law.fixture]
    expected = tilted.sum(axis=0)
    occasion = np.tile(weight, len(_TILTS)) * expected**2
    occasion = occasion / occasion.sum()
    generator = np.random.default_rng(_SEED)
    at = np.sort(generator.choice(occasion.size, size=DRAWN, p=occasion))
    running = np.zeros((law.fixture.size, DRAWN), dtype=bool)
    for number in range(int(law.fixture.max()) + 1):
        own = np.flatnonzero(law.fixture == number)
        reach = np.cumsum(tilted[own][:, at], axis=0)
        place = generator.random(DRAWN)
        taken = (place[None, :] < reach).argmax(axis=0)
        runs = place < reach[-1]
        running[own[taken[runs]], np.flatnonzero(runs)] = True
    key = np.packbits(running, axis=0)
    known = {column.tobytes() for column in np.packbits(listed, axis=0).T}
    fresh = np.array([column.tobytes() not in known for column in key.T]) & running.any(axis=0)
    if not fresh.any():
        return None
    sets = running[:, fresh]
    density = _ChanceLaw(tilted, law.fixture).of(sets) @ occasion * DRAWN
    return sets, density
