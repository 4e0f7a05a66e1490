"""Reads the friction tables of data/ and compares them with the scalar laws, row by row."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from supplycalc.hydraulics import friction
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.units import STANDARD_GRAVITY

GPM = 3.785411784e-3 / 60.0
INCH = 0.0254
FOOT = 0.3048
PSI = 6894.757293168
SIXTY_F = (60.0 + 459.67) * 5.0 / 9.0
"""Temperature of tables that state 60 degF or none [K]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One printed loss."""

    material: str
    size: str
    gpm: float
    printed: float
    """[psi/ft, psi/100 ft or ft/100 ft]"""
    half_digit: float
    """Half a unit of the last printed digit, same unit."""
    unit: float
    """What the printed unit is [Pa/m]."""
    inside_diameter: float
    """By the tube's standard, not by the table [m]."""
    law: str
    c: float
    roughness: float
    """[m]"""
    suspect: str
    velocity: tuple[float, float] | None
    """(printed, half digit) [ft/s]"""

    def __str__(self) -> str:
        return f"{self.material}, {self.size} in, {self.gpm:g} gpm"

    def computed(self, law: str = "", roughness: float | None = None) -> float:
        """Our loss in the printed unit, by the table's law or another one."""
        flow, bore = self.gpm * GPM, self.inside_diameter
        if (law or self.law) == "darcy":
            rough = self.roughness if roughness is None else roughness
            water = (density(SIXTY_F), viscosity(SIXTY_F))
            return friction.pressure_gradient(flow, bore, rough, *water) / self.unit
        return friction.hazen_williams_gradient(flow, bore, self.c) / self.unit

    def excess(self) -> float:
        """Relative deviation from the print beyond its half digit, 0 if within it [-]."""
        beyond = max(abs(self.computed() - self.printed) - self.half_digit, 0.0)
        return beyond / self.printed


def rows(name: str, *, suspect: bool = False) -> list[Row]:
    """The rows of one data file, those marked suspect left out or alone."""
    path = Path(__file__).parent / "data" / f"{name}.toml"
    tables = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)["table"]
    return [row for table in tables for row in _rows(table) if bool(row.suspect) == suspect]


def _rows(table: dict[str, object]) -> Iterator[Row]:
    water_column = density(SIXTY_F) * STANDARD_GRAVITY
    unit = {
        "psi/ft": PSI / FOOT,
        "psi/100 ft": PSI / (100.0 * FOOT),
        "ft/100 ft": water_column / 100.0,
    }[str(table["loss_unit"])]
    for row in table["rows"]:  # type: ignore[attr-defined]
        speed = row.get("velocity_ft_s")
        yield Row(
            material=str(table["material"]),
            size=row["size"],
            gpm=float(row["flow_gpm"]),
            printed=float(row["loss"]),
            half_digit=half_digit(row["loss"]),
            unit=unit,
            inside_diameter=float(row["id_in"]) * INCH,
            law=str(table["law"]),
            c=float(table.get("c", 0)),  # type: ignore[arg-type]
            roughness=float(table.get("roughness_mm", 0)) * 1e-3,  # type: ignore[arg-type]
            suspect=row.get("suspect", ""),
            velocity=None if speed is None else (float(speed), half_digit(speed)),
        )


def half_digit(printed: Decimal | int) -> float:
    """Half a unit of the last digit that is printed."""
    exponent = printed.as_tuple().exponent if isinstance(printed, Decimal) else 0
    return 0.5 * 10.0 ** int(exponent)
