"""The tables of a design: schedule, fixtures, the account along a path, why no smaller size."""

from __future__ import annotations

from supplycalc.model import Manifold
from supplycalc.records import Cell, Column, Table, table_of
from supplycalc.sizing.daily_use import ConnectionInUse, DailyUse
from supplycalc.sizing.design import (
    Design,
    LineProfile,
    OutletResult,
    ProfilePoint,
    RunResult,
)
from supplycalc.supply.pump_check import ROUND_FIGURE, PumpCheck
from supplycalc.units import UnitSystem


def schedule(design: Design) -> Table:
    """The runs with their sizes, from the source down: what a plumber builds from."""
    title = "Runs, from the source down"
    if design.sized_for is not None:
        title += f", sized for change {design.sized_for + 1}"
    return table_of(
        title,
        RunResult,
        design.every_run,
        (
            Column(name="run", of="name", wrap=True),
            Column(name="tube", of="material", wrap=True),
            Column(name="size", of="nominal"),
            Column(name="length", of="length"),
            Column(name="flow", of="design_flow"),
            Column(name="velocity", of="velocity"),
            Column(name="loss", of="loss"),
            Column(name="decided by", of="decided_by", wrap=True),
        ),
    )


MOST_NAMED = 6
"""Runs told by name; more are counted."""


def margin_prices(design: Design) -> Table:
    """What pressure to spare costs, and which sizes it changes."""
    rows: list[tuple[Cell, ...]] = []
    for price in design.margin_prices:
        if price.cost is None:
            rows.append((price.reserve, None, "no choice of sizes reaches it"))
            break
        named = [f"{name} at {nominal}" for name, nominal in price.changes[:MOST_NAMED]]
        if len(price.changes) > MOST_NAMED:
            named.append(f"and {len(price.changes) - MOST_NAMED} more")
        rows.append((price.reserve, price.cost, ", ".join(named) or "as chosen"))
    cost = Column(name="pipe", dimension="mass")
    if design.cost_basis != "pipe mass":
        cost = Column(name=design.currency or "price", digits=2)
    return Table(
        title="What pressure to spare costs",
        columns=(
            Column(name="at least to spare", dimension="pressure", wrap=True),
            cost,
            Column(name="sizes that change", wrap=True),
        ),
        rows=tuple(rows),
    )


def over_the_ground(profile: LineProfile) -> Table:
    """The pressure line of a line whose profile the file gives."""
    return table_of(
        f"{profile.name}: pressure over the ground",
        ProfilePoint,
        profile.points,
        (
            Column(name="distance", of="distance"),
            Column(name="height", of="height"),
            Column(name="at rest, lowest", of="at_rest", wrap=True),
            Column(name="flowing", of="flowing"),
            Column(name="at rest, highest", of="highest", wrap=True),
            Column(name="place", of="kind"),
            Column(name="air swept out at", of="clearing_flow", wrap=True),
        ),
    )


def fixtures(design: Design) -> Table:
    """Every fixture connection with what it gets and needs, the worst first."""
    return table_of(
        "Pressure at the fixtures, the worst first",
        OutletResult,
        design.outlets,
        (
            Column(name="fixture", of="name", wrap=True),
            Column(name="height", of="elevation"),
            Column(name="flow", of="design_flow"),
            Column(name="gets", of="residual"),
            Column(name="needs", of="required"),
            Column(name="to spare", of="margin"),
        ),
    )


def daily_use_table(use: DailyUse) -> Table:
    """What every fixture gets in daily use, the tightest first."""
    return table_of(
        "Each fixture in daily use, over a year, the tightest first",
        ConnectionInUse,
        use.connections,
        (
            Column(name="fixture", of="label", wrap=True),
            Column(name="needs", of="required"),
            Column(name="1 of 100 minutes", of="one_in_100", wrap=True),
            Column(name="1 of 1,000", of="one_in_1000", wrap=True),
            Column(name="below its need", of="below", wrap=True),
            Column(name="runs", of="running"),
        ),
    )


SOURCE_STEP = {
    "cut-in": "source, at cut-in",
    "set pressure": "source, at its set pressure",
    "residual": "source, the main's residual pressure",
    "lowest level": "source, water at its lowest level",
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
    pressure = design.source.design_pressure
    rows: list[tuple[Cell, ...]] = [(source_step(design), None, None, None, None, pressure)]
    results = design.result_at
    manifolds: list[str] = []
    for index in design.tree.path(outlet.index):
        name = design.tree.names[index]
        if isinstance(design.tree.links[index], Manifold):
            manifolds.append(name)
            continue
        link = results[index]
        # the pressure in a manifold is that at the start of the next link
        start = link.end_pressure + link.loss - link.static_gain
        for manifold in manifolds:
            rows.append((manifold, None, None, start - pressure, 0.0, _left(start, outlet)))
            pressure = start
        manifolds.clear()
        pressure = link.end_pressure
        size = link.nominal if isinstance(link, RunResult) else None
        left = _left(pressure, outlet)
        rows.append((name, size, link.design_flow, link.static_gain, link.loss, left))
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


def _left(pressure: float, outlet: OutletResult) -> Cell:
    """A pressure on the way; where none is left, whether it is used up or the water is sucked."""
    if pressure >= 0.0:
        return pressure
    return "suction" if outlet.used_up_in is None else "used up"


def pump(check: PumpCheck) -> Table:
    """What a well's pump gives, what the code's peak and what the trade's rules ask."""
    at = "its set pressure" if check.held else "cut-in"
    least, most = check.pump_flow or (0.0, 0.0)

    def met(flow: float, exactly: float = ROUND_FIGURE) -> str:
        if least >= flow * exactly:
            return "met"
        return "short" if most < flow * exactly else "not known"

    rows: list[tuple[Cell, ...]] = [(f"the pump gives at {at}", most, None)]
    if least < most:
        rows = [(f"the pump gives at {at}, at least", least, None), ("at most", most, None)]
    word = "what the file lists at once" if check.listed else "the design flow"
    rows.append((word, check.design_flow, met(check.design_flow, 1.0)))
    for rule in check.rules:
        judged = ", judged by this" if rule is check.judging_rule else ""
        rows.append((f"{rule.name}{judged}", rule.flow, met(rule.flow)))
    rows.append((f"{check.largest} alone", check.largest_flow, met(check.largest_flow, 1.0)))
    return Table(
        title="The pump, and what is asked of it",
        columns=(
            Column(name="what", wrap=True),
            Column(name="flow", dimension="flow"),
            Column(name="is", wrap=True),
        ),
        rows=tuple(rows),
    )


def adds_up(steps: Table, system: UnitSystem) -> bool:
    """Whether an account's figures add up as shown, rounded as they are.

    One whose pressure is used up on the way shows too little to add up.
    """
    if any(isinstance(row[-1], str) for row in steps.rows):
        return True
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


def load_digits(design: Design) -> int:
    """Decimals of a load in the demand method's units: litres per second need more than units."""
    return 1 if design.demand.load[0] >= SMALL_LOAD else 2


def next_smaller(design: Design) -> Table:
    """For each run what the next smaller size would have done."""
    rows: list[tuple[Cell, ...]] = []
    for run in design.every_run:
        less = run.next_smaller
        if less is None:
            rows.append((run.name, run.nominal, "-", None, None, None, run.decided_by))
        else:
            tried = (less.nominal, less.velocity, less.loss, less.worst_margin, less.reason)
            rows.append((run.name, run.nominal, *tried))
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
    counted = Column(name=load, of="load", digits=load_digits(design), wrap=True)
    return table_of(
        "What the losses were computed from",
        RunResult,
        design.every_run,
        (
            Column(name="run", of="name", wrap=True),
            Column(name="inside diameter", of="inside_diameter", wrap=True),
            Column(name="counted length", of="counted_length", wrap=True),
            Column(name="sum of K", of="k", digits=2, wrap=True),
            *((counted,) if load else ()),
            Column(name="Reynolds number", of=_reynolds, digits=0, wrap=True),
            Column(name="speed limit", of="velocity_limit", wrap=True),
            Column(name="pipe loss", of="friction_loss", wrap=True),
            Column(name="fitting loss", of="fitting_loss", wrap=True),
        ),
    )


def _reynolds(run: RunResult) -> float:
    """To three digits: more are not known."""
    from supplycalc.hydraulics.water import density, viscosity

    reynolds = (
        run.velocity
        * run.size.inside_diameter
        * density(run.temperature)
        / viscosity(run.temperature)
    )
    return float(f"{reynolds:.3g}")
