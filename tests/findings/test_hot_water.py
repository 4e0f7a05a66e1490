"""Scalding (120 degF: IRC P2713.3, as described; burn times: CPSC), shower valves, storage."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.model import Device, House, Limits, Project, Water
from supplycalc.sizing.changes import with_run
from tests.commands.files import SCENARIOS
from tests.findings.judging import fahrenheit, findings_of, only
from tests.houses import FOOT, mixed_fixture, two_storey


def at(degrees: float, valve: str | None = None, **more: object) -> House:
    """The house with hot water of a temperature [degF], and a valve at the bath."""
    house = two_storey(water=Water(hot=fahrenheit(degrees)), **more)
    fixtures = tuple(
        replace(fixture, valve=valve) if fixture.name == "bath" else fixture
        for fixture in house.fixtures
    )
    return replace(house, fixtures=fixtures)


def test_more_than_a_hundred_feet_of_hot_pipe_is_told_where_the_code_says_so() -> None:
    """IRC P2905.3: 95 ft of trunk and a branch of 8 ft or more; kept hot to its end it is none, and
    the Uniform code has no such rule."""
    far = with_run(two_storey(), "hot trunk", lambda run: replace(run, length=95.0 * FOOT))
    finding = only(far, "hot-length")
    kept = with_run(far, "hot trunk", lambda run: replace(run, circulated=True))

    assert finding.level == "fail"
    assert finding.values[0][0] > 100.0 * FOOT
    assert finding.values[1][0] == pytest.approx(100.0 * FOOT)
    assert findings_of(two_storey(), "hot-length") == []
    assert findings_of(kept, "hot-length") == []
    assert findings_of(replace(far, project=Project(name="x", demand="upc")), "hot-length") == []


def test_120_degrees_are_let_pass() -> None:
    """The limit itself is no finding, nor is the default of the model."""
    assert findings_of(at(120.0, "plain"), "scald") == []
    assert findings_of(two_storey(), "scald") == []


def test_a_plain_bath_over_120_degrees_is_a_warning_and_a_sink_a_note() -> None:
    """At 140 degF an adult's skin burns within 6 seconds (CPSC)."""
    warn, note = findings_of(at(140.0, "plain"), "scald")

    assert (warn.level, warn.where) == ("warn", "bath")
    assert warn.values[0][0] == pytest.approx(fahrenheit(140.0))
    assert warn.values[1][0] == pytest.approx(fahrenheit(120.0))
    assert "6 seconds" in warn.message
    assert warn.source is not None
    assert warn.source.check == "seen"
    assert (note.level, note.where) == ("note", "basin and sink")


@pytest.mark.parametrize(
    ("degrees", "time"),
    [(121.0, "5 minutes"), (130.0, "30 seconds"), (149.0, "6 seconds"), (150.0, "2 seconds")],
)
def test_burn_times(degrees: float, time: str) -> None:
    """The next lower row of the CPSC table is told, so that the time is never too short."""
    assert time in findings_of(at(degrees, "plain"), "scald")[0].message


@pytest.mark.parametrize("valve", ["pressure-balanced", "thermostatic"])
def test_a_protected_bath_is_not_warned_of(valve: str) -> None:
    """The file names the valve; basin and sink are left."""
    assert [finding.level for finding in findings_of(at(140.0, valve), "scald")] == ["note"]


def test_a_valve_that_is_only_assumed_guards_nobody() -> None:
    """IRC P2708.4 and P2713.3: 120 degF at tubs and showers; whose valve nobody named is warned."""
    warning, note = findings_of(at(140.0, None), "scald")

    assert (warning.level, warning.where) == ("warn", "bath")
    assert note.level == "note"


@pytest.mark.parametrize(("degrees", "warned"), [(110.0, False), (111.0, True), (145.0, True)])
def test_a_bidet_has_110_degf(degrees: float, warned: bool) -> None:
    """IRC P2721.2, lower than at a tub; a thermostatic valve that the file names ends it."""
    house = at(degrees, "thermostatic")
    bidet = mixed_fixture("bidet", "bidet", "hall", "hot hall")
    with_bidet = replace(house, fixtures=(*house.fixtures, bidet))
    guarded = replace(house, fixtures=(*house.fixtures, replace(bidet, valve="thermostatic")))
    scalds = [it for it in findings_of(with_bidet, "scald") if it.where == "bidet"]

    assert [finding.level for finding in scalds] == ["warn"] * warned
    assert not any(it.where == "bidet" for it in findings_of(guarded, "scald"))


def test_a_mixing_valve_behind_the_heater_guards_all_outlets() -> None:
    """Outlets behind it are left out, and with them the finding."""
    house = at(140.0, "plain")
    mixing = Device(name="mixer", kind="mixing-valve", start="heater outlet", end="mixed")
    runs = tuple(
        replace(run, start="mixed") if run.name == "hot trunk" else run for run in house.runs
    )

    note = only(replace(house, devices=(*house.devices, mixing), runs=runs), "scald")

    assert (note.level, note.where) == ("note", "sink")


def test_the_users_limit_fails() -> None:
    """Water hotter than the user's own limit fails, whatever the valve."""
    strict = at(118.0, "thermostatic", limits=Limits(max_hot=fahrenheit(110.0)))
    kept = at(110.0, "plain", limits=Limits(max_hot=fahrenheit(110.0)))

    finding = only(strict, "scald")

    assert finding.level == "fail"
    assert finding.values[1][0] == pytest.approx(fahrenheit(110.0))
    assert finding.source is not None
    assert finding.source.text == "your file"
    assert findings_of(kept, "scald") == []


def test_appliances_are_not_held_against_scalding() -> None:
    """Nobody touches the water of a dishwasher."""
    house = at(140.0, "thermostatic")
    washer = mixed_fixture("washer", "clothes-washer", "hall", "hot hall")
    house = replace(house, fixtures=(house.fixtures[0], washer))

    assert findings_of(house, "scald") == []


@pytest.mark.parametrize(
    ("valve", "warned"), [("plain", True), ("pressure-balanced", False), (None, False)]
)
def test_a_plain_shower_valve(valve: str | None, warned: bool) -> None:
    """IRC P2708.4 (as described) asks for a balanced or thermostatic valve at showers."""
    findings = findings_of(at(115.0, valve), "shower-valve")

    assert [finding.level for finding in findings] == (["warn"] if warned else [])
    assert not warned or findings[0].where == "bath"


@pytest.mark.parametrize(
    ("degrees", "heater", "noted"),
    [(139.0, "heater", True), (140.0, "heater", False), (120.0, "tankless-heater", False)],
)
def test_storage_below_140_degrees(degrees: float, heater: str, noted: bool) -> None:
    """Legionella grows from 77 to 113 degF (WHO); 140 degF is the usual storage temperature."""
    house = at(degrees)
    house = replace(house, devices=tuple(replace(device, kind=heater) for device in house.devices))

    findings = findings_of(house, "stored-hot")

    assert [finding.level for finding in findings] == (["note"] if noted else [])
    if noted:
        assert findings[0].values[2][0] == pytest.approx(fahrenheit(77.0))
        assert findings[0].values[3][0] == pytest.approx(fahrenheit(113.0))


@pytest.mark.parametrize(("celsius", "advised"), [(55.0, False), (60.0, True)])
def test_only_water_of_60_degrees_is_held_against_bacteria(celsius: float, advised: bool) -> None:
    """Below it another note says that it kills them not reliably."""
    house = sc.load(SCENARIOS / "cistern-booster.toml")
    house = replace(house, water=replace(house.water, hot=celsius + 273.15))

    assert ("against bacteria" in only(house, "scald").message) == advised
    assert bool(findings_of(house, "stored-hot")) != advised
