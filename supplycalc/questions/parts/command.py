"""`supplycalc parts`: what to buy."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from supplycalc.output.call import Call, Method, comma_separated
from supplycalc.problems import InputError, Place, Problem


def command(
    call: Call,
    *,
    prices: Annotated[
        Path | None,
        typer.Option(metavar="PATH", help="Price list (TOML), with date and currency."),
    ] = None,
    by_price: Annotated[
        bool, typer.Option("--by-price", help="Let the price list choose the open sizes too.")
    ] = False,
    waste: Annotated[
        str | None,
        typer.Option(metavar="SHARE", help="Added to every run, e.g. '8 %'; without it 5 %."),
    ] = None,
    run: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Compare choices for a run, a fixture or a group."),
    ] = None,
    sizes: Annotated[
        str | None, typer.Option(metavar="LIST", help="Its sizes, e.g. 3/4,1,1-1/4.")
    ] = None,
    materials: Annotated[
        str | None, typer.Option(metavar="LIST", help="Its tubes, e.g. pex-sdr9,copper-l.")
    ] = None,
    where: Annotated[
        bool, typer.Option("--where", help="Say of every line all the places that it is for.")
    ] = False,
    method: Method = None,
) -> int:
    """List what to buy: pipe by the coil or stick, fittings, valves, ports, supports.

    Examples:
      supplycalc parts house.toml
      supplycalc parts house.toml --prices prices.toml
      supplycalc parts house.toml --prices prices.toml -o parts.csv
      supplycalc parts house.toml -o order.txt     the order on one sheet; .pdf too
      supplycalc parts house.toml --prices prices.toml --run service --sizes 3/4,1

    Counted from the sized supply: tees, reducers and adapters where runs meet, stops
    and boxes at fixtures, other fittings as your file lists them; fittings at tank
    and well where the file has these. Coils and sticks are cut with the least waste, or at the
    least price where there is a price list. What has no price is named, never
    guessed.

    Exit status: 0 the design works, 1 it or the list fails, 2 a file or the call is
    wrong.
    """
    choices = run is not None or sizes is not None or materials is not None
    house = call.house(prices, forms=() if choices else (".pdf",))

    from supplycalc.demand import known_method
    from supplycalc.output.sheet import sheet_files
    from supplycalc.questions.parts.first_screen import parts_first
    from supplycalc.questions.parts.options import parts_options
    from supplycalc.questions.parts.order import order_page
    from supplycalc.questions.parts.page import options_page, parts_page
    from supplycalc.questions.parts.study import parts
    from supplycalc.questions.parts.tables import list_table, option_table
    from supplycalc.reading.prices import load_prices

    share, known = _share(waste), known_method(method)
    if by_price and prices is None:
        message = "--by-price needs a price list: add --prices prices.toml"
        raise InputError([Problem(place=Place("--by-price"), message=message)])
    listing = None if prices is None else load_prices(prices, house.catalogue)
    if choices:
        options = parts_options(
            house,
            run=run,
            sizes=comma_separated(sizes),
            materials=comma_separated(materials),
            prices=listing,
            waste=share,
            method=known,
        )
        return call.answer(
            options, page=lambda _: options_page(options), table=lambda: option_table(options)
        )
    listed = parts(house, prices=listing, waste=share, method=known, by_price=by_price)
    return call.answer(
        listed,
        page=lambda system: parts_page(listed, system, where=where),
        first=lambda system: parts_first(listed, system),
        whole=where,
        table=lambda: list_table(listed),
        files=sheet_files(lambda system: order_page(listed, system), house.project.name),
    )


def _share(text: str | None) -> float | None:
    """A share such as "8 %"; at most as much again."""
    from supplycalc.units import NotAQuantity, parse

    if text is None:
        return None
    try:
        value = parse(text, "share")
    except NotAQuantity as error:
        raise InputError([Problem(place=Place("--waste"), message=error.reason)]) from None
    if value > 1.0:
        message = f"{text!r}: more than 100 % of every run is not waste"
        raise InputError([Problem(place=Place("--waste"), message=message)])
    return value
