"""`supplycalc commission` on real files."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.commands.files import SCENARIOS, cottage, run

FILES = sorted(SCENARIOS.glob("*.toml"))
RIDGE = SCENARIOS / "ridge-cottage.toml"
STEPS = ["Test", "Set", "Flush", "Chlorinate", "Rinse", "Heat", "Read"]
SHEET = 60
"""[lines] of a page"""


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_house_gets_its_steps_in_order(file: Path, units: str) -> None:
    """Seven steps on a screen of 30 lines; no pressure below zero; what hurts is told."""
    result = run("commission", file, "--units", units)
    lines = result.stdout.splitlines()

    assert result.exit_code in (0, 1)
    assert re.findall(r"^\d (\w+):", result.stdout, re.M) == STEPS
    assert len(lines) <= 30
    assert max(map(len, lines)) <= 80
    assert not re.search(r"-\d[\d.]* (psi|kPa|bar)", result.stdout)
    together = " ".join(lines)
    assert "Never with acid or ammonia" in " ".join(together.split())
    assert "air bursts plastic pipe" in together


def test_the_test_pressure_is_that_of_slab() -> None:
    """Of what gets covered the same number from the same rule, in the part where it lies."""
    for stem in ("ridge-cottage", "valley-house", "ridge-line", "slow-well"):
        file = SCENARIOS / f"{stem}.toml"
        pour = json.loads(run("slab", file, "--json").stdout)
        day = json.loads(run("commission", file, "--json").stdout)
        tested = {part["tests"][0]["pressure"]["value"] for part in day["tested"]}

        assert pour["tests"][0]["pressure"]["value"] in tested, stem


def test_a_failing_house_says_so_and_leaves_with_1(tmp_path: Path) -> None:
    """It is mended first; the steps stand there all the same."""
    result = run("commission", cottage(tmp_path, bath="90 ft"))

    assert result.exit_code == 1
    assert result.stdout.startswith("Mend first. Fails")
    assert "1 Test:" in result.stdout


def test_a_well_whose_casing_is_known_gets_its_dose(tmp_path: Path) -> None:
    """100 ft of water in 6 inch: 147 gal, 31 fl oz of 6 % bleach for 100 mg/L."""
    text = RIDGE.read_text(encoding="utf-8")
    well = 'static_level      = "62 ft"'
    known = f'{well}\ndiameter = "6 in"\ndepth = "162 ft"'
    (path := tmp_path / "ridge.toml").write_text(text.replace(well, known), encoding="utf-8")
    result = run("commission", path)

    assert "well 147 gal at 100 mg/L, 31 fl oz" in " ".join(result.stdout.split())
    assert "its water to be measured" not in result.stdout


@pytest.mark.parametrize(
    ("depth", "level"),
    [("150 ft", "62 ft"), ("40 ft", "62 ft")],
)
def test_a_hole_that_ends_above_the_pump_is_refused(tmp_path: Path, depth: str, level: str) -> None:
    """The pump hangs at 160 ft."""
    text = RIDGE.read_text(encoding="utf-8")
    well = f'static_level      = "{level}"'
    assert well in text
    (path := tmp_path / "ridge.toml").write_text(
        text.replace(well, f'{well}\ndepth = "{depth}"'), encoding="utf-8"
    )
    result = run("commission", path)

    assert result.exit_code == 2
    assert "must reach water and pump" in result.stderr


def test_a_closed_heater_is_told_of_its_tank() -> None:
    """A reducing valve shuts the water in: up to the relief valve, or a tank of so many gallons."""
    text = " ".join(run("commission", SCENARIOS / "valley-house.toml").stdout.split())

    assert "pressure reducing valve shuts it in: up to 150.0 psi" in text
    assert "without an expansion tank of 4.5 gal, air at 68.7 psi" in text


def test_a_clean_house_on_a_european_main_is_not_chlorinated_unasked() -> None:
    """Flushed at 2 m/s, twenty times; chlorine only where somebody asks for it."""
    text = " ".join(run("commission", SCENARIOS / "town-house.toml").stdout.split())

    assert "20 times the pipe's water" in text
    assert "only if supplier, health office or a sample ask" in text


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
def test_the_sheet_is_one_page(tmp_path: Path, file: Path) -> None:
    """Sixty lines of 80 columns, every setting on it, blanks to sign."""
    target = tmp_path / "day.txt"
    run("commission", file, "-o", target)
    text = target.read_text(encoding="utf-8")
    data = json.loads(run("commission", file, "--json").stdout)

    assert len(text.splitlines()) <= SHEET
    assert max(map(len, text.splitlines())) <= 80
    together = " ".join(text.split())
    assert all(setting["what"].split(",")[0] in together for setting in data["settings"])
    assert "Signed ____" in text


def test_files(tmp_path: Path) -> None:
    """A PDF of the sheet, a CSV of the settings; nothing over a file that is there."""
    sheet, settings = tmp_path / "day.pdf", tmp_path / "day.csv"

    assert run("commission", RIDGE, "-o", sheet).exit_code == 0
    assert sheet.read_bytes().startswith(b"%PDF")
    assert run("commission", RIDGE, "-o", settings).exit_code == 0
    assert "48.0 psi" in settings.read_text(encoding="utf-8")
    assert run("commission", RIDGE, "-o", settings).exit_code == 2


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
def test_american_and_european_rules_never_mix(file: Path) -> None:
    """Whatever the units, a house's own book alone is cited."""
    page = run("commission", file, "--full").stdout
    european = "EN 806-4" in page
    strange = (
        r"\bIPC|\bIRC|\bUPC|AWWA|MIL-HDBK|National Standard|ANSI" if european else r"EN 806|DVGW"
    )

    assert re.findall(strange, page) == []
