"""What a house draws over the pressure at its tank, for every set of open outlets.

The pressure-driven solver is asked at a ladder of pressures; between two rungs everything goes
straight, which is within a few thousandths of the solver and what keeps the tank's motion exact.
Where an outlet is nearly dry its flow bends sharply with pressure, and the rungs stand closer.
Rungs are computed when they are first needed and kept.
"""

from __future__ import annotations

import math

from msgspec import Struct

from supplycalc.delivery.fixture_use import FixtureUse
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Head, Law, constant_source
from supplycalc.delivery.solver import deliver
from supplycalc.network import Outlet
from supplycalc.sizing.design import Design
from supplycalc.supply.far_tank import FarTank
from supplycalc.units import PSI
from supplycalc.units.quantities import Flow, Pressure

RUNG = 5.0 * PSI
"""Distance of two rungs where the flows are nearly straight [Pa]."""
MOST_HALVINGS = 6
"""How often that distance is halved at most; the least is 0.08 psi."""
STRAIGHT = 0.85
"""Share of the upper rung's flow that the lower one must have to be joined by one line: of flows
that go with the root of pressure, the line then misses the middle by 0.3 % at most."""
FAR_RUNG, FAR_STRAIGHT = RUNG / 8, 0.5
"""The same for what a second tank gives, which changes its sign: no closer than this distance, and
with this share."""
ON_RUNG = 1e-12
"""Share of the distance of two rungs: nearer than this to one counts as on it."""


class Rung(Struct, frozen=True):
    """The settled house at one pressure of the source."""

    total: Flow
    flow: tuple[Flow, ...]
    """Of each use."""
    pressure: tuple[Pressure, ...]
    """At each watched connection."""
    source_pressure: Pressure
    far: Flow = 0.0
    """That a second tank gives."""
    far_pressure: Pressure = 0.0
    """Where it stands."""


class Segment(Struct, frozen=True):
    """Straight lines between two rungs: value = first + second * pressure."""

    low: Pressure
    """Of the lower rung, at the tank."""
    high: Pressure
    """Of the upper rung, at the tank."""
    total: tuple[float, float]
    flow: tuple[tuple[float, float], ...]
    pressure: tuple[tuple[float, float], ...]
    far: tuple[float, float] = (0.0, 0.0)
    """What a second tank gives."""
    far_pressure: tuple[float, float] = (0.0, 0.0)
    """Where it stands."""
    head: Pressure | None = None
    """At which it is seen."""


class DrawCurve:
    """What one set of open outlets draws."""

    def __init__(
        self, curves: DrawCurves, uses: tuple[FixtureUse, ...], head: Pressure | None
    ) -> None:
        self.uses, self.head = uses, head
        self.active = bool(uses) or curves.far is not None
        """Whether anything may run, or a second tank is to be followed."""
        tree = curves.household.design.tree
        self.outlets: tuple[Outlet, ...] = tuple(
            outlet for use in uses for outlet in use.outlets(tree)
        )
        """The connections of the open outlets, whose pressures are followed."""
        self._curves = curves
        self._rungs: dict[Pressure, Rung] = {}
        self._segments: dict[tuple[Pressure, Pressure], Segment] = {}

    def segment_at(self, pressure: Pressure, *, falling: bool = False) -> Segment:
        """The lines between the two rungs around a pressure; on a rung the lower if it falls."""
        place = pressure / RUNG
        nearest = round(place)
        number = math.floor(place)
        if abs(place - nearest) < ON_RUNG:
            number = nearest - 1 if falling else nearest
        distance = RUNG
        for _ in range(MOST_HALVINGS):
            low, high = number * distance, (number + 1) * distance
            if not self._bends(self._rung(low), self._rung(high)):
                break
            distance *= 0.5
            middle = (2 * number + 1) * distance
            off = (pressure - middle) / distance
            upper = not falling if abs(off) < ON_RUNG else off > 0.0
            number = 2 * number + upper
        return self._segment(number * distance, (number + 1) * distance)

    def _rung(self, pressure: Pressure) -> Rung:
        """The settled state at a pressure at the tank."""
        rung = self._rungs.get(pressure)
        if rung is None:
            rung = self._curves.settle(self, constant_source(pressure))
            self._rungs[pressure] = rung
        return rung

    def _bends(self, low: Rung, high: Rung) -> bool:
        """Whether any flow between two rungs is too far from straight."""
        if any(
            at_low < STRAIGHT * at_high for at_low, at_high in zip(low.flow, high.flow, strict=True)
        ):
            return True
        far = sorted((abs(low.far), abs(high.far)))
        near = high.source_pressure - low.source_pressure < FAR_RUNG
        return not near and (low.far * high.far < 0.0 or far[0] < FAR_STRAIGHT * far[1])

    def _segment(self, low: Pressure, high: Pressure) -> Segment:
        """The lines between two rungs."""
        segment = self._segments.get((low, high))
        if segment is None:
            at_low, at_high = self._rung(low), self._rung(high)

            def line(first: float, second: float) -> tuple[float, float]:
                rise = (second - first) / (high - low)
                return first - rise * low, rise

            segment = Segment(
                low=low,
                high=high,
                total=line(at_low.total, at_high.total),
                flow=tuple(map(line, at_low.flow, at_high.flow)),
                pressure=tuple(map(line, at_low.pressure, at_high.pressure)),
                far=line(at_low.far, at_high.far),
                far_pressure=line(at_low.far_pressure, at_high.far_pressure),
                head=self.head,
            )
            self._segments[low, high] = segment
        return segment

    def flow_at(self, pressure: Pressure) -> Flow:
        """What the open outlets draw at a pressure at the tank."""
        if not self.active:
            return 0.0
        first, second = self.segment_at(pressure).total
        return first + second * pressure

    def far_flow_at(self, pressure: Pressure) -> Flow:
        """What a second tank gives at a pressure at the first."""
        first, second = self.segment_at(pressure).far
        return first + second * pressure

    def far_pressure_at(self, pressure: Pressure) -> Pressure:
        """What stands at a second tank at a pressure at the first."""
        first, second = self.segment_at(pressure).far_pressure
        return first + second * pressure


class DrawCurves:
    """The curves of a house's sets of open outlets, each made once.

    A mixing valve is set once, as when its outlet runs alone at the reference pressure, and stays.
    """

    def __init__(self, design: Design, reference: Law, far: FarTank | None = None) -> None:
        self.household, self.far = Household(design), far
        self._reference = reference
        self._curves: dict[tuple[tuple[int, ...], Pressure | None], DrawCurve] = {}
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

    def of(self, numbers: tuple[int, ...], head: Pressure | None = None) -> DrawCurve:
        """The curve of the uses of these numbers, in this order, with a second tank's pressure."""
        curve = self._curves.get((numbers, head))
        if curve is None:
            curve = DrawCurve(self, tuple(self.uses[number] for number in numbers), head)
            self._curves[numbers, head] = curve
        return curve

    def settle(self, curve: DrawCurve, law: Law) -> Rung:
        """Ask the solver: what runs and which pressures stand with a source's law."""
        if not curve.active:
            return Rung(0.0, (), (), law(0.0)[0])
        self.solves += 1
        shares = {use.name: self._share(use) for use in curve.uses if use.through == "both"}
        heads: tuple[Head, ...] = ()
        if self.far is not None and curve.head is not None:
            told = constant_source(curve.head)
            heads = (Head(name=self.far.name, link=self.far.link, law=told),)
        delivered = deliver(self.household.open_supply(curve.uses, law, shares, heads))
        openings, mixers = iter(delivered.opening_flow), iter(delivered.mixer_flow)
        flow = tuple(
            sum(next(mixers)) if use.through == "both" else next(openings) for use in curve.uses
        )
        return Rung(
            total=sum(flow) - sum(delivered.head_flow),
            flow=flow,
            pressure=tuple(delivered.pressure[outlet.link] for outlet in curve.outlets),
            source_pressure=law(delivered.flow[0])[0],
            far=sum(delivered.head_flow),
            far_pressure=0.0 if self.far is None else delivered.pressure[self.far.link],
        )

    def _share(self, use: FixtureUse) -> float:
        key = (use.name, use.share)
        share = self._shares.get(key)
        if share is None:
            share = self._shares[key] = self.household.setting(use, self._reference)
        return share
