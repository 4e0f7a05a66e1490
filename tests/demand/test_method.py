"""A demand method is one record: the shipped ones are complete, and a new one works everywhere."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import supplycalc
from supplycalc import demand
from supplycalc.catalogue import load_catalogue
from supplycalc.demand import DEMAND_METHODS, method_record
from supplycalc.problems import InputError
from supplycalc.tables import load_table
from tests.commands.files import SCENARIOS

KINDS = set(load_catalogue().fixtures)
WITHOUT_ROW = {
    "peak-demand-study": {
        *("flush-valve-closet", "urinal", "hose-bibb", "yard-hydrant", "stock-waterer"),
        "irrigation",
    },
    "exact": {
        *("flush-valve-closet", "urinal", "hose-bibb", "yard-hydrant", "stock-waterer"),
        "irrigation",
    },
}
"""Kinds that a standard's table does not have; the method says what it does with them."""


@pytest.mark.parametrize("name", DEMAND_METHODS)
def test_a_shipped_record_is_complete(name: str) -> None:
    """Words, a source and, for a method with a table, one row for every kind of fixture."""
    method = method_record(name)

    assert method.name == name
    for words in (method.counts, method.verb):
        assert len(words) > 20
        assert words == words.strip(" .")
    assert all(len(formula.words) > 20 and formula.source for formula in method.formulas)
    if name == "listed":
        assert (method.fixture_table, method.load_name, method.source) == ("", "", None)
        return
    rows = {row[0] for row in method.tables[method.fixture_table]["rows"]}
    assert method.load_name
    assert method.source is not None
    assert method.row_of.keys() == KINDS - WITHOUT_ROW.get(name, set())
    assert set(method.row_of.values()) <= rows
    if method.conversion is not None:
        file, table = method.conversion
        assert load_table(file)[table]["rows"]


def test_every_record_is_listed() -> None:
    """A module with a record stands in the list of methods, and each listed name has a module."""
    folder = Path(demand.__file__).parent
    with_record = {
        path.stem for path in folder.glob("*.py") if "\nMETHOD = Method(" in path.read_text()
    }

    assert with_record == {name.replace("-", "_") for name in DEMAND_METHODS}


def test_an_unknown_method_is_told() -> None:
    """By name the nearest is offered; the record of none is a KeyError."""
    with pytest.raises(InputError, match="did you mean 'upc'"):
        demand.known_method("ucp")
    with pytest.raises(KeyError):
        method_record("ucp")


TOY_DATA = """
[taps]
source = { text = "The Book of Toys", edition = "2nd" }
check = "memory"
columns = ["name", "taps"]
rows = [["tap", 1.0], ["large", 2.0]]

[row_of]
"""

TOY_MODULE = """
from supplycalc.demand.loads import Columns, LinkFlows, summed_loads
from supplycalc.demand.method import Formula, Method
from supplycalc.tables import to_si


def flows(tree):
    taps, row_of = dict(METHOD.tables["taps"]["rows"]), METHOD.row_of
    load = summed_loads(tree, lambda fixture: Columns.alike(taps[row_of[fixture.kind]]))
    flow = load * to_si(0.5, "gpm")
    return LinkFlows(load=tuple(load.tolist()), design_flow=tuple(flow.tolist()))


METHOD = Method(
    name="toy",
    flows=flows,
    counts="half a gallon a minute for each tap",
    verb="counts taps",
    load_name="taps",
    fixture_table="taps",
    own_fixture_units=True,
    own_draw_offs=True,
    unknown_outdoors="weather",
    formulas=(
        Formula(name="toy-flow", words="taps times a half", source="a toy", check="derived"),
    ),
)
"""

CALLS = """
import json, sys
from typer.testing import CliRunner
from supplycalc.cli import app

runner, house = CliRunner(), sys.argv[1]
calls = {
    "check": ["check", house],
    "demand": ["demand", house, "--full"],
    "every run": ["demand", house, "--every-run", "--json"],
    "size": ["size", house, "--json"],
    "by method": ["size", house, "--method", "toy", "-v"],
    "unknown": ["size", house, "--method", "toyy"],
    "sources": ["sources"],
    "table": ["sources", "toy.taps"],
    "kind": ["sources", "lavatory"],
    "schema": ["schema"],
}
told = {name: runner.invoke(app, call) for name, call in calls.items()}
print(json.dumps({name: [out.exit_code, out.output] for name, out in told.items()}))
"""


@pytest.fixture(scope="module")
def toy(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[int, str]]:
    """Exit status and output of commands in a copy of the package with one method more.

    The two files of the method are all of it.
    """
    folder = tmp_path_factory.mktemp("toy")
    package = folder / "supplycalc"
    shutil.copytree(Path(supplycalc.__file__).parent, package)
    rows = "".join(f'{kind} = "tap"\n' for kind in sorted(KINDS))
    (package / "data" / "demand_toy.toml").write_text(TOY_DATA + rows)
    (package / "demand" / "toy.py").write_text(TOY_MODULE)
    house = (SCENARIOS / "ridge-cottage.toml").read_text()
    own = 'demand = "irc"'
    assert own in house
    (folder / "house.toml").write_text(house.replace(own, 'demand = "toy"'))
    (folder / "calls.py").write_text(CALLS)
    program = subprocess.run(
        [sys.executable, "calls.py", "house.toml"],
        cwd=folder, capture_output=True, text=True, check=True,
    )  # fmt: skip
    told: dict[str, tuple[int, str]] = {
        name: (status, " ".join(output.split()))
        for name, (status, output) in json.loads(program.stdout).items()
    }
    return told


def test_a_new_method_can_be_asked_for(toy: dict[str, tuple[int, str]]) -> None:
    """By the file and by the call; a name next to it is answered with it; the schema has it."""
    assert toy["check"][0] == 0
    assert toy["by method"][0] == 0
    assert "by method 'toy'" in toy["by method"][1]
    assert json.loads(toy["size"][1])["method"] == "toy"
    assert toy["unknown"][0] == 2
    assert "did you mean 'toy'" in toy["unknown"][1]
    assert '"toy"' in toy["schema"][1]


def test_a_new_method_is_compared(toy: dict[str, tuple[int, str]]) -> None:
    """A row of its own, its words and its source, its units and its flow in every run."""
    status, page = toy["demand"]
    assert status == 0
    assert "toy: half a gallon a minute for each tap. Source: The Book of Toys" in page
    assert "it counts taps" in page
    assert "and toy " in page
    assert "and toy no weather" in page
    runs = json.loads(toy["every run"][1])["runs"]
    assert all(set(run["design_flow"]) == {*DEMAND_METHODS, "toy"} for run in runs)


def test_a_new_methods_figures_are_judged(toy: dict[str, tuple[int, str]]) -> None:
    """Rows from memory are told."""
    assert "from the table of demand method 'toy', not verified" in toy["by method"][1]


def test_a_new_methods_sources_are_listed(toy: dict[str, tuple[int, str]]) -> None:
    """Its table, its formula, its name among the methods, its row of a kind of fixture."""
    assert "exact, listed, toy." in toy["sources"][1]
    assert "toy.taps" in toy["sources"][1]
    assert "toy-flow" in toy["sources"][1]
    assert "The Book of Toys" in toy["table"][1]
    assert "toy: tap" in toy["kind"][1]
