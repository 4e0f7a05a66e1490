"""The second verdict of `size`: what every fixture gets while people live in the house."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct

from supplycalc.chance.moments import NO_MOMENTS, Moments, likely_moments
from supplycalc.chance.source_states import (
    SourceStates,
    even_levels,
    held_levels,
    source_states,
    switched_levels,
)
from supplycalc.chance.together import settled_together
from supplycalc.chance.uses import Connection, RunningUse, busyness, chances, running_uses
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import constant_source
from supplycalc.demand.loads import BoolArray, FloatArray, IntArray, is_public
from supplycalc.hydraulics.pressure import LinkLaws
from supplycalc.problems import ComputationError
from supplycalc.sizing.daily_use import LEAST_TOLD, ConnectionInUse, DailyUse
from supplycalc.sizing.design import Design
from supplycalc.supply.day_need import usual_people
from supplycalc.supply.pump_check import ROUND_FIGURE
from supplycalc.units import DAY, PSI

YEAR = 365.0 * DAY
NEAR = 0.7 * PSI
"""[Pa] from what a fixture needs, within which a pressure is settled anew by `delivery`: what the
pass over all sets at once may be off (tests/chance)."""
MOST_ANEW = 40
"""Sets that are."""
_BALANCED = 3
"""Times that a pump and what is drawn from it are brought nearer to each other."""


class Supposed(Struct, frozen=True, kw_only=True, eq=False):
    """Who uses the house and how: all that does not depend on its sizes."""

    uses: tuple[RunningUse, ...]
    connections: tuple[Connection, ...]
    of_use: IntArray
    """Number of each connection's use."""
    moments: Moments
    states: SourceStates
    without_water: tuple[str, ...]

    @property
    def open_now(self) -> BoolArray:
        """Connections by sets."""
        opened: BoolArray = self.moments.running[self.of_use]
        return opened


class Pressures(Struct, frozen=True, kw_only=True, eq=False):
    """Pressures over all moments of all sets, for each pair of a connection and a set."""

    connection: IntArray
    set_number: IntArray
    pressure: FloatArray
    """Pairs by moments [Pa gauge]; below 0 where nothing arrives."""
    at_low: FloatArray
    at_middle: FloatArray
    by_pump: FloatArray
    """Where the pump gives way what it holds alone, else as at cut-in."""
    flow: FloatArray
    """[m3/s]"""
    source: FloatArray
    """Sets by moments [Pa gauge]."""
    gives_way: BoolArray
    """Sets by moments: whether the tank stands below its band."""
    total: FloatArray
    """Flow of each set at the tank's middle [m3/s]."""
    drawn: FloatArray
    """Flow through each connection in each set with the tank at cut-in [m3/s]."""


def daily_use(
    design: Design, people: int | None = None, *, days_differ: bool = True
) -> DailyUse | None:
    """What every fixture gets in daily use.

    Args:
        people: who live there; None takes the file's number, or the usual one.
        days_differ: whether some days are busier than others beyond chance.

    Returns:
        The verdict's figures; None where guests or the public use fixtures, whose chances are not
        those of homes, where no fixture has a use that is known, or flows do not settle.

    Source: chances and habits by `habits`; independent events, orifices and energy balance.
    """
    if any(is_public(design.tree, fixture) for fixture in design.house.fixtures):
        return None
    given = people if people is not None else design.house.project.people
    household = Household(design)
    number = usual_people(design.house) if given is None else given
    try:
        supposed = suppose(household, number, days_differ=days_differ)
    except ComputationError:
        return None
    if not supposed.uses and not supposed.without_water:
        return None
    if not supposed.uses:
        return _without_water(design, supposed, number, given is None)
    pressures = pressures_of(household.laws, supposed)
    unsure = _settled_anew(household, supposed, pressures)
    return _told(design, supposed, pressures, unsure, number, given is None)


def suppose(household: Household, people: int, *, days_differ: bool = True) -> Supposed:
    """Who uses a house and how, with all sets of uses that run together.

    Args:
        people: who live there.
        days_differ: whether some days are busier than others beyond chance.
    """
    states = source_states(household.design.house)
    law = states.main or constant_source(states.middle)
    uses, without_water = running_uses(household, people, law)
    if not uses:
        return Supposed(
            uses=(),
            connections=(),
            of_use=np.zeros(0, dtype=np.int64),
            moments=NO_MOMENTS,
            states=states,
            without_water=without_water,
        )
    factor, weight = busyness() if days_differ else (np.ones(1), np.ones(1))
    hours = uses[0].hourly.size
    nothing = np.zeros(hours)
    moments = likely_moments(
        chances(uses, np.append(factor, 1.0)),
        np.append(np.repeat(weight, hours) / hours, nothing),
        np.append(np.repeat(0.0 * weight, hours), nothing + 1.0 / hours),
        np.array([use.fixture for use in uses]),
    )
    numbered = [(i, each) for i, use in enumerate(uses) for each in use.connections]
    return Supposed(
        uses=uses,
        connections=tuple(each for _, each in numbered),
        of_use=np.array([i for i, _ in numbered]),
        moments=moments,
        states=states,
        without_water=without_water,
    )


def pressures_of(laws: LinkLaws, supposed: Supposed) -> Pressures:
    """Pressures at every connection in every set, at every moment of the tank."""
    states, opened = supposed.states, supposed.open_now
    running = supposed.moments.running

    def settle(
        source: Callable[[FloatArray], FloatArray], sets: BoolArray
    ) -> tuple[FloatArray, FloatArray]:
        return settled_together(laws, supposed.connections, sets, source)

    if states.high <= states.low:
        low, flow_low = high, flow_high = settle(states.law_at(states.low), opened)
    else:
        stands = _standing(np.repeat([states.low, states.high], opened.shape[1]))
        both = settle(stands, np.tile(opened, 2))
        (low, high), (flow_low, flow_high) = (np.hsplit(each, 2) for each in both)
    total_low, total = flow_low.sum(axis=0), 0.5 * (flow_low + flow_high).sum(axis=0)
    flow = np.array([use.flow for use in supposed.uses])
    duration = np.array([use.duration for use in supposed.uses])
    end, at_end, flow_end = np.full(running.shape[1], states.low), low, flow_low
    over = total_low > states.pump_flow(states.low if states.kind == "switch" else states.high)
    if over.any():
        alone, drawn, holds = low[:, over], flow_low[:, over], end[over]
        for _ in range(_BALANCED):
            holds = states.balance(drawn.sum(axis=0), holds)
            alone, drawn = settle(_standing(holds), opened[:, over])
        at_end, flow_end, end = low.copy(), flow_low.copy(), end.copy()
        at_end[:, over], flow_end[:, over], end[over] = alone, drawn, holds
    if states.station is None:
        levels = even_levels(states, running.shape[1])
    elif states.kind == "switch":
        often = supposed.moments.total / duration
        levels = switched_levels(states, running, flow, duration, often, end)
    else:
        levels = held_levels(states, running, flow, duration)
        levels[over] = end[over, None]
    connection, number = np.nonzero(opened)
    pick = connection, number

    at = levels[number]
    sunk = at < states.low
    up = (at - states.low) / max(states.high - states.low, 1.0)
    down = (states.low - at) / np.maximum(states.low - end[number], 1.0)[:, None]

    def between(at_low: FloatArray, at_high: FloatArray, at_end: FloatArray) -> FloatArray:
        start = at_low[pick][:, None]
        rise, fall = (at_high - at_low)[pick][:, None], (at_end - at_low)[pick][:, None]
        return start + np.where(sunk, down * fall, up * rise)

    return Pressures(
        connection=connection,
        set_number=number,
        pressure=between(low, high, at_end),
        at_low=low[pick],
        at_middle=0.5 * (low + high)[pick],
        by_pump=at_end[pick],
        flow=between(flow_low, flow_high, flow_end),
        source=levels,
        gives_way=levels < states.low - 1.0,
        total=total,
        drawn=flow_low,
    )


def _standing(pressure: FloatArray) -> Callable[[FloatArray], FloatArray]:
    """A source that stands at a pressure of its own in each set [Pa gauge]."""
    return lambda flow: pressure


def _settled_anew(household: Household, supposed: Supposed, pressures: Pressures) -> FloatArray:
    """Put the pressures right that stand near to what is needed, where that matters most.

    Returns, for each pair, the time [s a year] in which it stays unsure on which side they are.
    """
    need = _required(supposed)[pressures.connection]
    near = np.abs(pressures.pressure - need[:, None]) < NEAR
    weight = supposed.moments.chance[pressures.set_number] * YEAR
    unsure: FloatArray = near.mean(axis=1) * weight
    of_set = np.bincount(pressures.set_number, weights=unsure, minlength=pressures.total.size)
    for number in np.argsort(-of_set, kind="stable")[:MOST_ANEW].tolist():
        if of_set[number] <= 0.0:
            break
        pairs = np.flatnonzero((pressures.set_number == number) & (unsure > 0.0))
        worst = pairs[np.argmax(unsure[pairs])]
        moment = int(np.argmin(np.abs(pressures.pressure[worst] - need[worst])))
        uses = tuple(
            supposed.uses[i].use for i in np.flatnonzero(supposed.moments.running[:, number])
        )
        source = float(pressures.source[number, moment])
        try:
            settled = household.as_set(uses, supposed.states.main or constant_source(source))
        except ComputationError:
            continue
        for pair in pairs.tolist():
            link = supposed.connections[pressures.connection[pair]].outlet.link
            pressures.pressure[pair] += (
                settled.delivered.pressure[link] - pressures.pressure[pair, moment]
            )
            unsure[pair] = 0.0
    return unsure


def _required(supposed: Supposed) -> FloatArray:
    """What each connection needs [Pa gauge]."""
    return np.array([each.outlet.required_pressure for each in supposed.connections])


def _without_water(
    design: Design, supposed: Supposed, people: int, people_assumed: bool
) -> DailyUse:
    """The figures of a house in which nothing gets water."""
    return DailyUse(
        people=people,
        people_assumed=people_assumed,
        connections=(),
        without_water=supposed.without_water,
        flow_one_in_100=0.0,
        design_flow=design.demand.design_flow[0],
        above_design_flow=0.0,
        drawn_a_day=0.0,
        well_gives_a_day=None,
        code_shortfall=design.shortfall,
        pump_gives_way=0.0,
        sets=0,
        drawn_sets=0,
        error=0.0,
    )


def _well_gives_a_day(design: Design) -> float | None:
    """What the well sustains in a day [m3]; None where that is not known."""
    sustained = None if design.pump is None else design.pump.sustained
    return None if sustained is None else sustained * DAY


def _told(
    design: Design,
    supposed: Supposed,
    pressures: Pressures,
    unsure: FloatArray,
    people: int,
    people_assumed: bool,
) -> DailyUse:
    """The figures of every connection, the tightest first."""
    moments = supposed.moments
    chance = moments.chance * YEAR
    outlets = {each.outlet.name: each.outlet for each in supposed.connections}
    names = np.array([each.outlet.name for each in supposed.connections])[pressures.connection]
    rows: list[tuple[ConnectionInUse, float]] = []
    for name, outlet in outlets.items():
        pairs = np.flatnonzero(names == name)
        sets = pressures.set_number[pairs]
        pressure = pressures.pressure[pairs]
        uses = sorted(set(supposed.of_use[pressures.connection[pairs]].tolist()))
        running, weight = float(moments.total[uses].sum()) * YEAR, chance[sets]
        drawn = moments.drawn[sets]
        if drawn.any():  # draws stand for the rest within their error; how often it runs is known
            weight = weight * (running / float(weight.sum()))
        short = pressure < outlet.required_pressure
        share = short.mean(axis=1)
        way = (short & pressures.gives_way[sets]).mean(axis=1)
        spread = np.repeat(weight / pressure.shape[1], pressure.shape[1])
        hundredth, thousandth = _lowest(pressure.ravel(), spread, (1e-2, 1e-3))
        [at_cut_in] = _lowest(pressures.at_low[pairs], weight, (1e-2,))
        [at_middle] = _lowest(pressures.at_middle[pairs], weight, (1e-2,))
        [by_pump] = _lowest(pressures.by_pump[pairs], weight, (1e-2,))
        least, usual = _lowest(pressures.flow[pairs].ravel(), spread, (1e-2, 0.5))
        states = weight**2 * share * (1.0 - share) / pressure.shape[1]
        deviation = float(np.sqrt(states.sum() + ((weight * share)[drawn] ** 2).sum()))
        left = max(running - float(weight.sum()), 0.0)
        error = float(unsure[pairs].sum()) + 2.0 * deviation + left
        rows.append(
            (
                ConnectionInUse(
                    name=outlet.fixture.name,
                    label=name,
                    side=outlet.side,
                    required=outlet.required_pressure,
                    running=running,
                    below=float(weight @ share),
                    dry=float(weight @ (pressure <= 0.0).mean(axis=1)),
                    below_if_days_alike=float(moments.alike[sets] @ share) * YEAR,
                    below_while_pump_gives_way=float(weight @ way),
                    one_in_100=hundredth,
                    one_in_1000=thousandth,
                    at_cut_in=at_cut_in,
                    at_middle=at_middle,
                    by_pump_alone=by_pump,
                    usual_flow=usual,
                    least_flow=least,
                ),
                error,
            )
        )
    rows.sort(key=_tightness)
    design_flow = design.demand.design_flow[0]
    [most] = _lowest(-pressures.total, chance, (1e-2,), least=-np.inf)
    return DailyUse(
        people=people,
        people_assumed=people_assumed,
        connections=tuple(row for row, _ in rows),
        flow_one_in_100=-most,
        design_flow=design_flow,
        code_shortfall=design.shortfall,
        without_water=supposed.without_water,
        above_design_flow=float(chance @ (pressures.total > design_flow)),
        drawn_a_day=float(moments.chance @ pressures.total) * DAY,
        well_gives_a_day=_well_gives_a_day(design),
        pump_gives_way=float(chance @ pressures.gives_way.mean(axis=1)),
        not_counted=_not_counted(design, [row for row, _ in rows]),
        for_hours=tuple(
            each.name for each in design.house.fixtures if each.continuous and not each.planned
        ),
        if_pump_keeps_up=_pump_taken_for_granted(design),
        sets=pressures.total.size,
        drawn_sets=int(moments.drawn.sum()),
        error=rows[0][1],
    )


def _not_counted(design: Design, used: Sequence[ConnectionInUse]) -> tuple[str, ...]:
    """What is short at the design flow and run by nobody's habits, where the shortest is."""
    names = {each.name for each in used}
    short = dict.fromkeys(it.fixture.name for it in design.outlets if it.margin < 0.0)
    left_out = tuple(name for name in short if name not in names)
    return left_out if left_out[:1] == tuple(short)[:1] else ()


def _pump_taken_for_granted(design: Design) -> bool:
    """Whether nobody knows if a well's pump keeps up: its range holds what it needs, or is open."""
    if design.house.source.kind != "well":
        return False
    pump = design.pump
    if pump is None or pump.pump_flow is None:
        return True
    least, most = pump.pump_flow
    return least < ROUND_FIGURE * pump.needed_flow <= most


def _tightness(row: tuple[ConnectionInUse, float]) -> tuple[float, float, str]:
    """What comes first: the longest below what it needs, then the least left over it."""
    told = row[0]
    below = told.below if told.below >= LEAST_TOLD else 0.0
    return -below, told.one_in_1000 - told.required, told.label


def _lowest(
    values: FloatArray, weight: FloatArray, shares: tuple[float, ...], least: float = 0.0
) -> list[float]:
    """Values that so small shares of the time are less than; not below `least`."""
    order = np.argsort(values)
    reached = np.cumsum(weight[order])
    places = np.searchsorted(reached, np.array(shares) * reached[-1])
    return [max(float(values[order[min(place, order.size - 1)]]), least) for place in places]
