"""`supplycalc size` on real files: verdict, exit status, JSON contract, files written."""

from __future__ import annotations

import csv
import json
import math
import re
from pathlib import Path
from typing import Any

import pytest

from tests.commands.files import SCENARIOS, cottage, run

FILES = sorted(SCENARIOS.glob("*.toml"))
NUMBER = {"value", "unit"}


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A house that works."""
    return cottage(tmp_path)


@pytest.fixture
def short(tmp_path: Path) -> Path:
    """The same house with its bath so high that it falls short, which the switch can mend."""
    return cottage(tmp_path, bath="34 ft")


def test_a_working_design_says_so_first_and_leaves_with_0(house: Path) -> None:
    """The verdict is the first sentence and names the fixture, the pressures and the service."""
    result = run("size", house)

    assert result.exit_code == 0
    assert result.stdout.startswith("Works with service at ")
    first = " ".join(result.stdout.split("\n\n")[0].split())
    assert "far bath" in first
    assert "psi to spare" in first
    assert result.stderr == ""


def test_a_failing_design_names_shortfall_and_remedy_and_leaves_with_1(short: Path) -> None:
    """What falls short, by how much, and a change that was computed to work."""
    result = run("size", short)
    first = " ".join(result.stdout.split("\n\n")[0].split())

    assert result.exit_code == 1
    assert first.startswith("Fails: far bath")
    assert "is short by" in first
    assert "to mend it, set the pressure switch to 50.0 psi / 70.0 psi" in first
    assert "(computed: then " in first


def test_what_no_change_reaches_is_told_with_what_would() -> None:
    """A loft 163 ft above a main of 43 psi: no finding sends to the source what the verdict says
    does not help there."""
    page = " ".join(run("size", SCENARIOS / "tower-loft.toml", "--full").stdout.split())

    assert "do not mend it: the height alone takes 70.6 psi. It needs a pump of its own" in page
    assert "more pressure at the source" not in page


def test_a_switch_is_not_raised_without_the_air_in_its_tank() -> None:
    """The tank's charge goes up with it, as it was computed."""
    page = " ".join(run("size", SCENARIOS / "low-switch.toml").stdout.split())

    assert "to 40.0 psi / 60.0 psi and the tank's air charge to 38.0 psi, after checking" in page


def test_the_remedy_that_is_printed_works_when_done(short: Path, tmp_path: Path) -> None:
    """Doing what the verdict says makes the same house pass."""
    text = short.read_text(encoding="utf-8")
    text = text.replace("40 psi", "50 psi").replace("60 psi", "70 psi")
    mended = tmp_path / "mended.toml"
    mended.write_text(text, encoding="utf-8")

    assert run("size", short).exit_code == 1
    assert run("size", mended).exit_code == 0


@pytest.mark.parametrize("name", ["house", "scenario"])
def test_parts_come_in_the_readers_order(name: str, house: Path) -> None:
    """Verdict, account of the worst fixture, fixtures, runs, findings, assumptions, cautions."""
    path = house if name == "house" else SCENARIOS / "ridge-cottage.toml"
    text = run("size", path, "--full").stdout
    parts = [
        "Works",
        "Where the pressure goes on the way to",
        "Pressure at the fixtures",
        "Runs, from the source down",
        "Findings",
        "Assumed, because",
        "Take care",
    ]
    places = [text.find(part) for part in parts]

    assert -1 not in places
    assert places == sorted(places)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("more", [(), ("--full",), ("--why", "--verbose"), ("--units", "metric")])
def test_every_scenario_fits_80_columns(path: Path, more: tuple[str, ...]) -> None:
    """Nothing is wider than 80 columns, in either unit system, with every table shown."""
    result = run("size", path, *more)

    assert result.exit_code in (0, 1)
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    assert "\x1b" not in result.stdout


MANY = 40
"""Fixtures of a house whose first screen may be longer."""


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("more", [(), ("--units", "metric"), ("--units", "us")])
def test_the_first_screen_is_one_screen(path: Path, more: tuple[str, ...]) -> None:
    """At most 30 lines, 45 for 40 fixtures: verdict, the way, sizes, what matters, care."""
    text = run("size", path, *more).stdout
    fixtures = len(json.loads(run("size", path, "--json").stdout)["fixtures"])

    assert len(text.splitlines()) <= (30 if fixtures < MANY else 45)
    parts = ["Pressure on the way to ", "needed there", "\nSizes", "Care: "]
    places = [text.find(part) for part in parts]
    assert -1 not in places
    assert places == sorted(places)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("more", [(), ("--full", "--why", "--verbose")])
def test_nothing_is_wider_than_a_telephone(
    path: Path, more: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """36 columns: no line is longer, no word is cut."""
    monkeypatch.setattr("supplycalc.output.destination.FILE_WIDTH", 36)
    narrow = run("size", path, *more).stdout
    monkeypatch.setattr("supplycalc.output.destination.FILE_WIDTH", 80)
    wide = "".join(run("size", path, *options).stdout for options in (("--full", *more), ()))

    assert max(len(line) for line in narrow.splitlines()) <= 36
    assert set(re.findall(r"[a-z]{4,}", narrow.lower())) <= set(
        re.findall(r"[a-z]{4,}", wide.lower())
    )


def quantities(data: Any) -> list[dict[str, Any]]:
    """Every {"value", "unit"} below."""
    if isinstance(data, dict):
        if set(data) == NUMBER:
            return [data]
        return [quantity for value in data.values() for quantity in quantities(value)]
    if isinstance(data, list):
        return [quantity for value in data for quantity in quantities(value)]
    return []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_account_of_every_fixture_closes(path: Path, units: str) -> None:
    """residual = source pressure + static change - loss, and loss is the sum over the path.

    The tolerance is that of the contract, 1e-9 of the source's pressure. Where the pressure is used
    up on the way, it is said where, and nothing below zero is told.
    """
    result = run("size", path, "--json", "--units", units)
    design = json.loads(result.stdout)
    losses = {link["name"]: link["loss"]["value"] for link in (*design["runs"], *design["devices"])}
    source = design["source"]["design_pressure"]["value"]
    slack = 1e-9 * max(source, 1.0)

    assert len(design["fixtures"]) > 0
    for outlet in design["fixtures"]:
        expected = source + outlet["static_change"]["value"] - outlet["loss"]["value"]
        assert outlet["residual"]["value"] == pytest.approx(max(expected, 0.0), abs=slack)
        assert (outlet["used_up_in"] is not None) is (expected < 0.0)
        summed = math.fsum(losses[name] for name in outlet["path"])
        assert outlet["loss"]["value"] == pytest.approx(summed, abs=slack)
        margin = outlet["residual"]["value"] - outlet["required"]["value"]
        assert outlet["margin"]["value"] == pytest.approx(margin, abs=slack)


CONTRACT = {
    "": "schema project method ok source worst runs devices fixtures cost findings assumptions",
    "source": "design_pressure static_pressure elevation",
    "worst": "name side residual required margin",
    "runs": "name from to side material size nominal inside_diameter length temperature "
    "design_flow velocity friction_loss fitting_loss loss decided_by next_smaller",
    "devices": "name kind from to design_flow loss",
    "fixtures": "name kind side elevation path design_flow static_change loss residual required "
    "margin",
    "cost": "total basis",
    "findings": "level code where message remedy source",
    "assumptions": "text source",
}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_json_keeps_its_contract(path: Path) -> None:
    """All documented keys, all quantities with a finite value and a unit, the worst first."""
    result = run("size", path, "--json")
    design = json.loads(result.stdout, parse_constant=lambda word: pytest.fail(word))

    assert result.stderr == ""
    assert design["schema"] == "supplycalc-size/1"
    assert result.exit_code == (0 if design["ok"] else 1)
    for key, names in CONTRACT.items():
        parts = design[key] if key else design
        for part in parts if isinstance(parts, list) else [parts]:
            assert set(names.split()) <= set(part), key
    assert all(
        math.isfinite(quantity["value"]) and quantity["unit"] for quantity in quantities(design)
    )
    margins = [outlet["margin"]["value"] for outlet in design["fixtures"]]
    assert margins == sorted(margins)
    assert design["worst"]["margin"]["value"] == margins[0]


def test_unit_systems_tell_the_same_design(house: Path) -> None:
    """psi and kPa agree (1 psi = 6.894757293168361 kPa exactly by the pound and inch of 1959)."""
    us = json.loads(run("size", house, "--json", "--units", "us").stdout)
    metric = json.loads(run("size", house, "--json", "--units", "metric").stdout)

    assert us["worst"]["residual"]["unit"] == "psi"
    assert metric["worst"]["residual"]["unit"] == "kPa"
    for a, b in zip(us["fixtures"], metric["fixtures"], strict=True):
        kilopascal = a["residual"]["value"] * 6.894757293168361
        assert b["residual"]["value"] == pytest.approx(kilopascal, rel=1e-12)
    assert [run["size"] for run in us["runs"]] == [run["size"] for run in metric["runs"]]


def test_the_same_input_gives_the_same_bytes(house: Path) -> None:
    """Nothing in the output depends on time, place or hashing."""
    assert run("size", house, "--json").stdout == run("size", house, "--json").stdout
    assert run("size", house).stdout == run("size", house).stdout


def test_why_shows_the_next_smaller_size_of_every_run(house: Path) -> None:
    """One row a run: what it would do, and why it was not taken."""
    text = run("size", house, "--why").stdout
    design = json.loads(run("size", house, "--json").stdout)

    assert "what the next smaller size of each run would have done" in " ".join(text.split())
    reasons = [run["next_smaller"]["reason"] for run in design["runs"] if run["next_smaller"]]
    assert reasons
    assert all(reason.split()[0] in text for reason in reasons)


def test_verbose_shows_what_losses_come_from(house: Path) -> None:
    """Bores, counted lengths, K and Reynolds numbers."""
    text = run("size", house, "-v").stdout

    assert "What the losses were computed from" in text
    assert "Reynolds" in text
    assert "Reynolds" not in run("size", house).stdout


def test_the_verbose_table_breaks_no_name(house: Path) -> None:
    """Words of names stay whole in 80 columns; a method without units has no column of loads."""
    names = {result["name"] for result in json.loads(run("size", house, "--json").stdout)["runs"]}
    counted, listed = (
        run("size", house, "-v", "--method", method).stdout.partition("were computed from")[2]
        for method in ("irc", "listed")
    )

    assert all(word in counted for name in names for word in name.split())
    assert "fixture" in counted.partition("---")[0]
    assert "load" not in listed.partition("---")[0]


def test_a_csv_file_gets_the_schedule(house: Path, tmp_path: Path) -> None:
    """The runs with their sizes, units in the heading, and a word on stderr."""
    target = tmp_path / "schedule.csv"
    result = run("size", house, "-o", target)
    rows = list(csv.DictReader(target.open(encoding="utf-8", newline="")))

    assert result.stdout == ""
    assert result.stderr == f"wrote {target}\n"
    assert rows[0]["run"] == "service"
    assert float(rows[0]["length [ft]"]) == pytest.approx(90.0, rel=1e-12)


def test_a_file_that_exists_is_refused_until_forced(house: Path, tmp_path: Path) -> None:
    """Refused before any work, left as it was; --force replaces it whole."""
    target = tmp_path / "out.json"
    target.write_text("mine", encoding="utf-8")

    refused = run("size", house, "-o", target)

    assert refused.exit_code == 2
    assert "the file exists; --force overwrites it" in refused.stderr
    assert target.read_text(encoding="utf-8") == "mine"

    forced = run("size", house, "-o", target, "--force")

    assert forced.exit_code == 0
    assert json.loads(target.read_text(encoding="utf-8"))["schema"] == "supplycalc-size/1"
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


@pytest.mark.parametrize(
    ("where", "word"),
    [
        ("", "this is a folder"),
        ("no/such/x.txt", "there is no folder"),
        ("x.XLSX", "no .xlsx file is written here; try .txt, .csv or .json"),
    ],
)
def test_places_that_cannot_be_written_are_told(
    where: str, word: str, house: Path, tmp_path: Path
) -> None:
    """A folder, or a file in a folder that does not exist."""
    result = run("size", house, "-o", tmp_path / where)

    assert result.exit_code == 2
    assert word in result.stderr


def test_names_cannot_steer_the_terminal(house: Path) -> None:
    """An escape sequence in a name is printed as text; in JSON it is escaped by JSON itself."""
    text = house.read_text(encoding="utf-8").replace("far bath", "far\\u001b[31m bath")
    house.write_text(text, encoding="utf-8")
    for more in ((), ("--why", "-v"), ("--json",)):
        result = run("size", house, *more)
        assert "\x1b" not in result.stdout + result.stderr
        assert "\x07" not in result.stdout + result.stderr


def test_another_method_can_be_asked_for(house: Path) -> None:
    """--method overrides the file's; an unknown one names the nearest."""
    design = json.loads(run("size", house, "--method", "irc", "--json").stdout)
    wrong = run("size", house, "--method", "ircc")

    assert design["method"] == "irc"
    assert all(run["fixture_units"] is not None for run in design["runs"])
    assert wrong.exit_code == 2
    assert "did you mean 'irc'?" in wrong.stderr


def test_the_numbers_of_the_page_are_those_of_the_json(house: Path) -> None:
    """The worst fixture's residual and margin in print are the JSON's, rounded to 0.1 psi."""
    design = json.loads(run("size", house, "--json").stdout)
    text = run("size", house).stdout
    spare = f"{design['worst']['margin']['value']:.1f}"
    gets = f"{design['worst']['residual']['value']:.1f}"

    assert f"gets {gets} psi" in " ".join(text.split())
    assert f"{spare} psi to spare" in " ".join(text.split())


def test_what_runs_for_hours_is_said_to_be_left_out_of_daily_use() -> None:
    """No habit tells when drip lines run; the verdict says that it leaves them out."""
    told = " ".join(run("size", SCENARIOS / "orchard-house.toml").stdout.split())

    assert "leaves out drip lines" in told


HILL = """
[project]
name = "well far above the house"

[source]
kind = "well"
elevation = "150 ft"
cut_in = "40 psi"
cut_out = "60 psi"
tank = { volume = "86 gal", precharge = "38 psi", max_pressure = "125 psi" }

[source.pump]
curve = [["0 gpm", "340 ft"], ["10 gpm", "290 ft"], ["15 gpm", "235 ft"], ["20 gpm", "150 ft"]]
motor_power = "1 hp"

[source.well]
static_level = "60 ft"
specific_capacity = "1 gpm/ft"
recovery = "12 gpm"
pump_depth = "200 ft"
diameter = "6 in"
elevation = "150 ft"
drop_pipe = { material = "pe-sidr7", size = "1-1/4", length = "200 ft" }

[defaults]
material = "pex-sdr9"
fittings = "crimp"

[[point]]
name = "entry"
elevation = "0 ft"

[[run]]
name = "service"
from = "source"
to = "entry"
material = "pe-sidr19"
length = "900 ft"
buried = "42 in"

[[run]]
name = "main"
from = "entry"
to = "hub"
length = "12 ft"

[[device]]
name = "water heater"
kind = "heater"
from = "hub"
to = "hot hub"
elevation = "3 ft"
"""
HILL_OUTLETS = (
    ("upstairs shower", "shower", 16, 45, "ch"),
    ("upstairs toilet", "water-closet", 10, 42, "c"),
    ("upstairs basin", "lavatory", 12, 42, "ch"),
    ("bath", "tub-shower", 6.5, 25, "ch"),
    ("toilet", "water-closet", 1, 22, "c"),
    ("basin", "lavatory", 3, 22, "ch"),
    ("kitchen sink", "kitchen-sink", 3, 35, "ch"),
    ("dishwasher", "dishwasher", 1, 36, "h"),
    ("washer", "clothes-washer", 3.5, 15, "ch"),
    ("garden tap", "hose-bibb", 2, 20, "c"),
)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_house_with_much_to_say_gives_way_to_one_screen(tmp_path: Path, units: str) -> None:
    """Names, steps and sizes are folded; verdict, remedy, findings and care stand there whole."""
    text = HILL
    for name, kind, elevation, length, sides in HILL_OUTLETS:
        text += f'[[fixture]]\nname = "{name}"\nkind = "{kind}"\nelevation = "{elevation} ft"\n'
        text += f'cold = {{ from = "hub", length = "{length} ft" }}\n' if "c" in sides else ""
        text += f'hot = {{ from = "hot hub", length = "{length} ft" }}\n' if "h" in sides else ""
    path = tmp_path / "hill.toml"
    path.write_text(text, encoding="utf-8")

    result = run("size", path, "--units", units)
    lines = result.stdout.splitlines()

    assert result.exit_code == 1
    assert len(lines) <= 30
    assert lines[0].startswith("Fails, though no fixture is short of pressure")
    whole = " ".join(result.stdout.split())
    assert "1. fit a pressure-reducing valve where service ends" in whole
    assert "In daily use" in whole
    assert "FAIL toilet: with nothing running" in whole
    assert "smaller sizes" in whole
    assert lines[-1].endswith("--full")
