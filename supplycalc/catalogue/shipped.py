"""Everything that can be named in a file: what is shipped, read once, and the file's own."""

from __future__ import annotations

import functools
from collections.abc import Mapping

from msgspec import Struct, field

from supplycalc.catalogue.devices import DeviceKind, OwnDevice, device_kind, own_device
from supplycalc.catalogue.fixtures import FixtureKind, by_the_book, fixture_kind
from supplycalc.catalogue.joinings import Joining, OwnFitting, joining, with_own_fitting
from supplycalc.catalogue.tubes import SHIPPED_TUBES, OwnTube, Tube, own_tube
from supplycalc.tables import DEMAND_METHODS, load_table


class Catalogue(Struct, frozen=True, kw_only=True):
    """Everything that can be named in a file: what is shipped and what the file declares itself."""

    tubes: Mapping[str, Tube] = field(default_factory=dict)
    joinings: Mapping[str, Joining] = field(default_factory=dict)
    devices: Mapping[str, DeviceKind] = field(default_factory=dict)
    fixtures: Mapping[str, FixtureKind] = field(default_factory=dict)
    own_tubes: tuple[OwnTube, ...] = ()
    """As the file says them; they stand in `tubes` too, likewise the next two."""
    own_fittings: tuple[OwnFitting, ...] = ()
    own_devices: tuple[OwnDevice, ...] = ()

    @property
    def own(self) -> tuple[OwnTube | OwnFitting | OwnDevice, ...]:
        """All that the file declares; in nothing else do two catalogues differ."""
        return (*self.own_tubes, *self.own_fittings, *self.own_devices)

    @property
    def nominals(self) -> tuple[str, ...]:
        """The nominal sizes of all families, each once."""
        sizes = (size for tube in self.tubes.values() for size in tube.sizes)
        return tuple(dict.fromkeys(size.nominal for size in sizes))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Catalogue) and self.own == other.own

    def __hash__(self) -> int:
        return hash(self.own)

    def __repr__(self) -> str:
        return f"<the shipped catalogue and {len(self.own)} entries of the house file>"


def load_catalogue(
    own_tubes: tuple[OwnTube, ...] = (),
    own_fittings: tuple[OwnFitting, ...] = (),
    own_devices: tuple[OwnDevice, ...] = (),
) -> Catalogue:
    """The shipped catalogue, with what a house file declares itself added.

    Args:
        own_fittings: fittings to add; one of a shipped name goes before it.
    """
    shipped = _shipped()
    if not (own_tubes or own_fittings or own_devices):
        return shipped
    joinings = shipped.joinings
    for fitting in own_fittings:
        joinings = with_own_fitting(joinings, fitting)
    return Catalogue(
        tubes={**shipped.tubes, **{own.name: own_tube(own) for own in own_tubes}}
        if own_tubes
        else shipped.tubes,
        joinings=joinings,
        devices={**shipped.devices, **{own.name: own_device(own) for own in own_devices}},
        fixtures=shipped.fixtures,
        own_tubes=own_tubes,
        own_fittings=own_fittings,
        own_devices=own_devices,
    )


@functools.cache
def fixture_kinds(method: str) -> Mapping[str, FixtureKind]:
    """Every kind of fixture as the book of a demand method has it.

    Returns:
        Kind by its name: flows and pressures of the outlet and smallest branch by that book, and
        by the American tables where it has none.
    """
    shipped, file = _shipped().fixtures, DEMAND_METHODS[method]
    if not file:
        return shipped
    return {name: by_the_book(kind, load_table(file)) for name, kind in shipped.items()}


@functools.cache
def _shipped() -> Catalogue:
    fittings, devices, fixtures = (load_table(name) for name in ("fittings", "devices", "fixtures"))
    return Catalogue(
        tubes=SHIPPED_TUBES,
        joinings={n: joining(n, row, fittings) for n, row in fittings["joining"].items()},
        devices={n: device_kind(n, row, devices["units"]) for n, row in devices["device"].items()},
        fixtures={n: fixture_kind(n, row, fixtures) for n, row in fixtures["fixture"].items()},
    )
