"""Several wells on one tank: each one's share, what lasts, and what is told of them."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.delivery.source_cases import pump_law
from supplycalc.model import House, Pump
from supplycalc.model.field_paths import map_runs
from supplycalc.questions.size.study import size
from supplycalc.questions.well.study import well_check
from supplycalc.reading import loads
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.design import Design
from supplycalc.supply.several_wells import joint_elevation, wells_alone
from supplycalc.supply.station import pump_station
from supplycalc.supply.supply_curve import (
    WellsTogether,
    flow_at_pressure,
    pump_pressure,
    supply_curve,
)
from supplycalc.supply.well_shares import sustained_by_all, well_shares
from tests.houses import FOOT, GPM, PSI
from tests.two_wells import BOTH, FIRST, SECOND

PIPE = st.sampled_from(("3/4", "1", "1-1/4"))


def fixed(text: str, size: str = "1") -> House:
    """The house with one size for every run that has none."""
    return map_runs(loads(text, "two.toml"), lambda run: replace(run, size=run.size or size))


def twins(size: str, feet: float) -> House:
    """Two wells alike in everything, by lines alike, with a line in common of so many feet."""
    house = fixed(BOTH, size)
    drop, trench, _ = house.line
    shared = replace(house.line[2], length=feet * FOOT)
    own = (drop, trench)
    [lower] = house.further_wells
    assert house.source.well is not None
    assert house.source.pump is not None
    same = replace(
        lower,
        well=replace(house.source.well, name="twin", elevation=house.source.elevation),
        pump=house.source.pump,
        line=tuple(replace(link, name=f"twin {link.name}") for link in own),
    )
    return replace(house, line=(*own, shared), joined_wells=(same,))


@settings(max_examples=25, deadline=None)
@given(PIPE, st.floats(1.0, 900.0), st.floats(0.0, 70.0))
def test_twins_give_half_each(size: str, feet: float, psi: float) -> None:
    """And together what one gives at the pressure that the line in common leaves it."""
    house = twins(size, feet)
    wells = WellsTogether(house)

    one, other = wells.flows_at(psi * PSI)
    joint = wells.joint_pressure(psi * PSI)

    assert one == other
    assert joint == pytest.approx(psi * PSI + wells.lost(one + other), abs=1e-3)
    assert one == pytest.approx(flow_at_pressure(wells.apart[0], joint), rel=1e-12)


@settings(max_examples=25, deadline=None)
@given(PIPE, st.floats(0.0, 100.0))
def test_order_does_not_matter(size: str, psi: float) -> None:
    """The wells may change places, with their lines."""
    house = fixed(BOTH, size)
    [lower] = house.further_wells
    assert house.source.well is not None
    assert house.source.pump is not None
    first = replace(
        lower,
        well=replace(house.source.well, name="upper", elevation=house.source.elevation),
        pump=house.source.pump,
        line=house.line[:2],
    )
    swapped = replace(
        house,
        source=replace(house.source, well=lower.well, pump=lower.pump),
        line=(*lower.line, house.line[2]),
        joined_wells=(first,),
    )

    one, other = WellsTogether(house).flows_at(psi * PSI)
    again = WellsTogether(swapped).flows_at(psi * PSI)

    assert again == pytest.approx((other, one), rel=1e-9, abs=1e-15)


def test_without_the_second_it_is_the_single_well_to_the_last_digit() -> None:
    """One well alone is the file without the other; so are its sizes."""
    both, single = loads(BOTH, "two.toml"), loads(FIRST, "one.toml")
    alone = replace(both, joined_wells=())

    sized, other = size(alone), size(single)

    assert sized.sizes == other.sizes
    assert sized.cost == other.cost
    house = with_sizes(single, other.sizes)
    seen = wells_alone(with_sizes(both, {**size(both).sizes, **other.sizes}))[0]
    for psi in (0.0, 35.0, 60.0, 90.0):
        assert flow_at_pressure(seen, psi * PSI) == flow_at_pressure(house, psi * PSI)


def test_the_law_of_all_is_the_sum_at_one_pressure() -> None:
    """Flow over pressure and pressure over flow agree, also where one pump is shut off; the law's
    slope is that of its differences; the supply curve follows it."""
    house = fixed(BOTH)
    curve, law = supply_curve(house, level_follows=True), pump_law(house)
    for psi in (0.0, 20.0, 40.0, 60.0, 80.0, 95.0):
        flow = flow_at_pressure(house, psi * PSI)

        assert pump_pressure(house, flow) == pytest.approx(psi * PSI, abs=1e-2)
        assert curve.flow_at(psi * PSI) == pytest.approx(flow, abs=0.005 * GPM)
        step = 1e-4 * GPM
        rise = (pump_pressure(house, flow + step) - pump_pressure(house, flow - step)) / (2 * step)
        assert law(flow)[0] == pytest.approx(psi * PSI, abs=1e-2)
        assert law(flow)[1] == pytest.approx(rise, rel=2e-2)


def test_a_joint_below_the_gauge_is_seen_at_its_own_height() -> None:
    """Lines that meet lower meet under more pressure; the flows follow from each lift all the same,
    so that a line without friction gives what two wells at the tank give."""
    low = BOTH + '\n[[point]]\nname = "well tee"\nelevation = "-26 ft"\n'
    house = fixed(low, "2")
    short = map_runs(
        house, lambda run: replace(run, length=1e-3) if run.name == "tee to house" else run
    )
    wells = WellsTogether(short)

    assert joint_elevation(short) == pytest.approx(-26.0 * FOOT)
    assert wells.rise == pytest.approx(20.0 * FOOT * 9804.0, rel=1e-3)
    level = fixed(BOTH, "2")
    level = map_runs(
        level, lambda run: replace(run, length=1e-3) if run.name == "tee to house" else run
    )
    assert wells.flows_at(40.0 * PSI) == pytest.approx(
        WellsTogether(level).flows_at(40.0 * PSI), rel=2e-3
    )


def codes(design: Design) -> dict[str, str]:
    """The levels of a design's findings by their codes."""
    return {finding.code: finding.level for finding in design.findings}


def test_each_well_that_is_outrun_is_told_with_the_sum() -> None:
    """3 and 2 gpm: both pumps give more than their wells; all sustain 5."""
    design = size(loads(BOTH, "two.toml"))
    told = [each for each in design.findings if each.code == "well-outrun"]

    assert {each.where for each in told} == {"first well", "lower well"}
    assert all("5.0 gpm" in each.said("us") for each in told)
    assert design.pump is not None
    assert design.pump.sustained == pytest.approx(5.0 * GPM)
    assert "the wells sustain only 5.0 gpm" in design.verdict("us")


def test_the_smaller_of_pump_and_well_counts() -> None:
    """A well that sustains 20 gpm lasts no longer than its pump."""
    rich = BOTH.replace('recovery = "3 gpm"', 'recovery = "20 gpm"')
    house = with_sizes(loads(rich, "two.toml"), size(loads(rich, "two.toml")).sizes)
    first, lower = well_shares(house)

    assert first.lasting == first.at_cut_in
    assert sustained_by_all(house) == pytest.approx(first.at_cut_in + 2.0 * GPM)
    assert first.share + lower.share == pytest.approx(1.0)
    assert first.alone > first.at_cut_in


def test_a_pump_that_the_other_holds_shut_is_told() -> None:
    """At cut-in it fails; at cut-out alone it warns, for it churns at the end of each run."""
    weak = 'curve = [["0 gpm", "{} ft"], ["5 gpm", "100 ft"], ["10 gpm", "60 ft"]]'
    old = 'curve = [["0 gpm", "240 ft"], ["5 gpm", "220 ft"], ["10 gpm", "170 ft"]]'
    shut, late = (size(loads(BOTH.replace(old, weak.format(top)), "t")) for top in (130, 180))

    assert codes(shut)["pump-shut-off"] == "fail"
    assert codes(late)["pump-shut-off"] == "warn"
    assert not shut.ok
    [told] = [each for each in shut.findings if each.code == "pump-shut-off"]
    assert told.where == "lower well"
    shares = well_shares(with_sizes(loads(BOTH.replace(old, weak.format(130)), "t"), shut.sizes))
    assert shares[1].at_cut_in == 0.0
    assert shares[0].at_cut_in == pytest.approx(shares[0].alone, rel=1e-9)


def test_a_line_without_a_check_valve_is_told() -> None:
    """One pump would push water down the other well."""
    bare = loads(BOTH.replace(", check_valves = 1", ""), "two.toml")
    one = loads(FIRST + SECOND.replace(", check_valves = 1", ""), "two.toml")

    assert codes(size(bare))["well-backflow"] == "warn"
    [told] = [each for each in size(one).findings if each.code == "well-backflow"]
    assert told.where == "lower well"
    assert "well-backflow" not in codes(size(loads(BOTH, "two.toml")))


def test_lines_are_sized_for_their_shares() -> None:
    """Each line and the one in common stand in the schedule with what flows through it, the shares
    add, and the tank gets what the widest lines would give but for a twentieth, or the peak."""
    house = loads(BOTH, "two.toml")
    design = size(house)
    flows = {run.name: run.design_flow for run in design.every_run}
    shares = well_shares(with_sizes(house, design.sizes))

    assert flows["trench"] == pytest.approx(shares[0].at_cut_in)
    assert flows["lower trench"] == pytest.approx(shares[1].at_cut_in)
    assert flows["tee to house"] == pytest.approx(flows["trench"] + flows["lower trench"])
    wide = with_sizes(house, {**design.sizes, **dict.fromkeys(
        ("trench", "lower trench", "tee to house"), "2")})  # fmt: skip
    most = math.fsum(share.at_cut_in for share in well_shares(wide))
    assert flows["tee to house"] >= 0.95 * min(most, design.demand.design_flow[0]) * (1 - 1e-6)


def test_no_other_sizes_of_the_lines_cost_less() -> None:
    """Of all choices that give the peak, none too fast with what the pumps then give."""
    house = loads(BOTH, "two.toml")
    lines = ("trench", "lower trench", "tee to house")
    works = []
    for sizes in itertools.product(("3/4", "1", "1-1/4"), ("3/4", "1"), ("3/4", "1", "1-1/4")):
        fixed = size(with_sizes(house, dict(zip(lines, sizes, strict=True))))
        given = math.fsum(share.at_cut_in for share in well_shares(fixed.house))
        fast = {it.where for it in fixed.findings if it.code == "velocity-over-limit"}
        if given >= fixed.demand.design_flow[0] and fast.isdisjoint(lines):
            works.append(fixed.cost)

    assert 1 < len(works) < 18
    assert size(house).cost == pytest.approx(min(works), rel=1e-9)


def test_the_station_fills_the_tank_with_both() -> None:
    """Run time and starts follow from the sum; `well` tells what one alone gives."""
    house = loads(BOTH, "two.toml")
    design = size(house)
    check = well_check(design)
    station = pump_station(design.house)

    assert station is not None
    total = math.fsum(share.at_cut_in for share in check.shares)
    assert station.supply_curve.flow_at(station.cut_in) == pytest.approx(total, abs=0.005 * GPM)
    assert check.points[0].flow == station.supply_curve.flow_at(station.cut_in)
    assert [share.name for share in check.shares] == ["first well", "lower well"]
    assert check.ok


def test_a_bucket_test_of_the_second_pump_is_enough() -> None:
    """It was taken with the other pump off, so that alone it gives just that."""
    measured = BOTH.replace(
        'curve = [["0 gpm", "240 ft"], ["5 gpm", "220 ft"], ["10 gpm", "170 ft"]]',
        'measured_flow = "5 gpm"\nmeasured_pressure = "40 psi"',
    )
    house = with_sizes(loads(measured, "t"), size(loads(measured, "t")).sizes)
    _, lower = well_shares(house)

    assert lower.alone == pytest.approx(5.0 * GPM, rel=1e-3)
    assert lower.at_cut_in < lower.alone
    assert isinstance(house.further_wells[0].pump, Pump)
