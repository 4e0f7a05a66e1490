"""`supplycalc schema`: the JSON Schema of the file, or of what a command prints with --json."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from supplycalc.output.call import Force, Output, UnitsPublished
from supplycalc.output.destination import Destination


def command(
    result: Annotated[
        str | None,
        typer.Option(
            "--result", metavar="COMMAND", help="Of what this command prints with --json instead."
        ),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", show_default=False, help="Taken as by every command.")
    ] = True,
    units: UnitsPublished = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Print the JSON Schema of the supply file, for editors.

    Examples:
      supplycalc schema
      supplycalc schema -o supplycalc.schema.json
      supplycalc schema --result size

    An editor that knows JSON Schema for TOML then completes and checks your file,
    where the file's first line is
      #:schema ./supplycalc.schema.json
    """
    del as_json, units  # it is JSON in any case, and units are examples
    destination = Destination(as_json=True, path=output, force=force)
    destination.check()

    from supplycalc.reading import schema
    from supplycalc.records import to_json

    destination.write(to_json(schema() if result is None else _of_result(result)))
    return 0


def _of_result(name: str) -> dict[str, Any]:
    """The schema of a command's JSON; InputError where there is no such command."""
    import importlib

    from supplycalc.problems import InputError, Place, Problem
    from supplycalc.questions import all_questions
    from supplycalc.records.schema import result_schema

    answering = {
        question: entry.result for question, entry in all_questions().items() if entry.result
    }
    if name not in answering:
        message = f"{name!r} is no command with a result"
        raise InputError(
            [Problem(place=Place("--result"), message=message, value=name, valid=tuple(answering))]
        )
    module, _, kind = answering[name].partition(":")
    return result_schema(getattr(importlib.import_module(module), kind))
