"""A cistern that a well fills and a second pump draws from."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, WaterSource, Well
from supplycalc.network import well_side
from supplycalc.questions.day.study import day
from supplycalc.questions.size.study import size
from supplycalc.reading.writing import write
from supplycalc.sizing.design import Design
from supplycalc.supply.open_water import fill_of, inflow_of
from supplycalc.supply.pump import pump_head
from supplycalc.supply.well_line import loss_to_tank_with_slope
from tests.commands.files import SCENARIOS, run
from tests.houses import FOOT, GPM
from tests.supply.stations import GALLON

FILE = SCENARIOS / "weak-well-cistern.toml"
TEXT = FILE.read_text(encoding="utf-8")
HOUSE = sc.load(FILE)
DESIGN = size(HOUSE)


def with_source(**changes: object) -> Design:
    """The sized scenario with another source, its sizes kept."""
    house = replace(DESIGN.house, source=replace(HOUSE.source, **changes))
    return replace(DESIGN, tree=replace(DESIGN.tree, house=house))


def test_the_wells_pump_meets_the_lift_to_the_float() -> None:
    """What it gives over the air gap is where its head is the lift and the friction, by hand."""
    fill, seen = fill_of(DESIGN.house), well_side(DESIGN.house)
    assert fill is not None
    assert HOUSE.source.filled_by is not None
    lift = 60.0 * FOOT + (-3.0 - 2.0) * FOOT  # water 60 ft below a wellhead at 2 ft, float at -3
    friction = loss_to_tank_with_slope(seen, fill.pump)[0] / specific_weight(HOUSE.water.cold)

    assert pump_head(HOUSE.source.filled_by.pump, fill.pump) == pytest.approx(
        lift + friction, rel=1e-6
    )
    assert fill.sustained == pytest.approx(0.75 * GPM)
    assert inflow_of(DESIGN.house) == min(fill.pump, fill.sustained or 0.0)


def test_the_house_side_is_that_of_a_pump_in_standing_water() -> None:
    """A well whose water stands at the cistern's lowest level gives the same design to the last
    digit."""
    alone: House = replace(
        HOUSE,
        source=WaterSource(
            kind="well",
            elevation=HOUSE.source.elevation,
            cut_in=HOUSE.source.cut_in,
            cut_out=HOUSE.source.cut_out,
            tank=HOUSE.source.tank,
            pump=HOUSE.source.pump,
            well=Well(static_level=0.0, elevation=HOUSE.source.lowest_level),
        ),
        line=(),
    )
    other = size(alone)

    assert [run.nominal for run in other.runs] == [run.nominal for run in DESIGN.runs]
    assert other.worst.residual == DESIGN.worst.residual
    assert other.pump is not None
    assert DESIGN.pump is not None
    assert other.pump.pump_flow == DESIGN.pump.pump_flow


def test_both_pumps_through_days_balance() -> None:
    """Open tank and pressure tank close to 1e-9 m3; the float starts the well's pump where so much
    is missing, and it runs for what came over what it gives."""
    week = day(DESIGN, days=7, seed=2)
    tank = week.open_tank
    inflow = inflow_of(DESIGN.house)
    assert tank is not None
    assert tank.fillings is not None
    assert tank.fill_time is not None
    assert inflow is not None

    assert tank.imbalance == pytest.approx(0.0, abs=1e-9)
    assert week.water.imbalance == pytest.approx(0.0, abs=1e-9)
    assert tank.drawn == pytest.approx(week.water.pumped, abs=1e-9)
    # a little more than the well sustains comes at first: the pump draws the bore down with it
    fill = fill_of(DESIGN.house)
    assert fill is not None
    assert inflow * tank.fill_time <= tank.came <= fill.pump * tank.fill_time
    [well] = week.wells
    assert well.pumped == pytest.approx(tank.came, abs=1e-9)
    # a sixth of the tank stands between the floats
    assert tank.most_missing >= 1500.0 * GALLON / 6.0
    assert tank.fillings == pytest.approx(tank.came / (1500.0 * GALLON / 6.0), abs=1.5)
    assert tank.ran_dry == ()


@settings(max_examples=6, deadline=None)
@given(st.integers(20, 200), st.integers(0, 200), st.integers(1, 9))
def test_more_storage_never_runs_dry_earlier(gallons: int, more: int, seed: int) -> None:
    """For the same draws; the balance closes where the second pump rests too."""
    times = []
    for volume in (gallons, gallons + more):
        house = with_source(volume=volume * GALLON, float_on=None)
        whole = day(house, days=1, seed=seed)
        assert whole.open_tank is not None
        assert whole.open_tank.imbalance == pytest.approx(0.0, abs=1e-9)
        times.append(min(whole.open_tank.ran_dry, default=float("inf")))

    assert times[1] >= times[0] - 1e-6


def test_a_cistern_is_written_as_it_was_read() -> None:
    """Both pumps, the well, the floats and the pipes between."""
    again = sc.loads(write(HOUSE))

    assert again.source.filled_by is not None
    assert HOUSE.source.filled_by is not None
    assert again.source.filled_by.pump.curve == HOUSE.source.filled_by.pump.curve
    assert again.source.filled_by.well.recovery == HOUSE.source.filled_by.well.recovery
    assert again.source.well == replace(HOUSE.source.well, place=again.source.well.place)
    assert again.source.float_on == HOUSE.source.float_on


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('float_on      = "-4 ft"', 'float_on = "-2 ft"', "float_on must lie from lowest_level"),
        ('float_on      = "-4 ft"', 'float_on = "-10 ft"', "float_on must lie from lowest_level"),
        ('highest_level = "-3 ft"', "", "float_on needs highest_level"),
        ('float_on      = "-4 ft"', 'inflow = "1 gpm"', "leave inflow out"),
        ("[source.well_pump]", "[source.other]", "give well_pump beside it"),
        ("[source.pump] ", "[source.other] ", "without a pump a tank feeds by gravity"),
    ],
)
def test_what_cannot_work_is_refused(old: str, new: str, told: str) -> None:
    """Floats swapped, filled twice, a well without its pump, a pump on a sealed main, a pressure
    tank without a pump."""
    assert old in TEXT
    with pytest.raises(sc.InputError, match=told):
        sc.loads(TEXT.replace(old, new, 1))


def test_a_pump_that_sucks_from_a_main_is_refused() -> None:
    """A sealed pipe is no water to draw from; a tank between them is what helps."""
    text = (SCENARIOS / "old-farmhouse.toml").read_text(encoding="utf-8")
    pump = '[source.pump]\ncurve = [["0 gpm", "100 ft"], ["5 gpm", "80 ft"]]\n'
    with pytest.raises(sc.InputError, match="suck from a sealed pipe"):
        sc.loads(f"{text}\n{pump}")


def test_an_open_tank_on_the_way_is_told_where_it_belongs() -> None:
    """It is the source; pressure tanks side by side are told to be one."""
    ridge = (SCENARIOS / "low-switch.toml").read_text(encoding="utf-8")
    tank = '\n[[tank]]\nname = "cistern"\nat = "source"\nvolume = "500 gal"\n'
    with pytest.raises(sc.InputError, match="so it is the source"):
        sc.loads(f'{ridge}{tank}kind = "open"\n')
    far = tank.replace("cistern", "far tank")
    plain = "\n".join(line for line in ridge.split("\n") if not line.startswith("[source.tank]"))
    with pytest.raises(sc.InputError, match="both as one of their whole volume"):
        sc.loads(f"{plain}{tank}{far}")


def test_the_pages_tell_both_sides() -> None:
    """The check names both pumps; `well` holds the cistern against drawn years; a pump that outruns
    its well, one that never lifts so high and a cistern that is too small are told."""
    check = " ".join(run("check", FILE, "--full").stdout.split())
    well = run("well", FILE, "--years", "1", "--full").stdout
    strong = TEXT.replace('["0.7 gpm", "70 ft"], ["1 gpm", "0 ft"]', '["4 gpm", "70 ft"]')
    weak = TEXT.replace('["0 gpm", "260 ft"], ["0.7 gpm", "70 ft"]', '["0 gpm", "40 ft"]')

    assert "Well that fills the open tank: wellhead at 2 ft" in check
    assert "open tank and its pump at -5 ft" in check
    assert "the file's tank holds" in well
    assert "Well: does it keep up?" not in well
    codes = {finding.code for finding in size(sc.loads(strong), mend=False).findings}
    assert "fill-outruns-well" in codes
    failing = size(sc.loads(weak), mend=False)
    assert [f.where for f in failing.findings if f.level == "fail" and "lifts" in f.message]
    small = sc.well(sc.loads(TEXT.replace('"1500 gal"', '"60 gal"')), years=1)
    assert "open-tank-small" in {finding.code for finding in small.findings}
