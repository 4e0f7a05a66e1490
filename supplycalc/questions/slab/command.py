"""`supplycalc slab`: what the pour or the backfill locks in."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.destination import Destination
from supplycalc.output.options import File, Force, Json, Output, UnitsOption, read_house, system_of


def command(
    file: File,
    method: Annotated[
        str | None, typer.Option(metavar="METHOD", help="Demand method, instead of the file's.")
    ] = None,
    as_json: Json = False,
    units: UnitsOption = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Tell what the pour or the backfill locks in, and what can still be added later.

    Examples:
      supplycalc slab house.toml
      supplycalc slab house.toml -o before-the-pour.txt   one page for the site
      supplycalc slab house.toml --json

    For every run that is buried or embedded: how much more it can carry, what one
    size larger costs now, and which later surprises (a bath, a softener, a weaker
    pump, a lower switch) it would bear. Every answer is really sized. Then the
    checklist before the pour with published test pressures.

    Exit status: 0 the design passes, 1 something fails, 2 the file or the call is
    wrong.
    """
    destination = Destination(as_json=as_json, path=output, force=force)
    destination.check()
    house = read_house(file)

    from supplycalc.demand import known_method
    from supplycalc.questions.slab.page import locked_table, slab_page, slab_to_dict
    from supplycalc.questions.slab.study import slab

    system = system_of(house, units)
    study = slab(house, known_method(method))
    destination.send(
        page=lambda page: slab_page(page, study, system),
        data=lambda: slab_to_dict(study, system),
        system=system,
        table=lambda: locked_table(study, system),
    )
    return 0 if study.ok else 1
