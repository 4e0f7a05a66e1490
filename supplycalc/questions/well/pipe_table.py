"""The table of other sizes of the pipe between well and tank."""

from __future__ import annotations

from typing import TYPE_CHECKING

from supplycalc.records.table import Cell, Column, Table
from supplycalc.supply.drop_pipe import offset_pipe
from supplycalc.units import show

if TYPE_CHECKING:
    from supplycalc.output.old_page import Page
    from supplycalc.questions.well.study import WellCheck
    from supplycalc.units import UnitSystem

TRENCH = (
    "Trench: walls cave in without warning and kill; stay out of an unshored deep one and have "
    "buried lines marked before you dig. Lay the pipe below the frost depth, up to the house and "
    "at the wellhead."
)
"""Common practice, no source."""


def pipe_part(page: Page, check: WellCheck, system: UnitSystem) -> None:
    """Write what other sizes of the pipe would do; nothing where none were tried."""
    if not check.pipe:
        return
    page.table(pipe_table(check, system), system)
    if check.station is None:
        words = (
            "velocity, friction: in this pipe at the design flow; head: what a pump must give then "
            "to hold cut-in."
        )
    else:
        when = "" if check.station.held else " at cut-in"
        words = (
            f"velocity, friction: in this pipe with what the pump gives{when}; holds: the pressure "
            "at the gauge while the design flow runs, by the pump alone. Pump and all else as they "
            "are."
        )
    page.paragraph(f"{words} A filled trench keeps its pipe: choose before.")


def pipe_table(check: WellCheck, system: UnitSystem) -> Table:
    """What other sizes of the pipe in the trench would do."""
    pipe = offset_pipe(check.design.house)
    assert pipe is not None
    held = check.station is not None and check.station.held
    if check.station is None:
        last = [Column(name="head", dimension="head")]
    elif held:
        last = [
            Column(name="pump gives", dimension="flow"),
            Column(name="holds", dimension="pressure"),
        ]
    else:
        last = [
            Column(name="pump at cut-in", dimension="flow"),
            Column(name="at cut-out", dimension="flow"),
            Column(name="holds", dimension="pressure"),
        ]
    rows: list[tuple[Cell, ...]] = []
    for one in check.pipe:
        size = f"{one.nominal}{' now' if one.now else ''}"
        cells: tuple[Cell, ...] = (one.flow, one.flow_at_cut_out, one.held_pressure)
        if check.station is None:
            cells = (one.required_head,)
        elif held:
            cells = (one.flow, one.held_pressure)
        rows.append((size, one.velocity, one.friction_head, *cells))
    length = show(pipe.length, "length", system)
    return Table(
        title=f"Pipe from the well to the tank, {length} of {pipe.material}: other sizes",
        columns=(
            Column(name="size"),
            Column(name="velocity", dimension="velocity"),
            Column(name="friction", dimension="head"),
            *last,
        ),
        rows=tuple(rows),
    )
