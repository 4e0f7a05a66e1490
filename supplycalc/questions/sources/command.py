"""`supplycalc sources`: where every figure comes from."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.destination import Destination
from supplycalc.output.options import Force, Json, Output, UnitsPublished


def command(
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="A table or formula, to see its rows."),
    ] = None,
    as_json: Json = False,
    units: UnitsPublished = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """List every table and formula with its published source.

    Examples:
      supplycalc sources
      supplycalc sources copper-l           a tube's rows, as published
      supplycalc sources irc.fixture_units
      supplycalc sources -o sources.csv

    Each line says how its figures were checked; what comes from memory is marked,
    so that you check it against your code. Rows are in their published units.
    """
    del units
    destination = Destination(as_json=as_json, path=output, force=force)
    destination.check()

    from supplycalc.demand import DEMAND_METHODS
    from supplycalc.output.old_page import Page
    from supplycalc.questions.sources import page as listing

    sources = listing.all_sources()
    found = sources if name is None else listing.find(name, sources)

    def page(sheet: Page) -> None:
        if name is None:
            listing.sources_page(sheet, sources, tuple(DEMAND_METHODS))
            return
        for one in found:
            listing.table_page(sheet, one)

    destination.send(
        page=page,
        data=lambda: listing.sources_to_dict(found),
        system="us",
        table=lambda: listing.overview(found),
    )
    return 0
