"""`supplycalc flow`: what really comes out when given outlets are open."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.call import Call, Method


def command(
    call: Call,
    *,
    opened: Annotated[
        list[str] | None,
        typer.Option(
            "--open",
            metavar="NAME",
            help='An open outlet: "kitchen sink", half open "bath@50%", one side "basin (hot)". '
            "May be given again.",
        ),
    ] = None,
    disturb: Annotated[
        bool,
        typer.Option("--disturb", help="Open every other outlet in turn beside the first."),
    ] = False,
    at_once: Annotated[
        int,
        typer.Option(
            "--at-once", metavar="N", min=1, max=12, help="With --disturb: the worst N at once."
        ),
    ] = 2,
    paths: Annotated[
        bool,
        typer.Option("--paths", help="Follow the pressure to every open outlet."),
    ] = False,
    method: Method = None,
) -> int:
    """Tell what really comes out when these are open, and who takes it from whom.

    Examples:
      supplycalc flow house.toml --open "upstairs bath"
      supplycalc flow house.toml --open "upstairs bath" --open "clothes washer"
      supplycalc flow house.toml --open "shower" --open "garden tap@50%"
      supplycalc flow house.toml --open "shower" --disturb --at-once 3

    Sizes that the file leaves open are chosen first, as 'size' does. A well's flows
    are given with the source at cut-in, at cut-out and, where the pump's curve is
    known, with the pump alone holding the flow.

    Exit status: 0 water comes at every open outlet, 1 something fails, 2 the file
    or the call is wrong.
    """
    house = call.house()

    from supplycalc.demand import known_method
    from supplycalc.questions.flow.page import flow_page, outflow_table
    from supplycalc.questions.flow.study import flow

    study = flow(
        house,
        tuple(opened or ()),
        disturbed=disturb,
        at_once=at_once,
        method=known_method(method),
    )
    return call.answer(
        study,
        page=lambda system: flow_page(study, system, paths=paths),
        table=lambda: outflow_table(study.cases[0], call.system(house)),
    )
