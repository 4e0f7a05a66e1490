"""The source: a pump that cannot hold the pressure, the tank's air charge, a closed system."""

from __future__ import annotations

import math
from collections.abc import Iterator

from supplycalc.findings.rule import (
    YOUR_FILE,
    Remark,
    Values,
    by_american_code,
    finding_limit,
    limit_by_book,
    rule,
)
from supplycalc.findings.words import is_are, listed
from supplycalc.model import Device, Run
from supplycalc.network import Tree
from supplycalc.sizing.design import Design
from supplycalc.supply.day_need import day_need
from supplycalc.supply.pump_check import ROUND_FIGURE, PumpCheck
from supplycalc.tables import Citation, code_limit
from supplycalc.units import DAY

CARRIED_ON = 1.5
"""So many times the last given flow a pump's curve may be carried on without a word."""


@rule("pump-beyond-curve", "warn")
def pump_beyond_curve(design: Design) -> Iterator[Remark]:
    """The design flow, or the flow at cut-in, is more than the pump's curve tells of."""
    pump, flow = design.house.source.pump, design.demand.design_flow[0]
    if pump is None or len(pump.curve) < 2 or design.house.further_wells:
        return
    last, given = pump.curve[-1][0], design.source.pump_flow or 0.0
    if given > last * (1.0 + 1e-9) and flow > last * (1.0 + 1e-9):
        yield Remark(
            where="pump",
            message=(
                "its curve ends at {0} and the design flow is {1}; beyond its last point the curve "
                "is carried on straight, while real ones fall faster"
            ),
            values=((last, "flow"), (flow, "flow")),
            remedy="give the curve to its end; if it ends there, take a pump that gives this flow",
            source=YOUR_FILE,
        )
    elif given > last * CARRIED_ON:
        yield Remark(
            where="pump",
            message=(
                "its curve ends at {0}; carried on straight to cut-in it gives {1}, which no one "
                "has measured: run times, starts and the tank's size rest on it"
            ),
            values=((last, "flow"), (given, "flow")),
            remedy="give the curve down to the head at cut-in",
            source=YOUR_FILE,
        )


@rule("main-at-rest-only", "warn")
def main_at_rest_only(design: Design) -> Iterator[Remark]:
    """A main of which only the pressure at rest is known: while water flows it is less."""
    source = design.house.source
    if source.kind == "main" and source.residual is None and source.static is not None:
        yield Remark(
            where="source",
            message="only the pressure at rest, {0}, is known; while water flows it is less",
            values=((source.static, "pressure"),),
            remedy="read the gauge with two hoses running and give residual and residual_flow",
            source=None,
        )


def pump_of(design: Design) -> PumpCheck | None:
    """The well's pump, judged by itself; None on a main."""
    return design.pump


@rule("pump-cannot-hold", "warn", well=True)
def pump_cannot_hold(design: Design) -> Iterator[Remark]:
    """The pump gives less than the design flow: a failure where one of the trade's rules or one
    outlet needs more, else a warning, since the codes' peaks are those of houses on a main."""
    pump = design.pump
    if pump is None or pump.state not in ("short-of-peak", "too-small") or pump.pump_flow is None:
        return
    least, most = pump.pump_flow
    at = "at its set pressure of {0}" if pump.held else "at the cut-in of {0}"
    values: Values = (
        (pump.pressure, "pressure"),
        (pump.design_flow, "flow"),
        (least, "flow"),
        (most, "flow"),
        (pump.needed_flow, "flow"),
    )
    gives = "gives {3}" if least >= most else "gives {2} to {3}"
    if most <= 0.0:
        text = f"gives nothing {at}: it never reaches it"
    elif pump.state == "too-small":
        text = f"{gives} {at}; {_asked(pump)}"
    else:
        text = f"{gives} {at}, less than the design flow of {{1}}; {_enough(pump)}"
    if pump.full_tank_time is not None and pump.low_tank_time is not None and most > 0.0:
        values += ((pump.full_tank_time, "minutes"), (pump.low_tank_time, "minutes"))
        if math.isfinite(pump.low_tank_time):
            text += (
                ". The tank carries the design flow for {5} from full and {6} from just above "
                "cut-in, pump off at first"
            )
    if pump.sinks_to is not None and most > 0.0:
        values += ((pump.sinks_to, "pressure"),)
        sinks = f"the pump alone holds {{{len(values) - 1}}} at that flow"
        if pump.sinks_to <= 0.0:
            sinks = "so much no longer comes: the pump alone gives it at no pressure"
        text += f"; after that {sinks}"
    need = day_need(design.house).volume
    enough = pump.sustained is None or pump.sustained * DAY >= need
    remedy, remedy_values = pump_advice(pump, enough)
    if pump.pumps > 1:
        text = text.replace("gives ", "give ", 1).replace("the pump alone", "the pumps alone")
        text = f"together {text.replace('which it gives', 'which they give')}"
    yield Remark(
        level="fail" if pump.state == "too-small" else None,
        where="pump" if pump.pumps == 1 else "pumps",
        message=text,
        values=values,
        remedy=remedy,
        remedy_values=remedy_values,
        source=_judging_source(pump),
    )


def _asked(pump: PumpCheck) -> str:
    """What a pump that is too small falls short of, with marks 1 and 4 for its flows."""
    if pump.listed:
        return "{4} are listed as running at once"
    most = pump.pump_flow[1] if pump.pump_flow is not None else 0.0
    if most < pump.largest_flow:
        return f"{pump.largest} alone needs more"
    if pump.judging_rule is None:
        return f"{{4}} are needed, by {pump.judged_by}"
    asks = ", ".join(f"{rule.name}" for rule in pump.rules[1:])
    others = f"; {asks} ask for more" if asks else ""
    return f"{pump.judged_by}, the least asking of the well trade's rules, asks for {{4}}{others}"


def _enough(pump: PumpCheck) -> str:
    """By which rule a pump is judged that gives less than the design flow, with mark 4."""
    words = f"it is judged by {pump.judged_by}, {{4}}"
    if pump.judging_rule is None:
        return words
    met = pump.pump_flow is not None and pump.pump_flow[0] >= pump.needed_flow * ROUND_FIGURE
    verdict = "which it gives" if met else "and whether it gives that is not known"
    return f"{words}, {verdict}: the codes' peaks are those of houses on a main"


def pump_advice(pump: PumpCheck, enough_water: bool) -> tuple[str, Values]:
    """What would do for a pump that gives too little; storage where the well is what limits.

    Args:
        enough_water: whether the well gives a day's water, so that storage helps.

    Returns:
        (sentence with marks, their values).
    """
    too_small = pump.state == "too-small"
    flow = pump.needed_flow if too_small else pump.design_flow
    head = pump.needed_head if too_small else pump.duty_head
    lead = "" if too_small else "nothing, where so much seldom runs at once; "
    if pump.pumps > 1:
        return (
            f"{lead}one of the pumps larger, or with a wider line, so that together they give "
            "{0}; where a well sustains less than its pump gives, storage: each one's share stands "
            "in 'supplycalc well'",
            ((flow, "flow"),),
        )
    if pump.sustained is not None and pump.sustained < flow:
        if not enough_water:
            return f"{lead}find more water, as no pump gives more than the well's {{0}}", (
                (pump.sustained, "flow"),
            )
        return (
            f"{lead}store water in a covered tank that the well fills slowly and pump it from "
            "there with {1}, and fit dry-run protection on this pump: the well sustains {0}, "
            "and no pump gives more than that",
            ((pump.sustained, "flow"), (flow, "flow")),
        )
    lead += "a pump" if too_small else "for all of it a pump"
    if head is None:
        return (
            f"{lead} that gives {{0}}; against which head is known when static_level stands in "
            "[source.well]: measure how deep the water stands",
            ((flow, "flow"),),
        )
    return (
        f"{lead} that gives {{0}} against {{1}} of total head, the lift included",
        ((flow, "flow"), (head, "head")),
    )


def _judging_source(pump: PumpCheck) -> Citation:
    """Of the rule that decides, or of the total head where it is the file's own figures."""
    return YOUR_FILE if pump.judging_rule is None else pump.judging_rule.source


@rule("pump-unknown", "note", subject=pump_of, well=True)
def pump_unknown(pump: PumpCheck) -> Iterator[Remark]:
    """A pump of which nothing tells that it holds cut-in at the design flow."""
    if pump.state != "not-known":
        return
    values: Values = ((pump.pressure, "pressure"), (pump.design_flow, "flow"))
    remedy = "give the pump's curve, or a bucket test taken at cut-in pressure"
    text = "nothing in the file shows that the pump holds {0} at the design flow of {1}"
    if pump.pump_flow is not None:
        values += tuple((flow, "flow") for flow in pump.pump_flow)
        if not pump.level_known:
            text += ": without the water's level it is only sure that it gives at most {3} there"
            remedy = "measure how deep the water stands and give static_level in [source.well]"
        else:
            text += ": by its one known point it gives {2} to {3} there"
    yield Remark(where="pump", message=text, values=values, remedy=remedy)


@rule("precharge", "warn", well=True)
def precharge(design: Design) -> Iterator[Remark]:
    """A tank's air charge is not a little below the pressure at it when the pump starts."""
    source = design.house.source
    if source.cut_in is None:
        return
    if source.pump is not None and source.pump.kind == "constant-pressure":
        return
    charge = source.tank.precharge if source.tank is not None else None
    tanks = [("pressure tank", charge, source.cut_in, "the cut-in of {1}")]
    if design.house.far_tanks:
        from supplycalc.supply.far_tank import far_tanks_of

        tanks += [
            (far.tank.name, far.tank.precharge, far.cut_in, "the {1} at it when the pump starts")
            for far in far_tanks_of(design.tree)
        ]
    rule = code_limit("precharge-below-cut-in")
    for name, charge, cut_in, against in tanks:
        wanted = max(cut_in - rule.value, 0.0)
        if charge is None or (
            abs(charge - wanted) <= finding_limit("precharge-tolerance").value + 1.0
        ):
            continue
        if charge > wanted:
            why = "the tank is empty before the pump starts, and pressure drops out each time"
        else:
            why = "the tank gives less water between starts than it could"
        yield Remark(
            where=name,
            message=f"its air charge of {{0}} does not suit {against}: {why}",
            values=((charge, "setting"), (cut_in, "setting")),
            remedy=(
                "set it to {0}, with the pump switched off and locked out and the tank drained; "
                "never open a tank under pressure"
            ),
            remedy_values=((wanted, "setting"),),
            source=rule.citation,
        )


@rule("thermal-expansion", "note")
def thermal_expansion(design: Design) -> Iterator[Remark]:
    """A valve between source and tank heater closes the system: heated water has no room."""
    closed = closed_heaters(design)
    heaters = list(closed)
    valves = [name for closing in closed.values() for name in closing]
    if heaters:
        limit = limit_by_book(design, "expansion-control")
        yield Remark(
            where=listed(heaters),
            message=(
                f"{listed(valves)} {is_are(valves, 'closes', 'close')} the system: water that "
                "expands while it is heated has nowhere to go"
            ),
            remedy=(
                "fit an expansion tank ('supplycalc commission' sizes it) or another approved "
                "device; a relief valve on the heater is needed besides and must never be plugged"
                if by_american_code(design)
                else "every closed heater needs a safety valve in its cold feed, set below the "
                "heater's rating, with no stop between them and its drip in view over a drain; an "
                "expansion vessel for drinking water spares it the dripping"
            ),
            source=limit.citation,
        )


def closed_heaters(design: Design) -> dict[str, tuple[str, ...]]:
    """Each tank heater whose water has nowhere to expand to, and what closes its way back.

    A second pressure tank behind the last valve leaves it room.
    """
    tree = design.tree
    tanks = [tree.index[tank.at or ""] for tank in design.house.far_tanks]
    closed = {}
    for heater in design.devices:
        if not tree.does(heater.device, "stores"):
            continue
        ways = list(tree.feeding(heater.index))
        closing = [i for i in ways if tree.closes(i)]
        if any(at in tree.at_or_below(closing[0]) for at in tanks if closing):
            continue
        told = [_called(tree, i) for i in reversed(closing)]
        if not told and design.house.source.kind == "main":
            told = [
                f"{link.name}, if it has a check valve,"
                for i in reversed(ways)
                if isinstance(link := tree.links[i], Device) and tree.does(link, "meter")
            ]
        if told:
            closed[heater.name] = tuple(told)
    return closed


def _called(tree: Tree, index: int) -> str:
    of_run = isinstance(tree.links[index], Run)
    return f"the check valve in {tree.names[index]}" if of_run else tree.names[index]
