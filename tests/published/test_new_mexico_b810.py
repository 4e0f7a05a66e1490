"""Gravity flow in plastic pipe against an extension guide that speaks for Darcy.

Source: New Mexico State University, Cooperative Extension, Guide B-810, Sizing Plastic Pipelines
for Water on the Range, examples A and B (read).

Tolerance: its flows are read from a chart with logarithmic axes, 1.8 gpm to two digits (3 %), and
it states no temperature: 50 to 70 degF change the flow by 5 %. So the print must lie, widened by
its half digit, within what smooth pipe carries between those temperatures.
"""

from __future__ import annotations

from supplycalc.hydraulics.friction import hazen_williams_gradient
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.units import STANDARD_GRAVITY
from tests.published.worked import GPM, INCH, Pipe, bisect


def smooth(inches: float, fahrenheit: float, fall: float) -> float:
    """Flow [gpm] of smooth schedule 40 plastic pipe that falls so many feet per foot."""
    kelvin = (fahrenheit + 459.67) * 5.0 / 9.0
    rho = density(kelvin)
    pipe = Pipe(
        length=1.0,
        inside_diameter=inches * INCH,
        roughness=1.5e-6,
        density=rho,
        viscosity=viscosity(kelvin),
    )
    return pipe.flow(rho * STANDARD_GRAVITY * fall) / GPM


def test_example_a() -> None:
    """3/4 in at 10 ft per 1,000 ft: 1.8 gpm; Hazen-Williams with C = 150 would promise 2.1."""
    cold, warm = smooth(0.824, 50.0, 0.010), smooth(0.824, 70.0, 0.010)
    fall = density(288.7) * STANDARD_GRAVITY * 0.010
    by_hazen_williams = bisect(
        lambda q: hazen_williams_gradient(q, 0.824 * INCH, 150.0) - fall, 0.0, 1e-3
    )

    assert cold - 0.05 <= 1.8 <= warm + 0.05
    assert 2.05 < by_hazen_williams / GPM < 2.15


def test_example_b() -> None:
    """6 gpm at 3 ft per 1,000 ft needs 1-1/2 in; 1-1/4 in carries only two thirds of it.

    The guide's 6 gpm is the need that the chart's line for 1-1/2 in meets to its own 6 %.
    """
    assert smooth(1.610, 70.0, 0.003) > 0.94 * 6.0
    assert smooth(1.380, 70.0, 0.003) < 0.70 * 6.0
