"""Friction of water in straight pipe: Darcy-Weisbach, and Hazen-Williams for who must show it.

Every law comes as a scalar function (plain floats; `fluids` solves Colebrook) and as an array twin
(numpy, the plural name) that a test holds equal to it. The gradient is written

    dp/dx = 2 mu Q/(pi D^4) * g(Re),    g = f Re

with g = 64 in laminar flow, so that nothing divides by the flow, zero flow loses exactly nothing
and the sign of the flow is kept.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from supplycalc.hydraulics.factor import (
    LAMINAR_LIMIT,
    factor_and_power,
    friction_factor,
    friction_factors,
    in_chunks,
    products,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

__all__ = [
    "STANDARD_GRAVITY",
    "friction_factor",
    "friction_factors",
    "hazen_williams_gradient",
    "hazen_williams_gradients",
    "hazen_williams_slope",
    "hazen_williams_slopes",
    "pressure_gradient",
    "pressure_gradient_slope",
    "pressure_gradient_slopes",
    "pressure_gradient_with_slope",
    "pressure_gradients",
    "pressure_gradients_with_slopes",
    "velocities",
    "velocity",
]

STANDARD_GRAVITY = 9.80665
"""[m/s2], CGPM 1901"""

# Hazen-Williams in SI, head per length = 10.67 Q^1.852 / (C^1.852 D^4.8704)
_HW_FACTOR = 10.67
_HW_FLOW_POWER = 1.852
_HW_BORE_POWER = 4.8704
_HW_DENSITY = 999.0


def velocity(flow: float, inside_diameter: float) -> float:
    """Mean velocity of a full pipe.

    Args:
        flow: volume flow, either sign [m3/s].
        inside_diameter: bore [m].

    Returns:
        Velocity [m/s], with the sign of the flow.

    Source: continuity.
    """
    return 4.0 * flow / (math.pi * inside_diameter * inside_diameter)


def velocities(flow: ArrayLike, inside_diameter: ArrayLike) -> Array:
    """Mean velocity of full pipes, elementwise.

    Args:
        flow: volume flows, either sign [m3/s], any shape.
        inside_diameter: bores [m], a shape that broadcasts with it.

    Returns:
        Velocities [m/s] of the broadcast shape.

    Source: continuity.
    """
    import numpy as np

    return np.asarray(4.0 / math.pi * np.asarray(flow) / np.square(inside_diameter), dtype=float)


def pressure_gradient(
    flow: float, inside_diameter: float, roughness: float, density: float, viscosity: float
) -> float:
    """Friction loss per length of straight pipe.

    Args:
        flow: volume flow, either sign [m3/s].
        inside_diameter: bore [m].
        roughness: absolute roughness [m].
        density: of the water [kg/m3].
        viscosity: dynamic viscosity of the water [Pa s].

    Returns:
        Loss per length [Pa/m], with the sign of the flow; exactly 0 at zero flow.

    Source: Darcy-Weisbach with `friction_factor`; laminar flow is Hagen-Poiseuille.
    """
    reynolds = 4.0 * density * abs(flow) / (math.pi * inside_diameter * viscosity)
    scale = 2.0 * viscosity / (math.pi * inside_diameter**4)
    if reynolds <= LAMINAR_LIMIT:
        return 64.0 * scale * flow
    factor = friction_factor(reynolds, roughness / inside_diameter)
    return factor * reynolds * scale * flow


def pressure_gradient_slope(
    flow: float, inside_diameter: float, roughness: float, density: float, viscosity: float
) -> float:
    """Derivative of `pressure_gradient` by flow, for Newton's method.

    Args:
        flow: volume flow, either sign [m3/s].
        inside_diameter: bore [m].
        roughness: absolute roughness [m].
        density: of the water [kg/m3].
        viscosity: dynamic viscosity of the water [Pa s].

    Returns:
        Derivative [Pa s/m4], always above zero.

    Source: implicit differentiation of Colebrook.
    """
    return pressure_gradient_with_slope(flow, inside_diameter, roughness, density, viscosity)[1]


def pressure_gradient_with_slope(
    flow: float, inside_diameter: float, roughness: float, density: float, viscosity: float
) -> tuple[float, float]:
    """Friction loss per length and its derivative by flow, at the cost of one factor.

    Args:
        flow: volume flow, either sign [m3/s].
        inside_diameter: bore [m].
        roughness: absolute roughness [m].
        density: of the water [kg/m3].
        viscosity: dynamic viscosity of the water [Pa s].

    Returns:
        (loss per length [Pa/m], its derivative [Pa s/m4]).

    Source: as `pressure_gradient` and `pressure_gradient_slope`.
    """
    reynolds = 4.0 * density * abs(flow) / (math.pi * inside_diameter * viscosity)
    scale = 2.0 * viscosity / (math.pi * inside_diameter**4)
    if reynolds <= LAMINAR_LIMIT:
        return 64.0 * scale * flow, 64.0 * scale
    factor, power = factor_and_power(reynolds, roughness / inside_diameter)
    scale *= factor * reynolds
    return scale * flow, scale * (2.0 + power)


def hazen_williams_gradient(
    flow: float, inside_diameter: float, c: float, density: float = _HW_DENSITY
) -> float:
    """Friction loss per length by Hazen-Williams.

    The formula knows no temperature. Published forms differ by 0.7 % among each other through
    their rounded constants (10.67 and 4.8704 here; 4.52 and 4.87, or 0.2083 and 4.8655, in US
    units). Against Colebrook it is 20-30 % low for cold water at 1 gpm in 1/2 in tube.

    Args:
        flow: volume flow, either sign [m3/s].
        inside_diameter: bore [m].
        c: Hazen-Williams coefficient.
        density: of the water that turns head into pressure [kg/m3].

    Returns:
        Loss per length [Pa/m], with the sign of the flow.

    Source: G. S. Williams and A. Hazen, Hydraulic Tables (1905), in its SI form
        h/L = 10.67 Q^1.852/(C^1.852 D^4.8704), the constants from memory.
    """
    resistance: float = _HW_FACTOR * c**-_HW_FLOW_POWER * inside_diameter**-_HW_BORE_POWER
    return math.copysign(
        density * STANDARD_GRAVITY * resistance * abs(flow) ** _HW_FLOW_POWER, flow
    )


def hazen_williams_slope(
    flow: float, inside_diameter: float, c: float, density: float = _HW_DENSITY
) -> float:
    """Derivative of `hazen_williams_gradient` by flow.

    Args:
        flow: volume flow, either sign [m3/s].
        inside_diameter: bore [m].
        c: Hazen-Williams coefficient.
        density: of the water that turns head into pressure [kg/m3].

    Returns:
        Derivative [Pa s/m4]; zero at zero flow.

    Source: as `hazen_williams_gradient`.
    """
    resistance: float = _HW_FACTOR * c**-_HW_FLOW_POWER * inside_diameter**-_HW_BORE_POWER
    steepness: float = _HW_FLOW_POWER * abs(flow) ** (_HW_FLOW_POWER - 1.0)
    return density * STANDARD_GRAVITY * resistance * steepness


def pressure_gradients(
    flow: ArrayLike,
    inside_diameter: ArrayLike,
    roughness: ArrayLike,
    density: ArrayLike,
    viscosity: ArrayLike,
) -> Array:
    """Friction loss per length, elementwise; equal to `pressure_gradient`.

    Args:
        flow: volume flows, either sign [m3/s]; all shapes broadcast.
        inside_diameter: bores [m].
        roughness: absolute roughnesses [m].
        density: of the water [kg/m3].
        viscosity: dynamic viscosity of the water [Pa s].

    Returns:
        Loss per length [Pa/m] of the broadcast shape.

    Source: as `pressure_gradient`.
    """
    import numpy as np

    def kernel(q: Array, bore: Array, rough: Array, rho: Array, mu: Array, out: Array) -> None:
        reynolds, scale = _reynolds_and_scale(q, bore, rho, mu)
        scale *= products(reynolds, rough / bore)
        np.multiply(scale, q, out=out)

    return in_chunks(kernel, (flow, inside_diameter, roughness, density, viscosity), 1)[0]


def pressure_gradient_slopes(
    flow: ArrayLike,
    inside_diameter: ArrayLike,
    roughness: ArrayLike,
    density: ArrayLike,
    viscosity: ArrayLike,
) -> Array:
    """Derivatives of `pressure_gradients` by flow, elementwise.

    Args:
        flow: volume flows, either sign [m3/s]; all shapes broadcast.
        inside_diameter: bores [m].
        roughness: absolute roughnesses [m].
        density: of the water [kg/m3].
        viscosity: dynamic viscosity of the water [Pa s].

    Returns:
        Derivatives [Pa s/m4] of the broadcast shape, all above zero.

    Source: as `pressure_gradient_slope`.
    """
    return pressure_gradients_with_slopes(flow, inside_diameter, roughness, density, viscosity)[1]


def pressure_gradients_with_slopes(
    flow: ArrayLike,
    inside_diameter: ArrayLike,
    roughness: ArrayLike,
    density: ArrayLike,
    viscosity: ArrayLike,
) -> tuple[Array, Array]:
    """Friction losses per length and their derivatives by flow, elementwise.

    Args:
        flow: volume flows, either sign [m3/s]; all shapes broadcast.
        inside_diameter: bores [m].
        roughness: absolute roughnesses [m].
        density: of the water [kg/m3].
        viscosity: dynamic viscosity of the water [Pa s].

    Returns:
        (losses per length [Pa/m], derivatives [Pa s/m4]), both of the broadcast shape.

    Source: as `pressure_gradient_with_slope`.
    """
    import numpy as np

    def kernel(
        q: Array, bore: Array, rough: Array, rho: Array, mu: Array, out: Array, slope: Array
    ) -> None:
        reynolds, scale = _reynolds_and_scale(q, bore, rho, mu)
        scale *= products(reynolds, rough / bore, power=slope)
        np.multiply(scale, q, out=out)
        slope += 2.0
        slope *= scale

    losses, slopes = in_chunks(kernel, (flow, inside_diameter, roughness, density, viscosity), 2)
    return losses, slopes


def hazen_williams_gradients(
    flow: ArrayLike, inside_diameter: ArrayLike, c: ArrayLike, density: ArrayLike = _HW_DENSITY
) -> Array:
    """Friction loss per length by Hazen-Williams, elementwise.

    Args:
        flow: volume flows, either sign [m3/s]; all shapes broadcast.
        inside_diameter: bores [m].
        c: Hazen-Williams coefficients.
        density: of the water that turns head into pressure [kg/m3].

    Returns:
        Loss per length [Pa/m] of the broadcast shape.

    Source: as `hazen_williams_gradient`.
    """
    import numpy as np

    q = np.asarray(flow, dtype=float)
    head = _hazen_williams_resistances(inside_diameter, c) * np.abs(q) ** _HW_FLOW_POWER
    return np.asarray(np.copysign(head, q) * density * STANDARD_GRAVITY)


def hazen_williams_slopes(
    flow: ArrayLike, inside_diameter: ArrayLike, c: ArrayLike, density: ArrayLike = _HW_DENSITY
) -> Array:
    """Derivatives of `hazen_williams_gradients` by flow, elementwise.

    Args:
        flow: volume flows, either sign [m3/s]; all shapes broadcast.
        inside_diameter: bores [m].
        c: Hazen-Williams coefficients.
        density: of the water that turns head into pressure [kg/m3].

    Returns:
        Derivatives [Pa s/m4] of the broadcast shape.

    Source: as `hazen_williams_gradient`.
    """
    import numpy as np

    steepness = _HW_FLOW_POWER * np.abs(np.asarray(flow, dtype=float)) ** (_HW_FLOW_POWER - 1.0)
    resistance = _hazen_williams_resistances(inside_diameter, c)
    return np.asarray(steepness * resistance * density * STANDARD_GRAVITY)


def _reynolds_and_scale(q: Array, bore: Array, rho: Array, mu: Array) -> tuple[Array, Array]:
    """Reynolds numbers, and 2 mu/(pi D^4), of one chunk."""
    import numpy as np

    reynolds = np.abs(q)
    reynolds *= rho
    reynolds *= 4.0 / math.pi
    scale = mu * bore
    reynolds /= scale
    scale *= 2.0 / math.pi
    square = bore * bore
    scale /= square
    scale /= square
    scale /= bore
    return reynolds, scale


def _hazen_williams_resistances(inside_diameter: ArrayLike, c: ArrayLike) -> Array:
    """Head per length over flow [m3/s] to the power 1.852."""
    import numpy as np

    bore = np.asarray(inside_diameter, dtype=float)
    coefficient = np.asarray(c, dtype=float)
    return np.asarray(_HW_FACTOR * coefficient**-_HW_FLOW_POWER * bore**-_HW_BORE_POWER)
