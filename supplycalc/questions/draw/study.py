"""The supply as rows of a riser diagram: every link on its level, from the source up."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import ClassVar, Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import Manifold, Side, WaterSource
from supplycalc.network import well_side
from supplycalc.questions.draw.levels import DrawnLevel, level_height, level_of, levels
from supplycalc.questions.size.tables import source_step
from supplycalc.records import Form
from supplycalc.sizing.design import Design, DesignAnswer, RunResult
from supplycalc.supply.several_wells import well_names, wells_alone
from supplycalc.units.quantities import Elevation, Flow, Length, Pressure

APART = 1000
"""Between the numbers of rows of one well and those of the next: no line has so many links."""
RowType = Literal["well", "water", "pump", "source", "run", "device", "manifold", "fixture"]
"""A well or open tank with a pump in it is "well"; one with its pump above it, "water"."""


class Row(Struct, frozen=True, kw_only=True):
    """One link of the supply, with what stands at its end."""

    form: ClassVar[Form] = Form(omit=("index", "parent", "well"), rename={"run_name": "run"})

    index: int
    """Of its link in the tree; below 0 for the well and what stands between it and the tank."""
    parent: int
    """Index of the link that feeds it."""
    type: RowType
    name: str
    level: str
    side: Side
    elevation: Elevation
    kind: str | None = None
    """Of a device or a fixture."""
    run_name: str | None = None
    """The pipe that ends here."""
    size: str | None = None
    metric: bool = False
    """Whether the size is a metric one."""
    length: Length | None = None
    design_flow: Flow | None = None
    loss: Pressure | None = None
    pressure: Pressure | None = None
    """At its end while the design flow runs; None where it is used up or not known."""
    required: Pressure | None = None
    margin: Pressure | None = None
    words: str = ""
    """What else is to be said of it in a word or two."""
    planned: bool = False
    ports: int | None = None
    worst_way: bool = False
    """Whether it lies on the way to the worst fixture."""
    worst: bool = False
    """Whether it is the worst fixture's connection."""
    fails: bool = False
    """Whether a finding that fails, or a pressure that is short, stands against it."""
    warned: bool = False
    well: int = 0
    """Of what stands before the tank: of which well's own way it is a part, the first being 0."""


class SupplyDrawing(DesignAnswer, frozen=True, kw_only=True):
    """A sized house as it is drawn."""

    schema: ClassVar[str] = "supplycalc-draw/1"
    form: ClassVar[Form] = Form(omit=("design",))

    levels: tuple[DrawnLevel, ...]
    """From the lowest up."""
    rows: tuple[Row, ...]
    """From the lowest up; on a level in the way of the water."""

    @property
    def sizes_told(self) -> str:
        """A sentence, with a blank before it, where the sizes are those of a change."""
        design = self.design
        if design.sized_for is None:
            return ""
        but = ", but where the file's own are kept" if design.after_change else ""
        return (
            f" Sizes as in change {design.sized_for + 1} of 'supplycalc size'{but}; pressures as "
            "they are without it."
        )


def supply_drawing(design: Design) -> SupplyDrawing:
    """Put every link of a sized house on its level, a fixture's cold and hot side by side."""
    tree = design.tree
    storeys = levels(design)
    rows = [_row(design, index, storeys) for index in range(len(tree))]
    place = {level.name: number for number, level in enumerate(storeys)}
    on = [place[row.level] for row in rows]
    turn = _turns(design, on)
    rows.sort(key=lambda row: (on[row.index], *turn[row.index]))
    rows[:0] = _before_tank(design, rows[0].level)
    return SupplyDrawing(design=design, levels=storeys, rows=tuple(rows))


def _turns(design: Design, level: Sequence[int]) -> dict[int, tuple[float, int]]:
    """When each link has its turn on its level.

    Cold pipe follows the water; where it parts, what leads to a heater comes first and what leads
    to most last. A hot connection
    stands beside the cold one of its fixture, a hot pipe below the first connection it leads to.
    """
    tree = design.tree
    order: dict[int, int] = {}
    waiting = [0]
    while waiting:
        index = waiting.pop()
        order[index] = len(order)
        fed = sorted(
            tree.children[index],
            key=lambda child: (_leads_to_heat(design, child), tree.last[child] - child, child),
        )
        waiting.extend(reversed(fed))
    turn = {index: float(number) for index, number in order.items()}
    cold = {outlet.fixture.name: outlet.link for outlet in tree.outlets if outlet.side == "cold"}
    hot = [outlet for outlet in tree.outlets if outlet.side == "hot"]
    for outlet in hot:
        if outlet.fixture.name in cold:
            turn[outlet.link] = order[cold[outlet.fixture.name]] + 0.5
    for outlet in hot:
        beside = [
            turn[link]
            for link in tree.children[tree.parent[outlet.link]]
            if turn[link] != order[link] and level[link] == level[outlet.link]
        ]
        if outlet.fixture.name not in cold and beside:
            turn[outlet.link] = max(beside) + 0.1
    ends = {outlet.link for outlet in hot}
    for index in range(1, len(tree)):
        if tree.side[index] == "hot" and index not in ends and not _heats(design, index):
            below = [link for link in tree.at_or_below(index) if link in ends]
            near = [link for link in below if level[link] == level[index]] or below
            turn[index] = min((turn[link] for link in near), default=turn[index]) - 0.7
    return {index: (turn[index], number) for index, number in order.items()}


def _leads_to_heat(design: Design, index: int) -> int:
    """0 where hot water comes from it, so that heaters stand near what feeds them, else 1."""
    below = design.tree.at_or_below(index)
    return 0 if any(design.tree.side[link] == "hot" for link in below) else 1


def _heats(design: Design, index: int) -> bool:
    """Whether water gets hot in a link."""
    tree = design.tree
    return tree.side[tree.parent[index]] == "cold"


def _before_tank(design: Design, level: str) -> list[Row]:
    """What the water passes up to the tank, in order: first the wells beside the first with their
    lines."""
    house, stretches = well_side(design.house), design.stretches[:-1]
    names = well_names(house)
    ways = [list(_to_tank(design, level, (*stretches[:1], *stretches[len(names) :])))]
    for number, alone in enumerate(wells_alone(house)[1:], start=1):
        row = _in_well(_water(design, level, "well", alone.source), alone.source)
        row = replace(row, words=f"{row.words}, joins at {house.further_wells[0].joins}")
        line = _line(design, level, stretches[number : number + 1])
        ways.append([row, *line])
    rows: list[Row] = []
    for number, way in reversed(list(enumerate(ways))):
        if len(ways) > 1:
            told = {"fails": "fail", "warned": "warn"}
            marks = {key: _told(design, kind, (names[number],)) for key, kind in told.items()}
            way[0] = replace(way[0], name=names[number], **marks)
        at = number * APART
        rows += [
            replace(row, well=number, index=-1 - place - at, parent=-max(place, 1) - at)
            for place, row in enumerate(way)
        ]
    return rows


def _to_tank(design: Design, level: str, stretches: Sequence[Design]) -> Iterator[Row]:
    """What the water passes up to the tank, in order: the well, pipe and equipment, an open tank
    that a second pump draws from."""
    house = design.house
    before, sucked = well_side(house), len(house.suction)
    source = before.source
    lifts = source.kind == "well" and (before is not house or not source.open_water)
    if lifts:
        row = _in_well(_water(design, level, "well", source), source)
        if sucked:
            row = replace(row, type="water", kind=None, words="", length=None)
        yield row
    pump = replace(_water(design, level, "pump", source), type="pump")
    if source.pump is not None and source.pump.elevation is not None:
        pump = replace(pump, elevation=source.pump.elevation)
    for number, link in enumerate(_line(design, level, stretches)):
        if sucked and number == sucked:
            yield pump
        yield link
    if sucked and not house.line:
        yield pump
    if house.source.open_water and not house.source.by_gravity:
        yield _water(design, level, "open tank", house.source)


def _in_well(row: Row, source: WaterSource) -> Row:
    """A well's row, as deep as its pump hangs."""
    well = source.well
    if well is None:
        return row
    head = source.elevation if well.elevation is None else well.elevation
    depth = well.pump_depth
    return replace(row, elevation=head - (depth or 0.0), length=depth)


def _water(design: Design, level: str, name: str, source: WaterSource) -> Row:
    """The well or the open tank that a pump draws from, or that pump alone."""
    pump = source.pump.kind if source.pump is not None else "pump not described"
    lifter = "pump" if source is design.house.source else "well pump"
    told = {"pump": (lifter,), "open tank": (lifter, name, "spring")}.get(name, (lifter, name))
    if name == "well" and design.house.suction:
        told = (name,)
    return Row(
        index=-1,
        parent=-1,
        type="well",
        name=name,
        kind=pump,
        words=pump if source.pump is None else f"{pump} pump",
        level=level,
        side="cold",
        elevation=source.elevation if source.lowest_level is None else source.lowest_level,
        worst_way=True,
        fails=_told(design, "fail", told),
        warned=_told(design, "warn", told),
    )


def _line(design: Design, level: str, stretches: Sequence[Design]) -> Iterator[Row]:
    """Pipe and equipment between the well and the tank, in the way of the water."""
    for before, number, result in (
        (stretch, *item) for stretch in stretches for item in sorted(stretch.result_at.items())
    ):
        row = Row(
            index=-1,
            parent=-1,
            type="device",
            name=result.name,
            level=level,
            side="cold",
            elevation=before.tree.elevation[number],
            design_flow=result.design_flow,
            loss=result.loss,
            worst_way=True,
            fails=_told(design, "fail", (result.name,)),
            warned=_told(design, "warn", (result.name,)),
        )
        if isinstance(result, RunResult):
            yield replace(
                row,
                type="run",
                run_name=result.name,
                size=result.nominal,
                metric=result.tube.metric,
                length=result.length,
            )
        else:
            yield replace(row, kind=result.kind)


def _row(design: Design, index: int, storeys: tuple[DrawnLevel, ...]) -> Row:
    tree = design.tree
    link, name = tree.links[index], tree.names[index]
    on_way = index == 0 or index in tree.path(design.worst.index)
    level = level_of(storeys, level_height(design, index)).name
    base = Row(
        index=index,
        parent=tree.parent[index],
        type="run",
        name=name,
        level=level,
        side=tree.side[index],
        elevation=tree.elevation[index],
        worst_way=on_way,
        fails=_told(design, "fail", (name,)),
        warned=_told(design, "warn", (name,)),
    )
    if isinstance(link, WaterSource):
        told: tuple[str, ...] = ("source", "pressure tank", "tank", "switch", "main", "spring")
        name = {"well": "pressure tank", "tank": "open tank"}.get(link.kind, link.kind)
        if link.by_gravity:
            told = (*told, "open tank")
        return replace(
            base,
            type="source",
            name=name,
            words=source_step(design).removeprefix("source, "),
            design_flow=design.demand.design_flow[0],
            pressure=design.source.design_pressure,
            fails=_told(design, "fail", told),
            warned=_told(design, "warn", told),
        )
    if isinstance(link, Manifold):
        inside = _in_manifold(design, index)
        return replace(base, type="manifold", ports=link.ports, pressure=inside)
    result = design.result_at[index]
    base = replace(
        base, design_flow=result.design_flow, loss=result.loss, pressure=_left(result.end_pressure)
    )
    if not isinstance(result, RunResult):
        return replace(base, type="device", kind=result.kind)
    for far in design.house.far_tanks:
        if far.at == tree.points[index]:
            base = replace(base, name=f"{name}, {far.name} at its end")
    base = replace(
        base,
        run_name=name,
        size=result.nominal,
        metric=result.tube.metric,
        length=result.length,
    )
    outlet = next((outlet for outlet in design.outlets if outlet.index == index), None)
    if outlet is None:
        return base
    names = (name, outlet.name, outlet.fixture.name)
    return replace(
        base,
        type="fixture",
        name=outlet.name,
        kind=outlet.kind,
        pressure=outlet.residual if outlet.used_up_in is None else None,
        required=outlet.required,
        margin=outlet.margin,
        planned=outlet.planned,
        worst=outlet.index == design.worst.index,
        fails=outlet.margin < 0.0 or _told(design, "fail", names),
        warned=_told(design, "warn", names),
    )


def _in_manifold(design: Design, index: int) -> float | None:
    """Pressure in a manifold: that before the links it feeds, or that of what feeds it."""
    tree = design.tree
    for child in tree.children[index]:
        result = design.result_at.get(child)
        if result is not None:
            return _left(result.end_pressure + result.loss - result.static_gain)
    return None


def _left(pressure: float) -> float | None:
    """A pressure on the way; None where it is used up."""
    return pressure if pressure >= 0.0 else None


def _told(design: Design, level: str, names: tuple[str, ...]) -> bool:
    """Whether a finding of a level stands against any of these names, alone or among others."""
    for finding in design.findings:
        if finding.level == level:
            among = re.split(r", | and ", finding.where)
            if any(name == finding.where or name in among for name in names):
                return True
    return False
