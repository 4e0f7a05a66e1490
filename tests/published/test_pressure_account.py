"""Small pressure accounts: static head of a code, and a well house with a softener.

Sources: International Plumbing Code, appendix E, E103.2.2 (20 ft of height are 8.66 psi), read;
water education pages on the pressure drop of softeners (20/40 psi tank, 4 gpm, 3/4 in pipe),
read.

Tolerance: half a unit of each printed digit; a sum of three rounded parts takes three of them.
"""

from __future__ import annotations

import pytest

from supplycalc.hydraulics.devices import device_loss
from supplycalc.hydraulics.friction import hazen_williams_gradient
from supplycalc.hydraulics.water import density
from supplycalc.model import Loss
from supplycalc.units import STANDARD_GRAVITY
from tests.published.worked import FOOT, GPM, INCH, PSI

SIXTY_F = (60.0 + 459.67) * 5.0 / 9.0


def test_static_head_of_20_feet() -> None:
    """8.66 psi, at the 60 degF that make 0.433 psi per foot."""
    head = density(SIXTY_F) * STANDARD_GRAVITY * 20 * FOOT

    assert head / PSI == pytest.approx(8.66, abs=0.005)


def test_softener_in_the_account() -> None:
    """87.2 ft at 3.0 psi per 100 ft, 6 ft of rise, 6 psi of softener: 2.6 + 2.6 + 6 = 11.2.

    The source names no law for its 3.0 psi; Hazen-Williams with C = 100 in 3/4 in schedule 40
    gives it.
    """
    gradient = hazen_williams_gradient(4 * GPM, 0.824 * INCH, 100.0)
    pipe = gradient * 87.2 * FOOT
    rise = density(SIXTY_F) * STANDARD_GRAVITY * 6 * FOOT
    softener = device_loss(Loss(quadratic=6 * PSI, reference_flow=4 * GPM), 4 * GPM)

    assert gradient * 100 * FOOT / PSI == pytest.approx(3.0, abs=0.05)
    assert pipe / PSI == pytest.approx(2.6, abs=0.05)
    assert rise / PSI == pytest.approx(2.6, abs=0.05)
    assert (pipe + rise + softener) / PSI == pytest.approx(11.2, abs=0.15)
