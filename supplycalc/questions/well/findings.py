"""What is wrong with pump, well and tank, and what was assumed of them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from supplycalc.chance.tank_needed import TankNeeded
from supplycalc.chance.well_yield import NOT_RUN, WellYield
from supplycalc.findings import RULES, judge
from supplycalc.findings.open_water import inflow_short
from supplycalc.findings.well import yield_short
from supplycalc.model import House
from supplycalc.network import well_side
from supplycalc.questions.well.tank import TankCheck
from supplycalc.records.sentences import Assumption, Finding
from supplycalc.sizing.design import Design
from supplycalc.supply.limits import well_limit
from supplycalc.supply.several_wells import named_wells
from supplycalc.supply.station import Station
from supplycalc.supply.well_line import trench_runs
from supplycalc.tables import citation_of, code_limit, load_table
from supplycalc.units import DAY

CODES = frozenset(rule.code for rule in RULES if rule.well)
"""Of the findings of `size` that belong to the well's parts."""
BY_PEOPLE = tuple(rule for rule in RULES if rule in (yield_short, inflow_short))
"""Judged anew for the people that are asked about."""


def well_findings(
    design: Design, station: Station | None, tank: TankCheck | None, storage: TankNeeded | None
) -> Iterator[Finding]:
    """The findings on pump, well and tank: those of the design that belong here, then its own;
    where height alone feeds the house, all that fails."""
    own = list(judge(design, BY_PEOPLE))
    codes = {rule.code for rule in BY_PEOPLE}
    for finding in design.findings:
        if finding.code in codes:
            yield from own  # in its place
            own = []
        elif finding.code in CODES or (finding.level == "fail" and design.house.source.by_gravity):
            yield finding
    yield from own
    if storage is not None and storage.held is not None:
        yield from _too_small(storage, storage.held)
    if station is not None and tank is not None:
        yield from _starts(station, tank)
    if station is not None:
        yield from _runs_dry(well_side(design.house))


def _too_small(storage: TankNeeded, held: float) -> Iterator[Finding]:
    """An open tank that holds less than drawn years take."""
    need, years = storage.volume, storage.drawn.years
    if need is None or held >= need:
        return
    yield Finding(
        level="warn",
        code="open-tank-small",
        where="open tank",
        message="holds {0}; to carry every day of a usual year of "
        f"{'the one' if years == 1 else years} drawn it takes {{1}}",
        values=((held, "volume"), (need, "volume")),
        remedy="store more, or use less on busy days; 'supplycalc well' shows what each size "
        "carries",
    )


def _starts(station: Station, tank: TankCheck) -> Iterator[Finding]:
    if tank.cycles is None:
        return
    most, allowed = tank.cycles.starts_per_hour, tank.most_starts_per_hour
    if math.isinf(most):
        return
    if allowed is None:
        yield Finding(
            level="note",
            code="starts-per-hour",
            where="pump",
            message="it sleeps while less than about {0} is drawn, and the tank gives {1} until it "
            f"wakes: a steady draw just under that, such as a running toilet, wakes it {most:.0f} "
            "times an hour",
            values=((tank.cycles.worst_draw, "flow"), (tank.cycles.drawdown, "volume")),
            remedy="mend what drips or runs on; ask the maker at what flow its drive sleeps and "
            "how often it may wake",
        )
        return
    if most <= allowed * (1.0 + 1e-9):
        return
    yield Finding(
        level="warn",
        code="starts-per-hour",
        where="pump",
        message=f"starts up to {most:.0f} times an hour, at a steady draw of {{0}}; "
        f"{allowed:g} are the most for its motor",
        values=((tank.cycles.worst_draw, "flow"),),
        remedy="fit a larger tank; mend what drips",
        source=tank.starts_source,
    )


def _runs_dry(house: House) -> Iterator[Finding]:
    submergence = well_limit("submergence").value
    for name, alone in named_wells(house):
        well = alone.source.well
        if well is None or well.pump_depth is None or well.static_level is None:
            continue
        if well.pump_depth - well.static_level >= submergence:
            continue
        yield Finding(
            level="fail",
            code="runs-dry",
            where=name or "well",
            message="the pump hangs only {0} below the water at rest; {1} should stand above it",
            values=((well.pump_depth - well.static_level, "length"), (submergence, "length")),
            remedy="hang the pump lower, off the bottom, and fit dry-run protection",
        )


def well_assumptions(
    design: Design, station: Station | None, supply: WellYield, storage: TankNeeded | None
) -> Iterator[Assumption]:
    """What is assumed of pump, well, tank and need: the design's that belong here, its own."""
    source = design.house.source
    words = ("pump", "well", "source", "gauge")
    yield from (
        assumption
        for assumption in design.assumptions
        if any(word in assumption.text for word in words)
    )
    if station is not None and station.precharge_assumed:
        yield Assumption(
            text="air charge of the tank {0}",
            values=((station.precharge, "setting"),),
            source=code_limit("precharge-below-cut-in").citation,
        )
    if station is not None and station.motor_assumed:
        yield Assumption(
            text="motor of {0}, by the pump's work at cut-in and a pump end's usual efficiency",
            values=((station.motor_power, "power"),),
        )
    if supply.people_assumed:
        yield Assumption(
            text=f"{supply.people} people, as the file names no number (people in [project])",
            source=citation_of(load_table("day")["people"]),
        )
    yield Assumption(
        text="{0} for a person and day",
        values=((supply.per_person * DAY, "volume"),),
        source=well_limit("per-person-planning").citation,
    )
    if source.open_water:
        pass
    elif supply.sustained is None:
        yield Assumption(
            text="the well gives what is asked of it: neither recovery nor specific capacity with "
            "levels and depth of the pump is given"
        )
    elif supply.by_drawdown:
        yield Assumption(
            text="what the well gives for good is reckoned from its specific capacity (flow for "
            "each {foot|metre} that its water falls) in a straight line, an upper bound: a "
            "driller's test, written as recovery, tells it"
        )
    if source.by_gravity:
        pass
    elif source.open_water:
        pump = "pump" if source.filled_by is None else "second pump"
        yield Assumption(text=f"no friction between the {pump} and the pressure tank")
    elif not design.house.before_tank:
        yield Assumption(text="no friction between pump and tank: the file names no drop pipe")
    elif (
        not trench_runs(design.house)
        and not (source.tank is not None and source.tank.at_well)
        # told already together with the heights
        and not any(
            "no pipe between wellhead and tank" in assumption.text
            for assumption in design.assumptions
        )
    ):
        yield Assumption(
            text="no friction between wellhead and tank: the file names no offset pipe"
        )
    if supply.second_pump is not None:
        yield Assumption(text=NOT_RUN)
    if storage is not None:
        drawn, day = storage.drawn, load_table("day")
        half = "water halfway" if source.by_gravity else "switch halfway"
        yield Assumption(
            text=f"storage: {drawn.people} people's draws as those of day's random days, and days "
            f"that differ as homes and days do; each outlet at what it draws alone with the {half}",
            source=citation_of(day["busyness"]),
        )
        yield Assumption(
            text="the file's draws at "
            f"{', '.join(drawn.beside)} come on top on every day of the year"
            if drawn.beside
            else "no {hose bibbs|garden taps}, stock or leaks in the storage: write [[draw]] "
            "tables for those"
        )
    if source.altitude == 0.0 and not source.by_gravity:
        yield Assumption(text="the air's pressure is that at the sea (no altitude given)")
