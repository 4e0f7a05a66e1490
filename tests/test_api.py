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
