"""A second pressure tank through a day: its water is counted exactly, its pressure goes in steps.

While it gives or takes water the house sees it as a fixed head, the middle of a step of `STEP`;
what runs meanwhile is integrated like every draw, and the next step begins where its water has
moved by as much as one step holds. Near balance it rests, shut, until what the line holds at its
point is a step off its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from supplycalc.questions.day.draw_curve import DrawCurve, Segment
from supplycalc.supply.far_tank import FarTank
from supplycalc.supply.tank import air_constant, water_held
from supplycalc.supply.tank_motion import Motion, crossing, integral, value
from supplycalc.units import PSI
from supplycalc.units.quantities import Pressure, Time, Volume

STEP = 0.5 * PSI
"""Of the pressure at which it is seen [Pa]."""
NO_FLOW = 1e-12
"""[m3/s]"""
_NEARLY = 1.0 - 1e-9


class FarMotion:
    """How a second tank stands, and what it has done."""

    def __init__(self, far: FarTank, volume: Volume, pressure: Pressure) -> None:
        """Begin at a pressure at it, with nothing running."""
        self.far, self.volume = far, volume
        self._air = air_constant(volume, far.precharge, far.atmosphere)
        self.water = self.full = self.least = self._held(pressure)
        """Held now, at first, and at the least so far."""
        self.level: Pressure | None = None
        """The pressure at which the house sees it; None: it rests, shut."""
        self.given: Volume = 0.0
        """To the house, what it took back not counted."""
        self.empty: Time = 0.0
        """With no water left in it."""
        self._way = 0.0

    def _held(self, pressure: Pressure) -> Volume:
        return water_held(self.volume, self.far.precharge, pressure, self.far.atmosphere)

    @property
    def pressure(self) -> Pressure:
        """Of its air."""
        return self._air / (self.volume - self.water) - self.far.atmosphere

    def choose(self, curve_at: Callable[[Pressure | None], DrawCurve], pressure: Pressure) -> None:
        """Give, take or rest, by what would run at a pressure of the first tank.

        Args:
            curve_at: of what is open, with this tank seen at a pressure, or shut.
        """
        if self.level is not None:
            if self._way * curve_at(self.level).far_flow_at(pressure) > NO_FLOW:
                return
            self.level = None
        stands, own = curve_at(None).far_pressure_at(pressure), self.pressure
        if abs(stands - own) < STEP * _NEARLY or (stands < own and self.water <= 0.0):
            return
        level, way = round(own / STEP) * STEP, math.copysign(1.0, own - stands)
        if way * curve_at(level).far_flow_at(pressure) > NO_FLOW:
            self.level, self._way = level, way

    def first_step(self, segment: Segment, motion: Motion, span: Time) -> tuple[Time, bool]:
        """The first time in a span at which `choose` is to be asked again, and whether there is
        one."""
        first, second = segment.far_pressure if self.level is None else segment.far
        at_end = first + second * value(motion.pressure, span)
        if self.level is None:
            off = at_end - self.pressure
            if abs(off) <= STEP or second <= 0.0 or (off < 0.0 and self.water <= 0.0):
                return span, False
            limit = self.pressure + math.copysign(STEP, off)
            return crossing(motion.pressure, (limit - first) / second, span), True
        told = False
        if self._way * at_end < 0.0 < self._way * (first + second * motion.pressure[0]):
            span, told = crossing(motion.pressure, -first / second, span), True
        left = self.water - self._held(self.level - self._way * 0.5 * STEP)
        given = first * span + second * integral(motion.pressure, span)
        if self._way * given > self._way * left:
            series = [0.0, *(second * term / (n + 1) for n, term in enumerate(motion.pressure))]
            series[1] += first
            return crossing(series, left, span), True
        return span, told

    def move(self, segment: Segment | None, motion: Motion, span: Time) -> None:
        """Give or take what runs in a span."""
        if self.level is None or segment is None:
            return
        first, second = segment.far
        given = first * span + second * integral(motion.pressure, span)
        edge = self._held(self.level - self._way * 0.5 * STEP)
        self.water -= given
        self.given += max(given, 0.0)
        if self._way * (self.water - edge) <= 1e-12 * self.volume:
            dry = self.water <= 1e-12 * self.volume
            self.level = None if dry else self.level - self._way * STEP
        self.least = min(self.least, self.water)
