"""A tank up the hill judged: inflow, how long it lasts, the booster that would do."""

from __future__ import annotations

import json

import pytest
from msgspec.structs import replace

from supplycalc.delivery.source_cases import source_cases
from supplycalc.model import House
from supplycalc.questions.day.study import day
from supplycalc.questions.size.study import size
from supplycalc.reading import load
from supplycalc.sizing.design import Design
from supplycalc.units import STANDARD_GRAVITY
from tests.commands.files import SCENARIOS, run
from tests.houses import FOOT, GPM
from tests.supply.stations import GALLON

HILL = SCENARIOS / "hill-tank.toml"


def hill(**source: float) -> House:
    """The scenario with another source."""
    house = load(HILL)
    return replace(house, source=replace(house.source, **source))


def codes(design: Design) -> dict[str, str]:
    """Code -> level of what is found."""
    return {finding.code: finding.level for finding in design.findings}


def test_levels_are_the_pressures() -> None:
    """Pipe is sized with the water at its lowest level, rest is judged at its highest."""
    design = size(load(HILL))
    lowest, highest = (case.law(0.0)[0] for case in source_cases(design.house))

    assert design.source.limited_by == "lowest level"
    assert (
        design.source.design_pressure
        == lowest
        == pytest.approx(999.9 * STANDARD_GRAVITY * FOOT, rel=1e-3)
    )
    assert design.source.static_pressure == highest == pytest.approx(6.0 * lowest)
    assert design.worst.margin >= 0.0


def test_what_comes_and_how_long_it_lasts() -> None:
    """Too little for three people fails; a small tank is warned of, one of no known volume too."""
    assert codes(size(hill(inflow=0.1 * GPM), mend=False))["inflow-short"] == "fail"
    assert codes(size(hill(inflow=0.18 * GPM), mend=False))["inflow-short"] == "warn"
    assert "inflow-short" not in codes(size(hill(), mend=False))
    assert codes(size(hill(), mend=False))["open-water-runs-out"] == "note"
    assert codes(size(hill(volume=40.0 * GALLON), mend=False))["open-water-runs-out"] == "warn"
    unknown = replace(hill(), source=replace(hill().source, volume=None))
    assert codes(size(unknown, mend=False))["open-water-runs-out"] == "warn"


def test_the_booster_that_would_do() -> None:
    """A tank 38 ft lower falls short; the booster's duty point mends it, by its own computation."""
    low = size(hill(elevation=50.0 * FOOT, lowest_level=51.0 * FOOT, highest_level=56.0 * FOOT))
    booster = next(each for each in low.remedies if "booster" in each.text)
    rise, _, flow, head = (value for value, _ in booster.values)

    assert low.worst.margin < 0.0 <= booster.worst_margin
    assert flow == pytest.approx(low.demand.design_flow[0])
    assert head == pytest.approx(rise / (999.9 * STANDARD_GRAVITY), rel=1e-3)


def test_a_day_empties_a_small_tank() -> None:
    """The balance closes; a tank of 60 gal runs dry on a day that one of 1,200 does not notice."""
    whole = day(size(hill()), seed=1)
    small = day(size(hill(volume=30.0 * GALLON, inflow=0.1 * GPM)), seed=1)
    assert whole.open_tank is not None
    assert small.open_tank is not None

    assert whole.open_tank.imbalance == pytest.approx(0.0, abs=1e-9)
    assert small.open_tank.imbalance == pytest.approx(0.0, abs=1e-9)
    assert whole.open_tank.ran_dry == ()
    assert small.open_tank.ran_dry
    assert "open-tank-dry" in {finding.code for finding in small.findings}
    assert small.water.drawn == pytest.approx(
        small.open_tank.drawn + small.open_tank.lacked, abs=1e-9
    )


@pytest.mark.parametrize(
    "call",
    [
        "check",
        "size",
        "flow --open toilet",
        "slab",
        "parts",
        "hot",
        "day",
        "demand",
        "draw",
        "well",
    ],
)
def test_every_question_takes_a_tank_up_the_hill(call: str) -> None:
    """With an answer, in both unit systems, that speaks of no main."""
    command, *options = call.split()
    for system in ("us", "metric"):
        result = run(command, HILL, *options, "--units", system)
        assert result.exit_code in (0, 1)
        assert "main's" not in result.stdout
        assert " the main " not in result.stdout
    assert json.loads(run("size", HILL, "--json").stdout)["ok"] is True
