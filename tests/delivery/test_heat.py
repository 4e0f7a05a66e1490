"""Heat that hot water loses on its way, and mixed water."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.delivery.fixture_use import parse_uses
from supplycalc.delivery.heat import arriving_temperature, cooled, loss_per_length, mean_temperature
from supplycalc.delivery.household import Household
from supplycalc.delivery.source_cases import source_cases
from supplycalc.model import Water
from supplycalc.questions.size.study import size
from tests.houses import two_storey


def test_mixing_100_percent() -> None:
    """120 and 50 degF at 0.786 hot give 105 degF (ASPE formula, from memory; volume for mass).

    The formula takes volumes for masses, which is 1.1 % of the hot share here: 0.3 degF.
    """
    hot, cold = (120 - 32) / 1.8 + 273.15, (50 - 32) / 1.8 + 273.15
    mixed = mean_temperature((1.0 - 0.786, 0.786), (cold, hot))

    assert (mixed - 273.15) * 1.8 + 32 == pytest.approx(105.0, abs=0.3)
    assert math.isnan(mean_temperature((0.0, 0.0), (cold, hot)))


def test_heat_lost_by_a_bare_and_an_insulated_tube() -> None:
    """3/4 in copper, 0.785/0.875 in: bare pi*d*h = 0.698 W/(m K); half an inch of foam halves it.

    The bare figure is 0.40 Btu/(h ft F); laboratory tests of hot water pipe gave 0.39 for flowing
    water in bare 3/4 in copper (C. Hiller, ASHRAE, from memory): within 5 %.
    """
    bare = loss_per_length(0.785 * 0.0254, 0.875 * 0.0254, 300.0, 0.0, 0.037, 10.0)
    foam = loss_per_length(0.785 * 0.0254, 0.875 * 0.0254, 300.0, 0.0127, 0.037, 10.0)

    assert bare == pytest.approx(math.pi * 0.875 * 0.0254 * 10.0, rel=1e-3)
    assert bare / 1.730735 == pytest.approx(0.388, rel=0.05)
    assert foam < 0.5 * bare


def test_cooling_on_the_way() -> None:
    """Little loss: the drop is UA*dT/(rho c q). No flow: the water ends as warm as the air."""
    drop = 322.0 - cooled(322.0, 293.0, 0.5, 1e-4)

    assert drop == pytest.approx(0.5 * 29.0 / (989.0 * 4180.0 * 1e-4), rel=0.002)
    assert cooled(322.0, 293.0, 5.0, 0.0) == 293.0
    assert cooled(322.0, 293.0, 0.0, 1e-4) == 322.0


def test_insulation_keeps_hot_water_hot() -> None:
    """The same house with insulated hot runs delivers warmer water; cold water stays as it is."""
    house = two_storey(water=Water(hot=333.15))
    insulated = replace(house, runs=tuple(replace(run, insulated=True) for run in house.runs))
    temperatures = []
    for variant in (house, insulated):
        design = size(variant, mend=False)
        household = Household(design)
        (use,) = parse_uses(variant, ["basin (hot)"])
        settled = household.settle((use,), source_cases(variant)[0].law)
        temperatures.append(settled.outflows[0].temperature)
        cold = next(outlet.link for outlet in design.tree.outlets if outlet.side == "cold")
        assert arriving_temperature(design, cold, settled.delivered.flow) == variant.water.cold

    assert temperatures[0] < temperatures[1] < 333.15
