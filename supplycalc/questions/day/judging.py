"""What a day shows that breaks a limit."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.pressure import pressure_short
from supplycalc.findings.rule import YOUR_FILE
from supplycalc.findings.well import short_cycling, switch_above_pump
from supplycalc.findings.words import listed
from supplycalc.questions.day.plant import Plant
from supplycalc.questions.day.result import Day
from supplycalc.sizing.design import Finding
from supplycalc.supply.limits import most_starts_per_day, most_starts_per_hour, well_limit
from supplycalc.supply.well import available_drawdown


def day_findings(day: Day) -> Iterator[Finding]:
    """Judge a day.

    Args:
        day: run to its end.

    Returns:
        Failures first, then warnings, then notes.

    Source: each finding names its own.
    """
    yield from _dry(day)
    yield from _never_stops(day)
    yield from _below(day)
    yield from _empty(day)
    yield from _starts(day)


def _dry(day: Day) -> Iterator[Finding]:
    runs = day.tally.dry_runs
    if day.plant is not None and not day.plant.area:
        yield from _too_deep(day, day.plant)
    if not runs or day.plant is None:
        return
    times = "once" if len(runs) == 1 else f"{len(runs)} times"
    yield Finding(
        level="fail",
        code="runs-dry",
        where="well",
        message=f"the pump ran dry {times}: the level fell {{0}} below rest",
        values=((day.plant.dry, "length"),),
        remedy="fit dry-run protection; fit a smaller pump or spread the draws; where the day "
        "needs more, store water and pump it twice ('supplycalc well')",
        source=YOUR_FILE,
    )


def _too_deep(day: Day, one: Plant) -> Iterator[Finding]:
    """A level that follows the pump at once and at the most flow falls to the pump."""
    well = one.house.source.well
    if well is None or not well.specific_capacity or not day.tally.starts:
        return
    available = available_drawdown(well, well_limit("submergence").value)
    flow = one.supply_curve.flow_at(max(min(day.tally.lowest, one.cut_in), 0.0))
    fall = flow / well.specific_capacity
    if available is None or fall <= available:
        return
    yield Finding(
        level="fail",
        code="runs-dry",
        where="well",
        message="at {0} its level falls {1} below rest; {2} are there above the pump",
        values=((flow, "flow"), (fall, "length"), (available, "length")),
        remedy="fit dry-run protection and a smaller pump, or hang it lower; give the casing's "
        "diameter in [source.well] to see when it runs dry",
        source=YOUR_FILE,
    )


def _never_stops(day: Day) -> Iterator[Finding]:
    if day.plant is None or not day.tally.starts or day.plant.control == "held":
        return
    if day.plant.supply_curve.flow_at(day.plant.cut_out) <= 0.0:
        yield Finding(
            level="fail",
            code=switch_above_pump.code,
            where="pressure switch",
            message="the pump never stops: it does not reach the cut-out of {0}",
            values=((day.plant.cut_out, "pressure"),),
            remedy="lower the switch, or fit a pump with more head",
            source=YOUR_FILE,
        )


def _below(day: Day) -> Iterator[Finding]:
    short = [one for one in day.outlets if one.below > 0.0]
    if not short:
        return
    worst = max(short, key=lambda one: one.below)
    yield Finding(
        level="warn",
        code=pressure_short.code,
        where=listed(one.outlet.name for one in short),
        message=f"less than required while in use; longest at {worst.outlet.name}, {{0}} in all, "
        "down to {1} of the {2} it asks for",
        values=(
            (worst.below, "minutes"),
            (max(worst.lowest, 0.0), "pressure"),
            (worst.outlet.required_pressure, "pressure"),
        ),
        remedy="see 'supplycalc size' for what would mend it, 'supplycalc well' for pump and tank",
        source=YOUR_FILE,
    )


def _empty(day: Day) -> Iterator[Finding]:
    if day.tally.empty > 0.0:
        yield Finding(
            level="warn",
            code="tank-empty",
            where="pressure tank",
            message="it was empty for {0}: the pump alone fed the house then, at {1} at the lowest",
            values=((day.tally.empty, "minutes"), (max(day.tally.lowest, 0.0), "pressure")),
            remedy="a larger pump where the well allows it, or demand spread over time; a larger "
            "tank only delays it",
            source=YOUR_FILE,
        )


def _starts(day: Day) -> Iterator[Finding]:
    if day.plant is None:
        return
    power = day.plant.station.motor_power
    hourly, hourly_source = most_starts_per_hour(power)
    daily, daily_source = most_starts_per_day(power)
    remedy = "fit a larger tank with the right air charge; mend what drips"
    if day.waterlogged:
        remedy = (
            "give the tank its air charge again, with the pump locked out and the tank drained; "
            "where it does not hold it, replace the tank"
        )
    if day.most_in_an_hour > hourly:
        yield Finding(
            level="warn",
            code=short_cycling.code,
            where="pump",
            message=f"started {day.most_in_an_hour} times within an hour; {hourly:g} are the most "
            "for a motor of {0}",
            values=((power, "power"),),
            remedy=remedy,
            source=hourly_source,
        )
    if day.most_in_a_day > daily:
        yield Finding(
            level="warn",
            code=short_cycling.code,
            where="pump",
            message=f"started {day.most_in_a_day} times in a day; {daily:g} are the most for a "
            "motor of {0}",
            values=((power, "power"),),
            remedy=remedy,
            source=daily_source,
        )
