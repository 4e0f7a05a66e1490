"""What `well` prints and its JSON: does the pump hold it, does the well keep up, which tank."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from supplycalc.findings.source import pump_cannot_hold
from supplycalc.output.old_page import finding_lines
from supplycalc.output.wording import assumption_text, cite, finding_text
from supplycalc.questions.well.pipe_table import TRENCH, pipe_part
from supplycalc.questions.well.switch_table import finite, switch_parts_table, switch_table
from supplycalc.records.table import Cell, Column, Table
from supplycalc.units import convert, show, unit_of

if TYPE_CHECKING:
    from supplycalc.output.old_page import Page
    from supplycalc.questions.well.parts import Duty, TankCheck
    from supplycalc.questions.well.study import WellCheck
    from supplycalc.units import UnitSystem

CAUTIONS = (
    "Electricity and water: switch off and lock out the pump's circuit before you open the "
    "pressure switch or the well, and prove it dead. Wiring, bonding and grounding are a licensed "
    "electrician's work.",
    "Pressure: the tank's air charge is set with the pump off and the tank drained. A tank, pipe "
    "or heater over its rating bursts; keep relief valves free.",
    "Well: its cap stays tight, and everything that goes in is disinfected. After any work "
    "disinfect, flush and have the water tested before anyone drinks. Never climb into a well or "
    "a pit: the air in it can kill.",
    "Drilling, pump setting and well closing are licensed work in many places; local code decides.",
)
"""Common practice, no source."""


def answer(check: WellCheck, system: UnitSystem) -> str:
    """Does the supply hold, in one or two sentences; what fails comes first."""
    fails = [one for one in check.findings if one.level == "fail"]
    if not fails:
        return _holding(check, system)
    text = f"Fails ({fails[0].where}): {finding_text(fails[0], system)}."
    if fails[0].code == pump_cannot_hold.code:
        return text
    return f"{text} {_holding(check, system)}"


def _holding(check: WellCheck, system: UnitSystem) -> str:
    """What the pump holds or must hold."""
    flow = show(check.design_flow, "flow", system)
    if check.station is None:
        if check.duty is None:
            return "Nothing can be said: the file names no pressure switch."
        head = show(check.duty.head, "head", system)
        hold = show(check.pressure_to_hold, "pressure", system)
        known = check.design.house.source.pump is not None
        lack = "does not say what the pump can give" if known else "names no pump"
        return f"The file {lack}: it must give {flow} against {head} to hold {hold}."
    word = "the set pressure" if check.station.held else "cut-in"
    cut_in = f"{word}, {show(check.pressure_to_hold, 'pressure', system)}"
    held = check.held_pressure or 0.0
    if check.holds:
        return f"The pump holds the design flow of {flow} at {cut_in}{_for_how_long(check, system)}"
    if held <= 0.0:
        return f"The pump cannot give the design flow of {flow} at any pressure."
    sinks = show(held, "pressure", system)
    gives = show(check.points[0].flow, "flow", system)
    return (
        f"The pump does not hold the design flow of {flow} at {cut_in}: it gives {gives} "
        f"there, and while {flow} run the pressure sinks to {sinks}."
    )


def _for_how_long(check: WellCheck, system: UnitSystem) -> str:
    """What the well says to a pump that holds the design flow."""
    sustained = check.supply.sustained
    if sustained is None or check.supply.peak_flow_short <= 0.0:
        return "."
    return f", but not for long: the well sustains only {show(sustained, 'flow', system)}."


def well_page(page: Page, check: WellCheck, system: UnitSystem) -> None:
    """Write the result of `well`."""
    lasting = check.holds and check.supply.peak_flow_short <= 0.0
    style = "red" if not check.ok else "green" if lasting else "yellow"
    page.paragraph(answer(check, system), style=style)
    if check.points:
        page.table(points_table(check), system)
        _speeds(page, check, system)
        _uncertain(page, check, system)
    if check.duty is not None:
        page.table(duty_table(check.duty), system)
        page.paragraph(
            "A curve through the duty point or above it holds the design flow at cut-in; below "
            "the least head without flow the pump never stops."
        )
    if check.tank is not None:
        page.table(
            tank_table(check.tank, held=check.station is not None and check.station.held), system
        )
        page.paragraph(tank_words(check.tank, system))
    if check.suction is not None:
        one = check.suction
        page.paragraph(
            f"Suction at cut-in: {show(one.lift, 'length', system)} of lift and "
            f"{show(one.friction_head, 'head', system)} of friction, "
            f"{show(one.limit, 'length', system)} the practical limit here; "
            f"{show(one.available, 'head', system)} of suction head available."
        )
    page.table(yield_table(check, system), system)
    page.paragraph(yield_words(check, system))
    pipe_part(page, check, system)
    if check.switches:
        page.table(switch_table(check, system), system)
        page.table(switch_parts_table(check, system), system)
        limit = show(check.switches[0].limit, "pressure", system)
        page.paragraph(
            "Sizes as they are. Set the air charge with every change of the switch; over "
            f"{limit} at rest the house needs a pressure-reducing valve."
        )
    page.heading("Findings")
    if not check.findings:
        page.paragraph("None: no limit is broken.", indent=2)
    for finding in check.findings:
        finding_lines(page, finding, system)
    page.heading("Assumed, because the file leaves it out")
    for assumption in check.assumptions:
        page.paragraph(assumption_text(assumption, system), label="-", indent=2, hang=2)
    page.heading("Take care")
    trench = (TRENCH,) if check.pipe else ()
    for caution in (*CAUTIONS, *trench, separation_words(system)):
        page.paragraph(caution, indent=2, hang=2)


def separation_words(system: UnitSystem) -> str:
    """How far a well stays from what soils it, with the source."""
    from supplycalc.tables import cite as cited
    from supplycalc.tables import load_table, to_si

    table = load_table("well")["separation"]
    parts = [f"{what} {show(to_si(feet, 'ft'), 'length', system)}" for what, feet in table["rows"]]
    where = cite(cited(table))
    return f"Distances of a well, for example: {', '.join(parts)} ({where}); local rules decide."


def points_table(check: WellCheck) -> Table:
    """Where pump and system meet."""
    return Table(
        title="Where the pump works",
        columns=(
            Column(name="at", wrap=True),
            Column(name="pressure", dimension="pressure"),
            Column(name="flow", dimension="flow"),
            Column(name="well falls", dimension="length", wrap=True),
            Column(name="lift", dimension="head"),
            Column(name="friction", dimension="head"),
            Column(name="total head", dimension="head", wrap=True),
        ),
        rows=tuple(
            (
                one.name if one.reached else f"{one.name} (not reached)",
                one.pressure,
                one.flow,
                one.drawdown,
                one.lift,
                one.friction_head,
                one.total_head,
            )
            for one in check.points
        ),
    )


def _speeds(page: Page, check: WellCheck, system: UnitSystem) -> None:
    if check.speeds is not None:
        low, high = check.speeds
        page.paragraph(
            f"It holds its pressure at {low:.0%} of full speed without draw and at {high:.0%} at "
            "the design flow (affinity laws, from memory)."
        )


def _uncertain(page: Page, check: WellCheck, system: UnitSystem) -> None:
    one = check.uncertain
    if one is None:
        return

    def between(ends: tuple[float, float], dimension: str) -> str:
        return " to ".join(show(end, dimension, system) for end in ends)

    held = f"{between(one.held_pressure, 'pressure')} at the design flow"
    if one.held_pressure[1] <= 0.0:
        held = "and none at the design flow, which it cannot give"
    known = "a bucket test" if one.point.measured else "one point of the sheet"
    page.paragraph(
        f"The pump is known by {known} alone: {show(one.point.flow, 'flow', system)} at "
        f"{show(one.point.head, 'head', system)}, sure to "
        f"{one.point.uncertainty:.0%}. That leaves open {between(one.flow_at_cut_in, 'flow')} "
        f"at cut-in, {between(one.flow_at_cut_out, 'flow')} at cut-out, {held}."
    )


def duty_table(duty: Duty) -> Table:
    """What a pump must give."""
    rows: list[tuple[Cell, ...]] = [
        ("duty point: the design flow at cut-in", duty.flow, duty.head, None),
        ("to hold the design flow at cut-out too", duty.flow, duty.head_at_cut_out, None),
        ("least: the largest fixture alone", duty.least_flow, None, None),
        ("least without flow: cut-out and 10 psi", 0.0, duty.least_shut_off, None),
    ]
    if duty.most_shut_off is not None:
        rows.append(("most without flow: the tank's rating", 0.0, duty.most_shut_off, None))
    if duty.most_flow is not None:
        rows.append(("most: what the well sustains", duty.most_flow, None, None))
    low, high = duty.motor_power
    rows.append(("motor, by a pump end of 65 %", None, None, low))
    rows.append(("motor, by a pump end of 45 %", None, None, high))
    return Table(
        title="What the pump must give",
        columns=(
            Column(name="what", wrap=True),
            Column(name="flow", dimension="flow"),
            Column(name="total head", dimension="head"),
            Column(name="power", dimension="power"),
        ),
        rows=tuple(rows),
    )


def tank_table(tank: TankCheck, *, held: bool) -> Table:
    """How the pump cycles, with the tank as it is and with its charge lost."""
    rows: list[tuple[Cell, ...]] = []
    for name, one in (("as it is", tank.cycles), ("air charge lost", tank.waterlogged)):
        if one is not None:
            rows.append(
                (
                    name,
                    one.drawdown,
                    finite(one.run_time),
                    finite(one.starts_per_hour),
                    one.worst_draw,
                )
            )
    rows.append(("limit", None, tank.least_run_time, tank.most_starts, None))
    return Table(
        title="Pressure tank: one cycle of the pump",
        columns=(
            Column(name="tank", wrap=True),
            Column(name="usable", dimension="volume"),
            Column(name="run time", dimension="time"),
            Column(name="starts an hour", digits=1, wrap=True),
            Column(
                name="at a draw of" if held else "worst at a draw of", dimension="flow", wrap=True
            ),
        ),
        rows=tuple(rows),
    )


def tank_words(tank: TankCheck, system: UnitSystem) -> str:
    """Which tank it should be."""
    if tank.usual is not None or tank.needed is None or tank.least_run_time is None:
        return _held_tank_words(tank, system)
    least = show(tank.least_run_time, "time", system)
    if tank.needed <= 0.0:
        return "The pump does not reach cut-out, so no tank gives it a rest."
    if not math.isfinite(tank.needed):
        return "No tank helps: with this air charge it gives no water between cut-out and cut-in."
    needed = show(tank.needed, "volume", system)
    text = f"For a run time of {least} the tank needs {needed}"
    if tank.standard is not None:
        text += f"; the next common one is {show(tank.standard, 'volume', system)}"
    else:
        text += ", which takes several tanks together"
    if tank.peak_shortfall > 0.0 and math.isfinite(tank.needed_for_peak or 0.0):
        text += (
            f". To cover also what the pump lacks over a peak of 7 minutes "
            f"({show(tank.peak_shortfall, 'volume', system)}), "
            f"{show(tank.needed_for_peak or 0.0, 'volume', system)}"
        )
    source = cite(tank.run_time_source)
    return f"{text}. Run time: {source}; starts: {cite(tank.starts_source)}."


def _held_tank_words(tank: TankCheck, system: UnitSystem) -> str:
    """A pump that changes its speed needs no tank to rest by."""
    assert tank.usual is not None
    low, high = (show(end, "volume", system) for end in tank.usual)
    return (
        "The pump slows down as less is drawn and stops only at a trickle, so that a small tank "
        f"does: {low} to {high} are usual ({cite(tank.run_time_source)}). Starts: "
        f"{cite(tank.starts_source)}."
    )


def _about(value: float, dimension: str, system: UnitSystem) -> str:
    """A number to two digits, without its unit: no more is known of it."""
    return f"{float(f'{convert(value, dimension, system)[0]:.2g}'):,.12g}"


def yield_table(check: WellCheck, system: UnitSystem) -> Table:
    """The well against a day's need."""
    supply, found = check.supply, check.supply.balance
    bound = ", at most" if supply.by_drawdown else ""

    def given(volume: float) -> Cell:
        if not math.isfinite(volume):
            return "unknown"
        return _about(volume, "volume", system) if supply.by_drawdown else volume

    rows: list[tuple[Cell, ...]] = [
        (f"a day's water for {supply.people} people", found.daily_need),
        (f"what the well gives in 24 hours{bound}", given(found.daily_yield)),
        (f"what it gives in 2 hours{bound}", given(found.period_yield)),
    ]
    if math.isfinite(found.lifted):
        rows.append(("what the pump lifts in 2 hours", found.lifted))
    rows += [
        ("usable in the bore", found.bore_storage if supply.bore_known else "unknown"),
        ("storage needed beside, to have the day's water within 2 hours", found.storage),
    ]
    return Table(
        title="Well: does it keep up?",
        columns=(Column(name="what", wrap=True), Column(name="water", dimension="volume")),
        rows=tuple(rows),
    )


def yield_words(check: WellCheck, system: UnitSystem) -> str:
    """Whether the well keeps up, and what to build where it does not."""
    supply, well = check.supply, check.design.house.source.well
    if supply.sustained is None:
        return (
            "The file does not say what the well sustains (recovery), so it is taken to be enough."
        )
    text = f"The well sustains {show(supply.sustained, 'flow', system)}, as the file says"
    if supply.by_drawdown and well is not None and well.specific_capacity:
        most = f"{_about(supply.sustained, 'flow', system)} {unit_of('flow', system)}"
        text = (
            f"By its drawdown alone the well gives at most about {most}: its level can fall "
            f"{show(supply.drawdown or 0.0, 'length', system)}, at "
            f"{show(well.specific_capacity, 'specific-capacity', system)}. That is an upper "
            "bound: the deeper and the longer a well is pumped, the less a further fall gives. "
            "Have its yield tested and write it as recovery"
        )
    if supply.peak_flow_short > 0.0:
        text += (
            f"; the design flow is {show(supply.peak_flow_short, 'flow', system)} more, which "
            "only bore, tank or storage can give, and not for long"
        )
    if supply.second_pump is not None:
        flow, head = supply.second_pump
        text += (
            f". From storage a second pump must give {show(flow, 'flow', system)} at "
            f"{show(head, 'head', system)}, the level of the storage taken at the tank's height"
        )
    return f"{text}."
