"""What `check` shows besides the tree: the source's parts, and the heights."""

from __future__ import annotations

from supplycalc.network import build_tree
from supplycalc.questions.check.source_as_read import height_lines, source_lines
from supplycalc.reading import load, loads
from tests.commands.files import COTTAGE, SCENARIOS, run


def test_well_pump_and_tank_are_shown_as_read() -> None:
    """Every figure of the file, in the reader's units."""
    house = load(SCENARIOS / "slow-well.toml")

    well, pump, tank = source_lines(build_tree(house), "us")

    assert "wellhead at -24 ft; water 70 ft below it" in well
    assert "0.15 gpm/ft" in well
    assert "bucket test 8.1 gpm at 48.0 psi; motor 0.75 hp" in pump
    assert tank.startswith("Tank: 86 gal; precharge 38.0 psi")
    assert tank.endswith("the tank stands in the house")
    assert "casing 6 in inside" in well
    assert "relief valve opens at 517 kPa" in "".join(source_lines(build_tree(house), "metric"))


def test_what_the_file_leaves_out_is_said() -> None:
    """A well of which only the switch is known; a main has none of the three."""
    house = loads(COTTAGE.format(cut_in="40 psi", bath="11 ft"))

    assert list(source_lines(build_tree(house), "us")) == [
        *(f"{part}: the file says nothing of it" for part in ("Well", "Pump")),
        "Tank: where the tank stands is not said: taken to stand where the runs start",
    ]
    assert list(source_lines(build_tree(load(SCENARIOS / "old-farmhouse.toml")), "us")) == []


def test_heights_stand_from_the_highest_down_as_they_were_written() -> None:
    """In feet and inches where they were measured so."""
    house = loads(COTTAGE.format(cut_in="40 psi", bath="11 ft 3 in"))

    assert list(height_lines(build_tree(house), "us")) == [
        "11 ft 3 in: far bath",
        "3 ft: sink",
        "-4 ft: tank's gauge",
    ]


def test_heights_stand_by_storey_where_the_file_has_storeys() -> None:
    """Each fixture once, on the storey whose floor is the next below it."""
    house = load(SCENARIOS / "ranch-on-slab.toml")
    attic, slab = height_lines(build_tree(house), "us")

    assert attic == "attic, floor at 9 ft: nothing of what the file names"
    assert slab.startswith("slab, floor at 0 ft: main shower 6 ft")
    assert all(slab.count(f"{fixture.name} ") == 1 for fixture in house.fixtures)


def test_the_page_has_them() -> None:
    """Between the tree and what was assumed."""
    text = run("check", SCENARIOS / "slow-well.toml", "--full").stdout

    order = ("The supply, from the source down", "Well, pump and tank", "Heights above", "Assumed")
    assert [text.index(word) for word in order] == sorted(text.index(word) for word in order)


def test_the_first_screen_says_what_was_read() -> None:
    """Source, pipe, heights and what was assumed, each whole enough to be judged."""
    text = run("check", SCENARIOS / "ridge-cottage.toml").stdout

    order = ("Well, pump and tank", "As the water flows", "Heights above", "Assumed", "Next: ")
    assert [text.index(word) for word in order] == sorted(text.index(word) for word in order)
    for told in ("172 gal; precharge 48.0 psi", "42 in", "16 branches", "11 ft: upstairs basin"):
        assert told in text


def test_a_command_is_found_by_what_it_does() -> None:
    """Not by a likeness of letters that says nothing."""
    assert "did you mean 'well'?" in run("pump", "x.toml").stderr
    assert "did you mean 'parts'?" in run("buy", "x.toml").stderr
    assert "'parts'" not in run("start", "x.toml").stderr
