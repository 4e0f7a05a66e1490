"""Water properties: their range, their course, and what a caller may rely on."""

from __future__ import annotations

import pytest

from supplycalc.hydraulics.water import density, vapour_pressure, viscosity
from supplycalc.problems import ComputationError


def test_density_has_its_maximum_near_4_degrees() -> None:
    """Water is densest at 4 degC, so both freezing and warm water are lighter."""
    temperatures = [273.15 + 0.1 * step for step in range(200)]
    densest = max(temperatures, key=density)

    assert densest == pytest.approx(277.13, abs=0.1)


def test_hot_water_is_lighter_thinner_and_boils_more_easily() -> None:
    """From 10 degC on, each property runs one way."""
    temperatures = [283.15 + step for step in range(91)]

    for function, rises in ((density, False), (viscosity, False), (vapour_pressure, True)):
        values = [function(temperature) for temperature in temperatures]
        assert values == sorted(values, reverse=not rises)


@pytest.mark.parametrize("function", [density, viscosity, vapour_pressure])
@pytest.mark.parametrize("temperature", [272.9, 373.3, 50.0, float("nan")])
def test_ice_and_steam_are_refused(function, temperature) -> None:  # type: ignore[no-untyped-def]
    """Outside 0 to 100 degC there is no number; 50 is degrees Fahrenheit taken for kelvin."""
    with pytest.raises(ComputationError, match=r"273\.15 to 373\.15 K"):
        function(temperature)


@pytest.mark.parametrize("function", [density, viscosity, vapour_pressure])
def test_the_ends_of_the_range_are_accepted_despite_rounding(function) -> None:  # type: ignore[no-untyped-def]
    """32 degF and 212 degF converted with a rounding error still count as water."""
    assert function((32.0 + 459.67) * 5.0 / 9.0) > 0.0
    assert function((212.0 + 459.67) * 5.0 / 9.0) > 0.0
