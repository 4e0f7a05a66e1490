"""`supplycalc well`: pump, well and tank."""

from __future__ import annotations

from typing import Annotated

import typer

from supplycalc.output.call import Call, Method
from supplycalc.problems import InputError, Place, Problem


def command(
    call: Call,
    *,
    people: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, max=1000, help="Who live there, instead of the file's."),
    ] = None,
    storage: Annotated[
        bool, typer.Option("--storage", help="Size an open tank even where the well keeps up.")
    ] = False,
    outage: Annotated[
        str | None,
        typer.Option(metavar="TIME", help='Let it bear a time without a pump, such as "24 h".'),
    ] = None,
    reserve: Annotated[
        str | None,
        typer.Option(metavar="VOLUME", help='Keep so much for fire, such as "1200 gal".'),
    ] = None,
    years: Annotated[
        int, typer.Option(metavar="N", min=1, max=100, help="Years to draw for its size.")
    ] = 3,
    method: Method = None,
) -> int:
    """Check pump, well, tank or spring, switch and pressure tank.

    Examples:
      supplycalc well house.toml
      supplycalc well house.toml --people 5
      supplycalc well house.toml --outage "24 h" --reserve "1200 gal"
      supplycalc well house.toml -o switch.csv   what raising the switch does

    Where the pump works at cut-in and cut-out and whether it holds the design flow,
    how often it starts, which tank it needs, whether the well keeps up and which
    open tank carries a weak one through drawn years, and what a higher switch, or
    another size of the pipe from the well, would change. Without a pump in the
    file: what one must give. Of an open tank or spring: what comes and is needed,
    what its level makes of the pressure, and what a booster would do.

    Exit status: 0 nothing fails, 1 something does, 2 the file or the call is wrong.
    """
    house = call.house()

    from supplycalc.chance.tank_needed import StorageWish
    from supplycalc.demand import known_method
    from supplycalc.questions.size.study import size
    from supplycalc.questions.well.page import well_page
    from supplycalc.questions.well.study import well_check
    from supplycalc.questions.well.tables import levels_table, switch_table

    wish = StorageWish(
        asked=storage or outage is not None or reserve is not None,
        years=years,
        outage=_amount("--outage", outage, "time"),
        reserve=_amount("--reserve", reserve, "volume"),
    )
    check = well_check(size(house, known_method(method)), people, wish)
    return call.answer(
        check,
        page=lambda system: well_page(check, system),
        table=lambda: (
            levels_table(check.open_source)
            if check.open_source is not None and check.open_source.levels
            else switch_table(check, call.system(house))
        ),
    )


def _amount(option: str, text: str | None, dimension: str) -> float:
    """A quantity of an option; 0 where it is not given."""
    if text is None:
        return 0.0
    from supplycalc.units import NotAQuantity, parse

    try:
        amount = parse(text, dimension)
        reason = "must not be below 0" if amount < 0.0 else None
    except NotAQuantity as error:
        amount, reason = 0.0, error.reason
    if reason is not None:
        raise InputError([Problem(place=Place(option), message=reason, value=text)])
    return amount
