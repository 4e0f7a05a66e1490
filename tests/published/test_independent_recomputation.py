"""Three whole houses against a second computation that shares no line with the package.

`recomputation.py` reads the file with tomllib and works from textbook formulas (Darcy-Weisbach,
Colebrook by repetition, Borda-Carnot, hydrostatics), IAPWS SR6-08 for water, and tables typed from
their sources. The sizes are the design's own.

Tolerance 1e-6 relative: both sides work in double precision on the same published figures, so that
only the slope at the passage's upper end (by central difference here, about 1e-10) and rounding
differ; 1e-6 is far below the last digit of any figure that enters and far above both.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from supplycalc.questions.size.study import size
from supplycalc.reading import load
from tests.published.recomputation import recompute

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.mark.parametrize("name", ["old-farmhouse", "ridge-cottage", "bunkhouse"])
def test_every_loss_and_every_residual(name: str) -> None:
    """Flow and loss of each run and device, and the residual pressure of each connection."""
    path = SCENARIOS / f"{name}.toml"
    design = size(load(path), mend=False)
    again = recompute(path, {run.run.name: run.size.nominal for run in design.runs})

    assert design.source.design_pressure == pytest.approx(again.source, rel=1e-6)
    for run in design.runs:
        assert run.design_flow == pytest.approx(again.flow[run.run.name], rel=1e-6), run.run.name
        assert run.loss == pytest.approx(again.loss[run.run.name], rel=1e-6), run.run.name
    for device in design.devices:
        assert device.loss == pytest.approx(again.loss[device.device.name], rel=1e-6)
    for outlet in design.outlets:
        end = f"{outlet.fixture.name} {outlet.side}"
        assert outlet.residual == pytest.approx(again.residual[end], rel=1e-6), outlet.name
    assert len(design.outlets) == len(again.residual)
    assert len(design.runs) + len(design.devices) >= 20
