"""`supplycalc compare`: the same design with each choice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from supplycalc.output.call import Call, Method, comma_separated
from supplycalc.problems import InputError, Place, Problem

if TYPE_CHECKING:
    from supplycalc.units import UnitSystem


def command(
    call: Call,
    *,
    run: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="A run, a fixture (its branches) or a group."),
    ] = None,
    sizes: Annotated[
        str | None,
        typer.Option(metavar="LIST", help="Sizes to try, e.g. 3/4,1,1-1/4."),
    ] = None,
    materials: Annotated[
        str | None,
        typer.Option(metavar="LIST", help="Tubes to try, e.g. pex-sdr9,copper-l."),
    ] = None,
    cut_in: Annotated[
        str | None,
        typer.Option(
            metavar="LIST",
            help="Cut-in pressures to try, e.g. '40 psi,50 psi'; plain numbers are psi, or bar "
            "where metric units are shown. Cut-out moves along.",
        ),
    ] = None,
    residual: Annotated[
        str | None,
        typer.Option(metavar="LIST", help="The same for the residual pressure of a main."),
    ] = None,
    method: Method = None,
) -> int:
    """Size the same house with each choice, side by side.

    Examples:
      supplycalc compare house.toml --run service --sizes 3/4,1,1-1/4
      supplycalc compare house.toml --run "upstairs bath" --sizes 1/2,3/4
      supplycalc compare house.toml --run service --materials pex-sdr9,copper-l
      supplycalc compare house.toml --cut-in 30,40,50
      supplycalc compare house.toml --run service --sizes 3/4,1 --cut-in 30,40

    Every combination is really sized, all other open sizes chosen anew. Without
    --sizes, --materials or a pressure, the sizes that the file allows for the run
    are compared.

    Exit status: 0 at least one choice works, 1 none does, 2 the file or the call
    is wrong.
    """
    house = call.house()

    from supplycalc.demand import known_method
    from supplycalc.questions.compare.page import (
        comparison_first,
        comparison_page,
        comparison_table,
    )
    from supplycalc.questions.compare.study import compare

    shown = call.system(house)
    comparison = compare(
        house,
        run=run,
        sizes=comma_separated(sizes),
        materials=comma_separated(materials),
        cut_in=_pressures("cut-in", cut_in, shown),
        residual=_pressures("residual", residual, shown),
        method=known_method(method),
    )
    return call.answer(
        comparison,
        page=lambda system: comparison_page(comparison, system),
        table=lambda: comparison_table(comparison, shown),
        first=lambda system: comparison_first(comparison, system),
    )


MOST_BAR = 20.0
"""A plain number above is most likely meant in kPa: no house runs at 20 bar."""


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _pressures(option: str, text: str | None, system: UnitSystem) -> tuple[float, ...]:
    """The pressures of a list; a plain number is in the unit that tables show."""
    from supplycalc.units import NotAQuantity, parse, unit_of

    pressures: list[float] = []
    problems: list[Problem] = []
    for part in comma_separated(text):
        written = part
        if _is_number(part):
            unit = unit_of("setting", system)
            written = f"{part} {unit}"
            if unit == "bar" and float(part) > MOST_BAR:
                reason = f"'{part}' is {part} bar here, far too much; write '{part} kPa' for kPa"
                problems.append(Problem(place=Place(option), message=reason))
                continue
        try:
            pressures.append(parse(written, "pressure"))
        except NotAQuantity as error:
            problems.append(Problem(place=Place(option), message=error.reason))
    if problems:
        raise InputError(problems)
    return tuple(pressures)
