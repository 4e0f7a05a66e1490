"""The supply as the file has it, before any sizing."""

from __future__ import annotations

from typing import Any, ClassVar, Literal, TypeVar

from msgspec import Struct

from supplycalc.findings.assumptions import assumed_in
from supplycalc.model import Device, Fixture, House, Manifold, Pump, Run, Side
from supplycalc.network import Tree, build_tree, line_tree, well_side
from supplycalc.records import Form, Result
from supplycalc.records.known_ranges import KnownRange
from supplycalc.records.sentences import Assumption
from supplycalc.supply.far_tank import FarTank, far_tanks_of
from supplycalc.supply.several_wells import lines_apart
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
    depth: Length | None


class FurtherWellAsRead(Struct, frozen=True, kw_only=True):
    """A well beside the first, with its pump."""

    name: str
    joins: str
    """The point where its line meets the first one's."""
    well: WellAsRead | None
    pump: PumpAsRead | None


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
    further_wells: tuple[FurtherWellAsRead, ...]


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
    form: ClassVar[Form] = Form(
        omit=("tree",), add=("method", "source", "far_tanks", "links", "ranges")
    )

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
        well, tank, house = source.well, source.tank, self.house
        return _as_read(
            Source,
            source,
            well=well and _as_read(WellAsRead, well),
            pump=_pump_as_read(source.pump),
            further_wells=tuple(
                _as_read(
                    FurtherWellAsRead,
                    further,
                    well=_as_read(WellAsRead, further.well),
                    pump=_pump_as_read(further.pump),
                )
                for further in house.joined_wells
            ),
            tank=tank and _as_read(TankAsRead, tank, stands=tank_place(house)),
        )

    @property
    def far_tanks(self) -> tuple[FarTank, ...]:
        """The pressure tanks behind the first one."""
        return far_tanks_of(self.tree)

    @property
    def ranges(self) -> tuple[KnownRange, ...]:
        """What the file knows within a range alone."""
        return tuple(KnownRange(known=each) for each in self.house.ranges)

    @property
    def links(self) -> tuple[RunAsRead | DeviceAsRead | ManifoldAsRead, ...]:
        """Every run, device and manifold: those before the tank, then from the source down."""
        fixtures = {outlet.link: outlet.fixture for outlet in self.tree.outlets}
        lines = map(line_tree, lines_apart(well_side(self.house)))
        return (
            *(_link(line, index, None) for line in lines for index in range(1, len(line))),
            *(_link(self.tree, i, fixtures.get(i)) for i in range(1, len(self.tree))),
        )


_AsRead = TypeVar("_AsRead", bound=Struct)


def _as_read(kind: type[_AsRead], record: Struct, **more: Any) -> _AsRead:
    """The fields of a record of the model that are shown."""
    names = (name for name in kind.__struct_fields__ if name not in more)
    return kind(**{name: getattr(record, name) for name in names}, **more)


def check(house: House) -> SupplyCheck:
    """The supply tree of a house as read, from the source down, and what was assumed."""
    tree = build_tree(house)
    return SupplyCheck(tree=tree, assumptions=assumed_in(tree))


def _pump_as_read(pump: Pump | None) -> PumpAsRead | None:
    if pump is None:
        return None
    points = tuple(CurvePoint(flow=flow, head=head) for flow, head in pump.curve)
    return _as_read(PumpAsRead, pump, curve=points)


def _link(
    tree: Tree, index: int, fixture: Fixture | None
) -> RunAsRead | DeviceAsRead | ManifoldAsRead:
    link = tree.links[index]
    stands = {
        "name": tree.names[index],
        "start": tree.points[tree.parent[index]],
        "end": tree.points[index],
        "side": tree.side[index],
        "end_elevation": tree.elevation[index],
    }
    if isinstance(link, Run):
        return _as_read(
            RunAsRead,
            link,
            type="run",
            fittings=None if link.fittings is None else dict(link.fittings),
            fixture=fixture and fixture.name,
            fixture_kind=fixture and fixture.kind,
            **stands,
        )
    if isinstance(link, Device):
        return _as_read(DeviceAsRead, link, type="device", **stands)
    assert isinstance(link, Manifold)
    return _as_read(ManifoldAsRead, link, type="manifold", **stands)
