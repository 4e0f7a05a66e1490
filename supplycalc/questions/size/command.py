"""`supplycalc size`: the main job."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from supplycalc.output.call import Call
from supplycalc.problems import InputError, Place, Problem

if TYPE_CHECKING:
    from supplycalc.output.blocks import Block
    from supplycalc.units import UnitSystem


def command(
    call: Call,
    *,
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
    confidence: Annotated[
        str | None,
        typer.Option(
            metavar="SHARE",
            help="Sizes that suffice in so many of the cases within the file's ranges, e.g. 95%.",
        ),
    ] = None,
    why: Annotated[
        bool, typer.Option("--why", help="Also show what each next smaller size would have done.")
    ] = False,
    verbose: Annotated[
        bool,
        typer.Option("--verbose", "-v", help="Also show inside diameters, lengths, K, Reynolds."),
    ] = False,
) -> int:
    """Choose the sizes at least cost, and say what fails.

    Examples:
      supplycalc size house.toml
      supplycalc size house.toml --why            what a size less would do
      supplycalc size house.toml --units metric
      supplycalc size house.toml -o schedule.csv  the runs for a spreadsheet
      supplycalc size house.toml --prices prices.toml
      supplycalc size house.toml --confidence 95%   where the file has ranges
      supplycalc size house.toml --json

    Prints the verdict, the worst fixture with its pressure from the source to the
    outlet, the pressure at every fixture, the schedule of runs, findings and
    assumptions. Sizes that the file fixes stay as they are.

    Exit status: 0 the design passes, 1 something fails, 2 the file or the call is
    wrong.
    """
    house = call.house(prices)

    from supplycalc.demand import known_method
    from supplycalc.questions.size.first_screen import first_screen
    from supplycalc.questions.size.study import size
    from supplycalc.questions.size.tables import schedule

    listing = None
    if prices is not None:
        from supplycalc.reading.prices import load_prices

        listing = load_prices(prices, house.catalogue)
    sure = None if confidence is None else share_of(confidence)
    design = size(house, known_method(method), prices=listing, daily=True, confidence=sure)

    def page(system: UnitSystem) -> Iterable[Block]:
        from supplycalc.questions.size.page import size_page

        return size_page(design, system, why=why, details=verbose)

    return call.answer(
        design,
        page=page,
        first=partial(first_screen, design),
        whole=why or verbose,
        table=lambda: schedule(design),
    )


def share_of(text: str) -> float:
    """A part of all cases as people write it: "95%", "95 %" or "95".

    Raises:
        InputError: none between 50 and 99.9 %.
    """
    try:
        share = float(text.strip().removesuffix("%")) / 100.0
    except ValueError:
        share = -1.0
    if not 0.5 <= share <= 0.999:
        message = f"{text!r} is no share of cases between 50% and 99.9%; write it like 95%"
        raise InputError([Problem(place=Place("--confidence"), message=message)])
    return share
