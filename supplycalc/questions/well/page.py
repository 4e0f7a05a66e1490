"""What `well` shows: does the pump hold it, does the well keep up, which tank, which switch."""

from __future__ import annotations

import math
from collections.abc import Iterator

from supplycalc.chance.storage import BORNE
from supplycalc.chance.tank_needed import TankNeeded
from supplycalc.model import House
from supplycalc.output.blocks import (
    Block,
    Paragraph,
    Verdict,
    assumptions_blocks,
    care_blocks,
    findings_blocks,
)
from supplycalc.questions.well import tables
from supplycalc.questions.well.open_source import OpenSource
from supplycalc.questions.well.pump import Uncertain
from supplycalc.questions.well.study import WellCheck
from supplycalc.questions.well.tank import TankCheck
from supplycalc.records.sentences import cite
from supplycalc.tables import citation_of, load_table, to_si
from supplycalc.units import DAY, UnitSystem, long_time, show

CAUTIONS = (
    "Electricity and water: switch off and lock out the pump's circuit before you open the "
    "pressure switch or the well, and prove it dead. Wiring, bonding and grounding are a licensed "
    "electrician's work.",
    "Pressure: the tank's air charge is set with the pump off and the tank drained. A tank, pipe "
    "or heater over its rating bursts: set no switch above it, and keep relief valves free.",
    "Well: its cap stays tight, and everything that goes in is disinfected. After any work "
    "disinfect, flush and have the water tested before anyone drinks. Never climb into a well or "
    "a pit: the air in it can kill.",
    "Drilling, pump setting and well closing are licensed work in many places; local code decides.",
)
"""Common practice, no source."""
BOOSTER = (
    "Electricity and water: switch off and lock out a booster's circuit before you open it, and "
    "prove it dead. Wiring, bonding and grounding are a licensed electrician's work."
)
"""Common practice, no source."""
OPEN_WATER = (
    "Open water: a tight cover, screened overflow and vent, and a fence; have it tested and "
    "treated. Never climb in alone: its air may not be breathable, and its walls are steep."
)
"""Common practice, no source."""
TRENCH = (
    "Trench: walls cave in without warning and kill; stay out of an unshored deep one and have "
    "buried lines marked before you dig. Lay the pipe below the frost depth, up to the house and "
    "at the wellhead."
)
"""Common practice, no source."""


def well_page(check: WellCheck, system: UnitSystem) -> Iterator[Block]:
    """What `well` shows."""
    gravity = check.house.source.by_gravity
    lasting = gravity or (check.holds and check.well.peak_flow_short <= 0.0)
    yield Verdict(
        text=check.verdict(system),
        mood="bad" if not check.ok else "good" if lasting else "care",
    )
    yield from _pump(check, system)
    if check.open_source is not None and gravity:
        yield from _open_source(check.open_source, check, system)
    if check.storage is not None:
        yield from _storage(check.storage, check, system)
    if check.open_source is not None and not gravity:
        yield tables.water_table(check.open_source, system)
    if check.tank is not None:
        yield tables.tank_table(check.tank, held=check.held)
        yield Paragraph(text=_which_tank(check.tank, system))
    if check.suction is not None:
        suction = check.suction
        yield Paragraph(
            text=f"Suction at cut-in: {show(suction.lift, 'length', system)} of lift and "
            f"{show(suction.friction_head, 'head', system)} of friction, "
            f"{show(suction.limit, 'length', system)} the practical limit here; "
            f"{show(suction.available, 'head', system)} of suction head available."
        )
    if not check.house.source.open_water:
        yield tables.yield_table(check, system)
        yield Paragraph(text=_keeping_up(check, system))
    if check.pipe:
        yield tables.offset_pipe_table(check, system)
        yield Paragraph(text=_pipe_columns(check))
    if check.switches:
        yield tables.switch_table(check, system)
        yield tables.switch_parts_table(check, system)
        limit = show(check.switches[0].limit, "pressure", system)
        yield Paragraph(
            text="Sizes as they are. Set the air charge with every change of the switch; over "
            f"{limit} at rest the house needs a pressure-reducing valve."
        )
    yield from findings_blocks(check.findings, "None: no limit is broken.")
    yield from assumptions_blocks(check.assumptions, system)
    trench = (TRENCH,) if check.pipe else ()
    opens = (OPEN_WATER,) if check.house.source.open_water else ()
    boosts = check.open_source is not None and check.open_source.boosters
    pumps = (BOOSTER,) if boosts else pump_cautions(check.house)
    digs = () if opens and check.house.source.filled_by is None else (_distances(system),)
    yield from care_blocks((*opens, *pumps, *trench, *digs))


def pump_cautions(house: House) -> tuple[str, ...]:
    """Where work on pump, pressure tank and well can hurt, as far as a house has them."""
    source = house.source
    if not source.open_water or source.filled_by is not None:
        return CAUTIONS
    return () if source.by_gravity else (BOOSTER, CAUTIONS[1])


def _open_source(supply: OpenSource, check: WellCheck, system: UnitSystem) -> Iterator[Block]:
    """What comes to open water, what a booster would do, what its level makes of the pressure."""
    yield tables.water_table(supply, system)
    if supply.boosters:
        service = check.design.service
        yield tables.booster_table(supply, "pipe" if service is None else service.name)
        now = "" if service is None else f", and {service.name} is {service.nominal}"
        yield Paragraph(
            text=f"Without one the pipe is {show(check.design.cost, 'mass', system)}{now}. before "
            "it in the house: what the line brings to where it enters; where a pressure stands, "
            "the booster may stand there too, since no pump may suck on a long line. Its pressure "
            "tank and its wiring come on top."
        )
    yield tables.levels_table(supply)


def _pump(check: WellCheck, system: UnitSystem) -> Iterator[Block]:
    """Where the pump works, or what one must give."""
    if check.shares:
        yield tables.shares_table(check)
        yield Paragraph(text=_one_off(check, system))
        yield tables.share_heads_table(check)
    if check.points and not check.house.further_wells:
        yield tables.points_table(check)
    if check.speeds is not None:
        low, high = check.speeds
        yield Paragraph(
            text=f"It holds its pressure at {low:.0%} of full speed without draw and at {high:.0%} "
            "at the design flow (affinity laws, from memory)."
        )
    if check.points and check.uncertain is not None:
        yield Paragraph(text=_left_open(check.uncertain, system))
    if check.duty is not None:
        yield tables.duty_table(check.duty)
        yield Paragraph(
            text="A curve through the duty point or above it holds the design flow at cut-in; "
            "below the least head without flow the pump never stops."
        )


def _one_off(check: WellCheck, system: UnitSystem) -> str:
    """What is left where one of several pumps is off or fails."""
    design = check.design.pump
    needed = check.design_flow if design is None else design.needed_flow
    opens, judged = check.house.source.open_water, show(needed, "flow", system)
    at = "at the open tank" if opens else "at cut-in"
    total = math.fsum(share.at_cut_in for share in check.shares)
    text = (
        f"Together {show(total, 'flow', system)} {at}. At one pressure the flows of pumps "
        "add; through a line that they share each gives less than alone. "
    )
    told = []
    for share in check.shares if len(check.shares) == 2 else ():
        other = next(each for each in check.shares if each is not share)
        enough = "enough for" if other.alone >= needed else "less than"
        told.append(
            f"With {share.name} off {other.name} gives {show(other.alone, 'flow', system)}"
            + ("" if opens else f", {enough} the {judged} the pumps are judged by")
        )
    return f"{text}{'. '.join(told)}{'.' if told else ''}".strip()


def _left_open(pump: Uncertain, system: UnitSystem) -> str:
    def between(ends: tuple[float, float], dimension: str) -> str:
        return " to ".join(show(end, dimension, system) for end in ends)

    held = f"{between(pump.held_pressure, 'pressure')} at the design flow"
    if pump.held_pressure[1] <= 0.0:
        held = "and none at the design flow, which it cannot give"
    known = "a bucket test" if pump.measured else "one point of the sheet"
    at = show(pump.head, "head", system)
    if pump.pressure is not None:
        at = f"{show(pump.pressure, 'pressure', system)} at the tank"
    return (
        f"The pump is known by {known} alone: {show(pump.flow, 'flow', system)} at {at}, sure to "
        f"{pump.uncertainty:.0%}. "
        f"That leaves open {between(pump.flow_at_cut_in, 'flow')} at cut-in, "
        f"{between(pump.flow_at_cut_out, 'flow')} at cut-out, {held}."
    )


def _which_tank(tank: TankCheck, system: UnitSystem) -> str:
    """Which tank it should be."""
    if tank.usual is not None or tank.needed is None or tank.least_run_time is None:
        return _tank_of_held_pressure(tank, system)
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
    if tank.carries_peak is not None and all(map(math.isfinite, tank.carries_peak)):
        full, low = (show(time, "minutes", system) for time in tank.carries_peak)
        text += (
            f". Tank and pump carry the design flow for {full} from a full tank and for {low} from "
            "a nearly empty one, the pump off at first"
        )
    if tank.peak_shortfall > 0.0 and math.isfinite(tank.needed_for_peak or 0.0):
        text += (
            ". To carry it through a peak of 7 minutes from full takes "
            f"{show(tank.needed_for_peak or 0.0, 'volume', system)}, and from nearly empty no tank "
            "does: that takes a pump or storage"
        )
    source = cite(tank.run_time_source)
    return f"{text}. Run time: {source}; starts: {cite(tank.starts_source)}."


def _tank_of_held_pressure(tank: TankCheck, system: UnitSystem) -> str:
    """A pump that changes its speed needs no tank to rest by."""
    assert tank.usual is not None
    low, high = (show(end, "volume", system) for end in tank.usual)
    return (
        "The pump slows down as less is drawn and stops only at a trickle, so that a small tank "
        f"does: {low} to {high} are usual ({cite(tank.run_time_source)}). How often it may start "
        "its maker says: it starts softly, and the limits for a pump on a switch are not its own."
    )


def _keeping_up(check: WellCheck, system: UnitSystem) -> str:
    """Whether the well keeps up, and what to build where it does not."""
    supply, well = check.well, check.house.source.well
    if supply.sustained is None:
        return (
            "The file does not say what the well sustains (recovery), so it is taken to be enough."
        )
    text = f"The well sustains {show(supply.sustained, 'flow', system)}, as the file says"
    if check.shares:
        each = " and ".join(
            f"{share.name} {show(share.sustained, 'flow', system)}"
            for share in check.shares
            if share.sustained is not None
        )
        text = (
            f"Together the wells give {show(supply.sustained, 'flow', system)} for good, each no "
            f"more than it sustains ({each}) nor than its pump lifts"
        )
    elif supply.by_drawdown and well is not None and well.specific_capacity:
        most = tables.about_said(supply.sustained, "flow", system)
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
        text += (
            f". From storage a second pump must give "
            f"{show(supply.second_pump.flow, 'flow', system)} at "
            f"{show(supply.second_pump.head, 'head', system)}, the level of the storage taken at "
            "the tank's height"
        )
    day = show(supply.daily_need, "volume", system)
    return (
        f"{text}. The {day} for a day are a figure to plan wells by, about twice what is drawn on "
        "an ordinary day ('supplycalc day')."
    )


def _storage(needed: TankNeeded, check: WellCheck, system: UnitSystem) -> Iterator[Block]:
    """Which open tank carries the house, and what it takes to fill it."""
    drawn = needed.drawn
    fill = show(drawn.fill_flow, "flow", system)
    mean = tables.about_said(drawn.drawn, "volume", system)
    if needed.volume is None:
        gives = show(drawn.fill_flow * DAY, "volume", system)
        yield Paragraph(
            text=f"No storage tank carries this house for good: {fill} give {gives} a day at "
            f"most, and {drawn.people} people draw {mean} on a mean day. Use less, find more "
            "water, or have it brought.",
            apart=True,
        )
        return
    yield tables.storage_table(needed, system)
    busiest = tables.about_said(drawn.busiest, "volume", system)
    who = ", ".join((f"{drawn.people} people", *drawn.beside))
    text = (
        f"Drawn: {_years(drawn.years)} of {who}, {mean} on a mean day and {busiest} "
        f"on the busiest; the tank fills with {fill}, begins each year full and is never to run "
        f"dry. {_how_filled(check)}"
    )
    if needed.refill is not None:
        text += f". From empty it takes {long_time(needed.refill)} beside mean use"
    slower = [
        f"at {show(less.flow, 'flow', system)} "
        + (
            "no tank does"
            if less.volume is None
            else f"every day takes {tables.about_said(less.volume, 'volume', system)}"
        )
        for less in drawn.slower
    ]
    if drawn.outage > 0.0:
        text += f". Without the pump it holds in {BORNE:.0%} of all such times"
    if not check.well.keeps_up:
        text += ". As a well is planned it gives too little all the same (see the findings)"
    if slower:
        less = "A well gives less" if _from_well(check) else "Less comes"
        text += f". {less} in a dry summer: {', '.join(slower)}"
    yield Paragraph(text=f"{text}.")


def _from_well(check: WellCheck) -> bool:
    """Whether a well fills the open tank, or would."""
    source = check.house.source
    return not source.open_water or source.filled_by is not None


def _how_filled(check: WellCheck) -> str:
    if not _from_well(check):
        return "Let it run in over an air gap, and off by a screened overflow"
    return (
        "Let the well's pump fill it over an air gap by a float switch; a pump throttled to "
        "little more than the well gives, with dry-run protection, fills it slowly"
    )


def _years(years: int) -> str:
    return "a year" if years == 1 else f"{years} years"


def _pipe_columns(check: WellCheck) -> str:
    """What the columns of the table of pipe sizes mean."""
    if check.house.source.filled_by is not None:
        words = (
            "velocity, friction: in this pipe with what the well's pump then gives into the open "
            "tank. Pump and all else as they are."
        )
    elif check.station is None:
        words = (
            "velocity, friction: in this pipe at the design flow; head: what a pump must give then "
            "to hold cut-in."
        )
    else:
        words = (
            "velocity, friction: in this pipe with what the pump gives"
            f"{'' if check.held else ' at cut-in'}; holds: the pressure at the gauge while the "
            "design flow runs, by the pump alone. Pump and all else as they are."
        )
    return f"{words} A filled trench keeps its pipe: choose before."


def _distances(system: UnitSystem) -> str:
    """How far a well stays from what soils it, with the source."""
    table = load_table("well")["separation"]
    parts = [f"{what} {show(to_si(feet, 'ft'), 'length', system)}" for what, feet in table["rows"]]
    source = cite(citation_of(table))
    return f"Distances of a well, for example: {', '.join(parts)} ({source}); local rules decide."
