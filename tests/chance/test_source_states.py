"""Where a tank stands while water is drawn, against closed forms and `supply.tank`."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from supplycalc.chance.source_states import (
    SourceStates,
    even_levels,
    held_levels,
    source_states,
    switched_levels,
)
from supplycalc.model import Pump, Tank, Well
from supplycalc.supply.tank import fill_time, water_held
from tests.houses import FOOT, GPM, PSI
from tests.supply.stations import CURVE, GALLON, house


def states(**parts: object) -> SourceStates:
    """Of the small well house."""
    return source_states(house(**parts))


def below(levels: np.ndarray, pressure: float) -> float:
    """Share of moments below a pressure."""
    return float((levels < pressure).mean())


def test_even_levels_are_equal_shares_of_water() -> None:
    """Half of the moments lie below the pressure at which half of the drawdown is gone."""
    source = states()
    station = source.station
    assert station is not None
    assert station.vessel is not None
    vessel = station.vessel
    levels = even_levels(source, 3)
    held = [
        water_held(vessel.volume, vessel.precharge, p, vessel.atmosphere)
        for p in levels[0].tolist()
    ]

    assert levels.min() > source.low
    assert levels.max() < source.high
    assert np.diff(held) == pytest.approx(vessel.drawdown / levels.shape[1], rel=1e-9)


def test_a_long_draw_sees_the_whole_cycle() -> None:
    """One tap open for days: the share of time in the lower half of the water, by closed form.

    Sinking takes the same time through each half; rising takes what `supply.tank` integrates
    exactly. The straight line in place of the pump's curve over the level costs 2 %.
    """
    source = states()
    station = source.station
    assert station is not None
    assert station.vessel is not None
    vessel, draw = station.vessel, 3.0 * GPM
    running = np.ones((1, 1), dtype=bool)
    levels = switched_levels(
        source,
        running,
        np.array([draw]),
        np.array([3e6]),
        np.ones(1),
        np.array([source.low]),
    )
    full = vessel.drawdown
    middle = (
        1.0 / (0.5 / (source.low + vessel.atmosphere) + 0.5 / (source.high + vessel.atmosphere))
        - vessel.atmosphere
    )
    whole = full / draw + fill_time(vessel, station.supply_curve, draw)
    lower = 0.5 * full / draw + fill_time(
        replace(vessel, cut_out=middle), station.supply_curve, draw
    )

    assert below(levels, middle) == pytest.approx(lower / whole, abs=0.02)
    assert levels.min() >= source.low - 1.0
    assert levels.max() <= source.high + 1.0


def test_what_the_pump_cannot_give_ends_where_it_holds_it() -> None:
    """Twice the pump's flow for an hour: nearly always at what the pump alone holds."""
    source = states()
    held = source.low - 15.0 * PSI
    levels = switched_levels(
        source,
        np.ones((1, 1), dtype=bool),
        np.array([2.0 * source.pump_flow(source.low)]),
        np.array([3600.0]),
        np.ones(1),
        np.array([held]),
    )

    assert below(levels, held + 1.0) > 0.95
    assert levels.min() == pytest.approx(held)


def test_a_short_draw_hardly_gets_below_cut_in() -> None:
    """The same flow for three seconds: the tank carries it but for a few moments.

    From anywhere in the band alike, it is below for flow x time/(2 drawdown) of them; draws before
    leave the tank rather fuller than that, as every start of the pump fills it.
    """
    source = states()
    station = source.station
    assert station is not None
    assert station.vessel is not None
    flow, time = 2.0 * source.pump_flow(source.low), 3.0
    levels = switched_levels(
        source,
        np.ones((1, 1), dtype=bool),
        np.array([flow]),
        np.array([time]),
        np.ones(1),
        np.array([source.low - 15.0 * PSI]),
    )
    alike = 0.5 * flow * time / station.vessel.drawdown

    assert alike < 0.1
    assert 0.6 * alike < below(levels, source.low - 1.0) < 1.1 * alike


def test_a_held_pump_dips_once() -> None:
    """From its set pressure to where it wakes, and back, then it holds: by volumes over flows."""
    pump = Pump(curve=CURVE, kind="constant-pressure", set_pressure=50.0 * PSI)
    source = states(pump=pump, cut_in=42.0 * PSI, tank=Tank(volume=20.0 * GALLON))
    station = source.station
    assert station is not None
    assert station.vessel is not None
    draw, time = 3.0 * GPM, 600.0
    levels = held_levels(source, np.ones((1, 1), dtype=bool), np.array([draw]), np.array([time]))
    spare = source.pump_flow(source.high) - draw
    dips = station.vessel.drawdown * (1.0 / draw + 1.0 / spare)

    assert levels.max() == pytest.approx(source.high)
    assert levels.min() >= source.low - 1.0
    assert below(levels, source.high - 1.0) == pytest.approx(dips / time, abs=2e-3)


def test_a_pump_that_never_reaches_cut_out_holds_what_it_can() -> None:
    """280 ft shut off less 185 ft of lift are 41 psi: the band is that one pressure."""
    source = states(
        well=Well(static_level=185.0 * FOOT, pump_depth=250.0 * FOOT), cut_out=60.0 * PSI
    )

    assert source.kind == "held"
    assert source.low == source.high < 42.0 * PSI


def test_the_pump_and_the_draw_balance_on_the_curve() -> None:
    """At the balance the pump gives what is drawn with the root of the pressure."""
    source = states()
    drawn = np.array([1.2, 1.6, 2.5]) * source.pump_flow(source.low)
    at = source.balance(drawn, np.full(3, source.low))

    assert np.all(np.diff(at) < 0.0)
    assert at[0] < source.low
    for pressure, flow in zip(at, drawn, strict=True):
        asked = flow * np.sqrt(pressure / source.low)
        assert source.pump_flow(float(pressure)) == pytest.approx(asked, rel=1e-3)
