"""The pressure that every pipe may have to bear, worked by hand: 0.4334 psi a foot at 50 degF."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Device, House, Point, Pump, Tank, WaterSource, Well
from supplycalc.network import build_tree
from supplycalc.output.blocks import Account, Paragraph
from supplycalc.questions.flow.page import answer
from supplycalc.questions.flow.study import flow
from supplycalc.questions.size.page import size_page
from supplycalc.questions.slab.study import slab
from supplycalc.sizing.pressure_range import (
    PipePressure,
    crests,
    lowest_heights,
    pipe_pressures,
)
from supplycalc.units import UnitSystem
from tests.findings.judging import findings_of, only, sized
from tests.houses import FOOT, PSI, cold_fixture, drop_pipe, offset_pipe, pipe, two_storey, well
from tests.supply.stations import CURVE
from tests.supply.stations import house as well_house

PSI_PER_FOOT = 62.41 / 144.0
"""Water at 50 degF weighs 62.41 lb a cubic foot (steam tables)."""


def pressures(house: House) -> dict[str, PipePressure]:
    """By name."""
    return {pressure.name: pressure for pressure in pipe_pressures(sized(house))}


def psi(pressure: float | None) -> float:
    """[psi]"""
    assert pressure is not None
    return pressure / PSI


def hung(material: str = "pe-sidr7") -> House:
    """A pump on 150 ft of 1 inch pipe."""
    return well_house(line=(drop_pipe(150.0, material=material),))


def down_a_slope(**more: object) -> House:
    """A tank 150 ft above the house; the file gives no height between tank and taps."""
    given: dict[str, object] = {
        "source": replace(well(), elevation=150.0 * FOOT),
        "runs": (
            pipe("service", "source", "entry", 900.0, material="pe-sidr19", joining="insert"),
        ),
        "devices": (),
        "fixtures": (cold_fixture("tap", "hose-bibb", "entry", 20.0, elevation=1.0 * FOOT),),
    }
    given.update(more)
    return two_storey(**given)


def over_a_hill(feet: float, source: WaterSource | None = None) -> House:
    """A line over a hill to a tap at the height of the source."""
    return two_storey(
        source=source or well(),
        points=(Point(name="hilltop", elevation=feet * FOOT),),
        runs=(
            pipe("up", "source", "hilltop", 400.0, material="pe-sidr7", joining="insert", size="1"),
            pipe("down", "hilltop", "entry", 400.0, material="pe-sidr7", joining="insert"),
        ),
        devices=(),
        fixtures=(cold_fixture("tap", "hose-bibb", "entry", 20.0),),
    )


def test_a_drop_pipe_bears_lift_cut_out_and_friction() -> None:
    """60 ft to the water and 60 psi: 86 psi at least, as a pipe seller's rule has it; friction on
    top. With the water down at the pump, 150 ft: 60 + 65 psi.
    """
    pressure = pressures(hung())["drop pipe"]

    assert 60.0 + 60.0 * PSI_PER_FOOT < psi(pressure.working) < 60.0 + 60.0 * PSI_PER_FOOT + 5.0
    assert psi(pressure.low_level) == pytest.approx(60.0 + 150.0 * PSI_PER_FOOT, rel=1e-3)
    assert psi(pressure.stuck_switch) == pytest.approx(280.0 * PSI_PER_FOOT, rel=1e-3)


def test_a_drop_pipe_of_too_low_a_rating_fails() -> None:
    """80 psi pipe (SIDR 19, ASTM D2239) under 86 psi and more."""
    weak = hung("pe-sidr19")
    finding = next(it for it in findings_of(weak, "rating-exceeded") if it.where == "drop pipe")

    assert finding.level == "fail"
    assert findings_of(hung(), "rating-exceeded") == []


def test_a_well_that_may_fall_to_its_pump_is_a_warning() -> None:
    """100 psi pipe bears 86 psi, but not the 125 psi of a well drawn down to 150 ft."""
    weak = hung("pe-sidr15")

    assert only(weak, "rating-exceeded").level == "warn"


def test_an_offset_pipe_bears_the_rise_from_the_wellhead() -> None:
    """The wellhead 110 ft below the tank: 60 + 47.6 psi, more than 100 psi pipe bears."""
    offset = offset_pipe(700.0, material="pe-sidr15", size="1-1/4")
    strong = Pump(curve=tuple((flow, 2.0 * head) for flow, head in CURVE))
    house = well_house(
        pump=strong,
        tank=Tank(at_well=False),
        well=Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT, elevation=-110.0 * FOOT),
        line=(drop_pipe(1e-9), offset),
    )

    assert psi(pressures(house)["offset pipe"].working) > 60.0 + 110.0 * PSI_PER_FOOT
    assert "offset pipe" in {it.where for it in findings_of(house, "rating-exceeded")}
    assert "offset pipe" in {it.where for it in findings_of(house, "service-rating")}


@pytest.mark.parametrize(
    ("relief", "highest"), [(None, 220.0 * PSI_PER_FOOT), (75.0, 75.0), (110.0, 95.3)]
)
def test_a_stuck_switch_goes_as_far_as_the_relief_valve_lets_it(
    relief: float | None, highest: float
) -> None:
    """280 ft of head at shut-off less 60 ft of lift are 95 psi at the tank."""
    tank = Tank(relief=None if relief is None else relief * PSI)
    pressure = pressures(well_house(tank=tank))["service"]

    assert psi(pressure.working) == pytest.approx(60.0)
    assert psi(pressure.stuck_switch) == pytest.approx(highest, rel=2e-3)


def test_pipe_under_a_stuck_switch_fails_where_the_relief_valve_opens_too_high() -> None:
    """80 psi pipe: works at 60, bursts at the pump's 95 psi. Without a relief valve in the file
    it is a warning, with one that opens at 75 psi nothing.
    """

    def level(relief: float | None) -> list[str]:
        tank = Tank(relief=None if relief is None else relief * PSI)
        house = well_house(tank=tank)
        runs = tuple(
            replace(run, material="pe-sidr19") if run.name == "service" else run
            for run in house.runs
        )
        return [it.level for it in findings_of(replace(house, runs=runs), "stuck-switch")]

    assert level(125.0) == ["fail"]
    assert level(None) == ["warn"]
    assert level(75.0) == []


def test_nothing_is_concluded_from_a_guessed_shut_off() -> None:
    """A pump known by one point has no head without flow."""
    guessed = well_house(pump=Pump(curve=(CURVE[2],)))

    assert pressures(guessed)["service"].stuck_switch is None
    assert findings_of(guessed, "stuck-switch") == []


def test_a_main_has_no_switch() -> None:
    """Its highest is its pressure at rest."""
    main = WaterSource(kind="main", static=90.0 * PSI, residual=60.0 * PSI)
    pressure = pressures(two_storey(source=main))["service"]

    assert psi(pressure.working) == pytest.approx(90.0)
    assert pressure.stuck_switch is None


def test_pipe_behind_a_reducing_valve_may_see_what_stands_before_it() -> None:
    """PEX is rated for 160 psi: a main of 170 behind a failed valve is more."""
    house = two_storey(
        source=WaterSource(kind="main", static=170.0 * PSI, residual=120.0 * PSI),
        runs=(
            pipe("service", "source", "street", 60.0, material="copper-l", joining="soldered"),
            pipe("trunk", "entry", "hall", 20.0),
        ),
        devices=(
            Device(
                name="valve",
                kind="pressure-reducing-valve",
                start="street",
                end="entry",
                setting=55.0 * PSI,
                elevation=0.0,
            ),
        ),
        fixtures=(cold_fixture("toilet", "water-closet", "hall", 25.0),),
    )
    pressure = pressures(house)

    assert pressure["service"].failed_valve is None
    assert psi(pressure["trunk"].working) == pytest.approx(55.0)
    assert psi(pressure["trunk"].failed_valve) == pytest.approx(170.0)
    assert only(house, "valve-failed").level == "warn"


def test_a_point_without_a_height_is_judged_at_what_it_feeds() -> None:
    """60 psi at the tank, 149 ft down to the tap: 124.6 psi in 80 psi pipe."""
    pressure = pressures(down_a_slope())["service"]
    finding = next(it for it in findings_of(down_a_slope(), "rating-exceeded"))

    assert psi(pressure.working) == pytest.approx(60.0)
    assert psi(pressure.at_lowest_height) == pytest.approx(60.0 + 149.0 * PSI_PER_FOOT, rel=1e-3)
    assert pressure.unknown == "entry"
    assert (finding.level, finding.where) == ("fail", "service")
    assert "'entry'" in finding.message
    assert any(
        "entry stands at" in assumption.text for assumption in sized(down_a_slope()).assumptions
    )


def test_a_given_height_is_taken_as_it_is() -> None:
    """The foot of the slope given: the same pressure, and no word of what is not given."""
    house = down_a_slope(points=(Point(name="entry", elevation=0.0),))
    finding = next(it for it in findings_of(house, "rating-exceeded") if it.where == "service")

    assert psi(pressures(house)["service"].working) == pytest.approx(
        60.0 + 150.0 * PSI_PER_FOOT, rel=1e-3
    )
    assert "not given" not in finding.message
    assert not any("[[point]]" in assumption.text for assumption in sized(house).assumptions)


def test_a_point_before_a_device_is_as_high_as_the_device() -> None:
    """A device spans no height: the pipe before a reducing valve ends where the valve stands."""
    valve = Device(
        name="valve",
        kind="pressure-reducing-valve",
        start="before",
        end="entry",
        setting=55.0 * PSI,
        elevation=2.0 * FOOT,
    )
    house = down_a_slope(
        runs=(pipe("service", "source", "before", 900.0, material="pe-sidr19", joining="insert"),),
        devices=(valve,),
    )
    tree = build_tree(house)

    assert tree.elevation[tree.index["before"]] == pytest.approx(2.0 * FOOT)
    assert lowest_heights(tree)[tree.index["before"]] == pytest.approx(2.0 * FOOT)
    assert psi(pressures(house)["service"].working) == pytest.approx(
        60.0 + 148.0 * PSI_PER_FOOT, rel=1e-3
    )


def test_water_does_not_get_over_a_hill_that_is_too_high() -> None:
    """40 psi lift water 92 ft. Over 150 ft it stands 25 psi below the air's pressure, at rest."""
    (crest,) = crests(sized(over_a_hill(150.0)))
    finding = only(over_a_hill(150.0), "crest")

    assert crest.name == "hilltop"
    assert psi(crest.below_at_rest) == pytest.approx(150.0 * PSI_PER_FOOT - 40.0, rel=1e-3)
    assert crest.below_flowing > crest.below_at_rest
    assert (finding.level, finding.where) == ("fail", "hilltop")
    assert not sized(over_a_hill(150.0)).ok


def test_a_height_between_pump_and_tank_where_two_runs_meet() -> None:
    """110 ft over the gauge are 47.7 psi against 40; between two runs as inside a run's profile."""
    up = replace(offset_pipe(200.0), name="up", end="ridge")
    down = replace(offset_pipe(200.0), name="down", start="ridge")
    ridge = Point(name="ridge", elevation=110.0 * FOOT)
    house = well_house(line=(drop_pipe(150.0), up, down))
    house = replace(house, points=(*house.points, ridge))
    (crest,) = crests(sized(house))
    above = 110.0 * FOOT - house.source.elevation
    finding = only(house, "crest")

    assert crest.name == "ridge"
    assert psi(crest.below_at_rest) == pytest.approx(above / FOOT * PSI_PER_FOOT - 40.0, rel=1e-3)
    assert "while the pump rests" in finding.message
    assert finding.remedy_values[0][0] >= crest.below_at_rest


@pytest.mark.parametrize("system", ["us", "metric"])
def test_no_pressure_below_zero_is_shown_at_a_crest(system: UnitSystem) -> None:
    """The account says that water is sucked over the hill; behind it there is pressure again."""
    page = list(size_page(sized(over_a_hill(150.0)), system))
    (account,) = (block.table for block in page if isinstance(block, Account))
    column = account.columns[-1]
    shown = {row[0]: column.text(row[-1], system) for row in account.rows}

    assert shown["up"] == "suction"
    assert float(shown["tap cold"]) > 0.0
    assert not any(text.startswith("-") for text in shown.values())


def test_a_crest_may_fail_only_while_water_runs() -> None:
    """At 91 ft the standing water just gets over; the loss before it is more than what is left."""
    (crest,) = crests(sized(over_a_hill(91.5)))

    assert crest.below_at_rest == 0.0
    assert crest.below_flowing > 0.0
    assert "while the design flow runs" in only(over_a_hill(91.5), "crest").message


def test_a_hill_that_the_pressure_takes_is_no_crest() -> None:
    """Nor is an outlet that lies too high: it is short itself."""
    tall = two_storey(
        fixtures=(cold_fixture("tap", "hose-bibb", "hall", 20.0, elevation=150.0 * FOOT),)
    )

    assert crests(sized(over_a_hill(60.0))) == ()
    assert crests(sized(tall)) == ()
    assert only(tall, "pressure-short").where == "tap"


def test_what_rises_to_the_heater_is_cold() -> None:
    """10 ft up to a heater: 0.4334 psi a foot of cold water, not of water at 120 degF."""
    heater = two_storey().devices[0]
    house = two_storey(devices=(replace(heater, elevation=10.0 * FOOT),))
    runs = tuple(run for run in house.runs if run.name != "heater feed")
    direct = replace(
        house,
        runs=runs,
        devices=(replace(heater, start="entry", elevation=10.0 * FOOT),),
    )
    (device,) = sized(direct).devices

    assert -device.static_gain / PSI == pytest.approx(10.0 * PSI_PER_FOOT, rel=5e-4)


def test_flow_does_not_promise_water_over_the_hill() -> None:
    """What opens behind a crest gets nothing; `flow` says so as `size` does."""
    study = flow(over_a_hill(150.0), ("tap",))

    assert not study.ok
    assert [finding.where for finding in study.findings if finding.code == "crest"] == ["hilltop"]
    assert "does not get over" in answer(study, "us")
    assert flow(over_a_hill(60.0), ("tap",)).ok


def test_slab_tests_at_the_pressure_of_what_gets_covered() -> None:
    """60 psi at the tank are 124.6 at the foot of the slope: that is the working pressure there."""
    slope = down_a_slope(points=(Point(name="entry", elevation=0.0),))
    runs = tuple(replace(run, buried=1.0) for run in slope.runs)
    study = slab(replace(slope, runs=runs))

    assert psi(study.highest_pressure) == pytest.approx(60.0 + 150.0 * PSI_PER_FOOT, rel=1e-3)
    assert study.highest_in == "service"
    assert psi(study.tests[0].pressure) == pytest.approx(psi(study.highest_pressure))
    assert study.answer("us").startswith("Do not pour yet")


def test_a_long_line_may_dip_only_so_far() -> None:
    """128 psi pipe at 60 psi bears 157 ft more; 80 psi pipe 46 ft, which is told."""

    def told(material: str) -> list[float]:
        house = over_a_hill(0.0)
        runs = tuple(replace(run, material=material, buried=1.0) for run in house.runs)
        texts = sized(replace(house, runs=runs)).assumptions
        return [text.values[0][0] / FOOT for text in texts if "lies nowhere more" in text.text]

    assert told("pe-sidr11.5") == []
    assert told("pe-sidr19") == pytest.approx([20.0 / PSI_PER_FOOT] * 2, rel=1e-3)


@pytest.mark.parametrize(("at_well", "words"), [(True, "at the wellhead"), (False, "in the house")])
def test_size_says_where_the_tank_stands(at_well: bool, words: str) -> None:
    """It decides what the line from the well carries."""
    design = sized(well_house(tank=Tank(at_well=at_well)))
    texts = [block.text for block in size_page(design, "us") if isinstance(block, Paragraph)]

    assert any(f"The tank stands {words}." in text for text in texts)
