"""The open tank that carries a house through drawn years on a well that gives little."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
from msgspec import Struct

from supplycalc.chance.habits import habits
from supplycalc.chance.random_days import PlannedDraw, random_days, scheduled
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Law
from supplycalc.sizing.design import Design
from supplycalc.supply.storage import (
    Filling,
    Series,
    SteadyDraws,
    drawn_by_day,
    drawn_within,
    missing_by_day,
)
from supplycalc.units import DAY
from supplycalc.units.quantities import Flow, Time, Volume

YEARS = 3
"""That are drawn unless more are asked for."""
DAYS = 365
SPARED = 3
"""Days of a year that the smaller tank is allowed to run dry on."""
BORNE = 0.95
"""Share of all times without a pump that the tank is to bear."""
SLOWER = (0.75, 0.5)
"""Shares of the filling that are looked at too: a well gives less in a dry summer."""


class AcrossYears(Struct, frozen=True, kw_only=True):
    """A volume that differs from one drawn year to the next."""

    lowest: Volume
    usual: Volume
    """Median."""
    highest: Volume


class SlowerFilling(Struct, frozen=True, kw_only=True):
    """What it takes where the well gives less."""

    flow: Flow
    volume: Volume | None
    """Usual year's; None: no tank does, as less comes than is drawn."""


class DrawnStorage(Struct, frozen=True, kw_only=True):
    """The storage that so many people need by drawn years; what stands between floats is apart."""

    years: int
    people: int
    fill_flow: Flow
    """What reaches the tank for good."""
    drawn: Volume
    """In a day, the mean."""
    busiest: Volume
    """In the day of all years that draws most."""
    ordinary: Volume
    """Carries half of all days."""
    most_days: AcrossYears
    """Carries all days of a year but `SPARED`."""
    every_day: AcrossYears
    """Carries every day of a year."""
    enough: bool
    """Whether more comes than is drawn: else no tank carries it for good."""
    slower: tuple[SlowerFilling, ...]
    outage: Volume
    """What `BORNE` of all stretches as long as the time without a pump draw; 0: none was asked."""
    beside: tuple[str, ...]
    """Fixtures without habits that the file's schedule draws from, on every day."""


def drawn_storage(
    design: Design,
    people: int,
    filling: Filling,
    law: Law,
    *,
    years: int = YEARS,
    outage: Time = 0.0,
) -> DrawnStorage | None:
    """The storage that a house needs by drawn years; None where nothing is drawn.

    Args:
        people: who live there.
        years: how many to draw.
        outage: time without a pump that the tank must bear too.

    Source: the days of `habits` and of the file's own schedule where habits know no use; storage
        by `missing_by_day`.
    """
    flows = _Flows(design, law)
    usual = habits(design.tree, people)
    known = {use.fixture.name for habit in usual for use in habit.uses}
    daily = [draw for draw in scheduled(design.house, 1) if draw.use.fixture.name not in known]
    by_year = [
        flows.steady(_merged(random_days(usual, DAYS, seed, differ=True), daily))
        for seed in range(1, years + 1)
    ]
    total = sum(float(draws.volume.sum()) for draws in by_year)
    if total <= 0.0:
        return None
    mean = total / (years * DAYS)

    def missing(filled: Filling) -> Series:
        """By years and days, each year's days from the least on."""
        return np.sort([missing_by_day(draws, filled, DAYS) for draws in by_year], axis=1)

    by_day = missing(filling)
    slower = [
        Filling(inflow=share * filling.inflow, pump=filling.pump, bore=filling.bore)
        for share in SLOWER
    ]
    return DrawnStorage(
        years=years,
        people=people,
        fill_flow=filling.lasting,
        drawn=mean,
        busiest=max(float(drawn_by_day(draws, DAYS).max()) for draws in by_year),
        ordinary=float(np.median(by_day)),
        most_days=_across(by_day[:, -1 - SPARED]),
        every_day=_across(by_day[:, -1]),
        enough=filling.lasting * DAY > mean,
        slower=tuple(
            SlowerFilling(
                flow=less.lasting,
                volume=float(np.median(missing(less)[:, -1]))
                if less.lasting * DAY > mean
                else None,
            )
            for less in slower
            if less.lasting < filling.lasting
        ),
        outage=max(drawn_within(draws, outage, DAYS, BORNE) for draws in by_year)
        if outage
        else 0.0,
        beside=tuple(dict.fromkeys(draw.use.fixture.name for draw in daily)),
    )


class _Flows:
    """What each use draws while it runs alone, settled once."""

    def __init__(self, design: Design, law: Law) -> None:
        self._household, self._law = Household(design), law
        self._known: dict[tuple[str, str, float], Flow] = {}

    def of(self, draw: PlannedDraw) -> Flow:
        """What a draw's use draws."""
        key = (draw.use.fixture.name, draw.use.through, draw.use.share)
        flow = self._known.get(key)
        if flow is None:
            [settled] = self._household.as_set((draw.use,), self._law).outflows
            flow = self._known[key] = settled.flow
        return flow

    def steady(self, planned: Iterable[PlannedDraw]) -> SteadyDraws:
        """Draws at their uses' own flow, for as long as they say or until their volume has run."""
        rows = np.array(
            [
                (draw.start, draw.duration or (draw.volume or 0.0) / flow, flow)
                for draw in planned
                if (flow := self.of(draw)) > 0.0
            ]
        ).reshape(-1, 3)
        return SteadyDraws(rows[:, 0], rows[:, 1], rows[:, 2])


def _merged(random: Iterator[PlannedDraw], daily: list[PlannedDraw]) -> Iterator[PlannedDraw]:
    """Random draws and those of a schedule of one day, in order of time."""
    if not daily:
        yield from random
        return
    at, day = 0, 0

    def start() -> Time:
        return daily[at].start + day * DAY

    def here() -> PlannedDraw:
        planned = daily[at]
        return PlannedDraw(
            start=start(), use=planned.use, duration=planned.duration, volume=planned.volume
        )

    for draw in random:
        while start() <= draw.start:
            yield here()
            at += 1
            if at == len(daily):
                at, day = 0, day + 1
        yield draw


def _across(volumes: Series) -> AcrossYears:
    return AcrossYears(
        lowest=float(volumes.min()),
        usual=float(np.median(volumes)),
        highest=float(volumes.max()),
    )
