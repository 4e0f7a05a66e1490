"""Questions about one house never contradict each other, and none tells a pressure below zero.

The houses are the scenarios and a few odd wells: a weak pump, a weak well, a pump that never
reaches cut-in, one known by a bucket test, one without a water level, a house too high. What must
agree is common practice, no source: one verdict on the pump, one remedy for a weak well.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from supplycalc.model import House, Pump, Tank, Well
from supplycalc.questions.flow.study import flow
from supplycalc.questions.size.page import size_page
from supplycalc.questions.size.study import size
from supplycalc.questions.slab.study import slab
from supplycalc.questions.well.findings import CODES
from supplycalc.questions.well.study import well_check
from supplycalc.reading import load
from supplycalc.sizing.design import Design, pump_verdict
from tests.houses import FOOT, GPM, PSI, cold_fixture, two_storey, well
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


HOUSES = {path.stem: load(path) for path in SCENARIOS} | odd_houses()


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
