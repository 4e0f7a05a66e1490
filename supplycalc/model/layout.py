"""Records of the building as `layout` needs it: storeys, walls, zones without pipe, wishes; SI."""

from __future__ import annotations

from supplycalc.problems import NOWHERE, Place
from supplycalc.records import dataclass

Position = tuple[float, float, float]
"""East, north, up along the building's axes [m]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Storey:
    """A floor on which a manifold may stand and at whose level pipes may run."""

    name: str
    floor: float
    """Finished floor above the datum [m]."""
    pipes_at: float | None = None
    """Level at which its pipes run from place to place [m]; None: its floor."""
    in_slab: bool = False
    """Whether that level lies in or under a slab."""
    manifolds: bool = True
    """Whether a manifold may stand there."""
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A line along which a manifold may stand."""

    name: str
    start: Position
    end: Position
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A box through which no pipe may go."""

    name: str
    corner: Position
    opposite: Position
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What the user wants of the layout."""

    start: str | None = None
    """The point where distribution in the house begins; None: found."""
    grid: float | None = None
    """Distance between places that are tried [m]; None: our own default."""
    height: float | None = None
    """Of a manifold above its floor [m]; None: our own default."""
    port_valves: bool = True
    """Whether each port of a manifold has a valve."""
    spare_ports: int = 2
    """Ports left free on each manifold."""
    submanifolds: int = 3
    """Most submanifolds that are tried."""
    place: Place = NOWHERE
