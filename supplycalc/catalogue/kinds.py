"""What can be built with: tubes, ways of joining, devices and fixture kinds, in SI."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from itertools import pairwise
from typing import Literal

from msgspec import Struct, field

from supplycalc.problems import NOWHERE, Place
from supplycalc.tables import Citation, kelvin
from supplycalc.units import INCH, Loss
from supplycalc.units.quantities import Density, Diameter, Pressure, Roughness, Velocity

Side = Literal["cold", "hot"]

VERY_HOT = kelvin(140.0, "degF")
"""Above this, copper has a lower velocity limit (Copper Tube Handbook)."""


class TubeSize(Struct, frozen=True, kw_only=True):
    """One size of a tube family."""

    nominal: str
    outside_diameter: float
    wall: float
    inside_diameter: float
    """The average by the tube's standard [m]."""
    rank: float
    """Ascending: nominal inches, or the outside diameter in mm for metric tube."""
    ratings: tuple[tuple[float, float], ...]
    """(temperature [K], pressure [Pa gauge]), where the size has its own."""
    citation: Citation
    inside_diameter_citation: Citation
    common: bool = True
    """False: few counters keep it, so it is taken only where the file names it."""


class Tube(Struct, frozen=True, kw_only=True):
    """A tube family: one standard, sizes ascending."""

    name: str
    title: str
    standard: str
    metric: bool
    sizes: tuple[TubeSize, ...]
    roughness: float
    hazen_williams_c: float
    ratings: tuple[tuple[float, float], ...]
    velocity_cold: float
    velocity_hot: float
    velocity_very_hot: float | None
    hot: bool
    density: float
    joinings: tuple[str, ...]
    """Permitted ways of joining, the usual one first."""
    youngs_modulus: float
    poisson: float
    expansion: float
    max_temperature: float
    """[K]; inf where none is known"""
    support_spacing: tuple[tuple[str, float], ...]
    """("to 1" or "from 1-1/4" or "all", distance [m])"""
    note: str
    citations: dict[str, Citation]

    def size(self, nominal: str) -> TubeSize:
        """The size of this name; KeyError where the family has none."""
        for one in self.sizes:
            if one.nominal == nominal:
                return one
        raise KeyError(nominal)

    def nominal_inches(self, size: TubeSize) -> float:
        """The nominal size as the codes' tables count it [in].

        A metric tube counts as the copper tube of its outside diameter, whose nominal size is 1/8
        inch less (ASTM B88).
        """
        return size.outside_diameter / INCH - 0.125 if self.metric else size.rank

    def pressure_rating(self, size: TubeSize, temperature: float) -> float | None:
        """Rated pressure [Pa gauge] of a size at a water temperature [K].

        Between published temperatures the rating is a straight line; below the first it is the
        first; above the last it is 0, since nothing is published for it. None: no rating known.
        """
        points = size.ratings or self.ratings
        if not points:
            return None
        if temperature <= points[0][0]:
            return points[0][1]
        for (low, at_low), (high, at_high) in pairwise(points):
            if temperature <= high:
                return at_low + (at_high - at_low) * (temperature - low) / (high - low)
        return points[-1][1] if temperature <= points[-1][0] + 1e-6 else 0.0

    def support_distance(self, size: TubeSize) -> float | None:
        """Largest distance between supports of level pipe [m]; None where none is published.

        The rules go by nominal inches.
        """
        inches = self.nominal_inches(size)
        for rule, distance in self.support_spacing:
            if _covers(rule, inches):
                return distance
        # a metric size between two rules takes the closer spacing
        return min((distance for _, distance in self.support_spacing), default=None)

    def velocity_limit(self, temperature: float, hot: bool) -> float:
        """Published velocity limit [m/s] at a water temperature [K]."""
        if not hot:
            return self.velocity_cold
        if self.velocity_very_hot is not None and temperature > VERY_HOT + 1e-6:
            return self.velocity_very_hot
        return self.velocity_hot

    def velocity_citation(self, temperature: float, hot: bool) -> Citation:
        """Where that velocity limit comes from."""
        if not hot:
            return self.citations["velocity_cold"]
        if self.velocity_very_hot is not None and temperature > VERY_HOT + 1e-6:
            return self.citations["velocity_above_140F"]
        return self.citations["velocity_hot"]


def _covers(rule: str, inches: float) -> bool:
    """Whether a rule such as "to 1-1/4", "from 1-1/2" or "all" covers a nominal size [in]."""
    which, _, limit = rule.partition(" ")
    if which == "to":
        return inches <= nominal_inches(limit)
    return which == "all" or inches >= nominal_inches(limit)


class Joining(Struct, frozen=True, kw_only=True):
    """One way of joining and its family of figures."""

    name: str
    title: str
    form: str
    """"k", "equivalent-length" [m] or "diameter-ratio"."""
    figures: dict[str, tuple[float, ...]]
    """Kind -> one figure per entry of `at`; empty for diameter-ratio joinings."""
    at: tuple[float, ...]
    """Nominal sizes of the figures [in]."""
    diameter_ratio: float
    """Inside diameter of the fitting over that of the tube, where `insert_wall` is 0."""
    insert_wall: float
    """Wall of a fitting that sits inside the tube [m]."""
    bodies: dict[str, float]
    """Kind -> K of the turn itself in the fitting's own width, for diameter-ratio joinings."""
    valves: dict[str, float]
    """Kind -> n of K = n*fT, where the joining has no figure of its own."""
    own: dict[str, float]
    """Kind -> K of the user's own fittings."""
    citation: Citation
    cited: dict[str, Citation]
    """Kind -> where its figure comes from, where that is not `citation`."""
    assumed: str

    def citation_of(self, kind: str) -> Citation:
        """Where the figure of a kind of fitting comes from."""
        return self.cited.get(kind, self.citation)

    @property
    def kinds(self) -> tuple[str, ...]:
        """Every fitting that may be counted with this joining."""
        own = [name for name in self.own if name not in self.figures]
        names = [*self.figures, *self.bodies, *self.valves, "stop", *own]
        return tuple(dict.fromkeys(names))


Role = Literal[
    "meter",  # often with a check valve; the codes' tables of sizes hold its loss
    "closes",  # lets nothing back: heated water behind it has nowhere to expand to
    "protects",  # against contamination or scalding, or shuts off: never to be left out
    "in-house",  # what it feeds is distribution; anything else may stand in the service
    "softens",
    "mixes",  # hot water with cold, so that nothing behind it scalds
    "stores",  # hot water
    "heats-flow",  # water as it is drawn
]
"""What a kind of device does, as far as a rule or a size depends on it."""


class DeviceKind(Struct, frozen=True, kw_only=True):
    """A kind of equipment: everything that follows from what a device is."""

    name: str
    title: str
    loss: Loss | None
    hot: bool
    setting: float | None
    falloff: float | None
    falloff_flow: float | None
    citation: Citation
    roles: frozenset[Role] = frozenset()
    words: tuple[str, ...] = ()
    """What people call it, in small letters."""
    added_later: int = 0
    """Its turn among the treatments that a house gets one day, from 1; 0: none of them."""

    @property
    def reduces(self) -> bool:
        """Whether it is a valve that holds the pressure behind it at a setting."""
        return self.setting is not None


class FixtureKind(Struct, frozen=True, kw_only=True):
    """A kind of fixture and what it needs."""

    name: str
    title: str
    sides: tuple[Side, ...]
    mixed: bool
    outlets: dict[str, tuple[float, float]]
    """Valve -> (flow [m3/s], flowing pressure [Pa gauge]); the usual valve first."""
    minimum_size: str
    minimum_citation: Citation
    citation: Citation
    note: str

    @property
    def valves(self) -> tuple[str, ...]:
        """Kinds of valve that the table tells apart, the usual one first."""
        return tuple(self.outlets)

    def flow(self, valve: str | None = None) -> float:
        """Flow of the outlet alone [m3/s]; None, or one not told apart: with its usual valve."""
        return self._outlet(valve)[0]

    def pressure(self, valve: str | None = None) -> float:
        """Flowing pressure it needs [Pa gauge]; None, or one not told apart: its usual valve's."""
        return self._outlet(valve)[1]

    def _outlet(self, valve: str | None) -> tuple[float, float]:
        return self.outlets.get(valve or "", self.outlets[self.valves[0]])


class OwnTube(Struct, frozen=True, kw_only=True):
    """A tube family that a house file declares, sizes in ascending order."""

    name: str
    sizes: tuple[tuple[str, Diameter, Diameter], ...]
    """(nominal, outside diameter, inside diameter)"""
    roughness: Roughness
    hazen_williams_c: float = 140.0
    pressure_rating: Pressure | None = None
    """At the water's temperature."""
    max_velocity_cold: Velocity | None = None
    max_velocity_hot: Velocity | None = None
    hot: bool = False
    density: Density = 1000.0
    joining: str = "none"
    source: str = "the user's file"
    place: Place = NOWHERE


class OwnFitting(Struct, frozen=True, kw_only=True):
    """A fitting that a house file declares: one K for all sizes, for one way of joining or all."""

    name: str
    k: float
    joining: str | None = None
    source: str = "the user's file"
    place: Place = NOWHERE


class OwnDevice(Struct, frozen=True, kw_only=True):
    """A device kind that a house file declares."""

    name: str
    loss: Loss
    source: str = "the user's file"
    place: Place = NOWHERE


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

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Catalogue) and self.own == other.own

    def __hash__(self) -> int:
        return hash(self.own)

    def __repr__(self) -> str:
        return f"<the shipped catalogue and {len(self.own)} entries of the house file>"


@functools.lru_cache(maxsize=512)
def nominal_inches(nominal: str) -> float:
    """A nominal inch size as a number, for order [in].

    Args:
        nominal: such as "3/4" or "1-1/4" [in].

    Returns:
        The number [in].

    Raises:
        ValueError: not an inch size.
    """
    total = 0.0
    for part in nominal.split("-"):
        over, _, under = part.partition("/")
        total += float(over) / float(under or 1)
    return total
