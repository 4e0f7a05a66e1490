"""`supplycalc size`: the main job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from supplycalc.output.destination import Destination
from supplycalc.output.options import File, Force, Json, Output, UnitsOption, read_house, system_of


def command(
    file: File,
    method: Annotated[
        str | None,
        typer.Option(
            metavar="METHOD", help="Demand method, instead of the file's; see 'supplycalc sources'."
        ),
    ] = None,
    prices: Annotated[
        Path | None,
        typer.Option(metavar="PATH", help="Price list (TOML): the cheapest by price, not mass."),
    ] = None,
    why: Annotated[
        bool, typer.Option("--why", help="Also show what each next smaller size would have done.")
    ] = False,
    verbose: Annotated[
        bool,
        typer.Option("--verbose", "-v", help="Also show bores, counted lengths, K and Reynolds."),
    ] = False,
    as_json: Json = False,
    units: UnitsOption = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Choose the sizes at least cost, and say what fails.

    Examples:
      supplycalc size house.toml
      supplycalc size house.toml --why            what a size less would do
      supplycalc size house.toml --units metric
      supplycalc size house.toml -o schedule.csv  the runs for a spreadsheet
      supplycalc size house.toml --prices prices.toml
      supplycalc size house.toml --json

    Prints the verdict, the worst fixture with its pressure from the source to the
    outlet, the pressure at every fixture, the schedule of runs, findings and
    assumptions. Sizes that the file fixes stay as they are.

    Exit status: 0 the design passes, 1 something fails, 2 the file or the call is
    wrong.
    """
    destination = Destination(as_json=as_json, path=output, force=force)
    destination.check()
    house = read_house(file)

    from supplycalc.demand import known_method
    from supplycalc.output import view
    from supplycalc.output.machine import design_to_dict
    from supplycalc.questions.size.page import size_page
    from supplycalc.questions.size.study import size
    from supplycalc.reading.prices import load_prices

    system = system_of(house, units)
    listing = None if prices is None else load_prices(prices, house.catalogue)
    design = size(house, known_method(method), prices=listing)
    destination.send(
        page=lambda page: size_page(page, design, system, why=why, details=verbose),
        data=lambda: design_to_dict(design, system),
        system=system,
        table=lambda: view.schedule(design),
    )
    return 0 if design.ok else 1
