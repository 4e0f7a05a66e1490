"""What a day shows that breaks a limit."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from supplycalc.findings.pressure import pressure_short
from supplycalc.findings.rule import YOUR_FILE
from supplycalc.findings.well import relief_valve, short_cycling, switch_above_pump
from supplycalc.findings.words import listed
from supplycalc.questions.day.pump_system import PumpSystem, WellPart
from supplycalc.questions.day.result import Day, PumpUse, longest_below
from supplycalc.records.sentences import Finding
from supplycalc.supply.limits import most_starts_per_day, most_starts_per_hour, well_limit
from supplycalc.supply.well import available_drawdown
from supplycalc.units.quantities import Pressure

CODE = "size-fails"


def _what_size_says(day: Day) -> Iterator[Finding]:
    """Why `size` fails a house whose drawn day may have gone well."""
    fails = [finding for finding in day.design.findings if finding.level == "fail"]
    told = {finding.code for finding in day.findings}
    if not fails or {finding.code for finding in fails} <= told:
        return
    first = fails[0]
    peak = ""
    if first.code == pressure_short.code:
        peak = "; that is at its design flow, which an ordinary day hardly reaches"
    yield Finding(
        level="warn",
        code=CODE,
        where=first.where,
        message=f"'supplycalc size' fails this house: {first.message}{peak}",
        values=first.values,
        remedy="see what 'supplycalc size' would do; one drawn day is no proof against it",
        source=first.source,
    )


def day_findings(day: Day) -> Iterator[Finding]:
    """The findings on a day, and where the design itself fails, why."""
    of_day = tuple(_of_day(day))
    yield from of_day
    yield from _what_size_says(replace(day, findings=of_day))


def _of_day(day: Day) -> Iterator[Finding]:
    """Judge a day, failures first."""
    if day.pump_system is not None:
        yield from _dry(day, day.pump_system)
        yield from _never_stops(day, day.pump_system)
        yield from _spills(day.pump_system)
    if day.house.source.filled_by is not None:
        yield from _filler_dry(day)
    yield from _tank_dry(day)
    yield from _below(day)
    yield from _empty(day)
    # a pump that holds its pressure starts softly, as often as its maker says
    if day.pump_system is not None and day.pump is not None and day.pump_system.control != "held":
        yield from _starts(day.pump, day.pump_system.station.motor_power, day.waterlogged)


def _dry(day: Day, system: PumpSystem) -> Iterator[Finding]:
    if system.parts:
        yield from _each_dry(day, system)
        return
    if not system.casing_area:
        yield from _too_deep(day, system, system.cut_in)
    if day.well is None or not day.well.dry_runs:
        return
    runs = len(day.well.dry_runs)
    times = "once" if runs == 1 else f"{runs} times"
    yield Finding(
        level="fail",
        code="runs-dry",
        where="well",
        message=f"the pump ran dry {times}: the level fell {{0}} below rest",
        values=((system.dry_fall, "length"),),
        remedy="fit dry-run protection; fit a smaller pump or spread the draws; where the day "
        "needs more, store water and pump it twice ('supplycalc well')",
        source=YOUR_FILE,
    )


def _filler_dry(day: Day) -> Iterator[Finding]:
    """A pump that fills an open tank and draws its well down to itself."""
    for well in day.wells:
        if well.dry_runs:
            runs = len(well.dry_runs)
            yield Finding(
                level="warn",
                code="runs-dry",
                where=well.name,
                message=f"its pump, which fills the open tank, runs dry "
                f"{'once' if runs == 1 else f'{runs} times'}: the level falls {{0}} below rest",
                values=((well.deepest_fall, "length"),),
                remedy="throttle it to a little less than the well gives, and fit dry-run "
                "protection",
                source=YOUR_FILE,
            )


def _each_dry(day: Day, system: PumpSystem) -> Iterator[Finding]:
    """Of several wells those whose pump ran dry while the others went on, or sank too deep."""
    for well, part in zip(day.wells, system.parts, strict=True):
        if well.dry_runs:
            runs = len(well.dry_runs)
            yield Finding(
                level="fail",
                code="runs-dry",
                where=well.name,
                message=f"its pump ran dry {'once' if runs == 1 else f'{runs} times'}: the level "
                "fell {0} below rest; the other went on alone",
                values=((part.dry_fall, "length"),),
                remedy="fit dry-run protection on this pump; throttle it to what its well gives, "
                "or spread the draws",
                source=YOUR_FILE,
            )
        elif not part.casing_area:
            for finding in _too_deep(day, part, system.cut_in):
                yield replace(finding, where=well.name)


def _too_deep(day: Day, system: WellPart, cut_in: Pressure) -> Iterator[Finding]:
    """A level that follows the pump at once and at the most flow falls to the pump."""
    well = system.house.source.well
    if well is None or not well.specific_capacity or not _started(day):
        return
    available = available_drawdown(well, well_limit("submergence").value)
    flow = system.supply_curve.flow_at(max(min(day.source.lowest, cut_in), 0.0))
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


def _tank_dry(day: Day) -> Iterator[Finding]:
    """An open tank that gives out, after which only what comes to it is there."""
    tank = day.open_tank
    if tank is None or not tank.ran_dry:
        return
    runs = len(tank.ran_dry)
    yield Finding(
        level="fail",
        code="open-tank-dry",
        where="spring" if day.house.source.kind == "spring" else "open tank",
        message=f"it runs dry {'once' if runs == 1 else f'{runs} times'}; {{0}} that the house "
        "would draw then are not there",
        values=((tank.lacked, "volume"),),
        remedy="store more, or spread the draws; where less comes than is drawn, find more water",
        source=YOUR_FILE,
    )


def _started(day: Day) -> bool:
    return day.pump is not None and day.pump.starts > 0


def _never_stops(day: Day, system: PumpSystem) -> Iterator[Finding]:
    if not _started(day) or system.control == "held":
        return
    if system.supply_curve.flow_at(system.cut_out) <= 0.0:
        yield Finding(
            level="fail",
            code=switch_above_pump.code,
            where="pressure switch",
            message="the pump never stops: it does not reach the cut-out of {0}",
            values=((system.cut_out, "setting"),),
            remedy="lower the switch, or fit a pump with more head",
            source=YOUR_FILE,
        )


def _spills(system: PumpSystem) -> Iterator[Finding]:
    tank = system.house.source.tank
    if tank is None or tank.relief is None or tank.relief > system.cut_out:
        return
    yield Finding(
        level="fail",
        code=relief_valve.code,
        where="pressure tank",
        message="its relief valve opens at {0}, but the pump stops only at {1}: it spills what the "
        "pump gives, which this day leaves out",
        values=((tank.relief, "setting"), (system.cut_out, "setting")),
        remedy="fit one that opens above cut-out, within the tank's rating, or lower the switch",
        source=YOUR_FILE,
    )


def _below(day: Day) -> Iterator[Finding]:
    if not day.short:
        return
    worst = longest_below(day.short)
    yield Finding(
        level="warn",
        code=pressure_short.code,
        where=listed(outlet.outlet.name for outlet in day.short),
        message=f"less than required while in use; longest at {worst.outlet.name}, {{0}} in all, "
        "down to {1} of the {2} it asks for",
        values=(
            (worst.below, "minutes"),
            (max(worst.lowest, 0.0), "pressure"),
            (worst.required, "pressure"),
        ),
        remedy="see 'supplycalc size' for what would mend it, 'supplycalc well' for pump and tank",
        source=YOUR_FILE,
    )


def _empty(day: Day) -> Iterator[Finding]:
    if day.source.tank_empty > 0.0:
        yield Finding(
            level="warn",
            code="tank-empty",
            where="pressure tank",
            message="it was empty for {0}: the pump alone fed the house then, at {1} at the lowest",
            values=(
                (day.source.tank_empty, "minutes"),
                (max(day.source.lowest, 0.0), "pressure"),
            ),
            remedy="a larger pump where the well allows it, or demand spread over time; a larger "
            "tank only delays it",
            source=YOUR_FILE,
        )


def _starts(pump: PumpUse, power: float, waterlogged: bool) -> Iterator[Finding]:
    remedy = "fit a larger tank with the right air charge; mend what drips"
    if waterlogged:
        remedy = (
            "give the tank its air charge again, with the pump locked out and the tank drained; "
            "where it does not hold it, replace the tank"
        )
    for starts, when, (most, source) in (
        (pump.most_in_an_hour, "within an hour", most_starts_per_hour(power)),
        (pump.most_in_a_day, "in a day", most_starts_per_day(power)),
    ):
        if starts > most:
            yield Finding(
                level="warn",
                code=short_cycling.code,
                where="pump",
                message=f"started {starts} times {when}; {most:g} are the most for a motor of "
                "{0}",
                values=((power, "power"),),
                remedy=remedy,
                source=source,
            )
