"""Values taken without typer's own checks: the same values, and the same refusals.

Typer is the reference: each call is read once by its own command class and once by ours.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Any

import pytest
import typer
from typer.core import TyperCommand

from supplycalc.cli.app import OneCommand
from supplycalc.output.options import File, Json, Output, Units, UnitsOption

WATCH = typer.Option("--watch")


def read(
    file: File,
    method: str | None = None,
    watch: Annotated[list[str] | None, WATCH] = None,
    days: Annotated[int, typer.Option(min=1)] = 1,
    factor: float | None = None,
    as_json: Json = False,
    units: UnitsOption = None,
    output: Output = None,
) -> tuple[Any, ...]:
    """Give back what was read."""
    return file, method, watch, days, factor, as_json, units, output


def called(kind: type[TyperCommand], args: list[str]) -> Any:
    """What a call gives, or in which words it is refused."""
    single = typer.Typer(add_completion=False)
    single.command(cls=kind)(read)
    try:
        return typer.main.get_command(single).main(list(args), standalone_mode=False)
    except Exception as error:
        return type(error).__name__, getattr(error, "format_message", error.__str__)()


@pytest.mark.parametrize(
    "call",
    [
        "house.toml",
        "-",
        "",
        "house.toml --method irc --units metric --json -o out.csv",
        "house.toml --watch a --watch b --days 3 --factor 1.5",
        "house.toml --method= --units=us",
        "house.toml --units metrc",
        "house.toml --units METRIC",
        "house.toml --days x",
        "house.toml --days 0",
        "house.toml --factor much",
        "house.toml --watch",
        "house.toml more",
        "house.toml --unit us",
    ],
)
def test_values_and_refusals_are_typers_own(call: str) -> None:
    """Left out, given, given twice, of a wrong kind, out of range, missing, one too many."""
    ours, own = called(OneCommand, call.split()), called(TyperCommand, call.split())

    assert ours == own
    assert [type(value) for value in ours] == [type(value) for value in own]


def test_the_values_have_their_kinds() -> None:
    """What commands rely on: paths are paths, choices are choices, lists are lists."""
    got = called(OneCommand, ["a.toml", "--units", "metric", "--watch", "a", "--watch", "b"])

    assert got == (Path("a.toml"), None, ["a", "b"], 1, None, False, Units.metric, None)
    assert isinstance(got[0], Path)
    assert isinstance(got[6], Units)


def test_a_choice_and_a_path_need_no_pydantic(monkeypatch: pytest.MonkeyPatch) -> None:
    """With pydantic out of reach a plain call still works, and a number can't be read."""
    monkeypatch.setitem(sys.modules, "pydantic", None)
    monkeypatch.delitem(sys.modules, "typer._adapters", raising=False)

    assert called(OneCommand, ["a.toml", "--units", "us", "--watch", "a"])[6] is Units.us
    assert called(OneCommand, ["a.toml", "--days", "2"])[0] == "ModuleNotFoundError"
