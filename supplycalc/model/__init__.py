"""The house as its file describes it: frozen records in SI units, each with its place."""

from supplycalc.catalogue import Side
from supplycalc.model.house import (
    Defaults,
    Device,
    Draw,
    Fixture,
    Friction,
    House,
    Limits,
    Manifold,
    Point,
    Project,
    Run,
    ServedHousehold,
    ShortLimit,
    Water,
)
from supplycalc.model.layout import Layout, Position, Storey, Wall, Zone
from supplycalc.model.ranges import FieldPath, Range
from supplycalc.model.source import (
    SOURCE,
    TANK_INLET,
    WELL,
    Pump,
    Tank,
    TankKind,
    WaterSource,
    Well,
    WellFilling,
)
from supplycalc.units import Loss

__all__ = [
    "SOURCE",
    "TANK_INLET",
    "WELL",
    "Defaults",
    "Device",
    "Draw",
    "FieldPath",
    "Fixture",
    "Friction",
    "House",
    "Layout",
    "Limits",
    "Loss",
    "Manifold",
    "Point",
    "Position",
    "Project",
    "Pump",
    "Range",
    "Run",
    "ServedHousehold",
    "ShortLimit",
    "Side",
    "Storey",
    "Tank",
    "TankKind",
    "Wall",
    "Water",
    "WaterSource",
    "Well",
    "WellFilling",
    "Zone",
]
