"""Days with odd wells, pumps and charges, the same ones each time: they end, and water balances.

The numbers are the awkward ones: levels at the edge of two rules, pumps that just do not reach the
switch, charges above cut-in, draws of one second. hypothesis tries others in tests/properties.
"""

from __future__ import annotations

import random

import pytest

from supplycalc.model import Draw, Well
from supplycalc.units import DAY, FOOT
from tests.houses import GPM
from tests.properties.test_day import NAMES, run
from tests.supply.stations import GALLON


def odd_well(chance: random.Random) -> Well:
    """Without a level of its own, or with any mixture of bore, yield and depth."""
    level = 60.0 * FOOT
    if chance.random() < 0.4:
        return Well(static_level=level)
    capacity = chance.choice((None, 0.05, 0.5, 1.0, 3.0))
    return Well(
        static_level=level,
        pump_depth=chance.choice((70.0, 100.0, 150.0, 200.0)) * FOOT,
        specific_capacity=None if capacity is None else capacity * GPM / FOOT,
        recovery=chance.choice((0.2, 1.0, 3.0, 5.0, 15.0)) * GPM,
        diameter=chance.choice((0.1, 0.15, 0.5, 1.0)),
    )


def odd_draw(chance: random.Random) -> Draw:
    """Any fixture, at midnight or any time, for a second or half an hour, or by volume."""
    by_volume = chance.random() < 0.5
    return Draw(
        fixture=chance.choice(NAMES),
        at=(chance.choice((0.0, chance.uniform(0.0, DAY - 1.0))),),
        duration=None if by_volume else chance.choice((1.0, 9.0, chance.uniform(1.0, 1800.0))),
        volume=chance.uniform(0.1, 60.0) * GALLON if by_volume else None,
        share=chance.choice((0.3, 1.0)),
    )


@pytest.mark.parametrize("seed", range(80))
def test_every_day_ends_and_balances(seed: int) -> None:
    """Pumped less drawn is what the tank gained, to 1e-9 of the larger of draw and tank."""
    chance = random.Random(seed)
    scheme = tuple(odd_draw(chance) for _ in range(chance.randint(1, 10)))
    totals, system, engine = run(
        scheme,
        scale=chance.choice((1.0, chance.uniform(0.2, 4.0))),
        volume=chance.choice((8.0, 44.0, 150.0)),
        charge=chance.choice((0.0, 38.0, 50.0, chance.uniform(0.0, 55.0))),
        well=odd_well(chance),
        head=chance.choice((0.3, 0.5, 1.0, chance.uniform(0.3, 1.3))),
    )
    change = system.air_volume(system.cut_out) - engine.state.air

    assert engine.state.time == DAY
    assert totals.pumped - totals.drawn == pytest.approx(
        change, abs=1e-9 * max(totals.drawn, system.tank_volume)
    )
    assert 0.0 <= totals.deepest <= system.dry_fall * (1.0 + 1e-12)
