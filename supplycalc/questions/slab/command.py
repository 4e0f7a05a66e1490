"""`supplycalc slab`: what the pour or the backfill locks in."""

from __future__ import annotations

from supplycalc.output.call import Call, Method


def command(
    call: Call,
    *,
    method: Method = None,
) -> int:
    """Tell what the pour or the backfill locks in, and what can still be added later.

    Examples:
      supplycalc slab house.toml
      supplycalc slab house.toml -o pour.txt     one sheet for the site; .pdf too
      supplycalc slab house.toml --json

    For every run that is buried or embedded: how much more it can carry, what one
    size larger costs now, and which later surprises (a bath, a softener, a weaker
    pump, a lower switch) it would bear. Every answer is really sized. Then the
    checklist before the pour with published test pressures.

    Exit status: 0 the design passes, 1 something fails, 2 the file or the call is
    wrong.
    """
    house = call.house(forms=(".pdf",))

    from supplycalc.demand import known_method
    from supplycalc.output.sheet import sheet_files
    from supplycalc.questions.slab.first_screen import slab_first
    from supplycalc.questions.slab.page import locked_table, slab_page
    from supplycalc.questions.slab.pour import pour_page
    from supplycalc.questions.slab.study import slab

    study = slab(house, known_method(method))
    return call.answer(
        study,
        page=lambda system: slab_page(study, system),
        first=lambda system: slab_first(study, system),
        table=lambda: locked_table(study, call.system(house)),
        files=sheet_files(lambda system: pour_page(study, system), house.project.name),
    )
