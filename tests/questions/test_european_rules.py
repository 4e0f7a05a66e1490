"""A house by a European method reads European rules on every page, and no American ones.

The houses are invented. Rules: 3 litres between heater and outlet (DVGW W 551), hot water 30 s
after an outlet is opened (DIN 1988-200), 10 s at basin and sink (VDI 6003, highest step), test
pressure 1.1 times the greatest design pressure of 10 bar for 10 minutes (EN 806-4, method A; the
10 bar of EN 806-2 are from memory), a hose behind a tap of type HD up to category 3 (EN 1717), 2
m/s in shared pipe and 4 m/s in pipe to one draw-off (EN 806-3, 4.4).
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

import supplycalc as sc
from supplycalc.questions.slab.checklist import checklist, pressure_tests
from tests.commands.files import SCENARIOS, run
from tests.findings.judging import findings_of
from tests.verdicts.metric import flat, metric_house, metric_main, metric_well

AMERICAN = re.compile(
    r"International|Uniform Plumbing|IRC|IPC\b|UPC|NFPA|ASPE|WaterSense|EPA\b|New York|Nashville"
    r"|[Rr]esidential code|[Ee]nergy code|the plumbing code|\binch\b|\b12 in\b|degF|psi\b|gpm"
)
TAP = (("garden tap", "hose-bibb", 0.5, 6.0, "c"),)
HOUSES = {
    "din1988": metric_house("Haus", metric_main(4.0, 3.6), (*flat(2.8), *TAP)),
    "en806": metric_house(
        "Hus", metric_well(), (*flat(2.8), *TAP), demand="en806", service=30
    ).replace('buried = "1.2 m"', 'buried = "0.5 m"\nembedded = true'),
    "far": metric_house(
        "Far",
        metric_main(4.0, 3.6),
        (("far basin", "lavatory", 0.8, 40.0, "ch"), *flat(2.8)),
    ),
}
COMMANDS = (
    ("check",),
    ("size",),
    ("size", "--full"),
    ("hot",),
    ("slab",),
    ("flow", "--open", "shower"),
    ("parts",),
)


def path_of(tmp_path: Path, name: str) -> Path:
    path = tmp_path / "house.toml"
    path.write_text(HOUSES[name], "utf-8")
    return path


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
@pytest.mark.parametrize("name", HOUSES)
def test_no_american_rule_on_a_european_page(
    tmp_path: Path, name: str, command: tuple[str, ...]
) -> None:
    word, *more = command
    told = " ".join(run(word, path_of(tmp_path, name), *more).stdout.split())
    assert told
    found = AMERICAN.search(told)
    assert found is None, told[max(0, found.start() - 200) : found.end() + 100]


def hot(tmp_path: Path, name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(run("hot", path_of(tmp_path, name), "--json").stdout)
    return data


def test_three_litres(tmp_path: Path) -> None:
    """12 mm inside: 3 litres stand in 26.5 m; 40 m of it hold 4.5."""
    data = hot(tmp_path, "far")
    limits = {outlet["name"]: outlet["limits"] for outlet in data["outlets"]}
    for checks in limits.values():
        (check,) = checks
        assert check["name"] == "three-litres"
        assert check["limit"] == {"value": 3.0, "unit": "L"}
    assert not limits["far basin"][0]["kept"]
    assert limits["kitchen"][0]["kept"]
    codes = {finding["code"]: finding for finding in data["findings"]}
    assert codes["hot-three-litres"]["level"] == "note"
    assert codes["hot-three-litres"]["where"] == "far basin"
    assert "W 551" in codes["hot-three-litres"]["source"]
    assert "DIN 1988-200" in codes["hot-wait"]["source"]
    assert not {"hot-length", "hot-length-plumbing", "hot-volume", "hot-stored"} & set(codes)


def test_test_pressure_of_en_806_4() -> None:
    """1.1 times 10 bar, or 1.1 times what stands there, where that is more."""
    usual, high = (
        {test.title: test for test in pressure_tests(bar * 1e5, {"pex"}, book="european")}
        for bar in (5.2, 12.0)
    )
    (name,) = (title for title in usual if title.startswith("EN 806-4"))
    assert usual[name].pressure == pytest.approx(11e5)
    assert usual[name].minutes == 10
    assert high[name].pressure == pytest.approx(13.2e5)
    assert not any("Code" in title for title in usual)


def test_depth_follows_the_frost() -> None:
    items = checklist({"pex"}, buried=True, embedded=True, frost_depth=0.8, book="european")
    assert items[0].title == "Depth"
    assert items[0].least_cover == pytest.approx(0.8)
    assert {"Sewer", "Pressure test", "Slab sleeve", "Record"} <= {item.title for item in items}


def test_protection_of_the_garden_tap() -> None:
    design = sc.size(sc.loads(HOUSES["din1988"]))
    (finding,) = (each for each in design.findings if each.code == "hose-connection")
    assert "HD" in finding.remedy
    assert "category 3" in finding.remedy
    assert "EN 1717" in str(finding.source)


def test_safety_valve_of_the_heater() -> None:
    house = (
        HOUSES["din1988"]
        .replace(
            '[[run]]\nname = "cold main"\nfrom = "entry"',
            '[[device]]\nname = "check valve"\nkind = "check"\nfrom = "entry"\nto = "guarded"\n'
            '[[run]]\nname = "cold main"\nfrom = "guarded"',
        )
        .replace('name = "heater feed"\nfrom = "entry"', 'name = "heater feed"\nfrom = "guarded"')
    )
    (finding,) = findings_of(sc.loads(house), "thermal-expansion")
    assert "safety valve" in finding.remedy
    assert "DIN 1988-200" in str(finding.source)


def test_velocities_of_en_806_3() -> None:
    """2 m/s in pipe that several draw-offs share, 4 m/s to one, whatever the tube."""
    for method in ("din1988", "en806"):
        text = metric_house("v", metric_main(4.0, 3.6), flat(2.8), demand=method)
        for result in sc.size(sc.loads(text)).runs:
            alone = result.run.fixture is not None
            assert result.velocity_limit == pytest.approx(4.0 if alone else 2.0), result.name
    american = metric_house("v", metric_main(4.0, 3.6), flat(2.8), demand="irc")
    assert {run.velocity_limit for run in sc.size(sc.loads(american)).runs} != {2.0, 4.0}


def test_fast_water_is_warned_of_by_the_standard() -> None:
    text = metric_house("v", metric_main(4.0, 3.6), flat(2.8)).replace(
        'sizes = ["25x2.3", "32x3.0", "40x3.7"]', 'size = "20x2.0"'
    )
    (finding,) = findings_of(sc.loads(text), "velocity-over-limit")
    assert "EN 806-3" in str(finding.source)


@pytest.mark.parametrize(("size", "told"), [("25x2.3", True), ("32x3.0", False)])
def test_a_service_is_usually_dn_25(size: str, told: bool) -> None:
    """32 mm of PE 100 is DN 25; a note by common practice, no failure."""
    text = HOUSES["din1988"].replace('sizes = ["25x2.3", "32x3.0", "40x3.7"]', f'size = "{size}"')
    found = findings_of(sc.loads(text), "service-under-minimum")
    assert [finding.level for finding in found] == (["note"] if told else [])
    there = text.replace(f'size = "{size}"', f'size = "{size}"\nexisting = true')
    assert findings_of(sc.loads(there), "service-under-minimum") == []


def test_an_inch_service_is_not_held_against_the_american_minimum() -> None:
    """By a European method 1/2 inch polyethylene is told of, not failed by an American code."""
    text = (
        HOUSES["din1988"]
        .replace('"pe100-sdr11"', '"pe-cts-sdr9"')
        .replace('sizes = ["25x2.3", "32x3.0", "40x3.7"]', 'size = "3/4"')
    )
    (finding,) = findings_of(sc.loads(text), "service-under-minimum")
    assert finding.level == "note"
    assert AMERICAN.search(f"{finding.message} {finding.source}".replace("3/4 inch", "")) is None


def test_the_uniform_code_is_cited_where_it_holds(tmp_path: Path) -> None:
    """Plan reviewers of a UPC house read UPC clauses (from memory)."""
    house = sc.load(SCENARIOS / "valley-house.toml")
    for finding in sc.size(house).findings:
        assert finding.source is None or "International Residential" not in str(finding.source)
    study = sc.slab(house)
    cited = {str(item.source) for item in (*study.checklist, *study.tests)}
    assert any("609.4" in source for source in cited)
    assert not any(re.search(r"International|New York|Nashville", source) for source in cited)
    depth = next(item for item in study.checklist if item.title == "Depth")
    assert depth.least_cover == pytest.approx(24 * 0.0254)  # 12 in of frost and 12 in below it


def test_a_metric_well_is_offered_switches_in_bar() -> None:
    """2.0/3.5, 2.5/4.0 and the like, as gauges there show; none of 2.07/3.45."""
    check = sc.well(sc.load(SCENARIOS / "lake-hut.toml"))
    settings = {(option.cut_in / 1e5, option.cut_out / 1e5) for option in check.switches}
    assert (2.5, 4.0) in settings
    assert all(round(low * 20) == pytest.approx(low * 20) for low, _ in settings)
    # no method of a book, metric units: 500 kPa at rest, not 80 psi
    assert {option.limit for option in check.switches} == {500e3}


def test_the_first_screen_names_the_method(tmp_path: Path) -> None:
    told = run("size", path_of(tmp_path, "din1988")).stdout
    assert "'din1988' (DIN 1988-300, Table 3)" in " ".join(told.split())
