"""An open tank between well and house, against a tank and a bore followed event by event."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from supplycalc.supply.storage import (
    Filling,
    OpenLevel,
    SteadyDraws,
    drawn_within,
    missing_by_day,
)
from supplycalc.units import DAY, HOUR

DRAW = st.tuples(st.integers(0, 3 * 86400), st.integers(1, 40000), st.integers(1, 500))


def draws_of(rows: list[tuple[int, int, int]]) -> SteadyDraws:
    """Draws from (start [s], duration [s], flow [mL/s]) in any order."""
    start, duration, flow = np.array(sorted(rows), dtype=float).T
    return SteadyDraws(start, duration, flow * 1e-6)


def followed(draws: SteadyDraws, filling: Filling, days: int) -> tuple[list[float], float]:
    """Tank and bore moved from event to event: most missing each day, and the balance's error."""
    changes = sorted(
        [(at, flow) for at, flow in zip(draws.start, draws.flow, strict=True)]
        + [
            (at + lasts, -flow)
            for at, lasts, flow in zip(draws.start, draws.duration, draws.flow, strict=True)
        ]
        + [(day * DAY, 0.0) for day in range(1, days + 1)]
    )
    bore = filling.bore if math.isfinite(filling.pump) else 0.0
    now, drawn, missing, in_bore, came, used = 0.0, 0.0, 0.0, bore, 0.0, 0.0
    most = [0.0] * days
    for at, change in changes:
        while now < min(at, days * DAY):
            gives = filling.pump if in_bore > 0.0 else filling.lasting
            pumped = gives if missing > 0.0 else min(drawn, gives)
            comes = filling.inflow if in_bore < bore else min(filling.inflow, pumped)
            step = min(at, days * DAY) - now
            if pumped > drawn:
                step = min(step, missing / (pumped - drawn))
            if pumped > comes:
                step = min(step, in_bore / (pumped - comes))
            elif comes > pumped:
                step = min(step, (bore - in_bore) / (comes - pumped))
            day = min(int(now / DAY), days - 1)
            most[day] = max(most[day], missing)
            missing += (drawn - pumped) * step
            in_bore += (comes - pumped) * step
            missing = missing if missing > 1e-12 else 0.0
            in_bore = 0.0 if in_bore < 1e-12 else bore if bore - in_bore < 1e-12 else in_bore
            came, used = came + comes * step, used + drawn * step
            now += step
            most[day] = max(most[day], missing)
        drawn = max(drawn + change, 0.0) if abs(drawn + change) > 1e-15 else 0.0
    return most, came - used - in_bore + bore + missing


@given(
    st.lists(DRAW, min_size=1, max_size=12),
    st.integers(1, 300),
    st.sampled_from([math.inf, 100e-6, 250e-6, 900e-6]),
    st.sampled_from([0.0, 0.2, 3.0]),
)
def test_what_is_missing_is_that_of_a_tank_followed_event_by_event(
    rows: list[tuple[int, int, int]], inflow: int, pump: float, bore: float
) -> None:
    """Each day's greatest fall agrees to 1e-9 m3, and what came is what was drawn, stored and
    missing, to the same."""
    draws = draws_of(rows)
    filling = Filling(inflow=inflow * 1e-6, pump=pump, bore=bore)

    most, off = followed(draws, filling, 4)

    assert off == pytest.approx(0.0, abs=1e-9)
    assert list(missing_by_day(draws, filling, 4)) == pytest.approx(most, abs=1e-9)


@given(st.lists(DRAW, min_size=1, max_size=12), st.integers(1, 300), st.integers(0, 200))
def test_more_inflow_or_a_larger_bore_never_needs_a_larger_tank(
    rows: list[tuple[int, int, int]], inflow: int, more: int
) -> None:
    """What is missing never grows with what the well gives or stores."""
    draws = draws_of(rows)

    def most(filling: Filling) -> float:
        return float(missing_by_day(draws, filling, 4).max())

    least = Filling(inflow=inflow * 1e-6, pump=400e-6, bore=0.5)
    faster = Filling(inflow=(inflow + more) * 1e-6, pump=400e-6, bore=0.5)
    wider = Filling(inflow=inflow * 1e-6, pump=400e-6, bore=0.5 + 0.01 * more)
    assert most(faster) <= most(least) + 1e-12
    assert most(wider) <= most(least) + 1e-12


def test_what_most_hours_draw() -> None:
    """Of 48 hours one has 60 L: half of them draw nothing, and the busiest all of it."""
    draws = draws_of([(10 * 3600, 600, 100)])

    assert drawn_within(draws, HOUR, 2, 0.5) == 0.0
    assert drawn_within(draws, HOUR, 2, 1.0) == pytest.approx(0.06)


@given(
    st.lists(st.tuples(st.integers(1, 20000), st.integers(0, 500)), min_size=1, max_size=40),
    st.integers(0, 300),
    st.integers(1, 5000),
    st.integers(0, 5000),
)
def test_the_level_of_open_water_balances_and_more_storage_never_runs_dry_earlier(
    spans: list[tuple[int, int]], inflow: int, litres: int, more: int
) -> None:
    """What came less what was drawn is what is missing, to 1e-9 m3; what was there and what lacked
    is what the house asked for; a larger tank runs dry later or never, and lacks no more."""
    small, large = (OpenLevel(inflow * 1e-6, volume * 1e-3) for volume in (litres, litres + more))
    asked = 0.0
    for level in (small, large):
        time, asked = 0.0, 0.0
        for span, flow in spans:
            level.move(time, float(span), flow * 1e-6)
            time += span
            asked += span * flow * 1e-6

    for level in (small, large):
        assert level.came - level.drawn == pytest.approx(-level.missing, abs=1e-9)
        assert level.drawn + level.lacked == pytest.approx(asked, abs=1e-9)
        assert 0.0 <= level.missing <= level.volume
    assert large.lacked <= small.lacked + 1e-9
    assert min(large.dry, default=math.inf) >= min(small.dry, default=math.inf) - 1e-6
