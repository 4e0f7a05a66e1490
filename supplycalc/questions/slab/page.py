"""What `slab` shows: what gets locked in, and the checklist before the pour."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from supplycalc.output.blocks import Block, Checklist, Heading, Paragraph, Verdict, care_blocks
from supplycalc.output.cautions import cautions
from supplycalc.questions.slab.checklist import CheckItem, PressureTest
from supplycalc.questions.slab.spare import Spare
from supplycalc.questions.slab.study import Larger, LockedRun, SlabStudy, more_pipe
from supplycalc.questions.slab.surprises import LOWER_PRESSURE, Surprise, added_runs
from supplycalc.records import Cell, Column, Table, table_of
from supplycalc.records.sentences import cite, sentence
from supplycalc.units import UnitSystem, show

NOT_COUNTED = (
    "How many fixtures could still be added is not told: without a list of what runs at once, "
    "demand method 'listed' takes two fixtures however many there are. Write listed = [...] in "
    "[project], or choose a code's method."
)
SPARE = (
    "as chosen: every size stays; if rest grows: what is covered stays, pipe that can still be "
    "reached is chosen anew."
)
"""What the columns of the locked runs mean."""


def slab_page(study: SlabStudy, system: UnitSystem) -> Iterator[Block]:
    """What `slab` shows."""
    yield Verdict(text=study.answer(system), mood="strong" if study.ok else "bad")
    if not study.runs:
        yield from care_blocks(cautions(study.design))
        return
    if pipe := study.pipe_from_the_well(system):
        yield Paragraph(text=pipe)
    if study.planned:
        yield from _planned(study)
    yield locked_table(study, system)
    yield Paragraph(text=SPARE)
    if any(run.is_branch for run in study.runs):
        yield Paragraph(
            text="A branch to one fixture: how much more that fixture may draw at its pressure."
        )
    if any(run.can_add for run in study.runs):
        yield spares_table(study)
        load_name = study.design.demand.load_name
        most = f"; most {load_name}: the largest load added so" if load_name else ""
        text = f"One kind at a time{most}; +: no more were tried."
        if study.house.project.demand == "listed":
            text += " By your list, of each set that is added its largest fixture runs too."
        yield Paragraph(text=text)
    elif not added_runs(study.house):
        yield Paragraph(text=NOT_COUNTED)
    yield larger_table(study)
    yield surprises_table(study, system)
    yield Heading("Before the pour or the backfill")
    items = (f"{check_item_said(item, system)} [{cite(item.source)}]" for item in study.checklist)
    yield Checklist(items=tuple(items), mark="[ ]")
    highest = show(study.highest_pressure, "pressure", system)
    at = f", at the lowest end of {study.highest_in}" if study.highest_in else ""
    yield Heading(f"Test pressure; the highest in what gets covered is {highest}{at}")
    tests = (
        f"{pressure_test_said(it, system, ' or more')} [{cite(it.source)}]" for it in study.tests
    )
    yield Checklist(items=tuple(tests), mark="-")
    yield from tanks_to_shut(study)
    yield Paragraph(
        text="Not above what tube, valves and gauge are rated for; the rule of your own code and "
        "the tube maker's instructions decide.",
        indent=2,
    )
    yield from care_blocks(cautions(study.design))


def tanks_to_shut(study: SlabStudy) -> Iterator[Block]:
    """What keeps a second pressure tank out of the pressure test."""
    for tank in study.house.far_tanks:
        yield Paragraph(
            text=f"Shut {tank.name} off for it: it takes in water and has a rating of its own.",
            indent=2,
            hang=2,
        )


def _planned(study: SlabStudy) -> Iterator[Block]:
    yield Paragraph(text=f"Planned and counted already: {', '.join(study.planned)}.", apart=True)
    for run in study.runs:
        if run.without_planned not in (None, run.result.nominal):
            yield Paragraph(
                text=f"Without them {run.result.name} would be {run.without_planned}; for their "
                f"sake it is {run.result.nominal}.",
                indent=2,
                hang=2,
            )


def check_item_said(item: CheckItem, system: UnitSystem) -> str:
    """A line of the checklist, with the depth that holds for this house."""
    text = f"{item.title}: {sentence(item.text, (), system)}"
    if item.least_cover is None:
        return text
    return f"{text}; here {show(item.least_cover, 'cover', system)} or more"


def pressure_test_said(test: PressureTest, system: UnitSystem, least: str) -> str:
    """A published test with its figures; `least` stands after the pressure."""
    pressure = show(test.pressure, "pressure", system)
    text = f"{sentence(test.title, (), system)}: {pressure}{least}"
    if test.minutes is not None:
        text += f" for {test.minutes:.0f} minutes"
    return text if test.air is None else f"{text}; {sentence(test.air, (), system)}"


def locked_table(study: SlabStudy, system: UnitSystem) -> Table:
    """The locked runs with how much more they can carry."""
    return table_of(
        "What gets locked in, and how much more flow it can carry",
        LockedRun,
        study.runs,
        (
            Column(name="run", of="result.name", wrap=True),
            Column(name="where", of=lambda run: covered_by(run, system), wrap=True),
            Column(name="size", of="result.nominal"),
            Column(name="flow", of="result.design_flow"),
            Column(name="velocity", of="result.velocity"),
            Column(name="spare as chosen", of="spare_flow", wrap=True),
            Column(name="spare if rest grows", of="spare_flow_if_rest_grows", wrap=True),
            Column(name="spare to velocity limit", of="spare_flow_to_velocity_limit", wrap=True),
        ),
    )


def laid_columns(system: UnitSystem) -> tuple[Column, ...]:
    """What lies where, for tables of locked runs."""
    return (
        Column(name="run", of="result.name", wrap=True),
        Column(name="where", of=lambda run: covered_by(run, system), wrap=True),
        Column(name="tube", of="result.material"),
        Column(name="size", of="result.nominal"),
        Column(name="length", of="result.length"),
    )


def covered_by(locked: LockedRun, system: UnitSystem) -> str:
    """How deep a run lies, and whether in the slab."""
    run = locked.result.run
    parts = []
    if run.buried is not None:
        parts.append(f"{show(run.buried, 'cover', system)} deep")
    if run.embedded:
        parts.append("in slab")
    return ", ".join(parts)


def spares_table(study: SlabStudy) -> Table:
    """What can still be added through each run that more than one fixture hangs from."""
    shared = [run for run in study.runs if run.can_add]
    load_name = study.design.demand.load_name
    most = Column(
        name=f"most {load_name}",
        of=lambda run: max(spare.load for spare in run.can_add),
        digits=1,
        wrap=True,
    )
    return table_of(
        "How many of each can still be added: as chosen / if rest grows",
        LockedRun,
        shared,
        (
            Column(name="run", of="result.name", wrap=True),
            Column(name="tried beside", of="beside", wrap=True),
            *(
                Column(name=spare.name, of=partial(_count, place), wrap=True)
                for place, spare in enumerate(shared[0].can_add)
            ),
            *([most] if load_name else []),
        ),
    )


def _count(place: int, run: LockedRun) -> str:
    spare: Spare = run.can_add[place]
    return f"{spare.count} / {spare.count_if_rest_grows}{'+' if spare.capped else ''}"


def larger_table(study: SlabStudy) -> Table:
    """One size larger, run by run."""
    rows: list[tuple[Cell, ...]] = []
    for run in study.runs:
        name, size, larger = run.result.name, run.result.nominal, run.larger
        if larger is None:
            none = "see 'supplycalc well'" if run.result.before_tank else "none made"
            rows.append((name, size, none, *[None] * 4))
            continue
        pressure, flow = larger.margin, larger.spare_flow
        rows.append((name, size, larger.size, larger.extra_cost, pressure, flow, _bears(larger)))
    return Table(
        title="What one size larger costs now and what it would bear",
        columns=(
            Column(name="run", wrap=True),
            Column(name="size"),
            Column(name="larger", wrap=True),
            Column(name="extra pipe", dimension="mass", wrap=True),
            Column(name="then to spare", dimension="pressure", wrap=True),
            Column(name="then spare flow", dimension="flow", wrap=True),
            Column(name="would also bear", wrap=True),
        ),
        rows=tuple(rows),
    )


def _bears(larger: Larger) -> str:
    with_rest = [code for code in larger.absorbs_if_rest_grows if code not in larger.absorbs]
    parts = [*larger.absorbs, *(f"{code} (if rest grows)" for code in with_rest)]
    return ", ".join(parts).replace("-", " ") or "nothing more"


def surprises_table(study: SlabStudy, system: UnitSystem) -> Table:
    """The surprises, met with the sizes as chosen."""
    return table_of(
        "What if, later",
        Surprise,
        study.surprises,
        (
            Column(name="surprise", of=lambda surprise: surprise.title(system), wrap=True),
            Column(name="to spare", of="margin"),
            Column(
                name="worst fixture",
                of=lambda surprise: surprise.worst or "cannot be computed",
                wrap=True,
            ),
            Column(
                name="then", of=lambda surprise: consequence(study, surprise, system), wrap=True
            ),
        ),
    )


def consequence(study: SlabStudy, surprise: Surprise, system: UnitSystem) -> str:
    """What a surprise would mean for what is locked in, and for the pump where that gives way."""
    words = f"{_absorbed(surprise, system)}{pump_gives_then(surprise, system)}"
    now, then = study.design.source.design_pressure, surprise.source_pressure
    if surprise.code == LOWER_PRESSURE or then is None or then >= now - 1.0:
        return words
    return f"{words}; the source then holds {show(then, 'pressure', system)}"


def pump_gives_then(surprise: Surprise, system: UnitSystem, *, brief: bool = False) -> str:
    """What the pump then gives where that is less than the then design flow, as `size` judges it;
    empty where it keeps up or nothing tells."""
    pump = surprise.pump
    if pump is None or pump.pump_flow is None or pump.state not in ("too-small", "short-of-peak"):
        return ""
    gives = show(pump.pump_flow[1], "flow", system)
    if pump.state == "too-small":
        return f": the pump then gives {gives}, {show(pump.needed_flow, 'flow', system)} is needed"
    if brief:
        of = show(pump.design_flow, "flow", system)
        rule = "the trade's rule" if pump.judging_rule is not None else pump.judged_by
        return f"; the pump gives {gives} of {of}, enough by {rule}"
    return (
        f"; the pump then gives {gives}, less than the design flow of "
        f"{show(pump.design_flow, 'flow', system)}, but enough by {pump.judged_by} "
        f"({show(pump.needed_flow, 'flow', system)})"
    )


def _absorbed(surprise: Surprise, system: UnitSystem) -> str:
    if surprise.absorbed:
        return "absorbed as chosen"
    if surprise.absorbed_if_rest_grows and surprise.extra_cost is not None:
        extra = more_pipe(max(surprise.extra_cost, 0.0), system)
        return f"absorbed once pipe within reach is larger ({extra})"
    if surprise.wanted:
        sizes = ", ".join(f"{name} at {size}" for name, size in surprise.wanted.items())
        return f"NOT with what is locked in; it would take {sizes}"
    if surprise.beyond_the_pump:
        return "NOT absorbed"
    return "NOT absorbed, and no larger pipe mends it"
