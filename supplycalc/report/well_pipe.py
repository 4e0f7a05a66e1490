"""The table of other sizes of the pipe between well and tank."""

from __future__ import annotations

from typing import TYPE_CHECKING

from supplycalc.report.view import Cell, Column, Table
from supplycalc.studies.well_pipe import offset_pipe
from supplycalc.units import show

if TYPE_CHECKING:
    from supplycalc.model import UnitSystem
    from supplycalc.report.terminal import Page
    from supplycalc.studies.well_check import WellCheck

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
    when = "" if check.station is not None and check.station.held else " at cut-in"
    page.paragraph(
        f"velocity, friction: in this pipe with what the pump gives{when}; holds: the pressure at "
        "the gauge while the design flow runs, by the pump alone. Pump and all else as they are. "
        "A filled trench keeps its pipe: choose before."
    )


def pipe_table(check: WellCheck, system: UnitSystem) -> Table:
    """What other sizes of the pipe in the trench would do."""
    pipe = offset_pipe(check.design.house)
    assert pipe is not None
    held = check.station is not None and check.station.held
    gives = [Column(name="pump gives" if held else "pump at cut-in", dimension="flow", wrap=True)]
    if not held:
        gives.append(Column(name="at cut-out", dimension="flow", wrap=True))
    rows: list[tuple[Cell, ...]] = []
    for one in check.pipe:
        flows = (one.flow,) if held else (one.flow, one.flow_at_cut_out)
        size = f"{one.nominal}{' now' if one.now else ''}"
        rows.append((size, one.velocity, one.friction_head, *flows, one.held_pressure))
    length = show(pipe.length, "length", system)
    return Table(
        title=f"Pipe from the well to the tank, {length} of {pipe.material}: other sizes",
        columns=(
            Column(name="size"),
            Column(name="velocity", dimension="velocity"),
            Column(name="friction", dimension="head"),
            *gives,
            Column(name="holds", dimension="pressure"),
        ),
        rows=tuple(rows),
    )
