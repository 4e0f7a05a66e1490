"""Records of the building as `layout` needs it: storeys, walls, zones without pipe, wishes; SI."""

from __future__ import annotations

from msgspec import Struct

from supplycalc.problems import NOWHERE, Place
from supplycalc.units.quantities import Elevation, Length

Position = tuple[Elevation, Elevation, Elevation]
"""East, north, up along the building's axes."""


class Storey(Struct, frozen=True, kw_only=True):
    """A floor on which a manifold may stand and at whose level pipes may run."""

    name: str
    floor: Elevation
    """Finished floor above the datum."""
    pipes_at: Elevation | None = None
    """Level at which its pipes run from place to place; None: its floor."""
    in_slab: bool = False
    """Whether that level lies in or under a slab."""
    manifolds: bool = True
    """Whether a manifold may stand there."""
    place: Place = NOWHERE


class Wall(Struct, frozen=True, kw_only=True):
    """A line along which a manifold may stand."""

    name: str
    start: Position
    end: Position
    place: Place = NOWHERE


class Zone(Struct, frozen=True, kw_only=True):
    """A box through which no pipe may go."""

    name: str
    corner: Position
    opposite: Position
    place: Place = NOWHERE


class Layout(Struct, frozen=True, kw_only=True):
    """What the user wants of the layout."""

    start: str | None = None
    """The point where distribution in the house begins; None: found."""
    grid: Length | None = None
    """Distance between places that are tried; None: the usual one."""
    height: Length | None = None
    """Of a manifold above its floor; None: the usual one."""
    port_valves: bool = True
    """Whether each port of a manifold has a valve."""
    spare_ports: int = 2
    """Ports left free on each manifold."""
    submanifolds: int = 3
    """Most submanifolds that are tried."""
    place: Place = NOWHERE
