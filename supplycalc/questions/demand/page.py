"""What `demand` prints and its JSON: methods side by side, and why they differ."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from supplycalc.output.machine import quantity, source_to_dict
from supplycalc.output.wording import cite
from supplycalc.questions.demand.words import answer, guide_words, reasons, table_words
from supplycalc.records.table import Cell, Column, Table

if TYPE_CHECKING:
    from supplycalc.findings.prescriptive import TableCheck
    from supplycalc.output.old_page import Page
    from supplycalc.questions.demand.study import DemandComparison, MethodResult
    from supplycalc.units import UnitSystem

DEMAND_SCHEMA = "supplycalc-demand/1"


def demand_page(
    page: Page, result: DemandComparison, system: UnitSystem, *, every_run: bool = False
) -> None:
    """Write the result of `demand`.

    Args:
        page: to write on.
        result: the methods side by side.
        system: units to show.
        every_run: also the flow of every run by every method.
    """
    page.paragraph(answer(result, system), style="bold")
    page.table(demand_table(result), system)
    own = result.house.project.demand
    page.paragraph(
        f"size: of {result.run}, the whole house sized by that method; to spare: at the fixture "
        f"with least. Your file asks for '{own}'."
    )
    page.heading("Why they differ")
    for text in reasons(result, system):
        page.paragraph(text, label="-", indent=2, hang=2)
    page.heading("What each method counts")
    for method in result.methods:
        page.paragraph(f"{method.record.counts}.", label=f"{method.method}:", indent=2, hang=2)
        page.paragraph(f"Source: {cite(method.record.source)}", indent=4, hang=2)
    if result.guide is not None:
        page.heading("What a guide to private wells asks of the pump")
        page.paragraph(guide_words(result.guide, system), indent=2, hang=2)
        page.paragraph(f"Source: {cite(result.guide.citation)}", indent=2, hang=2)
    page.heading("The code's table of sizes")
    for text in table_words(result.table, system):
        page.paragraph(text, indent=2, hang=2)
    if every_run:
        page.table(every_run_table(result), system)
        whole = whole_distribution(result)
        if whole is not None:
            page.table(distribution_table(whole), system)


def demand_table(result: DemandComparison) -> Table:
    """The methods side by side at one run."""
    return Table(
        title=f"Demand at {result.run}, by every method",
        columns=(
            Column(name="method"),
            Column(name="load", digits=1, small=True),
            Column(name="of", wrap=True),
            Column(name="flow", dimension="flow"),
            Column(name="size"),
            Column(name="to spare", dimension="pressure"),
            Column(name="verdict", wrap=True),
        ),
        rows=tuple(_row(method) for method in result.methods),
    )


def _row(method: MethodResult) -> tuple[Cell, ...]:
    return (
        method.method,
        method.load,
        method.load_name,
        method.design_flow,
        None if method.run is None else method.run.size.nominal,
        None if method.worst is None else method.worst.margin,
        _verdict(method),
    )


def _verdict(method: MethodResult) -> str:
    if method.design is None:
        return method.reason
    if method.design.ok:
        return "works"
    first = next(finding for finding in method.design.findings if finding.level == "fail")
    return f"FAILS, {first.code.replace('-', ' ')}"


def every_run_table(result: DemandComparison) -> Table:
    """The design flow of every run by every method."""
    computed = [
        method
        for method in result.methods
        if method.design is not None and method.demand is not None
    ]
    first = computed[0].design if computed else None
    runs = () if first is None else first.runs
    return Table(
        title="Design flow of every run",
        columns=(
            Column(name="run", wrap=True),
            *(
                Column(name=method.record.heading or method.method, dimension="flow", wrap=True)
                for method in computed
            ),
        ),
        rows=tuple(
            (
                run.run.name,
                *(
                    method.demand.design_flow[run.index]
                    for method in computed
                    if method.demand is not None
                ),
            )
            for run in runs
        ),
    )


def whole_distribution(result: DemandComparison) -> MethodResult | None:
    """The result of the method that computes the whole distribution, where it was computed."""
    return next(
        (
            method
            for method in result.methods
            if method.record.whole_distribution and method.design is not None
        ),
        None,
    )


def distribution_table(result: MethodResult) -> Table:
    """What the computed distribution says of every run: percentile, no flow at all, mean."""
    runs = () if result.design is None else result.design.runs
    demand = result.demand
    return Table(
        title=f"Method {result.method}, every run",
        columns=(
            Column(name="run", wrap=True),
            Column(name="flow", dimension="flow"),
            Column(name="largest fixture", dimension="flow", wrap=True),
            Column(name="mean", dimension="flow"),
            Column(name="nothing runs, % of the time", digits=1, wrap=True),
        ),
        rows=tuple(
            (
                run.run.name,
                demand.design_flow[run.index],
                demand.largest[run.index],
                demand.mean_flow[run.index],
                100.0 * demand.zero_chance[run.index],
            )
            for run in runs
            if demand is not None
        ),
    )


def _runs(result: DemandComparison, system: UnitSystem) -> list[dict[str, Any]]:
    computed = [method for method in result.methods if method.design is not None]
    whole = whole_distribution(result)
    known = None if whole is None else whole.demand
    first = computed[0].design if computed else None
    return [
        {
            "name": run.run.name,
            "design_flow": {
                method.method: quantity(method.demand.design_flow[run.index], "flow", system)
                for method in computed
                if method.demand is not None
            },
            "zero_chance": None if known is None else known.zero_chance[run.index],
            "mean_flow": None
            if known is None
            else quantity(known.mean_flow[run.index], "flow", system),
        }
        for run in (() if first is None else first.runs)
    ]


def demand_to_dict(result: DemandComparison, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `demand`.

    Args:
        result: the methods side by side.
        units: "us" or "metric"; None takes the project's.

    Returns:
        Plain dictionaries, lists, numbers and strings, in a stable order.
    """
    system: UnitSystem = result.house.project.units
    if units is not None:
        system = "metric" if units == "metric" else "us"
    guide = result.guide
    return {
        "schema": DEMAND_SCHEMA,
        "project": result.house.project.name,
        "method": result.house.project.demand,
        "ok": result.ok,
        "answer": answer(result, system),
        "units": system,
        "run": result.run,
        "is_service": result.is_service,
        "methods": [_method(method, system) for method in result.methods],
        "why": list(reasons(result, system)),
        "runs": _runs(result, system),
        "guide": None
        if guide is None
        else {
            "pump": quantity(guide.pump, "flow", system),
            "allowances": quantity(guide.allowances, "flow", system),
            "largest": guide.largest,
            "left_out": list(guide.left_out),
            **source_to_dict(guide.citation),
        },
        "table": _table(result.table, system),
    }


def _method(method: MethodResult, system: UnitSystem) -> dict[str, Any]:
    worst = method.worst
    return {
        "method": method.method,
        "ok": method.design is not None and method.design.ok,
        "reason": method.reason or None,
        "load": method.load,
        "load_name": method.load_name or None,
        "design_flow": quantity(method.design_flow, "flow", system),
        "continuous": quantity(method.continuous, "flow", system),
        "largest_fixture": quantity(method.largest, "flow", system),
        "largest_decides": method.largest_decides,
        "zero_chance": method.zero_chance,
        "mean_flow": quantity(method.mean_flow, "flow", system),
        "rule": method.rule or None,
        "groups_used": [
            {
                "title": use.title,
                "count": use.count,
                "run": use.run,
                "fixtures": list(use.fixtures),
                "value": use.value,
                "complete": use.complete,
            }
            for use in method.groups_used
        ],
        "size": None if method.run is None else method.run.size.nominal,
        "material": None if method.run is None else method.run.run.material,
        "velocity": quantity(
            None if method.run is None else method.run.velocity, "velocity", system
        ),
        "decided_by": None if method.run is None else method.run.decided_by,
        "worst": worst
        and {
            "name": worst.fixture.name,
            "side": worst.side,
            "margin": quantity(worst.margin, "pressure", system),
        },
        "why": method.record.counts,
        **source_to_dict(method.record.source),
    }


def _table(check: TableCheck | None, system: UnitSystem) -> dict[str, Any] | None:
    if check is None:
        return None
    beyond = check.distribution_run
    return {
        "title": check.title,
        "block": check.block,
        "fixture_units": check.load,
        "pressure": quantity(check.pressure, "pressure", system),
        "length": quantity(check.length, "length", system),
        "service": check.service or None,
        "distribution": check.distribution or None,
        "design_service": check.service_run.size.nominal,
        "design_distribution": None if beyond is None else beyond.size.nominal,
        "distribution_run": None if beyond is None else beyond.run.name,
        "outcome": check.outcome,
        "reason": check.reason,
        **source_to_dict(check.citation),
    }
