"""Storage between a well and a house.

Sources: 'Private Water Systems - Pumping Installation' (tutorial text credited to USDA studies),
intermediate storage: 20 gpm between booster and well pump over two hours, 2,400 gal; a county
standard quoted by a Californian well driller: 5 gpm for four hours, 1,200 gal, less 240 gal for
each gpm of yield and less the water standing above the pump; The Driller, 'Non-pressurized tanks':
50 gpm for an hour, 3,000 gal, and 4,320 gal a day from 3 gpm; The Groundwater Project, Domestic
Wells, exercise 1: 50 m deep, 152 mm, 2 L/min give 966 L in two hours, 726 L of it from the bore.

All are exact balances, so that they hold to rounding; the last to half a litre, as printed. The
source counts all 45 m of water less 5 m above the intake as usable, which is what is tested.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from supplycalc.supply.storage import Filling, SteadyDraws, missing_by_day
from supplycalc.supply.well import bore_storage
from supplycalc.units import DAY, HOUR
from tests.houses import GPM
from tests.supply.stations import GALLON

LITRE = 1e-3


def one_draw(flow: float, hours: float) -> SteadyDraws:
    """One steady draw from six in the morning on."""
    return SteadyDraws(np.array([6.0 * HOUR]), np.array([hours * HOUR]), np.array([flow]))


def needed(draws: SteadyDraws, filling: Filling) -> float:
    """Of one day [m3]."""
    return float(missing_by_day(draws, filling, 1).max())


@pytest.mark.parametrize("well_pump", [4.0, 10.0])
def test_two_hours_of_a_booster_beyond_the_well_pump(well_pump: float) -> None:
    """20 gpm more than the well's pump for two hours: 2,400 gal, whatever that pump gives."""
    tank = needed(one_draw((well_pump + 20.0) * GPM, 2.0), Filling(inflow=well_pump * GPM))

    assert tank / GALLON == pytest.approx(2400.0, rel=1e-9)


@pytest.mark.parametrize("gpm", [1.0, 2.5, 4.0])
@pytest.mark.parametrize("above_pump", [0.0, 150.0])
def test_the_county_standard(gpm: float, above_pump: float) -> None:
    """1,200 gal less 240 for each gpm and less what stands above the pump."""
    filling = Filling(inflow=gpm * GPM, pump=20.0 * GPM, bore=above_pump * GALLON)

    tank = needed(one_draw(5.0 * GPM, 4.0), filling)

    expected = max(1200.0 - 240.0 * gpm - above_pump, 0.0)
    assert tank / GALLON == pytest.approx(expected, abs=1e-6)


def test_an_hour_of_fire() -> None:
    """50 gpm for an hour are 3,000 gal with nothing coming; a 3 gpm well makes 4,320 a day."""
    assert needed(one_draw(50.0 * GPM, 1.0), Filling(inflow=0.0)) / GALLON == pytest.approx(3000.0)
    assert pytest.approx(4320.0) == 3.0 * GPM * DAY / GALLON


def test_a_bore_and_what_flows_to_it() -> None:
    """The 966 L that the bore and 2 L/min give in two hours need no tank, and a litre more one
    of a litre."""
    stored = bore_storage(0.152, 45.0, 5.0, 0.0)
    filling = Filling(inflow=2.0 * LITRE / 60.0, pump=math.nextafter(1.0, 2.0), bore=stored)

    def tank(litres: float) -> float:
        return needed(one_draw(litres * LITRE / (2.0 * HOUR), 2.0), filling)

    assert stored / LITRE == pytest.approx(726.0, abs=0.5)
    assert tank(965.5) == pytest.approx(0.0, abs=1e-9)
    assert tank(966.0 + 1.0) / LITRE == pytest.approx(1.0, abs=0.5)
