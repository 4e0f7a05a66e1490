"""What `--json` prints: its keys are frozen, and its schema describes it."""

from __future__ import annotations

import importlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from typer.testing import CliRunner

from supplycalc.cli import app
from supplycalc.questions import all_questions
from supplycalc.records.schema import result_schema
from tests.commands.files import SCENARIOS

KEYS = Path(__file__).parent / "json_keys"
"""One file per command: the path of every key, a line each. Keys are added, never taken away."""

OPTIONS = {
    "compare": ("--run", "service", "--sizes", "1,1-1/4"),
    "flow": ("--open", "upstairs bath", "--disturb"),
    "day": ("--days", "2", "--seed", "1"),
}
SCENARIO = {"layout": "ranch-on-slab", "gauge": "old-farmhouse"}


def answer(command: str) -> Any:
    """What a command prints of one scenario, as data."""
    file = SCENARIOS / f"{SCENARIO.get(command, 'ridge-cottage')}.toml"
    printed = CliRunner().invoke(app, [command, str(file), *OPTIONS.get(command, ()), "--json"])
    return json.loads(printed.stdout)


def paths(data: Any, at: str = "") -> Iterator[str]:
    """The path of every key; a quantity ends it, items of a list share theirs."""
    if isinstance(data, dict) and set(data) != {"value", "unit"}:
        for key, value in data.items():
            yield f"{at}.{key}".lstrip(".")
            yield from paths(value, f"{at}.{key}")
    elif isinstance(data, list):
        for value in data:
            yield from paths(value, f"{at}[]")


COMMANDS = [name for name in all_questions() if name not in ("new", "sources", "schema", "words")]


@pytest.mark.parametrize("command", COMMANDS)
def test_no_key_is_lost(command: str) -> None:
    """Who reads a command's JSON finds every key again."""
    frozen = (KEYS / f"{command}.txt").read_text(encoding="utf-8").split("\n")

    printed = set(paths(answer(command)))

    assert [key for key in frozen if key and key not in printed] == []


RESULTS = {name: entry.result for name, entry in all_questions().items() if entry.result}


@pytest.mark.parametrize("command", RESULTS)
def test_the_schema_of_a_result_describes_it(command: str) -> None:
    """JSON Schema's own validator accepts the answer, and every key of it is described."""
    module, _, kind = RESULTS[command].partition(":")
    schema = result_schema(getattr(importlib.import_module(module), kind))
    data = answer(command)

    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(data, schema)
    assert set(data) == set(schema["properties"])
