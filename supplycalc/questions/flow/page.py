"""What `flow` shows: what comes out, who takes it from whom, where the pressure went."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec.structs import replace

from supplycalc.delivery.household import Outflow
from supplycalc.findings.pressure import crest
from supplycalc.output.blocks import (
    Account,
    Block,
    Checklist,
    Heading,
    Paragraph,
    Verdict,
    care_blocks,
    findings_blocks,
)
from supplycalc.questions.flow.disturbance import Disturbance, Harm
from supplycalc.questions.flow.far_help import FarHelp, HeldUp
from supplycalc.questions.flow.lasting import Lasting
from supplycalc.questions.flow.study import (
    Case,
    FlowStudy,
    OpenOutlet,
    SharedRun,
    Step,
    pump_alone,
)
from supplycalc.records import Cell, Column, Table, table_of
from supplycalc.units import UnitSystem, show

SLIGHT = 0.005
"""Share of a flow that is called nothing."""

WELL_SETTLED = 100.0
"""[Pa] Flows that agree to less are not spoken of: no digit shown depends on it."""


def flow_page(study: FlowStudy, system: UnitSystem, *, paths: bool = False) -> Iterator[Block]:
    """What `flow` shows."""
    first = study.cases[0]
    yield Verdict(text=answer(study, system), mood="good" if study.ok else "bad")
    yield outflow_table(first, system)
    yield Paragraph(
        text="alone: with the others shut; rated: at the pressure that its kind asks for."
    )
    if len(study.uses) > 1:
        yield loss_table(first)
    if len(study.cases) > 1:
        yield case_table(study, system)
    for helped in study.far_tank:
        yield from _far_tank(helped, system)
    if first.common:
        yield shared_runs_table(first)
    weakest = min(first.outlets, key=lambda outlet: outlet.share_of_rated)
    for outlet in first.outlets:
        if paths or outlet is weakest:
            yield Account(path_table(first, outlet))
    if study.disturbance is not None:
        yield from _disturbance(study.disturbance, system)
    yield from findings_blocks(study.findings, "None.")
    yield Heading("Assumptions")
    assumed = (assumption.said(system) for assumption in study.assumptions)
    sizes = f"sizes as 'supplycalc size' chooses them{_settled(first)}"
    yield Checklist(items=(*assumed, sizes), mark="-")
    yield from care_blocks(study.cautions)


def answer(study: FlowStudy, system: UnitSystem) -> str:
    """What comes out and how long it lasts; what runs on comes first."""
    no_way = next((finding for finding in study.findings if finding.code == crest.code), None)
    if no_way is not None:
        return f"{no_way.where}: {no_way.said(system)}; the flows below would come only if it did."
    first, lasts = study.cases[0], study.lasting
    last = pump_alone(study.cases)
    if lasts is None or last is None or lasts.by_pump_alone is None:
        text = _delivered(first, f"at {first.source.name}", system)
    else:
        text = _delivered(last, "by the pump alone, which is what lasts,", system)
        more = show(first.total, "flow", system)
        text += f" At {first.source.name} {more} come at first{_at_first(lasts, system)}."
    for helped in (each for each in study.far_tank[-1:] if each.takes_part):
        gain = max(helped.outlets, key=lambda outlet: outlet.pressure_at_first - outlet.pressure)
        more = show(gain.pressure_at_first - gain.pressure, "pressure", system)
        text += (
            f" From full, {helped.name} holds {gain.name} {more} higher at first, ever less over "
            f"{show(helped.time, 'minutes', system)}."
        )
    if lasts is not None and lasts.well_keeps_up is False and lasts.sustained is not None:
        well = show(lasts.sustained, "flow", system)
        when = "when the bore is drawn down"
        if lasts.well_time is not None:
            when = f"after about {show(lasts.well_time, 'minutes', system)}"
        gives = "the wells give" if study.design.house.further_wells else "the well gives"
        text += f" {when[0].upper()}{when[1:]} {gives} only {well}."
    return text


def _at_first(lasts: Lasting, system: UnitSystem) -> str:
    """How long the tank lasts, if that is known."""
    full, low = lasts.full_tank_time, lasts.low_tank_time
    if lasts.pump_flow is not None and lasts.pump_flow[1] <= 0.0:
        return ", but the pump never brings the tank there"
    if full is None or low is None or not math.isfinite(low):
        return ""
    return (
        f", for {show(full, 'minutes', system)} from a full tank and "
        f"{show(low, 'minutes', system)} from a nearly empty one"
    )


def _delivered(case: Case, where: str, system: UnitSystem) -> str:
    weakest = min(case.outlets, key=lambda outlet: outlet.share_of_rated / outlet.use.share)
    total = show(case.total, "flow", system)
    gets = show(weakest.flow, "flow", system)
    where = "from the main" if case.source.name == "main" else where
    if "level" in case.source.name:
        where = f"with the water at its {case.source.name}"
    if len(case.outlets) == 1:
        share = f"{weakest.share_of_rated:.0%} of its rated flow"
        return f"{weakest.name} alone gets {gets} {where.rstrip(',')}, {share}."
    if weakest.dry:
        return f"With these open {where} nothing comes out at {weakest.name}; {total} in all."
    return (
        f"With these {len(case.outlets)} open {where} {total} comes out in all; the weakest, "
        f"{weakest.name}, gets {gets}, {weakest.share_of_rated:.0%} of its rated flow."
    )


def _settled(case: Case) -> str:
    """Nothing where flows and pressures agree far below the last digit shown, as they should."""
    if case.residual < WELL_SETTLED:
        return ""
    return f"; flows and pressures agree only to {case.residual:.0e} Pa"


def outflow_table(case: Case, system: UnitSystem) -> Table:
    """What comes out at every open outlet."""
    at = show(case.source_pressure, "pressure", system)
    columns = [
        Column(name="outlet", of=_opened, wrap=True),
        Column(name="flow", of="flow"),
        Column(name="of rated", of="share_of_rated", dimension="share", wrap=True),
        Column(name="alone", of="alone.flow"),
        Column(name="pressure", of="pressure"),
    ]
    if any(outlet.use.through != "cold" and not outlet.dry for outlet in case.outlets):
        columns += [
            Column(name="water", of=_temperature, dimension="temperature"),
            Column(
                name="water alone",
                of=lambda outlet: _temperature(outlet.alone),
                dimension="temperature",
                wrap=True,
            ),
        ]
    columns.append(Column(name="note", of=_note, wrap=True))
    title = f"What comes out, source at {case.source.name}: {at}"
    return table_of(title, OpenOutlet, case.outlets, columns)


def _opened(outlet: OpenOutlet) -> str:
    part = f" @{outlet.use.share:.0%}" if outlet.use.share < 1.0 else ""
    return f"{outlet.name}{part}"


def _temperature(water: Outflow | Harm) -> float | None:
    """Of the water that comes out [K]; None where none does."""
    return None if math.isnan(water.temperature) else water.temperature


def _note(outlet: OpenOutlet) -> str:
    if outlet.dry:
        return "dry"
    return "held by its regulator" if outlet.regulated else ""


def _far_tank(help_: FarHelp, system: UnitSystem) -> Iterator[Block]:
    """What a second tank does for these outlets, and for how long."""
    full = show(help_.starts_at, "pressure", system)
    if not help_.takes_part:
        yield Paragraph(
            text=f"{help_.name} gives nothing to these with the first tank at {help_.source}: the "
            f"line holds the {full} that stand at it.",
            apart=True,
        )
        return
    yield table_of(
        f"While {help_.name} helps, both tanks at {help_.source} ({full} at it), and after",
        HeldUp,
        help_.outlets,
        (
            Column(name="outlet", of="name", wrap=True),
            Column(name="flow at first", of="flow_at_first", wrap=True),
            Column(name="pressure at first", of="pressure_at_first", wrap=True),
            Column(name="flow after", of="flow", wrap=True),
            Column(name="pressure after", of="pressure", wrap=True),
        ),
    )
    gives, time = show(help_.gives, "volume", system), show(help_.time, "minutes", system)
    text = f"It gives {show(help_.gives_at_first, 'flow', system)} at first"
    if help_.runs_empty:
        text += f" and is empty after {time}, {gives} in all"
    else:
        text += (
            f", ever less as its pressure nears the {show(help_.lasts, 'pressure', system)} that "
            f"the line holds there; nine tenths of its {gives} are given after {time}"
        )
    yield Paragraph(
        text=f"{text}. Only what comes after lasts; the first tank is taken to stay at "
        f"{help_.source} meanwhile."
    )


def loss_table(case: Case) -> Table:
    """How much each outlet would gain if one of the others were shut, most first."""
    rows: list[tuple[Cell, ...]] = []
    for outlet in case.outlets:
        for other, lost in sorted(outlet.lost_to.items(), key=lambda pair: -abs(pair[1])):
            flow_without = outlet.flow + lost
            share = lost / flow_without if flow_without > 0.0 else 0.0
            rows.append((outlet.name, other, lost, share))
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
        flows = (show(case.outlets[i].flow, "flow", system) for case in study.cases)
        rows.append((use.name, *flows))
    return Table(
        title="The same at each state of the source",
        columns=(
            Column(name="outlet", wrap=True),
            *(Column(name=case.source.name) for case in study.cases),
        ),
        rows=tuple(rows),
    )


def shared_runs_table(case: Case) -> Table:
    """The runs that more than one open outlet draws through."""
    return table_of(
        "Pipes that they share",
        SharedRun,
        case.common,
        (
            Column(name="run", of="name", wrap=True),
            Column(name="size", of="size"),
            Column(name="flow", of="flow"),
            Column(name="speed", of="velocity"),
            Column(name="limit", of="velocity_limit"),
        ),
    )


def path_table(case: Case, outlet: OpenOutlet) -> Table:
    """The pressure from the source to one connection, step by step."""
    steps = table_of(
        f"Where the pressure goes on the way to {outlet.end_of_path}",
        Step,
        outlet.path,
        (
            Column(name="step", of="name", wrap=True),
            Column(name="size", of="size"),
            Column(name="flow", of="flow"),
            Column(name="height", of="static_gain"),
            Column(name="loss", of="loss"),
            Column(name="pressure", of=_left, dimension="pressure"),
        ),
    )
    source = ("source", None, None, None, None, case.source_pressure)
    return replace(steps, rows=(source, *steps.rows))


def _left(step: Step) -> Cell:
    return "suction" if step.end_pressure is None else step.end_pressure


def harm_table(disturbance: Disturbance) -> Table:
    """The others in turn, the most harmful first."""
    columns = [
        Column(name="opened as well", of=_names, wrap=True),
        Column(name="left", of="flow"),
        Column(name="lost", of="lost"),
        Column(name="of its flow", of="lost_share", dimension="share", wrap=True),
    ]
    if disturbance.subject.use.through == "both":
        columns.append(Column(name="water", of=_temperature, dimension="temperature"))
    title = f"Who spoils {disturbance.subject.name} (source at {disturbance.source.name})"
    return table_of(title, Harm, disturbance.others, columns)


def _names(harm: Harm) -> str:
    return ", ".join(harm.names)


def _disturbance(disturbance: Disturbance, system: UnitSystem) -> Iterator[Block]:
    yield harm_table(disturbance)
    worst, count = disturbance.worst, disturbance.at_once
    if worst is None:
        return
    how = f"{disturbance.method}, {disturbance.solved} supplies settled"
    left = show(worst.flow, "flow", system)
    text = (
        f"Worst {count} at once for {disturbance.subject.name}: {_names(worst)}; {left} is left, "
        f"{worst.lost_share:.0%} less ({how})."
    )
    if worst.lost_share < SLIGHT:
        text = f"No {count} of the others at once take anything from it ({how})."
    yield Paragraph(text=text, apart=True)
