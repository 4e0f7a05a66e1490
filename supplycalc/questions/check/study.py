"""The supply as the file has it, before any sizing."""

from __future__ import annotations

from typing import Any, ClassVar, Literal, TypeVar

from msgspec import Struct

from supplycalc.findings.assumptions import assumed_in
from supplycalc.model import Device, Fixture, House, Manifold, Run, Side
from supplycalc.network import Tree, build_tree, line_tree
from supplycalc.records import Form, Result
from supplycalc.records.known_ranges import KnownRange
from supplycalc.records.sentences import Assumption
from supplycalc.supply.well_line import tank_place
from supplycalc.units.quantities import (
    Cover,
    Diameter,
    Elevation,
    Flow,
    Head,
    Length,
    Power,
    Pressure,
    Setting,
    SpecificCapacity,
    Volume,
)


class TankAsRead(Struct, frozen=True, kw_only=True):
    """The pressure tank."""

    stands: str
    """Where, in words."""
    volume: Volume | None
    precharge: Setting | None
    max_pressure: Setting | None
    relief: Setting | None


class CurvePoint(Struct, frozen=True, kw_only=True):
    """A point of a pump's curve."""

    flow: Flow
    head: Head


class PumpAsRead(Struct, frozen=True, kw_only=True):
    """The pump."""

    kind: str
    curve: tuple[CurvePoint, ...]
    measured_flow: Flow | None
    measured_pressure: Pressure | None
    set_pressure: Setting | None
    motor_power: Power | None
    elevation: Elevation | None


class WellAsRead(Struct, frozen=True, kw_only=True):
    """The well; levels are depths below the wellhead."""

    elevation: Elevation | None
    static_level: Length | None
    specific_capacity: SpecificCapacity | None
    recovery: Flow | None
    pump_depth: Length | None
    diameter: Diameter | None


class Source(Struct, frozen=True, kw_only=True):
    """Where the water comes from, as the file says it."""

    kind: str
    elevation: Elevation
    cut_in: Setting | None
    cut_out: Setting | None
    residual: Pressure | None
    static: Pressure | None
    well: WellAsRead | None
    pump: PumpAsRead | None
    tank: TankAsRead | None


ENDS = Form(rename={"start": "from", "end": "to"})


class LinkAsRead(Struct, frozen=True, kw_only=True):
    """What runs, devices and manifolds have in common."""

    form: ClassVar[Form] = ENDS

    name: str
    type: Literal["run", "device", "manifold"]
    start: str
    end: str
    side: Side
    end_elevation: Elevation


class RunAsRead(LinkAsRead, frozen=True, kw_only=True):
    """One pipe."""

    material: str
    joining: str | None
    length: Length
    size: str | None
    sizes: tuple[str, ...]
    minimum: str | None
    group: str | None
    fittings: dict[str, int] | None
    buried: Cover | None
    embedded: bool
    fixture: str | None
    """Name of the fixture at its end."""
    fixture_kind: str | None
    route: str | None
    """Name of the line in the file that it is a piece of."""


class DeviceAsRead(LinkAsRead, frozen=True, kw_only=True):
    """One device."""

    kind: str
    setting: Setting | None


class ManifoldAsRead(LinkAsRead, frozen=True, kw_only=True):
    """One manifold."""

    ports: int | None


class SupplyCheck(Result, frozen=True, kw_only=True):
    """A file that could be read, with everything that it leaves out."""

    schema: ClassVar[str] = "supplycalc-check/1"
    form: ClassVar[Form] = Form(omit=("tree",), add=("method", "source", "links", "ranges"))

    tree: Tree
    assumptions: tuple[Assumption, ...]

    @property
    def house(self) -> House:
        """As read."""
        return self.tree.house

    @property
    def ok(self) -> bool:
        """A file with mistakes never gets here."""
        return True

    @property
    def method(self) -> str:
        """Demand method of the file."""
        return self.house.project.demand

    @property
    def source(self) -> Source:
        """Where the water comes from."""
        source = self.house.source
        return Source(
            kind=source.kind,
            elevation=source.elevation,
            cut_in=source.cut_in,
            cut_out=source.cut_out,
            residual=source.residual,
            static=source.static,
            well=_fields_of(WellAsRead, source.well),
            pump=_fields_of(
                PumpAsRead,
                source.pump,
                curve=tuple(
                    CurvePoint(flow=flow, head=head)
                    for flow, head in (source.pump.curve if source.pump is not None else ())
                ),
            ),
            tank=_fields_of(TankAsRead, source.tank, stands=tank_place(self.house)),
        )

    @property
    def ranges(self) -> tuple[KnownRange, ...]:
        """What the file knows within a range alone."""
        return tuple(KnownRange(known=each) for each in self.house.ranges)

    @property
    def links(self) -> tuple[RunAsRead | DeviceAsRead | ManifoldAsRead, ...]:
        """Every run, device and manifold: those before the tank, then from the source down."""
        fixtures = {outlet.link: outlet.fixture for outlet in self.tree.outlets}
        line = line_tree(self.house)
        return (
            *(_as_read(line, index, None) for index in range(1, len(line))),
            *(_as_read(self.tree, i, fixtures.get(i)) for i in range(1, len(self.tree))),
        )


_AsRead = TypeVar("_AsRead", bound=Struct)


def _fields_of(kind: type[_AsRead], record: Struct | None, **more: Any) -> _AsRead | None:
    """The fields of a record of the model that are shown; None where there is none."""
    if record is None:
        return None
    names = (name for name in kind.__struct_fields__ if name not in more)
    return kind(**{name: getattr(record, name) for name in names}, **more)


def check(house: House) -> SupplyCheck:
    """The supply tree of a house as read, from the source down, and what was assumed."""
    tree = build_tree(house)
    return SupplyCheck(tree=tree, assumptions=assumed_in(tree))


def _as_read(
    tree: Tree, index: int, fixture: Fixture | None
) -> RunAsRead | DeviceAsRead | ManifoldAsRead:
    link = tree.links[index]
    name, start, end = tree.names[index], tree.points[tree.parent[index]], tree.points[index]
    side, height = tree.side[index], tree.elevation[index]
    if isinstance(link, Run):
        return RunAsRead(
            name=name,
            type="run",
            start=start,
            end=end,
            side=side,
            end_elevation=height,
            material=link.material,
            joining=link.joining,
            length=link.length,
            size=link.size,
            sizes=link.sizes,
            minimum=link.minimum,
            group=link.group,
            fittings=None if link.fittings is None else dict(link.fittings),
            buried=link.buried,
            embedded=link.embedded,
            fixture=None if fixture is None else fixture.name,
            fixture_kind=None if fixture is None else fixture.kind,
            route=link.route,
        )
    if isinstance(link, Device):
        return DeviceAsRead(
            name=name,
            type="device",
            start=start,
            end=end,
            side=side,
            end_elevation=height,
            kind=link.kind,
            setting=link.setting,
        )
    assert isinstance(link, Manifold)
    return ManifoldAsRead(
        name=name,
        type="manifold",
        start=start,
        end=end,
        side=side,
        end_elevation=height,
        ports=link.ports,
    )
