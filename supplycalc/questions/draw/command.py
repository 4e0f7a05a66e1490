"""`supplycalc draw`: the supply as a picture."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Annotated

import typer

from supplycalc.output.call import Call, Method

if TYPE_CHECKING:
    from supplycalc.units import UnitSystem

FORMS = (".svg", ".png", ".pdf")


def command(
    call: Call,
    *,
    phone: Annotated[
        bool, typer.Option("--phone", help="Draw it narrow, for a phone held upright.")
    ] = False,
    method: Method = None,
) -> int:
    """Draw the supply as a riser diagram, sized as 'supplycalc size' does.

    Examples:
      supplycalc draw house.toml                 as a tree, on the terminal
      supplycalc draw house.toml -o supply.svg
      supplycalc draw house.toml -o supply.pdf   on letter paper or A4
      supplycalc draw house.toml --phone -o supply.png

    Levels are the file's storeys, else told from heights. The way to the worst
    fixture is drawn thick, hot pipe dashed; what fails is marked. A plan of each
    storey follows where the file gives positions, a section of each line that has a
    profile.

    Exit status: 0 the design passes, 1 something fails, 2 the file or the call is
    wrong.
    """
    house = call.house(forms=FORMS)

    from supplycalc.demand import known_method
    from supplycalc.questions.draw.page import drawing_page, rows_table
    from supplycalc.questions.draw.pictures import as_file
    from supplycalc.questions.draw.study import supply_drawing
    from supplycalc.questions.size.study import size

    drawn = supply_drawing(size(house, known_method(method), daily=True))

    def written(form: str, system: UnitSystem) -> str | bytes:
        return as_file(drawn, system, form, phone=phone)

    return call.answer(
        drawn,
        page=lambda system: drawing_page(drawn, system, whole=True),
        first=lambda system: drawing_page(drawn, system),
        table=lambda: rows_table(drawn),
        files={form: partial(written, form) for form in FORMS},
    )
