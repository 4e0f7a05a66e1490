"""What holds pipe, leads it through a slab and keeps it warm: supports, sleeves, insulation."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from typing import ClassVar

from msgspec import Struct

from supplycalc.catalogue import nominal_inches
from supplycalc.questions.hot.findings import wants_insulation
from supplycalc.questions.parts.connections import Need
from supplycalc.questions.parts.items import Item
from supplycalc.records import Form
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table, to_si
from supplycalc.units import INCH
from supplycalc.units.quantities import Diameter


class Sleeve(Struct, frozen=True, kw_only=True):
    """A sleeve around a pipe that passes through a wall or a slab."""

    form: ClassVar[Form] = Form(
        omit=("run",),
        rename={
            "run.name": "run",
            "nominal": "size",
            "run.size.outside_diameter": "pipe_outside_diameter",
        },
        add=("run.name", "run.size.outside_diameter"),
    )

    run: RunResult
    nominal: str
    inside_diameter: Diameter
    count: int


def supports(design: Design) -> Iterator[Need]:
    """One support for each started distance of the published spacing.

    So set that the first and last stand half a distance from the ends, no gap is wider.

    Source: as `support_distance`.
    """
    for run in design.runs:
        spacing = support_distance(run)
        if spacing is not None and not run.run.existing:
            count = math.ceil(run.length / spacing - 1e-9)
            yield held_need("support", run, max(count, 1))


def held_need(kind: str, run: RunResult, count: int) -> Need:
    """So many of what holds a run's tube."""
    return Need(
        kind=kind,
        size=run.nominal,
        joining=run.material,
        place=run.name,
        count=count,
        group="supports",
    )


def support_distance(run: RunResult) -> float | None:
    """Largest distance between a run's supports [m], as if it were level.

    None in the ground or a slab, which carry it, and where nothing is published.

    Source: International Residential Code, Table P2605.1, by the catalogue.
    """
    return None if hidden(run) else run.tube.support_distance(run.size)


def sleeves(design: Design) -> Iterator[Sleeve]:
    """Sleeves where a buried or embedded run comes out of the ground or the slab.

    None at the source's own end, nor at a wellhead.

    Source: as `sleeve_size`.
    """
    for stretch in design.stretches:
        yield from _sleeves(stretch)


def _sleeves(design: Design) -> Iterator[Sleeve]:
    """The same for the line before the tank, or for what stands behind it."""
    tree = design.tree
    results = design.run_at
    for run in design.runs:
        if not hidden(run) or run.run.existing:
            continue
        above = tree.parent[run.index]
        count = 0
        first = max(len(design.house.suction), 1)
        in_the_well = run.before_tank and tree.feeding_run[run.index] <= first
        if above > 0 and not in_the_well and not hidden(results.get(above)):
            count += 1
        if not any(hidden(results.get(i)) for i in tree.children[run.index]):
            count += 1
        if count:
            nominal, inside_diameter = sleeve_size(design, run)
            yield Sleeve(run=run, nominal=nominal, inside_diameter=inside_diameter, count=count)


def hidden(run: RunResult | None) -> bool:
    """Whether a run lies in the ground or in a slab; None stands for no run."""
    return run is not None and (run.run.embedded or run.run.buried is not None)


def sleeve_size(design: Design, run: RunResult) -> tuple[str, float]:
    """The sleeve for a pipe: nominal size and inside diameter.

    Returns:
        (nominal, inside diameter [m]); the largest made where none is two sizes larger.

    Source: International Residential Code P2603.4 and International Plumbing Code 305.3; of metric
        pipe common practice, no source.
    """
    if run.tube.metric:
        wider = load_table("parts")["sleeve-metric"]
        wanted = wider["times"] * run.size.outside_diameter * 1e3
        rows = wider["rows"]
        size, millimetres = next((row for row in rows if row[1] >= wanted), rows[-1])
        return size, millimetres / 1e3
    rule = load_table("parts")["sleeve"]
    small = design.tree.catalogue.tubes[rule["tube"]].sizes
    family = [(it.nominal, it.inside_diameter) for it in small]
    family += [(it, width * INCH) for it, width in load_table("parts")["sleeve-wider"]["rows"]]
    inches = [nominal_inches(nominal) for nominal, _ in family]
    alike = bisect_left(inches, run.tube.inch_size(run.size) - 1e-6)
    for nominal, width in family[alike + int(rule["value"]) :]:
        if width > run.size.outside_diameter:
            return nominal, width
    return family[-1]


def _sleeve_material(run: RunResult) -> str:
    table = load_table("parts")
    return str(table["sleeve-metric"]["material"] if run.tube.metric else table["sleeve"]["tube"])


def insulation(design: Design) -> Iterator[tuple[RunResult, bool]]:
    """Hot runs to insulate.

    Returns:
        (run, whether the file says so; else the energy code asks for it).

    Source: International Energy Conservation Code R403.5.3 (from memory).
    """
    for run in design.runs:
        if run.run.existing and run.run.insulated:
            continue  # it has its insulation
        if run.side == "hot" and (run.run.insulated or wants_insulation(design, run)):
            yield run, run.run.insulated


def sleeves_and_insulation(design: Design, passages: Sequence[Sleeve]) -> Iterator[Item]:
    """Each sleeve by itself, insulation by the size of its pipe."""
    for sleeve in passages:
        yield Item(
            group="sleeves",
            kind="sleeve",
            size=sleeve.nominal,
            material=_sleeve_material(sleeve.run),
            count=sleeve.count,
            places=(sleeve.run.name,),
        )
    piece = load_table("parts")["insulation-length"]
    each = to_si(piece["value"], piece["unit"])
    wrapped: dict[tuple[str, bool], list[RunResult]] = {}
    for run, given in insulation(design):
        wrapped.setdefault((run.nominal, given), []).append(run)
    for (nominal, given), runs in wrapped.items():
        length = math.fsum(run.length for run in runs)
        yield Item(
            group="insulation",
            kind="insulation",
            size=nominal,
            material="",
            count=math.ceil(length / each - 1e-9),
            length=each,
            places=tuple(run.name for run in runs),
            note="" if given else "asked for by the energy code",
        )
