"""Whatever the number, text and SI agree in both directions and in both unit systems."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supplycalc.units import DIMENSIONS, NotAQuantity, UnitSystem, convert, parse, show

SYSTEMS: tuple[UnitSystem, UnitSystem] = ("us", "metric")
plain = st.floats(min_value=0, max_value=1e6, allow_nan=False).map(lambda x: round(x, 6))


@given(number=plain, dimension=st.sampled_from(sorted(DIMENSIONS)), system=st.sampled_from(SYSTEMS))
def test_what_is_converted_reads_back(number: float, dimension: str, system: UnitSystem) -> None:
    """parse(convert(x)) is x; 1e-12 relative (or 1e-10 K) is a few float roundings."""
    value = number + 300 if dimension == "temperature" else number
    shown, unit = convert(value, dimension, system)

    assert parse(f"{shown!r} {unit}", dimension) == pytest.approx(value, rel=1e-12, abs=1e-10)


@given(number=plain, dimension=st.sampled_from(sorted(DIMENSIONS)), system=st.sampled_from(SYSTEMS))
def test_what_is_shown_reads_back_to_its_last_digit(
    number: float, dimension: str, system: UnitSystem
) -> None:
    """The text shown differs from the value by at most half of its last digit."""
    value = parse(f"{number} {DIMENSIONS[dimension].units[0]}", dimension)
    text = show(value, dimension, system)
    digits = len(text.split()[0].partition(".")[2])

    full = convert(value, dimension, system)[0]
    again = float(text.split()[0].replace(",", ""))
    assert abs(again - full) <= 0.5 * 10**-digits + 1e-9 * abs(full)


@given(feet=st.integers(0, 5000), inches=st.integers(0, 11), sixteenths=st.integers(1, 15))
def test_feet_and_inches_equal_inches(feet: int, inches: int, sixteenths: int) -> None:
    """5' 3 7/16" is 63 7/16 in, however it is written; 1e-14 is float rounding."""
    whole = parse(f"{12 * feet + inches} {sixteenths}/16 in", "length")

    for text in (
        f"{feet}' {inches} {sixteenths}/16\"",
        f"{feet}'-{inches}-{sixteenths}/16\"",
        f"{feet} ft {inches} {sixteenths}/16 in",
        f"{feet} feet {inches + sixteenths / 16} inches",
    ):
        assert parse(text, "length") == pytest.approx(whole, rel=1e-14)


@given(gallons=plain.filter(bool), seconds=plain.filter(bool))
def test_a_bucket_test_is_sixty_gallons_over_seconds(gallons: float, seconds: float) -> None:
    """gpm = 60 x gallons / seconds, never upside down."""
    flow = parse(f"{gallons} gal in {seconds} s", "flow")

    assert convert(flow, "flow", "us")[0] == pytest.approx(60 * gallons / seconds, rel=1e-13)


@given(number=plain)
def test_unit_systems_agree(number: float) -> None:
    """1 bar is 14.5038 psi (NIST SP 811), whichever way a pressure goes."""
    value = parse(f"{number} bar", "pressure")

    assert convert(value, "pressure", "metric")[0] == pytest.approx(100 * number, rel=1e-14)
    assert convert(value, "pressure", "us")[0] == pytest.approx(14.503774 * number, rel=4e-8)


@given(text=st.text(max_size=40), dimension=st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_a_finite_value_or_refused(text: str, dimension: str) -> None:
    """Nothing but NotAQuantity escapes, and no value is infinite or nan."""
    with contextlib.suppress(NotAQuantity):
        assert abs(parse(text, dimension)) < float("inf")


pieces = st.sampled_from(
    ["5", "1/2", " ", "ft", "in", "'", '"', "gal", "/", "s", "psi", "at", "-", "e", ".", ",", "%",
     "degF", "*", "m", "3", "²", "(", "°", "gpm", "imp", "at 7 gpm", "_", "kilo", "mu", "0"]
)  # fmt: skip


@given(parts=st.lists(pieces, max_size=7), dimension=st.sampled_from(sorted(DIMENSIONS)))
def test_any_jumble_of_number_and_unit_is_read_or_refused(parts: list[str], dimension: str) -> None:
    """The same for text that is nearly right, which reaches pint."""
    with contextlib.suppress(NotAQuantity):
        assert abs(parse("".join(parts), dimension)) < float("inf")
