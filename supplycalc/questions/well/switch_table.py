"""The tables of `well` on raising the pressure switch."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from supplycalc.records.table import Cell, Column, Table
from supplycalc.units import show

if TYPE_CHECKING:
    from supplycalc.questions.well.study import WellCheck
    from supplycalc.questions.well.switch import SwitchOption
    from supplycalc.units import UnitSystem


def finite(value: float) -> float | None:
    """A number, or None where it is infinite."""
    return value if math.isfinite(value) else None


def _named(one: SwitchOption, system: UnitSystem) -> str:
    low = show(one.cut_in, "pressure", system, unit=False)
    high = show(one.cut_out, "pressure", system, unit=False)
    now = " now" if one.now else ""
    return f"{low.removesuffix('.0')}/{high.removesuffix('.0')}{now}"


def _unit(system: UnitSystem) -> str:
    return "psi" if system == "us" else "kPa"


def switch_table(check: WellCheck, system: UnitSystem) -> Table:
    """What raising the switch does at the worst fixture and for the pump."""
    rows: list[tuple[Cell, ...]] = []
    for one in check.switches:
        flow = one.pump_flow
        words = "" if one.reached else "may never stop" if one.perhaps_reached else "never stops"
        rows.append(
            (
                _named(one, system),
                one.residual,
                one.margin,
                one.required_head,
                None if flow is None else flow[0],
                None if flow is None else flow[1],
                words or _worst_word(one, system),
            )
        )
    return Table(
        title=f"Raising the switch ({_unit(system)}): worst fixture and pump",
        columns=(
            Column(name="switch"),
            Column(name="worst gets", dimension="pressure", wrap=True),
            Column(name="to spare", dimension="pressure", wrap=True),
            Column(name="head needed at cut-in", dimension="head", wrap=True),
            Column(name="pump at cut-in", dimension="flow", wrap=True),
            Column(name="at cut-out", dimension="flow", wrap=True),
            Column(name="verdict", wrap=True),
        ),
        rows=tuple(rows),
    )


def _worst_word(one: SwitchOption, system: UnitSystem) -> str:
    if not one.rated:
        return f"over the rating of {one.weakest}"
    if one.over_limit:
        return f"over {show(one.limit, 'pressure', system)} at rest"
    return "works" if one.margin >= 0.0 else "worst is short"


def switch_parts_table(check: WellCheck, system: UnitSystem) -> Table:
    """What raising the switch does to tank and ratings."""
    rows: list[tuple[Cell, ...]] = []
    for one in check.switches:
        cycles = one.cycles
        rows.append(
            (
                _named(one, system),
                one.precharge,
                None if cycles is None else cycles.drawdown,
                None if cycles is None else finite(cycles.run_time),
                None if one.tank_needed is None else finite(one.tank_needed),
                one.highest,
                one.pressure_there if one.rating is not None else None,
                one.rating,
                one.weakest,
            )
        )
    return Table(
        title="Raising the switch: tank and ratings",
        columns=(
            Column(name="switch"),
            Column(name="air charge", dimension="pressure", wrap=True),
            Column(name="usable", dimension="volume"),
            Column(name="run time", dimension="time", wrap=True),
            Column(name="tank needed", dimension="volume", wrap=True),
            Column(name="most at rest", dimension="pressure", wrap=True),
            Column(name="there", dimension="pressure"),
            Column(name="rated", dimension="pressure"),
            Column(name="weakest part", wrap=True),
        ),
        rows=tuple(rows),
    )
