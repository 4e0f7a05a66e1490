"""`supplycalc commission`: what is done before a supply is used."""

from __future__ import annotations

from supplycalc.output.call import Call, Method


def command(call: Call, *, method: Method = None) -> int:
    """Tell what must be done, in which order, before anyone drinks from the supply.

    Examples:
      supplycalc commission house.toml
      supplycalc commission house.toml -o day.pdf     one sheet to sign; .txt too
      supplycalc commission house.toml --full

    Pressure test, flushing, chlorine and its doses, rinsing and the sample, thermal
    expansion, every setting, and what gauge and bucket should say on the day: in the
    order of the work, with this house's figures. Give the heater's volume in its
    [[device]] and diameter, static_level and depth in [source.well].

    Exit status: 0 the design passes, 1 something fails, 2 the file or the call is
    wrong.
    """
    house = call.house(forms=(".pdf",))

    from supplycalc.demand import known_method
    from supplycalc.output.sheet import sheet_files
    from supplycalc.questions.commission.first_screen import commission_first
    from supplycalc.questions.commission.page import commission_page, settings_table, sheet_page
    from supplycalc.questions.commission.study import commission

    study = commission(house, known_method(method))
    return call.answer(
        study,
        page=lambda system: commission_page(study, system),
        first=lambda system: commission_first(study, system),
        table=lambda: settings_table(study, call.system(house)),
        files=sheet_files(lambda system: sheet_page(study, system), house.project.name),
    )
