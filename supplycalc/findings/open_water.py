"""An open tank or a spring above the house: does enough come, and for how long does it last?"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from supplycalc.findings.line_profile import AIR_VALVE
from supplycalc.findings.rule import Remark, Values, rule
from supplycalc.model import WaterSource
from supplycalc.network import wellhead
from supplycalc.sizing.design import Design
from supplycalc.sizing.pressure_range import heights_before_open_tank
from supplycalc.supply.day_need import day_need
from supplycalc.supply.limits import well_limit
from supplycalc.supply.open_water import fill_of, inflow_of
from supplycalc.supply.pump import curve_known
from supplycalc.supply.supply_curve import flow_at_pressure
from supplycalc.units import DAY, long_time

ORDINARY = 0.5
"""Of the water that a supply is planned for, what is drawn on an ordinary day; less can never do.
Common practice, no source."""
THROTTLED = 1.1
"""What a pump may lift over what its well sustains and count as throttled to it; common practice,
no source."""


@rule("inflow-short", "fail", well=True)
def inflow_short(design: Design) -> Iterator[Remark]:
    """Less comes to the open water in a day than the people need."""
    source, inflow = design.house.source, inflow_of(design.house)
    if not source.open_water or inflow is None:
        return
    need, comes = day_need(design.house), inflow * DAY
    if comes >= need.volume:
        return
    people = f"{need.people} people"
    if need.assumed:
        people += " (assumed, as the file names no number)"
    yield Remark(
        level=None if comes < ORDINARY * need.volume else "warn",
        where=_named(source),
        message=f"{{0}} come to it in a day; {people} need {{1}}, as a supply is planned, which is "
        "about twice an ordinary day",
        values=((comes, "volume"), (need.volume, "volume")),
        remedy="use less, or find more water: a larger tank alone does not help",
        source=well_limit("per-person-planning").citation,
    )


@rule("open-water-runs-out", "note", well=True)
def open_water_runs_out(design: Design) -> Iterator[Remark]:
    """The design flow is more than comes: what is stored carries it for a time, if at all."""
    source, flow = design.house.source, design.demand.design_flow[0]
    inflow = inflow_of(design.house)
    if not source.open_water or inflow is None or flow <= inflow:
        return
    values: Values = ((flow, "flow"), (inflow, "inflow"))
    if source.volume is None:
        yield Remark(
            level="warn",
            where=_named(source),
            message="the design flow is {0} and only {1} come to it; the file does not say how "
            "much it holds, so for how long it lasts is not known",
            values=values,
            remedy="measure what stands between the outlet and the overflow, and give it as volume",
        )
        return
    lasts = source.volume / (flow - inflow)
    short = lasts < well_limit("peak-minutes").value
    yield Remark(
        level="warn" if short else None,
        where=_named(source),
        message="the design flow is {0} and {1} come to it; from full it carries that for "
        f"{long_time(lasts)}, and then gives no more than comes",
        values=values,
        remedy="store more" if short else "",
        source=well_limit("peak-minutes").citation if short else None,
    )


def _named(source: WaterSource) -> str:
    return "spring" if source.kind == "spring" else "open tank"


@rule("fill-outruns-well", "warn", well=True)
def fill_outruns_well(design: Design) -> Iterator[Remark]:
    """The pump that fills the tank gives nothing there, or more than its well sustains."""
    fill = fill_of(design.house)
    if fill is None or design.house.joined_wells:
        return  # of several wells each is told of
    if fill.pump <= 0.0:
        yield Remark(
            level="fail",
            where="well pump",
            message="it never lifts water to the open tank: its head ends below the highest level",
            remedy="fit a pump with more head, or lower the tank",
        )
    elif fill.sustained is not None and fill.pump > THROTTLED * fill.sustained:
        yield Remark(
            where="well pump",
            message="it lifts {0} to the open tank and the well sustains {1}: it runs dry while "
            "the float calls for water",
            values=((fill.pump, "flow"), (fill.sustained, "flow")),
            remedy="throttle it to little more than the well gives, and fit dry-run protection",
        )


@rule("height-before-open-tank", "warn", well=True)
def height_before_open_tank(design: Design) -> Iterator[Remark]:
    """Heights on the way to an open tank: the well's pump lifts over them, and air gets in."""
    for house, top in heights_before_open_tank(design):
        source = house.source
        if not curve_known(house) or flow_at_pressure(house, 0.0) == 0.0:
            continue
        over = replace(house, source=replace(source, elevation=top.height))
        flow, above = flow_at_pressure(over, 0.0), top.height - source.elevation
        if flow == 0.0:
            yield Remark(
                level="fail",
                where=top.name,
                message="lies {0} above the tank's inlet, and the well's pump does not lift water "
                "that high",
                values=((above, "length"),),
                remedy="lead the line round the height, or fit a pump that lifts over it",
            )
        elif top.height > wellhead(source) and top.below_at_rest > 0.0:
            yield Remark(
                where=top.name,
                message="lies {0} above the tank's inlet: whenever the pump stops water hangs "
                "there below the air's pressure, and the line draws in air and dirt; with air let "
                "in there the pump gives {1}",
                values=((above, "length"), (flow, "flow")),
                remedy=f"{AIR_VALVE}, or lead the line round the height",
            )
