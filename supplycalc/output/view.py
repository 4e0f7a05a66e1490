"""Results as tables: columns with their dimension, rows in SI. Terminal and CSV only draw these."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from supplycalc.model import Manifold
from supplycalc.sizing.design import Design, DeviceResult, OutletResult, RunResult
from supplycalc.units import UnitSystem, convert, show, unit_of

Cell = str | float | None
"""Text, a number in SI (or a plain number), or nothing."""


def wait_cell(wait: float | None) -> Cell:
    """A wait [s] as a cell; without end where no water comes."""
    return "never" if wait is not None and math.isinf(wait) else wait


class Column(Struct, frozen=True, kw_only=True):
    """One column of a table."""

    name: str
    dimension: str | None = None
    """Key of `units.DIMENSIONS`; None: text, or a plain number with `digits`."""
    digits: int | None = None
    """Decimals of a plain number."""
    small: bool = False
    """Whether a plain number below 1 keeps two digits that say something: 0.037, not 0.0."""
    wrap: bool = False
    """Whether its text may be broken over lines where the table is too wide."""

    @property
    def is_number(self) -> bool:
        """Whether its cells are numbers."""
        return self.dimension is not None or self.digits is not None

    def unit(self, system: UnitSystem) -> str:
        """The unit its numbers are shown in; empty for text and plain numbers."""
        return "" if self.dimension is None else unit_of(self.dimension, system)

    def shown_digits(self, system: UnitSystem) -> int:
        """Decimals of a small number of its dimension."""
        return len(self.text(1.0, system).partition(".")[2])

    def text(self, cell: Cell, system: UnitSystem) -> str:
        """A cell as people read it, without its unit."""
        if cell is None:
            return ""
        if isinstance(cell, str):
            return cell
        if self.dimension is not None:
            return show(cell, self.dimension, system, unit=False)
        if self.small and 0.0 < abs(cell) < 1.0:
            return f"{cell:.2g}"
        return f"{cell:.{self.digits or 0}f}"

    def number(self, cell: Cell, system: UnitSystem) -> Cell:
        """A cell at full precision in the column's unit; text stays text."""
        if self.dimension is None or cell is None or isinstance(cell, str):
            return cell
        return convert(cell, self.dimension, system)[0]


class Table(Struct, frozen=True, kw_only=True):
    """A titled table; every row has one cell per column."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]


def schedule(design: Design) -> Table:
    """The runs with their sizes, from the source down: what a plumber builds from."""
    return Table(
        title="Runs, from the source down",
        columns=(
            Column(name="run", wrap=True),
            Column(name="tube", wrap=True),
            Column(name="size"),
            Column(name="length", dimension="length"),
            Column(name="flow", dimension="flow"),
            Column(name="velocity", dimension="velocity"),
            Column(name="loss", dimension="pressure"),
            Column(name="decided by", wrap=True),
        ),
        rows=tuple(
            (
                one.run.name,
                one.run.material,
                one.size.nominal,
                one.run.length,
                one.design_flow,
                one.velocity,
                one.loss,
                one.decided_by,
            )
            for one in design.runs
        ),
    )


def fixtures(design: Design) -> Table:
    """Every fixture connection with what it gets and needs, the worst first."""
    return Table(
        title="Pressure at the fixtures, the worst first",
        columns=(
            Column(name="fixture", wrap=True),
            Column(name="height", dimension="elevation"),
            Column(name="flow", dimension="flow"),
            Column(name="gets", dimension="pressure"),
            Column(name="needs", dimension="pressure"),
            Column(name="to spare", dimension="pressure"),
        ),
        rows=tuple(
            (
                one.name,
                one.elevation,
                one.design_flow,
                one.residual,
                one.required,
                one.margin,
            )
            for one in design.outlets
        ),
    )


SOURCE_STEP = {
    "cut-in": "source, at cut-in",
    "residual": "source, the main's residual pressure",
    "pump": "source, what the pump holds at this flow",
}
SMALL_LOAD = 2.0
"""A house's load below this is shown with a digit more."""
MAIN_AT_FLOW = "source, what the main keeps at this flow"


def source_step(design: Design) -> str:
    """What an account calls its first line: the pressure that the source is counted on for."""
    given, counted = design.house.source.residual, design.source.design_pressure
    if design.source.limited_by == "residual" and (given is None or abs(given - counted) > 1.0):
        return MAIN_AT_FLOW
    return SOURCE_STEP.get(design.source.limited_by, "source")


def account(design: Design, outlet: OutletResult) -> Table:
    """The pressure from the source to one fixture connection, step by step."""
    rows: list[tuple[Cell, ...]] = []
    pressure = design.source.design_pressure
    rows.append((source_step(design), None, None, None, None, pressure))
    for step in _steps(design, outlet):
        before = step.start_pressure
        if step.result is None:
            rows.append((step.name, None, None, before - pressure, 0.0, before))
            pressure = before
            continue
        one = step.result
        pressure = one.end_pressure
        size = one.size.nominal if isinstance(one, RunResult) else None
        rows.append((step.name, size, one.design_flow, one.static_gain, one.loss, pressure))
    rows.append((f"needed at {outlet.name}", None, None, None, None, outlet.required))
    last = "to spare" if outlet.margin >= 0 else "SHORT BY"
    rows.append((last, None, None, None, None, abs(outlet.margin)))
    return Table(
        title=f"Where the pressure goes on the way to {outlet.name}",
        columns=(
            Column(name="step", wrap=True),
            Column(name="size"),
            Column(name="flow", dimension="flow"),
            Column(name="height", dimension="pressure"),
            Column(name="loss", dimension="pressure"),
            Column(name="pressure", dimension="pressure"),
        ),
        rows=tuple(rows),
    )


def adds_up(steps: Table, system: UnitSystem) -> bool:
    """Whether an account's figures add up as shown, rounded as they are."""
    column = steps.columns[-1]
    pressure: int | None = None
    scale = 10.0 ** column.shown_digits(system)

    def units(cell: Cell) -> int:
        return round(float(column.text(cell or 0.0, system)) * scale)

    for row in steps.rows[:-2]:
        if pressure is not None and units(row[-1]) != pressure + units(row[-3]) - units(row[-2]):
            return False
        pressure = units(row[-1])
    short = steps.rows[-1][0] != "to spare"
    spare = (pressure or 0) - units(steps.rows[-2][-1])
    return spare == (-1 if short else 1) * units(steps.rows[-1][-1])


class _Step(Struct, frozen=True, kw_only=True):
    """One step of the account along a path."""

    name: str
    start_pressure: float
    """[Pa gauge]; for a manifold the pressure in it."""
    result: RunResult | DeviceResult | None


def _steps(design: Design, outlet: OutletResult) -> Iterator[_Step]:
    """The links of a path; a manifold's own pressure is that at the start of the next link."""
    results = design.result_at
    manifolds: list[str] = []
    for index in design.tree.path(outlet.index):
        link = design.tree.links[index]
        if isinstance(link, Manifold):
            manifolds.append(link.name)
            continue
        one = results[index]
        start = one.end_pressure + one.loss - one.static_gain
        for name in manifolds:
            yield _Step(name=name, start_pressure=start, result=None)
        manifolds.clear()
        yield _Step(name=design.tree.names[index], start_pressure=start, result=one)


def load_digits(design: Design) -> int:
    """Decimals of a load in the demand method's units: litres per second need more than units."""
    return 1 if design.demand.load[0] >= SMALL_LOAD else 2


def next_smaller(design: Design) -> Table:
    """For each run what the next smaller size would have done."""
    rows: list[tuple[Cell, ...]] = []
    for one in design.runs:
        less = one.next_smaller
        if less is None:
            rows.append((one.run.name, one.size.nominal, "-", None, None, None, one.decided_by))
            continue
        rows.append(
            (
                one.run.name,
                one.size.nominal,
                less.nominal,
                less.velocity,
                less.loss,
                less.worst_margin,
                less.reason,
            )
        )
    return Table(
        title="Why no smaller: what the next smaller size of each run would have done",
        columns=(
            Column(name="run", wrap=True),
            Column(name="size"),
            Column(name="next"),
            Column(name="velocity", dimension="velocity"),
            Column(name="loss", dimension="pressure"),
            Column(name="worst margin", dimension="pressure", wrap=True),
            Column(name="why not", wrap=True),
        ),
        rows=tuple(rows),
    )


def details(design: Design) -> Table:
    """What the losses were computed from, for a reader who follows by hand."""
    load = design.demand.load_name
    counted = () if not load else (Column(name=load, digits=load_digits(design), wrap=True),)
    return Table(
        title="What the losses were computed from",
        columns=(
            Column(name="run", wrap=True),
            Column(name="bore", dimension="diameter"),
            Column(name="counted length", dimension="length", wrap=True),
            Column(name="sum of K", digits=2, wrap=True),
            *counted,
            Column(name="Reynolds number", digits=0, wrap=True),
            Column(name="speed limit", dimension="velocity", wrap=True),
            Column(name="pipe loss", dimension="pressure", wrap=True),
            Column(name="fitting loss", dimension="pressure", wrap=True),
        ),
        rows=tuple(
            (
                one.run.name,
                one.size.inside_diameter,
                one.counted_length,
                one.k,
                *((one.load,) if counted else ()),
                float(f"{_reynolds(one):.3g}"),
                one.velocity_limit,
                one.friction_loss,
                one.fitting_loss,
            )
            for one in design.runs
        ),
    )


def _reynolds(one: RunResult) -> float:
    from supplycalc.hydraulics.water import density, viscosity

    return (
        one.velocity
        * one.size.inside_diameter
        * density(one.temperature)
        / viscosity(one.temperature)
    )
