"""What `demand` prints and its JSON: methods side by side, and why they differ."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from supplycalc.output.machine import quantity, source_to_dict
from supplycalc.output.view import Cell, Column, Table
from supplycalc.output.wording import cite
from supplycalc.questions.demand.words import answer, guide_words, reasons, table_words

if TYPE_CHECKING:
    from supplycalc.findings.prescriptive import TableCheck
    from supplycalc.output.terminal import Page
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
    for each in result.methods:
        page.paragraph(f"{each.record.counts}.", label=f"{each.method}:", indent=2, hang=2)
        page.paragraph(f"Source: {cite(each.record.source)}", indent=4, hang=2)
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
        rows=tuple(_row(one) for one in result.methods),
    )


def _row(one: MethodResult) -> tuple[Cell, ...]:
    return (
        one.method,
        one.load,
        one.load_name,
        one.design_flow,
        None if one.run is None else one.run.size.nominal,
        None if one.worst is None else one.worst.margin,
        _verdict(one),
    )


def _verdict(one: MethodResult) -> str:
    if one.design is None:
        return one.reason
    if one.design.ok:
        return "works"
    first = next(finding for finding in one.design.findings if finding.level == "fail")
    return f"FAILS, {first.code.replace('-', ' ')}"


def every_run_table(result: DemandComparison) -> Table:
    """The design flow of every run by every method."""
    computed = [one for one in result.methods if one.design is not None and one.demand is not None]
    first = computed[0].design if computed else None
    runs = () if first is None else first.runs
    return Table(
        title="Design flow of every run",
        columns=(
            Column(name="run", wrap=True),
            *(
                Column(name=one.record.heading or one.method, dimension="flow", wrap=True)
                for one in computed
            ),
        ),
        rows=tuple(
            (
                run.run.name,
                *(one.demand.design_flow[run.index] for one in computed if one.demand is not None),
            )
            for run in runs
        ),
    )


def whole_distribution(result: DemandComparison) -> MethodResult | None:
    """The result of the method that computes the whole distribution, where it was computed."""
    return next(
        (
            each
            for each in result.methods
            if each.record.whole_distribution and each.design is not None
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
    computed = [one for one in result.methods if one.design is not None]
    whole = whole_distribution(result)
    known = None if whole is None else whole.demand
    first = computed[0].design if computed else None
    return [
        {
            "name": run.run.name,
            "design_flow": {
                one.method: quantity(one.demand.design_flow[run.index], "flow", system)
                for one in computed
                if one.demand is not None
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
        "methods": [_method(one, system) for one in result.methods],
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


def _method(one: MethodResult, system: UnitSystem) -> dict[str, Any]:
    worst = one.worst
    return {
        "method": one.method,
        "ok": one.design is not None and one.design.ok,
        "reason": one.reason or None,
        "load": one.load,
        "load_name": one.load_name or None,
        "design_flow": quantity(one.design_flow, "flow", system),
        "continuous": quantity(one.continuous, "flow", system),
        "largest_fixture": quantity(one.largest, "flow", system),
        "largest_decides": one.largest_decides,
        "zero_chance": one.zero_chance,
        "mean_flow": quantity(one.mean_flow, "flow", system),
        "rule": one.rule or None,
        "groups_used": [
            {
                "title": use.title,
                "count": use.count,
                "run": use.run,
                "fixtures": list(use.fixtures),
                "value": use.value,
                "complete": use.complete,
            }
            for use in one.groups_used
        ],
        "size": None if one.run is None else one.run.size.nominal,
        "material": None if one.run is None else one.run.run.material,
        "velocity": quantity(None if one.run is None else one.run.velocity, "velocity", system),
        "decided_by": None if one.run is None else one.run.decided_by,
        "worst": worst
        and {
            "name": worst.fixture.name,
            "side": worst.side,
            "margin": quantity(worst.margin, "pressure", system),
        },
        "why": one.record.counts,
        **source_to_dict(one.record.source),
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
