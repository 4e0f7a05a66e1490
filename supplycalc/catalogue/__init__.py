"""Tubes, ways of joining, devices and fixture kinds: the shipped ones plus the file's own."""

from supplycalc.catalogue.kinds import (
    Catalogue,
    DeviceKind,
    FixtureKind,
    Joining,
    OwnDevice,
    OwnFitting,
    OwnTube,
    Role,
    Side,
    Tube,
    TubeSize,
    nominal_inches,
)
from supplycalc.catalogue.loading import load_catalogue

__all__ = [
    "Catalogue",
    "DeviceKind",
    "FixtureKind",
    "Joining",
    "OwnDevice",
    "OwnFitting",
    "OwnTube",
    "Role",
    "Side",
    "Tube",
    "TubeSize",
    "load_catalogue",
    "nominal_inches",
]
