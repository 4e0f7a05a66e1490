"""`risk`: chances and quantiles by draws, held against closed forms and against `size`."""

from __future__ import annotations

import json
from pathlib import Path
from statistics import NormalDist

import pytest
from typer.testing import CliRunner

import supplycalc as sc
from supplycalc.chance.certainty import HALF_WIDTH
from supplycalc.cli import app
from supplycalc.questions.risk.study import Risk
from supplycalc.units import PSI
from tests.questions.ranged import RIDGE, ranged, text_with

CUT_IN = 'cut_in    = "50 psi"'
SERVICE = 'length   = "85 ft"'
SEVERAL = {
    CUT_IN: 'cut_in = "50 ± 2 psi"',
    SERVICE: 'length = "85 ± 10 ft"',
    'static_level      = "62 ft"': 'static_level = "about 62 ft"',
}


@pytest.fixture(scope="module")
def several() -> Risk:
    """A switch, a length and a water level that are not known exactly."""
    return sc.risk(ranged(SEVERAL))


def test_quantiles_of_a_normal_are_normal() -> None:
    """Every residual moves one to one with cut-in."""
    found = sc.risk(ranged({CUT_IN: 'cut_in = "50 ± 2 psi"'}))
    spread = 2 * PSI / HALF_WIDTH
    middles = {outlet.name: outlet.residual for outlet in found.design.outlets}
    for row in found.fixtures:
        normal = NormalDist(middles[row.name], spread)
        assert row.residual_5 == pytest.approx(normal.inv_cdf(0.05), abs=0.02 * PSI)
        assert row.residual_50 == pytest.approx(normal.mean, abs=0.01 * PSI)
        assert row.residual_95 == pytest.approx(normal.inv_cdf(0.95), abs=0.02 * PSI)
        assert row.short == pytest.approx(normal.cdf(row.required), abs=0.002)
    [weight] = found.weights
    assert weight.alone == pytest.approx(1.0, abs=0.01)


def test_the_weights_of_a_linear_case_are_shares_of_variance(several: Risk) -> None:
    """Cut-in counts fully, the service by its loss per length; no other figure bears on it."""
    by_name = {weight.name: weight for weight in several.weights}
    service = several.design.run("service")
    per_width = {
        "cut-in pressure": 2 * PSI,
        "length of service": service.friction_loss * 10 / 85,
        "water level of the well": 0.0,
    }
    total = sum(each**2 for each in per_width.values())
    for name, each in per_width.items():
        assert by_name[name].in_all == pytest.approx(each**2 / total, abs=0.01)
    assert several.weights[0].name == "cut-in pressure"


def test_risk_and_size_tell_one_story(several: Risk) -> None:
    """`size` draws fewer, and agrees within what both say of their error."""
    sure = sc.size(ranged(SEVERAL)).certainty
    assert several.certainty is not None
    assert sure is not None
    both = 4 * (sure.error + several.certainty.error)
    assert sure.works == pytest.approx(several.certainty.works, abs=both)
    assert sure.measurements[0].name == several.certainty.measurements[0].name


def test_the_same_seed_gives_the_same_bytes(several: Risk) -> None:
    """Whatever ran before."""
    again = sc.risk(ranged(SEVERAL))
    assert json.dumps(again.to_dict()) == json.dumps(several.to_dict())
    other = sc.risk(ranged(SEVERAL), seed=2)
    assert other.fixtures != several.fixtures
    assert other.fixtures[0].short == pytest.approx(
        several.fixtures[0].short,
        abs=5 * (several.fixtures[0].short_error + other.fixtures[0].short_error),
    )


def test_pump_and_tank_are_judged_for_each_draw(several: Risk) -> None:
    """A deeper level gives less; cut-in moves what the tank holds."""
    well = several.well
    assert well is not None
    assert well.pump_flow is not None
    low, middle, high = well.pump_flow
    pump = several.design.pump
    assert pump is not None
    assert pump.pump_flow is not None
    assert low < pump.pump_flow[0] < high
    assert middle == pytest.approx(pump.pump_flow[0], rel=0.01)
    assert well.pump_too_small == 0.0
    assert well.drawdown is not None
    assert well.drawdown[0] < well.drawdown[2]


def test_a_file_that_is_sure_of_everything_says_how_to_write_what_is_not() -> None:
    """It passes or fails as `size` does."""
    found = sc.risk(sc.load(RIDGE))
    assert found.certainty is None
    assert found.ok == sc.size(sc.load(RIDGE)).ok
    assert "85 ± 10 ft" in found.verdict("us")


def test_what_is_not_sure_is_shown_in_the_words_of_the_house() -> None:
    """On a metric main no feet, no psi and no cut-in."""
    said = sc.risk(sc.load(RIDGE.with_name("town-house.toml"))).verdict("metric")

    assert 'length = "26 ± 3 m", residual = "about 3 bar"' in said


def test_a_house_that_falls_short_is_told_with_the_largest_sizes() -> None:
    """Verdict and fixtures speak of the same sizes, also where old pipe decides the others."""
    old = {
        'sizes    = ["3/4", "1", "1-1/4"]': (
            'sizes = ["3/4", "1", "1-1/4"]\nsize = "?"\nexisting = true'
        )
    }
    found = sc.risk(ranged(old))
    assert found.certainty is not None
    assert found.certainty.largest_sizes
    assert found.certainty.works == pytest.approx(1 / 3, abs=0.01)
    assert found.fixtures[0].short == pytest.approx(2 / 3, abs=0.01)
    assert "largest sizes" in found.verdict("us")


def test_the_first_screen_is_one_screen(tmp_path: Path) -> None:
    """Thirty lines of eighty columns; the table goes to a spreadsheet."""
    file = tmp_path / "ridge.toml"
    file.write_text(text_with(SEVERAL), encoding="utf-8")
    shown = CliRunner().invoke(app, ["risk", str(file)], env={"COLUMNS": "80"})
    lines = shown.stdout.splitlines()
    assert len(lines) <= 30
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("With 3 figures known within a range it works in")
    out = tmp_path / "fixtures.csv"
    CliRunner().invoke(app, ["risk", str(file), "-o", str(out)])
    assert len(out.read_text().splitlines()) == 1 + len(sc.load(file).fixtures) + 6
