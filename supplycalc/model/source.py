"""Records of where the water comes from: main or well, with tank, pump and drop pipe; SI."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from supplycalc.problems import NOWHERE, Place


class Tank(Struct, frozen=True, kw_only=True):
    """A pressure tank."""

    volume: float | None = None
    """[m3]"""
    precharge: float | None = None
    """[Pa gauge]"""
    max_pressure: float | None = None
    """Rated working pressure [Pa gauge]."""
    relief: float | None = None
    """Pressure at which the relief valve at the tank opens [Pa gauge]."""
    at_well: bool = False
    """Whether the tank stands at the wellhead instead of in the house."""
    place: Place = NOWHERE


class Pump(Struct, frozen=True, kw_only=True):
    """A pump by its head curve; one measured point is a curve of one point."""

    kind: str = "submersible"
    """submersible, jet or constant-pressure"""
    curve: tuple[tuple[float, float], ...] = ()
    """(flow [m3/s], head [m of water]) points, flow ascending."""
    motor_power: float | None = None
    """Rated shaft power of the motor [W]."""
    efficiency: float | None = None
    """Wire to water."""
    measured_flow: float | None = None
    """A bucket test [m3/s] at `measured_pressure`."""
    measured_pressure: float | None = None
    """[Pa gauge] at the tank while the bucket test ran."""
    measured_uncertainty: float | None = None
    """Share of the measured flow."""
    set_pressure: float | None = None
    """Held pressure of a constant-pressure pump [Pa gauge]."""
    elevation: float | None = None
    """Of a pump above ground, above the datum [m]; None: the tank gauge's."""
    npsh_required: float | None = None
    """Absolute head that its inlet needs above the vapour pressure [m]."""
    place: Place = NOWHERE


class DropPipe(Struct, frozen=True, kw_only=True):
    """A pipe between the pump and the tank: up to the wellhead, or on from there."""

    material: str
    size: str
    length: float
    """Developed length [m]."""
    check_valves: int = 0
    """Swing check valves in it."""
    place: Place = NOWHERE


class Well(Struct, frozen=True, kw_only=True):
    """A drilled, bored or dug well; levels are depths below the wellhead."""

    static_level: float | None = None
    """[m]"""
    specific_capacity: float | None = None
    """[m3/s per m of drawdown]"""
    recovery: float | None = None
    """Yield the well sustains [m3/s]."""
    pump_depth: float | None = None
    """[m]"""
    diameter: float | None = None
    """[m]"""
    elevation: float | None = None
    """Of the wellhead above the datum [m]; None: the tank gauge's."""
    drop_pipe: DropPipe | None = None
    """Up to the wellhead; the suction pipe of a pump above the water."""
    offset_pipe: DropPipe | None = None
    """From the wellhead to a tank that stands in the house."""
    place: Place = NOWHERE


class WaterSource(Struct, frozen=True, kw_only=True):
    """Where the water comes from and under what pressure."""

    kind: Literal["well", "main"]
    elevation: float = 0.0
    """Of the gauge above the datum [m]."""
    altitude: float = 0.0
    """Of the site above the sea, for the air's pressure [m]."""
    at: tuple[float, float, float] | None = None
    cut_in: float | None = None
    """[Pa gauge]"""
    cut_out: float | None = None
    """[Pa gauge]"""
    static: float | None = None
    """A main's pressure with no flow [Pa gauge]."""
    residual: float | None = None
    """A main's pressure while `residual_flow` runs [Pa gauge]."""
    residual_flow: float | None = None
    """[m3/s]"""
    tank: Tank | None = None
    pump: Pump | None = None
    well: Well | None = None
    place: Place = NOWHERE
