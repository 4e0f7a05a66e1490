"""A main from one flow test, against a worked example of a course on water supply for sprinklers.

Source: slides "Water Supply, Graphical analysis of flow test results" (tkolb.net/WatSup, slides 15
and 16): static 86 psi, residual 42 psi while 789 gpm run; read from the line on paper scaled by the
flow to the power 1.85: about 67 psi at 500 gpm, about 46 psi at 750 gpm, about 980 gpm at 20 psi.

Tolerance: figures read from a graph and given as "about": half a psi, and 5 gpm of 980.
"""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.delivery.source_cases import source_cases
from supplycalc.model import Fixture, GaugeReading, House, WaterSource
from supplycalc.questions.gauge.study import gauge
from tests.houses import GPM, PSI, branch, home_run

MAIN = WaterSource(kind="main", static=86 * PSI, residual=42 * PSI, residual_flow=789 * GPM)


def drawing(flow: float, pressure: float) -> House:
    """A house on the main, and right behind it a large hydrant that draws a flow.

    Args:
        flow: [gpm].
        pressure: of the main then, at which the hydrant is rated [psi].
    """
    hydrant = Fixture(
        name="hydrant",
        kind="hose-bibb",
        elevation=0.0,
        flow=flow * GPM,
        pressure=pressure * PSI,
        cold=branch("hydrant", "cold", "source", 0.001, material="galvanized-sch40", size="2"),
    )
    return home_run(runs=(), manifolds=(), source=MAIN, fixtures=(hydrant,))


@pytest.mark.parametrize(("flow", "pressure"), [(500.0, 67.0), (750.0, 46.0), (980.0, 20.0)])
def test_pressure_of_a_main_at_a_flow(flow: float, pressure: float) -> None:
    """The law that readings of a main are held against."""
    [case] = source_cases(drawing(flow, pressure))
    near = [case.law((flow + by) * GPM)[0] / PSI for by in (-5.0, 0.0, 5.0)]

    assert near[1] == pytest.approx(pressure, abs=0.5) or near[0] > pressure > near[2]


@pytest.mark.parametrize(("flow", "pressure"), [(500.0, 67.0), (750.0, 46.0)])
def test_a_reading_of_the_main_while_water_runs(flow: float, pressure: float) -> None:
    """The gauge at the source, with a hydrant open that draws so much there."""
    house = drawing(flow, pressure)
    reading = GaugeReading(at="source", open=("hydrant",), pressure=pressure * PSI)
    study = gauge(replace(house, readings=(reading,)))

    assert study.pressures[0].computed / PSI == pytest.approx(pressure, abs=0.5)
    assert study.agrees
