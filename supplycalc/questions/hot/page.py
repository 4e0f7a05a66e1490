"""What `hot` prints and its JSON: waits, water run off, limits, and what would bring it sooner."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from supplycalc.output.cautions import LIMITS
from supplycalc.output.machine import (
    assumption_to_dict,
    finding_to_dict,
    quantity,
    source_to_dict,
    unit_system,
)
from supplycalc.output.old_page import OLD_LABELS as LABELS
from supplycalc.output.old_page import finding_lines
from supplycalc.output.wording import assumption_text
from supplycalc.questions.hot.findings import checks
from supplycalc.questions.hot.tables import (
    best_wait,
    change_tables,
    limit_table,
    outlet_table,
    year_table,
)
from supplycalc.units import convert, show

if TYPE_CHECKING:
    from supplycalc.output.old_page import Page
    from supplycalc.questions.hot.study import HotOutlet, HotStudy
    from supplycalc.units import UnitSystem

HOT_SCHEMA = "supplycalc-hot/1"


def answer(study: HotStudy, system: UnitSystem) -> str:
    """The answer in two or three sentences."""
    slowest = study.outlets[0]
    quick = sum(one.wait_class == "good" for one in study.outlets)
    count = len(study.outlets)
    if math.isinf(slowest.wait):
        first = f"No hot water comes out of {slowest.name}."
    else:
        first = (
            f"The longest wait for hot water is {show(slowest.wait, 'time', system)}, at "
            f"{slowest.name}, with {show(slowest.drawn, 'pipe-volume', system)} drawn meanwhile."
        )
    if quick == count:
        second = f"All {count} hot outlets are hot" if count > 1 else "It is hot"
    else:
        second = f"{quick} of {count} hot outlets {'is' if quick == 1 else 'are'} hot"
    second += f" within {show(best_wait(), 'time', system)}."
    best = best_change(study, system)
    return " ".join(filter(None, (first, second, best)))


def best_change(study: HotStudy, system: UnitSystem) -> str:
    """The change that shortens the longest wait most, in a sentence; empty where none is needed."""
    slowest = study.outlets[0]
    if slowest.wait_class == "good" or math.isinf(slowest.wait):
        return ""
    name = slowest.name
    options = [
        (one.wait_after, f"{', '.join(one.runs)} in {one.after} instead of {one.before}")
        for one in study.gains.thinner
        if one.works and one.outlet == name and not one.too_fast
    ]
    options += [
        (one.wait_after, f"pipe kept hot to the end of {one.run}")
        for one in study.gains.kept_hot
        if one.outlet == name
    ]
    options = [one for one in options if one[0] < slowest.wait - 0.5]
    if not options:
        return "Nothing that was tried shortens it but a shorter way to the heater."
    wait, what = min(options)
    return f"What helps it most: {what} ({show(wait, 'time', system)} then)."


def hot_page(page: Page, study: HotStudy, system: UnitSystem) -> None:
    """Write the result of `hot`.

    Args:
        page: to write on.
        study: the hot outlets.
        system: units to show.
    """
    worst = study.outlets[0].wait_class
    style = "green" if worst == "good" else "yellow" if worst == "fair" else "red"
    page.paragraph(answer(study, system), style=style)
    page.table(outlet_table(study), system)
    page.paragraph(
        "holds: water standing between the heater, or pipe that is kept hot, and the outlet; hot "
        "flow: its hot part as used, alone, with the source at "
        f"{study.source_name}; hot only: the wait with the valve on hot alone; arrives: once it "
        "runs steadily."
    )
    page.table(year_table(study, system), system)
    page.paragraph(
        f"In all about {_whole(study.yearly_volume, 'volume', system)} run off and "
        f"{_whole(study.yearly_energy, 'energy', system)} lost in a year, by habits that are "
        "common practice without a source; give your own with --draws."
    )
    page.table(limit_table(study, system), system)
    page.paragraph(
        "The residential code binds houses to its length; the others are benchmarks: the plumbing "
        "code's length, the energy code's length by size and volume (public buildings), and the "
        "water-saving house's volume stored and drawn."
    )
    for table in change_tables(study, system):
        page.table(table, system)
    _after_changes(page, study, system)
    page.heading("Findings")
    if not study.findings:
        page.paragraph("None: no limit is broken.", indent=2)
    for finding in sorted(study.findings, key=lambda one: list(LABELS).index(one.level)):
        finding_lines(page, finding, system)
    page.heading("Assumptions")
    for one in study.assumptions:
        page.paragraph(f"- {assumption_text(one, system)}", indent=2, hang=2)
    page.heading("Take care")
    for caution in hot_cautions():
        page.paragraph(caution, indent=2, hang=2)


def _after_changes(page: Page, study: HotStudy, system: UnitSystem) -> None:
    gains = study.gains
    if gains.thinner:
        page.paragraph(
            "Thinner: the other hot runs keep their sizes, cold runs that your file leaves open "
            "are chosen anew."
        )
    if not gains.kept_hot:
        return
    page.paragraph(
        "Kept hot: the heat is that of the insulated supply pipe, day and night; the return pipe "
        "and the pump come on top, a pump that runs on demand saves most of it."
    )
    if any(len(one.runs) > 0 and one.runs[-1].run.fixture for one in study.outlets) and any(
        manifold.name for manifold in study.design.house.manifolds
    ):
        page.paragraph(
            "With home runs the loop ends at the manifold: each run behind it stays cold, or would "
            "need a return of its own."
        )


def hot_cautions() -> tuple[str, ...]:
    """The cautions that belong beside hot water (common practice, no source)."""
    return (
        "Scalding: water at 140 degF (60 degC) burns in seconds. Faster hot water leaves less "
        "time to notice: fit pressure-balanced or thermostatic valves, and test by hand.",
        "Bacteria: lukewarm water that stands in long or idle pipe breeds them. Avoid dead legs, "
        "flush what is seldom used, store hot enough and mix down at use.",
        LIMITS,
    )


def _whole(value: float, dimension: str, system: UnitSystem) -> str:
    """A rounded figure for what is no more than an estimate."""
    number, unit = convert(value, dimension, system)
    digits = max(len(str(int(abs(number)))) - 2, 0)
    return f"{round(number, -digits):,.0f} {unit}"


def hot_to_dict(study: HotStudy, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `hot`; units "us" or "metric", None takes the project's."""
    system = unit_system(study.design.house, units)

    def volume(value: float) -> dict[str, Any] | None:
        return quantity(value, "volume", system)

    def seconds(value: float) -> dict[str, Any] | None:
        return quantity(value, "time", system)

    return {
        "schema": HOT_SCHEMA,
        "project": study.design.house.project.name,
        "ok": study.ok,
        "units": system,
        "answer": answer(study, system),
        "source": study.source_name,
        "factor": study.outlets[0].factor,
        "outlets": [_outlet(one, system) for one in study.outlets],
        "year": {
            "volume": volume(study.yearly_volume),
            "energy": quantity(study.yearly_energy, "energy", system),
        },
        "thinner": [
            {
                "runs": list(one.runs),
                "from": one.before,
                "to": one.after,
                "outlet": one.outlet,
                "wait": seconds(one.wait_before),
                "wait_then": seconds(one.wait_after),
                "saved_per_draw": volume(one.saved),
                "works": one.works,
                "too_fast": one.too_fast,
                "worst": one.worst_name,
                "worst_margin": quantity(one.worst_margin, "pressure", system),
            }
            for one in study.gains.thinner
        ],
        "shorter": [
            {
                "outlet": one.outlet,
                "run": one.run,
                "length": quantity(one.length, "length", system),
                "less_for_wait": quantity(one.cut_for_wait, "length", system),
                "less_for_volume": quantity(one.cut_for_volume, "length", system),
                "saved_by_a_tenth": seconds(0.1 * one.length * one.per_length),
            }
            for one in study.gains.shorter
        ],
        "insulated": [
            {
                "run": one.run,
                "length": quantity(one.length, "length", system),
                "warm_bare": seconds(one.bare_time),
                "warm_foam": seconds(one.foam_time),
                "saved_volume": volume(one.saved_volume),
                "saved_energy": quantity(one.saved_energy, "energy", system),
            }
            for one in study.gains.insulated
        ],
        "kept_hot": [
            {
                "run": one.run,
                "outlet": one.outlet,
                "outlets": one.outlets,
                "wait": seconds(one.wait_before),
                "wait_then": seconds(one.wait_after),
                "heat": quantity(one.power, "power", "metric"),
                "yearly_energy": quantity(one.yearly_energy, "energy", system),
            }
            for one in study.gains.kept_hot
        ],
        "findings": [finding_to_dict(one, system) for one in study.findings],
        "assumptions": [assumption_to_dict(one, system) for one in study.assumptions],
        "cautions": list(hot_cautions()),
    }


def _outlet(one: HotOutlet, system: UnitSystem) -> dict[str, Any]:
    arrives = None if math.isnan(one.arrives) else one.arrives
    return {
        "name": one.name,
        "kind": one.outlet.fixture.kind,
        "planned": one.outlet.fixture.planned,
        "runs": [
            {"name": run.run.name, "size": run.size.nominal,
             "length": quantity(run.run.length, "length", system)}
            for run in one.runs
        ],
        "from_circulation": one.from_circulation,
        "length": quantity(one.length, "length", system),
        "volume": quantity(one.volume, "volume", system),
        "hot_flow": quantity(one.flow, "flow", system),
        "total_flow": quantity(one.total_flow, "flow", system),
        "hot_only_flow": quantity(one.open_flow, "flow", system),
        "wait": quantity(one.wait, "time", system),
        "wait_hot_only": quantity(one.open_wait, "time", system),
        "wait_by_pipe_volume": quantity(one.plain_wait, "time", system),
        "drawn": quantity(one.drawn, "volume", system),
        "class": one.wait_class,
        "arrives": quantity(arrives, "temperature", system),
        "wanted": quantity(one.wanted, "temperature", system),
        "heat_loss": quantity(one.heat_loss, "power", "metric"),
        "draws_per_day": one.draws,
        "runs_off": one.runs_off,
        "stays_warm": quantity(one.warm_time, "time", system),
        "energy_per_draw": quantity(one.energy, "energy", system),
        "yearly_volume": quantity(one.yearly_volume, "volume", system),
        "yearly_energy": quantity(one.yearly_energy, "energy", system),
        "limits": [
            {
                "name": check.limit.name,
                "title": check.limit.title,
                "value": quantity(check.value, check.dimension, system),
                "limit": quantity(check.limit.value, check.dimension, system),
                "kept": check.kept,
                **source_to_dict(check.limit.citation),
            }
            for check in checks(one)
        ],
    }  # fmt: skip
