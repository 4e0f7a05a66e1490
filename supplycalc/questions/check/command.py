"""`supplycalc check`: is the file right?"""

from __future__ import annotations

from supplycalc.output.call import Call


def command(call: Call) -> int:
    """Read the file and show the supply as a tree, with everything assumed.

    Examples:
      supplycalc check house.toml
      supplycalc check house.toml --units metric

    Every mistake is told at once, each with its line, what was expected and the
    nearest right word. Nothing is sized yet.

    Exit status: 0 the file is right, 2 it is not.
    """
    house = call.house()

    from supplycalc.questions.check.first_screen import check_first
    from supplycalc.questions.check.page import check_page, links_table
    from supplycalc.questions.check.study import check

    supply = check(house)
    name = str(call.file)
    return call.answer(
        supply,
        page=lambda system: check_page(supply, name, system),
        first=lambda system: check_first(supply, name, system),
        table=lambda: links_table(supply),
    )
