"""What `flow` prints and its JSON: what comes out, who takes it from whom, where pressure went."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from supplycalc.output.machine import assumption_to_dict, quantity, source_to_dict, unit_system
from supplycalc.output.old_page import OLD_LABELS as LABELS
from supplycalc.output.old_page import finding_lines
from supplycalc.output.wording import assumption_text, finding_text, sentence
from supplycalc.records.table import Cell, Column, Table
from supplycalc.sizing.design import RunResult
from supplycalc.units import show

if TYPE_CHECKING:
    from collections.abc import Sequence

    from supplycalc.delivery.household import Outflow
    from supplycalc.output.old_page import Page
    from supplycalc.questions.flow.disturbance import Disturbance, Harm
    from supplycalc.questions.flow.study import Case, Common, FlowStudy, Way
    from supplycalc.sizing.design import Finding
    from supplycalc.units import UnitSystem

FLOW_SCHEMA = "supplycalc-flow/1"
SLIGHT = 0.005
"""Share of a flow that is called nothing."""

WELL_SETTLED = 100.0
"""[Pa] Flows that agree to less are not spoken of: no digit shown depends on it."""


def answer(study: FlowStudy, system: UnitSystem) -> str:
    """What comes out, in one sentence."""
    first = study.cases[0]
    weakest = min(first.outflows, key=lambda one: one.share_of_rated / one.use.share)
    total = show(first.total, "flow", system)
    gets = show(weakest.flow, "flow", system)
    where = f"at {first.source.name}" if first.source.name != "main" else "from the main"
    if len(first.outflows) == 1:
        share = f"{weakest.share_of_rated:.0%} of its rated flow"
        return f"{weakest.use.name} alone gets {gets} {where}, {share}."
    if weakest.dry:
        return f"With these open {where} nothing comes out at {weakest.use.name}; {total} in all."
    return (
        f"With these {len(first.outflows)} open {where} {total} comes out in all; the weakest, "
        f"{weakest.use.name}, gets {gets}, {weakest.share_of_rated:.0%} of its rated flow."
    )


def flow_page(page: Page, study: FlowStudy, system: UnitSystem, *, paths: bool = False) -> None:
    """Write the result of `flow`.

    Args:
        page: to write on.
        study: what comes out.
        system: units to show.
        paths: whether to follow the pressure to every open outlet, not the weakest alone.
    """
    first = study.cases[0]
    page.paragraph(answer(study, system), style="green" if study.ok else "red")
    page.table(outflow_table(first, system), system)
    page.paragraph("alone: with the others shut; rated: at the pressure that its kind asks for.")
    if len(study.uses) > 1:
        page.table(loss_table(first), system)
    if len(study.cases) > 1:
        page.table(case_table(study, system), system)
    if first.common:
        page.table(common_table(first.common), system)
    weakest = min(range(len(first.outflows)), key=lambda i: first.outflows[i].share_of_rated)
    for i, way in enumerate(first.ways):
        if paths or i == weakest:
            page.table(way_table(first, way), system)
    if study.disturbance is not None:
        _disturbance(page, study.disturbance, system)
    page.heading("Findings")
    if not study.findings:
        page.paragraph("None.", indent=2)
    for finding in sorted(study.findings, key=lambda one: list(LABELS).index(one.level)):
        finding_lines(page, finding, system)
    page.heading("Assumptions")
    for one in study.assumptions:
        page.paragraph(f"- {assumption_text(one, system)}", indent=2, hang=2)
    page.paragraph(f"- sizes as 'supplycalc size' chooses them{_settled(first)}", indent=2, hang=2)
    page.heading("Take care")
    for caution in flow_cautions(study):
        page.paragraph(caution, indent=2, hang=2)


def _settled(case: Case) -> str:
    """Nothing where flows and pressures agree far below the last digit shown, as they should."""
    if case.residual < WELL_SETTLED:
        return ""
    return f"; flows and pressures agree only to {case.residual:.0e} Pa"


def flow_cautions(study: FlowStudy) -> tuple[str, ...]:
    """The cautions that fit what is open (common practice, no source)."""
    found = []
    if any(use.through != "cold" for use in study.uses):
        found.append(
            "Scalding: test the water by hand before anyone steps in, children and old people "
            "above all. A computed temperature does not protect; a pressure-balanced or "
            "thermostatic valve, set on site with a thermometer, does."
        )
    found.append(
        "An estimate: real outlets differ from their ratings. Measure with a bucket and a gauge. "
        "Your local code, its inspector and licensed trades decide."
    )
    return tuple(found)


def outflow_table(case: Case, system: UnitSystem) -> Table:
    """What comes out at every open outlet."""
    mixed = any(one.use.through != "cold" and not one.dry for one in case.outflows)
    at = show(case.source_pressure, "pressure", system)
    columns = [
        Column(name="outlet", wrap=True),
        Column(name="flow", dimension="flow"),
        Column(name="of rated", dimension="share", wrap=True),
        Column(name="alone", dimension="flow"),
        Column(name="pressure", dimension="pressure"),
    ]
    if mixed:
        columns.append(Column(name="water", dimension="temperature"))
        columns.append(Column(name="water alone", dimension="temperature", wrap=True))
    columns.append(Column(name="note", wrap=True))
    rows: list[tuple[Cell, ...]] = []
    for one, alone in zip(case.outflows, case.alone, strict=True):
        cells: list[Cell] = [_opened(one), one.flow, one.share_of_rated, alone.flow, one.pressure]
        if mixed:
            cells += [None if which.dry else which.temperature for which in (one, alone)]
        rows.append((*cells, _note(one)))
    return Table(
        title=f"What comes out, source at {case.source.name}: {at}",
        columns=tuple(columns),
        rows=tuple(rows),
    )


def _opened(one: Outflow) -> str:
    part = f" @{one.use.share:.0%}" if one.use.share < 1.0 else ""
    return f"{one.use.name}{part}"


def _note(one: Outflow) -> str:
    if one.dry:
        return "dry"
    return "held by its regulator" if one.held else ""


def loss_table(case: Case) -> Table:
    """How much each outlet would gain if one of the others were shut, most first."""
    rows: list[tuple[Cell, ...]] = []
    for i, one in enumerate(case.outflows):
        order = sorted(range(len(case.outflows)), key=lambda j: (-abs(case.lost[i][j]), j))
        for j in order:
            if j != i:
                lost = case.lost[i][j]
                with_it = one.flow + lost
                share = lost / with_it if with_it > 0.0 else 0.0
                rows.append((one.use.name, case.outflows[j].use.name, lost, share))
    return Table(
        title="What each loses to each of the others",
        columns=(
            Column(name="outlet", wrap=True),
            Column(name="loses to", wrap=True),
            Column(name="flow", dimension="flow"),
            Column(name="of its flow", dimension="share", wrap=True),
        ),
        rows=tuple(rows),
    )


def case_table(study: FlowStudy, system: UnitSystem) -> Table:
    """The same outlets in every state of the source."""
    rows: list[tuple[Cell, ...]] = [
        (
            "pressure at the source",
            *(show(case.source_pressure, "pressure", system) for case in study.cases),
        ),
        ("all together", *(show(case.total, "flow", system) for case in study.cases)),
    ]
    for i, use in enumerate(study.uses):
        flows = (show(case.outflows[i].flow, "flow", system) for case in study.cases)
        rows.append((use.name, *flows))
    return Table(
        title="The same at each state of the source",
        columns=(
            Column(name="outlet", wrap=True),
            *(Column(name=case.source.name) for case in study.cases),
        ),
        rows=tuple(rows),
    )


def common_table(common: Sequence[Common]) -> Table:
    """The runs that more than one open outlet draws through."""
    return Table(
        title="Pipes that they share",
        columns=(
            Column(name="run", wrap=True),
            Column(name="size"),
            Column(name="flow", dimension="flow"),
            Column(name="speed", dimension="velocity"),
            Column(name="limit", dimension="velocity"),
        ),
        rows=tuple(
            (one.run.run.name, one.run.size.nominal, one.flow, one.velocity, one.run.velocity_limit)
            for one in common
        ),
    )


def way_table(case: Case, way: Way) -> Table:
    """The pressure from the source to one connection, step by step."""
    rows: list[tuple[Cell, ...]] = [("source", None, None, None, None, case.source_pressure)]
    for step in way.steps:
        size = step.result.size.nominal if isinstance(step.result, RunResult) else None
        rows.append((step.name, size, step.flow, step.static_gain, step.loss, step.pressure))
    return Table(
        title=f"Where the pressure goes on the way to {way.name}",
        columns=(
            Column(name="step", wrap=True),
            Column(name="size"),
            Column(name="flow", dimension="flow"),
            Column(name="height", dimension="pressure"),
            Column(name="loss", dimension="pressure"),
            Column(name="pressure", dimension="pressure"),
        ),
        rows=tuple(rows),
    )


def harm_table(found: Disturbance) -> Table:
    """The others in turn, the most harmful first."""
    subject = found.subject.use
    columns = [
        Column(name="opened as well", wrap=True),
        Column(name="left", dimension="flow"),
        Column(name="lost", dimension="flow"),
        Column(name="of its flow", dimension="share", wrap=True),
    ]
    mixes = subject.through == "both"
    if mixes:
        columns.append(Column(name="water", dimension="temperature"))
    rows: list[tuple[Cell, ...]] = []
    for harm in found.harms:
        cells: list[Cell] = [_names(harm), harm.flow, harm.lost, harm.lost_share]
        if mixes:
            cells.append(None if math.isnan(harm.temperature) else harm.temperature)
        rows.append(tuple(cells))
    return Table(
        title=f"Who spoils {subject.name} (source at {found.source.name})",
        columns=tuple(columns),
        rows=tuple(rows),
    )


def _names(harm: Harm) -> str:
    return ", ".join(use.name for use in harm.opened)


def _disturbance(page: Page, found: Disturbance, system: UnitSystem) -> None:
    page.table(harm_table(found), system)
    worst = found.worst
    if worst is None:
        return
    page.blank()
    how = f"{found.method}, {found.solved} supplies settled"
    name = found.subject.use.name
    if worst.lost_share < SLIGHT:
        page.paragraph(f"No {found.at_once} of the others at once take anything from it ({how}).")
        return
    left = show(worst.flow, "flow", system)
    page.paragraph(
        f"Worst {found.at_once} at once for {name}: {_names(worst)}; {left} is left, "
        f"{worst.lost_share:.0%} less ({how})."
    )


def flow_to_dict(study: FlowStudy, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `flow`; units "us" or "metric", None takes the project's."""
    system = unit_system(study.design.house, units)
    found = study.disturbance
    return {
        "schema": FLOW_SCHEMA,
        "project": study.design.house.project.name,
        "ok": study.ok,
        "units": system,
        "open": [
            {"name": use.name, "fixture": use.fixture.name, "through": use.through,
             "share": use.share}
            for use in study.uses
        ],
        "cases": [_case(case, system) for case in study.cases],
        "disturbance": None if found is None else _disturbance_to_dict(found, system),
        "findings": [_finding(one, system) for one in study.findings],
        "assumptions": [assumption_to_dict(one, system) for one in study.assumptions],
        "cautions": list(flow_cautions(study)),
    }  # fmt: skip


def _case(case: Case, system: UnitSystem) -> dict[str, Any]:
    names = [one.use.name for one in case.outflows]
    return {
        "source": case.source.name,
        "source_pressure": quantity(case.source_pressure, "pressure", system),
        "total": quantity(case.total, "flow", system),
        "outlets": [
            {
                **_outflow(one, system),
                "alone": _outflow(alone, system),
                "lost_to": {
                    name: quantity(lost, "flow", system)
                    for name, lost in zip(names, case.lost[i], strict=True)
                    if name != one.use.name
                },
                "path": [
                    {
                        "name": step.name,
                        "flow": quantity(step.flow, "flow", system),
                        "static_change": quantity(step.static_gain, "pressure", system),
                        "loss": quantity(step.loss, "pressure", system),
                        "end_pressure": quantity(step.pressure, "pressure", system),
                    }
                    for step in case.ways[i].steps
                ],
            }
            for i, (one, alone) in enumerate(zip(case.outflows, case.alone, strict=True))
        ],
        "common": [
            {
                "name": one.run.run.name,
                "size": one.run.size.nominal,
                "flow": quantity(one.flow, "flow", system),
                "velocity": quantity(one.velocity, "velocity", system),
                "velocity_limit": quantity(one.run.velocity_limit, "velocity", system),
            }
            for one in case.common
        ],
        "iterations": case.iterations,
        "residual": quantity(case.residual, "pressure", system),
    }


def _outflow(one: Outflow, system: UnitSystem) -> dict[str, Any]:
    temperature = None if math.isnan(one.temperature) else one.temperature
    return {
        "name": one.use.name,
        "flow": quantity(one.flow, "flow", system),
        "cold": quantity(one.cold, "flow", system),
        "hot": quantity(one.hot, "flow", system),
        "pressure": quantity(one.pressure, "pressure", system),
        "cold_pressure": quantity(one.cold_pressure, "pressure", system),
        "hot_pressure": quantity(one.hot_pressure, "pressure", system),
        "rated_flow": quantity(one.rated.flow, "flow", system),
        "rated_pressure": quantity(one.rated.pressure, "pressure", system),
        "share_of_rated": one.share_of_rated,
        "regulated": one.held,
        "dry": one.dry,
        "temperature": quantity(temperature, "temperature", system),
    }


def _disturbance_to_dict(found: Disturbance, system: UnitSystem) -> dict[str, Any]:
    return {
        "subject": found.subject.use.name,
        "source": found.source.name,
        "flow": quantity(found.subject.flow, "flow", system),
        "others": [_harm(one, system) for one in found.harms],
        "worst": None if found.worst is None else _harm(found.worst, system),
        "at_once": found.at_once,
        "method": found.method or None,
        "solved": found.solved,
    }


def _harm(one: Harm, system: UnitSystem) -> dict[str, Any]:
    temperature = None if math.isnan(one.temperature) else one.temperature
    return {
        "opened": [use.name for use in one.opened],
        "flow": quantity(one.flow, "flow", system),
        "lost": quantity(one.lost, "flow", system),
        "lost_share": one.lost_share,
        "temperature": quantity(temperature, "temperature", system),
    }


def _finding(one: Finding, system: UnitSystem) -> dict[str, Any]:
    return {
        "level": one.level,
        "code": one.code,
        "where": one.where,
        "message": finding_text(one, system),
        "remedy": sentence(one.remedy, one.remedy_values, system) or None,
        **source_to_dict(one.source),
    }
