"""`supplycalc flow`: what really comes out when given outlets are open."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.destination import Destination
from supplycalc.output.options import File, Force, Json, Output, UnitsOption, read_house, system_of


def command(
    file: File,
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
    method: Annotated[
        str | None, typer.Option(metavar="METHOD", help="Demand method, instead of the file's.")
    ] = None,
    as_json: Json = False,
    units: UnitsOption = None,
    output: Output = None,
    force: Force = False,
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
    destination = Destination(as_json=as_json, path=output, force=force)
    destination.check()
    house = read_house(file)

    from supplycalc.demand import known_method
    from supplycalc.questions.flow.page import flow_page, flow_to_dict, outflow_table
    from supplycalc.questions.flow.study import flow

    system = system_of(house, units)
    study = flow(
        house,
        tuple(opened or ()),
        disturbed=disturb,
        at_once=at_once,
        method=known_method(method),
    )
    destination.send(
        page=lambda page: flow_page(page, study, system, paths=paths),
        data=lambda: flow_to_dict(study, system),
        system=system,
        table=lambda: outflow_table(study.cases[0], system),
    )
    return 0 if study.ok else 1
