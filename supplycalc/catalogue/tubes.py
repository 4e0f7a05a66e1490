"""Tube families: one standard each, its sizes with their diameters and ratings."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from typing import Any

from msgspec import Struct

from supplycalc.problems import NOWHERE, Place
from supplycalc.tables import (
    CHECKS,
    OWN,
    Citation,
    citation_of,
    code_limit,
    kelvin,
    load_table,
    to_si,
    weakest,
)
from supplycalc.units import INCH
from supplycalc.units.quantities import Density, Diameter, Pressure, Roughness, Thickness, Velocity

METAL_DENSITY = 2500.0
"""[kg/m3] Tube heavier than this is metal; plastics stay below 2000."""
VERY_HOT = kelvin(140.0, "degF")
"""Above this, copper has a lower velocity limit (Copper Tube Handbook)."""


class TubeSize(Struct, frozen=True, kw_only=True):
    """One size of a tube family."""

    nominal: str
    outside_diameter: Diameter
    wall: Thickness
    inside_diameter: Diameter
    """The average by the tube's standard."""
    rank: float
    """Ascending: nominal inches, or the outside diameter in mm for metric tube."""
    ratings: tuple[tuple[float, float], ...]
    """(temperature [K], pressure [Pa gauge]), where the size has its own."""
    citation: Citation
    inside_diameter_citation: Citation
    common: bool = True
    """False: few counters keep it, so it is taken only where the file names it."""


class Tube(Struct, frozen=True, kw_only=True):
    """A tube family: one standard, sizes by inside diameter, ascending."""

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
    velocity_very_hot: float | None = None
    hot: bool
    density: float
    moduli: tuple[tuple[float, float], ...] = ()
    """(temperature [K], modulus of elasticity [Pa], for a short time); none: not known."""
    surge_allowance: float = 1.0
    """Times its rating that it bears in waves that come again and again."""
    joinings: tuple[str, ...]
    """Permitted ways of joining, the usual one first."""
    max_temperature: float = math.inf
    """[K]; inf where none is known"""
    support_spacing: tuple[tuple[str, float], ...] = ()
    """("to 1" or "from 1-1/4" or "all", distance [m])"""
    note: str = ""
    citations: dict[str, Citation]

    def size(self, nominal: str) -> TubeSize:
        """The size of this name; KeyError where the family has none."""
        for size in self.sizes:
            if size.nominal == nominal:
                return size
        raise KeyError(nominal)

    @property
    def metal(self) -> bool:
        """Whether it is metal, by its density."""
        return self.density > METAL_DENSITY

    def modulus(self, temperature: float) -> float | None:
        """Modulus of elasticity [Pa] at a temperature [K]; None: not known."""
        if not self.moduli:
            return None
        (low, at_low), (high, at_high) = self.moduli[0], self.moduli[-1]
        share = (temperature - low) / (high - low) if high > low else 0.0
        return at_low + (at_high - at_low) * min(max(share, 0.0), 1.0)

    def inch_size(self, size: TubeSize) -> float:
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
        inches = self.inch_size(size)
        for rule, distance in self.support_spacing:
            if _covers(rule, inches):
                return distance
        # a metric size between two rules takes the closer spacing
        return min((distance for _, distance in self.support_spacing), default=None)

    def velocity_limit(self, temperature: float, hot: bool) -> float:
        """Published velocity limit [m/s] at a water temperature [K]."""
        if not hot:
            return self.velocity_cold
        very_hot = self.velocity_very_hot
        return self.velocity_hot if very_hot is None or temperature <= VERY_HOT + 1e-6 else very_hot

    def velocity_citation(self, temperature: float, hot: bool) -> Citation:
        """Where that velocity limit comes from."""
        very_hot = self.velocity_very_hot is not None and temperature > VERY_HOT + 1e-6
        which = "cold" if not hot else "above_140F" if very_hot else "hot"
        return self.citations[f"velocity_{which}"]


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
    source: str = "your file"
    place: Place = NOWHERE


@functools.lru_cache(maxsize=512)
def nominal_inches(nominal: str) -> float:
    """A nominal inch size as a number, for order [in].

    Args:
        nominal: such as "3/4" or "1-1/4" [in].

    Raises:
        ValueError: not an inch size.
    """
    total = 0.0
    for part in nominal.split("-"):
        over, _, under = part.partition("/")
        total += float(over) / float(under or 1)
    return total


def is_inch_size(nominal: str) -> bool:
    """Whether a nominal size is one in inches, such as "1-1/4", not "32x3.0" or a maker's word."""
    try:
        return nominal_inches(nominal) < 12.0
    except (ValueError, ZeroDivisionError):
        return False


def nominal_millimetres(nominal: str) -> float | None:
    """Outside diameter of a metric nominal size such as "32x3.0" [mm]; None for any other."""
    match = re.fullmatch(r"([0-9]+(?:\.[0-9]+)?)x[0-9]+(?:\.[0-9]+)?", nominal)
    return None if match is None else float(match[1])


def _covers(rule: str, inches: float) -> bool:
    """Whether a rule such as "to 1-1/4", "from 1-1/2" or "all" covers a nominal size [in]."""
    which, _, limit = rule.partition(" ")
    if which == "to":
        return inches <= nominal_inches(limit)
    return which == "all" or inches >= nominal_inches(limit)


FAMILIES = {
    "tubes_copper": ("copper-k", "copper-l", "copper-m", "copper-en1057"),
    "tubes_pex": ("pex-sdr9", "pex-s3.2", "pex-s4", "pex-s5", "pert-sdr9", "multilayer"),
    "tubes_pe": (
        *("pe-cts-sdr9", "pe-sidr7", "pe-sidr9", "pe-sidr11.5", "pe-sidr15", "pe-sidr19"),
        *("pe100-sdr11", "pe100-sdr17"),
    ),
    "tubes_rigid": (
        *("cpvc-sdr11", "pvc-sch40", "pvc-sch80"),
        *("ppr-sdr6", "ppr-sdr7.4", "ppr-sdr11", "galvanized-sch40"),
    ),
}
"""Data file -> its families, so that a house of two materials reads two files."""


_FILES = {name: file for file, names in FAMILIES.items() for name in names}


class _ShippedTubes(Mapping[str, Tube]):
    """Every shipped family by name; a data file is read when one of its families is asked for."""

    __slots__ = ()

    def __getitem__(self, name: str) -> Tube:
        return _families(_FILES[name])[name]

    def __contains__(self, name: object) -> bool:
        return name in _FILES

    def __iter__(self) -> Iterator[str]:
        return iter(_FILES)

    def __len__(self) -> int:
        return len(_FILES)


SHIPPED_TUBES = _ShippedTubes()


@functools.cache
def _families(file: str) -> dict[str, Tube]:
    table = load_table(file)
    return {
        name: _tube(name, {**table["material"][row["material"]], **row})
        for name, row in table["tube"].items()
    }


def _tube(name: str, row: dict[str, Any]) -> Tube:
    ratings, factors = row["ratings"], row.get("temperature_factors")
    citations = {
        key: citation_of(value)
        for key, value in row.items()
        if isinstance(value, dict) and "source" in value
    }
    checks = row.get("row_checks", {})
    citations["dimensions"] = citation_of(
        row, weakest((row["check"], *(c for c, _ in checks.values())))
    )
    marked = {check: citation_of(row, check) for check in CHECKS}
    if "velocity_hot" not in row:
        citations["velocity_hot"] = code_limit("velocity-hot").citation
    velocity_hot = code_limit("velocity-hot").value
    if "velocity_hot" in row:
        velocity_hot = _si(row["velocity_hot"])
    very_hot = _si(row["velocity_above_140F"]) if "velocity_above_140F" in row else None
    family: tuple[tuple[float, float], ...] = ()
    if "base" in ratings and factors:
        family = _factored(ratings["base"], ratings, factors)
    elif "at" in ratings:
        family = _points([point[:2] for point in ratings["at"]], ratings, ratings)
    return Tube(
        name=name,
        title=row["title"],
        standard=row["standard"],
        metric=row["unit"] == "mm",
        sizes=_ascending(_size(row, line, marked) for line in row["rows"]),
        roughness=_si(row["roughness"]),
        hazen_williams_c=float(row["hazen_williams_c"]["value"]),
        ratings=family,
        velocity_cold=_si(row["velocity_cold"]),
        velocity_hot=velocity_hot,
        velocity_very_hot=very_hot,
        hot=row["hot"]["value"],
        density=_si(row["density"]),
        surge_allowance=_si(row["surge_allowance"]) if "surge_allowance" in row else 1.0,
        moduli=tuple(_moduli(row["youngs_modulus"])),
        joinings=tuple(row["joinings"]),
        max_temperature=_si(row["max_temperature"]) if "max_temperature" in row else math.inf,
        support_spacing=tuple(
            (which, to_si(value, "ft"))
            for which, value in row.get("support_spacing", {}).get("at", ())
        ),
        note=row.get("note", ""),
        citations=citations,
    )


def _ascending(sizes: Iterable[TubeSize]) -> tuple[TubeSize, ...]:
    """Sizes by inside diameter: of one outside diameter the thickest wall comes first."""
    return tuple(sorted(sizes, key=lambda size: size.inside_diameter))


def _size(row: dict[str, Any], line: list[Any], marked: dict[str, Citation]) -> TubeSize:
    nominal, outside, wall, inside, *rated = line
    usual = (row["check"], row["inside_diameter_check"])
    check, inside_diameter_check = row.get("row_checks", {}).get(nominal, usual)
    unit, ratings, factors = row["unit"], row["ratings"], row.get("temperature_factors")
    points: tuple[tuple[float, float], ...] = ()
    if rated and "temperatures" in ratings:
        points = _points(zip(ratings["temperatures"], rated, strict=True), ratings, ratings)
    elif rated and factors:
        points = _factored(rated[0], ratings, factors)
    return TubeSize(
        nominal=nominal,
        outside_diameter=to_si(outside, unit),
        wall=to_si(wall, unit),
        inside_diameter=to_si(inside, unit),
        rank=outside if unit == "mm" else nominal_inches(nominal),
        ratings=points,
        citation=marked[check],
        inside_diameter_citation=marked[inside_diameter_check],
        common=nominal not in row.get("uncommon", ()),
    )


def _factored(
    base: float, ratings: dict[str, Any], factors: dict[str, Any]
) -> tuple[tuple[float, float], ...]:
    at = ((temperature, base * factor) for temperature, factor in factors["at"])
    return _points(at, ratings, factors)


def _points(
    at: Iterable[Iterable[float]], ratings: dict[str, Any], temperatures: dict[str, Any]
) -> tuple[tuple[float, float], ...]:
    return tuple(
        (kelvin(temperature, temperatures["temperature_unit"]), to_si(value, ratings["unit"]))
        for temperature, value in at
    )


def _si(entry: dict[str, Any]) -> float:
    return to_si(entry["value"], entry.get("unit", ""))


def _moduli(entry: dict[str, Any]) -> Iterator[tuple[float, float]]:
    """At room temperature, and at 80 degC where plastic gets softer."""
    yield kelvin(23.0, "degC"), _si(entry)
    if "at_80_degC" in entry:
        yield kelvin(80.0, "degC"), to_si(entry["at_80_degC"], entry["unit"])


def own_tube(own: OwnTube) -> Tube:
    """The tube family that a file declares; the codes' velocity limits where it gives none."""
    cold, hot = code_limit("velocity-cold").value, code_limit("velocity-hot").value
    names = ("dimensions", "roughness", "ratings", "velocity_cold", "velocity_hot", "hot")
    citations = dict.fromkeys(names, OWN)
    if own.max_velocity_cold is None:
        citations["velocity_cold"] = code_limit("velocity-cold").citation
    if own.max_velocity_hot is None:
        citations["velocity_hot"] = code_limit("velocity-hot").citation
    inches = all(is_inch_size(nominal) for nominal, _, _ in own.sizes)
    return Tube(
        name=own.name,
        title=own.name,
        standard=own.source,
        metric=not inches,
        sizes=_ascending(
            TubeSize(
                nominal=nominal,
                outside_diameter=outside,
                wall=(outside - inside) / 2.0,
                inside_diameter=inside,
                rank=nominal_inches(nominal) if inches else outside * 1e3,
                ratings=(),
                citation=OWN,
                inside_diameter_citation=OWN,
            )
            for nominal, outside, inside in own.sizes
        ),
        roughness=own.roughness,
        hazen_williams_c=own.hazen_williams_c,
        ratings=() if own.pressure_rating is None else ((1e3, own.pressure_rating),),
        velocity_cold=own.max_velocity_cold if own.max_velocity_cold is not None else cold,
        velocity_hot=own.max_velocity_hot if own.max_velocity_hot is not None else hot,
        hot=own.hot,
        density=own.density,
        joinings=(own.joining,),
        citations=citations,
    )
