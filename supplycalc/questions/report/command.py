"""`supplycalc report`: everything on one page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from supplycalc.output.call import Call, Method

if TYPE_CHECKING:
    from supplycalc.units import UnitSystem

FORMS = (".html", ".htm")


def command(
    call: Call,
    *,
    prices: Annotated[
        Path | None, typer.Option(metavar="PATH", help="Price list (TOML) for sizes and parts.")
    ] = None,
    watch: Annotated[
        bool,
        typer.Option("--watch", help="Show it in the browser, anew each time the file is saved."),
    ] = False,
    method: Method = None,
) -> int:
    """Put every answer on one page to print or send.

    Examples:
      supplycalc report house.toml -o house.html
      supplycalc report house.toml --prices prices.toml -o house.html
      supplycalc report house.toml --watch       edit, save, see

    The page is one file that needs no network and no script: verdict, drawing,
    pressure along the way, pipe schedule, options, pump and tank, hot water, what
    the pour locks in, parts, findings, calculation sheet, assumptions, sources.
    --full prints it as text. --watch serves it to this machine alone.

    Exit status: 0 the design passes, 1 something fails, 2 the file or the call is
    wrong.
    """
    if watch:
        from supplycalc.questions.report.watch import watch_file

        return watch_file(call, prices, method)
    house = call.house(prices, forms=FORMS)

    from supplycalc.demand import known_method
    from supplycalc.questions.report.document import page_of
    from supplycalc.questions.report.page import report_page, what_it_holds
    from supplycalc.questions.report.study import report
    from supplycalc.reading.prices import load_prices

    listing = None if prices is None else load_prices(prices, house.catalogue)
    found = report(house, known_method(method), prices=listing)

    def written(system: UnitSystem) -> str:
        source = "" if str(call.file) == "-" else call.file.name
        return page_of(found, system, source=source)

    return call.answer(
        found,
        page=lambda system: report_page(found, system),
        first=lambda system: what_it_holds(found, system, str(call.file)),
        files=dict.fromkeys(FORMS, written),
    )
