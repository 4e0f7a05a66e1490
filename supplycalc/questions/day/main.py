"""A day on a street main: nothing is stored, so that nothing moves between two draws."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from supplycalc.delivery.open_supply import Law
from supplycalc.questions.day.draws import PlannedDraw
from supplycalc.questions.day.laws import Laws
from supplycalc.questions.day.openings import Openings
from supplycalc.questions.day.tally import Event, Tally


def run_on_main(
    laws: Laws,
    law: Law,
    draws: Iterable[PlannedDraw],
    end: float,
    *,
    keep_until: float = 0.0,
    progress: Callable[[float], None] | None = None,
) -> Tally:
    """Follow a house on a main from draw to draw.

    Args:
        laws: the house.
        law: of the main [Pa over m3/s].
        draws: in order of time.
        end: [s].
        keep_until: up to when every event is kept [s].
        progress: told the share that is done.

    Returns:
        What was counted; pump, tank and well stay at nothing.

    Source: the solver settles every set of open outlets once.
    """
    tally = Tally(series=[] if keep_until > 0.0 else None)
    openings = Openings(laws, draws, tally)
    settled = {openings.set: laws.settle(openings.set, law)}
    now, told = 0.0, 0.0
    openings.due(now)
    while True:
        rung = settled.get(openings.set)
        if rung is None:
            rung = settled[openings.set] = laws.settle(openings.set, law)
        if tally.series is not None and now <= keep_until:
            what = "begin" if now <= 0.0 else "end" if now >= end else "draw"
            tally.series.append(
                Event(now, what, rung.source_pressure, 0.0, False, 0.0, rung.total, 0.0)
            )
        if now >= end:
            return tally
        span = openings.until(end) - now
        for draw, flow in zip(openings.draws, rung.flow, strict=True):
            if flow > 0.0 and draw.left < flow * span:
                span = draw.left / flow
        for draw, flow in zip(openings.draws, rung.flow, strict=True):
            amount = flow * span
            tally.drawn += amount
            tally.used[draw.fixture] = tally.used.get(draw.fixture, 0.0) + amount
            draw.left -= amount
            if draw.left < 1e-12:
                draw.left = 0.0
        for watch, pressure in zip(openings.watches, rung.pressure, strict=True):
            watch.running += span
            watch.below += span if pressure < watch.outlet.required_pressure else 0.0
            if pressure < watch.lowest:
                watch.lowest, watch.lowest_at = pressure, now
                watch.lowest_source = rung.source_pressure
                watch.lowest_open = tuple(one.number for one in openings.draws)
        if rung.source_pressure < tally.lowest:
            tally.lowest, tally.lowest_at = rung.source_pressure, now
        tally.highest = max(tally.highest, rung.source_pressure)
        now = min(now + span, end) if math.isfinite(span) else end
        tally.steps += 1
        openings.due(now)
        if progress is not None and now - told > end / 200.0:
            told = now
            progress(now / end)
