"""Units that a file wishes instead of its system's: one mechanism, on every page and in JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pint
import pytest

import supplycalc as sc
from supplycalc.units import WISHED, convert, show
from tests.commands.files import SCENARIOS, run

HOLIDAY = (SCENARIOS / "holiday-house.toml").read_text("utf-8")


def wished(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "house.toml"
    path.write_text(HOLIDAY.replace('units  = "metric"', f'units = "metric"\n{text}'), "utf-8")
    return path


@pytest.mark.parametrize(("dimension", "unit"), [(d, u) for d, us in WISHED.items() for u in us])
def test_wished_units_are_those_of_pint(dimension: str, unit: str) -> None:
    """Every unit to wish for, on either system, turns SI numbers as pint does."""
    registry = pint.UnitRegistry()
    value, si = (3.7e-4, "m**3/s") if dimension == "flow" else (2.83e5, "Pa")
    spelled = {"gpm": "gallon/minute", "L/min": "liter/minute", "L/s": "liter/second"}
    spelled |= {"l/s": "liter/second", "m3/h": "m**3/hour"}
    expected = registry.Quantity(value, si).to(spelled.get(unit, unit)).magnitude
    for system in ("us", "metric"):
        number, name = convert(value, dimension, f"{system} {unit}")
        assert name == unit
        assert number == pytest.approx(expected)


def test_a_switch_is_shown_in_bar_to_metric_readers() -> None:
    assert show(2.8e5, "setting", "metric") == "2.80 bar"
    assert show(2.8e5, "setting", "metric hPa") == "2800 hPa"
    assert show(275790.3, "setting", "us") == "40.0 psi"


@pytest.mark.parametrize(
    "command", [("size",), ("check",), ("well",), ("flow", "--open", "shower"), ("day",), ("hot",)]
)
def test_every_page_takes_them(tmp_path: Path, command: tuple[str, ...]) -> None:
    name, *more = command
    path = wished(tmp_path, 'flow_unit = "l/s"\npressure_unit = "hPa"')
    for told in (run(name, path, *more).stdout, run(name, path, *more, "--json").stdout):
        assert "L/min" not in told
        assert "kPa" not in told
    # what the call asks for goes before what the file wishes
    assert "hPa" not in run(name, path, *more, "--units", "metric").stdout


def test_json_stays_of_its_system(tmp_path: Path) -> None:
    path = wished(tmp_path, 'flow_unit = "m3/h"')
    data = json.loads(run("size", path, "--json").stdout)
    assert data["units"] == "metric"
    flow = data["runs"][0]["design_flow"]
    assert flow["unit"] == "m3/h"
    plain = json.loads(run("size", path, "--json", "--units", "metric").stdout)
    assert flow["value"] == pytest.approx(plain["runs"][0]["design_flow"]["value"] * 0.06)


def test_an_unknown_unit_is_refused_with_the_nearest(tmp_path: Path) -> None:
    told = run("size", wished(tmp_path, 'flow_unit = "lps"\npressure_unit = "hpa"'))
    assert told.exit_code == 2
    assert "did you mean 'hPa'" in told.stderr
    assert "'l/s'" in told.stderr
    assert told.stderr.count("house.toml:") == 2
    with pytest.raises(sc.InputError, match="unit system"):
        sc.size(sc.load(SCENARIOS / "holiday-house.toml")).to_dict("metric furlong")


def test_they_are_written_again(tmp_path: Path) -> None:
    house = sc.load(wished(tmp_path, 'flow_unit = "l/s"\npressure_unit = "hPa"'))
    assert house.project.shown_in == "metric l/s hPa"
    assert sc.loads(sc.write(house)).project == sc.replace(
        house.project, place=sc.loads(sc.write(house)).project.place
    )
