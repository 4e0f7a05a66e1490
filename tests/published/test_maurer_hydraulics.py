"""Two examples of an R package's vignette; one of them is a warning.

Source: E. Maurer, vignette of the R package hydraulics (CRAN), sections 3 and 6; read.

Tolerances: half a unit of the last digit. Section 6 keeps the friction factor that holds at 1
ft3/s at all flows; its K of 0.160 is met, its operating point is 6 % low, and the test says so.
"""

from __future__ import annotations

import pytest

from supplycalc.hydraulics.friction import friction_factor
from supplycalc.hydraulics.water import density, viscosity
from tests.published.worked import CUBIC_FOOT, FOOT, INCH, Pipe, bisect

BORE = 20 * INCH
ROUGHNESS = 0.0005 * FOOT


def feet(pipe: Pipe, cubic_feet: float) -> float:
    """Head lost [ft] at a flow [ft3/s], with the package's g of 32.2 ft/s2 (read in its code)."""
    return pipe.loss(cubic_feet * CUBIC_FOOT) / (pipe.density * 32.2 * FOOT) / FOOT


def test_section_3_single_pipe() -> None:
    """Re 248,625, f 0.0173, 5.72 ft over 10,560 ft at 4 ft3/s and 60 degF.

    Its viscosity is 1.8 % above the IAPWS one: 0.3 % in the loss.
    """
    kelvin = (60.0 + 459.67) * 5.0 / 9.0
    water = {"density": density(kelvin), "viscosity": viscosity(kelvin)}
    theirs = dict(water, viscosity=water["viscosity"] * 253_062 / 248_625)
    pipe = {"length": 10_560 * FOOT, "inside_diameter": BORE, "roughness": ROUGHNESS}

    assert friction_factor(248_625, ROUGHNESS / BORE) == pytest.approx(0.0173, abs=0.00005)
    assert feet(Pipe(**pipe, **theirs), 4.0) == pytest.approx(5.72, abs=0.005)
    assert feet(Pipe(**pipe, **water), 4.0) == pytest.approx(5.72, rel=0.003)


def test_section_6_frozen_friction_factor_misses_the_operating_point() -> None:
    """A pump against 30 ft and 3884 ft of pipe: 12.051 ft3/s with f frozen, 12.78 without.

    Half a unit of the last digit of the printed K moves the frozen answer by 0.008 ft3/s.
    """
    pipe = Pipe(
        length=3884 * FOOT,
        inside_diameter=BORE,
        roughness=ROUGHNESS,
        density=999.0,
        viscosity=999.0 * 1.23e-5 * FOOT**2,
    )
    frozen = feet(pipe, 1.0)

    def operating(head: object) -> float:
        return bisect(
            lambda q: 30.0 + head(q) - (82.47 - 0.2009 * q * q),  # type: ignore[operator]
            0.0,
            30.0,
        )

    assert frozen == pytest.approx(0.160, abs=0.0005)
    assert operating(lambda q: frozen * q * q) == pytest.approx(12.051, abs=0.009)
    assert operating(lambda q: feet(pipe, q)) == pytest.approx(12.78, abs=0.005)
