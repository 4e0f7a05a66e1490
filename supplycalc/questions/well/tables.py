"""The tables of `well`: operating points, duty, tank, yield, other pipe sizes, other switches."""

from __future__ import annotations

import math
from collections.abc import Callable

from supplycalc.chance.storage import SPARED
from supplycalc.chance.tank_needed import TankNeeded
from supplycalc.questions.well.open_source import Booster, LevelPoint, OpenSource
from supplycalc.questions.well.pipe import PipeOption
from supplycalc.questions.well.pump import Duty
from supplycalc.questions.well.study import WellCheck
from supplycalc.questions.well.switch import RELIEF_VALVE, SwitchOption
from supplycalc.questions.well.tank import TankCheck
from supplycalc.records import Cell, Column, Table, table_of
from supplycalc.supply.station import OperatingPoint
from supplycalc.supply.well_line import trench_runs
from supplycalc.supply.well_shares import WellShare
from supplycalc.units import UnitSystem, convert, long_time, show, unit_of


def finite(value: float | None) -> float | None:
    """A number, or None where it is infinite."""
    return value if value is not None and math.isfinite(value) else None


def points_table(check: WellCheck) -> Table:
    """Where pump and system meet."""
    return table_of(
        "Where the pump works",
        OperatingPoint,
        check.points,
        (
            Column(
                name="at",
                of=lambda point: f"{point.name}{'' if point.reached else ' (not reached)'}",
                wrap=True,
            ),
            Column(name="pressure", of="pressure"),
            Column(name="flow", of="flow"),
            Column(name="level falls", of="drawdown", wrap=True),
            Column(name="lift", of="lift"),
            Column(name="friction", of="friction_head"),
            Column(name="total head", of="total_head", wrap=True),
        ),
    )


def shares_table(check: WellCheck) -> Table:
    """What each of several wells gives; into an open tank there is no switch by pressure."""
    opens = check.house.source.open_water
    at_switch = (
        Column(name="halfway", of="halfway"),
        Column(name="at cut-out", of="at_cut_out"),
    )
    return table_of(
        "Each well's share, all pumps running",
        WellShare,
        check.shares,
        (
            Column(name="well", of="name", wrap=True),
            Column(name="gives" if opens else "at cut-in", of="at_cut_in"),
            Column(name="share", of="share"),
            *(() if opens else at_switch),
            Column(name="sustains", of="sustained"),
            Column(name="lasts", of="lasting"),
            Column(name="alone" if opens else "alone at cut-in", of="alone", wrap=True),
        ),
    )


def share_heads_table(check: WellCheck) -> Table:
    """Against what each of several pumps works."""
    return table_of(
        "Each pump's duty" + ("" if check.house.source.open_water else " at cut-in"),
        WellShare,
        check.shares,
        (
            Column(name="well", of="name", wrap=True),
            Column(name="flow", of="at_cut_in"),
            Column(name="total head", of="total_head"),
            Column(name="level falls", of="drawdown"),
            Column(name="most it holds at the tank", of="highest", wrap=True),
        ),
    )


def duty_table(duty: Duty) -> Table:
    """What a pump must give."""
    rows: list[tuple[Cell, ...]] = [
        ("duty point, what it must give: the design flow at cut-in", duty.flow, duty.head, None),
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
    rows: list[tuple[Cell, ...]] = [
        (
            name,
            cycles.drawdown,
            finite(cycles.run_time),
            finite(cycles.starts_per_hour),
            cycles.worst_draw,
        )
        for name, cycles in (
            ("as it is", tank.cycles),
            ("waterlogged, air charge lost", tank.waterlogged),
        )
        if cycles is not None
    ]
    if tank.with_far is not None:
        far = tank.with_far
        name = f"with {far.name}, at most"
        rows.insert(1, (name, far.drawdown, finite(far.run_time), None, None))
    if not held:
        rows.append(("limit", None, tank.least_run_time, tank.most_starts_per_hour, None))
    draw = "at a draw of" if held else "worst at a draw of"
    return Table(
        title="Pressure tank: one cycle of the pump",
        columns=(
            Column(name="tank", wrap=True),
            Column(name="usable", dimension="volume"),
            Column(name="run time", dimension="time"),
            Column(name="starts an hour", digits=1, wrap=True),
            Column(name=draw, dimension="flow", wrap=True),
        ),
        rows=tuple(rows),
    )


def about(value: float, dimension: str, system: UnitSystem) -> str:
    """A number to two digits, without its unit: no more is known of it."""
    return f"{float(f'{convert(value, dimension, system)[0]:.2g}'):,.12g}"


def about_said(value: float, dimension: str, system: UnitSystem) -> str:
    """The same with its unit."""
    return f"{about(value, dimension, system)} {unit_of(dimension, system)}"


def yield_table(check: WellCheck, system: UnitSystem) -> Table:
    """The well against a day's need."""
    well, several = check.well, bool(check.house.further_wells)
    bound = ", at most" if well.by_drawdown else ""
    gives, it, lifts = "the well gives", "it gives", "the pump lifts"
    if several:
        gives, it, lifts = "the wells give", "they give", "the pumps lift"

    def given(volume: float) -> Cell:
        if not math.isfinite(volume):
            return "unknown"
        return about(volume, "volume", system) if well.by_drawdown else volume

    rows: list[tuple[Cell, ...]] = [(f"a day's water for {well.people} people", well.daily_need)]
    # of a well whose yield is not known nobody can say that it needs no storage
    known = math.isfinite(well.period_yield)
    if not known and not well.bore_known:
        rows.append((f"what {gives}, and what storage is needed beside", "unknown"))
    else:
        rows += [
            (f"what {gives} in 24 hours{bound}", given(well.daily_yield)),
            (f"what {it} in 2 hours{bound}", given(well.period_yield)),
        ]
        if math.isfinite(well.lifted):
            rows.append((f"what {lifts} in 2 hours", well.lifted))
        rows += [
            (
                "usable in the wells themselves" if several else "usable in the well itself",
                well.bore_storage if well.bore_known else "unknown",
            ),
            (
                "storage needed beside, to have the day's water within 2 hours",
                well.storage if known else "unknown",
            ),
        ]
    return Table(
        title="Wells: do they keep up?" if several else "Well: does it keep up?",
        columns=(Column(name="what", wrap=True), Column(name="water", dimension="volume")),
        rows=tuple(rows),
    )


def storage_table(needed: TankNeeded, system: UnitSystem) -> Table:
    """The open tank that carries the drawn years."""
    drawn = needed.drawn

    def least(volume: float) -> Cell:
        """To two digits: drawn years tell no more."""
        return about(volume, "volume", system)

    rows: list[tuple[Cell, ...]] = [("carries an ordinary day", least(drawn.ordinary), "", "")]
    for name, across in (
        (f"all days of a year but {SPARED}", drawn.most_days),
        ("every day of a year", drawn.every_day),
    ):
        rows.append((name, *map(least, (across.usual, across.lowest, across.highest))))
    if needed.peak > drawn.every_day.usual:
        rows.append(("or seven minutes of the design flow", least(needed.peak), "", ""))
    beside = {
        "the least span between the floats": needed.between_floats,
        "the time without a pump": drawn.outage,
        "a fire": needed.reserve,
    }
    rows += [
        (f"on top, for {name}", least(volume), "", "")
        for name, volume in beside.items()
        if volume > 0
    ]
    rows.append(("tank needed, usable", least(needed.volume or 0.0), "", ""))
    if needed.held is not None:
        rows.append(("the file's tank holds", least(needed.held), "", ""))
    unit = unit_of("volume", system)
    between = "between well and house" if needed.between_floats > 0.0 else "that carries the house"
    return Table(
        title=f"Open tank {between}, {unit}",
        columns=(
            Column(name="what", wrap=True),
            Column(name="usual year", digits=0),
            Column(name="lowest", digits=0),
            Column(name="highest", digits=0),
        ),
        rows=tuple(rows),
    )


def water_table(supply: OpenSource, system: UnitSystem) -> Table:
    """What comes to open water, what is needed, and how long it lasts."""
    rows: list[tuple[Cell, ...]] = []
    if supply.inflow is not None and supply.comes is not None:
        a_day = show(supply.comes, "volume", system)
        rows.append(("comes to it", f"{supply.inflow_said(system)}, {a_day} a day"))
    planned = f"{supply.people} people need, as a supply is planned"
    rows.append((planned, f"{show(supply.needed, 'volume', system)} a day"))
    for name, hours in (
        ("carries the design flow, from full", supply.lasts),
        ("fills from empty, nothing drawn", supply.fills),
    ):
        if hours is not None:
            rows.append((name, long_time(hours)))
    columns = (Column(name="what", wrap=True), Column(name="water", wrap=True))
    return Table(
        title="Water that comes and water that is needed", columns=columns, rows=tuple(rows)
    )


def levels_table(supply: OpenSource) -> Table:
    """What the level of the water makes of the pressure."""
    return table_of(
        "By the level of the water, sizes as they are",
        LevelPoint,
        supply.levels,
        (
            Column(name="water at its", of="name", wrap=True),
            Column(name="height", of="level"),
            Column(name="pressure at the outlet", of="pressure", wrap=True),
            Column(name="worst fixture", of="worst", wrap=True),
            Column(name="gets", of="gets"),
            Column(name="to spare", of="margin", wrap=True),
        ),
    )


def booster_table(supply: OpenSource, service: str) -> Table:
    """What a booster would make of the pipe."""
    return table_of(
        "A booster behind it, sizes chosen anew",
        Booster,
        supply.boosters,
        (
            Column(name="raises by", of="rise", wrap=True),
            Column(name="head", of="head"),
            Column(name="gives", of="flow"),
            Column(name=service, of="size", wrap=True),
            Column(name="pipe", of="pipe"),
            Column(name="to spare", of="margin", wrap=True),
            Column(name="verdict", of=lambda it: "works" if it.ok else "short"),
            Column(name="before it in the house", of="before_house", wrap=True),
        ),
    )


def offset_pipe_table(check: WellCheck, system: UnitSystem) -> Table:
    """What other sizes of the pipe in the trench would do."""
    pipes = trench_runs(check.house)
    holds = Column(name="holds", of="held_pressure")
    if check.house.source.filled_by is not None:
        last = [Column(name="well's pump gives", of="flow")]
    elif check.station is None:
        last = [Column(name="head", of="required_head")]
    elif check.held:
        last = [Column(name="pump gives", of="flow"), holds]
    else:
        last = [
            Column(name="pump at cut-in", of="flow"),
            Column(name="at cut-out", of="flow_at_cut_out"),
            holds,
        ]
    length = show(sum(pipe.length for pipe in pipes), "length", system)
    return table_of(
        f"Pipe from the well to the tank, {length} of {pipes[0].material}: other sizes",
        PipeOption,
        check.pipe,
        (
            Column(name="size", of=lambda option: f"{option.size}{' now' if option.now else ''}"),
            Column(name="velocity", of="velocity"),
            Column(name="friction", of="friction_head"),
            *last,
        ),
    )


def switch_table(check: WellCheck, system: UnitSystem) -> Table:
    """What raising the switch does at the worst fixture and for the pump."""

    def flow_at(end: int) -> Callable[[SwitchOption], Cell]:
        return lambda option: None if option.pump_flow is None else option.pump_flow[end]

    return table_of(
        f"Raising the switch ({unit_of('setting', system)}): worst fixture and pump",
        SwitchOption,
        check.switches,
        (
            Column(name="switch", of=lambda option: _setting(option, system)),
            Column(name="worst gets", of="residual", wrap=True),
            Column(name="to spare", of="margin", wrap=True),
            Column(name="head needed at cut-in", of="required_head", wrap=True),
            Column(name="pump at cut-in", of=flow_at(0), dimension="flow", wrap=True),
            Column(name="at cut-out", of=flow_at(1), dimension="flow", wrap=True),
            Column(name="verdict", of=lambda option: _verdict(option, system), wrap=True),
        ),
    )


def _setting(option: SwitchOption, system: UnitSystem) -> str:
    low, high = (
        show(end, "setting", system, unit=False).removesuffix(".0")
        for end in (option.cut_in, option.cut_out)
    )
    return f"{low}/{high}{' now' if option.now else ''}"


def _verdict(option: SwitchOption, system: UnitSystem) -> str:
    if not option.reached:
        return "may never stop" if option.perhaps_reached else "never stops"
    if not option.rated and option.weakest == RELIEF_VALVE:
        return "opens the relief valve"
    if not option.rated:
        return f"over the rating of {option.weakest}"
    if option.over_limit:
        return f"over {show(option.limit, 'pressure', system)} at rest"
    if option.margin < 0.0:
        return "worst is short"
    if option.pump_state == "too-small":
        return "pump too small"
    return "works, if the pump keeps up" if option.pump_state == "not-known" else "works"


def switch_parts_table(check: WellCheck, system: UnitSystem) -> Table:
    """What raising the switch does to tank and ratings."""
    return table_of(
        "Raising the switch: tank and ratings",
        SwitchOption,
        check.switches,
        (
            Column(name="switch", of=lambda option: _setting(option, system)),
            Column(name="air charge", of="precharge", wrap=True),
            Column(name="usable", of="drawdown"),
            Column(
                name="run time",
                of=lambda option: finite(option.run_time),
                dimension="time",
                wrap=True,
            ),
            Column(
                name="tank needed",
                of=lambda option: finite(option.tank_needed),
                dimension="volume",
                wrap=True,
            ),
            Column(name="most at rest", of="highest", wrap=True),
            Column(
                name="there",
                of=lambda option: None if option.rating is None else option.pressure_there,
                dimension="pressure",
            ),
            Column(name="rated", of="rating"),
            Column(name="weakest part", of="weakest", wrap=True),
        ),
    )
