"""Tubes, ways of joining, devices and fixture kinds: the shipped ones plus the file's own."""

from supplycalc.catalogue.devices import DeviceKind, OwnDevice, Role
from supplycalc.catalogue.fixtures import BATHING, CLOSETS, FixtureKind, Side
from supplycalc.catalogue.joinings import CHECK_VALVES, Joining, OwnFitting
from supplycalc.catalogue.shipped import Catalogue, fixture_kinds, load_catalogue
from supplycalc.catalogue.tubes import (
    OwnTube,
    Tube,
    TubeSize,
    is_inch_size,
    nominal_inches,
    nominal_millimetres,
)

__all__ = [
    "BATHING",
    "CHECK_VALVES",
    "CLOSETS",
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
    "fixture_kinds",
    "is_inch_size",
    "load_catalogue",
    "nominal_inches",
    "nominal_millimetres",
]
