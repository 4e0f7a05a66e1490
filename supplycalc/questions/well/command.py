"""`supplycalc well`: pump, well and tank."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.call import Call, Method


def command(
    call: Call,
    *,
    people: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, max=1000, help="Who live there, instead of the file's."),
    ] = None,
    method: Method = None,
) -> int:
    """Check pump, well, switch and pressure tank.

    Examples:
      supplycalc well house.toml
      supplycalc well house.toml --people 5
      supplycalc well house.toml -o switch.csv   what raising the switch does

    Where the pump works at cut-in and cut-out and whether it holds the design flow,
    how often it starts, which tank it needs, whether the well keeps up, and what a
    higher switch, or another size of the pipe from the well, would change. Without
    a pump in the file: what one must give.

    Exit status: 0 nothing fails, 1 something does, 2 the file or the call is wrong.
    """
    house = call.house()

    from supplycalc.demand import known_method
    from supplycalc.questions.size.study import size
    from supplycalc.questions.well.page import well_page
    from supplycalc.questions.well.study import well_check
    from supplycalc.questions.well.tables import switch_table

    check = well_check(size(house, known_method(method)), people)
    return call.answer(
        check,
        page=lambda system: well_page(check, system),
        table=lambda: switch_table(check, call.system(house)),
    )
