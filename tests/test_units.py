"""Text to SI and back: what people write, what is refused, and what is shown."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from fractions import Fraction
from typing import Any

import pint
import pytest
from iapws import IAPWS95

from supplycalc.units import (
    DIMENSIONS,
    NotAQuantity,
    convert,
    parse,
    parse_loss,
    show,
    show_flow,
    unit_of,
)
from supplycalc.units.dimensions import FACTORS, HEAD_DENSITY, OFFSETS, SI

FT, IN = 0.3048, 0.0254
GAL = 231 * IN**3
PSI = 0.45359237 * 9.80665 / IN**2


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("140 ft", "length", 140 * FT),
        ("42.7 m", "length", 42.7),
        ("1e-3 m", "length", 1e-3),
        ("+5 ft", "length", 5 * FT),
        (".5 in", "length", 0.5 * IN),
        ("-6 ft", "elevation", -6 * FT),
        ("−6 ft", "elevation", -6 * FT),
        ("-5' 3\"", "elevation", -(5 * FT + 3 * IN)),
        ("50 degF", "temperature", 283.15),
        ("50 F", "temperature", 283.15),
        ("50 °F", "temperature", 283.15),
        ("32 deg F", "temperature", 273.15),
        ("10 degC", "temperature", 283.15),
        ("10 °C", "temperature", 283.15),
        ("-40 degC", "temperature", 233.15),
        ("283.15 K", "temperature", 283.15),
        ("500 degR", "temperature", 500 / 1.8),
        ("18 degF", "temperature-difference", 10.0),
        ("10 K", "temperature-difference", 10.0),
        ("7 gpm", "flow", 7 * GAL / 60),
        ("7 GPM", "flow", 7 * GAL / 60),
        ("0.2 L/s", "flow", 2e-4),
        ("15 l/min", "flow", 2.5e-4),
        ("2 m³/h", "flow", 2 / 3600),
        ("2 m^3/h", "flow", 2 / 3600),
        ("5 gal in 28 s", "flow", 5 * GAL / 28),
        ("5 gal / 28 s", "flow", 5 * GAL / 28),
        ("5 gal/28s", "flow", 5 * GAL / 28),
        ("10 L in 1/2 min", "flow", 0.01 / 30),
        ("5 ft 3 in", "length", 63 * IN),
        ("5' 3\"", "length", 63 * IN),
        ("5'3\"", "length", 63 * IN),
        ("5′ 3″", "length", 63 * IN),
        ('5\'3""', "length", 63 * IN),
        ("5' 3''", "length", 63 * IN),
        ("63''", "length", 63 * IN),
        ("5 gal in 1:15", "flow", 5 * GAL / 75),
        ("4 gallons a minute", "flow", 4 * GAL / 60),
        ("4 Gallons Per Minute", "flow", 4 * GAL / 60),
        ("300 gallons a day", "flow", 300 * GAL / 86400),
        ("3 imperial gallons a minute", "flow", 3 * 4.54609e-3 / 60),
        ("5 imp. gallons in 40 s", "flow", 5 * 4.54609e-3 / 40),
        ("3 UK gallons", "volume", 3 * 4.54609e-3),
        ("5' 3 1/2\"", "length", 63.5 * IN),
        ("5'-3 1/2\"", "length", 63.5 * IN),
        ("5 feet 3-1/2 inches", "length", 63.5 * IN),
        ("85 1/2 ft", "length", 85.5 * FT),
        ("85½ ft", "length", 85.5 * FT),
        ("3/4 in", "length", 0.75 * IN),
        ("1-1/2 in", "diameter", 1.5 * IN),
        ('3/4"', "diameter", 0.75 * IN),
        ("40 psi", "pressure", 40 * PSI),
        ("40 PSI", "pressure", 40 * PSI),
        ("40 psig", "pressure", 40 * PSI),
        ("2.8 bar", "pressure", 2.8e5),
        ("300 kPa", "pressure", 3e5),
        ("0.3 MPa", "pressure", 3e5),
        ("2 kgf/cm2", "pressure", 2 * 9.80665e4),
        ("44 gal", "volume", 44 * GAL),
        ("170 L", "volume", 0.17),
        ("10 imp gal", "volume", 0.0454609),
        ("10 imperial gallons", "volume", 0.0454609),
        ("1.2 gpm/ft", "specific-capacity", 1.2 * GAL / 60 / FT),
        ("10 L/min/m", "specific-capacity", 0.01 / 60),
        ("8 gpm / 5 ft", "specific-capacity", 8 * GAL / 60 / 5 / FT),
        ("4 psi/100 ft", "gradient", 4 * PSI / (100 * FT)),
        ("20 %", "share", 0.2),
        ("20%", "share", 0.2),
        ("92 ft", "head", 92 * FT),
        ("8 ft/s", "velocity", 8 * FT),
        ("1/2 hp", "power", 0.5 * 550 * FT * 0.45359237 * 9.80665),
        ("2 min", "time", 120.0),
        ("9 min 30 s", "time", 570.0),
        ("5 gal in 1 min 10 s", "flow", 5 * GAL / 70),
        ("20 L in 1 minute, 5 seconds", "flow", 0.02 / 65),
        ("10 gallons per minute", "flow", 10 * GAL / 60),
        ("36 liters per minute", "flow", 6e-4),
        ("940 kg/m3", "density", 940.0),
    ],
)
def test_what_people_write_is_read(text: str, dimension: str, value: float) -> None:
    """Each accepted form gives the SI value that its definition gives, to rounding of a float."""
    assert parse(text, dimension) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "dimension", "part"),
    [
        ("140", "length", "has no unit; choose from: ft, in, m, cm, mm"),
        ("0.2", "share", "has no unit; choose from: %"),
        ("3/4", "diameter", "has no unit"),
        ("nan ft", "length", "is not a number with a unit"),
        ("inf ft", "length", "is not a number with a unit"),
        ("infinity m", "length", "is not a number with a unit"),
        ("1e999 ft", "length", "too large"),
        ("3*4 ft", "length", "is not a number with a unit"),
        ("3+4 ft", "length", "is not a number with a unit"),
        ("(3) ft", "length", "is not a number with a unit"),
        ("2^3 ft", "length", "is not a number with a unit"),
        ("2**3 ft", "length", "is not a number with a unit"),
        ("about 85 ft", "length", "write '85 ft'"),
        ("٣ ft", "length", "is not a number with a unit"),
        ("2,8 bar", "pressure", "has a decimal comma; write 2.8 bar"),
        ("1,000 ft", "length", "write 1000 ft or 1.000 ft"),
        ("120 fit", "length", "'fit' is not a known unit for a length; did you mean 'ft'?"),
        ("7 gmp", "flow", "did you mean 'gpm'?"),
        ("40 psi", "length", "is a pressure, but a length is expected, such as '140 ft'"),
        ("40 ft", "pressure", "a height of water presses with 0.433 psi per ft"),
        ("5 kW", "flow", "is a power, but a flow is expected"),
        ("5 Btu", "flow", "is an energy, but a flow is expected"),
        ("5 candela", "flow", "measures something else"),
        ("14.7 psia", "pressure", "write 0.0 psi"),
        ("10 psia", "pressure", "gauge"),
        ("54.7 psi abs", "pressure", "write 40.0 psi"),
        ("3.8 bar(a)", "pressure", "write 2.79 bar"),
        ("381 kPa absolute", "pressure", "write 280 kPa"),
        ("92.4 ft of head", "pressure", "presses with 40.0 psi or 276 kPa"),
        ("28 mWS", "pressure", "presses with 39.8 psi or 274 kPa"),
        ("40 lbs", "pressure", "write 40 psi"),
        ("-6 ft", "length", "a length cannot be negative"),
        ("-500 degF", "temperature", "below absolute zero"),
        ("5 gal in 0 s", "flow", "divides by zero"),
        ("5/0 in", "length", "divides by zero"),
        ("5 gal in 28", "flow", "is not a number with a unit"),
        ("5 ft 3", "length", "the inches have no unit; write 5 ft 3 in"),
        ("5' 3 1/2", "length", "the inches have no unit; write 5 ft 3 1/2 in"),
        ("28 s per 5 gal", "flow", "the water stands first: write 5 gal in 28 s"),
        ("28 s for 5 gallons", "flow", "write 5 gallons in 28 s"),
        ("", "length", "empty"),
        ("ft", "length", "is not a number with a unit"),
        ("5 " + "f" * 80, "length", "too long"),
        ("12 psi at 7 gpm", "pressure", "is not a number with a unit"),
        ("?", "length", "measure it, or write your best guess"),
        ("5 ft 14 in", "length", "14 inches are a foot or more; write '6 ft 2 in' if that"),
        ("5 __import__('os')", "length", "is not a number with a unit"),
    ],
)
def test_what_is_no_quantity_is_refused(text: str, dimension: str, part: str) -> None:
    """The reason names what is wrong and what is right; no expression is ever evaluated.

    Absolute to gauge by the standard atmosphere, 101.325 kPa (ISO 2533); 2.31 ft of water to a psi.
    """
    with pytest.raises(NotAQuantity) as caught:
        parse(text, dimension)

    assert part in caught.value.reason
    assert isinstance(caught.value, ValueError)


def pint_name(unit: str) -> str:
    """A unit of the small table as pint spells it; imperial and spoken names by hand."""
    spoken = {
        "'": "foot", '"': "inch", "psig": "psi", "lbf/in2": "lbf/inch**2", "lpm": "liter/minute",
        "gpm": "gallon/minute", "US gpm": "gallon/minute", "imp gpm": "imperial_gallon/minute",
        "igpm": "imperial_gallon/minute",
        "imperial gpm": "imperial_gallon/minute", "gph": "gallon/hour", "gpd": "gallon/day",
        "gals": "gallon", "US gal": "gallon", "US gallon": "gallon", "US gallons": "gallon",
        "imp gal": "imperial_gallon", "imperial gal": "imperial_gallon",
        "imp gallon": "imperial_gallon", "imp gallons": "imperial_gallon",
        "imp gals": "imperial_gallon",
        "imperial gallon": "imperial_gallon", "imperial gallons": "imperial_gallon",
        "fl oz": "fluid_ounce",
        "cu ft": "foot**3", "cu in": "inch**3", "cfs": "foot**3/second", "cfm": "foot**3/minute",
        "fpm": "foot/minute", "gpm/ft": "gallon/minute/foot", "psi/100 ft": "psi/hectofoot",
        "HP": "horsepower", "lbs": "pound", "%": "percent", "l/min/m": "liter/minute/meter",
    }  # fmt: skip
    if unit in spoken:
        return spoken[unit]
    return unit.replace("3", "**3").replace("2", "**2")


@pytest.mark.parametrize(
    ("base", "unit"),
    [(base, unit) for base, units in FACTORS.items() for unit in units if base != "temperature"],
)
def test_every_common_unit_equals_pints(
    base: str, unit: str, exact: pint.UnitRegistry[Any]
) -> None:
    """The table's factor is pint's exact fraction; a few roundings of a float apart at most.

    Outside reference: pint's unit definitions (NIST SP 811 and CODATA), evaluated in fractions.
    """
    quantity = exact.Quantity(Fraction(1), pint_name(unit)).to(SI.get(base, ""))

    assert math.isclose(FACTORS[base][unit], float(quantity.magnitude), rel_tol=5e-16)


@pytest.fixture(scope="module")
def exact() -> pint.UnitRegistry[Any]:
    """pint in exact fractions."""
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize("unit", ["degF", "degC"])
@pytest.mark.parametrize("number", [-40.0, 0.0, 32.0, 120.0, 212.0])
def test_temperatures_equal_pints(unit: str, number: float, exact: pint.UnitRegistry[Any]) -> None:
    """Scale and offset of both temperature scales; 1e-13 K is float rounding at 373 K."""
    kelvin = float(exact.Quantity(Fraction(number), unit).to("kelvin").magnitude)

    assert parse(f"{number} {unit}", "temperature") == pytest.approx(kelvin, abs=1e-13)
    assert set(OFFSETS) <= set(FACTORS["temperature"])


def test_head_and_pressure_are_one_at_60_degf() -> None:
    """40 psi as a head: rho g at 60 degF, the density held against IAPWS-95.

    IAPWS R6-95 (by the `iapws` library) states 1e-6 for liquid water at one atmosphere; the
    constant's own last digit adds 0.0005/999 = 5e-7, together 1.5e-6 relative.
    """
    density = IAPWS95(T=parse("60 degF", "temperature"), P=0.101325).rho

    assert pytest.approx(density, rel=1.5e-6) == HEAD_DENSITY
    assert parse("40 psi", "head") == pytest.approx(40 * PSI / (HEAD_DENSITY * 9.80665), rel=1e-14)
    assert parse("29.92 inHg", "head") == pytest.approx(
        parse("29.92 inHg", "pressure") / (HEAD_DENSITY * 9.80665), rel=1e-14
    )


def test_the_usual_file_does_not_need_pint() -> None:
    """Common units, refusals of bare numbers and output all work with pint never imported."""
    code = (
        "import sys, json\n"
        "from supplycalc.units import parse, show, parse_loss, NotAQuantity\n"
        "parse('5 gal in 28 s', 'flow'); parse_loss('12 psi at 7 gpm'); show(1.0, 'head', 'us')\n"
        "try: parse('140', 'length')\n"
        "except NotAQuantity: pass\n"
        "before = 'pint' in sys.modules\n"
        "parse('3 fathom', 'length')\n"
        "print(json.dumps([before, 'pint' in sys.modules]))\n"
    )
    process = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert json.loads(process.stdout) == [False, True]


@pytest.mark.parametrize(
    ("value", "dimension", "us", "metric"),
    [
        (37.4 * PSI, "pressure", "37.4 psi", "258 kPa"),
        (7 * GAL / 60, "flow", "7.0 gpm", "26.5 L/min"),
        (5.25 * FT, "length", "5.2 ft", "1.6 m"),
        (140 * FT, "length", "140 ft", "42.7 m"),
        (-6 * FT, "elevation", "-6 ft", "-1.83 m"),
        (8 * FT, "velocity", "8.0 ft/s", "2.44 m/s"),
        (283.15, "temperature", "50 degF", "10 degC"),
        (10.0, "temperature-difference", "18 degF", "10 degC"),
        (0.681 * IN, "diameter", "0.681 in", "17.3 mm"),
        (0.45359237, "mass", "1.0 lb", "0.5 kg"),
        (44 * GAL, "volume", "44 gal", "167 L"),
        (12345.6 * GAL, "volume", "12,346 gal", "46,733 L"),
        (0.2, "share", "20 %", "20 %"),
        (0.0996, "share", "10 %", "10 %"),
        (745.6998715822702, "power", "1 hp", "0.75 kW"),
        (28.0, "time", "28 s", "28 s"),
        (-1e-9, "pressure", "0.0 psi", "0 kPa"),
        (-0.001, "elevation", "0 ft", "0 m"),
        (37.37 * FT, "length", "37.4 ft", "11.4 m"),
        (255.3722, "temperature", "0 degF", "-18 degC"),
    ],
)
def test_numbers_are_shown_with_honest_digits(
    value: float, dimension: str, us: str, metric: str
) -> None:
    """Digits by dimension; a negative zero is never shown."""
    assert show(value, dimension, "us") == us
    assert show(value, dimension, "metric") == metric
    assert show(value, dimension, "us", unit=False) == us.split()[0]


def test_conversion_keeps_full_precision() -> None:
    """JSON gets what the file said, not what tables show."""
    assert convert(parse("40.123456 psi", "pressure"), "pressure", "us") == (
        pytest.approx(40.123456, rel=1e-15),
        "psi",
    )
    assert str(convert(-0.0, "pressure", "us")[0]) == "0.0"
    assert unit_of("flow", "metric") == "L/min"


def test_every_dimension_reads_its_own_examples_and_units() -> None:
    """What messages offer is accepted."""
    for name, dimension in DIMENSIONS.items():
        for example in dimension.examples:
            assert math.isfinite(parse(example, name))
        for unit in (*dimension.units, dimension.us[0], dimension.metric[0]):
            assert parse(f"300 {unit}", name) >= 0


def test_losses_are_read_in_every_form() -> None:
    """A point makes a square law, a bare pressure a constant, Cv and Kv their definitions.

    Cv: US gpm of water at 1 psi; Kv: m3/h at 1 bar (IEC 60534-1, from memory), so that
    Kv = 0.865 Cv (the rounded factor of valve handbooks, from memory; 5e-4 is its last digit).
    """
    square = parse_loss("12 psi at 7 gpm")
    cv, kv = parse_loss("Cv 8"), parse_loss("Kv 6.92")

    assert (square.quadratic, square.reference_flow) == pytest.approx((12 * PSI, 7 * GAL / 60))
    assert square.constant == 0
    assert parse_loss("5 psi").constant == pytest.approx(5 * PSI)
    assert parse_loss("20 kPa @ 0.2 L/s").quadratic == pytest.approx(20e3)
    assert (cv.quadratic, cv.reference_flow) == pytest.approx((PSI, 8 * GAL / 60))
    assert (kv.quadratic, kv.reference_flow) == pytest.approx((1e5, 6.92 / 3600))
    assert cv.quadratic / cv.reference_flow**2 == pytest.approx(
        kv.quadratic / kv.reference_flow**2, rel=2 * 5e-4 / 0.865
    )


@pytest.mark.parametrize(
    ("value", "shown", "number"),
    [
        (5 * FT + 3 * IN, "5 ft 3 in", "5.2"),
        (-(3 * FT + 9.5 * IN), "-3 ft 9-1/2 in", "-3.8"),
        (5.5 * FT, "5.5 ft", "5.5"),
        (3 * IN, "3 in", "0.2"),
        (-6 * FT, "-6 ft", "-6"),
    ],
)
def test_what_was_measured_in_feet_and_inches_is_shown_so(
    value: float, shown: str, number: str
) -> None:
    """With its unit; a table, whose column has one unit, keeps tenths of feet."""
    assert show(value, "elevation", "us") == shown
    assert parse(shown, "elevation") == pytest.approx(value, abs=1e-9)
    assert show(value, "elevation", "us", unit=False) == number


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("12 psi at 7 psi", "a flow is expected"),
        ("12 psi at 0 gpm", "must be above zero"),
        ("Cv 0", "must be above zero"),
        ("12 gpm at 7 psi", "is a flow, but a pressure is expected"),
        ("5", "has no unit"),
        ("some", "a loss is written like '12 psi at 7 gpm'"),
    ],
)
def test_wrong_losses_are_refused(text: str, part: str) -> None:
    """The reason says which half is wrong."""
    with pytest.raises(NotAQuantity) as caught:
        parse_loss(text)

    assert part in caught.value.reason


def test_a_trickle_is_told_with_a_digit_more() -> None:
    """A well of three quarters of a gallon a minute is none of 0.8."""
    gpm = 3.785411784e-3 / 60

    assert show_flow(0.75 * gpm, "us") == "0.75 gpm"
    assert show_flow(0.5 * gpm, "us") == "0.5 gpm"
    assert show_flow(7.2 * gpm, "us") == "7.2 gpm"
