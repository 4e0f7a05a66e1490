"""`supplycalc demand`: the demand methods side by side."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.call import Call, comma_separated


def command(
    call: Call,
    *,
    run: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="The run to look at.", show_default="the service line"),
    ] = None,
    methods: Annotated[
        str | None,
        typer.Option(metavar="LIST", help="Only these methods, e.g. irc,exact, and the file's."),
    ] = None,
    every_run: Annotated[
        bool, typer.Option("--every-run", help="Also the flow of every run by every method.")
    ] = False,
) -> int:
    """How much water a run must carry, by every published method and the exact one.

    Examples:
      supplycalc demand house.toml
      supplycalc demand house.toml --run "main to manifold"
      supplycalc demand house.toml --every-run
      supplycalc demand house.toml --methods irc,exact --json

    Load, design flow and resulting size side by side, why they differ, and what the
    code's own table of sizes asks for. The house is really sized by each method.

    Exit status: 0 the design by the file's method passes, 1 something fails, 2 the file
    or the call is wrong.
    """
    house = call.house()

    from supplycalc.questions.demand.page import demand_page, demand_table, every_run_table
    from supplycalc.questions.demand.study import compare_demand

    comparison = compare_demand(house, run=run, methods=comma_separated(methods))
    return call.answer(
        comparison,
        page=lambda system: demand_page(comparison, system, every_run=every_run),
        table=lambda: every_run_table(comparison) if every_run else demand_table(comparison),
    )
