"""`supplycalc risk`: how sure is it?"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from supplycalc.output.call import Call, Method


def command(
    call: Call,
    *,
    draws: Annotated[
        int, typer.Option(metavar="N", min=64, max=1 << 20, help="How many draws.")
    ] = 4096,
    seed: Annotated[
        int, typer.Option(metavar="N", min=0, help="Of the draws: the same, the same answer.")
    ] = 1,
    prices: Annotated[
        Path | None,
        typer.Option(metavar="PATH", help="Price list (TOML): the cheapest by price, not mass."),
    ] = None,
    method: Method = None,
) -> int:
    """Say how sure the design is, and which figure to measure first.

    Examples:
      supplycalc risk house.toml
      supplycalc risk house.toml --draws 65536 --seed 7
      supplycalc risk house.toml -o fixtures.csv

    What is not known exactly stands in the file as it is: length = "85 ± 10 ft",
    cut_in = "38 to 42 psi", loss = "about 5 psi", cold = "unknown", and size = "?"
    for pipe that is there. All of it is drawn together, and the sizes that 'size'
    chooses for the middle are held against every draw.

    Exit status: 0 the design for the middle of each range passes, 1 something
    fails, 2 the file or the call is wrong.
    """
    house = call.house(prices)

    from supplycalc.demand import known_method
    from supplycalc.output.progress import progress_teller
    from supplycalc.questions.risk.page import fixtures_table, risk_first, risk_page
    from supplycalc.questions.risk.study import risk
    from supplycalc.reading.prices import load_prices

    listing = None if prices is None else load_prices(prices, house.catalogue)
    tell, wipe = progress_teller(lambda share: f"risk: {share:.0%}")
    result = risk(
        house, known_method(method), draws=draws, seed=seed, prices=listing, progress=tell
    )
    wipe()
    return call.answer(
        result,
        page=lambda system: risk_page(result, system),
        first=lambda system: risk_first(result, system),
        table=lambda: fixtures_table(result.fixtures),
    )
