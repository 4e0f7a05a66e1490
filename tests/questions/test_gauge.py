"""Readings against the file: a house changed in a known way is told for what it is."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.model import GaugeReading, House
from supplycalc.output.terminal import to_text
from supplycalc.problems import InputError
from supplycalc.questions.flow.study import flow
from supplycalc.questions.gauge.page import gauge_first, gauge_page
from supplycalc.questions.gauge.study import GaugeStudy, gauge
from supplycalc.sizing.changes import with_run
from supplycalc.units import MINUTE
from tests.commands.files import SCENARIOS
from tests.houses import FOOT, GPM, PSI
from tests.questions.readings import built, clogged, read_off, weaker_pump

AT_58 = {"pressure": 0.0, "source_pressure": 58 * PSI}
BOTH = ("upstairs bath", "garden tap")
WANTED = (
    GaugeReading(at="source", pressure=0.0, when="cut-out"),
    GaugeReading(at="upstairs bath (cold)", **AT_58),
    GaugeReading(at="upstairs bath (hot)", open=BOTH, **AT_58),
    GaugeReading(at="entry", open=BOTH, **AT_58),
    GaugeReading(at="filtered", open=BOTH, **AT_58),
    GaugeReading(at="cold manifold", open=BOTH, **AT_58),
    GaugeReading(at="garden tap", open=("garden tap",), flow=GPM, **AT_58),
)
"""Readings of the ridge cottage, with a gauge on both sides of the filter."""


@pytest.fixture(scope="module")
def house() -> House:
    """The ridge cottage as built."""
    return built(sc.load(SCENARIOS / "ridge-cottage.toml"))


def study_of(house: House, truth: House, *, seed: int | None = 1, leave: int = 99) -> GaugeStudy:
    """The study of a house of which the true one was read."""
    return gauge(replace(house, readings=read_off(truth, WANTED[:leave], seed=seed)))


def test_a_house_as_in_its_file_agrees(house: House) -> None:
    """Whatever the needle does, with errors of half a psi."""
    for seed in range(8):
        study = study_of(house, house, seed=seed)

        assert study.ok
        assert study.agrees
        assert study.explanations == ()
        assert study.answer("us").startswith("The house does what its file says")


def test_what_is_computed_is_what_flow_tells(house: House) -> None:
    """At cut-in and cut-out, and between them, the same pressure and the same water."""
    told = flow(house, ("upstairs bath (hot)", "garden tap"))
    opened = ("upstairs bath (hot)", "garden tap")
    readings = tuple(
        GaugeReading(at="garden tap", open=opened, pressure=PSI, flow=GPM, when=when)
        for when in ("cut-in", "cut-out", None)
    )
    study = gauge(replace(house, readings=readings))

    for i in (0, 1):
        outlet = told.cases[i].outlets[1]
        assert study.pressures[i].computed == pytest.approx(outlet.pressure, rel=1e-9)
        assert study.flows[i].computed == pytest.approx(outlet.flow, rel=1e-9)
    lowest = min(case.outlets[1].pressure for case in told.cases)
    assert study.pressures[2].computed == pytest.approx(lowest, rel=1e-9)
    assert study.pressures[2].computed_most == study.pressures[1].computed


def test_at_rest_it_is_height_alone(house: House) -> None:
    """Pressure at the source less the water's weight up to the gauge."""
    study = gauge(replace(house, readings=(WANTED[1],)))
    design = sc.size(house, daily=False)
    bath = next(it for it in design.outlets if it.name == "upstairs bath (cold)")
    rise = (bath.fixture.elevation - house.source.elevation) * 9.80665 * 999.7

    assert study.pressures[0].computed == pytest.approx(58 * PSI - rise, rel=1e-4)


@pytest.mark.parametrize("seed", range(4))
def test_a_clogged_filter_is_named_first(house: House, seed: int) -> None:
    """With a gauge on both sides of it nothing else explains the readings."""
    truth = clogged(house, "cartridge filter", loss=20 * PSI, flow=7 * GPM)
    study = study_of(house, truth, seed=seed)
    best = study.explanations[0]

    assert not study.ok
    assert best.where == ("cartridge filter",)
    assert best.fits
    assert best.pressure is not None
    assert best.flow is not None
    own = sc.size(house, daily=False).result_at
    filter_ = next(it for it in own.values() if it.name == "cartridge filter")
    clean = filter_.loss * (best.flow / filter_.design_flow) ** 2
    true_loss = 20 * PSI * (best.flow / (7 * GPM)) ** 2
    assert best.pressure == pytest.approx(true_loss - clean, rel=0.15)
    assert "cartridge" in best.remedy


def test_without_a_gauge_between_what_is_in_line_is_told_together(house: House) -> None:
    """And the next reading stands where it parts them."""
    truth = clogged(house, "cartridge filter", loss=20 * PSI, flow=7 * GPM)
    readings = read_off(truth, (*WANTED[:3], WANTED[5]), seed=2)
    study = gauge(replace(house, readings=readings))
    best = study.explanations[0]

    assert best.where[0] == "cartridge filter"
    assert {"service", "main to manifold"} <= set(best.where)
    assert study.next is not None
    assert study.next.at in ("entry", "filtered")
    highest, lowest = study.next.expected[0], study.next.expected[-1]
    assert {highest.name, lowest.name} <= set(best.where)
    assert highest.pressure - lowest.pressure > 4 * PSI


def test_the_next_reading_parts_them(house: House) -> None:
    """Taken in the true house, it leaves the true part alone."""
    truth = clogged(house, "cartridge filter", loss=20 * PSI, flow=7 * GPM)
    wanted = [*WANTED[:3], WANTED[5]]
    for _ in range(3):
        study = gauge(replace(house, readings=read_off(truth, wanted)))
        if study.next is None:
            break
        held = study.next.source_pressure
        wanted.append(
            GaugeReading(at=study.next.at, open=study.next.open, pressure=0.0, source_pressure=held)
        )

    assert study.explanations[0].where == ("cartridge filter",)


def test_a_smaller_size_is_a_loss_in_its_run(house: House) -> None:
    """A service of 3/4 inch where the file has 1-1/4: the run, and the inside that it has."""
    truth = with_run(house, "service", lambda run: replace(run, size="3/4", sizes=()))
    study = study_of(house, truth)
    best = study.explanations[0]
    tube = house.catalogue.tubes["pe-cts-sdr9"]
    inside = next(size.inside_diameter for size in tube.sizes if size.nominal == "3/4")

    assert best.where == ("service",)
    assert best.as_if_inside == pytest.approx(inside, rel=0.06)


def test_a_switch_set_otherwise_is_one_constant(house: House) -> None:
    """All readings 8 psi lower, the source's own too: the pressure, not its gauge's height."""
    source = house.source
    truth = replace(
        house,
        source=replace(source, cut_in=source.cut_in - 8 * PSI, cut_out=source.cut_out - 8 * PSI),
    )
    wanted = tuple(replace(each, source_pressure=None, when="cut-out") for each in WANTED)
    study = gauge(replace(house, readings=read_off(truth, wanted, seed=3)))
    best = study.explanations[0]

    assert best.code == "source-pressure"
    assert best.pressure == pytest.approx(8 * PSI, rel=0.15)
    assert "lower" in best.said("us")


def test_a_gauge_height_that_is_wrong_spares_the_gauge_itself(house: House) -> None:
    """The source reads as it should, all else 5 psi lower: its gauge stands 11.5 ft lower."""
    truth = replace(
        house, source=replace(house.source, elevation=house.source.elevation - 11.5 * FOOT)
    )
    wanted = (*WANTED[:3], WANTED[6])  # the file gives the heights of fixtures alone
    study = gauge(replace(house, readings=read_off(truth, wanted, seed=4)))
    codes = {it.code for it in study.explanations if it.rank != "explains less" and it.fits}

    assert "gauge-height" in codes
    assert not {"loss", "outlet", "height"} & codes
    [height] = [it for it in study.explanations if it.code == "gauge-height"]
    assert height.height == pytest.approx(11.5 * FOOT, rel=0.15)


def test_a_weaker_pump_is_named(house: House) -> None:
    """A fifth less head: the tank's gauge, once it holds still, stands lower than computed."""
    truth = weaker_pump(house, 0.8)
    wanted = (
        GaugeReading(at="source", pressure=0.0, when="cut-out"),
        GaugeReading(at="source", open=BOTH, pressure=0.0, when="pump alone"),
        GaugeReading(at="source", open=("garden tap",), pressure=0.0, when="pump alone"),
        GaugeReading(at="garden tap", open=BOTH, **AT_58),
    )
    study = gauge(replace(house, readings=read_off(truth, wanted, seed=5)))
    best = study.explanations[0]

    assert not study.ok
    assert best.code == "pump"
    assert best.share == pytest.approx(0.8, abs=0.05)


def test_a_pump_is_judged_by_the_gauge_beside_it(house: House) -> None:
    """With the tank's gauge read the house is computed from it, and the pump by what it gives."""
    told = flow(house, ("garden tap",)).cases[-1]
    reading = GaugeReading(
        at="garden tap",
        open=("garden tap",),
        pressure=told.outlets[0].pressure,
        when="pump alone",
        source_pressure=told.source_pressure,
    )
    study = gauge(replace(house, readings=(reading,)))

    assert told.source.name == "pump alone"
    assert study.ok
    assert [row.at for row in study.pressures] == ["garden tap", "source"]
    low = replace(
        reading,
        pressure=told.outlets[0].pressure - 12 * PSI,
        source_pressure=told.source_pressure - 15 * PSI,
    )
    weak = gauge(replace(house, readings=(low,)))
    assert [row.within for row in weak.pressures] == [True, False]
    assert weak.explanations[0].code == "pump"


def test_water_that_runs_out_of_the_tank_is_by_boyles_law(house: House) -> None:
    """The air grows from (precharge + air) / (pressure + air) of the tank; 4 psi in 20 minutes."""
    tank = house.source.tank
    assert tank is not None
    assert tank.volume is not None
    assert tank.precharge is not None
    reading = GaugeReading(
        at="source", pressure=60 * PSI, when="cut-out", fell=4 * PSI, fell_in=20 * MINUTE
    )
    study = gauge(replace(house, readings=(replace(reading, when=None),)))
    air = 101325.0 * math.pow(1.0 - 2.25577e-5 * house.source.altitude, 5.25588)
    filled = tank.volume * (tank.precharge + air)
    ran_out = filled / (56 * PSI + air) - filled / (60 * PSI + air)

    assert study.leaks[0].flow == pytest.approx(ran_out / (20 * MINUTE), rel=1e-9)
    assert not study.ok
    assert "check valve" in study.findings[0].remedy


def test_too_much_pressure_that_was_read_is_told_as_size_tells_it(house: House) -> None:
    """95 psi at a basin with nothing running: over the code's 80."""
    readings = (GaugeReading(at="upstairs basin (cold)", pressure=95 * PSI),)
    study = gauge(replace(house, readings=readings))

    assert [finding.code for finding in study.findings] == ["read-static-over-limit"]
    assert study.findings[0].level == "fail"
    assert study.findings[0].source is not None


def test_a_range_of_the_file_widens_what_is_explained(house: House) -> None:
    """By what its end makes of the reading: the ends of ± hold 95 of 100 cases, as gauges do."""
    text = (SCENARIOS / "ridge-cottage.toml").read_text(encoding="utf-8")
    rough = built(sc.loads(text.replace('"85 ft"', '"85 ± 40 ft"', 1)))
    longer = with_run(house, "service", lambda run: replace(run, length=125 * FOOT))
    sure, wide, far = (
        gauge(replace(each, readings=WANTED[2:3])).pressures[0] for each in (house, rough, longer)
    )

    assert rough.ranges
    assert wide.explained == pytest.approx(
        math.hypot(sure.explained, far.computed - sure.computed), rel=1e-6
    )


def test_without_readings_at_most_four_are_proposed() -> None:
    """In every scenario, and what they should be is what is then computed."""
    for path in sorted(SCENARIOS.glob("*.toml")):
        house = replace(sc.load(path), readings=())
        study = gauge(house)
        assert study.ok, path
        assert 2 <= len(study.to_read) <= 4, path
        exact = tuple(
            replace(
                it.reading,
                pressure=None if it.pressure is None else it.pressure[0],
                flow=None if it.flow is None else it.flow[0],
            )
            for it in study.to_read
        )
        assert gauge(replace(house, readings=exact)).agrees, path


def test_a_main_without_static_is_not_too_high_at_rest() -> None:
    """What the file does not tell is not held against the house."""
    main = sc.load(SCENARIOS / "old-farmhouse.toml")
    untold = replace(main, source=replace(main.source, static=None))
    high = (GaugeReading(at="yard tap", pressure=75 * PSI),)

    assert gauge(replace(untold, readings=high)).agrees
    assert not gauge(replace(main, readings=high)).agrees


def test_what_the_file_cannot_tell_is_an_error_at_its_line() -> None:
    """A pump without curve or bucket test gives no state alone."""
    house = built(sc.load(SCENARIOS / "ranch-on-slab.toml"))
    pump = house.source.pump
    house = replace(house, source=replace(house.source, pump=pump and replace(pump, curve=())))
    reading = GaugeReading(at="source", open=(), pressure=PSI, when="pump alone")
    with pytest.raises(InputError, match="pump gives alone"):
        gauge(replace(house, readings=(reading,)))


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_pages_are_plain(house: House, units: str) -> None:
    """A first screen of 30 lines, 36 columns wide too, and nothing claimed as certain."""
    truth = clogged(house, "cartridge filter", loss=20 * PSI, flow=7 * GPM)
    study = study_of(house, truth, leave=4)
    first = to_text(gauge_first(study, units), units)
    narrow = to_text(gauge_page(study, units), units, width=36)

    assert len(first.splitlines()) <= 30
    assert max(map(len, first.splitlines())) <= 80
    assert max(map(len, narrow.splitlines())) <= 36
    assert "no proof" in first
