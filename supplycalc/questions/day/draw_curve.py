"""What a house draws over the pressure at its tank, for every set of open outlets.

The pressure-driven solver is asked at a ladder of pressures; between two rungs everything goes
straight, which is within a few thousandths of the solver and what keeps the tank's motion exact.
Rungs are computed when they are first needed and kept.
"""

from __future__ import annotations

import math

from msgspec import Struct

from supplycalc.delivery.fixture_use import FixtureUse
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Law, constant_source
from supplycalc.delivery.solver import deliver
from supplycalc.network import Outlet
from supplycalc.sizing.design import Design
from supplycalc.units import PSI
from supplycalc.units.quantities import Flow, Pressure

RUNG = 5.0 * PSI
"""Distance of two rungs [Pa]."""


class Rung(Struct, frozen=True):
    """The settled house at one pressure of the source."""

    total: Flow
    flow: tuple[Flow, ...]
    """Of each use."""
    pressure: tuple[Pressure, ...]
    """At each watched connection."""
    source_pressure: Pressure


class Segment(Struct, frozen=True):
    """Straight lines between two rungs: value = first + second * pressure."""

    total: tuple[float, float]
    flow: tuple[tuple[float, float], ...]
    pressure: tuple[tuple[float, float], ...]


class DrawCurve:
    """What one set of open outlets draws."""

    def __init__(self, curves: DrawCurves, uses: tuple[FixtureUse, ...]) -> None:
        self.uses = uses
        tree = curves.household.design.tree
        self.outlets: tuple[Outlet, ...] = tuple(
            outlet for use in uses for outlet in use.outlets(tree)
        )
        """The connections of the open outlets, whose pressures are followed."""
        self._curves = curves
        self._rungs: dict[int, Rung] = {}
        self._segments: dict[int, Segment] = {}

    def rung(self, number: int) -> Rung:
        """The settled state at number * RUNG."""
        rung = self._rungs.get(number)
        if rung is None:
            rung = self._curves.settle(self, constant_source(number * RUNG))
            self._rungs[number] = rung
        return rung

    def segment(self, number: int) -> Segment:
        """The lines between rungs `number` and the next."""
        segment = self._segments.get(number)
        if segment is None:
            low, high = self.rung(number), self.rung(number + 1)
            segment = Segment(
                total=_line(number, low.total, high.total),
                flow=tuple(_line(number, *ends) for ends in zip(low.flow, high.flow, strict=True)),
                pressure=tuple(
                    _line(number, *ends) for ends in zip(low.pressure, high.pressure, strict=True)
                ),
            )
            self._segments[number] = segment
        return segment

    def segment_at(self, pressure: Pressure) -> Segment | None:
        """The lines at a pressure at the tank; None where nothing is open."""
        return self.segment(math.floor(pressure / RUNG)) if self.uses else None

    def flow_at(self, pressure: Pressure) -> Flow:
        """What the open outlets draw at a pressure at the tank."""
        segment = self.segment_at(pressure)
        if segment is None:
            return 0.0
        first, second = segment.total
        return first + second * pressure


def _line(number: int, low: float, high: float) -> tuple[float, float]:
    rise = (high - low) / RUNG
    return low - rise * number * RUNG, rise


class DrawCurves:
    """The curves of a house's sets of open outlets, each made once.

    A mixing valve is set once, as when its outlet runs alone at the reference pressure, and stays.
    """

    def __init__(self, design: Design, reference: Law) -> None:
        self.household = Household(design)
        self._reference = reference
        self._curves: dict[tuple[int, ...], DrawCurve] = {}
        self._numbers: dict[tuple[str, str, float], int] = {}
        self._shares: dict[tuple[str, float], float] = {}
        self.uses: list[FixtureUse] = []
        """Every use that was numbered."""
        self.solves = 0
        """How often the solver was asked."""

    def number(self, use: FixtureUse) -> int:
        """The number of a use, the same for equal uses."""
        key = (use.fixture.name, use.through, use.share)
        number = self._numbers.get(key)
        if number is None:
            number = self._numbers[key] = len(self.uses)
            self.uses.append(use)
        return number

    def of(self, numbers: tuple[int, ...]) -> DrawCurve:
        """The curve of the uses of these numbers, in this order."""
        curve = self._curves.get(numbers)
        if curve is None:
            curve = DrawCurve(self, tuple(self.uses[number] for number in numbers))
            self._curves[numbers] = curve
        return curve

    def settle(self, curve: DrawCurve, law: Law) -> Rung:
        """Ask the solver: what runs and which pressures stand with a source's law."""
        if not curve.uses:
            return Rung(0.0, (), (), law(0.0)[0])
        self.solves += 1
        shares = {use.name: self._share(use) for use in curve.uses if use.through == "both"}
        delivered = deliver(self.household.open_supply(curve.uses, law, shares))
        openings, mixers = iter(delivered.opening_flow), iter(delivered.mixer_flow)
        flow = tuple(
            sum(next(mixers)) if use.through == "both" else next(openings) for use in curve.uses
        )
        return Rung(
            total=sum(flow),
            flow=flow,
            pressure=tuple(delivered.pressure[outlet.link] for outlet in curve.outlets),
            source_pressure=law(delivered.flow[0])[0],
        )

    def _share(self, use: FixtureUse) -> float:
        key = (use.name, use.share)
        share = self._shares.get(key)
        if share is None:
            share = self._shares[key] = self.household.setting(use, self._reference)
        return share
