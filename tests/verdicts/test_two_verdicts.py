"""Where the verdict by the code's peak and that of daily use stand side by side, both say why."""

from __future__ import annotations

import re

from tests.verdicts.judged import answered, ask
from tests.verdicts.wells import INCH_OR_MORE, ONE_STOREY, STRONG, TWO_BATHS, WEAK
from tests.verdicts.writing import curve, device, inside, line, main, project, two_baths, well

OLD_PLUMBING = (
    project("as thousands stand", people="4")
    + well()
    + line(30, 'size = "1"', more="")
    + device("softener", "softener", "entry", "soft", "10 psi at 10 gpm")
    + inside(two_baths(), feed="soft").replace('from = "soft"', 'from = "soft"\nsize = "3/4"')
)
"""18 gpm of the code's peak through 3/4 inch mains and a softener that loses 32 psi of 40 then;
what four people draw, 6 gpm or less nearly always, leaves it 4 psi and the mains 5."""


def test_a_house_that_stands_by_thousands_says_why_it_fails_and_yet_lives() -> None:
    """By the code's peak nothing is left; a family hardly ever notices: both, and the reason."""
    told = ask(OLD_PLUMBING, "size")
    opening = " ".join(told.text.partition("Pressure on the way")[0].split())

    assert told.exit_code == 1
    assert opening.startswith("Fails")
    assert re.search(r"In daily use \(4 people\) .* because the peak of [\d.]+ gpm", opening)
    assert "runs in only 1 of 100 minutes" in ask(OLD_PLUMBING, "size", "--full").words


def test_the_sizes_told_for_a_change_are_those_of_the_change() -> None:
    """A service fixed at 3/4 that change 1 makes larger is not listed at 3/4 for change 1."""
    text = project("too thin") + well(pump=STRONG) + line(120, 'size = "3/4"') + ONE_STOREY
    told, data = ask(text, "size"), answered(text, "size")

    [size] = set(re.findall(r"service ([\d/-]+) instead of 3/4", told.words))
    schedule = told.text.partition("with that change")[2].partition("Pipe:")[0]
    [row] = [row for row in schedule.splitlines() if re.search(r"\bservice\b", row)]
    assert row.split()[0] == size
    [line_told] = [run for run in data["runs"] if run["name"] == "service"]
    assert line_told["decided_by"] == f"fixed by you; change 1: {size}"


def test_nothing_is_told_of_living_with_a_pump_that_cannot_be() -> None:
    """60 ft of head do not reach a cut-in of 40 psi (92 ft), however high the water stands."""
    pump = f"curve = {curve(((0, 60), (5, 50), (10, 30)))}"
    text = project("hopeless") + well(pump=pump, level=None) + line(60, INCH_OR_MORE) + TWO_BATHS
    told = ask(text, "size")

    assert told.exit_code == 1
    assert re.search(r"pump is too small|pump .* never", told.words)
    assert "nothing falls below its need" not in told.words


def test_an_unknown_pump_is_taken_for_granted_in_words() -> None:
    """Without curve and level nobody knows whether the pump keeps up while people draw."""
    text = project("unknown pump") + well(pump='motor_power = "3/4 hp"', level=None)
    told = ask(text + line(60, INCH_OR_MORE) + ONE_STOREY, "size")

    assert "In daily use (4 people), if the pump keeps up," in told.words


def test_a_pump_without_level_is_taken_for_granted_in_words() -> None:
    """A curve alone gives 0 to 13 gpm: as much as the house may need, or nothing."""
    text = project("no level") + well(level=None) + line(60, INCH_OR_MORE) + ONE_STOREY
    told = ask(text, "size")

    assert "In daily use (4 people), if the pump keeps up," in told.words


def test_a_day_tells_of_no_shortage_of_nothing() -> None:
    """While the pump wakes the pressure dips for a moment; "0.0 min" of shortage is none."""
    text = """
[source]
kind = "well"
pump = { kind = "constant-pressure", set_pressure = "50 psi", curve = [["0 gpm", "280 ft"],
    ["14 gpm", "250 ft"], ["24 gpm", "150 ft"]] }
tank = { volume = "4.5 gal", precharge = "35 psi" }
well = { static_level = "40 ft", pump_depth = "120 ft", recovery = "10 gpm" }
[defaults]
material = "pe-cts-sdr9"
[[fixture]]
name = "beds"
kind = "hose-bibb"
elevation = "0 ft"
flow = "6 gpm"
pressure = "45 psi"
cold = { from = "source", length = "10 ft", size = "1" }
[[draw]]
fixture = "beds"
at = ["7:00"]
duration = "1 h"
"""
    assert "0.0 min" not in ask(text, "day").headline


def test_a_tankless_heater_that_does_not_fire_is_told_where_it_flows() -> None:
    """A basin opened a quarter draws some 0.3 gpm of hot water; such heaters want about 0.5."""
    text = (
        project("tankless")
        + main(58, 56)
        + line(60, INCH_OR_MORE)
        + ONE_STOREY.replace('kind = "heater"', 'kind = "tankless-heater"')
    )
    trickle = ask(text, "flow", "--open", "basin@20%", "--full")
    shower = ask(text, "flow", "--open", "bath", "--full")

    assert "do not fire" in trickle.words
    assert "do not fire" not in shower.words


def test_a_change_for_the_pump_is_not_told_as_one_for_the_pressure() -> None:
    """Too little pressure and too small a pump take one change each; neither leaves less than 0."""
    text = (
        project("both") + well(20, 40, pump=WEAK, relief=None) + line(60, INCH_OR_MORE) + TWO_BATHS
    )
    told = ask(text, "size")
    changes = told.text.partition("computed to work")[2].partition("Look at")[0]

    assert "For the pump: do one of these" in told.text
    assert "then it gives" in " ".join(changes.split())
    assert not re.search(r"then -", " ".join(changes.split()))


def test_what_no_habit_tells_of_is_left_out_in_words() -> None:
    """A waterer 51 ft above the gauge has 18 of 20 psi with nothing else open: no peak is to blame,
    and what it gets in daily use nobody knows."""
    high = '[[run]]\nname = "pasture"\nfrom = "entry"\nto = "trough"\nlength = "300 ft"\n'
    high += 'material = "pe-cts-sdr9"\nburied = "48 in"\n[[fixture]]\nname = "waterer"\n'
    high += (
        'kind = "stock-waterer"\nelevation = "45 ft"\ncold = { from = "trough", length = "5 ft" }\n'
    )
    text = project("pasture") + well(pump=STRONG, tank="220 gal") + line(60, "") + ONE_STOREY + high
    told = ask(text, "size")

    assert told.exit_code == 1
    assert "waterer is short by" in told.words
    assert "That leaves out waterer, of which no habit tells." in told.words
    assert "never runs in such a household" not in told.words
