"""What `slab` prints and its JSON: what gets locked in, and the checklist before the pour."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from supplycalc.output.cautions import cautions
from supplycalc.output.machine import cost_quantity, quantity, source_to_dict, unit_system
from supplycalc.output.wording import cite, money, sentence, verdict
from supplycalc.records.table import Cell, Column, Table
from supplycalc.supply.drop_pipe import offset_pipe
from supplycalc.units import show

if TYPE_CHECKING:
    from supplycalc.output.old_page import Page
    from supplycalc.questions.slab.spare import Spare
    from supplycalc.questions.slab.study import Larger, LockedRun, Outcome, SlabStudy
    from supplycalc.sizing.design import Design
    from supplycalc.units import UnitSystem

SLAB_SCHEMA = "supplycalc-slab/1"
SWITCHED = "lower-pressure"
"""The surprise whose title already says what the source then holds."""
NO_RUN = (
    "no run of this file is buried or embedded. Write buried or embedded on the runs that will be "
    "covered."
)


def answer(study: SlabStudy, system: UnitSystem) -> str:
    """What to lay now, in a sentence or two."""
    if not study.runs:
        pipe = _well_pipe(study, system)
        return f"{pipe} Else {NO_RUN}" if pipe else f"Nothing gets locked in: {NO_RUN}"
    if study.design.shortfall > 0.0:
        return f"Do not pour yet. {verdict(study.design, system)}"
    text = "Locked in: " + ", ".join(
        f"{one.result.run.name} at {one.result.size.nominal}" for one in study.runs[:4]
    )
    if len(study.runs) > 4:
        text += f" and {len(study.runs) - 4} more"
    better = [one for one in study.runs if one.larger is not None and one.larger.absorbs_with_rest]
    if not better:
        absorbed = [one for one in study.outcomes if one.rest_mends]
        if len(absorbed) == len(study.outcomes):
            return f"{text}. What may come later finds room in that, as far as it was tried."
        return f"{text}. One size larger would absorb none of the surprises that these do not."
    one = better[0]
    assert one.larger is not None
    titles = {it.code: _title(it, system) for it in study.outcomes}
    what = "; or that ".join(titles[code] for code in one.larger.absorbs_with_rest)
    extra = _cost(study.design, one.larger.extra_cost, system)
    return (
        f"{text}. {one.result.run.name} at {one.larger.nominal} ({extra}) would also bear: {what}."
    )


def _well_pipe(study: SlabStudy, system: UnitSystem) -> str:
    """The pipe from the well is no run, and lies in a trench all the same."""
    pipe = offset_pipe(study.design.house)
    if pipe is None:
        return ""
    return (
        f"The pipe from the well, {show(pipe.length, 'length', system)} in size {pipe.size}, "
        "gets locked in when its trench is filled: 'supplycalc well' shows what other sizes would "
        "do."
    )


def _cost(design: Design, extra: float, system: UnitSystem) -> str:
    if design.cost_basis == "pipe mass":
        return f"{show(extra, 'mass', system)} more pipe"
    return f"{money(extra, design.currency)} more"


def _title(outcome: Outcome, system: UnitSystem) -> str:
    values = () if outcome.value is None else (outcome.value,)
    return sentence(outcome.title, values, system)


def _where(one: LockedRun, system: UnitSystem) -> str:
    run = one.result.run
    parts = []
    if run.buried is not None:
        parts.append(f"{show(run.buried, 'cover', system)} deep")
    if run.embedded:
        parts.append("in slab")
    return ", ".join(parts)


def locked_table(study: SlabStudy, system: UnitSystem) -> Table:
    """The locked runs with how much more they can carry."""
    return Table(
        title="What gets locked in, and how much more flow it can carry",
        columns=(
            Column(name="run", wrap=True),
            Column(name="where", wrap=True),
            Column(name="size"),
            Column(name="flow", dimension="flow"),
            Column(name="velocity", dimension="velocity"),
            Column(name="spare as chosen", dimension="flow", wrap=True),
            Column(name="spare if rest grows", dimension="flow", wrap=True),
            Column(name="spare to velocity limit", dimension="flow", wrap=True),
        ),
        rows=tuple(
            (
                one.result.run.name,
                _where(one, system),
                one.result.size.nominal,
                one.result.design_flow,
                one.result.velocity,
                one.spare_flow,
                one.rest_flow,
                one.velocity_flow,
            )
            for one in study.runs
        ),
    )


def spares_table(study: SlabStudy) -> Table:
    """What can still be added through each run that more than one fixture hangs from."""
    shared = [one for one in study.runs if one.spares]
    load_name = study.design.demand.load_name
    names = [spare.name for spare in shared[0].spares]
    columns = [Column(name="run", wrap=True), Column(name="tried beside", wrap=True)]
    columns += [Column(name=name, wrap=True) for name in names]
    if load_name:
        columns.append(Column(name=f"most {load_name}", digits=1, wrap=True))
    rows: list[tuple[Cell, ...]] = []
    for one in shared:
        cells: list[Cell] = [one.result.run.name, one.beside]
        cells += [_count(spare) for spare in one.spares]
        if load_name:
            cells.append(max(spare.rest_load for spare in one.spares))
        rows.append(tuple(cells))
    return Table(
        title="How many of each can still be added: as chosen / if rest grows",
        columns=tuple(columns),
        rows=tuple(rows),
    )


def _count(spare: Spare) -> str:
    return f"{spare.count} / {spare.rest_count}{'+' if spare.capped else ''}"


def larger_table(study: SlabStudy) -> Table:
    """One size larger, run by run."""
    mass = study.design.cost_basis == "pipe mass"
    codes = {one.code: one.code.replace("-", " ") for one in study.outcomes}
    rows: list[tuple[Cell, ...]] = []
    for one in study.runs:
        more = one.larger
        if more is None:
            rows.append((one.result.run.name, one.result.size.nominal, "none made", *[None] * 4))
            continue
        rows.append(
            (
                one.result.run.name,
                one.result.size.nominal,
                more.nominal,
                more.extra_cost,
                more.margin,
                more.spare_flow,
                _absorbs(more, codes),
            )
        )
    extra = Column(name="extra pipe", dimension="mass", wrap=True)
    return Table(
        title="What one size larger costs now and what it would bear",
        columns=(
            Column(name="run", wrap=True),
            Column(name="size"),
            Column(name="larger", wrap=True),
            extra if mass else Column(name="extra price", digits=2, wrap=True),
            Column(name="then to spare", dimension="pressure", wrap=True),
            Column(name="then spare flow", dimension="flow", wrap=True),
            Column(name="would also bear", wrap=True),
        ),
        rows=tuple(rows),
    )


def _absorbs(more: Larger, codes: dict[str, str]) -> str:
    parts = [codes[one] for one in more.absorbs]
    parts += [
        f"{codes[one]} (if rest grows)" for one in more.absorbs_with_rest if one not in more.absorbs
    ]
    return ", ".join(parts) or "nothing more"


def outcome_table(study: SlabStudy, system: UnitSystem) -> Table:
    """The surprises, met with the sizes as chosen."""
    return Table(
        title="What if, later,",
        columns=(
            Column(name="surprise", wrap=True),
            Column(name="to spare", dimension="pressure"),
            Column(name="worst fixture", wrap=True),
            Column(name="then", wrap=True),
        ),
        rows=tuple(
            (
                _title(one, system),
                one.margin if one.worst_name else None,
                one.worst_name or "cannot be computed",
                consequence(study, one, system),
            )
            for one in study.outcomes
        ),
    )


def consequence(study: SlabStudy, one: Outcome, system: UnitSystem) -> str:
    """What a surprise would mean for what is locked in, and for the pump where that gives way."""
    words = _absorbed(study, one, system)
    now = study.design.source.design_pressure
    if one.code == SWITCHED or one.source_pressure is None or one.source_pressure >= now - 1.0:
        return words
    return f"{words}; the source then holds {show(one.source_pressure, 'pressure', system)}"


def _absorbed(study: SlabStudy, one: Outcome, system: UnitSystem) -> str:
    if one.absorbed:
        return "absorbed as chosen"
    if one.rest_mends and one.rest_cost is not None:
        extra = _cost(study.design, max(one.rest_cost, 0.0), system)
        return f"absorbed once pipe within reach is larger ({extra})"
    if one.wanted:
        sizes = ", ".join(f"{name} {size}" for name, size in one.wanted)
        return f"NOT with what is locked in; it would take {sizes}"
    return "NOT absorbed, and no larger pipe mends it"


def slab_page(page: Page, study: SlabStudy, system: UnitSystem) -> None:
    """Write the result of `slab`."""
    short = study.design.shortfall > 0.0
    page.paragraph(answer(study, system), style="red" if short else "bold")
    if not study.runs:
        return
    if pipe := _well_pipe(study, system):
        page.paragraph(pipe)
    if study.planned:
        page.blank()
        page.paragraph(f"Planned and counted already: {', '.join(study.planned)}.")
        for one in study.runs:
            if one.without_planned not in (None, one.result.size.nominal):
                page.paragraph(
                    f"Without them {one.result.run.name} would be {one.without_planned}; for "
                    f"their sake it is {one.result.size.nominal}.",
                    indent=2,
                    hang=2,
                )
    page.table(locked_table(study, system), system)
    page.paragraph(
        "as chosen: every size stays; if rest grows: what is covered stays, pipe that can still be "
        "reached is chosen anew."
    )
    if any(one.own_branch for one in study.runs):
        page.paragraph(
            "A branch to one fixture: how much more that fixture may draw at its pressure."
        )
    if any(one.spares for one in study.runs):
        page.table(spares_table(study), system)
        load_name = study.design.demand.load_name
        most = f"; most {load_name}: the largest load added so" if load_name else ""
        page.paragraph(f"One kind at a time{most}; +: no more were tried.")
    page.table(larger_table(study), system)
    page.table(outcome_table(study, system), system)
    _checklist(page, study, system)
    page.heading("Take care")
    for caution in cautions(study.design):
        page.paragraph(caution, indent=2, hang=2)


def _checklist(page: Page, study: SlabStudy, system: UnitSystem) -> None:
    page.heading("Before the pour or the backfill")
    for item in study.checklist:
        text = f"{item.title}: {item.text}"
        if item.here is not None:
            text += f"; here {show(item.here, 'cover', system)} or more"
        page.paragraph(f"{text} [{cite(item.source)}]", label="[ ]", indent=2, hang=4)
    working = study.design.source.static_pressure
    page.heading(f"Test pressure; here the highest at rest is {show(working, 'pressure', system)}")
    for test in study.tests:
        text = f"{test.title}: {show(test.pressure, 'pressure', system)} or more"
        if test.minutes:
            text += f" for {test.minutes:.0f} minutes"
        if test.air:
            text += f"; {test.air}"
        page.paragraph(f"{text} [{cite(test.source)}]", label="-", indent=2, hang=2)
    page.paragraph(
        "Not above what tube, valves and gauge are rated for; the rule of your own code and the "
        "tube maker's instructions decide.",
        indent=2,
    )


def slab_to_dict(study: SlabStudy, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `slab`; units "us" or "metric", None takes the project's."""
    system = unit_system(study.design.house, units)
    worst = study.design.worst
    return {
        "schema": SLAB_SCHEMA,
        "project": study.design.house.project.name,
        "ok": study.ok,
        "units": system,
        "answer": answer(study, system),
        "worst": {
            "name": worst.fixture.name,
            "side": worst.side,
            "margin": quantity(worst.margin, "pressure", system),
        },
        "planned": list(study.planned),
        "runs": [_run(study, one, system) for one in study.runs],
        "surprises": [
            {
                "code": one.code,
                "title": _title(one, system),
                "margin": quantity(one.margin, "pressure", system),
                "worst": one.worst_name or None,
                "source_pressure": quantity(one.source_pressure, "pressure", system),
                "absorbed": one.absorbed,
                "absorbed_if_rest_grows": one.rest_mends,
                "extra_cost": None
                if one.rest_cost is None
                else cost_quantity(one.rest_cost, study.design, system),
                "wanted": dict(one.wanted),
            }
            for one in study.outcomes
        ],
        "checklist": [
            {
                "title": one.title,
                "text": one.text,
                "here": quantity(one.here, "cover", system),
                **source_to_dict(one.source),
            }
            for one in study.checklist
        ],
        "tests": list(_tests(study, system)),
    }


def _tests(study: SlabStudy, system: UnitSystem) -> Iterator[dict[str, Any]]:
    for one in study.tests:
        yield {
            "title": one.title,
            "pressure": quantity(one.pressure, "pressure", system),
            "minutes": one.minutes or None,
            "air": one.air or None,
            **source_to_dict(one.source),
        }


def _run(study: SlabStudy, one: LockedRun, system: UnitSystem) -> dict[str, Any]:
    result, more = one.result, one.larger
    return {
        "name": result.run.name,
        "material": result.run.material,
        "size": result.size.nominal,
        "buried": quantity(result.run.buried, "cover", system),
        "embedded": result.run.embedded,
        "design_flow": quantity(result.design_flow, "flow", system),
        "velocity": quantity(result.velocity, "velocity", system),
        "spare_flow": quantity(one.spare_flow, "flow", system),
        "spare_flow_if_rest_grows": quantity(one.rest_flow, "flow", system),
        "spare_flow_to_velocity_limit": quantity(one.velocity_flow, "flow", system),
        "beside": one.beside or None,
        "can_add": [
            {
                "set": it.name,
                "count": it.count,
                "count_if_rest_grows": it.rest_count,
                "load": it.rest_load if study.design.demand.load_name else None,
            }
            for it in one.spares
        ],
        "larger": more
        and {
            "size": more.nominal,
            "extra_cost": cost_quantity(more.extra_cost, study.design, system),
            "margin": quantity(more.margin, "pressure", system),
            "spare_flow": quantity(more.spare_flow, "flow", system),
            "absorbs": list(more.absorbs),
            "absorbs_if_rest_grows": list(more.absorbs_with_rest),
        },
        "without_planned": one.without_planned,
    }
