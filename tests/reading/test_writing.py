"""Houses written to a file read back as the same houses."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import fields, replace

from supplycalc.model import House
from supplycalc.problems import InputError
from supplycalc.reading import load, loads
from supplycalc.reading.writing import toml_text, write, written_quantity
from supplycalc.units import parse
from tests.reading.good import GOOD

SCENARIOS = sorted((Path(__file__).parent.parent.parent / "scenarios").glob("*.toml"))


def plain(record: Any) -> Any:
    """A record without the places of its parts and without what reading had to assume."""
    if isinstance(record, Struct):
        return {
            field.name: plain(getattr(record, field.name))
            for field in fields(record)
            if field.name not in ("place", "assumptions")
        }
    if isinstance(record, tuple):
        return tuple(map(plain, record))
    return record


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_scenarios_read_back_the_same(path: Path) -> None:
    """Every value of every scenario survives, to the last bit."""
    house = load(path)

    assert plain(loads(write(house, "a remark\nof two lines"))) == plain(house)


def test_every_kind_of_key_survives() -> None:
    """Own tubes, fittings and devices, losses in every form, draws, positions, zones, wishes."""
    text = (
        GOOD
        + """
[[tube]]
name = "old-lead"
sizes = [["1/2", "0.84 in", "0.622 in"], ["3/4", "1.05 in", "0.824 in"]]
roughness = "0.0015 mm"
max_velocity_cold = "1.7 m/s"

[[fitting]]
name = "swing-elbow"
k = 1.25

[[device_kind]]
name = "barn-filter"
curve = [["0 gpm", "0 psi"], ["5 gpm", "6 psi"], ["10 gpm", "20 psi"]]

[[device]]
name = "valve"
kind = "pressure-reducing-valve"
from = "hot header"
to = "tempered"
setting = "45 psi"
falloff = "10 psi at 12 gpm"
loss = "Cv 8"
elevation = "1' 7 3/8\\""

[[fixture]]
name = "basin \\"north\\" ü"
kind = "lavatory"
at = ["1 ft", "-2.37 m", "80 cm"]
cold = { from = "entry", length = "13 ft 5 in", fitting_allowance = "12.5 %" }
hot = { from = "tempered", length = "13 ft 5 in", fittings = {} }
use_temperature = "38 degC"
continuous = "0.013 L/s"

[[draw]]
fixture = "bath"
at = ["6:30", "21:15"]
duration = "8 min"

[layout]
grid = "3 ft"
port_valves = false

[[storey]]
name = "ground"
floor = "0 ft"
pipes_at = "-4.5 in"
in_slab = true

[[wall]]
name = "utility"
start = ["1 ft", "2 ft", "0 ft"]
end = ["1 ft", "9 ft", "0 ft"]

[[zone]]
name = "stair"
corner = ["4 ft", "4 ft", "-1 ft"]
opposite = ["7 ft", "8 ft", "9 ft"]
"""
    )  # invented
    house = loads(text)

    assert plain(loads(write(house))) == plain(house)
    assert house.fixtures[-1].hot is not None
    assert house.fixtures[-1].hot.fittings == ()


def test_measured_lengths_stay_measured() -> None:
    """A length from positions is not written: it follows from the positions again."""
    text = GOOD.replace('elevation = "2 ft"', 'at = ["0 ft", "0 ft", "2 ft"]').replace(
        'elevation = "1 ft"\ncold = { from = "cold manifold", length = "20 ft", size = "1/2" }',
        'at = ["4 ft", "3 ft", "1 ft"]\ncold = { from = "entry" }',
    )
    house: House = loads(text)
    toilet = house.fixtures[-1].cold

    assert toilet is not None
    assert toilet.length_measured
    assert plain(loads(write(house))) == plain(house)


@given(
    value=st.floats(0.0, 1e4, allow_subnormal=False),
    dimension=st.sampled_from(
        ["length", "pressure", "flow", "velocity", "volume", "head", "roughness", "power",
         "density", "specific-capacity", "elevation", "time"]
    ),
    system=st.sampled_from(["us", "metric"]),
)  # fmt: skip
def test_any_number_reads_back_exactly(value: float, dimension: str, system: Any) -> None:
    """Whatever the value, its text means the same float."""
    assert parse(written_quantity(value, dimension, system), dimension) == value


@pytest.mark.parametrize(
    ("text", "dimension"),
    [("85 ft", "length"), ("37.42 ft", "length"), ("7 gpm", "flow"), ("50 degF", "temperature"),
     ("-6 ft", "elevation"), ("42 in", "cover"), ("10 %", "share"), ("40 psi", "pressure")],
)  # fmt: skip
def test_what_people_wrote_comes_back_as_they_wrote_it(text: str, dimension: str) -> None:
    """Short numbers in common units are found again."""
    assert written_quantity(parse(text, dimension), dimension, "us") == text


def test_odd_names_are_escaped() -> None:
    """Quotes, backslashes and control characters of a name do not break the file."""
    assert toml_text('a "b" \\ \n') == '"a \\"b\\" \\\\ \\n"'


def test_a_pump_without_a_switch_reads_back() -> None:
    """What reading took from the set pressure is not written as a switch without a range."""
    start, end = GOOD.index("[source]"), GOOD.index("[water]")
    pump = '[source]\nkind = "well"\n[source.pump]\nkind = "constant-pressure"\n'
    house = loads(GOOD[:start] + pump + 'set_pressure = "55 psi"\n' + GOOD[end:])
    text = write(house)

    assert "cut_in" not in text
    assert "cut_out" not in text
    assert plain(loads(text)) == plain(house)


def test_what_the_reader_refuses_is_not_written() -> None:
    """A house changed into one that no file may describe raises instead of making a file."""
    house = loads(GOOD)
    twice = replace(house, fixtures=(*house.fixtures, house.fixtures[0]))
    low = replace(house, source=replace(house.source, cut_out=house.source.cut_in))
    for changed in (twice, low):
        with pytest.raises(InputError, match="as it would be written"):
            write(changed)
