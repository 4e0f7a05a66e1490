"""What `day` shows: the answer, a chart of the tank's pressure, fixtures, pump, water."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from supplycalc.output.blocks import (
    Block,
    Chart,
    Paragraph,
    Verdict,
    assumptions_blocks,
    care_blocks,
    findings_blocks,
)
from supplycalc.questions.day.result import (
    Day,
    HouseholdWater,
    OutletUse,
    PumpUse,
    WellRun,
    clock,
    stretch_of_time,
)
from supplycalc.questions.day.totals import Event
from supplycalc.records.table import Cell, Column, Table, table_of
from supplycalc.supply.day_need import day_need
from supplycalc.supply.several_wells import well_names, wells_alone
from supplycalc.units import DAY, HOUR, MINUTE, UnitSystem, convert, show, unit_of

SUDDEN = 0.02
"""[h] a pressure that stands longer than this before it changes is drawn as a step"""
KILOWATT_HOUR = 3.6e6
"""[J]"""
WELL_CAUTIONS = (
    "Electricity and water: switch off and lock out the pump's circuit before you open switch or "
    "well; drain the tank before touching its air charge. Licensed trades decide.",
    "Well: keep it capped and away from what soils it; after any work disinfect, flush and have "
    "the water tested before anyone drinks.",
)
"""Common practice, no source."""
CAUTIONS = (
    "Scalding: where pressure falls while others draw, a plain mixer changes its temperature; only "
    "a pressure-balanced or thermostatic valve guards a shower.",
    "A run of days is a draw of chances, not a promise: people differ from the mean by far. Your "
    "local code, its inspector and licensed trades decide.",
)
"""Common practice, no source."""


def day_page(day: Day, system: UnitSystem) -> Iterator[Block]:
    """What `day` shows."""
    warned = any(finding.level == "warn" for finding in day.findings)
    yield Verdict(
        text=day.verdict(system), mood="bad" if not day.ok else "care" if warned else "good"
    )
    yield Paragraph(text=_basis(day))
    if day.house.source.kind == "well" and day.seed is not None:
        yield Paragraph(text=_against_plan(day, system))
    if day.series and day.pump is not None:
        which = "" if day.days == 1 else ", first day"
        title = f"Pressure at the tank{which}, {unit_of('pressure', system)} over the hour"
        first = (event for event in day.series if event.time <= DAY)
        yield pressure_chart(title, first, system)
    yield outlet_table(day)
    yield Paragraph(
        text="runs: minutes a day; lowest: while water runs there, and what else ran then; below: "
        f"minutes in {day.span} with less than it needs."
    )
    if day.pump is not None:
        yield pump_table(day, day.pump)
    if day.wells:
        yield wells_table(day)
    if day.open_tank is not None:
        tank = day.open_tank
        left = max(tank.volume - tank.most_missing, 0.0)
        yield Paragraph(
            text=f"Open water: at its lowest {show(left, 'volume', system)} of "
            f"{show(tank.volume, 'volume', system)} are left; "
            f"{show(tank.came, 'volume', system)} come to it and are kept."
            + (
                ""
                if tank.fillings is None or tank.fill_time is None
                else f" The float starts the well's pump {tank.fillings} times, which runs "
                f"{stretch_of_time(tank.fill_time)}."
            )
        )
    if day.far_tank is not None:
        far = day.far_tank
        text = (
            f"{far.name}: gives {show(far.given, 'volume', system)} over {day.span} and is filled "
            f"again; of {show(far.full, 'volume', system)} at cut-out "
            f"{show(far.least, 'volume', system)} are left at the least"
        )
        if far.empty > 0.0:
            text += f"; it is empty for {stretch_of_time(far.empty)}"
        yield Paragraph(text=f"{text}.")
    yield use_table(day)
    if day.water.by_household:
        yield household_table(day)
    if day.idle:
        yield Paragraph(text=f"Not used in {day.span}: {', '.join(day.idle)}.")
    yield from findings_blocks(day.findings, "None: no limit is broken.")
    yield from assumptions_blocks(day.assumptions, system, "Assumed")
    yield from care_blocks((*(WELL_CAUTIONS if day.pump is not None else ()), *CAUTIONS))


def _basis(day: Day) -> str:
    what = "the file's schedule" if day.seed is None else f"random days of {day.people} people"
    text = f"{day.house.project.name}: {day.draws} draws from {what}"
    if day.seed is not None:
        text += f", seed {day.seed}"
    if day.waterlogged:
        text += "; WHAT IF the tank had lost its air charge"
    return f"{text}; {day.events} events, exact between them."


def _against_plan(day: Day, system: UnitSystem) -> str:
    """How what is drawn here stands to the figure that a well is planned for."""
    need = day_need(day.house, day.people)
    return (
        "An ordinary day is drawn here, by what people use on average. A well is planned for more: "
        f"{show(need.volume, 'volume', system)} a day for {need.people} people, by which "
        "'supplycalc well' and 'size' judge it."
    )


def pressure_chart(title: str, series: Iterable[Event], system: UnitSystem) -> Chart:
    """The tank's pressure over the hours of a day; one that stands is drawn level."""
    points: list[tuple[float, float]] = []
    for event in series:
        hour = event.time / HOUR
        if points and hour - points[-1][0] > SUDDEN:
            points.append((hour, points[-1][1]))
        points.append((hour, convert(event.pressure, "pressure", system)[0]))
    return Chart(title=title, points=tuple(points), x_range=(0.0, DAY / HOUR))


def outlet_table(day: Day) -> Table:
    """Each followed connection: its lowest pressure, when, and how long it had too little."""

    def running(outlet: OutletUse) -> float:
        return outlet.running / day.days

    return table_of(
        "Fixtures while they run, the tightest first",
        OutletUse,
        sorted(day.fixtures, key=lambda outlet: outlet.lowest - outlet.required),
        (
            Column(name="fixture", of="outlet.name", wrap=True),
            Column(name="runs", of=running, dimension="minutes"),
            Column(name="lowest", of=lambda outlet: max(outlet.lowest, 0.0), dimension="pressure"),
            Column(name="needs", of="required"),
            Column(name="below", of="below", dimension="minutes"),
            Column(
                name="lowest at", of=lambda outlet: clock(outlet.lowest_at, day.days), wrap=True
            ),
            Column(name="beside", of=lambda outlet: ", ".join(outlet.beside) or "alone", wrap=True),
        ),
    )


def pump_table(day: Day, pump: PumpUse) -> Table:
    """Pump, tank and well over the run."""
    rows: list[tuple[Cell, ...]] = [
        ("pump starts", str(pump.starts)),
        ("most within an hour", str(pump.most_in_an_hour)),
        ("most in a day", str(pump.most_in_a_day)),
        ("running", stretch_of_time(pump.run_time)),
        ("shortest run", _run(pump.shortest_run)),
        ("longest run", _run(pump.longest_run)),
        (
            "energy",
            "not known: give the well's static_level"
            if pump.energy is None
            else f"{_energy(pump.energy)} kWh",
        ),
    ]
    if pump.energy_range is not None:
        low, high = map(_energy, pump.energy_range)
        rows.append(("energy by usual efficiencies", f"{low} to {high} kWh"))
    if day.source.tank_empty > 0.0:
        rows.append(("tank empty", f"{day.source.tank_empty / MINUTE:.1f} min"))
    if day.pump_system is not None and day.pump_system.casing_area and day.well is not None:
        rows.append(("times run dry", str(len(day.well.dry_runs))))
    return Table(
        title="Pump and tank",
        columns=(Column(name="what", wrap=True), Column(name="value")),
        rows=tuple(rows),
    )


def _run(time: float | None) -> str:
    return "none ended" if time is None else stretch_of_time(time)


def _energy(energy: float) -> str:
    """In kWh, to two digits: by usual efficiencies it is no surer."""
    hours = energy / KILOWATT_HOUR
    text = f"{hours:#.2g}" if energy < 99.5 * KILOWATT_HOUR else f"{hours:.0f}"
    return text.rstrip(".")


def use_table(day: Day) -> Table:
    """Water by fixture, most first."""
    drawn = day.water.drawn
    rows: list[tuple[Cell, ...]] = [
        (fixture.name, fixture.drawn / day.days, fixture.drawn / drawn if drawn else 0.0)
        for fixture in sorted(day.water.by_fixture, key=lambda fixture: -fixture.drawn)
    ]
    rows.append(("in all", drawn / day.days, 1.0))
    return Table(
        title="Water for a day",
        columns=(
            Column(name="fixture", wrap=True),
            Column(name="water", dimension="volume"),
            Column(name="share", dimension="share"),
        ),
        rows=tuple(rows),
    )


def household_table(day: Day) -> Table:
    """Water by household, as the file has them."""
    return table_of(
        "Water for a day, by household",
        HouseholdWater,
        day.water.by_household,
        (
            Column(name="household", of="name", wrap=True),
            Column(name="people", of="people"),
            Column(name="water", of=lambda each: each.drawn / day.days, dimension="volume"),
        ),
    )


def wells_table(day: Day) -> Table:
    """What each of several wells did."""
    return table_of(
        "Each well",
        WellRun,
        day.wells,
        (
            Column(name="well", of="name", wrap=True),
            Column(name="pumped", of="pumped"),
            Column(name="ran", of=lambda well: stretch_of_time(well.run_time)),
            Column(name="held shut", of=lambda well: stretch_of_time(well.held_shut)),
            Column(name="level fell", of="deepest_fall"),
            Column(name="ran dry", of=lambda well: str(len(well.dry_runs))),
        ),
    )


def series_table(day: Day) -> Table:
    """Every event that was kept, for a spreadsheet."""
    house = day.house
    levels: list[Column] = []
    for i, (name, alone) in enumerate(zip(well_names(house), wells_alone(house), strict=True)):
        well = alone.source.well
        at_rest = None if day.pump is None or well is None else well.static_level

        def level(event: Event, i: int = i, at_rest: float | None = at_rest) -> float | None:
            fall = event.falls[i] if event.falls else event.fall
            return None if at_rest is None else at_rest + fall

        title = f"level of {name}" if house.further_wells else "water level"
        levels.append(Column(name=title, of=level, dimension="length"))

    def water(event: Event) -> float | None:
        return None if day.pump is None else event.water

    return table_of(
        "Events",
        Event,
        day.series,
        (
            Column(name="time", of="time"),
            Column(name="clock", of=lambda event: clock(event.time, day.days)),
            Column(name="event", of="event"),
            Column(name="pressure", of="pressure"),
            Column(name="water in tank", of=water, dimension="volume"),
            Column(name="pump", of=lambda event: "on" if event.pump_on else "off"),
            Column(name="pump flow", of="pump_flow"),
            Column(name="drawn", of="drawn"),
            *levels,
        ),
    )
