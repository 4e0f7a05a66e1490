"""Several households on one source: read, refused, written, and how their days add up."""

from __future__ import annotations

import pytest

import supplycalc as sc
from supplycalc.chance.habits import habits
from supplycalc.network import build_tree
from supplycalc.reading.writing import write
from tests.commands.files import SCENARIOS, run

FILE = SCENARIOS / "two-houses-and-a-barn.toml"
TEXT = FILE.read_text(encoding="utf-8")
HOUSE = sc.load(FILE)


def test_people_add_up_and_each_uses_what_is_theirs() -> None:
    """Five and two are seven; each household's uses are a person's times its people, at its own
    fixtures; nobody lives in the barn."""
    usual = habits(build_tree(HOUSE), 7)
    flushes = {
        habit.uses[0].fixture.household: habit.per_day for habit in usual if habit.name == "toilet"
    }
    per_person = flushes["cottage"] / 2.0

    assert HOUSE.project.people == 7
    assert set(flushes) == {"upper house", "cottage"}
    assert flushes["upper house"] == pytest.approx(5.0 * per_person)
    for habit in usual:
        assert len({use.fixture.household for use in habit.uses}) == 1
        assert habit.uses[0].fixture.household != "barn"


def test_one_household_is_a_house_without_any() -> None:
    """A house whose fixtures all belong to one household has the habits of the plain house."""
    plain = TEXT
    for name in ("upper house", "cottage", "barn"):
        plain = plain.replace(f'household = "{name}"\n', "")
        people = {"upper house": 5, "cottage": 2, "barn": 0}[name]
        plain = plain.replace(f'[[household]]\nname   = "{name}"\npeople = {people}\n', "")
    together = plain.replace("[source]", '[[household]]\nname = "all"\npeople = 7\n\n[source]', 1)
    together = together.replace("cold      = {", 'household = "all"\ncold      = {')
    alone, of_all = (habits(build_tree(sc.loads(text)), 7) for text in (plain, together))

    assert [habit.per_day for habit in alone] == [habit.per_day for habit in of_all]
    assert [habit.hourly for habit in alone] == [habit.hourly for habit in of_all]
    assert sc.size(sc.loads(plain)).worst.residual == sc.size(HOUSE).worst.residual


def test_a_day_adds_up_by_household() -> None:
    """What the households draw is what is drawn."""
    of_file = sc.day(HOUSE)
    at_random = sc.day(HOUSE, seed=3)

    for day in (of_file, at_random):
        water = day.water
        assert sum(each.drawn for each in water.by_household) == pytest.approx(
            water.drawn, rel=1e-12
        )
    drawn = {each.name: each.drawn for each in of_file.water.by_household}
    assert drawn["barn"] > 0.0
    assert drawn["cottage"] == 0.0
    assert {each.name: each.people for each in at_random.water.by_household} == {
        "upper house": 5,
        "cottage": 2,
        "barn": 0,
    }


def test_a_household_of_the_public_counts_so() -> None:
    """Its fixtures count by the code's public rows, unless they say otherwise; others do not."""
    public = sc.loads(
        TEXT.replace('demand = "irc"', 'demand = "ipc"').replace(
            'name   = "cottage"\npeople = 2', 'name   = "cottage"\npeople = 2\nuse = "public"'
        )
    )
    private = sc.loads(TEXT.replace('demand = "irc"', 'demand = "ipc"'))

    def flow(house: sc.House, name: str) -> float:
        return next(each.design_flow for each in sc.size(house).runs if each.name == name)

    assert flow(public, "line to the cottage") > flow(private, "line to the cottage")
    assert flow(public, "line to the upper house") == flow(private, "line to the upper house")


def test_pages_and_the_written_file_have_them() -> None:
    """`check` and `day` tell them; what is written reads back."""
    again = sc.loads(write(HOUSE))

    assert [each.name for each in again.households] == ["upper house", "cottage", "barn"]
    assert [each.household for each in again.fixtures] == [
        each.household for each in HOUSE.fixtures
    ]
    assert "cottage: 2 people; cottage shower" in run("check", FILE, "--full").stdout
    assert "barn: nobody lives there" in run("check", FILE, "--full").stdout
    assert "Water for a day, by household" in run("day", FILE, "--full").stdout


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('household = "barn"', 'household = "bran"', "did you mean 'barn'"),
        ('demand = "irc"', 'demand = "irc"\npeople = 9', "households have 7 together"),
        (
            '[[household]]\nname   = "barn"',
            '[[household]]\nname = "mill"\npeople = 1\n\n[[household]]\nname   = "barn"',
            'no fixture says household = "mill"',
        ),
    ],
)
def test_what_does_not_fit_is_refused(old: str, new: str, told: str) -> None:
    """An unknown household, people told twice, a household without a fixture."""
    assert old in TEXT
    with pytest.raises(sc.InputError, match=told):
        sc.loads(TEXT.replace(old, new, 1))
