"""Pressure left for friction, and manifold capacity, as the codes' worked examples state them.

The accounts of a posted calculation by UPC 2018 Appendix A (a two-dwelling remodel), of the same
appendix's office building (from memory) and the manifold table of IRC P2903.8.1 = IPC 604.10.1
(from memory). The first two take 0.43 psi for a foot of height, where water of 60 degF weighs
0.4331: they may differ by 0.0032 psi for each foot, and by half of their last digit. The table
rounds flow to whole gpm: 0.5 gpm.
"""

from __future__ import annotations

import math

import pytest

from supplycalc.hydraulics.friction import velocity
from tests.houses import FOOT, GPM, PSI
from tests.published.worked import sized

ACCOUNT = """
[defaults]
material = "copper-l"
[[device]]
name = "meter"
kind = "device"
from = "source"
to = "behind the meter"
loss = "{meter} psi"
[[fixture]]
name = "highest outlet"
kind = "hose-bibb"
elevation = "{height} ft"
flow = "1 gpm"
pressure = "{residual} psi"
cold = {{ from = "behind the meter", length = "0.001 ft", size = "2", fittings = {{}} }}
"""


@pytest.mark.parametrize(
    ("source", "meter", "residual", "height", "left"),
    [(68, 25, 8, 33, 20.81), (55, 0, 15, 45, 20.65)],
    ids=["two-dwelling remodel", "office building"],
)
def test_pressure_left_for_friction(
    source: int, meter: int, residual: int, height: int, left: float
) -> None:
    """Source less meter, residual and height is what pipes may lose."""
    rest = ACCOUNT.format(meter=meter, residual=residual, height=height)
    design = sized(f"{source} psi", rest)

    assert design.worst.margin / PSI == pytest.approx(left, abs=0.0032 * height + 0.005)


@pytest.mark.parametrize(
    ("inches", "at_four", "at_eight"),
    [(0.5, 2, 5), (0.75, 6, 11), (1.0, 10, 20), (1.25, 15, 31), (1.5, 22, 44)],
)
def test_manifold_capacity_is_velocity_times_nominal_bore(
    inches: float, at_four: int, at_eight: int
) -> None:
    """The table's gpm run at 4 and 8 ft/s in a bore equal to the nominal size."""
    bore = inches * 0.0254
    half_a_gallon = 0.5 * GPM / (math.pi / 4.0 * bore**2)

    assert velocity(at_four * GPM, bore) == pytest.approx(4.0 * FOOT, abs=half_a_gallon)
    assert velocity(at_eight * GPM, bore) == pytest.approx(8.0 * FOOT, abs=half_a_gallon)
