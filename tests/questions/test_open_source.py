"""`well` of a tank up the hill and of a spring: what comes and is needed, levels, boosters."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.hydraulics.water import specific_weight
from supplycalc.questions.check.source_as_read import levels_said
from supplycalc.questions.size.study import size
from supplycalc.questions.well.study import WellCheck, well_check
from supplycalc.questions.well.tables import water_table
from supplycalc.records.schema import result_schema
from supplycalc.units import DAY, UnitSystem, long_time, show
from tests.commands.files import SCENARIOS, run
from tests.houses import FOOT, GPM, PSI

FILE = SCENARIOS / "hill-tank.toml"
TEXT = FILE.read_text(encoding="utf-8")
GALLON = 60.0 * GPM
HOUSE = sc.load(FILE)
CHECK = well_check(size(HOUSE, mend=False))
WATER = CHECK.open_source
WEIGHT = specific_weight(HOUSE.water.cold)
HIGH = ('elevation = "14 ft"', 'elevation = "34 ft"')
DRY = ('"1.5 gpm"', '"0.05 gpm"')
FROM_A_WELL = (
    "[water]",
    '[source.well]\nstatic_level = "20 ft"\npump_depth = "80 ft"\n'
    '[source.well_pump]\ncurve = [["0 gpm", "200 ft"], ["10 gpm", "90 ft"]]\n[water]',
)
"""Of which no pipe is told."""


def changed(*pairs: tuple[str, str]) -> str:
    """The scenario with texts replaced."""
    text = TEXT
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return text


def checked(*pairs: tuple[str, str]) -> WellCheck:
    """The same, checked."""
    return well_check(size(sc.loads(changed(*pairs))))


def test_what_comes_and_is_needed() -> None:
    """By hand: 1.5 gpm are 2,160 gal a day, 3 people need 300; 1,200 gal fill in 800 minutes and
    carry 11.14 gpm less 1.5 for 124."""
    assert WATER is not None
    flow = CHECK.design_flow

    assert WATER.comes == pytest.approx(2160.0 * GALLON, rel=1e-6)
    assert WATER.needed == pytest.approx(300.0 * GALLON, rel=1e-6)
    assert WATER.fills == pytest.approx(800.0 * 60.0, rel=1e-6)
    assert WATER.lasts == pytest.approx(1200.0 * GALLON / (flow - 1.5 * GPM), rel=1e-9)


def test_each_foot_of_level_is_a_foot_of_pressure() -> None:
    """With the same sizes and flow: from 89 to 94 ft everything gains what 5 ft of water weigh, and
    the lowest is what `size` judges."""
    assert WATER is not None
    low, middle, high = WATER.levels

    assert [it.level / FOOT for it in (low, middle, high)] == pytest.approx([89.0, 91.5, 94.0])
    assert low.margin == pytest.approx(CHECK.design.worst.margin)
    assert high.margin - low.margin == pytest.approx(5.0 * FOOT * WEIGHT, rel=1e-9)
    assert middle.pressure == pytest.approx(0.5 * (low.pressure + high.pressure))


def test_a_booster_is_what_a_main_of_that_pressure_would_be() -> None:
    """Held against the house sized on such a main, and by hand against the height of its rise."""
    assert WATER is not None
    for booster in WATER.boosters:
        main = replace(
            HOUSE.source,
            kind="main",
            lowest_level=None,
            static=CHECK.design.source.static_pressure + booster.rise,
            residual=CHECK.design.source.design_pressure + booster.rise,
        )
        alone = size(replace(HOUSE, source=main), mend=False)
        service = alone.service
        assert service is not None
        assert booster.size == service.nominal
        assert booster.margin == pytest.approx(alone.worst.margin)
        assert booster.head == pytest.approx(booster.rise / WEIGHT)
        assert booster.flow == CHECK.design_flow
        assert booster.before_house == pytest.approx(service.end_pressure - booster.rise)

    pipe = [booster.pipe for booster in WATER.boosters]
    assert pipe == sorted(pipe, reverse=True)
    assert WATER.boosters[1].rise == pytest.approx(10.0 * PSI)
    assert WATER.boosters[1].size == "1-1/2"


def test_a_line_that_would_be_sucked_on_is_told() -> None:
    """A house as high as the tank: what the line brings there is no pressure at all."""
    level = checked(('elevation = "-2 ft"', 'elevation = "88 ft"'), HIGH)
    assert level.open_source is not None

    assert [booster.before_house for booster in level.open_source.boosters[:2]] == [None, None]


@pytest.mark.parametrize(
    ("change", "status", "told"),
    [
        ((), 0, "The tank carries the house: 1.5 gpm come to it, 2,160 gal a day"),
        ((HIGH,), 1, "fit a booster pump behind the tank"),
        ((DRY,), 1, "as a supply is planned"),
        ((('"1.5 gpm"', '"0.15 gpm"'),), 0, "The tank carries ordinary days at most"),
        ((('inflow        = "1.5 gpm"', ""), FROM_A_WELL), 0, "The tank carries the house"),
        ((('kind          = "tank" ', 'kind = "spring"'),), 0, "The spring carries the house"),
    ],
)
def test_it_passes_and_fails_as_size_does(
    change: tuple[tuple[str, str], ...], status: int, told: str, tmp_path: Path
) -> None:
    """In both systems, the whole page and the screen; no pressure below the air's anywhere."""
    path = tmp_path / "house.toml"
    path.write_text(changed(*change), encoding="utf-8")
    for options in ((), ("--units", "metric"), ("--full",)):
        pages = [run(command, path, *options) for command in ("size", "well")]
        assert [page.exit_code for page in pages] == [status, status]
        assert "-0." not in pages[1].stdout
    page = " ".join(run("well", path).stdout.split())
    assert told in page


@pytest.mark.parametrize("units", ["us", "metric", "metric l/s"])
def test_what_comes_is_told_with_the_same_digits_everywhere(units: UnitSystem) -> None:
    """Half a litre and five hundredths a minute: in the answer of `well`, its table, its findings
    and in `check`; and how long it lasts beside."""
    check = checked(("1.5 gpm", "0.55 L/min"), ("people = 3", "people = 1"))
    assert check.open_source is not None
    assert check.open_source.lasts is not None
    comes = show(0.55e-3 / 60.0, "inflow", units)
    found = next(it for it in check.findings if it.code == "open-water-runs-out")

    assert comes == {"us": "0.15 gpm", "metric": "0.55 L/min"}.get(units, "0.009 l/s")
    assert comes in check.verdict(units)
    assert comes in found.said(units)
    assert long_time(check.open_source.lasts) in found.said(units)
    assert any(comes in line for line in levels_said(check.house, units))
    assert any(comes in str(row) for row in water_table(check.open_source, units).rows)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (90.0, "1.5 min"),
        (3600.0, "1 h"),
        (7453.0, "2.1 h"),
        (46.0 * 3600, "46 h"),
        (5 * DAY, "5 days"),
    ],
)
def test_long_times(seconds: float, text: str) -> None:
    """Two digits, in the unit that suits."""
    assert long_time(seconds) == text


def test_people_who_are_asked_about_are_judged() -> None:
    """Thirty of them need more than comes, though the file's three do not."""
    page = " ".join(run("well", FILE, "--people", "60").stdout.split())

    assert "60 people need 6,000 gal" in page
    assert run("well", FILE, "--people", "60").exit_code == 1
    assert run("well", FILE).exit_code == 0


def test_the_storage_is_that_of_a_tank_that_runs_full_by_itself() -> None:
    """No float, no pump and no well in its words; a mean day is drawn at half its height."""
    page = " ".join(run("well", FILE, "--full", "--years", "1").stdout.split())
    assert CHECK.storage is not None

    assert CHECK.storage.between_floats == 0.0
    assert CHECK.storage.refill is not None
    assert 100.0 * GALLON < CHECK.storage.drawn.drawn < 200.0 * GALLON
    assert CHECK.storage.drawn.fill_flow == pytest.approx(1.5 * GPM)
    assert CHECK.storage.refill < DAY
    for word in ("float", "A well", "well's pump", "pressure switch sticks"):
        assert word not in page
    assert "screened overflow" in page


def test_data_table_and_report_have_it(tmp_path: Path) -> None:
    """JSON by its schema, a row for each level as CSV, and a chapter of the report."""
    data = json.loads(run("well", FILE, "--json", "--years", "1").stdout)
    table = tmp_path / "levels.csv"
    report = tmp_path / "report.html"
    run("well", FILE, "-o", table)
    run("report", FILE, "-o", report)

    jsonschema.validate(data, result_schema(WellCheck))
    assert [level["name"] for level in data["open_source"]["levels"]] == [
        "lowest",
        "halfway",
        "highest",
    ]
    assert len(table.read_text("utf-8").strip().split("\n")) == 4
    assert "Water above the house" in report.read_text("utf-8")
