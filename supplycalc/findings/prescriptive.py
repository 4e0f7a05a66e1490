"""The code's table of sizes beside the computed design: the inspector will look there first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, ClassVar, Literal

from msgspec import Struct

from supplycalc.catalogue import nominal_inches
from supplycalc.demand import method_record
from supplycalc.demand.fixture_units import count_kinds
from supplycalc.demand.ipc import flush_valve_kinds
from supplycalc.demand.prescriptive import (
    SizeTable,
    TableRow,
    block_title,
    carrying,
    longest,
    lowest_pressure,
)
from supplycalc.findings.rule import PRESSURE_SLACK, Remark, rule
from supplycalc.findings.words import listed
from supplycalc.model import Device
from supplycalc.records import Form, fields_to_data
from supplycalc.records.sentences import CITED, citation_data
from supplycalc.sizing.design import Design, OutletResult, RunResult
from supplycalc.sizing.minimums import is_service
from supplycalc.tables import Citation, citation_of, load_table, to_si
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Length, Pressure

Outcome = Literal["agrees", "larger", "smaller", "no answer"]
"""Of the design beside what the table asks; no answer: it lies outside the table."""


class RunByTable(Struct, frozen=True, kw_only=True):
    """What the table asks of one run that feeds several fixtures, by that run's own load."""

    form: ClassVar[Form] = Form(omit=("result",), add=("run", "size"))

    result: RunResult
    fixture_units: float
    """By the table's code."""
    column: Literal["service", "distribution"]
    """Of the table."""
    asked: str | None
    """Smallest size the table allows [nominal in]; None: no row carries this load."""

    @property
    def run(self) -> str:
        """Its name."""
        return self.result.name

    @property
    def size(self) -> str:
        """Nominal, of the design."""
        return self.result.nominal

    @property
    def smaller(self) -> bool:
        """Whether the design has less than the table asks."""
        return self.asked is not None and _inches(self.result) < nominal_inches(self.asked) - 1e-9


class TableCheck(Struct, frozen=True, kw_only=True):
    """What the code's table asks for this house, beside what was computed."""

    form: ClassVar[Form] = Form(
        omit=("code", "service_run", "main_run", "citation"),
        add=("design_service", "design_distribution", "distribution_run"),
    )
    more_schema: ClassVar[dict[str, Any]] = CITED

    code: str
    title: str
    block: str
    """Pressure range of the table."""
    fixture_units: float
    """Of the service, by the table's code."""
    pressure: Pressure
    """Static, left after height and special losses."""
    length: Length
    """Developed length to the farthest outlet, with a share for fittings where the code adds it."""
    service: str | None
    """Smallest service the table allows with any distribution pipe [nominal in]."""
    distribution: str | None
    """Smallest pipe it allows for the run beyond the service that carries most [nominal in]."""
    service_run: RunResult
    main_run: RunResult | None
    """The run beyond the service that carries most."""
    runs: tuple[RunByTable, ...]
    """Every run that feeds several fixtures, from the source down."""
    outcome: Outcome
    reason: str
    citation: Citation

    @property
    def design_service(self) -> str:
        """Nominal size of the service."""
        return self.service_run.nominal

    @property
    def design_distribution(self) -> str | None:
        """Nominal size of the run beyond the service that carries most."""
        return None if self.main_run is None else self.main_run.nominal

    @property
    def distribution_run(self) -> str | None:
        """Name of that run."""
        return None if self.main_run is None else self.main_run.name

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it, with its source."""
        return {**fields_to_data(self, system), **citation_data(self.citation)}


def table_check(design: Design) -> TableCheck | None:
    """Read the code's table for a finished design, every run at its own load; None where the method
    goes with no table of inch sizes, or the service is of metric tube, which the tables do not
    know.

    The table that goes with the demand method; the load is counted in that table's own units. The
    branch of a single fixture has a table of its own and is not read here.

    Source: International Residential Code 2018, Table AP201.1; Uniform Plumbing Code 2018, Table
        610.4.
    """
    sizes = method_record(design.demand.method).size_table
    shared = [result for result in design.runs if _feeds_several(design, result)]
    if sizes is None or not design.runs:
        return None
    load = method_record(sizes.code).flows(design.tree).load
    by_load = sorted(shared or design.runs, key=lambda result: (-load[result.index], result.index))
    first = by_load[0]
    if first.tube.metric:
        return None
    beyond = next((result for result in by_load if not _is_service(design, result)), None)
    pressure, length = _pressure(design, sizes), _length(design, sizes)
    rows = list(carrying(sizes.code, pressure, length))
    runs = tuple(
        _run_by_table(design, sizes, rows, load, result, first)
        for result in shared
        if not result.tube.metric
    )
    of_first = _run_by_table(design, sizes, rows, load, first, first)
    of_beyond = next((run for run in runs if run.result is beyond), None)
    outcome, reason = _outcome(design, sizes, of_first, runs, pressure, length)
    table = load_table("prescriptive")[sizes.code]
    decisive = next(
        (
            row.citation
            for row in rows
            if row.capacity >= load[first.index] - 1e-9
            and of_first.asked in (row.service, row.distribution)
        ),
        citation_of(table),
    )
    return TableCheck(
        code=sizes.code,
        title=sizes.title,
        block=block_title(sizes.code, pressure),
        fixture_units=load[first.index],
        pressure=pressure,
        length=length,
        service=of_first.asked,
        distribution=None if of_beyond is None else of_beyond.asked,
        service_run=first,
        main_run=beyond,
        runs=runs,
        outcome=outcome,
        reason=reason,
        citation=decisive,
    )


def _feeds_several(design: Design, result: RunResult) -> bool:
    """Whether a run feeds more than one fixture."""
    below = design.tree.at_or_below(result.index)
    return len({o.fixture.name for o in design.tree.outlets if o.link in below}) > 1


def _is_service(design: Design, result: RunResult) -> bool:
    return is_service(design.tree, result.index)


def _inches(result: RunResult) -> float:
    return nominal_inches(result.size.nominal)


def _run_by_table(
    design: Design,
    sizes: SizeTable,
    rows: Sequence[TableRow],
    load: Sequence[float],
    result: RunResult,
    first: RunResult,
) -> RunByTable:
    """What the table asks of one run: its column by where the run stands, its row by its load."""
    enough = [row for row in rows if row.capacity >= load[result.index] - 1e-9]
    service = result is first or _is_service(design, result)
    if service and not sizes.meter_apart:
        asked = [row.service for row in enough]
    else:
        # a service that is too small has a word of its own; beyond it any meter may stand
        least = min((nominal_inches(row.service) for row in enough), default=0.0)
        chosen = max(_inches(first), least)
        asked = [
            row.distribution
            for row in enough
            if sizes.meter_apart or nominal_inches(row.service) <= chosen + 1e-9
        ]
        if service:  # the least building supply, UPC 610
            asked = [max(size, "3/4", key=nominal_inches) for size in asked]
    return RunByTable(
        result=result,
        fixture_units=load[result.index],
        column="service" if service else "distribution",
        asked=min(asked, key=nominal_inches, default=None),
    )


def _outcome(
    design: Design,
    sizes: SizeTable,
    first: RunByTable,
    runs: Sequence[RunByTable],
    pressure: float,
    length: float,
) -> tuple[Outcome, str]:
    if not sizes.flushometers and count_kinds(design.tree, flush_valve_kinds())[0] > 0.5:
        return "no answer", "flushometer valves are sized by another table of this code"
    if pressure < lowest_pressure(sizes.code):
        return "no answer", "the table begins at a higher pressure"
    if length > longest(sizes.code):
        return "no answer", "the table ends at a shorter length"
    if first.asked is None:
        return "no answer", "no row of the table carries this load"
    smaller = [run for run in runs if run.smaller]
    if any(run.column == "service" for run in smaller):
        return "smaller", (
            "it rests on the fixture-unit flow and on losses "
            "of one pipe for all, here the service was sized by its own flow, tube and length"
        )
    if smaller:
        return "smaller", (
            f"for {listed(run.run for run in smaller)} it goes by the length to the farthest "
            "outlet, here each run was sized by its own flow and length"
        )
    if _inches(first.result) > nominal_inches(first.asked) + 1e-9:
        return "larger", (
            "the pressures that these fixtures need, the losses of the "
            "devices or the velocity limit decided, which the table does not look at one by one"
        )
    return "agrees", "the table asks for the same service"


def _pressure(design: Design, sizes: SizeTable) -> float:
    """Static pressure left at the outlet that has least, after height and special losses.

    Nothing below 0 is shown. Special are filters, softeners, backflow preventers and the like; the
    tables hold an ordinary meter and heater (IRC AP201.1, from memory).
    """
    special = {
        result.device.name: result.loss
        for result in design.devices
        if not design.tree.does(result.device, "meter")
        and not design.tree.catalogue.devices[result.device.kind].hot
        and result.device.setting is None
    }
    return max(min(_left_at(design, sizes, outlet, special) for outlet in design.outlets), 0.0)


def _left_at(
    design: Design, sizes: SizeTable, outlet: OutletResult, special: dict[str, float]
) -> float:
    source, tree = design.house.source, design.tree
    start = design.source.design_pressure if source.cut_in is None else source.cut_in
    if source.kind == "main" and source.static is not None:
        start = source.static
    table = load_table("prescriptive")["head"][sizes.code]
    by_height = to_si(table["value"], table["unit"]) / to_si(1.0, "ft")
    left = start + (design.source.elevation - outlet.elevation) * by_height
    for link in tree.path(outlet.index):
        device = tree.links[link]
        if isinstance(device, Device) and device.setting is not None:
            counted = min(device.setting * sizes.regulated_share, start * sizes.supply_share)
            left = min(left, counted + (tree.elevation[link] - outlet.elevation) * by_height)
    return left - sum(special.get(name, 0.0) for name in outlet.path)


def _length(design: Design, sizes: SizeTable) -> float:
    """Developed length to the farthest outlet, with a share for fittings where the code adds it."""
    share = load_table("prescriptive")["fitting_share"]["value"]
    length = {result.run.name: result.run.length for result in design.runs}
    along = [sum(length.get(name, 0.0) for name in outlet.path) for outlet in design.outlets]
    return (1.0 + (float(share) if sizes.counts_fittings else 0.0)) * max(along)


@rule("below-code-table", "warn")
def below_table(design: Design) -> Iterator[Remark]:
    """The service or a main beyond it is smaller than the code's table of sizes asks."""
    check = table_check(design)
    if check is None or check.outcome != "smaller":
        return
    smaller = [run for run in check.runs if run.smaller]
    told = smaller[0]
    others = "; ".join(f"{run.run}: {run.size}, not {run.asked}" for run in smaller[1:])
    works = design.worst.margin >= -PRESSURE_SLACK
    larger = "those sizes" if others else f"{told.asked} inch"
    yield Remark(
        where=told.run,
        message=f"{told.result.size.nominal} inch, but {check.title} asks for "
        f"{told.asked} inch: {told.fixture_units:.1f} fixture units, {{0}} left after height and "
        f"devices (block {check.block}), {{1}} developed length"
        + (" with fittings" if check.code == "irc" else "")
        + (f"; likewise {others}" if others else ""),
        values=((check.pressure, "pressure"), (check.length, "length")),
        remedy="show the inspector this calculation, in which every fixture keeps its pressure: "
        "the codes accept other sizing methods of good engineering practice (IPC E101.1); or take "
        f"{larger}"
        if works
        else f"take {larger}: in this design the pressure does not reach",
        source=check.citation,
    )
