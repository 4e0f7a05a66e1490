"""Properties of liquid water as a function of temperature: density, viscosity, vapour pressure.

The formulas hold at 0.1 MPa absolute. A house system stands at about 0.4 MPa absolute, where water
is 0.015 % denser (compressibility about 5e-10 /Pa) and its viscosity is at most 0.04 % lower: both
are far below what is known of any pipe, so pressure is left out.
"""

from __future__ import annotations

import functools
import math
from typing import Any

from supplycalc.hydraulics.numbers import Numbers, is_array
from supplycalc.problems import ComputationError
from supplycalc.units import STANDARD_GRAVITY
from supplycalc.units.quantities import Temperature

FREEZING = 273.15
"""Lowest temperature accepted [K]."""
BOILING = 373.15
"""Highest temperature accepted [K]."""
_SLACK = 1e-6  # [K]: 32 degF and 212 degF may be off by a rounding after conversion

_GAS_CONSTANT = 461.51805  # [J/(kg K)]
_PRESSURE = 1e5  # [Pa absolute]
_COLD_TERMS = (  # (coefficient b, power m) of 10 K/(T - 232 K)
    (5.78545292e-3, 1),
    (-1.53195665e-2, 2),
    (3.11337859e-2, 3),
    (-4.23546241e-2, 4),
    (3.38713507e-2, 5),
    (-1.19946761e-2, 6),
)
_HOT_TERMS = (  # (coefficient a, power n) of 10 K/(593 K - T)
    (1.93763157e-2, 0),
    (6.74458446e3, 4),
    (-2.22521604e5, 5),
    (1.00231247e8, 7),
    (-1.63552118e9, 8),
    (8.32299658e9, 9),
)
_VISCOSITY_TERMS = (  # (coefficient [1e-6 Pa s], power) of T/300 K
    (280.68, -1.9),
    (511.45, -7.7),
    (61.131, -19.6),
    (0.45903, -40.0),
)
_CRITICAL_TEMPERATURE = 647.096  # [K]
_CRITICAL_PRESSURE = 22.064e6  # [Pa]
_VAPOUR_TERMS = (  # (coefficient, power) of 1 - T/Tc
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)


def density(temperature: Numbers) -> Numbers:
    """Density of liquid water at 0.1 MPa absolute.

    Args:
        temperature: water temperature, 273.15 to 373.15 [K]; a float or an array.

    Returns:
        Density [kg/m3], within 1e-6 of the IAPWS-95 equation of state.

    Raises:
        ComputationError: the water would be ice or steam.

    Source: IAPWS SR6-08(2011), Revised Supplementary Release on Properties of Liquid Water at
        0.1 MPa, the equation for specific volume.
    """
    at: Any = temperature
    result: Numbers = _density(at) if is_array(at) else _density_once(at)
    return result


def _density(temperature: Any) -> Any:
    _check(temperature)
    hot = 10.0 / (593.0 - temperature)
    cold = 10.0 / (temperature - 232.0)
    reduced_volume = sum(a * hot**n for a, n in _HOT_TERMS)
    reduced_volume += sum(b * cold**m for b, m in _COLD_TERMS)
    return _PRESSURE / (_GAS_CONSTANT * 10.0 * reduced_volume)


_density_once = functools.lru_cache(maxsize=64)(_density)
"""A house has few temperatures, and asks thousands of times."""


def specific_weight(temperature: Temperature) -> float:
    """Weight of a volume of water: turns a height into a pressure [N/m3]."""
    return density(temperature) * STANDARD_GRAVITY


def viscosity(temperature: Numbers) -> Numbers:
    """Dynamic viscosity of liquid water at 0.1 MPa absolute.

    Args:
        temperature: water temperature, 273.15 to 373.15 [K]; a float or an array.

    Returns:
        Dynamic viscosity [Pa s]; the release gives 1 % uncertainty.

    Raises:
        ComputationError: the water would be ice or steam.

    Source: IAPWS SR6-08(2011), Revised Supplementary Release on Properties of Liquid Water at
        0.1 MPa, the equation for viscosity.
    """
    at: Any = temperature
    result: Numbers = _viscosity(at) if is_array(at) else _viscosity_once(at)
    return result


def _viscosity(temperature: Any) -> Any:
    _check(temperature)
    ratio = temperature / 300.0
    return 1e-6 * sum(a * ratio**b for a, b in _VISCOSITY_TERMS)


_viscosity_once = functools.lru_cache(maxsize=64)(_viscosity)


def vapour_pressure(temperature: Temperature) -> float:
    """Saturation pressure of water: below it water boils, as at the inlet of a lifting pump.

    Returns:
        Vapour pressure [Pa absolute].

    Raises:
        ComputationError: the water would be ice, or is hotter than 373.15 K.

    Source: W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783, equation 1; also
        IAPWS SR1-86(1992).
    """
    _check(temperature)
    tau = 1.0 - temperature / _CRITICAL_TEMPERATURE
    exponent = sum(a * tau**b for a, b in _VAPOUR_TERMS)
    return _CRITICAL_PRESSURE * math.exp(_CRITICAL_TEMPERATURE / temperature * exponent)


def _check(temperature: Any) -> None:
    """Refuse what is not liquid water at house pressures."""
    if is_array(temperature):
        for end in (temperature.min(), temperature.max()):
            _check(float(end))
    elif not FREEZING - _SLACK <= temperature <= BOILING + _SLACK:
        raise ComputationError(
            f"water properties hold from {FREEZING:g} to {BOILING:g} K (0 to 100 degC), "
            f"not at {temperature:g} K"
        )
