"""The page to hand over, section by section; what the file has no data for does not appear."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from supplycalc.catalogue import is_inch_size
from supplycalc.demand.method import method_record
from supplycalc.output.blocks import (
    Account,
    Block,
    Checklist,
    FindingBlock,
    Heading,
    Paragraph,
    Sheet,
    by_level,
)
from supplycalc.output.cautions import cautions
from supplycalc.questions.commission.page import commission_section
from supplycalc.questions.compare.page import comparison_table, differing
from supplycalc.questions.compare.study import Comparison
from supplycalc.questions.draw.pictures import figures
from supplycalc.questions.gauge.page import gauge_section
from supplycalc.questions.hot.page import outlets_said
from supplycalc.questions.hot.tables import hot_outlet_table
from supplycalc.questions.parts.tables import group_tables, pipe_table
from supplycalc.questions.report.calculation import calculation
from supplycalc.questions.report.figures import (
    daily_figure,
    pump_figure,
    service_figure,
    wait_figure,
    way_figure,
)
from supplycalc.questions.report.study import Report
from supplycalc.questions.report.tank_picture import tank_figure
from supplycalc.questions.size import tables
from supplycalc.questions.size.first_screen import MENDS
from supplycalc.questions.size.page import second_verdict, verdict_block
from supplycalc.questions.slab.page import SPARE, locked_table, surprises_table
from supplycalc.questions.surge.page import surge_section
from supplycalc.questions.well import page as well_page
from supplycalc.questions.well.tables import (
    levels_table,
    points_table,
    share_heads_table,
    shares_table,
    storage_table,
    tank_table,
    water_table,
    yield_table,
)
from supplycalc.records.sentences import FROM_MEMORY, Assumption, Finding, amount, cite
from supplycalc.sizing.design import Design, Remedy, pump_then
from supplycalc.supply.far_tank import far_tanks_of
from supplycalc.tables import OWN, Citation
from supplycalc.units import UnitSystem, show

KEY = (
    "P pressure, Q flow, d inside diameter, L developed length, v velocity, Re Reynolds number, "
    "f friction factor, R friction, K loss coefficient, F loss of fittings, z height, H pressure "
    "gained by height, D loss of a device, T head of the pump, h lift, u load, ρ density, ν "
    "kinematic viscosity. Each line is computed from the figures printed before it."
)

ALIKE = {"no-spare-port": "manifold-ports"}
"""Finding -> the one that says the same of the same place."""


def report_page(report: Report, system: UnitSystem) -> Iterator[Block]:
    """The blocks of the page."""
    design = report.design
    beside = list(_fails_beside(report, system))
    verdict = verdict_block(design, system, _every_finding(report))
    yield replace(verdict, mood="care") if beside else verdict
    yield from second_verdict(design, system)
    yield Paragraph(text=_basis(design, system))
    yield from _remedies(design, system)
    yield from beside
    yield Heading("The supply")
    yield from figures(report.drawn, system)
    yield Heading(f"Pressure on the way to {design.worst.name}")
    yield way_figure(design, system)
    yield Account(tables.account(design, design.worst))
    yield Heading("Pressure at the fixtures")
    yield tables.fixtures(design)
    yield Paragraph(
        text="gets: pressure at the fixture's stop while the design flow runs; needs: what it asks "
        "for."
    )
    yield Heading("Pipe schedule")
    yield tables.schedule(design)
    yield Paragraph(text=design.friction_told(system))
    for profile in design.profiles:
        yield tables.over_the_ground(profile)
    yield from _options(report, system)
    yield from _daily(design, system)
    yield from _well(report, system)
    yield from _hot(report, system)
    yield from _slab(report, system)
    yield from surge_section(report.surge, system)
    yield from commission_section(report.commission, system)
    if report.gauge is not None:
        yield from gauge_section(report.gauge, system)
    yield Heading("Parts")
    if not report.parts.design.ok:
        yield Paragraph(text="Do not buy yet: the design fails.", mood="bad")
    yield Paragraph(text=report.parts.answer(system))
    yield pipe_table(report.parts, system)
    yield from group_tables(report.parts)
    yield from _findings(report)
    yield from _calculation(report, system)
    yield from _assumptions(report, system)
    yield from _sources(report)
    yield Heading("Take care")
    more = () if report.well is None else well_page.pump_cautions(report.house)
    yield Checklist(items=cautions(design, more))


def what_it_holds(report: Report, system: UnitSystem, file: str) -> Iterator[Block]:
    """What `report` shows where it is not told where the page should go."""
    blocks = tuple(report_page(report, system))
    yield blocks[0]
    held = [block.text for block in blocks if isinstance(block, Heading)]
    yield Paragraph(text=f"On the page: {'; '.join(held)}.", apart=True)
    yield Paragraph(
        text=f"supplycalc report {file} -o house.html writes it; --watch shows it in the browser "
        "while you edit; --full prints it here.",
        apart=True,
    )


def _fails_beside(report: Report, system: UnitSystem) -> Iterator[Block]:
    """What fails beside the pressures, which the verdict is about."""
    if not report.design.ok:
        return
    if report.gauge is not None and not report.gauge.agrees:
        text = report.gauge.answer(system)
        yield Paragraph(text=text, label="Fails elsewhere:", mood="bad")
    of_design = {(finding.code, finding.where) for finding in report.design.findings}
    for finding in _every_finding(report):
        if finding.level == "fail" and (finding.code, finding.where) not in of_design:
            text = f"{finding.opening(system)}{finding.said(system)}"
            yield Paragraph(text=text, label="Fails elsewhere:", mood="bad")


def _basis(design: Design, system: UnitSystem) -> str:
    flow = show(design.demand.design_flow[0], "flow", system)
    working = show(design.source.design_pressure, "pressure", system)
    highest = show(design.source.static_pressure, "pressure", system)
    text = f"Design flow {flow} by method '{design.method}'"
    if design.demand.load_name:
        digits = tables.load_digits(design)
        text += f" ({design.demand.load[0]:.{digits}f} {design.demand.load_name})"
    return f"{text}. {working} at the source while it runs, {highest} at most."


def _remedies(design: Design, system: UnitSystem) -> Iterator[Block]:
    if not design.remedies:
        return
    several = len({remedy.mends for remedy in design.remedies}) > 1
    which = "one for each" if several else "one of them"
    yield Paragraph(text=f"Changes that mend it, each computed to work; do {which}:")
    yield Checklist(
        items=tuple(
            f"{f'{MENDS[remedy.mends]}: ' if several else ''}"
            f"{remedy.said(system)}: then {_then(remedy, system)}"
            f"{' (its sizes are the ones shown)' if number == design.sized_for else ''}"
            for number, remedy in enumerate(design.remedies)
        )
    )


def _then(remedy: Remedy, system: UnitSystem) -> str:
    """What a change leaves: what the pump gives then, or what is to spare where it is least."""
    if remedy.mends == "pump":
        return pump_then(remedy, system)
    return f"{amount(remedy.worst_margin, system)} to spare at {remedy.worst_name}"


def _options(report: Report, system: UnitSystem) -> Iterator[Block]:
    design, comparison = report.design, report.comparison
    if comparison is None and not design.margin_prices:
        return
    yield Heading("Options side by side")
    if comparison is not None:
        text = comparison.answer(system)
        if comparison.cheapest is None and comparison.otherwise is None:
            text = f"None of these works{'; the changes above do' if design.remedies else ''}."
        taken = _taken_here(comparison, design, system)
        yield Paragraph(text=f"{text}{taken}")
        figure = service_figure(comparison, design, system)
        if figure is not None:
            yield figure
        yield comparison_table(comparison, system)
        for block in differing(comparison, system, failing=False):
            yield Paragraph(text=f"{block.text}:") if isinstance(block, Heading) else block
    if design.margin_prices:
        yield tables.margin_prices(design)


def _taken_here(comparison: Comparison, design: Design, system: UnitSystem) -> str:
    """Which choice this page takes, where another is the one with least pipe."""
    best = comparison.cheapest
    sizes = {run.name: run.nominal for run in design.every_run}
    taken = {sizes[name] for name in comparison.runs if name in sizes}
    if best is None or best.size is None or best.size in taken or len(taken) != 1:
        return ""
    size = taken.pop()
    spare = amount(design.worst.margin, system)
    inch = " inch" if is_inch_size(size) else ""
    return f" This page takes {size}{inch}, with {spare} to spare."


def _daily(design: Design, system: UnitSystem) -> Iterator[Block]:
    use = design.daily_use
    if use is None or not use.connections:
        return
    yield Heading("Daily use")
    yield Paragraph(text=use.verdict(system))
    figure = daily_figure(use, system)
    if figure is not None:
        yield figure
    yield tables.daily_use_table(use)


def _well(report: Report, system: UnitSystem) -> Iterator[Block]:
    check = report.well
    tanks = tank_figure(report.house, system, far_tanks_of(report.design.tree))
    if check is None:
        if tanks is not None:
            yield Heading("The tank")
            yield tanks
        return
    open_water = check.house.source.open_water
    gravity = check.house.source.by_gravity
    heading = "Pump and tanks" if open_water else "Pump, well and tank"
    if check.house.further_wells:
        heading = "Pumps, wells and tanks"
    yield Heading("Water above the house" if gravity else heading)
    yield Paragraph(text=check.verdict(system))
    if check.open_source is not None:
        yield water_table(check.open_source, system)
        if gravity:
            yield levels_table(check.open_source)
    figure = pump_figure(check, system)
    if figure is not None:
        yield figure
    if check.shares:
        yield shares_table(check)
        yield share_heads_table(check)
    if check.points and not check.house.further_wells:
        yield points_table(check)
    if tanks is not None:
        yield tanks
    if open_water and check.storage is not None and check.storage.volume is not None:
        yield storage_table(check.storage, system)
    if check.tank is not None:
        yield tank_table(check.tank, held=check.held)
    # what comes to an open tank stands among the findings
    if not open_water and (check.well.bore_known or math.isfinite(check.well.daily_yield)):
        yield yield_table(check, system)


def _hot(report: Report, system: UnitSystem) -> Iterator[Block]:
    study = report.hot
    if study is None:
        return
    yield Heading("Waiting for hot water")
    yield Paragraph(text=study.answer(system))
    figure = wait_figure(study, system)
    if figure is not None:
        yield figure
    yield hot_outlet_table(study)
    yield Paragraph(text=outlets_said(study))


def _slab(report: Report, system: UnitSystem) -> Iterator[Block]:
    study = report.slab
    if study is None or not study.runs:
        return
    yield Heading("What the pour or the backfill locks in")
    yield Paragraph(text=study.answer(system))
    yield locked_table(study, system)
    yield Paragraph(text=SPARE)
    if study.surprises and study.ok:
        yield surprises_table(study, system)


def _every_finding(report: Report) -> Iterator[Finding]:
    """Findings of all questions, none twice."""
    told: set[tuple[str, str]] = set()
    hot = () if report.hot is None else report.hot.findings
    failed = [(it.code, it.source) for it in report.design.findings if it.level == "fail"]
    for answer in report.answers:
        for finding in answer.findings:
            if finding in hot and (finding.code, finding.source) in failed:
                continue  # told by `size`, in other words
            told_of = (ALIKE.get(finding.code, finding.code), finding.where)
            if told_of not in told:
                told.add(told_of)
                yield finding


def _findings(report: Report) -> Iterator[Block]:
    yield Heading("Findings")
    listed = by_level(_every_finding(report))
    if not listed:
        yield Paragraph(text="None: no limit is broken.")
    for finding in listed:
        yield FindingBlock(finding=finding)


def _calculation(report: Report, system: UnitSystem) -> Iterator[Block]:
    sheet = calculation(report.design, system)
    yield Heading("Calculation sheet")
    yield Paragraph(text=KEY)
    if sheet.loads is not None:
        source = method_record(report.design.method).source
        yield sheet.loads
        yield Paragraph(
            text="A pipe that feeds both sides of a fixture counts the method's value for both "
            f"together{'' if source is None else f' ({cite(source)})'}."
        )
        if sheet.groups:
            yield Paragraph(text="Counted as a whole where one pipe feeds the room:")
            yield Checklist(items=sheet.groups, mark="-")
    yield Sheet(title="Water and units", lines=sheet.given)
    if sheet.readings is not None:
        yield sheet.readings
    if sheet.fittings:
        yield Sheet(title="What each fitting counts", lines=sheet.fittings)
    if sheet.water:
        yield Sheet(title="From the water to the tank's gauge", lines=sheet.water)
    yield Sheet(title=f"From the source to {report.design.worst.name}", lines=sheet.way)
    yield sheet.runs


def _every_assumption(report: Report) -> Iterable[Assumption]:
    return (assumption for answer in report.answers for assumption in answer.assumptions)


def _assumptions(report: Report, system: UnitSystem) -> Iterator[Block]:
    items = tuple(dict.fromkeys(it.said(system) for it in _every_assumption(report)))
    if items:
        yield Heading("Assumed, because the file leaves it out")
        yield Checklist(items=items, mark="-")


def _sources(report: Report) -> Iterator[Block]:
    """The whole story of every source that this page cites."""
    design = report.design
    cited: list[Citation | None] = [method_record(design.method).source]
    for run in design.every_run:
        cited += [run.size.citation, run.size.inside_diameter_citation]
        cited += [run.tube.citations.get("roughness")]
        joining = design.tree.catalogue.joinings[run.run.joining]
        cited += [joining.citation_of(kind) for kind, _ in run.run.fittings or ()]
    cited += [
        design.tree.catalogue.devices[device.kind].citation
        for device in design.every_device
        if device.assumed
    ]
    cited += [finding.source for finding in _every_finding(report)]
    cited += report.commission.cited
    cited += [assumption.source for assumption in _every_assumption(report)]
    told: dict[str, list[Citation]] = {}
    for source in cited:
        if source is not None and source.check != "common practice" and source.text != OWN.text:
            told.setdefault(source.whole, []).append(source)
    items = []
    for whole, alike in told.items():
        memory = [source for source in alike if source.from_memory]
        part = "in part " if memory and len(memory) < len(alike) else ""
        mark = f" ({part}{FROM_MEMORY})" if memory else ""
        short = alike[0].short
        begins = whole.lower().startswith(short.lower())
        items.append(f"{whole}{mark}" if begins or not short else f"{short}{mark}: {whole}")
    yield Heading("Sources")
    yield Checklist(items=tuple(items), mark="-")
