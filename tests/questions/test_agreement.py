"""Questions about one house never contradict each other, and none tells a pressure below zero.

All commands that give a verdict, over the scenarios and some fifty odd houses: weak wells, low
switches, jet and constant-pressure pumps, long lines, tall houses, mains with and without reducing
valves, old lines of unknown size, the books of other countries. What must agree is common practice,
no source: verdict, worst fixture, design flow, pressures, sizes, and what mends a house.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from msgspec.structs import replace

from supplycalc.chance.daily import daily_use
from supplycalc.model import House, Pump, Run, Tank, Well
from supplycalc.problems import InputError
from supplycalc.questions.check.study import check
from supplycalc.questions.compare.study import compare
from supplycalc.questions.day.study import day
from supplycalc.questions.demand.study import DemandComparison, compare_demand
from supplycalc.questions.flow.study import flow
from supplycalc.questions.hot.study import hot_of
from supplycalc.questions.layout.study import layout
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.questions.parts.study import parts
from supplycalc.questions.size.page import size_page
from supplycalc.questions.size.study import size
from supplycalc.questions.slab.study import SlabStudy, slab
from supplycalc.questions.well.findings import CODES
from supplycalc.questions.well.study import well_check
from supplycalc.reading import load
from supplycalc.reading.build import read
from supplycalc.sizing.design import Design, pump_verdict
from supplycalc.supply.day_need import day_need
from supplycalc.supply.station import pump_station
from tests.houses import FOOT, GPM, PSI, cold_fixture, two_storey, well
from tests.questions.odd_houses import ODD
from tests.supply.stations import CURVE, GALLON

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
TANK = Tank(volume=44.0 * GALLON, precharge=38.0 * PSI)
BORED = Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT, diameter=0.15)


def weak(scale: float, **more: object) -> House:
    """The test house on a pump of so much of the usual flow."""
    pump = Pump(curve=tuple((scale * q, h) for q, h in CURVE))
    source = replace(well(), pump=pump, tank=TANK, well=replace(BORED, **more))
    return two_storey(source=source)


def odd_houses() -> dict[str, House]:
    """Wells that used to be judged differently by different questions."""
    bucket = Pump(measured_flow=4.0 * GPM, measured_pressure=50.0 * PSI)
    low = Pump(curve=((0.0, 100.0 * FOOT), (20.0 * GPM, 40.0 * FOOT)))
    held = Pump(curve=CURVE, kind="constant-pressure", set_pressure=50.0 * PSI)
    tall = (cold_fixture("roof", "hose-bibb", "hall", 20.0, elevation=18.0),)
    return {
        "enough by the trade's rules": weak(0.8),
        "too small": weak(0.3),
        "never reaches cut-in": two_storey(source=replace(well(), pump=low, well=BORED)),
        "weak well": weak(0.8, recovery=3.0 * GPM),
        "very weak well": weak(1.0, recovery=0.5 * GPM),
        "bucket test alone": two_storey(source=replace(well(30.0, 50.0), pump=bucket, tank=TANK)),
        "curve without a level": two_storey(source=replace(well(), pump=held, tank=TANK)),
        "constant pressure": two_storey(source=replace(well(), pump=held, well=BORED)),
        "no pump told": two_storey(source=well()),
        "too high a house": two_storey(source=well(20.0, 40.0), fixtures=tall),
    }


HOUSES = (
    {path.stem: load(path) for path in SCENARIOS}
    | odd_houses()
    | {name: read(text, f"{name}.toml") for name, text in ODD.items()}
)


def pressures(data: Any, key: str = "") -> Iterator[tuple[str, float]]:
    """Every quantity of pressure with its key."""
    if isinstance(data, dict) and set(data) == {"value", "unit"}:
        if data["unit"] in ("psi", "kPa"):
            yield key, data["value"]
    elif isinstance(data, dict):
        for name, value in data.items():
            yield from pressures(value, name)
    elif isinstance(data, list):
        for value in data:
            yield from pressures(value, key)


DIFFERENCES = {"margin", "worst_margin", "static_change", "static_gain", "loss"}
"""Keys of what may be below zero: a margin or a change is no pressure."""


@pytest.fixture(scope="module", params=HOUSES, ids=lambda name: name.replace(" ", "-"))
def design(request: pytest.FixtureRequest) -> Design:
    """Each house, sized with its remedies."""
    return size(HOUSES[request.param])


class Answers(NamedTuple):
    """What slower commands say of a house."""

    poured: SlabStudy
    demanded: DemandComparison
    bought: PartsList


@pytest.fixture(scope="module")
def answers(design: Design) -> Answers:
    """Asked once for each house."""
    house = design.house
    return Answers(slab(house), compare_demand(house), parts(house))


def test_no_pressure_below_zero(design: Design) -> None:
    """In the data of `size`, `flow`, `slab` and `well`, and on the page of `size`."""
    house = design.house
    results = [design, slab(house), flow(house, tuple(f.name for f in house.fixtures[:3]))]
    if house.source.kind == "well":
        results.append(well_check(design))
    for result in results:
        below = {
            key: value
            for key, value in pressures(result.to_dict())
            if value < 0.0 and key not in DIFFERENCES
        }
        assert below == {}, type(result).__name__
    page = " ".join(getattr(block, "text", "") for block in size_page(design, "us"))
    assert not re.search(r"(?<![\d-])-\d+\.\d psi", page)


def test_well_and_size_judge_the_pump_alike(design: Design) -> None:
    """The same sentence, the same findings, and neither passes what the other fails."""
    if design.pump is None:
        return
    check = well_check(design)
    of_size = [finding for finding in design.findings if finding.code in CODES]
    said = pump_verdict(design.pump, "us")

    assert [finding for finding in check.findings if finding.code in CODES] == of_size
    assert said in check.verdict("us") or design.pump.state == "too-small" or not check.ok
    if any(finding.level == "fail" for finding in of_size):
        assert not check.ok
        assert not design.ok
    if check.holds is not None:
        assert check.holds is (design.pump.state == "holds")
    assert (check.duty is None) or design.pump.duty_head is not None


def test_no_two_findings_ask_for_opposite_things(design: Design) -> None:
    """Not a larger and a smaller pump; and from a well that is the limit neither of them."""
    findings = design.findings
    if design.pump is not None:
        findings = (*findings, *well_check(design).findings)
    remedies = [finding.remedy_said("us") for finding in findings]
    larger = [text for text in remedies if "larger pump," in text or "a pump that gives" in text]
    smaller = [text for text in remedies if "smaller pump" in text or "a pump of" in text]

    assert not (larger and smaller)
    if design.pump is not None and design.pump.well_is_the_limit:
        assert larger == []


def test_as_many_people_draw_in_daily_use_as_the_well_is_planned_for() -> None:
    """A house with more baths than the usual family has people for, and no number in its file."""
    house = load(Path(__file__).parents[2] / "scenarios" / "bunkhouse.toml")
    use = daily_use(size(house, mend=False))

    assert house.project.people is None
    assert use is not None
    assert day_need(house).people == use.people == 16


def test_flow_promises_no_more_than_pump_and_well_keep(design: Design) -> None:
    """All outlets open: where the pump is short of them, or the well, there is a finding."""
    study = flow(design.house, tuple(fixture.name for fixture in design.house.fixtures))
    codes = {finding.code for finding in study.findings}
    lasting = study.lasting
    if lasting is None:
        return
    assert ("pump-short" in codes) is (lasting.pump_keeps_up is False)
    assert ("well-short" in codes) is (lasting.well_keeps_up is False)
    if lasting.full_tank_time is not None and lasting.low_tank_time is not None:
        assert lasting.full_tank_time >= lasting.low_tank_time >= 0.0


def test_the_verdict_is_one(design: Design, answers: Answers) -> None:
    """`parts`, `slab` and `demand` pass what `size` passes, and name its worst fixture."""
    worst, (poured, demanded, bought) = design.worst, answers
    row = next(row for row in demanded.methods if row.method == demanded.method)

    assert bought.ok == design.ok
    assert row.ok == design.ok
    assert row.worst is not None
    assert (row.worst.name, row.worst.side) == (worst.fixture.name, worst.side)
    assert row.worst.margin == pytest.approx(worst.margin)
    assert poured.ok == design.ok
    assert (poured.worst.name, poured.worst.side) == (worst.fixture.name, worst.side)


def test_design_flow_pressure_and_sizes_are_one(design: Design, answers: Answers) -> None:
    """The same flow at the source by `demand` and `well`, the same sizes by `slab` and `parts`."""
    house, flows = design.house, design.demand.design_flow
    demanded = answers.demanded
    row = next(row for row in demanded.methods if row.method == demanded.method)
    run = design.run(demanded.run)

    assert row.design_flow == pytest.approx(run.design_flow)
    assert row.size == run.nominal
    for line in answers.poured.runs:
        assert line.result.nominal == design.sizes[line.result.name]
        assert line.result.design_flow == pytest.approx(design.run(line.result.name).design_flow)
    bought = {
        (name, item.size) for item in answers.bought.items if item.group == "pipe"
        for place in item.places for name in place.split(" + ")
    }  # fmt: skip
    assert bought <= set(design.sizes.items()) | {
        (link.name, link.size) for link in house.before_tank if isinstance(link, Run)
    }
    if house.source.kind == "well":
        check = well_check(design)
        assert check.design_flow == pytest.approx(flows[0])
        now = [switch for switch in check.switches if switch.now]
        assert all(switch.margin == pytest.approx(design.worst.margin) for switch in now)


def test_compare_at_the_chosen_size_shows_the_design(design: Design) -> None:
    """The size that was chosen for the service gives verdict, worst fixture and margin of `size`;
    other settings of a pump that holds its pressure are called by what is set."""
    service, house = design.service, design.house
    if service is None or service.run.existing:
        return
    (option,) = compare(house, run=service.name, sizes=(service.nominal,)).options

    assert option.ok == design.ok
    assert option.design is not None
    if design.ok:
        assert option.design.sizes == design.sizes
        assert option.design.worst.margin == pytest.approx(design.worst.margin)
    if house.source.kind == "well" and design.pump is not None:
        setting = compare(house, cut_in=(design.pump.pressure,))
        assert setting.setting == ("set pressure" if design.pump.held else "cut-in")
        assert setting.ok == design.ok


def test_what_mends_a_house_is_told_alike(design: Design, answers: Answers) -> None:
    """A house that fails for pressure has a change that was computed, or none is found by any
    command; a pump's change is the one that `well` asks for; none asks for the absurd."""
    if design.ok:
        assert design.remedies == ()
        return
    said = design.verdict("us")
    for remedy in design.remedies:
        assert remedy.worst_margin >= -1.0
        assert remedy.mends != "pressure" or design.shortfall > 0.0
        assert absurd(design, dict(remedy.sizes)) == []
    if design.remedies and design.remedies[0].mends == "pressure":
        assert "not mend" not in said
        assert "not mend" not in answers.bought.answer("us")
    pumps = [remedy for remedy in design.remedies if remedy.mends == "pump"]
    if pumps:
        asked = [it for it in well_check(design).findings if it.code == "pump-cannot-hold"]
        assert asked[0].remedy_values == pumps[0].values[:2]


def absurd(design: Design, sizes: dict[str, str]) -> list[str]:
    """Runs of a change in 2 inch or more, that are short and that no velocity asks for."""
    return [
        name
        for name, nominal in sizes.items()
        if nominal in ("2", "2-1/2", "3")
        and (run := design.run(name)).length < 60.0
        and run.run.size is None
        and not run.run.existing
        and not run.run.sizes
    ]


def test_a_day_and_a_draw_do_not_gainsay_the_verdict(design: Design) -> None:
    """In a house that works the worst fixture runs alone; a day in one that fails says so, and
    hot water is there where its pressure is."""
    house = design.house
    alone = flow(house, (design.worst.fixture.name,))
    if design.ok:
        assert not {"no-water", "dry"} & {it.code for it in alone.findings if it.level == "fail"}
    if house.project.name in ("Bunkhouse", "guests"):
        return
    if any(outlet.side == "hot" for outlet in design.outlets):
        codes = {finding.code for finding in hot_of(design).findings if finding.level == "fail"}
        assert not (design.ok and "hot-dry" in codes)
    if house.source.kind == "well" and pump_station(house) is None:
        return
    try:
        run_through = day(design, seed=3)
    except InputError:  # a file that says too little of the tank
        return
    levels = {finding.level for finding in run_through.findings}
    if design.ok and design.pump is not None and design.pump.state == "holds":
        assert run_through.ok
    if not design.ok:
        assert levels & {"warn", "fail"}


def test_check_reads_the_house_and_layout_knows_it(design: Design) -> None:
    """What is checked is what is sized, in the same lengths; each layout told, written and sized
    again, has the verdict that was told."""
    read_as = {link.name: link for link in check(design.house).links}

    for result in design.runs:
        length = read_as[result.name].length
        assert length is not None
        assert length == pytest.approx(result.run.length)
    small = len(design.house.fixtures) < 8
    if small and all(fixture.at is not None for fixture in design.house.fixtures):
        for option in layout(design.house).options:
            again = size(option.house, mend=False)
            assert again.ok == option.design.ok
            assert again.worst.margin == pytest.approx(option.design.worst.margin)
