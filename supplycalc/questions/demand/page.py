"""What `demand` shows: the methods side by side, and why they differ."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.demand import method_record
from supplycalc.demand.guide import GuideFlow
from supplycalc.findings.prescriptive import Outcome, TableCheck
from supplycalc.findings.words import size_of
from supplycalc.output.blocks import Block, Checklist, Heading, Paragraph, Verdict
from supplycalc.questions.demand.methods import MethodResult
from supplycalc.questions.demand.study import DemandComparison, RunDemand
from supplycalc.records import Column, Table, table_of
from supplycalc.records.sentences import cite
from supplycalc.units import UnitSystem, show

OUTCOMES: dict[Outcome, str] = {
    "agrees": "They agree:",
    "larger": "The design is larger than the table asks:",
    "smaller": "The design is smaller than the table asks:",
    "no answer": "No answer:",
}


def demand_page(
    comparison: DemandComparison, system: UnitSystem, *, every_run: bool = False
) -> Iterator[Block]:
    """What `demand` shows."""
    yield Verdict(text=comparison.answer(system), mood="strong")
    yield demand_table(comparison)
    yield Paragraph(
        text=f"size: of {comparison.run}, the whole house sized by that method; to spare: at the "
        f"fixture with least. Your file asks for '{comparison.method}'."
    )
    if comparison.own.design_flow is not None:
        yield Paragraph(
            text=f"All fixtures below it open at once would draw "
            f"{show(comparison.all_at_once, 'flow', system)}; by {comparison.method!r} it carries "
            f"{show(comparison.own.design_flow, 'flow', system)}."
        )
    yield Heading("Why they differ")
    yield Checklist(items=comparison.why(system), mark="-")
    yield Heading("What each method counts")
    for result in comparison.methods:
        yield Paragraph(text=f"{result.why}.", label=f"{result.method}:", indent=2, hang=2)
        yield Paragraph(text=f"Source: {cite(result.record.source)}", indent=4, hang=2)
    if comparison.guide is not None:
        yield Heading("What a guide to private wells asks of the pump")
        yield Checklist(items=tuple(_guide_words(comparison.guide, system)))
    yield Heading("The code's table of sizes")
    yield Checklist(items=tuple(_table_words(comparison.table, system)))
    if every_run:
        yield every_run_table(comparison)
        if comparison.whole_distribution is not None:
            yield distribution_table(comparison, comparison.whole_distribution)


def demand_table(comparison: DemandComparison) -> Table:
    """The methods side by side at one run."""
    return table_of(
        f"Demand at {comparison.run}, by every method (units: points for how much and how often "
        "fixtures draw)",
        MethodResult,
        comparison.methods,
        (
            Column(name="method", of="method"),
            Column(name="load", of="load", digits=1, small=True),
            Column(name="of", of="load_name", wrap=True),
            Column(name="flow", of="design_flow"),
            Column(name="size", of="size"),
            Column(name="to spare", of="worst.margin"),
            Column(name="verdict", of=_verdict, wrap=True),
        ),
    )


def _verdict(result: MethodResult) -> str | None:
    if result.design is None:
        return result.reason
    if result.ok:
        return "works"
    first = next(finding for finding in result.design.findings if finding.level == "fail")
    return f"FAILS, {first.code.replace('-', ' ')}"


def every_run_table(comparison: DemandComparison) -> Table:
    """The design flow of every run by every method."""
    runs = comparison.runs
    methods = runs[0].design_flow if runs else ()
    headings = (method_record(method).heading or method for method in methods)
    return Table(
        title="Design flow of every run",
        columns=(
            Column(name="run", wrap=True),
            *(Column(name=heading, dimension="flow", wrap=True) for heading in headings),
        ),
        rows=tuple((run.name, *run.design_flow.values()) for run in runs),
    )


def distribution_table(comparison: DemandComparison, whole: MethodResult) -> Table:
    """What the computed distribution says of every run: percentile, no flow at all, mean."""
    return table_of(
        f"Method {whole.method}, every run",
        RunDemand,
        comparison.runs,
        (
            Column(name="run", of="name", wrap=True),
            Column(name="flow", of=lambda run: run.design_flow[whole.method], dimension="flow"),
            Column(name="largest fixture", of="largest_fixture", wrap=True),
            Column(name="mean", of="mean_flow"),
            Column(
                name="nothing runs, % of the time",
                of=lambda run: 100.0 * run.zero_chance,
                digits=1,
                wrap=True,
            ),
        ),
    )


def _guide_words(guide: GuideFlow, system: UnitSystem) -> Iterator[str]:
    """The guide's figure in one sentence, and its source."""
    left = f"; it does not list {', '.join(guide.left_out)}" if guide.left_out else ""
    yield (
        f"{show(guide.pump, 'flow', system)} for one home: allowances of "
        f"{show(guide.allowances, 'flow', system)} together, the largest use ({guide.largest}) at "
        f"its full flow{left}."
    )
    yield f"Source: {cite(guide.citation)}"


def _table_words(check: TableCheck | None, system: UnitSystem) -> Iterator[str]:
    """The code's table beside the design by the file's method."""
    if check is None:
        yield (
            "Not read: the American tables know inch tube and their own methods only; neither "
            "metric tube nor a European method is looked up in them."
        )
        return
    where = (
        f"{check.title}, block {check.block}: {check.fixture_units:.1f} fixture units, "
        f"{show(check.pressure, 'pressure', system)} left after height and devices, "
        f"{show(check.length, 'length', system)} developed length"
        + (" with a share for fittings" if check.code == "irc" else "")
    )
    yield f"{where}."
    has = f"the design has {size_of(check.service_run)}"
    if check.main_run is not None:
        has += f", and beyond it {check.main_run.name} in {size_of(check.main_run)}"
    asks = "the table gives no size"
    if check.service is not None:
        asks = f"the table asks for a service of {check.service} inch or more"
    if check.distribution is not None and check.main_run is not None:
        asks += f"; for {check.main_run.name}, of {check.distribution} inch or more"
    yield f"{asks[0].upper()}{asks[1:]}; {has}."
    yield f"{OUTCOMES[check.outcome]} {check.reason}."
    smaller = [f"{run.run} {run.size}, asked {run.asked}" for run in check.runs if run.smaller]
    if smaller and check.outcome == "smaller":
        yield f"Runs smaller than the table asks at their own load: {', '.join(smaller)} inch."
    yield f"Source: {cite(check.citation)}"
