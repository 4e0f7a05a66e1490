"""The pipe between a well and the open tank that it fills: runs with everything that a run has."""

from __future__ import annotations

from pathlib import Path

import pytest

import supplycalc as sc
from supplycalc.chance.certainty import bears_on_pump
from supplycalc.model import House
from supplycalc.model.field_paths import value_at, with_value
from supplycalc.questions.draw.study import supply_drawing
from supplycalc.questions.parts.study import parts
from supplycalc.questions.size.study import size
from supplycalc.questions.slab.study import slab
from supplycalc.questions.well.study import well_check
from supplycalc.reading.writing import write
from supplycalc.sizing.design import Design
from supplycalc.sizing.pressure_range import crests, pipe_pressures
from supplycalc.supply.open_water import fill_of
from tests.commands.files import SCENARIOS, run
from tests.houses import FOOT, GPM

FILE = SCENARIOS / "weak-well-cistern.toml"
TEXT = FILE.read_text(encoding="utf-8")
DESIGN = size(sc.load(FILE), mend=False)
LINE = TEXT[TEXT.index("[[run]]  ") : TEXT.index('[[run]]\nname     = "main"')]
SHORT = 'offset_pipe  = { material = "pe-cts-sdr9", size = "3/4", length = "120 ft" }\n'
DROP = TEXT[TEXT.index("drop_pipe  ") : TEXT.index("[source.well_pump]")]


def changed(*pairs: tuple[str, str]) -> House:
    """The scenario with texts replaced."""
    text = TEXT
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return sc.loads(text)


def sized(*pairs: tuple[str, str]) -> Design:
    """The same, sized."""
    return size(changed(*pairs), mend=False)


def test_both_spellings_are_one_line() -> None:
    """Drop and offset pipe in short, or runs, in the same size: the same flow to the last digit."""
    plain = LINE.replace("fittings = { elbow-90 = 2 }\n", 'fittings = {}\nsize = "3/4"\n')
    short = sized((LINE, ""), ("[source.well_pump]", f"{SHORT}\n[source.well_pump]"))
    runs = sized((LINE, plain))

    assert short.line is not None
    assert runs.line is not None
    assert [run.length for run in short.line.runs] == [run.length for run in runs.line.runs]
    assert short.line.flow == runs.line.flow
    assert fill_of(short.house) == fill_of(runs.house)


def test_its_size_is_the_least_that_lets_the_pump_give_what_the_well_does() -> None:
    """The well sustains 0.75 gpm, the pump gives 0.785 at most: 95 % of it is asked; half an inch
    would do, but a service is 3/4 inch at least."""
    line = DESIGN.line
    assert line is not None
    [_, trench] = line.runs

    assert line.by_pump
    fill = fill_of(DESIGN.house)
    assert fill is not None
    assert line.flow == pytest.approx(fill.pump, rel=1e-9)
    assert line.wanted == pytest.approx(0.95 * fill.pump, rel=0.01)
    assert line.wanted < 0.75 * GPM
    assert trench.nominal == "3/4"
    assert trench.before_tank
    assert trench.next_smaller is not None
    assert trench.decided_by == trench.next_smaller.reason.removeprefix("below the ")


def test_a_long_line_is_as_wide_as_the_pump_asks() -> None:
    """Ten times as far, a pump of 4 gpm to a well of 3: every size under the one chosen lets it
    give less than the well does."""
    design = sized(
        ('["0.7 gpm", "70 ft"], ["1 gpm", "0 ft"]', '["3 gpm", "90 ft"], ["4 gpm", "70 ft"]'),
        ('recovery     = "0.75 gpm"', 'recovery = "3 gpm"'),
        ('length   = "120 ft"\nfittings', 'length = "1200 ft"\nfittings'),
    )
    assert design.line is not None
    smaller = design.line.runs[1].next_smaller

    assert design.line.flow >= design.line.wanted
    assert smaller is not None
    assert design.line.runs[1].decided_by == "pump"
    assert smaller.worst_margin < 0.0


def test_what_stands_in_it_against_a_shut_valve() -> None:
    """By hand: 260 ft of head over water at -58 ft leave 205 ft at the cistern, at
    -3 ft; for that the trench is tested."""
    line = next(it for it in pipe_pressures(DESIGN) if it.name == "line to the cistern")

    assert line.stuck_switch == pytest.approx(205.0 * FOOT * 999.7 * 9.80665, rel=1e-3)
    study = slab(changed())
    assert study.highest_pressure == pytest.approx(line.stuck_switch)
    assert study.highest_in == "line to the cistern"
    assert study.runs[0].result.name == "line to the cistern"


def test_weak_pipe_is_told_and_not_as_a_switch_that_sticks() -> None:
    """An open tank has no pressure switch: a shut valve is what lets the pressure rise."""
    weak = changed((LINE, LINE.replace("pe-cts-sdr9", "pe-sidr19")))
    told = [it for it in size(weak, mend=False).findings if it.code == "stuck-switch"]

    assert [it.level for it in told] == ["warn"]
    assert "against a valve that is shut" in told[0].message
    assert "line to the cistern" in told[0].where


def test_parts_slab_and_drawing_have_it() -> None:
    """Pipe, elbows and what hangs in the well are bought; the pressure tank's fittings are the
    booster's; the drawing goes from the well over the open tank to the house."""
    groups = {(item.group, item.kind): item.places for item in parts(changed()).items}
    rows = supply_drawing(DESIGN).rows[:6]

    assert any("line to the cistern" in place for place in groups["well", "elbow-90"])
    assert ("well", "pitless-adapter") in groups
    assert ("booster", "pressure-switch") in groups
    assert ("well", "pressure-switch") not in groups
    assert [row.name for row in rows] == [
        "well",
        "drop pipe",
        "line to the cistern",
        "open tank",
        "pressure tank",
        "main",
    ]
    assert [row.type for row in rows[:4]] == ["well", "run", "run", "well"]


def test_a_booster_that_runs_already_buys_no_tank_but_the_line() -> None:
    """Its bucket test says that it is there; the line to the cistern is new all the same."""
    house = changed(
        (
            'curve       = [["0 gpm", "210 ft"], ["6 gpm", "190 ft"], ["12 gpm", "155 ft"], '
            '["18 gpm", "100 ft"]]',
            'measured_flow = "12 gpm"\nmeasured_pressure = "50 psi"',
        )
    )
    groups = {item.group for item in parts(house).items}

    assert "booster" not in groups
    assert "well" in groups


def hill(height: float) -> str:
    """The line over a hill so high [ft]; the tank's inlet stands at -3 ft."""
    way = f'[["0 ft", "2 ft"], ["60 ft", "{height} ft"], ["120 ft", "-3 ft"]]'
    return LINE.replace('length   = "120 ft"', f'length = "120 ft"\nprofile = {way}')


def told_at(design: Design, code: str) -> list[tuple[str, str]]:
    """Level and place of what one rule found."""
    return [(it.level, it.where) for it in design.findings if it.code == code]


def test_frost_is_judged_there() -> None:
    """42 inches over a frost depth of 60."""
    frost = sized(("[water]", '[limits]\nfrost_depth = "60 in"\n\n[water]'))
    told = [it for it in frost.findings if "line to the cistern" in it.where]

    assert any("frost" in it.code for it in told)


@pytest.mark.parametrize("split", ["", "split = true\n"])
def test_a_height_above_the_tank_is_told_of_whether_the_line_is_split_or_not(split: str) -> None:
    """20 ft over the inlet: the tank's own level can't mend what hangs there at rest. Over 58 ft
    below the datum a pump of 70 ft at rest gets to the inlet at -3 ft, and not to 17 ft."""
    way = (LINE, hill(17.0).replace("profile", f"{split}profile"))
    weak = ('"260 ft"], ["0.7 gpm", "70 ft"]', '"70 ft"], ["0.7 gpm", "65 ft"]')
    over, short = sized(way), sized(way, weak)
    [(level, where)] = told_at(over, "height-before-open-tank")

    assert crests(over) == ()
    assert over.profiles[0].name == "line to the cistern"
    assert level == "warn"
    assert "line to the cistern" in where
    assert over.ok
    assert [level for level, _ in told_at(short, "height-before-open-tank")] == ["fail"]


def test_what_the_pump_gives_over_a_height() -> None:
    """By hand: its curve, 0.7 gpm at 70 ft to 1 gpm at none, against 60 ft of depth below 2 ft and
    the height, with hardly a foot of friction at such a flow."""
    [remark] = [it for it in sized((LINE, hill(7.0))).findings if it.code.startswith("height-be")]
    (above, _), (flow, _) = remark.values

    assert above == pytest.approx(10.0 * FOOT)
    lift = 7.0 + 58.0
    assert flow / GPM == pytest.approx(0.7 + 0.3 * (70.0 - lift) / 70.0, rel=0.01)


def test_a_line_that_only_falls_has_no_height() -> None:
    """The scenario's wellhead lies 5 ft over the inlet."""
    assert told_at(DESIGN, "height-before-open-tank") == []


def test_well_shows_other_sizes_of_it() -> None:
    """What the well's pump then gives, by hand the meeting of its curve and the lift; no pressure
    at a switch that there is none of."""
    check = well_check(DESIGN)
    now = next(option for option in check.pipe if option.now)
    page = " ".join(run("well", FILE, "--years", "1", "--full").stdout.split())
    fill = fill_of(DESIGN.house)

    assert fill is not None
    assert now.flow == pytest.approx(fill.pump, rel=1e-3)  # of a curve in straight pieces
    assert now.held_pressure is None
    assert now.flow_at_cut_out is None
    assert [option.flow for option in check.pipe] == sorted(o.flow for o in check.pipe)
    assert "Pipe from the well to the tank, 120 ft of pe-cts-sdr9" in page
    assert "well's pump gives" in page


def test_commands_show_it() -> None:
    """`check` as part of the way, `compare --run` with what the pump gives, `size` in a line."""
    check = " ".join(run("check", FILE, "--full").stdout.split())
    compare = run("compare", FILE, "--run", "line to the cistern").stdout
    first = " ".join(run("size", FILE).stdout.split())

    assert "line to the cistern: 120 ft of pe-cts-sdr9; 2 elbow-90; buried 42 in; to tank" in check
    assert "leave them out" not in check
    assert "pump gives" in compare
    assert "Before the open tank, 0.76 gpm from the pump: drop pipe 1 and line to the ci" in first


def test_it_is_written_as_it_was_read() -> None:
    """Runs of the line, with sizes open, and the same design again."""
    again = size(sc.loads(write(changed())), mend=False)

    assert again.line is not None
    assert DESIGN.line is not None
    assert [(it.name, it.nominal) for it in again.line.runs] == [
        (it.name, it.nominal) for it in DESIGN.line.runs
    ]
    assert again.line.flow == DESIGN.line.flow


def test_a_jet_pump_above_a_dug_well_may_fill_it() -> None:
    """It stands between two points, sucks through its drop pipe, and is judged for its lift."""
    jet = (
        ('pump_depth   = "240 ft"\n', ""),
        ("[source.well_pump] ", '[source.well_pump]\nkind = "jet"\nelevation = "2 ft"\n'),
        ('length = "240 ft"', 'length = "40 ft"'),
        ('from     = "wellhead"', 'from = "pump outlet"'),
        ("# throttled", 'from = "wellhead"\nto = "pump outlet"\n# throttled'),
    )
    deep = sized(*jet)
    shallow = sized(*jet, ('static_level = "60 ft"', 'static_level = "12 ft"'))
    rows = supply_drawing(shallow).rows[:5]

    assert [link.name for link in deep.house.suction] == ["drop pipe"]
    assert [it.where for it in deep.findings if it.code == "suction-lift"] == ["well pump"]
    assert not [it for it in shallow.findings if it.code == "suction-lift"]
    assert [row.type for row in rows] == ["water", "run", "pump", "run", "well"]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('to       = "tank inlet"', 'to = "source"', "let the line from the well end at 'tank in"),
        ('to       = "tank inlet"', 'to = "tank"', "nothing hangs from it"),
        (
            'name     = "main"\nfrom     = "source"',
            'name = "main"\nfrom = "tank inlet"',
            "let it start from 'source'",
        ),
        ("motor_power", 'from = "a"\nto = "b"\nmotor_power', "stands between no two points"),
        (SHORT, SHORT, "both"),
    ],
)
def test_what_cannot_be_meant_is_refused(old: str, new: str, told: str) -> None:
    """A line that ends at the house's own source, or nowhere; a house that hangs on the inlet; a
    second pump with two points; a line told twice."""
    text = TEXT.replace(old, new, 1)
    if old == SHORT:
        text, told = TEXT.replace(DROP, f"{DROP}{SHORT}", 1), "is in short for a run"
    with pytest.raises(sc.InputError, match=told):
        sc.loads(text)


def test_a_tank_up_the_hill_that_a_well_fills(tmp_path: Path) -> None:
    """Without a second pump: its line is sized, drawn before the tank and told by `check` and
    `well`; `slab` tests for what a shut valve brings."""
    text = (SCENARIOS / "hill-tank.toml").read_text(encoding="utf-8")
    inflow = text[text.index("inflow ") : text.index("[water]")]
    filled = """
[source.well]
static_level = "40 ft"
recovery = "3 gpm"
pump_depth = "150 ft"
elevation = "0 ft"
drop_pipe = { material = "pe-cts-sdr9", size = "1", length = "150 ft", check_valves = 1 }
[source.well_pump]
curve = [["0 gpm", "320 ft"], ["5 gpm", "250 ft"], ["8 gpm", "150 ft"]]
[[run]]
name = "up the hill"
from = "wellhead"
to = "tank inlet"
material = "pe-cts-sdr9"
length = "600 ft"
buried = "40 in"
fittings = {}

"""
    path = tmp_path / "house.toml"
    path.write_text(text.replace(inflow, filled), encoding="utf-8")
    house = sc.load(path)
    design = size(house, mend=False)
    rows = [row.name for row in supply_drawing(design).rows if row.index <= 0]
    fill = fill_of(design.house)
    page = " ".join(run("check", path).stdout.split())
    well = run("well", path, "--full", "--years", "1")

    assert fill is not None
    assert design.line is not None
    assert design.line.flow == pytest.approx(fill.pump, rel=1e-9)
    assert rows == ["well", "drop pipe", "up the hill", "open tank"]
    assert "Well that fills the open tank: wellhead at 0 ft" in page
    assert "well's pump gives" in well.stdout
    assert well.exit_code == run("size", path).exit_code == 0
    # 320 ft over water at -40 ft, at the lowest end of the line, the wellhead
    weight = 999.7 * 9.80665
    assert slab(house).highest_pressure == pytest.approx(280.0 * FOOT * weight, rel=2e-3)


def test_what_is_known_roughly_of_the_well_is_the_wells() -> None:
    """A range of its yield changes what comes, and nothing at the second pump; pipe and pump of the
    line may be ranges, too, and are written as read."""
    house = changed(
        ('recovery     = "0.75 gpm"', 'recovery = "0.4 gpm to 0.6 gpm"'),
        ('length   = "120 ft"\nfittings', 'length = "100 ft to 140 ft"\nfittings'),
    )
    yielded = ("source", "well", "recovery")
    dry = with_value(house, yielded, 0.2 * GPM)
    lows = [value_at(house, known.path) for known in house.ranges]

    assert lows == pytest.approx([0.5 * GPM, 120.0 * FOOT])
    assert dry.source.filled_by is not None
    assert dry.source.filled_by.well.recovery == pytest.approx(0.2 * GPM)
    assert dry.source.well == house.source.well
    assert not bears_on_pump(house, yielded)
    assert bears_on_pump(house, ("source", "pump", "curve"))
    assert [known.path for known in sc.loads(write(house)).ranges] == [
        known.path for known in house.ranges
    ]
