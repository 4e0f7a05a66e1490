"""Pressure classes along a line: each piece in the first that bears what may stand in it."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Project, Run, WaterSource
from supplycalc.problems import InputError
from supplycalc.questions.size.study import size
from supplycalc.reading import loads
from supplycalc.reading.profiles import pieces
from supplycalc.sizing.classes import bearing_class
from tests.houses import cold_fixture, pipe, two_storey
from tests.sizing.test_line import open_line
from tests.sizing.test_profile import FILE, GOOD

CLASSES = ("pe100-sdr17", "pe100-sdr11")
DEEP = ((0.0, 0.0), (100.0, -10.0), (200.0, -70.0), (300.0, -8.0))


def valley(classes: tuple[str, ...] = CLASSES) -> House:
    """A line from a main of 5 bar through a valley 70 m deep."""
    run = pipe(
        "valley line", "source", "entry", length=300.0, material=classes[-1], joining="none",
        profile=DEEP, classes=classes, split=True, buried=1.2,
    )  # fmt: skip
    return two_storey(
        project=Project(name="Valley", demand="en806", units="metric"),
        source=WaterSource(kind="main", residual=5e5, static=6e5),
        runs=tuple(pieces(run)),
        devices=(),
        fixtures=(cold_fixture("tap", "hose-bibb", "entry", 10.0, elevation=-8.0),),
    )


def test_each_piece_is_laid_in_the_first_that_bears_it() -> None:
    """6 bar and 10 m of water are 7 bar; 70 m are 12.9 bar, more than SDR 17 (10 bar) bears."""
    design = size(valley(), mend=False)
    weight = specific_weight(design.house.water.cold)

    assert 6e5 + 10.0 * weight < 10e5 < 6e5 + 70.0 * weight < 16e5
    assert [run.material for run in design.runs[:3]] == [CLASSES[0], CLASSES[1], CLASSES[1]]
    assert not [it for it in design.findings if it.code == "rating-exceeded"]


def test_no_cheaper_choice_of_classes_bears_its_pressure() -> None:
    """Of the eight choices of two classes for three pieces, by the rating of each."""
    best = size(valley(), mend=False)
    house = valley()
    costs = []
    for number in range(8):
        laid = tuple(
            replace(run, material=CLASSES[number >> i & 1], classes=())
            for i, run in enumerate(house.runs)
        )
        design = size(replace(house, runs=laid), mend=False)
        if not [it for it in design.findings if it.code == "rating-exceeded"]:
            costs.append(design.cost)

    assert best.cost == pytest.approx(min(costs), rel=1e-12)


def test_the_strongest_is_left_where_none_bears_it() -> None:
    """And a finding tells of it."""
    house = valley()
    run = house.runs[0]

    assert bearing_class(house, run, (3e6, 3e6), 283.0) == CLASSES[-1]
    assert bearing_class(house, run, (9e5, 3e6), 283.0) == CLASSES[0]


def test_before_the_tank_the_pump_decides() -> None:
    """60 psi and 60 ft of lift, or 280 ft at shut-off: 121 psi, beyond SIDR 15 (100 psi)."""
    classes = ("pe-sidr19", "pe-sidr15", "pe-sidr9")
    house = open_line()
    first, second = house.line
    assert isinstance(first, Run)
    open_house = replace(house, line=(replace(first, material="pe-sidr9", classes=classes), second))
    design = size(open_house, mend=False)
    assert design.line is not None

    assert design.line.runs[0].material == "pe-sidr9"


@pytest.mark.parametrize(
    ("classes", "words"),
    [
        ('["pe-sidr9", "pe-sidr99"]', "is no tube"),
        ('["pe-sidr9", "pe100-sdr11"]', "cannot stand for"),
    ],
)
def test_classes_that_cannot_be(classes: str, words: str) -> None:
    """Of one kind only."""
    text = FILE.replace("PROFILE", GOOD).replace("MORE", f"classes = {classes}")
    with pytest.raises(InputError) as told:
        loads(text)

    assert words in str(told.value)
