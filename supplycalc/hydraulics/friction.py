"""Flow in straight pipe: area, velocity and friction.

Friction is Darcy-Weisbach, with Hazen-Williams for who must show it. Flow is laminar up to Re 2000
and follows Colebrook from Re 4000. No law is established in between; there the passage is a cubic
in ln f over ln Re that meets both ends in value and slope, so that the loss is a smooth and
strictly rising function of flow, which Newton's method and every comparison of sizes rely on.

Every law takes floats, or numpy arrays of shapes that broadcast, and gives the like.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache, lru_cache
from types import FunctionType
from typing import TYPE_CHECKING, Any

from fluids.friction import Clamond

from supplycalc.hydraulics.numbers import Numbers
from supplycalc.units import STANDARD_GRAVITY

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LAMINAR_LIMIT = 2000.0
"""Reynolds number up to which flow is taken as laminar."""
TURBULENT_LIMIT = 4000.0
"""Reynolds number from which Colebrook holds."""

_PASSAGE = math.log(TURBULENT_LIMIT / LAMINAR_LIMIT)
_LN10 = math.log(10.0)

# Hazen-Williams in SI, head per length = 10.67 Q^1.852 / (C^1.852 D^4.8704)
_HW_FACTOR = 10.67
_HW_FLOW_POWER = 1.852
_HW_DIAMETER_POWER = 4.8704
_HW_DENSITY = 999.0


def flow_area(inside_diameter: Numbers) -> Numbers:
    """Cross-section of a full pipe [m2].

    Args:
        inside_diameter: [m].
    """
    return math.pi / 4.0 * inside_diameter**2


def velocity(flow: Numbers, inside_diameter: Numbers) -> Numbers:
    """Mean velocity of a full pipe [m/s], with the sign of the flow.

    Args:
        flow: volume flow, either sign [m3/s].
        inside_diameter: [m].
    """
    return flow / flow_area(inside_diameter)


def friction_factor(reynolds: Numbers, relative_roughness: Numbers) -> Numbers:
    """Darcy friction factor f, four times the Fanning factor.

    Args:
        reynolds: Reynolds number, above zero.
        relative_roughness: absolute roughness over inside diameter.
    """
    return factor_reynolds(reynolds, relative_roughness)[0] / reynolds


def factor_reynolds(reynolds: Numbers, relative_roughness: Numbers) -> tuple[Numbers, Numbers]:
    """The product f Re, which is 64 in laminar flow and so finite at rest, and how f goes with Re.

    Args:
        reynolds: Reynolds number, not negative.
        relative_roughness: absolute roughness over inside diameter.

    Returns:
        (f Re, power of the Reynolds number that f goes with there, d ln f/d ln Re); the power is -1
        in laminar flow and tends to 0 in a rough pipe.

    Source: laminar 64/Re; C. F. Colebrook, J. ICE 11 (1939) 133, solved by D. Clamond, Ind. Eng.
        Chem. Res. 48 (2009) 3665 in `fluids` and differentiated here; the passage is no published
        law.
    """
    if not (isinstance(reynolds, (float, int)) and isinstance(relative_roughness, (float, int))):
        products, powers = _factors_reynolds(reynolds, relative_roughness)
        return products, powers
    if reynolds <= LAMINAR_LIMIT:
        return 64.0, -1.0
    if reynolds >= TURBULENT_LIMIT:
        factor = Clamond(reynolds, relative_roughness)
        return factor * reynolds, _colebrook_power(reynolds, relative_roughness, factor)
    p, q = passage(relative_roughness)
    place = math.log2(reynolds / LAMINAR_LIMIT)
    product = 64.0 * math.exp(place * place * (p + q * place))
    return product, place * (2.0 * p + 3.0 * q * place) / _PASSAGE - 1.0


def _factors_reynolds(
    reynolds: Any, relative_roughness: Any
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """`factor_reynolds` of arrays: each of the three laws where it holds."""
    import numpy as np

    reynolds, rough = np.broadcast_arrays(reynolds, relative_roughness)
    product, power = np.full(reynolds.shape, 64.0), np.full(reynolds.shape, -1.0)
    turbulent = reynolds >= TURBULENT_LIMIT
    if turbulent.any():
        at, rough_there = reynolds[turbulent], rough[turbulent]
        factor = _clamond_of_arrays()(at, rough_there)
        product[turbulent] = factor * at
        power[turbulent] = _colebrook_power(at, rough_there, factor)
    between = (reynolds > LAMINAR_LIMIT) & ~turbulent
    if between.any():
        p, q = _passage_to(rough[between], _clamond_of_arrays(), np.log)
        place = np.log2(reynolds[between] / LAMINAR_LIMIT)
        product[between] = 64.0 * np.exp(place * place * (p + q * place))
        power[between] = place * (2.0 * p + 3.0 * q * place) / _PASSAGE - 1.0
    return product, power


@cache
def _clamond_of_arrays() -> Callable[..., Any]:
    """The library's own `Clamond` with numpy's logarithm in place of the one of floats.

    It has no branch on values and calls nothing else; `fluids.vectorized` would call it once for
    each element, which takes twenty times as long.
    """
    import numpy as np

    return FunctionType(
        Clamond.__code__, {**Clamond.__globals__, "log": np.log}, None, Clamond.__defaults__
    )


def _colebrook_power(reynolds: Numbers, relative_roughness: Numbers, factor: Numbers) -> Numbers:
    """d ln f/d ln Re of Colebrook.

    With r = (ln 10/2) f^-1/2 Colebrook reads r + ln(r + s) = ln Re + constant, where s is the rough
    part and goes with Re. Differentiated by ln Re: r' (1 + 1/(r + s)) = 1 - s/(r + s), hence
    r' = r/(1 + r + s); and ln f = -2 ln r + constant, hence -2/(1 + r + s).
    """
    rough = _LN10 / (2.0 * 3.7 * 2.51) * relative_roughness * reynolds
    power: Numbers = -2.0 / (1.0 + rough + 0.5 * _LN10 / factor**0.5)
    return power


@lru_cache(maxsize=4096)
def passage(relative_roughness: float) -> tuple[float, float]:
    """p and q of f Re = 64 exp(t^2 (p + q t)), t = log2(Re/2000), between Re 2000 and 4000.

    Args:
        relative_roughness: absolute roughness over inside diameter; few are in one house.
    """
    return _passage_to(relative_roughness, Clamond, math.log)


def _passage_to(
    relative_roughness: Numbers, clamond: Callable[..., Any], log: Callable[[Any], Any]
) -> tuple[Numbers, Numbers]:
    """p and q of f Re = 64 exp(t^2 (p + q t)), t = log2(Re/2000).

    ln f is then a cubic in ln Re. Value 64/Re and slope -1 at t = 0 are built in; p and q make
    value and slope those of Colebrook at t = 1.
    """
    factor = clamond(TURBULENT_LIMIT, relative_roughness)
    power = _colebrook_power(TURBULENT_LIMIT, relative_roughness, factor)
    rise = log(factor * TURBULENT_LIMIT / 64.0)
    steepness = _PASSAGE * (power + 1.0)
    return 3.0 * rise - steepness, steepness - 2.0 * rise


def pressure_gradient(
    flow: Numbers,
    inside_diameter: Numbers,
    roughness: Numbers,
    density: Numbers,
    viscosity: Numbers,
) -> Numbers:
    """Friction loss per length of straight pipe.

    Args:
        flow: volume flow, either sign [m3/s].
        inside_diameter: [m].
        roughness: absolute roughness [m].
        density: of the water [kg/m3].
        viscosity: dynamic viscosity of the water [Pa s].

    Returns:
        Loss per length [Pa/m], with the sign of the flow; exactly 0 at zero flow.

    Source: Darcy-Weisbach with `friction_factor`; laminar flow is Hagen-Poiseuille.
    """
    return pressure_gradient_with_slope(flow, inside_diameter, roughness, density, viscosity)[0]


def pressure_gradient_with_slope(
    flow: Numbers,
    inside_diameter: Numbers,
    roughness: Numbers,
    density: Numbers,
    viscosity: Numbers,
) -> tuple[Numbers, Numbers]:
    """Friction loss per length and its derivative by flow, for Newton's method.

    Written dp/dx = 2 mu Q/(pi D^4) f Re, so that nothing is divided by the flow.

    Returns:
        (loss per length [Pa/m], its derivative [Pa s/m4], always above zero).
    """
    reynolds = 4.0 * density * abs(flow) / (math.pi * inside_diameter * viscosity)
    product, power = factor_reynolds(reynolds, roughness / inside_diameter)
    resistance = product * (2.0 * viscosity / (math.pi * inside_diameter**4))
    return resistance * flow, resistance * (2.0 + power)


def hazen_williams_gradient(
    flow: Numbers, inside_diameter: Numbers, c: Numbers, density: Any = _HW_DENSITY
) -> Numbers:
    """Friction loss per length by Hazen-Williams.

    The formula knows no temperature. Published forms differ by 0.7 % among each other through
    their rounded constants (10.67 and 4.8704 here; 4.52 and 4.87, or 0.2083 and 4.8655, in US
    units). Against Colebrook it is 20-30 % low for cold water at 1 gpm in 1/2 in tube.

    Args:
        flow: volume flow, either sign [m3/s].
        inside_diameter: [m].
        density: of the water that turns head into pressure [kg/m3].

    Returns:
        Loss per length [Pa/m], with the sign of the flow.

    Source: G. S. Williams and A. Hazen, Hydraulic Tables (1905), in its SI form
        h/L = 10.67 Q^1.852/(C^1.852 D^4.8704), the constants from memory.
    """
    return hazen_williams_slope(flow, inside_diameter, c, density) * flow / _HW_FLOW_POWER


def hazen_williams_slope(
    flow: Numbers, inside_diameter: Numbers, c: Numbers, density: Any = _HW_DENSITY
) -> Numbers:
    """Derivative of `hazen_williams_gradient` by flow.

    Returns:
        Derivative [Pa s/m4]; zero at zero flow.
    """
    head = _HW_FACTOR * c**-_HW_FLOW_POWER * inside_diameter**-_HW_DIAMETER_POWER
    steepness = _HW_FLOW_POWER * abs(flow) ** (_HW_FLOW_POWER - 1.0)
    slope: Numbers = density * STANDARD_GRAVITY * head * steepness
    return slope
