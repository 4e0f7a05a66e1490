"""A second pressure tank: its charge goes by its height, its rating by the pressure at it."""

from __future__ import annotations

import pytest

import supplycalc as sc
from supplycalc.network import build_tree
from supplycalc.questions.size.study import size
from supplycalc.supply.far_tank import far_tanks_of
from tests.reading.test_far_tanks import TEXT, far

FOOT_OF_WATER = 0.4335
"""[psi] At 50 degF."""


def test_charge_and_drawdown_go_by_height() -> None:
    """18 ft above the gauge: 7.8 psi less than at the switch; Boyle's law by hand."""
    (tank,) = far_tanks_of(build_tree(sc.loads(far("upper hall"))))
    low, high = 50.0 - 18.0 * FOOT_OF_WATER, 70.0 - 18.0 * FOOT_OF_WATER
    air = 14.696 + 40.0
    drawdown = 86.0 * air * (1.0 / (low + 14.696) - 1.0 / (high + 14.696))
    assert tank.charge / 6894.757 == pytest.approx(low - 2.0, abs=0.02)
    assert tank.drawdown is not None
    assert tank.drawdown / 3.785412e-3 == pytest.approx(drawdown, rel=2e-3)


def findings(text: str) -> dict[str, str]:
    """What is said of the second tank, by code."""
    found = size(sc.loads(text), mend=False).findings
    return {finding.code: finding.message for finding in found if finding.where == "upper tank"}


def test_a_charge_for_another_height_is_warned_of() -> None:
    """48 psi suit the switch, not a tank 18 ft up; 40 psi do."""
    assert findings(far("upper hall")) == {}
    told = findings(far("upper hall").replace('"40 psi"', '"48 psi"'))
    assert "when the pump starts" in told["precharge"]


def test_its_rating_counts_at_its_own_height() -> None:
    """Down in a valley more than cut-out stands at it."""
    text = far("cottage hall", 'max_pressure = "100 psi"\n')
    deep = text.replace('elevation = "4 ft"', 'elevation = "-100 ft"')
    assert any("the tank is rated for" in message for message in findings(deep).values())
    assert not any("the tank is rated for" in message for message in findings(text).values())


def test_what_it_gives_for_a_while_is_not_relied_on() -> None:
    """The same sizes and pressures as without it, and a word on it."""
    with_tank, without = (size(sc.loads(text), mend=False) for text in (far("upper hall"), TEXT))
    assert with_tank.outlets[0].residual == without.outlets[0].residual
    assert any("upper tank" in assumption.text for assumption in with_tank.assumptions)


def test_a_reducing_valve_on_the_way_holds_its_pressure_down() -> None:
    """What stands at it is the valve's setting, and its charge goes by that."""
    text = far("upper hall").replace('to       = "upper hall"', 'to       = "upper entry"')
    valve = (
        '\n[[device]]\nname = "valve"\nkind = "pressure-reducing-valve"\nsetting = "30 psi"\n'
        'from = "upper entry"\nto = "upper hall"\n'
    )
    (tank,) = far_tanks_of(build_tree(sc.loads(text + valve)))
    assert tank.cut_in / 6894.757 == pytest.approx(30.0, abs=0.01)
    assert tank.cut_out == tank.cut_in
    assert tank.charge / 6894.757 == pytest.approx(28.0, abs=0.01)
