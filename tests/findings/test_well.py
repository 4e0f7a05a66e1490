"""What the well's parts show together: each rule at work, and silent where all is well."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.findings import RULES, judge
from supplycalc.findings.well import standard_volume, well_station
from supplycalc.model import House, Pump, Tank, Well
from supplycalc.sizing.design import Finding
from supplycalc.supply.limits import well_limit
from supplycalc.supply.station import pump_station
from supplycalc.supply.tank import fill_time
from tests.findings.judging import FOOT, GPM, PSI, sized, with_run
from tests.supply.stations import CURVE, GALLON, house

GOOD_TANK = Tank(
    volume=119.0 * GALLON, precharge=38.0 * PSI, max_pressure=125.0 * PSI, relief=75.0 * PSI
)


def findings_of(well_house: House, code: str) -> list[Finding]:
    """What the rule finds under one code."""
    rules = [rule for rule in RULES if rule.code == code]
    assert len(rules) == 1
    assert rules[0].well
    return list(judge(sized(well_house), tuple(rules)))


def test_a_good_supply_is_silent() -> None:
    """Pump, tank, switch, relief valve and well that fit each other."""
    design = sized(house(tank=GOOD_TANK))

    about_the_pump = tuple(
        rule for rule in RULES if rule.subject is well_station or rule.code == "relief-valve"
    )

    assert judge(design, about_the_pump) == ()


def test_a_switch_above_the_pump() -> None:
    """Cut-out beyond the shut-off pressure: the pump never stops."""
    weak = Pump(curve=tuple((q, 0.65 * h) for q, h in CURVE), motor_power=373.0)
    (finding,) = findings_of(house(pump=weak, tank=GOOD_TANK), "switch-above-pump")

    assert finding.level == "fail"
    assert finding.values[0][0] == pytest.approx(60.0 * PSI)
    assert finding.values[1][0] < 60.0 * PSI


def test_short_cycling_names_a_tank_that_cures_it() -> None:
    """With the tank of the remedy the pump runs as long as it should."""
    small = replace(GOOD_TANK, volume=14.0 * GALLON)
    (finding,) = findings_of(house(tank=small), "short-cycling")
    cured = house(tank=replace(small, volume=finding.remedy_values[0][0]))
    station = pump_station(cured)
    assert station is not None
    assert station.vessel is not None

    assert finding.level == "warn"
    assert finding.values[0][0] < finding.values[1][0]
    assert fill_time(station.vessel, station.supply_curve) >= finding.values[1][0]
    assert findings_of(cured, "short-cycling") == []


def test_a_run_time_within_a_round_figure_is_no_short_cycling() -> None:
    """The rule's minutes are round: a tank of a hundredth less than it asks for is let pass."""
    (finding,) = findings_of(house(tank=replace(GOOD_TANK, volume=14.0 * GALLON)), "short-cycling")
    exact = finding.remedy_values[1][0]

    assert findings_of(house(tank=replace(GOOD_TANK, volume=0.99 * exact)), "short-cycling") == []
    assert findings_of(house(tank=replace(GOOD_TANK, volume=0.9 * exact)), "short-cycling")


def test_an_air_charge_above_cut_out_is_mended_with_the_right_one() -> None:
    """No tank holds water then; the one that is named does with the usual charge."""
    full = replace(GOOD_TANK, precharge=80.0 * PSI)
    (finding,) = findings_of(house(tank=full), "short-cycling")
    cured = replace(GOOD_TANK, volume=finding.remedy_values[0][0])

    assert finding.values[0][0] == 0.0
    assert findings_of(house(tank=cured), "short-cycling") == []


def test_the_next_common_volume() -> None:
    """The smallest that is large enough, gallons or litres; none beyond the largest."""
    assert standard_volume(40.0 * GALLON, metric=False) == pytest.approx(44.0 * GALLON)
    assert standard_volume(44.0 * GALLON, metric=False) == pytest.approx(44.0 * GALLON)
    assert standard_volume(0.140, metric=True) == pytest.approx(0.150)
    assert standard_volume(1.0, metric=False) is None


def test_a_pump_too_large_for_its_well() -> None:
    """12 gpm from a well of 3 gpm; with the bore known, the time until it is empty."""
    low = Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT, recovery=3.0 * GPM)
    (plain,) = findings_of(house(tank=GOOD_TANK, well=low), "pump-oversized")
    wide = replace(low, diameter=6.0 * 0.0254)
    (timed,) = findings_of(house(tank=GOOD_TANK, well=wide), "pump-oversized")
    area = 3.141592653589793 / 4.0 * (6.0 * 0.0254) ** 2
    stored = area * (90.0 * FOOT - well_limit("submergence").value)

    assert len(plain.values) == 2
    assert timed.values[2][0] == pytest.approx(stored / (timed.values[0][0] - 3.0 * GPM), rel=1e-9)
    assert (
        findings_of(house(tank=GOOD_TANK, well=replace(low, recovery=30 * GPM)), "pump-oversized")
        == []
    )


def test_suction_and_depth_of_jet_pumps() -> None:
    """Too high above the water fails; an ejector below 200 ft is warned of."""
    jet = Pump(curve=CURVE, kind="jet", motor_power=373.0)
    high = house(pump=jet, tank=GOOD_TANK, well=Well(static_level=30.0 * FOOT))
    deep = house(pump=jet, tank=GOOD_TANK, well=Well(static_level=60 * FOOT, pump_depth=230 * FOOT))
    needy = house(
        pump=replace(jet, npsh_required=9.0), tank=GOOD_TANK, well=Well(static_level=10.0 * FOOT)
    )

    assert [finding.level for finding in findings_of(high, "suction-lift")] == ["fail"]
    assert [finding.level for finding in findings_of(needy, "suction-lift")] == ["fail"]
    assert findings_of(deep, "suction-lift") == []
    assert [finding.level for finding in findings_of(deep, "jet-depth")] == ["warn"]


@pytest.mark.parametrize(
    ("rating", "relief", "level"),
    [
        (100.0, None, "note"),
        (80.0, None, "warn"),
        (None, None, "note"),
        (80.0, 90.0, "fail"),
        (100.0, 62.0, "warn"),
        (100.0, 60.0, "fail"),  # cut-out itself: what the pump gives goes to waste
        (100.0, 45.0, "fail"),
        (100.0, 75.0, None),
    ],
)
def test_relief_valves(rating: float | None, relief: float | None, level: str | None) -> None:
    """The pump reaches 95 psi against a shut tank; the valve opens between cut-out and rating."""
    tank = replace(
        GOOD_TANK,
        max_pressure=None if rating is None else rating * PSI,
        relief=None if relief is None else relief * PSI,
    )

    assert [finding.level for finding in findings_of(house(tank=tank), "relief-valve")] == (
        [] if level is None else [level]
    )


def test_a_relief_valve_below_cut_out_fails_without_a_word_on_the_pump() -> None:
    """Whatever the pump, it opens before the switch does."""
    tank = replace(GOOD_TANK, relief=55.0 * PSI)
    (finding,) = findings_of(house(tank=tank, pump=None), "relief-valve")

    assert finding.level == "fail"
    assert finding.values == ((55.0 * PSI, "setting"), (60.0 * PSI, "setting"))


def test_a_long_buried_line_asks_where_the_tank_stands() -> None:
    """At the well it carries what the house draws, in the house what the pump gives."""
    unsaid = with_run(house(tank=GOOD_TANK), "service", buried=1.0, length=60.0)
    said = replace(unsaid.source, tank=replace(GOOD_TANK, at_well=True))
    short = with_run(unsaid, "service", length=6.0)

    assert [finding.level for finding in findings_of(unsaid, "tank-place")] == ["note"]
    assert findings_of(replace(unsaid, source=said), "tank-place") == []
    assert findings_of(short, "tank-place") == []


def test_a_small_tank_behind_a_pump_that_holds_its_pressure() -> None:
    """Two gallons are too little, eighteen litres pass for five gallons; a pump on a switch has its
    own rule."""
    pump = Pump(curve=CURVE, kind="constant-pressure", set_pressure=50.0 * PSI)
    told = [
        findings_of(house(pump=kind, tank=replace(GOOD_TANK, volume=volume)), "held-tank-small")
        for kind, volume in (
            (pump, 2.0 * GALLON),
            (pump, 0.018),
            (Pump(curve=CURVE), 2.0 * GALLON),
        )
    ]

    assert [len(each) for each in told] == [1, 0, 0]
    assert told[0][0].values[1][0] == pytest.approx(5.0 * GALLON)


def test_a_stretched_diaphragm() -> None:
    """A charge of 10 psi at 60 psi fills two thirds of the tank with water."""
    (finding,) = findings_of(house(tank=replace(GOOD_TANK, precharge=10.0 * PSI)), "tank-stretched")

    assert finding.values[0][0] == pytest.approx(1.0 - 24.696 / 74.696, abs=1e-4)
