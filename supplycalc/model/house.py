"""The house as the file describes it: frozen records in SI units, each with its place.

Every quantity is in SI, and its type says in which unit; pressures are gauge, elevations above the
datum that the user picked. Nothing here computes; what a value leads to is told elsewhere.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct, field

from supplycalc.catalogue import Catalogue, Side, load_catalogue
from supplycalc.model.layout import Layout, Position, Storey, Wall, Zone
from supplycalc.model.ranges import Range
from supplycalc.model.source import BACK_FROM_TANK, Pump, Tank, WaterSource, Well
from supplycalc.problems import NOWHERE, Place
from supplycalc.units import BaseSystem, Loss, UnitSystem
from supplycalc.units.quantities import (
    Cover,
    Elevation,
    Flow,
    Length,
    Pressure,
    Roughness,
    Setting,
    Share,
    Temperature,
    Time,
    Velocity,
    Volume,
)

Friction = Literal["darcy", "hazen-williams"]
Occupancy = Literal["private", "public"]
"""Who uses a fixture: a household, or guests and the public."""


class Project(Struct, frozen=True, kw_only=True):
    """What the file says of the job as a whole."""

    name: str
    units: BaseSystem = "us"
    flow_unit: str | None = None
    """Of `WISHED`, where flows are to be shown in another than the unit system's."""
    pressure_unit: str | None = None
    demand: str = "irc"
    friction: Friction = "darcy"
    listed: tuple[str, ...] = ()
    """Names of the fixtures that run at once, for demand method `listed`."""
    length_allowance: Share = 0.10
    """Share added to lengths measured from positions."""
    percentile: Share = 0.99
    """For demand methods by probability."""
    people: int | None = None
    """Who live in the house."""
    use: Occupancy = "private"
    """By which rows of a code's table the fixtures count that do not say so themselves."""
    place: Place = NOWHERE

    @property
    def shown_in(self) -> UnitSystem:
        """The units of pages and tables: the system, and what the file wishes otherwise."""
        return " ".join(filter(None, (self.units, self.flow_unit, self.pressure_unit)))


class Water(Struct, frozen=True, kw_only=True):
    """Water temperatures."""

    cold: Temperature = 283.15
    hot: Temperature = (120.0 + 459.67) / 1.8
    given: tuple[str, ...] = ()
    """Which of the two the file gives."""
    place: Place = NOWHERE


class ShortLimit(Struct, frozen=True, kw_only=True):
    """How long any fixture may have less than it needs in daily use; one of the two is given."""

    text: str
    """As the file has it."""
    a_year: Time | None = None
    share: Share | None = None
    """Of its use."""


class Limits(Struct, frozen=True, kw_only=True):
    """Limits the user sets; None means the sourced default."""

    max_static: Pressure | None = None
    velocity_cold: Velocity | None = None
    velocity_hot: Velocity | None = None
    service_minimum: str | None = None
    """Smallest nominal size of a buried service run."""
    max_hot: Temperature | None = None
    """Highest water temperature at an outlet."""
    frost_depth: Cover | None = None
    reserve: Pressure | None = None
    """Pressure that sizing keeps to spare at every fixture, where it can."""
    larger_than_feed: bool = False
    """True lets a run be larger than the run that feeds it."""
    larger_branches: bool = False
    """True lets a fixture's branch be more than one size above its connection."""
    short: ShortLimit | None = None
    """Given: sizes that keep it in daily use are found beside the code's."""
    place: Place = NOWHERE


class Defaults(Struct, frozen=True, kw_only=True):
    """What runs take that do not say otherwise."""

    material: str | None = None
    joining: str | None = None
    """How the default material is joined."""
    fitting_allowance: Share | None = None
    """Share of developed length added where no fittings are listed."""
    sizes: tuple[str, ...] = ()
    """Nominal sizes that the shop has; a tube that comes in none of them keeps its own."""
    same_size_hot_and_cold: bool = False
    """True gives a fixture's cold and hot branch one nominal size."""
    place: Place = NOWHERE


class Point(Struct, frozen=True, kw_only=True):
    """A named junction whose height or position is known."""

    name: str
    elevation: Elevation | None = None
    at: Position | None = None
    place: Place = NOWHERE


class Run(Struct, frozen=True, kw_only=True):
    """One pipe of one size from a point to a point."""

    name: str
    start: str
    end: str
    length: Length
    """Developed length."""
    material: str
    joining: str
    """How it is joined, which decides the fitting losses."""
    size: str | None = None
    """Fixed by the user."""
    sizes: tuple[str, ...] = ()
    """What the solver may choose from; empty: the whole family."""
    minimum: str | None = None
    """The user's smallest size."""
    existing: bool = False
    """Lies there already: never resized, never bought; without `size` its size is not known."""
    fittings: tuple[tuple[str, int], ...] | None = None
    """(kind, count); None: not listed, so the allowance is added to the length."""
    fitting_allowance: Share | None = None
    """Share of length for fittings where none are listed; None: the sourced default."""
    group: str | None = None
    """Runs of one group share one size."""
    buried: Cover | None = None
    """Depth of cover."""
    embedded: bool = False
    """Under or in a slab."""
    joints: int = 0
    """Joints inside the embedded part."""
    roughness: Roughness | None = None
    """Overrides the material's, for old pipe."""
    insulated: bool = False
    circulated: bool = False
    """Kept hot up to its end by a circulation line or a heating cable."""
    length_measured: bool = False
    """Length comes from positions, allowance included."""
    fixture: str | None = None
    """The fixture whose own branch this is."""
    profile: tuple[tuple[Length, Elevation], ...] = ()
    """How high it lies along its way: (distance along the pipe, height), from start to end."""
    split: bool = False
    """Whether its size may change at the points of its profile."""
    classes: tuple[str, ...] = ()
    """Families of one kind of tube, the weakest first, of which it is laid in the first that bears
    what may stand in it."""
    route: str | None = None
    """The run of the file that this is a piece of."""
    place: Place = NOWHERE

    @property
    def fed_back(self) -> bool:
        """Whether it is the line before the tank once more, as the tank's way to a tap on it."""
        return self.existing and self.name.endswith(BACK_FROM_TANK.format(""))


class Device(Struct, frozen=True, kw_only=True):
    """Anything with a loss that is not pipe."""

    name: str
    kind: str
    start: str
    end: str
    loss: Loss | None = None
    """None: the sourced default of its kind."""
    elevation: Elevation | None = None
    at: Position | None = None
    setting: Setting | None = None
    """Set pressure of a pressure-reducing valve, no flow."""
    falloff: Pressure | None = None
    """How far its outlet falls at `falloff_flow`."""
    falloff_flow: Flow | None = None
    volume: Volume | None = None
    """Of the water in a heater."""
    place: Place = NOWHERE


class FurtherWell(Struct, frozen=True, kw_only=True):
    """A well beside the source's own that feeds the same tank, with its pump and line."""

    well: Well
    pump: Pump
    joins: str
    """The point of the first well's way to the tank where its own line ends."""
    line: tuple[Run | Device, ...] = ()
    """From its water to that point, in order."""

    @property
    def name(self) -> str:
        """As the file calls it."""
        return self.well.name or ""


class Manifold(Struct, frozen=True, kw_only=True):
    """A header with ports; its name is the point that runs start from."""

    name: str
    start: str
    ports: int | None = None
    elevation: Elevation | None = None
    at: Position | None = None
    place: Place = NOWHERE


class ServedHousehold(Struct, frozen=True, kw_only=True):
    """People of one building on the source; a barn has none."""

    name: str
    people: int
    use: Occupancy | None = None
    """By which rows of a code's table its fixtures count; None: the project's."""
    place: Place = NOWHERE


class Fixture(Struct, frozen=True, kw_only=True):
    """An outlet or an appliance and the branch or branches that feed it."""

    name: str
    kind: str
    elevation: Elevation
    cold: Run | None = None
    hot: Run | None = None
    planned: bool = False
    arrestor: bool = False
    """Not there yet, but counted."""
    valve: str | None = None
    """plain, pressure-balanced or thermostatic; None: the kind's usual one."""
    flow: Flow | None = None
    """Overrides the table's flow."""
    regulator: Literal["usual", "none"] = "usual"
    """none: nothing holds its flow down where pressure is high, whatever its kind usually has."""
    pressure: Pressure | None = None
    """Overrides the table's flowing pressure."""
    at: Position | None = None
    continuous: Flow | None = None
    """A flow that may run for hours, on top of what the fixture draws by the demand method; of an
    outdoor tap without a flow of its own it is all."""
    use_temperature: Temperature | None = None
    """ReadingToTake mixed temperature."""
    use: Occupancy | None = None
    """By which rows of a code's table it counts; None: the project's."""
    household: str | None = None
    """Whose it is, where a source serves several; None: everybody's."""
    room: str | None = None
    """The room it stands in; fixtures of one room are not all used at once."""
    place: Place = NOWHERE

    @property
    def branches(self) -> tuple[Run, ...]:
        """The runs of its own, cold before hot."""
        return tuple(run for run in (self.cold, self.hot) if run is not None)


class Draw(Struct, frozen=True, kw_only=True):
    """Water that is drawn at a fixture at set times of the day."""

    fixture: str
    at: tuple[Time, ...]
    """Times after midnight."""
    duration: Time | None = None
    """None: until `volume` has run."""
    volume: Volume | None = None
    share: Share = 1.0
    """How far the outlet is opened."""
    side: Side | Literal["both"] | None = None
    """None: every side that the fixture has."""
    place: Place = NOWHERE


When = Literal["cut-in", "cut-out", "pump alone", "lowest level", "highest level"]
"""States of the source, in the words in which what comes out is told by them."""


class GaugeReading(Struct, frozen=True, kw_only=True):
    """What was read by a gauge, or by bucket and watch, in the house that is there."""

    at: str
    """The gauge's place: a point, a fixture, one side of it, or the source's own gauge."""
    open: tuple[str, ...] = ()
    """What ran meanwhile, each as `flow` takes it; empty: nothing."""
    pressure: Pressure | None = None
    flow: Flow | None = None
    """Out of the fixture at which it was read."""
    source_pressure: Pressure | None = None
    """What the source's own gauge showed meanwhile."""
    when: When | None = None
    """How the source stood meanwhile, where no gauge was read there; None: not told."""
    fell: Pressure | None = None
    """By how much the pressure fell within `fell_in` with nothing running."""
    fell_in: Time | None = None
    accuracy: Pressure | None = None
    """Of the gauge, ±; None: the usual one."""
    flow_accuracy: Share | None = None
    """Of the bucket, ±; None: the usual one."""
    place: Place = NOWHERE


class House(Struct, frozen=True, kw_only=True):
    """Everything one file says, checked."""

    project: Project
    source: WaterSource
    water: Water = field(default_factory=Water)
    limits: Limits = field(default_factory=Limits)
    defaults: Defaults = field(default_factory=Defaults)
    points: tuple[Point, ...] = ()
    suction: tuple[Run | Device, ...] = ()
    """From the water in the well to a pump that stands above it, in order."""
    line: tuple[Run | Device, ...] = ()
    """From the well's pump to the tank that it fills, in order: the drop pipe first, where the pump
    hangs in a well. The tank stands under pressure, or is open and fed over its inlet."""
    joined_wells: tuple[FurtherWell, ...] = ()
    """Wells beside the first, in file order; all join its way at one point."""
    runs: tuple[Run, ...] = ()
    """Runs of [[run]] behind the tank; a fixture's own branches stand in the fixture."""
    devices: tuple[Device, ...] = ()
    """Behind the tank."""
    manifolds: tuple[Manifold, ...] = ()
    fixtures: tuple[Fixture, ...] = ()
    far_tanks: tuple[Tank, ...] = ()
    """Pressure tanks behind that of the source, at points of the tree."""
    households: tuple[ServedHousehold, ...] = ()
    """Where one source serves several; empty: all fixtures are one household's."""
    draws: tuple[Draw, ...] = ()
    readings: tuple[GaugeReading, ...] = ()
    layout: Layout = field(default_factory=Layout)
    storeys: tuple[Storey, ...] = ()
    walls: tuple[Wall, ...] = ()
    zones: tuple[Zone, ...] = ()
    catalogue: Catalogue = field(default_factory=load_catalogue)
    """What it is built with: the shipped catalogue and what the file declares itself."""
    assumptions: tuple[str, ...] = ()
    """What reading had to assume, a sentence each."""
    ranges: tuple[Range, ...] = ()
    """What is known within a range alone; the house holds its middle."""
    place: Place = NOWHERE

    @property
    def before_tank(self) -> tuple[Run | Device, ...]:
        """What the water of the well passes up to the tank, in order."""
        return self.suction + self.line

    @property
    def further_wells(self) -> tuple[FurtherWell, ...]:
        """The wells beside the source's own; not those that fill the open tank that it draws from,
        which `network.well_side` shows."""
        return () if self.source.filled_by is not None else self.joined_wells

    @property
    def all_before_tank(self) -> tuple[Run | Device, ...]:
        """The same, and what the water of further wells passes."""
        return (*self.before_tank, *(link for well in self.joined_wells for link in well.line))

    @property
    def every_run(self) -> tuple[Run, ...]:
        """The runs before the tank, then those behind it."""
        return (*(link for link in self.all_before_tank if isinstance(link, Run)), *self.runs)

    @property
    def all_runs(self) -> tuple[Run, ...]:
        """The same, and the fixtures' own branches."""
        return (*self.every_run, *(run for fixture in self.fixtures for run in fixture.branches))

    @property
    def every_device(self) -> tuple[Device, ...]:
        """The devices before the tank, then those behind it."""
        before = (link for link in self.all_before_tank if isinstance(link, Device))
        return (*before, *self.devices)
