"""A second pressure tank behind the first: read, written back, and refused where it cannot work."""

from __future__ import annotations

from pathlib import Path

import pytest

import supplycalc as sc
from supplycalc.questions.day.study import day
from supplycalc.questions.size.study import size

TEXT = (Path(__file__).parents[2] / "scenarios/two-houses-and-a-barn.toml").read_text(
    encoding="utf-8"
)


def far(at: str, more: str = "") -> str:
    """The scenario with a second tank."""
    tank = (
        f'\n[[tank]]\nname = "upper tank"\nat = "{at}"\nvolume = "86 gal"\nprecharge = "40 psi"\n'
    )
    return f"{TEXT}{tank}{more}"


def test_it_is_read_and_written_back() -> None:
    """Beside [source.tank], and where both stand in [[tank]], in either order."""
    house = sc.loads(far("upper hall"))
    assert [tank.name for tank in house.far_tanks] == ["upper tank"]
    assert house.source.tank is not None
    assert house.source.tank.name == "pressure tank"
    assert sc.loads(sc.write(house)).far_tanks[0].precharge == house.far_tanks[0].precharge
    main = '[[tank]]\nname = "pressure tank"\nat = "source"\nvolume = "190 gal"\n'
    start, end = TEXT.index("[source.tank]"), TEXT.index("[source.pump]")
    without = TEXT[:start] + TEXT[end:]
    after = far("upper hall").replace(TEXT, "")
    for both in (main + after, after + main):
        read = sc.loads(f"{without}\n{both}")
        assert read.source.tank is not None
        assert read.source.tank.name == "pressure tank"
        assert [tank.name for tank in read.far_tanks] == ["upper tank"]


@pytest.mark.parametrize(
    ("at", "more", "said"),
    [
        ("source", "", "both as one of their whole volume"),
        ("upper hot", "", "it would hold hot water"),
        ("uper hall", "", "no point where a run or device ends"),
        ("upper hall", "at_well = true\n", "at_well belongs to"),
        ("upper hall", 'elevation = "25 ft"\n', r"have two heights \(25 ft and 18 ft\)"),
        (
            "upper hall",
            '[[tank]]\nname = "third"\nat = "barn header"\nvolume = "20 gal"\n',
            "one more is reckoned with",
        ),
    ],
)
def test_what_could_not_work_is_told(at: str, more: str, said: str) -> None:
    """Each with a clear word."""
    with pytest.raises(sc.InputError, match=said):
        sc.loads(far(at, more))


def test_its_gauge_tells_how_high_its_point_stands() -> None:
    """As a [[point]] does: the same sizes, and the same water through a day."""
    point = '[[point]]\nname      = "upper hall"\nelevation = "18 ft"\n'
    text = far("upper hall", 'elevation = "18 ft"\n')
    assert point in text
    designs = [size(sc.loads(each), mend=False) for each in (text, text.replace(point, ""))]
    days = [day(each) for each in designs]

    assert designs[0].sizes == designs[1].sizes
    assert days[0].water.drawn > 0.0
    assert days[1].water.drawn == pytest.approx(days[0].water.drawn, rel=1e-9)
    assert days[1].water.pumped == pytest.approx(days[0].water.pumped, rel=1e-9)


def test_its_charge_may_be_known_within_a_range() -> None:
    """And then stands by its name."""
    house = sc.loads(
        far("upper hall").replace('precharge = "40 psi"', 'precharge = "about 40 psi"')
    )
    assert ("tank", "upper tank", "precharge") in [known.path for known in house.ranges]
