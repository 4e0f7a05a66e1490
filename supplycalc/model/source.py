"""Records of where the water comes from: main or well, with its pump and pressure tank; SI."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from supplycalc.model.layout import Position
from supplycalc.problems import NOWHERE, Place
from supplycalc.units.quantities import (
    Diameter,
    Elevation,
    Flow,
    Head,
    Length,
    Power,
    Pressure,
    Setting,
    Share,
    SpecificCapacity,
    Volume,
)

SOURCE = "source"
"""The name of the point where the supply begins, unless a tank is said to stand elsewhere."""
WELL = "well"
"""The name of the point that stands for the water in the well."""
TANK_INLET = "tank inlet"
"""The name of the point where what a well's pump lifts falls into an open tank."""

BACK_FROM_TANK = "{0}, back from the tank"
"""Name of a run before the tank, where it stands once more as the way from the tank to a tap."""

TankKind = Literal["pressure", "open"]


class Tank(Struct, frozen=True, kw_only=True):
    """A tank: under pressure beside the switch, or open to the air."""

    name: str = "pressure tank"
    kind: TankKind = "pressure"
    at: str | None = None
    """The point where it stands and from which the house hangs; None: where the runs start."""
    elevation: Elevation | None = None
    """Of its gauge above the datum."""
    volume: Volume | None = None
    precharge: Setting | None = None
    max_pressure: Setting | None = None
    """Rated working pressure."""
    relief: Setting | None = None
    """Pressure at which the relief valve at the tank opens."""
    at_well: bool | None = None
    """Whether the tank stands at the wellhead instead of in the house; None: not said, which
    counts as in the house."""
    place: Place = NOWHERE


class Pump(Struct, frozen=True, kw_only=True):
    """A pump by its head curve; one measured point is a curve of one point."""

    kind: str = "submersible"
    """submersible, jet or constant-pressure"""
    curve: tuple[tuple[Flow, Head], ...] = ()
    """Its points, flow ascending."""
    motor_power: Power | None = None
    """Rated shaft power of the motor."""
    efficiency: Share | None = None
    """Wire to water."""
    measured_flow: Flow | None = None
    """A bucket test at `measured_pressure`."""
    measured_pressure: Pressure | None = None
    """At the tank while the bucket test ran."""
    measured_uncertainty: Share | None = None
    """Share of the measured flow."""
    set_pressure: Setting | None = None
    """Held pressure of a constant-pressure pump."""
    reaches: Pressure | None = None
    """Pressure at the tank that a pump known by a bucket test is known to reach: cut-out of the
    switch it was measured with, where a changed house has another; None: the switch's."""
    elevation: Elevation | None = None
    """Of a pump above ground, above the datum; None: the tank gauge's."""
    npsh_required: Head | None = None
    """Absolute head that its inlet needs above the vapour pressure."""
    start: str | None = None
    """The point that it draws from; None: it hangs in the water."""
    end: str | None = None
    """The point that it pushes to."""
    place: Place = NOWHERE


class Well(Struct, frozen=True, kw_only=True):
    """A drilled, bored or dug well; levels are depths below the wellhead."""

    name: str | None = None
    """Given where there are several; None: the first."""
    static_level: Length | None = None
    specific_capacity: SpecificCapacity | None = None
    recovery: Flow | None = None
    """Yield the well sustains."""
    pump_depth: Length | None = None
    diameter: Diameter | None = None
    depth: Length | None = None
    """Of the hole; None: not known, at least as deep as the pump."""
    elevation: Elevation | None = None
    """Of the wellhead above the datum; None: the tank gauge's."""
    place: Place = NOWHERE


class WellFilling(Struct, frozen=True, kw_only=True):
    """A well and its pump that fill an open tank through a float switch."""

    well: Well
    pump: Pump


class WaterSource(Struct, frozen=True, kw_only=True):
    """Where the water comes from and under what pressure."""

    kind: Literal["well", "main", "tank", "spring"]
    """A pump from the water, a street main, or by gravity from an open tank or a spring's box."""
    elevation: Elevation = 0.0
    """Of the gauge above the datum."""
    altitude: Elevation = 0.0
    """Of the site above the sea, for the air's pressure."""
    at: Position | None = None
    cut_in: Setting | None = None
    cut_out: Setting | None = None
    static: Pressure | None = None
    """A main's pressure with no flow."""
    residual: Pressure | None = None
    """A main's pressure while `residual_flow` runs."""
    residual_flow: Flow | None = None
    lowest_level: Elevation | None = None
    """Of the water in an open tank or spring box down to which it is used, above the datum."""
    highest_level: Elevation | None = None
    """Of that water when it is full; None: it stays at the lowest."""
    inflow: Flow | None = None
    """What comes to that tank or box by itself: a spring's yield."""
    volume: Volume | None = None
    """Held between the two levels."""
    tank: Tank | None = None
    pump: Pump | None = None
    well: Well | None = None
    """Of a pump that draws from an open tank: the tank, its lowest level standing at rest."""
    filled_by: WellFilling | None = None
    """What fills the open tank, where that is a well with a pump."""
    float_on: Elevation | None = None
    """Level of the open tank at which the well's pump starts; it stops at the highest. None: as
    soon as any water is missing."""
    place: Place = NOWHERE

    @property
    def open_water(self) -> bool:
        """Whether the house is fed from an open tank or a spring, by gravity or by a pump."""
        return self.lowest_level is not None

    @property
    def by_gravity(self) -> bool:
        """Whether the house is fed by the height of open water alone."""
        return self.kind in ("tank", "spring")

    @property
    def set_pressure(self) -> Pressure | None:
        """What a constant-pressure pump holds; None: a switch starts the pump."""
        pump = self.pump
        return None if pump is None or pump.kind != "constant-pressure" else pump.set_pressure

    @property
    def kept_pressure(self) -> Pressure:
        """What is kept at the tank at least: cut-in, or what the pump holds; 0 where not given."""
        kept = self.cut_in if self.set_pressure is None else self.set_pressure
        return 0.0 if kept is None else kept

    @property
    def point(self) -> str:
        """The name of the point at the gauge, from which the house hangs."""
        return SOURCE if self.tank is None or self.tank.at is None else self.tank.at
