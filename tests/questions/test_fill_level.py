"""An open tank that a well fills by a float: tank and well levels at once.

Where the well's level does not move, the tank is that of a steady inflow; where it does, the
well's own water balance tells what came.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.model import Well
from supplycalc.network import well_side
from supplycalc.questions.day.fill_level import FillLevel
from supplycalc.questions.day.pump_system import wells_on_a_line
from supplycalc.questions.day.study import day
from supplycalc.questions.size.study import size
from supplycalc.questions.well.study import well_check
from supplycalc.questions.well.tables import shares_table
from supplycalc.reading import load, loads
from supplycalc.reading.writing import write
from supplycalc.supply.open_water import fill_of
from supplycalc.supply.storage import OpenLevel
from supplycalc.supply.supply_curve import flow_at_pressure
from supplycalc.supply.well_shares import well_shares
from supplycalc.units import DAY, FOOT
from tests.commands.files import SCENARIOS
from tests.houses import GPM
from tests.supply.stations import GALLON, house

DRAWS = st.lists(st.tuples(st.floats(1.0, 9000.0), st.floats(0.0, 12.0)), min_size=1, max_size=40)
WELL = Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT, diameter=0.15)
DRY_WAIT = 1800.0


def level(well: Well, gallons: float, band: float) -> FillLevel:
    """A tank that the usual test pump fills from a well, the inlet at no pressure."""
    filled = house(well=well)
    source = replace(filled.source, cut_in=0.0, cut_out=0.0, tank=None)
    wells = wells_on_a_line(replace(filled, source=source))
    return FillLevel(wells, gallons * GALLON, band * gallons * GALLON, DRY_WAIT)


def drawn(tank: OpenLevel, draws: list[tuple[float, float]]) -> None:
    """Draw so much [gpm] for so long [s], one after the other."""
    time = 0.0
    for span, gpm in draws:
        tank.move(time, span, gpm * GPM)
        time += span


@settings(max_examples=60, deadline=None)
@given(DRAWS, st.floats(50.0, 2000.0), st.floats(0.05, 0.8))
def test_a_well_that_does_not_sink_is_a_steady_inflow(
    draws: list[tuple[float, float]], gallons: float, band: float
) -> None:
    """The same tank as one that a steady flow fills by the same float."""
    tank = level(Well(static_level=60.0 * FOOT), gallons, band)
    filled = house(well=Well(static_level=60.0 * FOOT))
    flow = flow_at_pressure(filled, 0.0)
    steady = OpenLevel(flow, gallons * GALLON, band * gallons * GALLON)
    for each in (tank, steady):
        drawn(each, draws)

    assert tank.came == pytest.approx(steady.came, rel=2e-3, abs=1e-9)
    assert tank.missing == pytest.approx(steady.missing, abs=2e-3 * gallons * GALLON)
    assert tank.lacked == pytest.approx(steady.lacked, rel=5e-3, abs=1e-3 * gallons * GALLON)


@settings(max_examples=60, deadline=None)
@given(
    DRAWS,
    st.floats(50.0, 2000.0),
    st.floats(0.05, 0.8),
    st.floats(0.2, 12.0),
    st.one_of(st.none(), st.floats(0.02, 2.0)),
)
def test_water_is_neither_made_nor_lost(
    draws: list[tuple[float, float]],
    gallons: float,
    band: float,
    recovery: float,
    capacity: float | None,
) -> None:
    """Came = drawn and what is missing less; what came was pumped; both to 1e-9."""
    well = replace(
        WELL,
        recovery=recovery * GPM,
        specific_capacity=None if capacity is None else capacity * GPM / FOOT,
    )
    tank = level(well, gallons, band)
    drawn(tank, draws)
    asked = sum(span * gpm * GPM for span, gpm in draws)
    larger = max(asked, tank.volume)

    assert tank.came - tank.drawn + tank.missing == pytest.approx(0.0, abs=1e-9 * larger)
    assert tank.drawn + tank.lacked == pytest.approx(asked, abs=1e-9 * larger)
    [told] = tank.of_wells
    assert told.pumped == pytest.approx(tank.came, abs=1e-9 * larger)
    assert 0.0 <= tank.missing <= tank.volume
    assert told.deepest <= 90.0 * FOOT


def test_the_bore_gives_first_and_the_yield_lasts() -> None:
    """A well of 1 gpm under a pump of 10: by the balance of the bore, what is pumped in a day of
    endless drawing is its water and a day's yield; the pump rests each time it has run dry."""
    well = replace(WELL, recovery=1.0 * GPM)
    tank = level(well, 100.0, 0.1)
    tank.move(0.0, DAY, 30.0 * GPM)
    [told] = tank.of_wells
    bore = math.pi / 4.0 * WELL.diameter**2 * tank.falls[0]  # type: ignore[operator]

    assert told.dry_runs
    assert told.pumped == pytest.approx(1.0 * GPM * DAY + bore, rel=0.02)
    rests = [b - a for a, b in zip(told.dry_runs, told.dry_runs[1:], strict=False)]
    assert min(rests) >= DRY_WAIT


def test_the_cistern_of_the_weak_well() -> None:
    """The scenario over a month: the float starts the pump, the well sinks and comes back."""
    design = size(load(SCENARIOS / "weak-well-cistern.toml"))
    told = day(design, days=30, seed=2)

    assert told.open_tank is not None
    assert told.open_tank.fillings is not None
    assert told.open_tank.fillings > 5
    assert abs(told.open_tank.imbalance) <= 1e-9 * told.open_tank.drawn
    [well] = told.wells
    assert well.pumped == pytest.approx(told.open_tank.came)
    assert well.deepest_fall > 0.0
    assert not well.dry_runs


SECOND = """
[[well]]
name = "second well"
static_level = "45 ft"
recovery = "0.5 gpm"
pump_depth = "160 ft"
diameter = "6 in"
elevation = "0 ft"
drop_pipe = { material = "pe-cts-sdr9", size = "1", length = "160 ft", check_valves = 1 }
offset_pipe = { material = "pe-cts-sdr9", size = "3/4", length = "200 ft" }
pump = { curve = [["0 gpm", "220 ft"], ["0.5 gpm", "60 ft"], ["1 gpm", "0 ft"]] }
"""


def test_two_weak_wells_fill_one_cistern() -> None:
    """Their yields add, each no more than its pump lifts; both stand in every answer, and the
    house behind the booster is what it was; over days the water of both balances."""
    text = (SCENARIOS / "weak-well-cistern.toml").read_text(encoding="utf-8")
    single, both = size(loads(text, "one")), size(loads(text + SECOND, "two"))
    [first, second] = well_shares(well_side(both.house))
    fill = fill_of(both.house)
    told = day(both, days=20, seed=1)
    columns = {column.name for column in shares_table(well_check(both)).columns}

    assert both.house.further_wells == ()
    assert "gives" in columns
    assert not any("cut-" in name or name == "halfway" for name in columns)
    assert both.pump == single.pump
    assert [run.nominal for run in both.runs] == [run.nominal for run in single.runs]
    assert fill is not None
    assert fill.pump == pytest.approx(first.at_cut_in + second.at_cut_in)
    assert fill.lasting == pytest.approx(0.75 * GPM + 0.5 * GPM, rel=1e-3)
    assert {each.where for each in both.findings if each.code == "well-outrun"} == {"second well"}
    assert told.open_tank is not None
    assert abs(told.open_tank.imbalance) <= 1e-9 * told.open_tank.drawn
    assert math.fsum(well.pumped for well in told.wells) == pytest.approx(told.open_tank.came)
    assert [well.name for well in told.wells] == ["first well", "second well"]
    again = loads(write(both.house), "again")
    assert write(again) == write(both.house)
