"""`supplycalc surge`: what quick valves and a stopping pump do to the pipe."""

from __future__ import annotations

from supplycalc.output.call import Call, Method


def command(call: Call, *, method: Method = None) -> int:
    """Tell what a quick valve or a stopping pump does to each pipe, and what cures it.

    Examples:
      supplycalc surge house.toml
      supplycalc surge house.toml --full        every pipe, every cure
      supplycalc surge house.toml -o surge.csv

    The peak as each valve shuts alone and as the pump stops, as an upper bound,
    against the pipe's rating and the limit for arrestors; the arrestor's size, the
    larger branch, the slower valve or the lower pressure that would do; which pipe
    is noisy. An arrestor that is there already is written arrestor = true in the
    fixture.

    Exit status: 0 the design passes, 1 something fails, 2 the file or the call is
    wrong.
    """
    house = call.house()

    from supplycalc.demand import known_method
    from supplycalc.questions.surge.page import surge_first, surge_page, valve_table
    from supplycalc.questions.surge.study import surge

    study = surge(house, known_method(method))
    return call.answer(
        study,
        page=lambda system: surge_page(study, system),
        first=lambda system: surge_first(study, system),
        table=lambda: valve_table(study.cures),
    )
