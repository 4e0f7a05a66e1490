"""One piece of a batch: what a worker is sent and sends back, on this machine or another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import House, Run
from supplycalc.model.field_paths import run_of, with_value
from supplycalc.problems import ComputationError, InputError
from supplycalc.questions.size.study import size
from supplycalc.reading import loads
from supplycalc.reading.variants import VariantTable
from supplycalc.sizing.choices import Situation
from supplycalc.sizing.design import Design
from supplycalc.sizing.pressures import follow_pressures
from supplycalc.sizing.size import SizedTree, choose, situation_of
from supplycalc.supply.source import working_pressure
from supplycalc.units.quantities import Flow, Pressure


class BatchPiece(Struct, frozen=True, kw_only=True):
    """What a worker does at a time."""

    first: int
    """Number of its first row."""
    texts: tuple[tuple[str, str], ...]
    """(name, text) of each file; of variants the one house."""
    method: str | None = None
    table: VariantTable | None = None
    """Variants of the house; None: each file is a row."""
    fixed: bool = False
    """Whether all variants have the sizes of the house as it is."""


class BatchRow(Struct, frozen=True, kw_only=True):
    """One house or variant of a batch."""

    number: int
    name: str
    ok: bool | None = None
    """Of a file: no finding fails; of a variant: every fixture has its pressure; None: skipped."""
    problem: str = ""
    """Why it was skipped."""
    worst: str = ""
    """The connection with the least margin."""
    residual: Pressure | None = None
    """There; 0 where the pressure is used up."""
    required: Pressure | None = None
    margin: Pressure | None = None
    source: Pressure | None = None
    """At the source while the design flow runs."""
    design_flow: Flow | None = None
    cost: float | None = None
    """[kg] of pipe; None where sizes are fixed."""
    values: tuple[float | None, ...] = ()
    """Of a variant, in SI."""
    sizes: dict[str, str] | None = None
    """By run; None where all have those of the house as it is."""


def batch_rows(piece: BatchPiece) -> list[BatchRow]:
    """Do a piece of a batch; a row that cannot be read or computed says why."""
    if piece.table is None:
        return [
            _of_file(piece.first + place, name, text, piece.method)
            for place, (name, text) in enumerate(piece.texts)
        ]
    [(name, text)] = piece.texts
    if piece.fixed:
        return _at_fixed_sizes(piece, name, text, piece.table)
    return _sized_anew(piece, name, text, piece.table)


def _of_file(number: int, name: str, text: str, method: str | None) -> BatchRow:
    try:
        design = size(loads(text, name), method, mend=False)
    except InputError as error:
        first, *others = error.problems
        more = f" (and {len(others)} more)" if others else ""
        return BatchRow(number=number, name=name, problem=f"{first.text}{more}")
    except ComputationError as error:
        return BatchRow(number=number, name=name, problem=str(error))
    worst = design.worst
    return BatchRow(
        number=number,
        name=name,
        ok=design.ok,
        worst=worst.name,
        residual=worst.residual,
        required=worst.required,
        margin=worst.margin,
        source=design.source.design_pressure,
        design_flow=design.demand.design_flow[0],
        cost=design.cost,
        sizes=design.sizes,
    )


@lru_cache(maxsize=4)
def house_of(name: str, text: str, method: str | None) -> tuple[House, Situation]:
    """A house that many variants share, read once in each worker."""
    house = loads(text, name)
    if method is not None:
        house = replace(house, project=replace(house.project, demand=method))
    return house, situation_of(house)


@lru_cache(maxsize=4)
def design_of(name: str, text: str, method: str | None) -> Design:
    """The sizes of the house as it is, worked out once in each worker."""
    return size(house_of(name, text, method)[0], mend=False)


def _at_fixed_sizes(piece: BatchPiece, name: str, text: str, table: VariantTable) -> list[BatchRow]:
    """All variants in one pass over runs and variants."""
    import numpy as np

    from supplycalc.chance.certainty import sizes_of
    from supplycalc.chance.variants import peaks

    house, situation = house_of(name, text, piece.method)
    design = design_of(name, text, piece.method)
    sizes = sizes_of(design, situation)
    values = {}
    for column, cells in zip(table.columns, zip(*table.values, strict=True), strict=True):
        usual = _usual(house, column.path, design, column.sizes)
        values[column.path] = np.array([usual if cell is None else cell for cell in cells])
    peak = peaks(situation, sizes, values)
    names = [outlet.name for outlet in situation.tree.outlets]
    worst = (peak.residual - peak.required).argmin(axis=0)
    at = np.arange(worst.size)
    residual = np.maximum(peak.residual[worst, at], 0.0).tolist()
    required, served = peak.required[worst, at].tolist(), peak.served.tolist()
    flow = peak.flow.tolist()
    return [
        BatchRow(
            number=piece.first + i,
            name=table.names[i],
            ok=served[i],
            worst=names[outlet],
            residual=residual[i],
            required=required[i],
            margin=residual[i] - required[i],
            source=source,
            design_flow=flow[i],
            values=table.values[i],
        )
        for i, (outlet, source) in enumerate(zip(worst.tolist(), peak.source.tolist(), strict=True))
    ]


def _usual(house: House, path: tuple[str, ...], design: Design, sizes: Sequence[str]) -> float:
    """What stands in the file [SI], or was chosen, where a cell is empty."""
    from supplycalc.model.field_paths import value_at

    if sizes:
        name = run_of(path)
        return float(sizes.index(design.sizes[name]))
    value = value_at(house, path)
    return float("nan") if value is None else float(getattr(value, "quadratic", value))


def _sized_anew(piece: BatchPiece, name: str, text: str, table: VariantTable) -> list[BatchRow]:
    from supplycalc.chance.variants import draws_by

    house, situation = house_of(name, text, piece.method)
    alike = not any(draws_by(house, column.path) for column in table.columns)
    groups: dict[tuple[float | None, ...], list[int]] = {}
    for number, others in enumerate(beside_pressure(table)):
        groups.setdefault(others, []).append(number)
    rows: list[BatchRow] = []
    for numbers in groups.values():
        changed = [_changed(house, table, number) for number in numbers]
        like = situation if alike else None
        try:
            if shares_sizes(house, table):
                sized = _by_pressure(changed, like or situation_of(changed[0]))
            else:
                sized = [choose(situation_of(other, None, like)) for other in changed]
        except ComputationError:
            sized = []
        rows += [
            _of_variant(piece.first + number, table.names[number], table.values[number], tree)
            for number, tree in zip(numbers, sized, strict=False)
        ]
        if not sized:
            rows += [_singly(piece, table, number, house, like) for number in numbers]
    return sorted(rows, key=lambda row: row.number)


def beside_pressure(table: VariantTable) -> list[tuple[float | None, ...]]:
    """What each variant has at fields that are no pressure of the source."""
    places = [i for i, column in enumerate(table.columns) if column.path not in _PRESSURES]
    return [tuple(values[i] for i in places) for values in table.values]


def _changed(house: House, table: VariantTable, number: int) -> House:
    """The house of a variant."""
    for column, cell in zip(table.columns, table.values[number], strict=True):
        if cell is not None:
            put = column.sizes[int(cell)] if column.sizes else cell
            house = with_value(house, column.path, put)
    return house


def _singly(
    piece: BatchPiece, table: VariantTable, number: int, house: House, like: Situation | None
) -> BatchRow:
    """A variant of a group in which one cannot be computed."""
    name, values = table.names[number], table.values[number]
    try:
        sized = choose(situation_of(_changed(house, table, number), None, like))
    except ComputationError as error:
        return BatchRow(number=piece.first + number, name=name, problem=str(error), values=values)
    return _of_variant(piece.first + number, name, values, sized)


def shares_sizes(house: House, table: VariantTable) -> bool:
    """Whether variants that differ in the source's pressure alone share what is sized.

    That pressure bears on no cost where the runs before the tank have their sizes.
    """
    fields = {column.path for column in table.columns} & {*_PRESSURES}
    settled = all(not isinstance(link, Run) or link.size for link in house.before_tank)
    return settled and {_PRESSURES[path] for path in fields} == {house.source.kind}


_PRESSURES: Mapping[tuple[str, ...], str] = {
    ("source", "cut_in"): "well",
    ("source", "residual"): "main",
    ("source", "static"): "main",
    ("source", "residual_flow"): "main",
}


def _by_pressure(changed: Sequence[House], situation: Situation) -> list[SizedTree]:
    """Houses that differ in pressure alone, in their order.

    In order of pressure: where both ends of a stretch get the same sizes for the same reserve, so
    does all between, for what is cheapest with less pressure and with more is so with any between.
    Each stretch whose ends differ is halved.
    """
    flow = situation.demand.design_flow[0]
    pressure = [working_pressure(other, flow) for other in changed]
    order = sorted(range(len(changed)), key=pressure.__getitem__)
    sized: dict[int, SizedTree] = {}

    def solved(place: int) -> SizedTree:
        if place not in sized:
            sized[place] = choose(situation_of(changed[order[place]], None, situation))
        return sized[place]

    stretches = [(0, len(order) - 1)]
    while stretches:
        low, high = stretches.pop()
        first, last = solved(low), solved(high)
        if high - low < 2:
            continue
        if _alike(first, last):
            sized.update(dict.fromkeys(range(low + 1, high), first))
            continue
        middle = (low + high) // 2
        stretches += [(low, middle), (middle, high)]
    result: dict[int, SizedTree] = {}
    for place, number in enumerate(order):
        tree = sized[place]
        if tree.situation.source.design_pressure != pressure[number]:
            source = replace(tree.situation.source, design_pressure=pressure[number])
            there = replace(tree.situation, source=source)
            pressures = follow_pressures(there, tree.pressures.sizes)
            tree = replace(tree, situation=there, pressures=pressures)
        result[number] = tree
    return [result[number] for number in range(len(changed))]


def _alike(first: SizedTree, last: SizedTree) -> bool:
    """Whether two pressures lead to the same sizes under the same conditions."""
    allowed = [
        [None if choice is None else choice.allowed for choice in each.situation.choices]
        for each in (first, last)
    ]
    return (
        first.pressures.sizes == last.pressures.sizes
        and (first.feasible, first.reserve) == (last.feasible, last.reserve)
        and first.situation.required == last.situation.required
        and allowed[0] == allowed[1]
    )


def _of_variant(
    number: int, name: str, values: tuple[float | None, ...], sized: SizedTree
) -> BatchRow:
    situation, pressures = sized.situation, sized.pressures
    outlet = situation.tree.outlets[pressures.worst_outlet]
    residual = max(pressures.pressure[outlet.link], 0.0)
    return BatchRow(
        number=number,
        name=name,
        ok=sized.feasible,
        worst=outlet.name,
        residual=residual,
        required=outlet.required_pressure,
        margin=residual - outlet.required_pressure,
        source=situation.source.design_pressure,
        design_flow=situation.demand.design_flow[0],
        cost=sized.cost,
        values=values,
        sizes=sized.nominals(),
    )
