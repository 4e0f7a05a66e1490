"""What a day leaves out and takes for granted, with its weight; a well without a diameter."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.model import Draw, Tank, Well
from supplycalc.questions.day.study import day
from supplycalc.questions.size.study import size
from supplycalc.questions.well.study import well_check
from supplycalc.sizing.design import Design
from supplycalc.units import FOOT, HOUR, INCH, PSI
from tests.houses import GPM
from tests.questions.test_day import BORE, sized
from tests.supply.stations import GALLON

LONG = (Draw(fixture="garden tap", at=(3600.0,), duration=4 * HOUR),)
POOR = replace(BORE, recovery=1.0 * GPM, specific_capacity=0.3 * GPM / FOOT)
BARE = replace(POOR, diameter=None)


def told(design: Design, word: str) -> list[str]:
    """Assumptions of a day that hold a word."""
    return [line.text for line in day(design).assumptions if word in line.text]


def test_recovery_counts_without_a_diameter() -> None:
    """A well of 1 gpm runs dry under a tap of four hours, whether its casing is known or not; an
    unknown one is taken as 6 in, and what it and a 4 in casing hold is told: pi/4 d^2 times the
    depth to 5 ft above the pump."""
    known, bare = day(sized(LONG, well=POOR)), day(sized(LONG, well=BARE))
    [casing] = [line for line in bare.assumptions if "casing" in line.text]
    depth = (150.0 - 60.0 - 5.0) * FOOT

    assert known.well is not None
    assert bare.well is not None
    assert known.well.dry_runs
    assert bare.well.dry_runs == pytest.approx(known.well.dry_runs, rel=1e-9)
    assert not bare.ok
    assert not told(sized(LONG, well=POOR), "casing")
    for (volume, _), inches in zip(casing.values, (6.0, 4.0), strict=True):
        assert volume == pytest.approx(math.pi / 4.0 * (inches * INCH) ** 2 * depth, rel=1e-9)


def test_a_level_that_follows_at_once_says_how_far() -> None:
    """Specific capacity alone: the fall at cut-in is flow over capacity, and with the level at rest
    the pump gives more."""
    alone = replace(BARE, recovery=None, specific_capacity=1.0 * GPM / FOOT)
    result = day(sized(well=alone))
    [level] = [line for line in result.assumptions if "follows the pump at once" in line.text]
    (fall, _), (at_rest, _), (flow, _) = level.values
    system = result.pump_system

    assert system is not None
    assert flow == pytest.approx(system.supply_curve.flow_at(system.cut_in))
    assert fall == pytest.approx(flow / (1.0 * GPM / FOOT))
    assert at_rest > flow


@pytest.mark.parametrize(("depth", "dry"), [(62.0, True), (150.0, False)])
def test_a_level_that_follows_down_to_the_pump_is_dry(depth: float, dry: bool) -> None:
    """Without a diameter no moment can be told, but a fall of more than there is above the pump
    is a failure; 5 ft above a pump at 62 ft leave nothing below water at 60."""
    alone = replace(BARE, recovery=None, pump_depth=depth * FOOT)
    codes = [finding.code for finding in day(sized(well=alone)).findings]

    assert ("runs-dry" in codes) is dry


def test_a_well_of_which_nothing_is_known_cannot_run_dry() -> None:
    """The day says so."""
    assert told(sized(well=Well(static_level=60.0 * FOOT)), "cannot run dry here")


@pytest.mark.parametrize(("relief", "word"), [(75.0, "stays shut"), (55.0, "does not act here")])
def test_a_relief_valve_is_not_run(relief: float, word: str) -> None:
    """Above cut-out it never opens; at or below it would, and the day does not do that."""
    tank = Tank(volume=86.0 * GALLON, precharge=38.0 * PSI, relief=relief * PSI)

    assert told(sized(tank=tank), word)
    assert not told(sized(), "relief")


def test_storage_and_a_second_pump_are_not_run() -> None:
    """A well that gives less than its pump, and a day's water that needs storage: both studies say
    that its second pump is not run, and what to run instead."""
    poor, rich = sized(LONG, well=POOR), sized(well=replace(BORE, recovery=60.0 * GPM))
    checked = well_check(poor, people=12)

    assert told(poor, "storage and its second pump are not run")
    assert not told(rich, "storage and its second pump are not run")
    assert checked.well.second_pump is not None
    assert [
        line
        for line in checked.assumptions
        if "storage and its second pump are not run" in line.text
    ]


def test_the_second_pumps_side_is_a_file_of_its_own() -> None:
    """What the words advise works: a pump without a well is sized and run."""
    alone = sized(well=None)
    result = day(size(alone.house, mend=False))

    assert result.water.pumped is not None
    assert result.water.pumped > 0.0
    assert result.ok
