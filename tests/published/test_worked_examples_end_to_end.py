"""Published worked examples, written as files and sized by the whole tool.

Each example is read from text, as a user would write it, with the example's own bore, roughness and
fittings as the file's own entries; the stated answer is compared with the account that the design
gives. Tolerances come from the rounding of the stated answers and of the friction factor that the
author read from a chart; they are argued at each test. Velocity head at an outlet is not pressure
in our accounts; where an author counts it, it is taken off his figure.
"""

from __future__ import annotations

import pytest

from tests.houses import PSI
from tests.published.worked import sized

FOOT_OF_WATER = 2989.067


def test_domestic_riser() -> None:
    """Munson, Young, Okiishi, Fundamentals of Fluid Mechanics, Example 8.8 (from memory).

    12 gpm through 60 ft of 0.0625 ft drawn copper (5e-6 ft) to a faucet 20 ft up, four elbows K
    1.5, a globe valve K 10 and the faucet K 2: 30.5 psi at the basement with all losses, 21.3 with
    pipe friction alone, 10.7 with none, jet velocity head at the 0.50 in outlet included (2.07
    psi). The author's f of 0.0215 is read from a chart: 0.5 %.
    """
    design = sized(
        "60 psi",
        """
[[tube]]
name = "drawn-tube"
roughness = "0.000005 ft"
sizes = [["3/4", "0.875 in", "0.75 in"]]
[[fitting]]
name = "book-elbow"
k = 1.5
[[fitting]]
name = "book-globe-valve"
k = 10.0
[[fitting]]
name = "book-faucet"
k = 2.0
[[fixture]]
name = "faucet"
kind = "hose-bibb"
elevation = "20 ft"
flow = "12 gpm"
cold = { from = "source", length = "60 ft", material = "drawn-tube", fittings = { "book-elbow" = 4, "book-globe-valve" = 1, "book-faucet" = 1 } }
""",  # noqa: E501
    )
    run = design.runs[0]
    static = -design.worst.static_change / PSI
    jet = 2.07

    assert static + jet == pytest.approx(10.7, abs=0.06)
    assert static + jet + run.friction_loss / PSI == pytest.approx(21.3, rel=0.005)
    assert static + jet + run.loss / PSI == pytest.approx(30.5, rel=0.005)
    assert run.velocity / 0.3048 == pytest.approx(8.70, abs=0.02)


def test_private_well_pump_head() -> None:
    """Masters, Renewable and Efficient Electric Power Systems, Example 9.21.

    4 gpm lifted 160 ft through 251.5 ft equivalent length of 3/4 inch pipe: friction 10.5 ft, total
    170.5 ft. The table behind it is Darcy-Weisbach for new steel in schedule 40 bore, in two
    digits (4.2 ft per 100 ft): 1.5 %. The stated total is rounded to 0.5 ft.
    """
    design = sized(
        "100 psi",
        """
[[tube]]
name = "table-pipe"
roughness = "0.04572 mm"
sizes = [["3/4", "1.05 in", "0.824 in"]]
[[fixture]]
name = "tank"
kind = "hose-bibb"
elevation = "160 ft"
flow = "4 gpm"
cold = { from = "source", length = "251.5 ft", material = "table-pipe", fittings = {} }
""",
    )
    friction = design.runs[0].loss / FOOT_OF_WATER
    lift = -design.worst.static_change / FOOT_OF_WATER

    assert friction == pytest.approx(10.5, rel=0.015)
    assert friction + lift == pytest.approx(170.5, abs=0.5)


def test_single_pipe_in_us_units() -> None:
    """Cengel and Cimbala, Fluid Mechanics, Example 8-3: 0.2 ft3/s, 200 ft of 2 inch stainless.

    Stated 11.8 psi with f 0.0174 (three digits, 0.3 %) and 60 degF water: 0.5 %.
    """
    design = sized(
        "100 psi",
        """
[[tube]]
name = "stainless"
roughness = "0.000007 ft"
sizes = [["2", "2.375 in", "2 in"]]
[[fixture]]
name = "end"
kind = "hose-bibb"
elevation = "0 ft"
flow = "89.766 gpm"
cold = { from = "source", length = "200 ft", material = "stainless", fittings = {} }
""",
    )

    assert design.runs[0].loss / PSI == pytest.approx(11.8, rel=0.005)


def test_pressure_account_of_the_plumbing_code() -> None:
    """International Plumbing Code, Appendix E, Table E103.3(1), lines A to J (from memory).

    55.00 psi less 15.00 required, meter 11.00, tap 1.61, 21 ft of height at 0.433 psi/ft 9.09,
    backflow preventer 9.00 leave 9.30 psi for friction. Sums close to the cent; 0.433 psi/ft
    against our density at 60 degF is 0.03 %, 0.003 psi: 0.01 psi.
    """
    design = sized(
        "55 psi",
        """
[defaults]
material = "copper-l"
[[device]]
name = "meter"
kind = "device"
from = "source"
to = "a"
loss = "11 psi"
[[device]]
name = "tap"
kind = "device"
from = "a"
to = "b"
loss = "1.61 psi"
[[device]]
name = "backflow preventer"
kind = "device"
from = "b"
to = "c"
loss = "9 psi"
[[fixture]]
name = "highest outlet"
kind = "hose-bibb"
elevation = "21 ft"
flow = "1 gpm"
pressure = "15 psi"
cold = { from = "c", length = "0.001 ft", size = "2", fittings = {} }
""",
    )

    assert design.worst.margin / PSI == pytest.approx(9.30, abs=0.01)


def test_pump_head_of_a_long_line() -> None:
    """Crane, Technical Paper 410, problem 7-15: 100 gpm, 3 inch schedule 40, 500 ft, lift 400 ft.

    Four elbows 30 fT, a gate valve 8 fT, a lift check (K on the pipe by the stated sum), exit: K
    69.7 less pipe fL/D. Stated 421 ft; the paper rounds heads to whole feet: 0.3 %.
    """
    design = sized(
        "300 psi",
        """
[[tube]]
name = "schedule-40"
roughness = "0.00015 ft"
sizes = [["3", "3.5 in", "3.068 in"]]
[[fitting]]
name = "paper-elbow"
k = 0.54
[[fitting]]
name = "paper-gate-valve"
k = 0.14
[[fitting]]
name = "paper-lift-check"
k = 26.3
[[fitting]]
name = "paper-exit"
k = 1.0
[[fixture]]
name = "end"
kind = "hose-bibb"
elevation = "400 ft"
flow = "100 gpm"
cold = { from = "source", length = "500 ft", material = "schedule-40", fittings = { "paper-elbow" = 4, "paper-gate-valve" = 1, "paper-lift-check" = 1, "paper-exit" = 1 } }
""",  # noqa: E501
        cold="70 degF",
    )
    head = (design.runs[0].loss - design.worst.static_change) / (62.298 * 16.01846 * 9.80665)

    assert head / 0.3048 == pytest.approx(421.0, rel=0.003)
