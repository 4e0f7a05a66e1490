"""Each method by its own book: what a fixture draws and needs, its smallest branch, limits at rest.

The houses are invented. Figures: UPC 608.1 (15 psi), UPC Table 610.3 (branches of 1/2 inch), DIN
1988-300 Table 2 and EN 806-3 Table 2 as two prints each have them; 100 kPa by EN 806-3 from memory.
"""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.demand import DEMAND_METHODS, method_record
from supplycalc.model import House, WaterSource
from supplycalc.network import build_tree
from supplycalc.output.blocks import Paragraph
from supplycalc.questions.check.page import check_page
from supplycalc.questions.check.study import check
from supplycalc.questions.size.page import size_page
from supplycalc.sizing.design import Design
from tests.demand.houses import home_runs, house_of
from tests.findings.judging import findings_of, sized

PSI = 6894.757293168361
LITRE = 1e-3
HOUSE = ["tub-shower", "shower", "lavatory", "water-closet", "kitchen-sink", "clothes-washer"]


def needs(method: str, kinds: list[str] = HOUSE) -> dict[str, tuple[float, float]]:
    """Kind -> (flow [m3/s], pressure [Pa]) of the outlets."""
    tree = build_tree(home_runs(kinds, method))
    return {outlet.fixture.kind: (outlet.flow, outlet.required_pressure) for outlet in tree.outlets}


def test_the_uniform_code_asks_15_psi_everywhere() -> None:
    asked = needs("upc")
    assert {kind: pressure / PSI for kind, (_, pressure) in asked.items()} == pytest.approx(
        dict.fromkeys(asked, 15.0)
    )


def test_a_flushometer_valve_asks_for_what_its_maker_wants() -> None:
    # IPC Table 604.3: 35 psi, more than the code's 15
    assert needs("upc", ["flush-valve-closet"])["flush-valve-closet"][1] / PSI == pytest.approx(
        35.0
    )


def test_german_draw_offs() -> None:
    asked = needs("din1988")
    expected = {
        "tub-shower": (0.15, 100.0),
        "shower": (0.15, 100.0),
        "lavatory": (0.07, 100.0),
        "water-closet": (0.13, 50.0),
        "kitchen-sink": (0.07, 100.0),
        "clothes-washer": (0.15, 50.0),
    }
    for kind, (flow, pressure) in expected.items():
        assert asked[kind] == pytest.approx((flow * LITRE, pressure * 1e3))


def test_european_draw_offs() -> None:
    asked = needs("en806")
    for kind, flow in {"tub-shower": 0.4, "shower": 0.2, "lavatory": 0.1}.items():
        assert asked[kind] == pytest.approx((flow * LITRE, 100e3))


def test_american_outlets_stay() -> None:
    for method in ("irc", "ipc", "exact", "listed"):
        assert needs(method)["water-closet"][1] / PSI == pytest.approx(20.0)


def branches(house: House) -> dict[str, str]:
    design = sized(house)
    return {run.run.name: run.size.nominal for run in design.runs if run.run.fixture is not None}


def test_the_uniform_code_wants_half_inch_to_every_fixture() -> None:
    small = ["lavatory", "lavatory", "water-closet", "bidet", "drinking-fountain"]
    assert set(branches(home_runs(small, "upc")).values()) == {"1/2"}
    assert "3/8" in branches(home_runs(small, "irc")).values()


def test_the_manifold_exception_is_the_american_international_codes_own() -> None:
    kinds = ["lavatory", "shower"]
    fixed = home_runs(kinds, "upc")
    small = [
        replace(fixture, cold=replace(fixture.cold, size="3/8"))
        for fixture in fixed.fixtures
        if fixture.cold is not None
    ]
    house = replace(fixed, fixtures=tuple(small))
    assert len(findings_of(house, "size-under-fixture-minimum")) == 2
    assert not findings_of(house, "manifold-exception")


def at_rest(method: str, kilopascals: float) -> Design:
    house = house_of({"bath": ["lavatory"]}, method)
    pressure = kilopascals * 1e3
    source = WaterSource(kind="main", elevation=0.0, static=pressure, residual=pressure - 1e5)
    return sized(replace(house, source=source))


@pytest.mark.parametrize("method", ["din1988", "en806"])
def test_europe_allows_5_bar_at_rest(method: str) -> None:
    """EN 806-3: 500 kPa at a draw-off; the American codes allow 80 psi, 552 kPa."""
    (finding,) = findings_of(at_rest(method, 530.0), "static-over-limit")
    assert finding.source is not None
    assert "EN 806" in str(finding.source)
    assert not findings_of(at_rest(method, 490.0), "static-over-limit")
    assert not findings_of(at_rest("irc", 530.0), "static-over-limit")


def test_every_method_says_its_limit_at_rest() -> None:
    for name in DEMAND_METHODS:
        limit = method_record(name).max_static
        european = name in ("din1988", "en806")
        assert limit.value == pytest.approx(500e3 if european else 80.0 * PSI)


@pytest.mark.parametrize("method", ["din1988", "en806"])
def test_european_findings_name_european_rules(method: str) -> None:
    """60 degC is what DVGW W 551 advises: no warning there; 70 degC is one."""
    house = house_of({"bath": ["bathtub", "lavatory"], "alone": ["hose-bibb"]}, method)
    at_60, at_70 = (
        sized(replace(house, water=replace(house.water, hot=hot + 273.15))) for hot in (60.0, 70.0)
    )
    (told,) = findings_of(at_60, "scald")
    assert told.level == "note"
    assert "W 551" in str(told.source)
    assert [finding.level for finding in findings_of(at_70, "scald")] == ["warn"]
    assert not findings_of(at_60, "stored-hot")
    assert "EN 1717" in str(findings_of(at_60, "hose-connection")[0].source)
    for finding in at_60.findings:
        assert "International" not in str(finding.source)


def test_size_and_check_name_the_method_with_its_source() -> None:
    """One line each: what a reviewer asks first."""
    house = house_of({"bath": ["lavatory"]}, "din1988")
    for blocks in (size_page(sized(house), "metric"), check_page(check(house), "h", "metric")):
        text = "\n".join(block.text for block in blocks if isinstance(block, Paragraph))
        assert "'din1988' (DIN 1988-300, Table 3)" in text
