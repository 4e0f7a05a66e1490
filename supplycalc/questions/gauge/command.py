"""`supplycalc gauge`: what was read in the house, against its file."""

from __future__ import annotations

from supplycalc.output.call import Call, Method


def command(
    call: Call,
    *,
    method: Method = None,
) -> int:
    """Compare pressures and flows that were read in the house with what its file says.

    Examples:
      supplycalc gauge house.toml            without readings: which to take
      supplycalc gauge house.toml --full
      supplycalc gauge house.toml -o readings.csv

    Readings stand in the file, each as [[reading]]: at, open, pressure or flow, and
    best source_pressure, the source's gauge at that moment. Each is computed as
    'supplycalc flow' does. Where they differ, single explanations are fitted to all
    of them, and the reading that tells most of them apart is named.

    Exit status: 0 the readings agree with the file, or there are none, 1 they do
    not, or something that was read fails, 2 the file or the call is wrong.
    """
    house = call.house()

    from supplycalc.demand import known_method
    from supplycalc.questions.gauge.page import compared_readings, gauge_first, gauge_page
    from supplycalc.questions.gauge.study import gauge

    study = gauge(house, known_method(method))
    return call.answer(
        study,
        page=lambda system: gauge_page(study, system),
        first=lambda system: gauge_first(study, system),
        table=lambda: compared_readings(study, call.system(house)),
    )
