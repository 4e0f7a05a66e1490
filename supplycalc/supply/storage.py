"""An open tank between a well and a house: how low it falls, exactly from one draw to the next.

The well's water runs to its bore, the pump lifts it to the tank as long as the tank is not full,
and the house draws from the tank. All flows are steady between two events, so that levels go
straight and are greatest at an event.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from supplycalc.units import DAY, HOUR
from supplycalc.units.quantities import Flow, Time, Volume

Series = NDArray[np.float64]


class SteadyDraws(Struct, frozen=True, eq=False):
    """Draws, each at one flow for some time, in order of their start."""

    start: Series
    """[s]"""
    duration: Series
    """[s]"""
    flow: Series
    """[m3/s]"""

    @property
    def volume(self) -> Series:
        """Of each draw [m3]."""
        return self.duration * self.flow


class Filling(Struct, frozen=True, kw_only=True):
    """How water gets to a tank."""

    inflow: Flow
    """What the well sustains."""
    pump: Flow = math.inf
    """What the pump lifts to the tank; inf: as much as there is, and the bore does not count."""
    bore: Volume = 0.0
    """Usable water standing in the bore at rest."""

    @property
    def lasting(self) -> Flow:
        """What reaches the tank for good."""
        return min(self.inflow, self.pump)


class OpenLevel:
    """An open tank through a day: what is missing of full, event by event.

    It fills while its float says so: from where `band` is missing until it is full.

    Source: mass balance at steady flows.
    """

    def __init__(self, inflow: Flow, volume: Volume, band: Volume = 0.0) -> None:
        self.inflow, self.volume, self.band = inflow, volume, band
        self.missing: Volume = 0.0
        self.filling = False
        self.most: Volume = 0.0
        """The most that was missing."""
        self.came: Volume = 0.0
        """What came and was kept; the rest ran over, or was not pumped."""
        self.drawn: Volume = 0.0
        self.lacked: Volume = 0.0
        """Drawn by the house that was no longer there."""
        self.dry: list[Time] = []
        """When it ran dry."""
        self.fillings: list[Time] = []
        """When it began to fill."""
        self.fill_time: Time = 0.0

    @property
    def left(self) -> Volume:
        """What is still there."""
        return self.volume - self.missing

    def run_dry(self, time: Time) -> None:
        """Note that a float has stopped the pump that draws from it."""
        self.dry.append(time)

    def move(self, time: Time, span: Time, flow: Flow) -> None:
        """Let a flow be drawn for a span from a time on."""
        while span > 0.0:
            comes = self._comes(time, flow)
            growth, step, edge = flow - comes, span, None
            if self.filling:
                reach = self.missing if growth < 0.0 else self.left
                edge = 0.0 if growth < 0.0 else self.volume
            else:
                reach, edge = self.band - self.missing, self.band
            if growth != 0.0 and reach > 0.0 and reach / abs(growth) <= span:
                step = reach / abs(growth)
            else:
                edge = None
            gone = flow
            if self.left <= 0.0 and growth > 0.0:  # dry: no more than comes
                gone, edge = comes, None
                self.lacked += growth * step
            self.came += comes * step
            self.drawn += gone * step
            self.fill_time += step if self.filling else 0.0
            before = self.missing
            self.missing = min(max(before + (gone - comes) * step, 0.0), self.volume)
            time, span = time + step, span - step
            if edge is not None:  # exactly, so that the next step begins there
                self.missing = edge
                if edge >= self.volume > before:
                    self.dry.append(time)
            self.most = max(self.most, self.missing)

    def _comes(self, time: Time, flow: Flow) -> Flow:
        """What comes now; the float starts and stops it."""
        if self.filling and self.missing <= 0.0 and flow < self.inflow:
            self.filling = False
        if not self.filling and self.missing >= self.band and (flow > 0.0 or self.missing > 0.0):
            if self.missing <= 0.0 and flow < self.inflow:
                return flow  # it is kept full
            self.filling = True
            self.fillings.append(time)
        return self.inflow if self.filling else 0.0


def missing_by_day(draws: SteadyDraws, filling: Filling, days: int) -> Series:
    """The most that a tank without limit, full at first, is short of full on each day.

    Returns:
        [m3] for each day; a tank of the greatest of them never runs dry, and one that holds less
        runs dry on no more days than are greater than it.

    Source: the storage needed is the greatest sum of what is drawn beyond what comes (Ripple, 1883;
        sequent peak, from memory). With a bore, what is missing of tank and bore together goes by
        what the well sustains, and the tank is short of at least that without the bore, and falls
        short no slower than by what is drawn beyond the pump.
    """
    midnights = np.arange(1, days + 1) * DAY
    at = np.concatenate([draws.start, draws.start + draws.duration, midnights])
    change = np.concatenate([draws.flow, -draws.flow, np.zeros(days)])
    order = np.argsort(at, kind="stable")
    at = np.minimum(at[order], days * DAY)
    span = np.diff(at, prepend=0.0)
    # what is drawn in the span that ends at an event is what the events before it have opened
    drawn = np.maximum(np.concatenate([[0.0], np.cumsum(change[order])[:-1]]), 0.0)
    if filling.pump > filling.inflow and filling.bore > 0.0 and math.isfinite(filling.pump):
        together = _short((drawn - filling.inflow) * span)
        without_bore = np.maximum(together - filling.bore, 0.0)
        beyond = np.cumsum((drawn - filling.pump) * span)
        missing = beyond + np.maximum.accumulate(np.maximum(without_bore - beyond, 0.0))
    else:
        missing = _short((drawn - filling.lasting) * span)
    day = np.minimum((at / DAY).astype(int), days - 1)
    most = np.zeros(days)
    np.maximum.at(most, day, missing)
    # what is missing at midnight is missing on the day that ends there too
    last = missing[np.searchsorted(at, midnights)]
    largest: Series = np.maximum(most, last)
    return largest


def _short(growth: Series) -> Series:
    """What is missing after each span, never less than nothing."""
    total = np.cumsum(growth)
    return np.asarray(total - np.minimum(np.minimum.accumulate(total), 0.0))


def drawn_within(draws: SteadyDraws, span: Time, days: int, share: float) -> Volume:
    """The water that most stretches of time draw at most.

    Args:
        days: how many.
        share: of the stretches that draw no more.
    """
    total = np.concatenate([[0.0], np.cumsum(draws.volume)])
    begin = np.arange(0.0, max(days * DAY - span, HOUR), HOUR)
    drawn = (
        total[np.searchsorted(draws.start, begin + span)]
        - total[np.searchsorted(draws.start, begin)]
    )
    return float(np.quantile(drawn, share))


def drawn_by_day(draws: SteadyDraws, days: int) -> Series:
    """What is drawn on each day, by the start of each draw [m3]."""
    day = np.minimum((draws.start / DAY).astype(int), days - 1)
    return np.asarray(np.bincount(day, draws.volume, minlength=days), dtype=np.float64)
