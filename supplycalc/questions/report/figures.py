"""The pictures of the page: pressure along the way, the service's sizes, pump and system, waits."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from supplycalc.output.blocks import Figure
from supplycalc.output.drawing import Drawing
from supplycalc.output.plot import Across, BarRow, Series, Span, bars, plot, spans
from supplycalc.questions.compare.study import Comparison
from supplycalc.questions.draw.riser import NARROW
from supplycalc.questions.hot.study import HotStudy
from supplycalc.questions.size.tables import account
from supplycalc.questions.well.study import WellCheck
from supplycalc.sizing.daily_use import DailyUse
from supplycalc.sizing.design import Design, OutletResult, RunResult
from supplycalc.supply.pump import lift
from supplycalc.supply.several_wells import named_wells
from supplycalc.supply.supply_curve import pump_pressure
from supplycalc.units import UnitSystem, convert, show, unit_of

PLOT = 660.0
"""Width of a plot on a wide page."""
STEPS = 24
"""Points of a curve over flow."""
MOST_BARS = 12
MOST_SPANS = 24


def both(draw: Callable[..., Drawing], caption: str) -> Figure:
    """A figure drawn for a wide and for a narrow page."""
    return Figure(wide=draw(width=PLOT), narrow=draw(width=NARROW), caption=caption)


def way_figure(design: Design, system: UnitSystem) -> Figure:
    """The pressure on the way to the worst fixture, a bar a step."""
    worst = design.worst
    rows, before = [], None
    steps = account(design, worst)
    for row in steps.rows[:-2]:
        name, size, left = str(row[0]), row[1], row[-1]
        number = left if isinstance(left, float) else None
        rows.append(
            BarRow(
                name=f"{name}, {size}" if size else name,
                value=number,
                before=before,
                shown=show(number, "pressure", system) if number is not None else str(left),
            )
        )
        before = number or 0.0
    needs = show(worst.required, "pressure", system)
    told = "; ".join(f"{row.name}: {row.shown}" for row in rows)
    draw = partial(
        bars,
        f"Pressure on the way to {worst.name}",
        f"{told}. It needs {needs}.",
        rows,
        needed=worst.required,
        needed_name=f"needed: {needs}",
    )
    return both(
        draw,
        "Filled: what is left at the end of each step; open: what the step took, by loss or rise.",
    )


def service_figure(comparison: Comparison, design: Design, system: UnitSystem) -> Figure | None:
    """Pressure along the way to the worst fixture, the service in each size, over each other."""
    lines, outlet = [], design.worst
    chosen = next(
        (run.nominal for run in design.every_run if run.name == comparison.subject),
        _nominal(comparison),
    )
    for option in comparison.options:
        if option.design is None:
            continue
        points = _along(option.design, outlet, system)
        if points is not None:
            thick = option.size == chosen
            lines.append(Series(name=str(option.size), points=points, thick=thick, dotted=True))
    if len(lines) < 2:
        return None
    length, pressure = unit_of("length", system), unit_of("pressure", system)
    needed = convert(outlet.required, "pressure", system)[0]
    ends = "; ".join(f"{line.name}: {line.points[-1][1]:.1f} {pressure}" for line in lines)
    draw = partial(
        plot,
        f"Pressure on the way to {outlet.name} with each size of {comparison.subject}",
        f"At its end {ends}. Needed: {needed:.1f} {pressure}.",
        lines,
        x_name=f"pipe from the source, {length}",
        y_name=f"pressure, {pressure}",
        levels=[Across(name="needed", y=needed)],
    )
    return both(
        draw,
        f"Each point is the end of a run or a device on the way to {outlet.name}; equipment takes "
        f"its pressure at one place. Lines are named by the size of {comparison.subject}, thick "
        f"the one on this page"
        f"{_anew(comparison, design, chosen)}; a line ends where nothing is left."
        f"{_joined(lines, chosen)}{_short_elsewhere(comparison, outlet)}",
    )


def _anew(comparison: Comparison, design: Design, chosen: str | None) -> str:
    """What is said where the chosen option has other sizes than the page, as where all fail."""
    of_chosen = (option.design for option in comparison.options if str(option.size) == chosen)
    if all(option is None or option.sizes == design.sizes for option in of_chosen):
        return ""
    return ", though with every other size chosen anew"


def _joined(lines: Sequence[Series], chosen: str | None) -> str:
    """Which lines end on the chosen one and lie on it before, as behind a reducing valve."""
    last = {line.name: line.points[-1] for line in lines}
    end = last.get(str(chosen))
    names = [name for name, point in last.items() if point == end and name != chosen]
    if not names or end is None or end[1] <= 0.0:
        return ""
    verb = "ends" if len(names) == 1 else "end"
    return (
        f" {' and '.join(names)} {verb} on the line of {chosen}: from where they meet, as behind "
        "a pressure reducing valve, this size changes nothing."
    )


def _short_elsewhere(comparison: Comparison, outlet: OutletResult) -> str:
    """Which sizes fail though their line reaches what is needed here: another fixture is short."""
    elsewhere = [
        f"{option.size} falls short at {option.design.worst.name}"
        for option in comparison.options
        if option.design is not None
        and option.design.worst.margin < 0.0
        and all(each.margin >= 0.0 for each in option.design.outlets if each.name == outlet.name)
    ]
    return f" Not seen here: {'; '.join(elsewhere)}." if elsewhere else ""


def _nominal(comparison: Comparison) -> str | None:
    best = comparison.best
    return None if best is None else comparison.options[best].size


def _along(
    design: Design, outlet: OutletResult, system: UnitSystem
) -> tuple[tuple[float, float], ...] | None:
    """(length from the source, pressure) at the end of every link of a way, as shown."""
    far, before = 0.0, design.source.design_pressure
    points = [(0.0, convert(design.source.design_pressure, "pressure", system)[0])]
    for index in design.tree.path(outlet.index):
        result = design.result_at.get(index)
        if result is None:
            continue
        length = result.length if isinstance(result, RunResult) else 0.0
        end = result.end_pressure
        # where it is used up on the way, the line ends there
        share = before / (before - end) if end < 0.0 < before else 1.0
        far += share * length
        left = convert(max(end, 0.0), "pressure", system)[0]
        points.append((convert(far, "length", system)[0], left))
        if end < 0.0:
            break
        before = end
    return tuple(points) if len(points) > 1 else None


def pump_figure(check: WellCheck, system: UnitSystem) -> Figure | None:
    """What the pump gives over flow, against what the house asks."""
    station = check.station
    if station is None:
        return None
    house = station.house
    flow_unit, head_unit = unit_of("flow", system), unit_of("pressure", system)
    most = max(check.design_flow, *(point.flow for point in check.points), 1e-9) * 1.25
    flows = [most * step / STEPS for step in range(STEPS + 1)]
    held = [(flow, pump_pressure(house, flow)) for flow in flows]

    def shown(points: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
        return tuple(
            (convert(flow, "flow", system)[0], convert(pressure, "pressure", system)[0])
            for flow, pressure in points
            if pressure >= 0.0
        )

    pump = shown(held)
    if len(pump) < 2:
        return None
    named = named_wells(house)
    one = len(named) == 1
    name = "the pump, at the tank" if one else "all pumps together, at the tank"
    lines = [Series(name=name, points=pump, thick=True)]
    for well, alone in () if one else named:
        held = [(flow, pump_pressure(alone, flow)) for flow in flows]
        lines.append(Series(name=f"{well} alone", points=shown(held)))
    design_flow = convert(check.design_flow, "flow", system)[0]
    levels = [
        Across(name=name, y=convert(pressure, "pressure", system)[0])
        for name, pressure in (
            (("set pressure", station.cut_out),)
            if station.held
            else (("cut-in", station.cut_in), ("cut-out", station.cut_out))
        )
    ]
    top = max(max(y for _, y in pump), *(level.y for level in levels))
    lines.append(Series(name="design flow", points=((design_flow, 0.0), (design_flow, top))))
    fall = f" ({show(lift(house, check.design_flow), 'length', system)} at the design flow)"
    told = "; ".join(
        f"{point.name}: {show(point.flow, 'flow', system)} at "
        f"{show(point.pressure, 'pressure', system)}"
        for point in check.points
    )
    draw = partial(
        plot,
        "Pump and system",
        f"{told}. Design flow {show(check.design_flow, 'flow', system)}.",
        lines,
        x_name=f"flow, {flow_unit}",
        y_name=f"pressure at the tank, {head_unit}",
        levels=levels,
    )
    works = (
        "It holds the set pressure up to the flow at which its line falls to it."
        if station.held
        else f"{'It works' if one else 'All work'} where {'its' if one else 'the thick'} line "
        "crosses cut-in and cut-out."
    )
    what = "What the pump holds" if one else "What each pump alone and all together hold"
    drawn_from = "open tank" if check.house.source.open_water else "well"
    return both(
        draw,
        f"{what} at the pressure tank over flow, lift{fall if one else ''} and pipe "
        f"from the {drawn_from} taken off. {works}",
    )


def wait_figure(study: HotStudy, system: UnitSystem) -> Figure | None:
    """How long each hot outlet waits, the longest first."""
    waits = [
        (outlet.name, outlet.wait)
        for outlet in study.outlets
        if outlet.wait is not None and outlet.wait < 3600.0 and outlet.runs_off
    ]
    if not waits:
        return None
    rows = [
        BarRow(name=name, value=wait, shown=show(wait, "time", system))
        for name, wait in waits[:MOST_BARS]
    ]
    told = "; ".join(f"{row.name}: {row.shown}" for row in rows)
    draw = partial(bars, "Wait for hot water", told, rows)
    longest = (
        f"the {MOST_BARS} longest waits" if len(waits) > MOST_BARS else "the longest waits first"
    )
    return both(draw, f"How long hot water takes, {longest}.")


def daily_figure(use: DailyUse, system: UnitSystem) -> Figure | None:
    """What each fixture has left in rare minutes of its use, against what it needs."""
    unit = unit_of("pressure", system)
    rows = [
        Span(
            name=each.label,
            rare=convert(each.one_in_1000, "pressure", system)[0],
            usual=convert(each.one_in_100, "pressure", system)[0],
            needed=convert(each.required, "pressure", system)[0],
            shown=show(each.one_in_1000, "pressure", system),
        )
        for each in use.connections[:MOST_SPANS]
    ]
    if not rows:
        return None
    told = "; ".join(f"{row.name}: {row.shown}" for row in rows)
    draw = partial(
        spans,
        "Pressure at each fixture in daily use",
        f"In 1 of 1,000 minutes of its use less than: {told}.",
        rows,
        x_name=f"pressure while it runs, {unit}",
    )
    return both(
        draw,
        "Open dot and figure: less in only 1 of 1,000 minutes of its use; filled dot: less in only "
        "1 of 100; bar: what it needs."
        + (f" The {MOST_SPANS} tightest." if len(use.connections) > MOST_SPANS else ""),
    )
