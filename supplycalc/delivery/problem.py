"""The supply with some outlets open, as plain sequences that the solver works on.

Link i (1 .. n-1) runs from point parent[i] to point i, and every parent stands before its children;
point 0 is the source. All outlets discharge to the open air, so water flows one way only.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

from msgspec import Struct

Law = Callable[[float], tuple[float, float]]
"""Pressure [Pa] at a flow [m3/s, not negative], and its derivative by flow [Pa s/m3]."""

MixerKind = Literal["plain", "ratio"]


class Opening(Struct, frozen=True, kw_only=True):
    """An open outlet on one pipe: an orifice, with or without a flow regulator."""

    name: str
    link: int
    """The link whose end it stands at."""
    coefficient: float
    """C of q = C sqrt(p) [m3/s per sqrt(Pa)]."""
    cap: float = math.inf
    """Flow that its regulator lets through at most [m3/s]."""


class Mixer(Struct, frozen=True, kw_only=True):
    """An open outlet fed by a cold and a hot pipe.

    plain: each side is an orifice into one chamber, the outlet an orifice after it, so the sides
    act on each other through the chamber's pressure; check valves keep water from crossing over.

    ratio: the valve throttles the stronger side so that both stand at the weaker one's pressure,
    keeps the hot share and passes q = C sqrt(weaker pressure); without pressure on one side it
    shuts both. So do pressure-balanced and thermostatic valves (the latter within their range).
    """

    name: str
    kind: MixerKind
    cold_link: int
    hot_link: int
    coefficient: float
    """Whole valve, from equal supply pressures to the open air [m3/s per sqrt(Pa)]."""
    hot_share: float
    """Share of the flow that is hot at equal supply pressures, above 0 and below 1."""
    port_share: float = 0.5
    """Share of the pressure at equal supply pressures that the ports take; only for plain."""
    cap: float = math.inf
    """Flow that its regulator lets through at most [m3/s]."""


class Problem(Struct, frozen=True, kw_only=True):
    """A tree of links, a source and what is open."""

    names: tuple[str, ...]
    """Of the links, for messages; the source's first."""
    parent: tuple[int, ...]
    """-1 for the source at index 0."""
    length: tuple[float, ...]
    """Developed length with any allowance [m]; 0 where the link is not pipe."""
    inside_diameter: tuple[float, ...]
    """[m]"""
    roughness: tuple[float, ...]
    """[m]"""
    k: tuple[float, ...]
    """Sum of K on the pipe's own velocity head."""
    density: tuple[float, ...]
    """[kg/m3]"""
    viscosity: tuple[float, ...]
    """[Pa s]"""
    static_gain: tuple[float, ...]
    """[Pa], negative going up"""
    device: tuple[Law | None, ...]
    """Loss of what is not pipe, rising from 0 at no flow."""
    limit: tuple[Law | None, ...]
    """Highest pressure behind a pressure-reducing valve, not rising with flow."""
    source: Law
    """Pressure at point 0 while a total flow runs, not rising with it."""
    openings: tuple[Opening, ...] = ()
    mixers: tuple[Mixer, ...] = ()
    hazen_williams_c: tuple[float, ...] | None = None
    """Given: Hazen-Williams decides the friction, with this C."""


class Delivered(Struct, frozen=True, kw_only=True):
    """The settled state."""

    flow: tuple[float, ...]
    """Of each link [m3/s]; index 0 is the whole supply's."""
    pressure: tuple[float, ...]
    """At each link's end [Pa gauge]."""
    opening_flow: tuple[float, ...]
    """[m3/s]"""
    mixer_flow: tuple[tuple[float, float], ...]
    """(cold, hot) of each mixer [m3/s]."""
    iterations: int
    residual: float
    """Largest pressure by which any outlet's law is missed [Pa]."""
