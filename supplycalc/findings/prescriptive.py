"""The code's table of sizes beside the computed design: the inspector will look there first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar, Literal

from msgspec import Struct

from supplycalc.catalogue import nominal_inches
from supplycalc.demand import method_record
from supplycalc.demand.prescriptive import (
    SizeTable,
    block_title,
    carrying,
    longest,
    lowest_pressure,
)
from supplycalc.findings.rule import Remark, rule
from supplycalc.model import Device
from supplycalc.records import Form, fields_to_data
from supplycalc.records.sentences import CITED, citation_data
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import Citation, citation_of, load_table, to_si
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Length, Pressure

Outcome = Literal["agrees", "larger", "smaller", "no answer"]
"""Of the design beside what the table asks; no answer: it lies outside the table."""


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
    """By the table's code."""
    pressure: Pressure
    """Static, left after height and special losses."""
    length: Length
    """Developed length to the farthest outlet, fittings included."""
    service: str | None
    """Smallest service the table allows with any distribution pipe [nominal in]."""
    distribution: str | None
    """Smallest distribution pipe it allows with the computed service [nominal in]."""
    service_run: RunResult
    main_run: RunResult | None
    """The run beyond the service that carries most."""
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
    """Read the code's table for a finished design.

    The UPC's own table for demand method `upc`, the IRC's for every other; the load is counted in
    that code's units whatever method sized the pipes.

    Args:
        design: sized.

    Returns:
        The comparison; None where the service is of metric tube, which the tables do not know.

    Source: International Residential Code 2018, Table AP201.1; Uniform Plumbing Code 2018, Table
        610.4.
    """
    results = design.run_at
    if not results:
        return None
    first = results[min(results)]
    if first.tube.metric:
        return None
    sizes = method_record(design.demand.method).size_table
    code = sizes.code
    load = method_record(code).flows(design.tree).load
    others = [result for result in design.runs if result.index != first.index]
    beyond = max(others, key=lambda result: (load[result.index], -result.index), default=None)
    pressure, length = _pressure(design, sizes), _length(design)
    rows = list(carrying(code, pressure, length))
    enough = [row for row in rows if row.capacity >= load[0] - 1e-9]
    chosen = nominal_inches(first.size.nominal)
    with_chosen = [row for row in enough if nominal_inches(row.service) <= chosen + 1e-9]
    service = min((row.service for row in enough), key=nominal_inches, default=None)
    distribution = min((row.distribution for row in with_chosen), key=nominal_inches, default=None)
    outcome, reason = _outcome(code, service, distribution, first, beyond, pressure, length)
    table = load_table("demand_prescriptive")[code]
    decisive = next((row.citation for row in enough if row.service == service), citation_of(table))
    return TableCheck(
        code=code,
        title=sizes.title,
        block=block_title(code, pressure),
        fixture_units=load[0],
        pressure=pressure,
        length=length,
        service=service,
        distribution=distribution,
        service_run=first,
        main_run=beyond,
        outcome=outcome,
        reason=reason,
        citation=decisive,
    )


def _outcome(
    code: str,
    service: str | None,
    distribution: str | None,
    first: RunResult,
    beyond: RunResult | None,
    pressure: float,
    length: float,
) -> tuple[Outcome, str]:
    if pressure < lowest_pressure(code):
        return "no answer", "the table begins at a higher pressure"
    if length > longest(code):
        return "no answer", "the table ends at a shorter length"
    if service is None:
        return "no answer", "no row of the table carries this load"
    chosen = nominal_inches(first.size.nominal)
    if chosen < nominal_inches(service) - 1e-9:
        return "smaller", (
            "it rests on the fixture-unit flow and on losses "
            "of one pipe for all, here the service was sized by its own flow, tube and length"
        )
    if beyond is not None and not beyond.tube.metric:
        pipe = nominal_inches(beyond.size.nominal)
        if distribution is not None and pipe < nominal_inches(distribution) - 1e-9:
            return "smaller", (
                "for the distribution pipe it takes one size for the whole "
                "length, here each run was sized by its own flow and length"
            )
    if chosen > nominal_inches(service) + 1e-9:
        return "larger", (
            "the pressures that these fixtures need, the losses of the "
            "devices or the velocity limit decided, which the table does not look at one by one"
        )
    return "agrees", "the table asks for the same service"


def _pressure(design: Design, sizes: SizeTable) -> float:
    """Static pressure left at the outlet that has least, after height and special losses."""
    source = design.house.source
    start = design.source.design_pressure
    if source.kind == "main" and source.static is not None:
        start = source.static
    special = {
        result.device.name: result.loss
        for result in design.devices
        if not design.tree.does(result.device, "meter") and not _limits_pressure(result.device)
    }
    head = to_si(load_table("demand_prescriptive")["head"]["value"], "psi") / to_si(1.0, "ft")
    left = []
    for outlet in design.outlets:
        lost = sum(special.get(name, 0.0) for name in outlet.path)
        height = outlet.static_change
        if sizes.head_by_foot:
            height = (design.source.elevation - outlet.elevation) * head
        left.append(start + height - lost)
    return min(left)


def _limits_pressure(device: Device) -> bool:
    return device.setting is not None


def _length(design: Design) -> float:
    """Developed length to the farthest outlet, with a share for fittings, as the code counts it."""
    share = load_table("demand_prescriptive")["fitting_share"]["value"]
    length = {result.run.name: result.run.length for result in design.runs}
    along = [sum(length.get(name, 0.0) for name in outlet.path) for outlet in design.outlets]
    return (1.0 + float(share)) * max(along)


@rule("below-code-table", "warn")
def below_table(design: Design) -> Iterator[Remark]:
    """The service or the main beyond it is smaller than the code's table of sizes asks."""
    check = table_check(design)
    if check is None or check.outcome != "smaller" or check.service is None:
        return
    small = nominal_inches(check.design_service) < nominal_inches(check.service) - 1e-9
    run = check.service_run if small else check.main_run
    asked = check.service if small else check.distribution
    assert run is not None
    yield Remark(
        where=run.run.name,
        message=f"{run.size.nominal} inch is computed to be enough, but {check.title} asks for "
        f"{asked} inch: {check.fixture_units:.1f} fixture units, {{0}} left after height and "
        f"devices (block {check.block}), {{1}} developed length with fittings",
        values=((check.pressure, "pressure"), (check.length, "length")),
        remedy="show the inspector this calculation: the codes' appendix accepts other sizing "
        f"methods of good engineering practice (IPC E101.1); or take {asked} inch",
        source=check.citation,
    )
