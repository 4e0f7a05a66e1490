"""What stands before the tank, in short and in full: the same house, and what is refused."""

from __future__ import annotations

import pytest

from supplycalc.model import Run
from supplycalc.problems import InputError
from supplycalc.questions.size.study import size
from supplycalc.questions.well.study import well_check
from supplycalc.reading import loads
from supplycalc.reading.writing import write

WELL = """
[project]
name = "Hill (invented)"
[source]
kind = "well"
elevation = "-6 ft"
cut_in = "40 psi"
cut_out = "60 psi"
[source.pump]
curve = [["0 gpm", "310 ft"], ["5 gpm", "290 ft"], ["10 gpm", "235 ft"], ["15 gpm", "140 ft"]]
PUMP
[source.well]
static_level = "62 ft"
pump_depth = "160 ft"
elevation = "-20 ft"
SHORT
[defaults]
material = "pex-sdr9"
"""
TANK = 'volume = "44 gal"\nprecharge = "38 psi"\n'
SHORT = """
drop_pipe = { material = "pe-cts-sdr9", size = "1", length = "160 ft", check_valves = 1 }
offset_pipe = { material = "pe-cts-sdr9", size = "1-1/4", length = "180 ft" }
"""
DROP = """
[[run]]
name = "drop pipe"
from = "well"
to = "wellhead"
material = "pe-cts-sdr9"
size = "1"
length = "160 ft"
fittings = { check-valve = 1 }
"""
OFFSET = """
[[run]]
name = "offset pipe"
from = "wellhead"
to = "source"
material = "pe-cts-sdr9"
size = "1-1/4"
length = "180 ft"
fittings = {}
"""
HOUSE = """
[[run]]
name = "main"
from = "source"
to = "hall"
length = "20 ft"
[[fixture]]
name = "bath"
kind = "tub-shower"
elevation = "11 ft"
cold = { from = "hall", length = "30 ft" }
"""


def text(*parts: str, short: str = "", pump: str = "", tank: str = f"[source.tank]\n{TANK}") -> str:
    """A house on a well."""
    return WELL.replace("SHORT", short).replace("PUMP", pump) + tank + "".join(parts)


def at_tee(part: str) -> str:
    """The same with the tank at a point of its own."""
    return part.replace('"source"', '"tank tee"')


def test_in_short_and_in_full_it_is_the_same_house() -> None:
    """Word for word, and so to the last digit."""
    short, full = loads(text(HOUSE, short=SHORT)), loads(text(DROP, OFFSET, HOUSE))

    assert write(short) == write(full)
    assert [link.name for link in short.line] == ["drop pipe", "offset pipe"]
    assert [run.name for run in short.runs] == ["main"]


def test_the_tank_stands_at_a_point_of_its_own() -> None:
    """The same figures as at the source; the house hangs from the point."""
    tank = f'[[tank]]\nname = "big tank"\nat = "tank tee"\n{TANK}'
    plain = size(loads(text(DROP, OFFSET, HOUSE)), mend=False)
    moved = size(loads(text(DROP, at_tee(OFFSET), at_tee(HOUSE), tank=tank)), mend=False)

    assert moved.tree.points[0] == "tank tee"
    assert [run.loss for run in moved.runs] == [run.loss for run in plain.runs]
    assert well_check(moved).points == well_check(plain).points
    assert moved.house.source.tank is not None
    assert moved.house.source.tank.name == "big tank"


def test_the_line_may_start_from_the_source_where_the_tank_stands_elsewhere() -> None:
    """Source is then the water in the well."""
    tank = f'[[tank]]\nname = "tank"\nat = "tank tee"\n{TANK}'
    line = DROP.replace('"well"', '"source"') + at_tee(OFFSET)

    assert len(loads(text(line, at_tee(HOUSE), tank=tank)).line) == 2


def test_a_drop_pipe_in_short_goes_on_as_a_run() -> None:
    """From the wellhead."""
    house = loads(text(OFFSET, HOUSE, short=SHORT.splitlines()[1]))

    assert [link.end for link in house.line] == ["wellhead", "source"]


def test_a_jet_pump_stands_between_suction_and_line() -> None:
    """In short by its kind, in full by its points; what is before it is suction."""
    house = loads(
        text(HOUSE, short=SHORT, pump='kind = "jet"').replace('pump_depth = "160 ft"\n', "")
    )
    assert house.source.pump is not None

    assert [link.name for link in house.suction] == ["drop pipe"]
    assert [link.name for link in house.line] == ["offset pipe"]
    assert (house.source.pump.start, house.source.pump.end) == ("pump inlet", "pump outlet")
    assert write(loads(write(house))) == write(house)


def test_in_pieces_it_is_the_same_line() -> None:
    """The offset line as three runs: the pump gives the same."""
    third = '"60 ft"'
    pieces = (
        OFFSET.replace('"180 ft"', third).replace('"source"', '"a"'),
        OFFSET.replace('"180 ft"', third)
        .replace('"source"', '"b"')
        .replace('"wellhead"', '"a"')
        .replace('"offset pipe"', '"second"'),
        OFFSET.replace('"180 ft"', third)
        .replace('"wellhead"', '"b"')
        .replace('"offset pipe"', '"third"'),
    )
    whole = size(loads(text(DROP, OFFSET, HOUSE)), mend=False)
    cut = size(loads(text(DROP, *pieces, HOUSE)), mend=False)
    assert whole.pump is not None
    assert cut.pump is not None

    assert all(isinstance(link, Run) for link in cut.house.line)
    assert cut.pump.pump_flow == pytest.approx(whole.pump.pump_flow, rel=1e-12)
    assert [run.loss for run in cut.runs] == [run.loss for run in whole.runs]


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (text(DROP, OFFSET, HOUSE, short=SHORT), "in short for a run from 'well'"),
        (
            text(DROP, at_tee(OFFSET), at_tee(HOUSE)),
            "no tank stands where its line ends",
        ),
        (
            text(DROP, OFFSET, HOUSE, HOUSE.split("[[fixture]]")[1].join(["[[fixture]]", ""])
                 .replace('"bath"', '"tap"').replace('"hall"', '"well"')),
            "starts from 'well', before the tank",
        ),
        (
            text(DROP, OFFSET, HOUSE, tank='[[tank]]\nname = "t"\nat = "attic"\n'),
            "'attic' is no point",
        ),
        (
            text('[[tank]]\nname = "t"\nat = "source"\n', HOUSE, short=SHORT),
            "write both as one of their whole volume",
        ),
        (
            text(DROP, OFFSET, HOUSE, pump='kind = "jet"').replace('pump_depth = "160 ft"\n', ""),
            "stands between two points; say which",
        ),
        (
            text(DROP, OFFSET, HOUSE, pump='from = "a"'),
            "from needs to beside it",
        ),
        (
            text(DROP, OFFSET, HOUSE, tank='[source.tank]\nelevation = "-2 ft"\n'),
            "the tank's gauge has two heights",
        ),
        (
            text(DROP, OFFSET.replace('"source"', '"cold"'), HOUSE,
                 '[[device]]\nname = "valve"\nkind = "pressure-reducing-valve"\n'
                 'setting = "50 psi"\nfrom = "cold"\nto = "source"\n'),
            "the pump would push against it",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told(file: str, words: str) -> None:
    """In words that say what to write."""
    with pytest.raises(InputError) as told:
        loads(file)

    assert any(words in str(problem) for problem in told.value.problems), told.value
