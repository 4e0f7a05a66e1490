"""The shipped catalogue, read once; what a house file declares itself is added to a copy."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from msgspec.structs import replace

from supplycalc.catalogue.kinds import (
    Catalogue,
    DeviceKind,
    FixtureKind,
    Joining,
    OwnDevice,
    OwnFitting,
    OwnTube,
    Tube,
    TubeSize,
    nominal_inches,
)
from supplycalc.tables import CHECKS, Citation, cite, code_limit, kelvin, load_table, to_si, weakest
from supplycalc.units import Loss

OWN = Citation(key="own", text="the user's file", check="seen")

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


_FILES = {name: file for file, names in FAMILIES.items() for name in names}


def load_catalogue(
    own_tubes: tuple[OwnTube, ...] = (),
    own_fittings: tuple[OwnFitting, ...] = (),
    own_devices: tuple[OwnDevice, ...] = (),
) -> Catalogue:
    """The shipped catalogue, with what a house file declares itself added.

    Args:
        own_tubes: families to add.
        own_fittings: fittings to add; one of a shipped name goes before it.
        own_devices: device kinds to add.

    Returns:
        The catalogue in SI.

    Source: named in the data files, row by row.
    """
    shipped = _shipped()
    if not (own_tubes or own_fittings or own_devices):
        return shipped
    joinings = dict(shipped.joinings)
    for fitting in own_fittings:
        source = Citation(key="own", text=fitting.source)
        names = [fitting.joining] if fitting.joining is not None else list(joinings)
        for name in names:
            joining = joinings[name]
            joinings[name] = replace(
                joining,
                own={**joining.own, fitting.name: fitting.k},
                cited={**joining.cited, fitting.name: source},
            )
    devices = {
        device.name: DeviceKind(
            name=device.name,
            title=device.name,
            loss=device.loss,
            hot=False,
            setting=None,
            falloff=None,
            falloff_flow=None,
            citation=OWN,
        )
        for device in own_devices
    }
    return Catalogue(
        tubes=(
            {**shipped.tubes, **{tube.name: _own_tube(tube) for tube in own_tubes}}
            if own_tubes
            else shipped.tubes
        ),
        joinings=joinings,
        devices={**shipped.devices, **devices},
        fixtures=shipped.fixtures,
        own_tubes=own_tubes,
        own_fittings=own_fittings,
        own_devices=own_devices,
    )


@functools.cache
def _families(file: str) -> dict[str, Tube]:
    table = load_table(file)
    return {
        name: _tube(name, {**table["material"][row["material"]], **row})
        for name, row in table["tube"].items()
    }


@functools.cache
def _shipped() -> Catalogue:
    fittings, devices, fixtures = (load_table(name) for name in ("fittings", "devices", "fixtures"))
    return Catalogue(
        tubes=_ShippedTubes(),
        joinings={n: _joining(n, row, fittings) for n, row in fittings["joining"].items()},
        devices={n: _device(n, row, devices["units"]) for n, row in devices["device"].items()},
        fixtures={n: _fixture(n, row, fixtures) for n, row in fixtures["fixture"].items()},
    )


def _tube(name: str, row: dict[str, Any]) -> Tube:
    ratings, factors = row["ratings"], row.get("temperature_factors")
    citations = {
        key: cite(value)
        for key, value in row.items()
        if isinstance(value, dict) and "source" in value
    }
    checks = row.get("row_checks", {})
    citations["dimensions"] = cite(row, weakest((row["check"], *(c for c, _ in checks.values()))))
    marked = {check: cite(row, check) for check in CHECKS}
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
        sizes=tuple(_size(row, line, marked) for line in row["rows"]),
        roughness=_si(row["roughness"]),
        hazen_williams_c=float(row["hazen_williams_c"]["value"]),
        ratings=family,
        velocity_cold=_si(row["velocity_cold"]),
        velocity_hot=velocity_hot,
        velocity_very_hot=very_hot,
        hot=row["hot"]["value"],
        density=_si(row["density"]),
        joinings=tuple(row["joinings"]),
        youngs_modulus=_si(row["youngs_modulus"]),
        poisson=row["poisson"]["value"],
        expansion=_si(row["expansion"]),
        max_temperature=_si(row["max_temperature"]) if "max_temperature" in row else math.inf,
        support_spacing=tuple(
            (which, to_si(value, "ft"))
            for which, value in row.get("support_spacing", {}).get("at", ())
        ),
        note=row.get("note", ""),
        citations=citations,
    )


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


def _own_tube(own: OwnTube) -> Tube:
    cold, hot = code_limit("velocity-cold").value, code_limit("velocity-hot").value
    names = ("dimensions", "roughness", "ratings", "velocity_cold", "velocity_hot", "hot")
    inches = all(_is_inches(nominal) for nominal, _, _ in own.sizes)
    return Tube(
        name=own.name,
        title=own.name,
        standard=own.source,
        metric=not inches,
        sizes=tuple(
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
        velocity_very_hot=None,
        hot=own.hot,
        density=own.density,
        joinings=(own.joining,),
        youngs_modulus=math.nan,
        poisson=math.nan,
        expansion=math.nan,
        max_temperature=math.inf,
        support_spacing=(),
        note="",
        citations=dict.fromkeys(names, OWN),
    )


def _is_inches(nominal: str) -> bool:
    try:
        return nominal_inches(nominal) < 12.0
    except ValueError:
        return False


def _joining(name: str, row: dict[str, Any], table: dict[str, Any]) -> Joining:
    unit = "ft" if row["form"] == "equivalent-length" else ""
    figures = {
        kind: tuple(to_si(value, unit) for value in values)
        for kind, values in row.items()
        if isinstance(values, list) and kind != "sizes"
    }
    insert = row["form"] == "diameter-ratio"
    bodies = {kind: k for kind, k, _, _ in table["body"]["rows"]} if insert else {}
    valves, stop = table["valves"], table["stop"]
    cited = {kind: cite(valves, check) for kind, _, check in valves["rows"]} | {"stop": cite(stop)}
    for kind in figures:
        cited.pop(kind, None)
    cited |= {kind: cite(entry) for kind, entry in row.get("other", {}).items()}
    return Joining(
        name=name,
        title=row["title"],
        form=row["form"],
        figures=figures,
        at=tuple(nominal_inches(size) for size in row.get("sizes", ())),
        diameter_ratio=row.get("diameter_ratio", 1.0),
        insert_wall=to_si(row.get("insert_wall", 0.0), "in"),
        bodies=bodies,
        valves={kind: n for kind, n, _ in valves["rows"]},
        own={},
        citation=cite(row),
        cited=cited,
        assumed=row.get("assumed", ""),
    )


def _device(name: str, row: dict[str, Any], units: dict[str, str]) -> DeviceKind:
    def pressure(key: str) -> float:
        return to_si(row.get(key, 0.0), units["loss"])

    loss = None
    if "at" in row:
        loss = Loss(
            constant=pressure("constant"),
            linear=pressure("linear"),
            quadratic=pressure("quadratic"),
            reference_flow=to_si(row["at"], units["flow"]),
        )
    valve = "setting" in row
    return DeviceKind(
        name=name,
        title=row["title"],
        loss=loss,
        hot=row.get("hot", False),
        setting=pressure("setting") if valve else None,
        falloff=pressure("falloff") if valve else None,
        falloff_flow=to_si(row["falloff_at"], units["flow"]) if valve else None,
        citation=cite(row),
        roles=frozenset(row.get("roles", ())),
        words=tuple(row.get("words", ())),
        added_later=row.get("added_later", 0),
    )


def _fixture(name: str, row: dict[str, Any], table: dict[str, Any]) -> FixtureKind:
    units = table["units"]
    return FixtureKind(
        name=name,
        title=row["title"],
        sides=tuple(row["sides"]),
        mixed=row.get("mixed", False),
        outlets={
            valve: (to_si(flow, units["flow"]), to_si(pressure, units["pressure"]))
            for valve, flow, pressure in row["outlet"]
        },
        minimum_size=row["minimum"],
        minimum_citation=cite(table["minimum"]["other"].get(name, table["minimum"])),
        citation=cite(row),
        note=row.get("note", ""),
    )
