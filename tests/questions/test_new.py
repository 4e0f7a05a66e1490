"""`new`: a starter, a scenario, and talks through a pseudo-terminal that end in a good file."""

from __future__ import annotations

import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

import supplycalc as sc
from supplycalc.catalogue import load_catalogue
from supplycalc.problems import InputError
from supplycalc.questions.new.answers import (
    LEFT_OPEN,
    Answers,
    WrongAnswerError,
    assumed,
    bucket_of,
    equipment_and_heater,
    fixtures_of,
    floor_height_of,
    lengths_of,
    main_of,
    people_of,
    pipes_of,
    pump_and_well,
    service_of,
    service_parts,
    switch_of,
    tank_of,
)
from supplycalc.questions.new.interview import inquiries, next_inquiry
from supplycalc.questions.new.shipped_scenarios import scenario_files, scenario_text
from supplycalc.questions.new.starter_file import file_text
from supplycalc.reading import load, loads
from supplycalc.tables import load_table
from tests.commands.files import SCENARIOS, run

ROOT = Path(__file__).parents[2]


class Talk:
    """A talk with the program at a terminal."""

    def __init__(self, *args: str) -> None:
        self.controller, terminal = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "supplycalc", "new", *args],
            stdin=terminal,
            stdout=terminal,
            stderr=terminal,
            cwd=ROOT,
            env={**os.environ, "NO_COLOR": "1", "COLUMNS": "80"},
            start_new_session=True,
        )
        os.close(terminal)
        self.text = ""

    def hear(self, until: str = "> ") -> str:
        """Everything up to a prompt, or to the end."""
        heard, limit = "", time.monotonic() + 60
        while not heard.endswith(until) and time.monotonic() < limit:
            ready, _, _ = select.select([self.controller], [], [], 60)
            try:
                part = os.read(self.controller, 65536).decode() if ready else ""
            except OSError:
                part = ""
            if not part:
                break
            heard += part.replace("\r\n", "\n")
        self.text += heard
        return heard

    def say(self, answer: str) -> None:
        """Type a line."""
        os.write(self.controller, f"{answer}\n".encode())

    def answer(self, *answers: str) -> str:
        """Type each answer at its prompt, and return what was said after the last."""
        for answer in answers:
            self.say(answer)
            heard = self.hear()
        return heard

    def end(self) -> int:
        """The exit status, after everything was said."""
        self.hear(until="\0")
        status = self.process.wait(timeout=60)
        os.close(self.controller)
        return status


FAR_BATH = (
    "feet", "well", "40/60", "at the well, 44 gal", "5 gal in 28 s at 45 psi, well 8 gpm",
    "85 1/2 ft", "no", "-6 ft", "filter, tank", "manifold, pex, in the slab",
    "bath 62 ft, toilet 60 ft, basin 58 ft, kitchen sink 25 ft, washer 12 ft, garden tap 25 ft",
    "none", "2",
)  # fmt: skip
WEAK_WELL = (
    "feet", "a well", "30 50", "20 gal in the house", "5 gal in 1:40 at 35 psi; well gives 2 gpm",
    "150 ft and 22 ft", "new", "-7 ft", "iron filter, softener, tankless",
    "trunk with branches, copper, no slab",
    "toilet, basin, kitchen sink 30 ft, dishwasher, washer",
    "bath 45 ft, shower, 2 toilets, 2 basins", "no", "2 adults and 3 children",
)  # fmt: skip
UNKNOWN = (
    "feet", "main", "don't know", "60 ft", "yes", "", "tankless", "no idea",
    "kitchen sink, toilet, basin, washer", "bath, toilet", "", "",
)  # fmt: skip
METRIC = (
    "metres", "well", "2.8/4.2 bar", "house, 100 L", "10 L in 20 s at 3 bar", "45 m, 18 m",
    "32", "-1.5 m", "on demand", "trunk, multilayer, no slab",
    "toilet, basin, kitchen sink, washer 8 m", "shower 11 m, basin, wc", "none", "4",
)  # fmt: skip
NOTHING_KNOWN = ("", *("",) * 12)
IN_THE_HOUSE = "metric, tank in the house"
HOUSES = {
    "slab with a far bath": FAR_BATH,
    "two storeys on a weak well": WEAK_WELL,
    "renovation with unknowns": UNKNOWN,
    IN_THE_HOUSE: METRIC,
    "nothing known": NOTHING_KNOWN,
}

UNSAID = {
    "slab with a far bath": (),
    "two storeys on a weak well": ("height of a storey: taken as 9 ft",),
    "renovation with unknowns": (
        "pressure of the main: taken as 40 psi",
        "height of the gauge",
        "manifold or trunk",
        "tube of the house",
        "pipes in the slab",
        "fixtures of the third storey",
        "pipe to the farthest fixture, first storey: taken as 20 to 70 ft",
        "pipe to the farthest fixture, second storey: taken as 30 to 80 ft",
        "height of a storey",
    ),
    IN_THE_HOUSE: ("what the well gives: left open", "height of a storey: taken as 2.8 m"),
    "nothing known": ("size of the tank", "what the pump gives", "kind of heater", "whether that"),
}
"""What is listed as to be measured."""


@pytest.mark.parametrize("house", HOUSES)
def test_a_talk_ends_in_a_file_that_can_be_read_and_an_answer(tmp_path: Path, house: str) -> None:
    """Question by question at a terminal; the end is the first answer of `size`."""
    path = tmp_path / "house.toml"
    talk = Talk(str(path), "--ask")
    talk.hear()
    talk.answer(*HOUSES[house])
    status = talk.end()

    assert 10 <= len(HOUSES[house]) <= 14, "about a dozen questions"
    asked = re.findall(r"^([0-9]+)\. [A-Z]", talk.text, re.MULTILINE)
    assert asked == [str(number + 1) for number in range(len(HOUSES[house]))]
    assert f"Wrote {path}" in talk.text, talk.text[-1500:]
    assert status in (0, 1), talk.text[-3000:]
    answer = talk.text.partition(f"Wrote {path}")[2]
    assert "Works" in answer or "short" in answer.lower(), answer[:800]
    assert run("check", path).exit_code == 0
    assert "still to come" not in talk.text
    assert ("well line: " in talk.text) == (house in ("two storeys on a weak well", IN_THE_HOUSE))
    tree = [line for line in talk.text.split("\n") if line.startswith("   |")]
    assert len(tree) > 10
    assert max(map(len, tree)) <= 80
    assert not list(tmp_path.glob("*.answers"))
    listed = " ".join(answer.partition("Not known, and marked in it")[2].split())
    assert [what for what in UNSAID[house] if f"- {what}" not in listed] == []
    assert ("height of a storey" in listed) == ("upstairs" in path.read_text(encoding="utf-8"))


def test_the_supply_grows_with_the_answers_and_back_takes_one_away(tmp_path: Path) -> None:
    """The tree that `check` shows, so far; a wrong answer is asked again with what is right."""
    talk = Talk(str(tmp_path / "h.toml"), "--ask")
    talk.hear()
    heard = talk.answer("feet", "well")
    assert "| source: well" in heard
    heard = talk.answer("sixty")
    assert "write both pressures, like 40/60 psi" in heard
    heard = talk.answer("30/50")
    assert "cut-in (switch on) 30.0 psi; cut-out (off) 50.0 psi" in heard
    assert "Where does the pressure tank stand" in heard
    heard = talk.answer("house")
    assert "Size of the tank: left open" in heard
    assert "5. What does the pump give" in heard
    heard = talk.answer("back")
    assert "4. Where does the pressure tank stand" in heard
    heard = talk.answer("back")
    assert "3. At which pressures does the pump start" in heard
    heard = talk.answer("40/60", "at the well", "", "90 ft")
    assert "service: 90 ft" in heard
    assert "cut-in (switch on) 40.0 psi" in heard
    talk.say("stop")
    assert talk.end() == 130


def test_an_interrupted_talk_is_kept_and_gone_on_with(tmp_path: Path) -> None:
    """Ctrl-C says where the answers are; the next call asks what is left; nothing is half."""
    path = tmp_path / "h.toml"
    talk = Talk(str(path), "--ask")
    talk.hear()
    talk.answer(*FAR_BATH[:7])
    os.killpg(talk.process.pid, signal.SIGINT)
    assert talk.end() == 130
    kept = tmp_path / "h.toml.answers"
    assert str(kept) in talk.text
    assert not path.exists()
    assert kept.is_file()

    again = Talk(str(path), "--ask")
    heard = again.hear()
    assert "Going on with the answers kept in" in heard
    assert "How high does the gauge" in heard
    again.answer(*FAR_BATH[7:-1])
    again.say(FAR_BATH[-1])
    assert again.end() in (0, 1)
    assert load(path).source.cut_in == pytest.approx(275_790, rel=1e-4)
    assert not kept.exists()


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_starter_can_be_read_and_works(tmp_path: Path, units: str) -> None:
    """As it stands; its comments keep to a hundred columns."""
    path = tmp_path / "house.toml"

    made = run("new", path, "--units", units)

    assert made.exit_code == 0
    assert run("check", path).exit_code == 0
    assert run("size", path).exit_code == 0
    lines = path.read_text(encoding="utf-8").splitlines()
    assert max(map(len, lines)) <= 100
    assert sum(line.startswith("#") for line in lines) > 20
    assert load(path).project.units == units


def test_as_json_it_says_what_was_written(tmp_path: Path) -> None:
    """And nothing else on stdout."""
    path = tmp_path / "house.toml"

    made = run("new", path, "--from", "lake-hut", "--json")

    data = json.loads(made.stdout)
    assert data == {"schema": "supplycalc-new/1", "ok": True, "file": str(path), "from": "lake-hut"}
    assert run("new", tmp_path / "x.toml", "--ask", "--json").exit_code == 2


def test_a_file_is_never_overwritten(tmp_path: Path) -> None:
    """Not by a starter, a scenario or a talk; and it is said before the first question."""
    path = tmp_path / "house.toml"
    path.write_text("mine", encoding="utf-8")

    for more in ((), ("--from", "ridge-cottage"), ("--ask",)):
        made = run("new", path, *more)
        assert made.exit_code == 2
        assert "never overwritten" in made.stderr
    assert path.read_text(encoding="utf-8") == "mine"


def test_every_scenario_can_be_started_from(tmp_path: Path) -> None:
    """Word for word; a wrong name is answered with the right one."""
    for name, file in scenario_files().items():
        path = tmp_path / f"{name}.toml"
        assert run("new", path, "--from", name).exit_code == 0
        assert path.read_text(encoding="utf-8") == file.read_text(encoding="utf-8")
    assert set(scenario_files()) == {path.stem for path in SCENARIOS.glob("*.toml")}
    wrong = run("new", tmp_path / "x.toml", "--from", "ridge-cotage")
    assert wrong.exit_code == 2
    assert "did you mean 'ridge-cottage'?" in wrong.stderr


def test_scenarios_are_looked_up_in_the_package_before_the_checkout(tmp_path: Path) -> None:
    """An installed copy has them inside; the wheel is told to take them."""
    inside, beside = tmp_path / "supplycalc" / "scenarios", tmp_path / "scenarios"
    beside.mkdir()
    (beside / "hut.toml").write_text("beside", encoding="utf-8")
    assert scenario_text("hut.toml", (inside, beside)) == "beside"
    inside.mkdir(parents=True)
    (inside / "hut.toml").write_text("inside", encoding="utf-8")
    assert scenario_text("hut", (inside, beside)) == "inside"
    with pytest.raises(InputError, match="there is no scenario 'hat'"):
        scenario_text("hat", (inside, beside))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wheel = project["tool"]["hatch"]["build"]["targets"]["wheel"]
    assert wheel["force-include"] == {"scenarios": "supplycalc/scenarios"}


def test_without_a_terminal_nothing_is_asked(tmp_path: Path) -> None:
    """A pipe gets a reason instead of a prompt."""
    asked = run("new", tmp_path / "h.toml", "--ask")

    assert asked.exit_code == 2
    assert "questions need a terminal" in asked.stderr


def test_what_is_not_known_is_taken_from_the_table_with_its_source() -> None:
    """Each question that needs a value has one, in both unit systems, that it would accept."""
    rows = load_table("starter")["assumed"]
    for units in ("us", "metric"):
        parts: set[str] = set()
        for place in ("well", "house"):
            answers = Answers(units=units, given={"tank_place": place})  # type: ignore[arg-type]
            for inquiry in inquiries(answers):
                parts.update(inquiry.parts)
                usual = ", ".join(
                    filter(None, (assumed(name, answers.units) for name in inquiry.parts))
                )
                told = inquiry.taken(usual) if usual else dict.fromkeys(inquiry.parts)
                open_parts = [name for name in inquiry.parts if name not in rows]
                assert list(told.values()).count(None) == len(open_parts)
        assert parts - set(rows) == set(LEFT_OPEN)
        assert set(rows) - parts == {"storey", "cut_in", "far_1", "far_2", "far_3"}
    kinds = {row[0] for row in load_table("starter")["height"]["rows"]} - {"other"}
    assert kinds <= set(load_catalogue().fixtures)
    text = file_text(Answers(given={"supply": None, "tank_place": "well", "distance": None}))
    assert (
        "not known, so taken as usual: half to three times that; it must be measured (common"
        in (text.replace("\n# ", " "))
    )


def test_what_is_not_known_is_a_range_that_risk_weighs() -> None:
    """Lengths and the switch; a line of unknown size before the tank is no obstacle."""
    answers = Answers(given={"supply": "well", "switch": None, "tank_place": "house"})
    for inquiry in inquiries(answers):
        answers.given.update({part: answers.given.get(part) for part in inquiry.parts})
    answers.given |= {"well_line": "60 to 90 ft", "line": "galvanized"}

    house = loads(file_text(answers))

    written = {known.path[-2:]: known.written for known in house.ranges}
    assert written["source", "cut_in"] == "40 ± 10 psi"
    assert written["service", "length"] == "5 to 40 ft"
    assert written["well line", "length"] == "60 to 90 ft"
    assert written["well line", "size"] == "?"
    (told,) = {known.written for known in house.ranges if known.path[0] == "fixture"}
    assert told == "20 to 70 ft"
    assert sc.size(house).certainty is not None
    assert sc.risk(house, draws=64).certainty is not None


def test_old_pipe_of_unknown_size_is_what_to_measure_first() -> None:
    """A main's reading and galvanized pipe of a size nobody knows: the size decides everything."""
    answers = Answers(
        given={
            "supply": "main",
            "main_pressure": "38 psi",
            "main_static": "52 psi",
            "distance": "60 ft",
            "line": "galvanized",
            "rise": "-4 ft",
            "fixtures_1": "bathroom 30 ft, kitchen sink 15 ft, washer",
            "fixtures_2": "bath 40 ft, toilet",
            "fixtures_3": "none",
        }
    )

    design = sc.size(loads(file_text(answers)))

    assert design.verdict("us").startswith("Works only if service is 1-1/4 inch or larger")
    assert design.certainty is not None
    told = design.certainty.verdict("us")
    assert "Measure first: size of service" in told
    assert "the verdict is right in all cases, not 50 %." in told
    assert "none" not in told


def test_every_answer_alone_makes_a_file_that_can_be_read() -> None:
    """Whatever was answered so far, the tree can be shown."""
    for units, house in (("us", WEAK_WELL), ("us", FAR_BATH), ("us", UNKNOWN), ("metric", METRIC)):
        answers = Answers(units=units)  # type: ignore[arg-type]
        left = list(house[1:])
        while left:
            inquiry = next_inquiry(answers)
            assert inquiry is not None
            word = left.pop(0)
            unknown = word in ("", "no idea", "don't know")
            answers.given.update(dict.fromkeys(inquiry.parts) if unknown else inquiry.taken(word))
            loads(file_text(answers, complete=False))
            loads(file_text(answers))


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("bath 50 ft, 2 toilets and a basin", ["tub-shower", *["water-closet"] * 2, "lavatory"]),
        ("kitchen sink; washing machine 12 m", ["kitchen-sink", "clothes-washer"]),
        ("none", []),
        ("2 half baths", ["water-closet", "lavatory"] * 2),
        ("master bath 70 ft", ["tub-shower", "water-closet", "lavatory"]),
    ],
)
def test_fixtures_as_people_list_them(text: str, kinds: list[str]) -> None:
    """Counts in words or numbers, lengths where they are known."""
    assert [each.kind for each in fixtures_of(text)] == kinds


@pytest.mark.parametrize(
    ("read", "text", "told"),
    [
        (floor_height_of, "about 6 ft below the floor", "-6 ft"),
        (floor_height_of, "1.5 m lower", "-1.5 m"),
        (floor_height_of, "4 feet above the slab", "4 feet"),
        (floor_height_of, "level with the floor", "0 ft"),
        (floor_height_of, "-6 ft", "-6 ft"),
        (service_of, "nope, new", "new"),
        (service_of, "yes, old galvanised, size unknown", "galvanised"),
        (service_of, "yes", "there"),
        (switch_of, "2,8 / 4,2 bar", "2.8/4.2 bar"),
        (people_of, "2 adults and three kids", "5"),
    ],
)
def test_an_answer_in_a_persons_own_words(read: Callable[[str], str], text: str, told: str) -> None:
    """Above and below, no and yes, with a comma, or counted by ages."""
    assert read(text) == told


@pytest.mark.parametrize(
    ("read", "text", "told"),
    [
        (tank_of, "in the basement, 20 gal", ("house", "20 gal")),
        (tank_of, "44 gal at the well", ("well", "44 gal")),
        (tank_of, "utility room, it says 20 gallons", ("house", "20 gallons")),
        (tank_of, "house, don't know", ("house", None)),
        (
            pump_and_well,
            "5 gal in 28 s at 45 psi, well 5 gpm",
            ("5 gal in 28 s at 45 psi", "5 gpm"),
        ),
        (pump_and_well, "the well gives 2 gpm", (None, "2 gpm")),
        (lengths_of, "150 ft, then 12 1/2 ft", ("150 ft", "12 1/2 ft")),
        (lengths_of, "45 m", ("45 m", None)),
        (
            main_of,
            "gauge shows 52 psi standing, 38 with two hoses open",
            ("38 psi", "52 psi"),
        ),
        (main_of, "about 40 psi", ("about 40 psi", None)),
        (lengths_of, "don't know, maybe 60 to 90 ft", ("60 to 90 ft", None)),
        (lengths_of, "between 60 and 90 ft, about 12 ft", ("60 to 90 ft", "about 12 ft")),
        (equipment_and_heater, "softener and an on demand heater", ("softener", "tankless")),
        (equipment_and_heater, "none", ("none", None)),
        (pipes_of, "home run, pex, in the slab", ("manifold", "pex-sdr9", "yes")),
        (pipes_of, "tees, copper", ("trunk", "copper-l", None)),
        (pipes_of, "manifold, pex, no", ("manifold", "pex-sdr9", "no")),
        (pipes_of, "not in concrete", (None, None, "no")),
        (lambda text: pipes_of(text, "metric"), "pex", (None, "pex-s3.2", None)),
    ],
)
def test_an_answer_tells_what_it_says_and_no_more(
    read: Callable[[str], tuple[str | None, ...]], text: str, told: tuple[str | None, ...]
) -> None:
    """Several things in one answer; what is not said is not known."""
    assert read(text) == told


@pytest.mark.parametrize(
    ("text", "size", "tube"),
    [
        ("3/4 copper", "3/4", "copper-l"),
        ("1 1/4 inch poly", "1-1/4", "pe-cts-sdr9"),
        ('1/2" galvanised steel', "1/2", "galvanized-sch40"),
        ("32", "32x3.0", "pe100-sdr11"),
        ("32 mm PE100", "32x3.0", "pe100-sdr11"),
        ("1", "1", "pe-cts-sdr9"),
        ("galvanised", "?", "galvanized-sch40"),
    ],
)
def test_a_line_that_lies_there_as_people_call_it(text: str, size: str, tube: str) -> None:
    """Size first, then what it is made of; poly where they don't say."""
    assert service_parts(text) == (size, tube)


@pytest.mark.parametrize(
    ("read", "text", "words"),
    [
        (fixtures_of, "bath 50", "has no unit"),
        (fixtures_of, "showr", "did you mean shower"),
        (equipment_and_heater, "softner", "did you mean softener"),
        (service_of, "dunno what", "no; or write its size"),
        (people_of, "many", "a number, from 1"),
        (fixtures_of, "toilet, 2 sinks", "write kitchen sink or basin"),
        (fixtures_of, "jacuzzi thing", "is no fixture; try bath"),
        (switch_of, "60/40", "stops at a higher pressure"),
        (switch_of, "52 psi standing, 38 with two hoses open", "that is a reading"),
        (bucket_of, "5 gal in 28 s", "what the gauge showed too"),
        (service_of, "7/8 copper", "is not a size of copper-l"),
        (service_of, "3/4 wood", "is no tube"),
    ],
)
def test_a_wrong_answer_says_what_is_right(read: object, text: str, words: str) -> None:
    """In the words of the question."""
    with pytest.raises(WrongAnswerError, match=words):
        read(text)  # type: ignore[operator]
