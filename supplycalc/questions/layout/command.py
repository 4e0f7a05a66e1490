"""`supplycalc layout`: where the manifold should stand, and which layout serves best."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from supplycalc.output.call import Call, Method
from supplycalc.output.destination import Destination, say
from supplycalc.problems import InputError, Place, Problem


def command(
    call: Call,
    *,
    write: Annotated[
        Path | None,
        typer.Option(
            "--write", metavar="PATH", help="Write the layout as a new supply file; - is stdout."
        ),
    ] = None,
    layout: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Which layout to write, instead of the one advised."),
    ] = None,
    prices: Annotated[
        Path | None,
        typer.Option(
            metavar="PATH", help="Price list (TOML): cost is then the price of all parts."
        ),
    ] = None,
    method: Method = None,
) -> int:
    """Find where the manifold should stand, and which layout serves best.

    Examples:
      supplycalc layout house.toml
      supplycalc layout house.toml --write piped.toml
      supplycalc layout house.toml --write piped.toml --layout home-run
      supplycalc layout house.toml --prices prices.toml
      supplycalc layout house.toml --json

    Works from the positions (at) of the point where distribution begins, the
    heater and the fixtures, and from storeys, walls and zones without pipe. Home
    runs from one manifold, from submanifolds, and trunks with branches are laid
    out, sized and compared. For one manifold every place on the grid or along the
    walls is sized. The written file gives the same numbers with 'size'.

    Exit status: 0 the advised layout, or the one named, passes, 1 something fails,
    2 the file or the call is wrong.
    """
    copy = Destination(
        as_json=False,
        path=write,
        force=call.force,
        spared=(call.file, *(path for path in (prices, call.output) if path is not None)),
    )
    copy.check()
    if write is not None and copy.file is None and call.as_json:
        message = "stdout takes the layout or the JSON, not both; give --write or -o a file"
        raise InputError([Problem(place=Place("--write"), message=message)])
    house = call.house(prices, write)

    from supplycalc.demand import known_method
    from supplycalc.questions.layout.first_screen import layout_first
    from supplycalc.questions.layout.kept_house import kept_of
    from supplycalc.questions.layout.page import layout_page, layouts_table
    from supplycalc.questions.layout.study import layout as lay_out
    from supplycalc.reading.prices import load_prices

    kept_of(house)  # what is missing is told before the wait is
    say("sizing every place for the manifold;\na large house takes a minute")
    listing = None if prices is None else load_prices(prices, house.catalogue)
    study = lay_out(house, known_method(method), listing)
    chosen = study.options[study.chosen] if layout is None else study.option(layout)
    if write is not None:
        from supplycalc.reading.writing import write as text_of

        remark = (
            f"{chosen.title}, laid out from {call.file.name} by supplycalc layout; check it on "
            "site."
        )
        copy.write(text_of(chosen.house, remark))
    if write is None or copy.file is not None:
        call.answer(
            study,
            page=lambda system: layout_page(study, system),
            first=lambda system: layout_first(study, call.file.name, system),
            table=lambda: layouts_table(study),
        )
    return 0 if chosen.design.ok else 1
