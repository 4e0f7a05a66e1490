"""The house in the states in which it was read, as it is in the file or with something otherwise.

The flows are those of `flow`: the same engine, the same outlets, the same states of the source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.delivery.fixture_use import FixtureUse, full_use, parse_uses
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import (
    Law,
    OpenSupply,
    constant_source,
    lower_of,
    open_pressures_at_rest,
)
from supplycalc.delivery.peak import LASTING
from supplycalc.delivery.solver import deliver
from supplycalc.delivery.source_cases import SourceCase, pump_law, pump_running, source_cases
from supplycalc.model import SOURCE, GaugeReading, House
from supplycalc.model.opened import opened_name
from supplycalc.problems import InputError, Problem
from supplycalc.sizing.design import Design
from supplycalc.supply.pump import curve_known, level_known, with_curve
from supplycalc.units.quantities import Flow, Pressure

What = Literal["pressure", "flow", "source"]


class Otherwise(Struct, frozen=True, kw_only=True):
    """What is supposed to be otherwise than the file says; by itself nothing."""

    source: Pressure = 0.0
    """More at the source."""
    behind: Pressure = 0.0
    """More at every place but the source's own gauge."""
    places: Mapping[int, Pressure] = {}
    """Link -> more that a gauge at its end shows, held lower than told."""
    lost: Mapping[int, tuple[Pressure, Flow]] = {}
    """Link -> lost in it besides, at a flow, and with its square."""
    scaled: tuple[frozenset[int], float] | None = None
    """Links, and what they lose over what is computed."""
    outlets: Mapping[str, float] = {}
    """Fixture -> what it lets through over what is computed."""
    settings: Mapping[int, Pressure] = {}
    """Link of a reducing valve -> more behind it."""
    pump: float = 1.0
    """Head of the pump over that of its curve."""
    lift: Pressure = 0.0
    """Less from the pump at any flow."""
    line: tuple[Pressure, Flow] | None = None
    """Lost between water and tank besides, at a flow, and with its square."""
    main: float = 1.0
    """What a main falls by over what is computed."""


AS_IN_FILE = Otherwise()


class Observed(Struct, frozen=True, kw_only=True):
    """One number that was read."""

    state: int
    """Number of the reading."""
    what: What
    link: int
    """The link at whose end the gauge sat; 0 for the source."""
    use: int | None
    """Of a flow, which of the open outlets it ran out of."""
    measured: float
    """[SI]"""


class ReadState(Struct, frozen=True, kw_only=True, eq=False):
    """One reading, and the states of the house in which it may have been taken."""

    reading: GaugeReading
    uses: tuple[FixtureUse, ...]
    link: int
    side: str
    """Of a fixture with two; empty elsewhere."""
    cases: tuple[SourceCase, ...]
    """One where the source was told, else all that it may have been in."""
    middle: SourceCase
    """The one case, or between them."""
    supply: OpenSupply
    """In the middle case."""
    flow: tuple[Flow, ...]
    """Through each link then."""
    open_ended: bool
    """Whether more may stand there than the file tells: a main whose static it leaves out."""

    @property
    def told(self) -> bool:
        """Whether the source's state was told, or is but one."""
        return len(self.cases) == 1


class Bench:
    """A sized house and its readings; keeps what does not change between suppositions."""

    def __init__(self, design: Design, readings: tuple[GaugeReading, ...]) -> None:
        self.design, self.household = design, Household(design)
        running = pump_running(design.tree)
        cases = source_cases(design.house)
        self.cases = cases if running is None else (*cases, running)
        self._solved: dict[ReadState, tuple[list[float], list[float]]] = {}
        self.states = tuple(self._state(reading) for reading in readings)
        self.observed = tuple(
            each for i, state in enumerate(self.states) for each in self._observed(i, state)
        )

    @property
    def pump_known(self) -> bool:
        """Whether what the pump gives can be computed."""
        house = self.design.house
        pump = house.source.pump
        told = (pump is not None and not pump.curve) or level_known(house)
        return pump is not None and told and curve_known(with_curve(house))

    def _state(self, reading: GaugeReading) -> ReadState:
        tree, house = self.design.tree, self.design.house
        opened = list(reading.open)
        place = opened_name(reading.at, {*tree.fixtures, *tree.index, SOURCE})
        fixture = tree.fixtures.get(place.fixture)
        names = [opened_name(text, tree.fixtures).fixture for text in opened]
        if reading.flow is not None and fixture is not None and fixture.name not in names:
            opened.append(reading.at)
        uses = parse_uses(house, opened)
        link, side = 0, ""
        if fixture is not None:
            through = next((use.through for use in uses if use.fixture is fixture), "both")
            whole = full_use(fixture).through
            side = place.side or ("cold" if through == "both" else through)
            side = side if whole == "both" else whole
            link = next(o.link for o in tree.outlets if o.fixture is fixture and o.side == side)
            side = side if whole == "both" else ""
        elif reading.at not in (SOURCE, house.source.point):
            if reading.at not in tree.index:
                message = f"{reading.at!r} stands before the tank, where nothing is read against"
                raise InputError([Problem(place=reading.place, message=message)])
            link = tree.index[reading.at]
        cases = self._cases(reading)
        middle = cases[0] if len(cases) == 1 else _between(cases, house)
        shares = {}
        if uses:
            settled = self.household.settle(uses, middle.law, middle.heads)
            for use, outflow in zip(uses, settled.outflows, strict=True):
                if use.through == "both":
                    thermostatic = use.mixing_valve(tree) == "thermostatic" and not outflow.dry
                    set_to = self.household.setting(use, middle.law)
                    shares[use.name] = outflow.hot / outflow.flow if thermostatic else set_to
        supply = self.household.open_supply(uses, middle.law, shares, middle.heads)
        return ReadState(
            reading=reading,
            uses=uses,
            link=link,
            side=side,
            cases=cases,
            middle=middle,
            supply=supply,
            flow=deliver(supply).flow if uses else (0.0,) * len(tree),
            open_ended=middle.name == "main" and not uses and house.source.static is None,
        )

    def _cases(self, reading: GaugeReading) -> tuple[SourceCase, ...]:
        """The states of the source in which it may have been read."""
        source = self.design.house.source
        if reading.source_pressure is not None:
            law = constant_source(reading.source_pressure)
            return (SourceCase(name="its gauge", law=law),)
        if reading.when is not None:
            wanted = LASTING if reading.when == "pump alone" else (reading.when,)
            named = [case for case in self.cases if case.name in wanted]
            if named:
                return (named[0],)
            switch = source.cut_in if reading.when == "cut-in" else source.cut_out
            if reading.when not in ("cut-in", "cut-out") or switch is None:
                message = (
                    "nothing in the file tells what the pump gives alone: give its curve, or a "
                    "bucket test, and how deep the water stands (static_level)"
                    if reading.when == "pump alone"
                    else f"the file tells no {reading.when}"
                )
                raise InputError([Problem(place=reading.place, message=message)])
            return (SourceCase(name=reading.when, law=constant_source(switch)),)
        return self.cases

    def _observed(self, number: int, state: ReadState) -> Iterator[Observed]:
        reading = state.reading
        common: dict[str, Any] = {"state": number, "link": state.link}
        if reading.pressure is not None:
            yield Observed(what="pressure", use=None, measured=reading.pressure, **common)
        if reading.flow is not None:
            fixtures = self.design.tree.fixtures
            name = opened_name(reading.at, fixtures).fixture
            use = [each.fixture.name for each in state.uses].index(name)
            yield Observed(what="flow", use=use, measured=reading.flow, **common)
        gauge = reading.source_pressure
        if gauge is not None and reading.when == "pump alone" and self.pump_known:
            yield Observed(what="source", use=None, measured=gauge, **{**common, "link": 0})

    def computed(self, supposed: Otherwise = AS_IN_FILE) -> list[float]:
        """What each observation should be [SI]."""
        solved = [self.solve(state, supposed) for state in self.states]
        return [
            self._value(each, *solved[each.state], supposed, state=self.states[each.state])
            for each in self.observed
        ]

    def ran(self, link: int, supposed: Otherwise) -> Flow:
        """The most that runs through a link in any reading."""
        flowing = [state for state in self.states if state.uses]
        supplies = (
            _otherwise(state.supply, self._law(state, supposed), supposed, self.design)
            for state in flowing
        )
        return max((deliver(supply).flow[link] for supply in supplies), default=0.0)

    def lost_in(self, links: Iterable[int], flow: Flow) -> Pressure:
        """What links in series lose together at a flow, reducing valves apart."""
        losses = self.household.laws.losses([flow] * len(self.design.tree))
        return math.fsum(float(losses[i]) for i in links)

    def ends(self) -> list[tuple[float, float]]:
        """Least and most that each observation should be, over the states of the source [SI]."""
        over: list[list[float]] = [[] for _ in self.observed]
        for i, state in enumerate(self.states):
            for case in state.cases:
                pressures, flows = self._settled(state.uses, case)
                for values, each in zip(over, self.observed, strict=True):
                    if each.state == i:
                        value = self._value(each, pressures, flows, AS_IN_FILE, state=state)
                        values.append(value)
        return [
            (min(values), math.inf if self.states[each.state].open_ended else max(values))
            for values, each in zip(over, self.observed, strict=True)
        ]

    def _settled(
        self, uses: tuple[FixtureUse, ...], case: SourceCase
    ) -> tuple[list[float], list[float]]:
        """Pressures and outflows exactly as `flow` tells them."""
        if not uses:
            return open_pressures_at_rest(self.household.open_supply((), case.law, {})), []
        settled = self.household.settle(uses, case.law, case.heads)
        return list(settled.delivered.pressure), [each.flow for each in settled.outflows]

    def solve(self, state: ReadState, supposed: Otherwise) -> tuple[list[float], list[float]]:
        """Pressures at every link's end and flow of every open outlet, one thing otherwise."""
        if not self._touches(state, supposed):
            supposed = AS_IN_FILE
            if state in self._solved:
                return self._solved[state]
        solved = self._solve(state, supposed)
        if supposed is AS_IN_FILE:
            self._solved[state] = solved
        return solved

    def _touches(self, state: ReadState, supposed: Otherwise) -> bool:
        """Whether a supposition changes what flows in a reading."""
        links = {*supposed.lost, *(supposed.scaled[0] if supposed.scaled else ())}
        names = {use.fixture.name for use in state.uses}
        return (
            replace(supposed, lost={}, scaled=None, outlets={}, places={}) != AS_IN_FILE
            or any(state.flow[i] > 0.0 for i in links)
            or not names.isdisjoint(supposed.outlets)
        )

    def _solve(self, state: ReadState, supposed: Otherwise) -> tuple[list[float], list[float]]:
        law = self._law(state, supposed)
        supply = _otherwise(state.supply, law, supposed, self.design)
        if not state.uses:
            return open_pressures_at_rest(supply), []
        delivered = deliver(supply)
        openings, mixers = iter(delivered.opening_flow), iter(delivered.mixer_flow)
        flows = [
            math.fsum(next(mixers)) if use.through == "both" else next(openings)
            for use in state.uses
        ]
        return list(delivered.pressure), flows

    def _law(self, state: ReadState, supposed: Otherwise) -> Law:
        """The source's, with what is supposed of it."""
        if state.middle.name in LASTING and self.pump_known:
            return _plus(self.pump_law(supposed), supposed.behind)
        law = state.middle.law
        if state.middle.name == "main" and supposed.main != 1.0:
            top = law(0.0)[0]
            law = _plus(_times(_plus(law, -top), supposed.main), top)
        return _plus(law, supposed.source + supposed.behind)

    def pump_law(self, supposed: Otherwise) -> Law:
        """What the pump holds at the tank: no more than its switch or its control lets it."""
        house = with_curve(self.design.house)
        source, pump = house.source, house.source.pump
        held = source.cut_out or 0.0
        if source.set_pressure is not None:
            held = source.set_pressure + supposed.source
        if pump is not None and supposed.pump != 1.0:
            curve = tuple((flow, head * supposed.pump) for flow, head in pump.curve)
            source = replace(source, pump=replace(pump, curve=curve))
            house = replace(house, source=source)
        plain = pump_law(house)
        lost, at = supposed.line or (0.0, 1.0)

        def law(flow: float) -> tuple[float, float]:
            pressure, slope = plain(flow)
            part = flow / at
            return pressure - supposed.lift - lost * part * part, slope - 2.0 * lost * part / at

        return lower_of(law, constant_source(held))

    def _value(
        self,
        each: Observed,
        pressures: list[float],
        flows: list[float],
        supposed: Otherwise,
        *,
        state: ReadState,
    ) -> float:
        if each.what == "flow" and each.use is not None:
            return flows[each.use]
        if each.what == "source":
            return max(self.pump_law(supposed)(math.fsum(flows))[0], 0.0)
        shown = supposed.places.get(each.link, 0.0) - (0.0 if each.link else supposed.behind)
        return max(pressures[each.link] + shown, 0.0)


def _between(cases: tuple[SourceCase, ...], house: House) -> SourceCase:
    """In the middle between the states of a switch, or of an open tank."""
    switch = [case.law(0.0)[0] for case in cases if case.name not in (*LASTING, "pump running")]
    middle = 0.5 * (min(switch) + max(switch)) if switch else house.source.kept_pressure
    return SourceCase(name="between", law=constant_source(middle))


def _otherwise(supply: OpenSupply, law: Law, supposed: Otherwise, design: Design) -> OpenSupply:
    """A supply with what is supposed of its links and outlets."""
    length, k, device = list(supply.length), list(supply.k), list(supply.device)
    limit = list(supply.limit)
    if supposed.scaled is not None:
        links, factor = supposed.scaled
        for i in links:
            length[i], k[i] = length[i] * factor, k[i] * factor
            loss = device[i]
            device[i] = None if loss is None else _times(loss, factor)
    for i, (pressure, flow) in supposed.lost.items():
        area = math.pi / 4.0 * supply.inside_diameter[i] ** 2
        k[i] += 2.0 * pressure / supply.density[i] * (area / flow) ** 2
    for i, more in supposed.settings.items():
        held = limit[i]
        limit[i] = None if held is None else _plus(held, more)

    def factor_of(name: str) -> float:
        return supposed.outlets.get(opened_name(name, design.tree.fixtures).fixture, 1.0)

    return replace(
        supply,
        source=law,
        length=tuple(length),
        k=tuple(k),
        device=tuple(device),
        limit=tuple(limit),
        openings=tuple(
            replace(
                it,
                coefficient=it.coefficient * factor_of(it.name),
                cap=it.cap * factor_of(it.name),
            )
            for it in supply.openings
        ),
        mixers=tuple(
            replace(
                it,
                coefficient=it.coefficient * factor_of(it.name),
                cap=it.cap * factor_of(it.name),
            )
            for it in supply.mixers
        ),
    )


def _times(law: Law, factor: float) -> Law:
    def scaled(flow: float) -> tuple[float, float]:
        value, slope = law(flow)
        return factor * value, factor * slope

    return scaled


def _plus(law: Law, more: float) -> Law:
    if more == 0.0:
        return law

    def risen(flow: float) -> tuple[float, float]:
        value, slope = law(flow)
        return value + more, slope

    return risen
