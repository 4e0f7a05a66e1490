"""The public names refuse numbers that are none or out of range, as the command line does."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

import supplycalc as sc
from tests.commands.files import SCENARIOS

RIDGE = sc.load(SCENARIOS / "ridge-cottage.toml")
SLOW = sc.load(SCENARIOS / "slow-well.toml")


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: sc.hot(RIDGE, factor=0.0), "factor: 0.0 is not between 1 and 5"),
        (lambda: sc.hot(RIDGE, factor=math.nan), "factor: nan is not between"),
        (lambda: sc.hot(RIDGE, draws={"kitchen sink": -1.0}), "draws: -1.0 is not between"),
        (lambda: sc.size(RIDGE).to_dict("imperial"), "'imperial' is not a unit system"),
        (lambda: sc.parts(RIDGE, waste=math.inf), "waste: inf is not between 0 and 1"),
        (lambda: sc.flow(RIDGE, ["upstairs bath"], at_once=0), "at_once: 0 is not between"),
        (lambda: sc.flow(RIDGE, ["upstairs bath"], method="ircc"), "did you mean 'irc'"),
        (lambda: sc.day(SLOW, days=0), "days: 0 is not between"),
        (lambda: sc.day(SLOW, people=0), "people: 0 is not between"),
        (lambda: sc.well(SLOW, people=2000), "people: 2000 is not between 1 and 1000"),
        (lambda: sc.compare(RIDGE, cut_in=["forty"]), "'forty' is not a number with a unit"),
        (lambda: sc.compare(RIDGE, cut_in=[math.nan]), "above zero and at most 1450 psi"),
        (lambda: sc.compare(RIDGE, cut_in=[1e12]), "above zero and at most 1450 psi"),
    ],
)
def test_numbers_out_of_range_are_told(call: Callable[[], object], told: str) -> None:
    """With the name of the argument and its range."""
    with pytest.raises(sc.InputError) as caught:
        call()

    assert told in str(caught.value)


def test_one_value_of_a_house_is_changed() -> None:
    """Everything else stays; a text for a quantity, or an unknown field, is told at once."""
    service = RIDGE.runs[0]
    longer = sc.replace(RIDGE, runs=(sc.replace(service, length=100.0), *RIDGE.runs[1:]))

    assert longer.runs[0].length == 100.0
    assert sc.replace(longer, runs=RIDGE.runs) == RIDGE
    with pytest.raises(TypeError, match="length is a number in SI units, not '100 ft'"):
        sc.replace(service, length="100 ft")
    with pytest.raises((TypeError, AttributeError)):
        sc.replace(service, lenght=100.0)
