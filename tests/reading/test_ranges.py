"""Ranges in the file: the middle stands in the house, what was written beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

import supplycalc as sc
from supplycalc.model.field_paths import NoSuchField, value_at, with_value
from supplycalc.units import FOOT, PSI, parse
from tests.questions.ranged import RIDGE, ranged


def range_of(line: str, written: str) -> sc.House:
    """The ridge cottage with one line of its file replaced."""
    return ranged({line: written})


SERVICE = 'length   = "85 ft"'


@pytest.mark.parametrize(
    ("text", "low", "middle", "high", "distribution"),
    [
        ("85 ± 10 ft", 75, 85, 95, "normal"),
        ("85 ft +- 120 in", 75, 85, 95, "normal"),
        ("85 ft +/- 20 %", 68, 85, 102, "normal"),
        ("80 to 90 ft", 80, 85, 90, "even"),
        ("between 80 ft and 90 ft", 80, 85, 90, "even"),
        ("80-90 ft", 80, 85, 90, "even"),
        ("about 85 ft", 76.5, 85, 93.5, "normal"),
        ("~85 ft", 76.5, 85, 93.5, "normal"),
    ],
)
def test_a_length_is_written_as_people_say_it(
    text: str, low: float, middle: float, high: float, distribution: str
) -> None:
    """Ends and middle are what the words mean; the run has the middle."""
    house = range_of(SERVICE, f'length = "{text}"')
    [known] = house.ranges
    assert known.path == ("run", "service", "length")
    assert (known.low, known.middle, known.high) == pytest.approx(
        (low * FOOT, middle * FOOT, high * FOOT), rel=1e-12
    )
    assert known.distribution == distribution
    assert house.runs[0].length == known.middle == value_at(house, known.path)


@pytest.mark.parametrize(
    ("line", "written", "path", "low", "high"),
    [
        ('cut_in    = "50 psi"', 'cut_in = "48 to 52 psi"', "source.cut_in", "48 psi", "52 psi"),
        ('cold = "50 degF"', 'cold = "50 ± 5 degF"', "water.cold", "45 degF", "55 degF"),
        ('cold = "50 degF"', 'cold = "unknown"', "water.cold", "37 degF", "77 degF"),
        ('static_level      = "62 ft"', 'static_level = "62 ± 3 ft"', "source.well.static_level",
         "59 ft", "65 ft"),
        ('elevation         = "-8 ft"', 'elevation = "about -8 ft"', "source.well.elevation",
         "-9 ft", "-7 ft"),
        ('"85 ft"', '"90 ± 0.5 ft"', "run.service.length", "89.5 ft", "90.5 ft"),
        ('"3 psi at 15 gpm"', '"3 psi ± 20 % at 15 gpm"', "device.cartridge filter.loss",
         "2.4 psi", "3.6 psi"),
        ('length = "160 ft" }', 'length = "160 ± 5 ft" }', "run.drop pipe.length", "155 ft",
         "165 ft"),
        ('elevation = "9.5 ft"', 'elevation = "about 9.5 ft"', "fixture.upstairs toilet.elevation",
         "8.5 ft", "10.5 ft"),
        ('length = "52 ft"', 'length = "52 ± 2 ft"', "fixture.upstairs bath.cold.length", "50 ft",
         "54 ft"),
    ],
)  # fmt: skip
def test_any_measured_quantity_may_be_a_range(
    line: str, written: str, path: str, low: str, high: str
) -> None:
    """Its path leads to its middle in the house, and another value can be put there."""
    house = range_of(line, written)
    [known] = house.ranges
    assert known.field == path
    ends = (parse(low, known.dimension), parse(high, known.dimension))
    assert (known.low, known.high) == pytest.approx(ends, rel=1e-9)
    assert value_at(house, known.path) == known.middle
    assert value_at(with_value(house, known.path, known.high), known.path) == known.high


def test_a_range_without_width_is_a_plain_value() -> None:
    """The house is the one of the plain file, to the last digit."""
    plain, zero = range_of(SERVICE, SERVICE), range_of(SERVICE, 'length = "85 ± 0 ft"')
    assert zero.ranges == ()
    assert zero == plain


def test_the_house_reads_back_as_it_was_written() -> None:
    """Ranges stand in the written file as in the read one; a changed value replaces its range."""
    house = ranged(
        {
            SERVICE: 'length = "85 ± 10 ft"',
            '"3 psi at 15 gpm"': '"about 3 psi at 15 gpm"',
            'sizes    = ["3/4", "1", "1-1/4"]': 'size = "?"\nexisting = true',
        }
    )
    again = sc.loads(sc.write(house))
    assert [(each.field, each.written) for each in again.ranges] == [
        (each.field, each.written) for each in house.ranges
    ]
    changed = with_value(house, ("run", "service", "length"), 20.0)
    assert "85 ±" not in sc.write(changed)


def test_an_unknown_size_is_one_of_the_sizes_it_may_have() -> None:
    """Only of pipe that is there; the sizes given are those it may have."""
    house = ranged(
        {'sizes    = ["3/4", "1", "1-1/4"]': 'sizes = ["3/4", "1"]\nsize = "?"\nexisting = true'}
    )
    [known] = house.ranges
    assert known.sizes == ("3/4", "1")
    assert house.runs[0].size is None
    with pytest.raises(sc.InputError, match="existing = true"):
        ranged({'sizes    = ["3/4", "1", "1-1/4"]': 'size = "?"'})


@pytest.mark.parametrize(
    ("line", "written", "part"),
    [
        (SERVICE, 'length = "unknown"', "as 'about 140 ft'"),
        (SERVICE, 'length = "85 ± 10"', "has no unit"),
        (SERVICE, 'length = "85 ± 10 psi"', "is a pressure, but a length is expected"),
        (SERVICE, 'length = "90 to 80 ft"', "the lower end stands first"),
        ('cut_in    = "50 psi"', 'cut_in = "40 to 60 psi"', "as a switch is labelled"),
        ('frost_depth = "36 in"', 'frost_depth = "about 36 in"', "for what is measured"),
        (SERVICE, 'length = "about 0 ft"', "it must be above zero"),
    ],
)
def test_what_is_no_range_is_told(line: str, written: str, part: str) -> None:
    """With file and line, and what was expected."""
    with pytest.raises(sc.InputError) as error:
        range_of(line, written)
    [problem] = error.value.problems
    assert part in problem.text
    assert problem.place.line > 1


def test_a_path_that_leads_nowhere_is_told() -> None:
    """Neither section, name nor key is guessed."""
    house = sc.load(RIDGE)
    for path in (("run", "no such", "length"), ("run", "service", "len"), ("pump", "x"), ("run",)):
        with pytest.raises(NoSuchField):
            value_at(house, path)


def test_a_file_without_ranges_loads_nothing_of_them() -> None:
    """The module that reads ranges is not imported for a plain file."""
    import subprocess
    import sys

    code = (
        "import sys, supplycalc as sc; sc.size(sc.load(sys.argv[1]), daily=False); "
        "print([m for m in sys.modules if m in ('scipy', 'supplycalc.reading.ranges') "
        "or m.startswith('supplycalc.chance')])"
    )
    root = Path(__file__).parents[2]
    told = subprocess.run(
        [sys.executable, "-c", code, str(RIDGE)], capture_output=True, text=True, cwd=root
    )
    assert told.stdout.strip() == "[]", told.stderr


def test_constant_pressure_pump_carries_its_switch_along() -> None:
    """What stands for cut-in and cut-out follows the pressure that is put in the pump's place."""
    text = RIDGE.read_text().replace('cut_in    = "50 psi"\ncut_out   = "70 psi"\n', "")
    text = text.replace(
        "[source.pump]\n", '[source.pump]\nkind = "constant-pressure"\nset_pressure = "60 psi"\n'
    )
    house = sc.loads(text)
    changed = with_value(house, ("source", "pump", "set_pressure"), 55 * PSI)
    assert changed.source.cut_in == changed.source.cut_out == 55 * PSI
