"""`supplycalc hot`: how long hot water takes, and what would bring it sooner."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.destination import Destination
from supplycalc.output.options import File, Force, Json, Output, UnitsOption, read_house, system_of
from supplycalc.problems import InputError, Place, Problem


def command(
    file: File,
    factor: Annotated[
        float | None,
        typer.Option(
            metavar="F",
            min=1.0,
            max=5.0,
            help="Water drawn before it is hot, over the pipe's volume; without it 1.2.",
        ),
    ] = None,
    draws: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=N",
            help='Draws of hot water a day at a fixture, e.g. "kitchen sink=12". May be given '
            "again.",
        ),
    ] = None,
    method: Annotated[
        str | None, typer.Option(metavar="METHOD", help="Demand method, instead of the file's.")
    ] = None,
    as_json: Json = False,
    units: UnitsOption = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Tell how long each outlet waits for hot water, and what would bring it sooner.

    Examples:
      supplycalc hot house.toml
      supplycalc hot house.toml --draws "kitchen sink=12" --draws "bath=1"
      supplycalc hot house.toml --factor 1        the pipe's own volume alone
      supplycalc hot house.toml -o waits.csv

    Waits are those of a pipe that has gone cold, at the flow that really comes with
    the outlet alone open. Each change is computed: thinner, shorter, insulated, kept
    hot. Mark pipe that a circulation line keeps hot with "circulated = true".

    Exit status: 0 no limit of the residential code is broken, 1 one is, 2 the file
    or the call is wrong.
    """
    destination = Destination(as_json=as_json, path=output, force=force)
    destination.check()
    house = read_house(file)
    numbers = _draws(draws or [])

    from supplycalc.demand import known_method
    from supplycalc.questions.hot.page import hot_page, hot_to_dict
    from supplycalc.questions.hot.study import hot_water
    from supplycalc.questions.hot.tables import outlet_table

    system = system_of(house, units)
    study = hot_water(house, factor=factor, draws=numbers, method=known_method(method))
    destination.send(
        page=lambda page: hot_page(page, study, system),
        data=lambda: hot_to_dict(study, system),
        system=system,
        table=lambda: outlet_table(study),
    )
    return 0 if study.ok else 1


def _draws(texts: list[str]) -> dict[str, float]:
    """Fixture -> draws a day, from "name=number"."""
    found: dict[str, float] = {}
    problems: list[Problem] = []
    for text in texts:
        name, _, number = text.rpartition("=")
        try:
            value = float(number)
        except ValueError:
            value = -1.0
        if not name.strip() or not 0.0 <= value <= 1000.0:
            message = f"{text!r} is not a fixture and its draws a day, such as 'kitchen sink=12'"
            problems.append(Problem(place=Place("--draws"), message=message))
        else:
            found[name.strip()] = value
    if problems:
        raise InputError(problems)
    return found
