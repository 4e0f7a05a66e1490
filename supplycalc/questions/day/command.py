"""`supplycalc day`: the supply through a day of draws."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.call import Call, Method


def command(
    call: Call,
    *,
    days: Annotated[int, typer.Option(metavar="N", min=1, help="How many days.")] = 1,
    seed: Annotated[
        int | None,
        typer.Option(metavar="N", help="Random days from this seed, instead of the schedule."),
    ] = None,
    people: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, max=1000, help="Who live there, for random days."),
    ] = None,
    watch: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="A fixture to follow; may be given again."),
    ] = None,
    waterlogged: Annotated[
        bool,
        typer.Option("--waterlogged", help="What if the tank had lost its air charge?"),
    ] = False,
    method: Method = None,
) -> int:
    """Run the supply through a day of draws, or many days.

    Examples:
      supplycalc day house.toml                   the file's schedule
      supplycalc day house.toml --seed 7 --people 5
      supplycalc day house.toml --seed 7 --days 365
      supplycalc day house.toml --watch "upstairs bath"
      supplycalc day house.toml -o day.csv        every event

    Draws come from the file's [[draw]] tables, or at random from what people do in
    a day; without [[draw]] tables the seed is 1. From event to event tank, switch,
    pump and well move exactly; nothing is stepped by the clock.

    Exit status: 0 nothing fails, 1 something does, 2 the file or the call is wrong.
    """
    house = call.house()

    from supplycalc.demand import known_method
    from supplycalc.output.progress import progress_teller
    from supplycalc.questions.day.page import day_page, series_table
    from supplycalc.questions.day.study import day
    from supplycalc.questions.size.study import size

    file = call.destination.file
    whole = call.as_json or (file is not None and file.suffix != ".txt")
    progress, wipe = progress_teller(
        lambda share: f"day {int(share * days) + 1} of {days} ({share:.0%})"
    )
    result = day(
        size(house, known_method(method)),
        days=days,
        seed=seed,
        people=people,
        watch=tuple(watch or ()),
        waterlogged=waterlogged,
        keep_days=days if whole else 1,
        progress=progress,
    )
    wipe()
    return call.answer(
        result,
        page=lambda system: day_page(result, system),
        table=lambda: series_table(result),
    )
