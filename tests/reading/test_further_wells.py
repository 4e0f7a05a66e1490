"""A second well in the file: how it is written, what it reads as, and what is refused."""

from __future__ import annotations

import pytest

from supplycalc.model import Run
from supplycalc.model.field_paths import with_value
from supplycalc.problems import InputError
from supplycalc.reading import loads
from supplycalc.reading.writing import write
from tests.two_wells import BOTH, FIRST, SECOND


def test_a_second_well_joins_where_its_run_ends() -> None:
    """Its drop pipe and its runs up to a point of the first well's line are its own line."""
    house = loads(BOTH, "two.toml")

    [lower] = house.further_wells
    assert lower.joins == "well tee"
    assert [link.name for link in lower.line] == ["drop pipe of lower well", "lower trench"]
    assert [link.name for link in house.line] == ["drop pipe", "trench", "tee to house"]
    assert {link.name for link in house.all_before_tank} <= {run.name for run in house.every_run}


def test_it_is_written_and_read_again() -> None:
    """The file that a house writes is the same house."""
    house = loads(BOTH, "two.toml")
    again = loads(write(house), "two.toml")

    [lower], [other] = house.further_wells, again.further_wells
    assert (other.joins, other.pump.curve) == (lower.joins, lower.pump.curve)
    ends = [
        [
            (link.name, link.start, link.end, link.size)
            for link in well.line
            if isinstance(link, Run)
        ]
        for well in (lower, other)
    ]
    assert ends[0] == ends[1]
    assert write(again) == write(house)


def test_in_short_it_joins_at_the_tank_or_where_it_says() -> None:
    """A drop pipe and an offset pipe are enough; joins names another point than the tank."""
    short = SECOND[: SECOND.index("[[run]]")].replace(
        "[well.pump]",
        'offset_pipe = { material = "pe-cts-sdr9", size = "1", length = "150 ft" }\n[well.pump]',
    )
    at_tank = loads(FIRST + short, "two.toml").further_wells[0]
    there = short.replace("[well.pump]", 'joins = "well tee"\n[well.pump]')
    at_tee = loads(FIRST + there, "two.toml").further_wells[0]

    assert (at_tank.joins, at_tee.joins) == ("source", "well tee")
    assert [link.end for link in at_tee.line if isinstance(link, Run)] == [
        "lower well, wellhead",
        "well tee",
    ]


def test_the_first_of_two_well_tables_is_the_first_well() -> None:
    """Who writes both wells alike need not know [source.well]; runs may start from its name."""
    start, end = FIRST.index("[source.pump]"), FIRST.index("[[run]]")
    own = FIRST[start:end]
    pump, well = own.split("[source.well]")
    table = f'[[well]]\nname = "upper well"\n{well}{pump.replace("source", "well")}'
    alike = FIRST[:start] + FIRST[end:] + table + SECOND

    house, other = loads(alike, "alike.toml"), loads(BOTH, "two.toml")

    assert house.source.well is not None
    assert house.source.well.name == "upper well"
    assert house.source.pump is not None
    assert other.source.pump is not None
    assert house.source.pump.curve == other.source.pump.curve
    assert [link.name for link in house.line] == [link.name for link in other.line]
    assert len(house.further_wells) == 1


REFUSED = [
    (BOTH.replace('to = "well tee"\nmaterial = "pe-cts-sdr9"\nlength = "150 ft"',
                  'to = "barn"\nmaterial = "pe-cts-sdr9"\nlength = "150 ft"'),
     "run 'lower trench' ends at 'barn', where nothing else ends"),
    (BOTH.replace("[well.pump]",
                  '[well.pump]\nkind = "constant-pressure"\nset_pressure = "50 psi"'),
     "two pumps on one tank follow a pressure switch"),
    (BOTH.replace('curve = [["0 gpm", "240 ft"], ["5 gpm", "220 ft"], ["10 gpm", "170 ft"]]', ""),
     "give its curve, or a bucket test with the other pump off"),
    (BOTH.replace('pump_depth = "120 ft"', "").replace("[well.pump]", '[well.pump]\nkind = "jet"'),
     "the pump of a further well hangs in it"),
    (BOTH.replace("[well.pump]", 'joins = "well tee"\n[well.pump]'),
     "its runs tell where it joins; leave joins out"),
    (BOTH.replace('kind = "well"', 'kind = "main"', 1),
     "well 'lower well' pumps beside another well, and the source is a main"),
    (BOTH.replace('name = "lower well"', 'name = "trench"').replace('"lower well"', '"trench"'),
     "the name is taken by run 'trench'"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "told"), REFUSED)
def test_what_cannot_be_is_refused(text: str, told: str) -> None:
    """Each mistake is told with what would be right."""
    with pytest.raises(InputError) as caught:
        loads(text, "two.toml")

    assert told in str(caught.value)


def test_its_figures_may_be_ranges() -> None:
    """A level, a yield, a bucket test or a pipe known roughly stand where the house has them."""
    rough = (
        BOTH.replace('static_level = "40 ft"', 'static_level = "35 to 50 ft"')
        .replace('recovery = "2 gpm"', 'recovery = "about 2 gpm"')
        .replace(
            'curve = [["0 gpm", "240 ft"], ["5 gpm", "220 ft"], ["10 gpm", "170 ft"]]',
            'measured_flow = "5 ± 0.5 gpm"\nmeasured_pressure = "40 psi"',
        )
        .replace('size = "1", length = "120 ft"', 'size = "1", length = "about 120 ft"')
    )
    house = loads(rough, "two.toml")

    assert {known.path for known in house.ranges} == {
        ("well", "lower well", "static_level"),
        ("well", "lower well", "recovery"),
        ("well", "lower well", "pump", "measured_flow"),
        ("run", "drop pipe of lower well", "length"),
    }
    deeper = with_value(house, ("well", "lower well", "static_level"), 15.0)
    assert deeper.further_wells[0].well.static_level == 15.0
    assert write(loads(write(house), "two.toml")) == write(house)
