"""All commands on all scenarios and the houses with a known verdict: none contradicts another."""

from __future__ import annotations

import re
from typing import Any

import pytest
from msgspec import Struct

from supplycalc.findings import RULES
from tests.commands.files import SCENARIOS
from tests.verdicts.judged import Told, answered, ask, negative_pressures
from tests.verdicts.test_verdicts import HOUSES

SCENARIO_TEXTS = {path.stem: path.read_text("utf-8") for path in sorted(SCENARIOS.glob("*.toml"))}
TEXTS = SCENARIO_TEXTS | {house.name: house.text for house in HOUSES}
RULE_CODES = {rule.code for rule in RULES}
OPPOSITE = (("larger pump", "smaller pump"), ("larger pipe", "smaller pipe"))


class Sized(Struct, frozen=True, kw_only=True):
    """What `size` says of a house, as the other commands are held to it."""

    text: str
    told: Told
    data: dict[str, Any]

    @property
    def works(self) -> bool:
        """Its verdict."""
        return self.told.exit_code == 0

    @property
    def worst(self) -> str:
        """The fixture that is worst off, with its side where it has two."""
        return str(self.data["worst"]["name"])

    @property
    def pressure_short(self) -> bool:
        """Whether a fixture is short of pressure."""
        return bool(self.data["worst"]["margin"]["value"] < -1e-6)

    def codes(self, *levels: str) -> set[str]:
        """Codes of its findings of these levels."""
        return {item["code"] for item in self.data["findings"] if item["level"] in levels}

    @property
    def service(self) -> tuple[str, str]:
        """Its first run in the order of the schedule, and its size."""
        return self.data["runs"][0]["name"], self.data["runs"][0]["size"]


def sized(name: str) -> Sized:
    """`size` of a house by its name."""
    text = TEXTS[name]
    return Sized(text=text, told=ask(text, "size"), data=answered(text, "size"))


def every_house(names: tuple[str, ...] | None = None) -> pytest.MarkDecorator:
    """Parametrize over the houses, or those of these names."""
    return pytest.mark.parametrize(
        "name",
        [
            pytest.param(name, id=name.replace(" ", "-"))
            for name in (TEXTS if names is None else names)
        ],
    )


WELLS = tuple(name for name, text in TEXTS.items() if re.search(r'kind\s*= "well"', text))
BURIED = tuple(name for name, text in TEXTS.items() if re.search(r"^(buried|embedded)", text, re.M))
FEW = (*SCENARIO_TEXTS, *(house.name for house in HOUSES[::4]))
"""For the slower commands."""
SLOW = ("bunkhouse", *(house.name for house in HOUSES[::8]))
"""Not for the slowest."""
HALF = (*SCENARIO_TEXTS, *(house.name for house in HOUSES if house.answer == "fails"))
"""For what takes longer: the scenarios, and the houses where contradictions are likely."""
COVERED = tuple(name for name in FEW if name in BURIED and name not in SLOW)


@every_house()
def test_the_headline_and_the_exit_status_agree(name: str) -> None:
    """Works with 0, Fails with 1, and the JSON says the same; it fails for a finding that fails."""
    house = sized(name)

    only_if = house.told.text.startswith("Works only if")
    assert only_if or house.told.text.startswith("Works" if house.works else "Fails")
    assert not (only_if and house.works)
    assert house.data["ok"] == house.works
    assert bool(house.codes("fail")) == (not house.works)
    assert house.pressure_short == ("pressure-short" in house.codes("fail"))


@every_house()
def test_check_reads_what_size_sizes(name: str) -> None:
    """A file that is sized can be read without a word of complaint."""
    assert ask(TEXTS[name], "check").exit_code == 0


@every_house(HALF)
def test_demand_says_of_the_file_s_method_what_size_says(name: str) -> None:
    """The same verdict, worst fixture and size of the service line."""
    house = sized(name)
    data = answered(house.text, "demand")
    by_file = next(row for row in data["methods"] if row["method"] == data["method"])

    assert ask(house.text, "demand").exit_code == house.told.exit_code
    assert by_file["ok"] == house.works
    assert by_file["worst"]["name"] == house.worst
    if house.works:
        sizes = {line["name"]: line["size"] for line in house.data["runs"]}
        assert by_file["size"] == sizes[data["run"]]


@every_house(FEW)
def test_compare_with_the_chosen_size_says_what_size_says(name: str) -> None:
    """The service line at the size that was chosen for it works, or fails, as the house does."""
    house = sized(name)
    line, size = house.service
    call = ("compare", "--run", line, "--sizes", size)

    assert ask(house.text, *call).exit_code == house.told.exit_code, ask(house.text, *call).text
    if house.works:  # of a choice that fails, compare shows the sizes that fall short least
        assert house.worst.split(" (")[0] in ask(house.text, *call).words


@every_house()
def test_parts_never_sells_a_house_that_fails(name: str) -> None:
    """A house that works is listed without a failure of pressure, and one that fails says so."""
    house = sized(name)
    told = ask(house.text, "parts")

    if house.works:
        assert told.exit_code == 0, told.text
        assert not re.search(r"falls? short|do(es)? not mend", told.headline)
    else:
        assert told.exit_code == 1, told.text


@every_house()
def test_what_size_mends_no_other_command_calls_hopeless(name: str) -> None:
    """Where `size` has a remedy, neither `parts` nor `compare` says that nothing mends it."""
    house = sized(name)
    if house.works or "to mend it" not in " ".join(house.told.text.split()):
        return
    line, size = house.service
    for call in (("parts",), ("compare", "--run", line, "--sizes", size)):
        assert not re.search(r"do(es)? not mend it", ask(house.text, *call).words), call


@every_house(COVERED)
def test_slab_gives_the_verdict_of_size(name: str) -> None:
    """Nobody pours over a house that fails, and the worst fixture is the same."""
    house = sized(name)
    told = ask(house.text, "slab")

    assert told.exit_code == house.told.exit_code, told.text
    worst = answered(house.text, "slab")["worst"]
    assert worst["name"] == house.worst.split(" (")[0]


@every_house(WELLS)
def test_well_and_size_judge_the_pump_alike(name: str) -> None:
    """What fails at the well fails the house too."""
    house = sized(name)
    told = ask(house.text, "well")
    data = answered(house.text, "well")
    failing = {item["code"] for item in data["findings"] if item["level"] == "fail"}

    assert told.exit_code == (1 if failing else 0)
    assert failing & RULE_CODES <= house.codes("fail")
    by_well = {rule.code for rule in RULES if rule.well}
    assert house.codes("fail") & by_well <= failing
    assert house.codes("warn") & by_well <= {item["code"] for item in data["findings"]}
    assert not (failing and house.works)


@every_house()
def test_no_two_findings_ask_for_opposite_things(name: str) -> None:
    """A larger pump and a smaller pump are never both asked for, by `size` or by `well`."""
    remedies = [
        item["remedy"] or ""
        for item in (
            *sized(name).data["findings"],
            *(answered(TEXTS[name], "well")["findings"] if name in WELLS else ()),
        )
    ]
    for wish, other in OPPOSITE:
        wanted = [re.search(rf"(?<!not a ){wish}", text) for text in remedies]
        against = [re.search(rf"(?<!not a ){other}", text) for text in remedies]
        assert not (any(wanted) and any(against)), remedies


@every_house()
def test_flow_at_the_worst_fixture_of_a_house_that_works(name: str) -> None:
    """Opened alone it runs, where `size` says that it keeps its pressure with others beside."""
    house = sized(name)
    if house.pressure_short:
        return
    told = ask(house.text, "flow", "--open", house.worst.split(" (")[0])

    if house.works:
        assert told.exit_code == 0, told.text
        assert not re.search(r"no water|does not come|nothing comes", told.headline)


@every_house(tuple(name for name in FEW if "heater" in TEXTS[name] and name not in SLOW))
def test_hot_water_arrives_in_a_house_that_works(name: str) -> None:
    """No outlet without hot water by one command that keeps its pressure by the other."""
    house = sized(name)
    told = ask(house.text, "hot")

    assert told.exit_code in (0, 1), told.text
    codes = {item["code"] for item in answered(house.text, "hot")["findings"]}
    assert not (house.works and "hot-dry" in codes)


@every_house(FEW)
def test_a_day_in_a_house_that_works_has_water(name: str) -> None:
    """With pipe and pump enough and a well that keeps up, a drawn day has no failure."""
    house = sized(name)
    told = ask(house.text, "day", "--seed", "3")
    if "a day needs to know the pump" in told.text:
        return

    assert told.exit_code in (0, 1), told.text
    doubtful = {"pump-cannot-hold", "pump-unknown", "pump-oversized", "precharge", "relief-valve"}
    if house.works and not house.codes("warn", "note") & doubtful:
        assert told.exit_code == 0, told.text
    if "relief-valve" in house.codes("fail"):
        assert told.exit_code == 1, told.text


@every_house()
def test_no_pressure_below_zero_is_printed(name: str) -> None:
    """By no command, on its screen."""
    calls: list[tuple[str, ...]] = [("size",), ("size", "--full"), ("parts",)]
    if name in HALF:
        calls.append(("demand",))
    if name in WELLS:
        calls.append(("well",))
    if name in FEW:
        calls += [("size", "-v"), ("day", "--seed", "3")]
    if name in COVERED:
        calls += [("hot",), ("slab",)]
    calls.append(("flow", "--open", sized(name).worst.split(" (")[0]))
    for call in calls:
        told = ask(TEXTS[name], *call)
        assert negative_pressures(told.text) == [], (call, negative_pressures(told.text))
