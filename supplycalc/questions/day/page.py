"""What `day` prints: the answer, a chart of the tank's pressure, fixtures, pump, water."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from supplycalc.output.old_page import Line, finding_lines
from supplycalc.output.wording import assumption_text
from supplycalc.records.table import Cell, Column, Table
from supplycalc.units import DAY, convert, show, unit_of

if TYPE_CHECKING:
    from supplycalc.output.old_page import Page
    from supplycalc.questions.day.result import Day
    from supplycalc.questions.day.tally import Event
    from supplycalc.units import UnitSystem

CHART_HEIGHT = 12
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


def clock(time: float, days: int = 1) -> str:
    """A time as people say it: "6:42", with the day's number where there are several."""
    seconds = math.floor(time)
    day, rest = divmod(seconds, int(DAY))
    text = f"{rest // 3600}:{rest % 3600 // 60:02d}"
    return f"day {day + 1}, {text}" if days > 1 else text


def _long(time: float) -> str:
    """A stretch of time in seconds, in minutes or in hours, whichever people would say."""
    if time < 300.0:
        return f"{time:.0f} s"
    return f"{time / 60.0:.0f} min" if time < 7200.0 else f"{time / 3600.0:.1f} h"


def _span(day: Day) -> str:
    return "the day" if day.days == 1 else f"{day.days} days"


def answer(day: Day, system: UnitSystem) -> str:
    """What the day was like, in one or two sentences."""
    used = show(day.tally.drawn, "volume", system)
    text = f"In {_span(day)} {used} are drawn"
    if day.plant is not None:
        starts = len(day.tally.starts)
        times = "once" if starts == 1 else f"{starts} times"
        text += (
            f" and the pump starts {times} (at most {day.most_in_an_hour} within an hour), "
            f"running {_long(day.tally.run_time)}"
        )
    short = [one for one in day.outlets if one.below > 0.0]
    if day.tally.dry_runs:
        text += f"; it ran dry, first at {clock(day.tally.dry_runs[0], day.days)}"
    elif short:
        worst = max(short, key=lambda one: one.below)
        text += (
            f"; {worst.outlet.name} has less than it requires for "
            f"{show(worst.below, 'minutes', system)} of its use"
        )
    elif day.outlets:
        text += "; every fixture keeps its pressure while it is used"
    return f"{text}."


def day_page(page: Page, day: Day, system: UnitSystem) -> None:
    """Write the result of `day`."""
    warned = any(one.level == "warn" for one in day.findings)
    style = "red" if not day.ok else "yellow" if warned else "green"
    page.paragraph(answer(day, system), style=style)
    page.paragraph(_basis(day))
    if day.tally.series and day.plant is not None:
        which = "" if day.days == 1 else ", first day"
        page.heading(f"Pressure at the tank{which}, {unit_of('pressure', system)} over the hour")
        first = [one for one in day.tally.series if one.time <= DAY]
        page.lines.extend(Line(text) for text in chart(first, system, page.width))
    page.table(outlet_table(day), system)
    page.paragraph(
        "runs: minutes a day; lowest: while water runs there, and what else ran then; below: "
        f"minutes in {_span(day)} with less than it needs."
    )
    if day.plant is not None:
        page.table(pump_table(day), system)
    page.table(use_table(day), system)
    idle = [one.name for one in day.design.house.fixtures if one.name not in day.tally.used]
    if idle:
        page.paragraph(f"Not used in {_span(day)}: {', '.join(idle)}.")
    page.heading("Findings")
    if not day.findings:
        page.paragraph("None: no limit is broken.", indent=2)
    for finding in day.findings:
        finding_lines(page, finding, system)
    page.heading("Assumed")
    for assumption in day.assumptions:
        page.paragraph(assumption_text(assumption, system), label="-", indent=2, hang=2)
    page.heading("Take care")
    for caution in (*(WELL_CAUTIONS if day.plant is not None else ()), *CAUTIONS):
        page.paragraph(caution, indent=2, hang=2)


def _basis(day: Day) -> str:
    what = "the file's schedule" if day.seed is None else f"random days of {day.people} people"
    text = f"{day.design.house.project.name}: {day.tally.draws} draws from {what}"
    if day.seed is not None:
        text += f", seed {day.seed}"
    if day.waterlogged:
        text += "; WHAT IF the tank had lost its air charge"
    return f"{text}; {day.tally.events} events, exact between them."


def chart(series: list[Event], system: UnitSystem, width: int) -> list[str]:
    """The tank's pressure over the hours as lines of text, drawn by a library.

    Args:
        series: events in order.
        system: units of the pressures.
        width: of the terminal [characters].

    Returns:
        The lines, without line breaks.
    """
    from uniplot import plot_to_string

    hours: list[float] = []
    pressures: list[float] = []
    for one in series:
        value = convert(one.pressure, "pressure", system)[0]
        if pressures and one.time / 3600.0 - hours[-1] > 0.02:
            hours.append(one.time / 3600.0)
            pressures.append(pressures[-1])
        hours.append(one.time / 3600.0)
        pressures.append(value)
    drawn = plot_to_string(
        xs=hours,
        ys=pressures,
        lines=True,
        width=max(width - 12, 30),
        height=CHART_HEIGHT,
        x_min=0.0,
        x_max=24.0,
        x_gridlines=[],
        y_gridlines=[],
        line_length_hard_cap=width,
    )
    return [line.rstrip() for line in drawn.splitlines()]


def outlet_table(day: Day) -> Table:
    """Each followed connection: its lowest pressure, when, and how long it had too little."""
    rows: list[tuple[Cell, ...]] = []
    ranked = sorted(day.outlets, key=lambda one: one.lowest - one.outlet.required_pressure)
    for one in ranked:
        rows.append(
            (
                one.outlet.name,
                one.running / day.days,
                max(one.lowest, 0.0),
                one.outlet.required_pressure,
                one.below,
                clock(one.lowest_at, day.days),
                ", ".join(one.beside) or "alone",
            )
        )
    return Table(
        title="Fixtures while they run, the tightest first",
        columns=(
            Column(name="fixture", wrap=True),
            Column(name="runs", dimension="minutes"),
            Column(name="lowest", dimension="pressure"),
            Column(name="needs", dimension="pressure"),
            Column(name="below", dimension="minutes"),
            Column(name="lowest at", wrap=True),
            Column(name="beside", wrap=True),
        ),
        rows=tuple(rows),
    )


def pump_table(day: Day) -> Table:
    """Pump, tank and well over the run."""
    tally, one = day.tally, day.plant
    runs = tally.runs
    low, high = day.energy_range or (None, None)
    rows: list[tuple[Cell, ...]] = [
        ("pump starts", _number(len(tally.starts))),
        ("most within an hour", _number(day.most_in_an_hour)),
        ("most in a day", _number(day.most_in_a_day)),
        ("running", _long(tally.run_time)),
        ("shortest run", _long(min(runs)) if runs else "none ended"),
        ("longest run", _long(max(runs)) if runs else "none ended"),
        ("energy", f"{_energy(day.energy)} kWh"),
    ]
    if low is not None and high is not None:
        ends = f"{_energy(low)} to {_energy(high)} kWh"
        rows.append(("energy by usual efficiencies", ends))
    if tally.empty > 0.0:
        rows.append(("tank empty", f"{tally.empty / 60.0:.1f} min"))
    if one is not None and one.area:
        rows.append(("times run dry", _number(len(tally.dry_runs))))
    return Table(
        title="Pump and tank",
        columns=(Column(name="what", wrap=True), Column(name="value")),
        rows=tuple(rows),
    )


def _number(value: float) -> str:
    return f"{value:.0f}"


def _energy(value: float) -> str:
    """In kWh, to two digits: by usual efficiencies it is no surer."""
    text = f"{value / 3.6e6:#.2g}" if value < 99.5 * 3.6e6 else f"{value / 3.6e6:.0f}"
    return text.rstrip(".")


def use_table(day: Day) -> Table:
    """Water by fixture, most first."""
    used = sorted(day.tally.used.items(), key=lambda item: -item[1])
    rows: list[tuple[Cell, ...]] = [
        (name, amount / day.days, amount / day.tally.drawn if day.tally.drawn else 0.0)
        for name, amount in used
    ]
    rows.append(("in all", day.tally.drawn / day.days, 1.0))
    return Table(
        title="Water for a day",
        columns=(
            Column(name="fixture", wrap=True),
            Column(name="water", dimension="volume"),
            Column(name="share", dimension="share"),
        ),
        rows=tuple(rows),
    )


def series_table(day: Day) -> Table:
    """Every event that was kept, for a spreadsheet."""
    level = None
    well = day.design.house.source.well
    if day.plant is not None and well is not None and well.static_level is not None:
        level = well.static_level
    rows: list[tuple[Cell, ...]] = []
    for one in day.tally.series or ():
        deep = None if level is None else level + one.fall
        rows.append(
            (
                one.time,
                clock(one.time, day.days),
                one.what,
                one.pressure,
                one.water if day.plant is not None else None,
                "on" if one.pump_on else "off",
                one.pump_flow,
                one.drawn,
                deep,
            )
        )
    return Table(
        title="Events",
        columns=(
            Column(name="time", dimension="time"),
            Column(name="clock"),
            Column(name="event"),
            Column(name="pressure", dimension="pressure"),
            Column(name="water in tank", dimension="volume"),
            Column(name="pump"),
            Column(name="pump flow", dimension="flow"),
            Column(name="drawn", dimension="flow"),
            Column(name="water level", dimension="length"),
        ),
        rows=tuple(rows),
    )
