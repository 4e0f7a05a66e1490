"""The supply as the file has it, before any sizing."""

from __future__ import annotations

from typing import ClassVar, Literal

from msgspec import Struct

from supplycalc.findings.assumptions import assumed_in
from supplycalc.model import Device, Fixture, House, Manifold, Run, Side
from supplycalc.network import Tree, build_tree, line_tree
from supplycalc.records import Form, Result
from supplycalc.records.sentences import Assumption
from supplycalc.units.quantities import Cover, Elevation, Length, Pressure, Setting


class Source(Struct, frozen=True, kw_only=True):
    """Where the water comes from, as the file says it."""

    kind: str
    elevation: Elevation
    cut_in: Setting | None
    cut_out: Setting | None
    residual: Pressure | None
    static: Pressure | None


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
    form: ClassVar[Form] = Form(omit=("tree",), add=("method", "source", "links"))

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
        )

    @property
    def links(self) -> tuple[RunAsRead | DeviceAsRead | ManifoldAsRead, ...]:
        """Every run, device and manifold: those before the tank, then from the source down."""
        fixtures = {outlet.link: outlet.fixture for outlet in self.tree.outlets}
        line = line_tree(self.house)
        return (
            *(_as_read(line, index, None) for index in range(1, len(line))),
            *(_as_read(self.tree, i, fixtures.get(i)) for i in range(1, len(self.tree))),
        )


def check(house: House) -> SupplyCheck:
    """The supply tree of a house as read, and what was assumed.

    Args:
        house: a checked house.

    Returns:
        Its links from the source down; nothing is sized.
    """
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
