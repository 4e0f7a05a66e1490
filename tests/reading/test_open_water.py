"""Open tanks and springs in the file: read, refused where they cannot work, written again."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.problems import InputError
from supplycalc.reading import load, loads
from supplycalc.reading.writing import write
from tests.commands.files import SCENARIOS
from tests.houses import FOOT, GPM

HILL = (SCENARIOS / "hill-tank.toml").read_text(encoding="utf-8")


def spoilt(old: str, new: str) -> str:
    """The scenario with one text replaced."""
    assert old in HILL
    return HILL.replace(old, new, 1)


def test_a_tank_up_the_hill_is_read_and_written() -> None:
    """Levels, outlet, volume and inflow, and the same house again from what is written."""
    house = load(SCENARIOS / "hill-tank.toml")
    source = house.source

    assert source.by_gravity
    assert source.lowest_level == pytest.approx(89.0 * FOOT)
    assert source.highest_level == pytest.approx(94.0 * FOOT)
    assert source.inflow == pytest.approx(1.5 * GPM)
    again = loads(write(house)).source
    assert replace(again, place=source.place) == source


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('highest_level = "94 ft"', 'highest_level = "80 ft"', "highest_level lies below"),
        ('inflow        = "1.5 gpm"', "", "nothing fills this tank"),
        ('lowest_level  = "89 ft"', "", "lowest_level is missing"),
        ('elevation     = "88 ft"', 'elevation     = "90 ft"', "it would draw air"),
        ('kind          = "tank"', 'kind          = "main"', "belong to a tank"),
        ('inflow        = "1.5 gpm"', 'inflow = "1 gpm"\nresidual = "40 psi"', "belongs to a main"),
        ('inflow        = "1.5 gpm"', 'yield = "1.5 gpm"', "inflow"),
    ],
)
def test_what_cannot_work_is_refused(old: str, new: str, told: str) -> None:
    """Swapped levels, a tank that nothing fills, no level, an outlet above the water, others' keys;
    what people call it leads to the key."""
    with pytest.raises(InputError, match=told):
        loads(spoilt(old, new))
