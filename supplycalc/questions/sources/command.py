"""`supplycalc sources`: where every figure comes from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

import typer

from supplycalc.output.call import Force, Json, Output, UnitsPublished
from supplycalc.output.destination import Destination

SCHEMA = "supplycalc-sources/1"


def command(
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="A table or formula, or a source as pages cite it."),
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
      supplycalc sources "IRC P2903.8.2"    what a page cites so
      supplycalc sources -o sources.csv

    Each line says how its figures were checked; what comes from memory is marked,
    so that you check it against your code. Rows are in their published units.
    """
    del units
    destination = Destination(as_json=as_json, path=output, force=force)
    destination.check()

    from supplycalc.demand import DEMAND_METHODS
    from supplycalc.output.blocks import Block
    from supplycalc.questions.sources.page import overview, sources_page, table_page
    from supplycalc.questions.sources.study import all_sources, find

    sources = all_sources()
    shown = sources if name is None else find(name, sources)

    def page() -> Iterator[Block]:
        if name is None:
            yield from sources_page(sources, tuple(DEMAND_METHODS))
            return
        for source in shown:
            yield from table_page(source)

    def data() -> dict[str, Any]:
        tables = [source.to_data("us") for source in shown]
        return {"schema": SCHEMA, "ok": True, "sources": tables}

    destination.send(page=page, data=data, system="us", table=lambda: overview(shown))
    return 0
