"""Water properties against the International Association for the Properties of Water and Steam.

Sources: IAPWS SR6-08(2011), liquid water at 0.1 MPa, table 8 (check values); IAPWS SR1-86(1992),
saturation properties, table 1 (check values); IAPWS-95 and R12-08 as computed by the libraries
`iapws` and, for the effect of pressure, as IAPWS-95 in `iapws` too. The check values were read in
the tests of the `iapws` library, which quote the releases' tables.

Tolerances. Check values: half a unit of the last printed digit. SR6-08 against IAPWS-95 and R12-08:
1e-6 in density and 1e-4 in viscosity, the accuracy to which the supplementary equations represent
them (from memory; measured 4e-8 and 3e-5). The saturation equation: 1e-4, since the two releases
are independent fits (measured 7e-5).
"""

from __future__ import annotations

import pytest
from iapws import IAPWS95
from iapws._iapws import _Liquid, _Viscosity

from supplycalc.hydraulics.water import density, vapour_pressure, viscosity

TEMPERATURES = [273.15 + step for step in (1, 4, 10, 15.556, 20, 40, 48.889, 60, 80, 95, 99)]


def test_check_values_of_sr6_08() -> None:
    """Table 8 at 298.15 K: density 997.047 013 kg/m3, viscosity 889.996 774 uPa s."""
    assert density(298.15) == pytest.approx(997.047013, abs=0.5e-6)
    assert viscosity(298.15) * 1e6 == pytest.approx(889.996774, abs=0.5e-6)


def test_check_values_of_sr1_86() -> None:
    """Table 1: 611.657 Pa at the triple point, 0.101325 MPa at the boiling point."""
    assert vapour_pressure(273.16) == pytest.approx(611.657, abs=0.5e-3)
    assert vapour_pressure(373.1243) == pytest.approx(0.101325e6, abs=0.5)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_coefficients_are_those_of_the_release(temperature: float) -> None:
    """The library's copy of SR6-08 gives the same to the last digits, so no coefficient slipped."""
    release = _Liquid(temperature)

    assert density(temperature) == pytest.approx(release["rho"], rel=1e-13)
    assert viscosity(temperature) == pytest.approx(release["mu"], rel=1e-13)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_against_the_scientific_formulation(temperature: float) -> None:
    """IAPWS-95 density and R12-08 viscosity at 0.1 MPa, IAPWS-95 saturation pressure."""
    water = IAPWS95(T=temperature, P=0.1)
    saturation = IAPWS95(T=temperature, x=0.0)

    assert density(temperature) == pytest.approx(water.rho, rel=1e-6)
    assert viscosity(temperature) == pytest.approx(_Viscosity(water.rho, temperature), rel=1e-4)
    assert vapour_pressure(temperature) == pytest.approx(saturation.P * 1e6, rel=1e-4)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_house_pressure_changes_as_little_as_the_module_says(temperature: float) -> None:
    """At 0.4 MPa: up to 0.016 % denser, viscosity up to 0.04 % lower, as the docstring states."""
    water = IAPWS95(T=temperature, P=0.4)

    assert 0.0 < water.rho / density(temperature) - 1.0 < 1.6e-4
    assert viscosity(temperature) == pytest.approx(_Viscosity(water.rho, temperature), rel=4e-4)
