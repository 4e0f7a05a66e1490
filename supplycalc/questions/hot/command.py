"""`supplycalc hot`: how long hot water takes, and what would bring it sooner."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.call import Call, Method
from supplycalc.problems import InputError, Place, Problem


def command(
    call: Call,
    *,
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
    method: Method = None,
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
    house = call.house()
    daily = _draws_per_day(draws or [])

    from supplycalc.demand import known_method
    from supplycalc.questions.hot.first_screen import hot_first
    from supplycalc.questions.hot.page import hot_page
    from supplycalc.questions.hot.study import hot_water
    from supplycalc.questions.hot.tables import hot_outlet_table

    study = hot_water(house, factor=factor, draws=daily, method=known_method(method))
    return call.answer(
        study,
        page=lambda system: hot_page(study, system),
        first=lambda system: hot_first(study, system),
        table=lambda: hot_outlet_table(study),
    )


def _draws_per_day(texts: list[str]) -> dict[str, float]:
    """Fixture -> draws a day, from "name=number"."""
    daily: dict[str, float] = {}
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
            daily[name.strip()] = value
    if problems:
        raise InputError(problems)
    return daily
