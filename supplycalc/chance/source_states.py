"""Where the source stands while people draw: the tank between its settings, or the pump giving way.

A tank sinks to cut-in while its pump stands still, and rises while it runs and gives more than is
drawn. Where more is drawn than it gives, the tank goes on sinking after cut-in until it is empty or
the pump holds the draw. How far it has got depends on for how long the fixtures have been open. At
a moment when one runs, the time since it was opened is equally likely anywhere between nothing and
a draw's length; of these ages some are drawn, evenly spread, and the tank is followed through the
openings, the oldest first.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

import numpy as np
from msgspec import Struct

from supplycalc.delivery.source_cases import source_cases
from supplycalc.demand.loads import BoolArray, FloatArray, IntArray
from supplycalc.model import House
from supplycalc.supply.station import Station, pump_station
from supplycalc.supply.tank import air_constant, atmospheric_pressure
from supplycalc.units.quantities import Pressure

_STATES = 20_000
"""Of tanks that are followed, all sets of uses together."""
_FEWEST, _MOST_MOMENTS = 16, 2000
"""For each set."""
_SETTLING = 24
"""Draws through which a tank is followed before those that count."""
_STAGES = 6
"""Openings that a tank is followed through, the oldest ones; later ones come with the last."""
_MOST = 1e-9
_HALVINGS = 40
_LARGEST = 4000
"""No prime is needed beyond it: there are 550."""
_BEFORE = 400
"""Number from which points of the draws before stand, beyond those of any house's uses."""


class SourceStates(Struct, frozen=True, kw_only=True, eq=False):
    """The pressures between which a source stands, and what its pump holds."""

    low: Pressure
    """Cut-in, where a held pump wakes, or what a main holds."""
    high: Pressure
    """Cut-out, or what a held pump or a main holds."""
    kind: str
    """ "main", "switch" or "held"."""
    main: Callable[[float], tuple[float, float]] | None = None
    station: Station | None = None
    """None: of the pump no more is known than its switch."""
    atmosphere: Pressure

    @property
    def middle(self) -> Pressure:
        """Of the switch's band."""
        return 0.5 * (self.low + self.high)

    @property
    def air(self) -> float:
        """Absolute pressure times volume of the tank's air [J]; 0: no volume is known."""
        vessel = None if self.station is None else self.station.vessel
        if vessel is None:
            return 0.0
        return air_constant(vessel.volume, vessel.precharge, vessel.atmosphere)

    @property
    def precharge(self) -> Pressure:
        """Below it the tank is empty."""
        return self.low if self.station is None else min(self.station.precharge, self.low)

    def pump_flow(self, pressure: float) -> float:
        """What the pump gives at a pressure at the tank [m3/s]; inf where that is not known."""
        return math.inf if self.station is None else self.station.supply_curve.flow_at(pressure)

    def law_at(self, pressure: float) -> Callable[[FloatArray], FloatArray]:
        """The source's pressure over flow while the tank stands at a pressure [Pa gauge]."""
        if self.main is not None:
            main = self.main
            return lambda flow: main(flow)[0] + 0.0 * flow  # type: ignore[arg-type]
        return lambda flow: np.full(flow.shape, pressure)

    def balance(self, drawn: FloatArray, pressure: FloatArray) -> FloatArray:
        """Where the pump alone holds what is drawn, at most the lower setting [Pa gauge].

        Args:
            drawn: with the source at `pressure`; it goes with the root of the pressure [m3/s].
            pressure: [Pa gauge].
        """
        assert self.station is not None
        curve = self.station.supply_curve
        most = self.low if self.kind == "switch" else self.high
        flow, held = np.array(curve.flow), np.array(curve.pressure)
        steep = (held[-1] - held[-2]) / (flow[-1] - flow[-2])
        low, high = np.zeros(drawn.size), np.full(drawn.size, most)
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            asked = drawn * np.sqrt(middle / np.maximum(pressure, 1.0))
            holds = np.interp(asked, flow, held) + steep * np.maximum(asked - flow[-1], 0.0)
            enough = holds >= middle
            low, high = np.where(enough, middle, low), np.where(enough, high, middle)
        return low


def source_states(house: House) -> SourceStates:
    """The states of a house's source."""
    source = house.source
    altitude = atmospheric_pressure(source.altitude)
    station = pump_station(house)
    if source.kind != "well":
        law = source_cases(house)[0].law
        at_rest = law(0.0)[0]
        return SourceStates(low=at_rest, high=at_rest, kind="main", main=law, atmosphere=altitude)
    if station is not None and station.supply_curve.pressure[0] < station.cut_out:
        # it never gets there and so never stops: the tank stands where the pump holds the draw
        most = max(station.supply_curve.pressure[0], 0.0)
        return SourceStates(low=most, high=most, kind="held", station=station, atmosphere=altitude)
    if station is not None:
        return SourceStates(
            low=station.cut_in,
            high=station.cut_out,
            kind="held" if station.held else "switch",
            station=station,
            atmosphere=altitude,
        )
    low, held = source.kept_pressure, source.set_pressure
    high = source.cut_out if held is None else held
    return SourceStates(
        low=low,
        high=low if high is None else high,
        kind="switch",
        atmosphere=altitude,
    )


def moments_for(sets: int) -> int:
    """How many moments of the tank are looked at in each of so many sets of uses."""
    return min(max(_STATES // sets, _FEWEST), _MOST_MOMENTS)


def even_levels(states: SourceStates, sets: int) -> FloatArray:
    """Pressures at the tank, sets by moments, where it stands anywhere in its band equally often.

    Returns:
        [Pa gauge], the same for every set; equal shares of the water between the settings.

    Source: Boyle's law.
    """
    moments = moments_for(sets)
    share = (np.arange(moments) + 0.5) / moments
    low, high = states.low + states.atmosphere, states.high + states.atmosphere
    pressure: FloatArray = 1.0 / ((1.0 - share) / low + share / high) - states.atmosphere
    return np.broadcast_to(pressure, (sets, moments)).copy()


def held_levels(
    states: SourceStates, running: BoolArray, flow: FloatArray, duration: FloatArray
) -> FloatArray:
    """Pressures at a held pump's tank: it dips to where the pump wakes, and is filled again.

    Args:
        running: uses by sets.
        flow: of each use [m3/s].
        duration: of one draw of each use [s].

    Returns:
        [Pa gauge], sets by moments.
    """
    levels = np.full((running.shape[1], moments_for(running.shape[1])), states.high)
    if states.air <= 0.0:
        return levels
    low, high = states.low + states.atmosphere, states.high + states.atmosphere
    dip = states.air * (1.0 / low - 1.0 / high)
    age, number = _ages(running, duration, levels.shape[1])
    oldest, drawn = age[0], flow[number[0]]
    spare = np.maximum(states.pump_flow(states.high) - drawn, _MOST)
    sinking = dip / drawn
    out = np.minimum(oldest, sinking) * drawn - np.maximum(oldest - sinking, 0.0) * spare
    pressure: FloatArray = 1.0 / (1.0 / high + np.maximum(out, 0.0) / states.air)
    return pressure - states.atmosphere


def switched_levels(
    states: SourceStates,
    running: BoolArray,
    flow: FloatArray,
    duration: FloatArray,
    often: FloatArray,
    alone: FloatArray,
) -> FloatArray:
    """Pressures at a tank whose pump is started and stopped by a switch.

    Before the first opening the pump stands still, where the draws before have left the tank.

    Args:
        running: uses by sets.
        flow: of each use [m3/s].
        duration: of one draw of each use [s].
        often: how often each use draws, in any unit.
        alone: what the pump alone holds with each set, at most cut-in [Pa gauge].

    Returns:
        [Pa gauge], sets by moments; `alone` where the tank has come to its end.
    """
    air = states.air
    if air <= 0.0:
        levels = even_levels(states, alone.size)
        return np.where((alone < states.low - 1.0)[:, None], alone[:, None], levels)
    moments = moments_for(alone.size)
    age, number = _ages(running, duration, moments)
    ages = age[:_STAGES]
    # what was opened after the stages that are followed comes in with the last of them
    drawn = np.cumsum(np.where(age >= 0.0, flow[number], 0.0), axis=0)
    drawn = np.concatenate([drawn[: _STAGES - 1], drawn[-1:]])[: ages.shape[0]]
    until = np.concatenate([ages[1:], np.full((1, *ages.shape[1:]), -1.0)])
    lasts = np.maximum(ages, 0.0) - np.maximum(until, 0.0)

    low, high = states.low + states.atmosphere, states.high + states.atmosphere
    full = air * (1.0 / low - 1.0 / high)
    ends = np.minimum(np.maximum(alone, states.precharge), states.low) + states.atmosphere
    buffer = (air * (1.0 / ends - 1.0 / low))[:, None]
    gives = states.pump_flow(states.low), states.pump_flow(states.high)
    before = _left_by_draws_before(flow, duration, often, full, gives, moments)
    level = np.broadcast_to(before, age.shape[1:]).copy()
    pumping = np.zeros(level.shape, dtype=bool)
    openings = running.sum(axis=0)
    for stage, (rate, time) in enumerate(zip(drawn, lasts, strict=True)):
        sets = openings > stage
        stands, pumps = level[sets], pumping[sets]
        _follow(stands, pumps, rate[sets], time[sets], full, buffer[sets], gives)
        level[sets], pumping[sets] = stands, pumps
    pressure = 1.0 / (1.0 / low - level / air) - states.atmosphere
    ended = level <= -buffer * (1.0 - 1e-9)
    return np.where(ended, alone[:, None], pressure)


def _follow(
    level: FloatArray,
    pumping: BoolArray,
    rate: FloatArray,
    time: FloatArray,
    full: float,
    buffer: FloatArray,
    gives: tuple[float, float],
) -> None:
    """Move tanks through a time at a steady draw, in place: pump off, pump on, whole cycles, again.

    Level is the water above cut-in [m3], `full` at cut-out and `-buffer` at the end. What the pump
    gives goes in a straight line over the level, so that with the pump on the level tends to where
    that is what is drawn.

    Source: linear differential equation of the first order (textbook).
    """
    falls = max(gives[0] - gives[1], _MOST * gives[0]) / full
    tends = (gives[0] - rate) / falls
    drawn = np.maximum(rate, _MOST)
    fills = tends > full * (1.0 + _MOST)
    beyond = np.where(fills, tends - full, 1.0)
    cycle = full / drawn + np.log(np.where(fills, tends, 1.0) / beyond) / falls
    left = time.copy()
    for _ in range(2):
        span = np.where(pumping, 0.0, np.minimum(left, np.maximum(level, 0.0) / drawn))
        level -= rate * span
        left -= span
        pumping |= left > 0.0
        to_full = np.log(np.where(fills, (tends - level) / beyond, 1.0)) / falls
        span = np.where(fills, np.minimum(left, to_full), left)
        moved = tends + (level - tends) * np.exp(-falls * span)
        level[:] = np.where(pumping, np.clip(moved, -buffer, full), level)
        left = np.where(pumping, left - span, left)
        stops = pumping & fills & (left > 0.0)
        pumping &= ~stops
        left = np.where(stops, np.mod(left, cycle), left)


def _left_by_draws_before(
    flow: FloatArray,
    duration: FloatArray,
    often: FloatArray,
    full: float,
    gives: tuple[float, float],
    moments: int,
) -> FloatArray:
    """Levels that draws one by one leave a tank at [m3], the pump at rest again, in random order.

    Where a draw ends with the pump running, the tank is filled before the next.
    """
    level = full * _points(0, moments)
    shares = np.cumsum(often) / often.sum()
    for draw in range(_SETTLING):
        which, how_long = (_points(2 * draw + part, moments, _BEFORE) for part in (0, 1))
        use = np.minimum(np.searchsorted(shares, which), flow.size - 1)
        pumping = np.zeros(moments, dtype=bool)
        time = duration[use] * how_long * 2.0
        _follow(level, pumping, flow[use], time, full, np.zeros(moments), gives)
        level[pumping] = full
    return np.maximum(level, 0.0)


def _ages(running: BoolArray, duration: FloatArray, moments: int) -> tuple[FloatArray, IntArray]:
    """Time since each use of a set was opened [s] and the uses' numbers, the oldest first.

    Both have openings by sets by moments; where a set has fewer, the time is -1.
    """
    most = int(running.sum(axis=0).max())
    member = np.argsort(~running, axis=0, kind="stable")[:most]
    runs = np.take_along_axis(running, member, axis=0)
    points = np.array([_points(number + 1, moments) for number in range(duration.size)])
    age = np.where(runs[:, :, None], duration[member][:, :, None] * points[member], -1.0)
    order = np.argsort(-age, axis=0)
    number = np.broadcast_to(member[:, :, None], age.shape)
    return np.take_along_axis(age, order, axis=0), np.take_along_axis(number, order, axis=0)


def _points(number: int, moments: int, first: int = 0) -> FloatArray:
    """Points between 0 and 1, evenly spread by themselves and together with other numbers'.

    Source: multiples of the roots of primes (Richtmyer's sequence, from memory).
    """
    primes = _primes()
    step = math.sqrt(primes[(first + number) % len(primes)])
    points: FloatArray = np.mod((np.arange(moments) + 1.0) * step, 1.0)
    return points


@cache
def _primes() -> tuple[int, ...]:
    """As many as points are asked for: of a house's uses and of the draws before."""
    sieve = np.ones(_LARGEST, dtype=bool)
    sieve[:2] = False
    for number in range(2, math.isqrt(_LARGEST) + 1):
        sieve[number * number :: number] &= ~sieve[number]
    return tuple(np.flatnonzero(sieve).tolist())
