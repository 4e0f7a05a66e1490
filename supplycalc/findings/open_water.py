"""An open tank or a spring above the house: does enough come, and for how long does it last?"""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.rule import Remark, Values, rule
from supplycalc.sizing.design import Design
from supplycalc.supply.day_need import day_need
from supplycalc.supply.limits import well_limit
from supplycalc.units import DAY


@rule("inflow-short", "fail")
def inflow_short(design: Design) -> Iterator[Remark]:
    """Less comes to the open water in a day than the people need."""
    source = design.house.source
    if not source.by_gravity or source.inflow is None:
        return
    need, comes = day_need(design.house), source.inflow * DAY
    if comes >= need.volume:
        return
    people = f"{need.people} people"
    if need.assumed:
        people += " (assumed, as the file names no number)"
    yield Remark(
        where=source.kind,
        message=f"{{0}} come to it in a day; {people} need {{1}}, as a supply is planned",
        values=((comes, "volume"), (need.volume, "volume")),
        remedy="use less, or find more water: a larger tank alone does not help",
        source=well_limit("per-person-planning").citation,
    )


@rule("open-water-runs-out", "note")
def open_water_runs_out(design: Design) -> Iterator[Remark]:
    """The design flow is more than comes: what is stored carries it for a time, if at all."""
    source, flow = design.house.source, design.demand.design_flow[0]
    if not source.by_gravity or source.inflow is None or flow <= source.inflow:
        return
    values: Values = ((flow, "flow"), (source.inflow, "flow"))
    if source.volume is None:
        yield Remark(
            level="warn",
            where=source.kind,
            message="the design flow is {0} and only {1} come to it; the file does not say how "
            "much it holds, so for how long it lasts is not known",
            values=values,
            remedy="measure what stands between the outlet and the overflow, and give it as volume",
        )
        return
    lasts = source.volume / (flow - source.inflow)
    short = lasts < well_limit("peak-minutes").value
    yield Remark(
        level="warn" if short else None,
        where=source.kind,
        message="the design flow is {0} and {1} come to it; from full it carries that for {2}, "
        "and then gives no more than comes",
        values=(*values, (lasts, "minutes" if lasts < DAY / 12 else "hours")),
        remedy="store more" if short else "",
        source=well_limit("peak-minutes").citation if short else None,
    )
