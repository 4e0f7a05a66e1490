"""Valves that shut fast and a pump that stops: the wave in every run, and its peak.

The water of each run from tank, main or heater to the valve stops as that connection shuts alone.
The wave that this makes in the branch goes on, at every point, into the pipes that meet there, and
doubles at ends that are closed; no later echo, no friction, no softness of hoses and hangers is
counted. Equipment lets it through; a store of water, a tank and a main take it. A valve that takes
longer than the wave makes no more than the whole column in even slowing. A pump is taken to stop at
once, and the wave to come back whole from tank and check valve.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import ClassVar

from msgspec import Struct

from supplycalc.catalogue import Tube, TubeSize
from supplycalc.catalogue.fixtures import Closing
from supplycalc.hydraulics.friction import flow_area, velocity
from supplycalc.hydraulics.surge import (
    critical_time,
    joukowsky,
    passed_on,
    slow_closure,
    wave_speed,
)
from supplycalc.hydraulics.water import density, vapour_pressure
from supplycalc.model import Device, Run
from supplycalc.network import Outlet, Tree
from supplycalc.records import Form
from supplycalc.sizing.design import Design, RunResult
from supplycalc.sizing.pressure_range import pipe_pressures, standing_pressures
from supplycalc.supply.tank import atmospheric_pressure
from supplycalc.tables import SI
from supplycalc.units.quantities import ClosingTime, Flow, Length, Pressure, Velocity

STIFFEST = {True: 200.0, False: 2.9}
"""[GPa] of metal and plastic whose own is not known: steel and PVC; common practice, no source."""


class QuickValve(Struct, frozen=True, kw_only=True):
    """A connection that shuts fast, and the wave that it makes alone."""

    form: ClassVar[Form] = Form(
        omit=("run", "closing", "columns", "waves"),
        add=("pipe", "nominal", "velocity", "closing_time", "slowed", "surge", "peak"),
    )

    name: str
    fixture: str
    kind: str
    arrestor: bool
    """Whether the file has one there."""
    run: RunResult
    """Its branch."""
    closing: Closing
    flow: Flow
    """As it shuts, with it alone open."""
    wave_speed: Velocity
    at_once: Pressure
    """Rise if it shut at once."""
    columns: tuple[tuple[Length, Velocity], ...]
    """Of the water that it stops, the branch first: length and velocity in each run."""
    at_rest: Pressure
    """The highest in its branch with nothing running."""
    waves: dict[int, Pressure]
    """Rise in each run by the index of its link."""

    @property
    def pipe(self) -> str:
        """Name of its branch."""
        return self.run.name

    @property
    def nominal(self) -> str:
        """Size of its branch."""
        return self.run.nominal

    @property
    def velocity(self) -> Velocity:
        """In its branch."""
        return velocity(self.flow, self.run.inside_diameter)

    @property
    def closing_time(self) -> ClosingTime:
        """Of its kind."""
        return self.closing.time

    @property
    def slowed(self) -> Pressure:
        """The most that the column rises by in the time that the valve takes."""
        return slow_closure(density(self.run.temperature), self.columns, self.closing.time)

    @property
    def surge(self) -> Pressure:
        """Rise at the valve."""
        return min(self.at_once, self.slowed)

    @property
    def peak(self) -> Pressure:
        """At the valve, upper bound."""
        return self.at_rest + self.surge

    def peak_in(self, size: TubeSize) -> Pressure:
        """The same with its branch in another size of its tube."""
        weight = density(self.run.temperature)
        shut = velocity(self.flow, size.inside_diameter)
        speed = wave_speed_in(self.run.tube, size, self.run.temperature)
        columns = ((self.run.length, shut), *self.columns[1:])
        slowed = slow_closure(weight, columns, self.closing.time)
        return self.at_rest + min(joukowsky(weight, speed, shut), slowed)

    def needed_time(self, allowed: Pressure) -> ClosingTime:
        """How long it must take to shut so that the rise is no more [s]."""
        whole = slow_closure(density(self.run.temperature), self.columns, 1.0)
        return whole / allowed if allowed > 0.0 else math.inf


class PeakInRun(Struct, frozen=True, kw_only=True):
    """The highest pressure that a wave brings into one pipe."""

    form: ClassVar[Form] = Form(omit=("run",), add=("run.name", "run.nominal", "peak", "over"))

    run: RunResult
    at_rest: Pressure
    """The highest in ordinary use."""
    surge: Pressure
    cause: str
    """The valve that makes it, or the pump."""
    rating: Pressure | None
    """At the water's temperature; None: not known."""
    borne: Pressure | None
    """The rating with what its standard allows for waves."""

    @property
    def peak(self) -> Pressure:
        """Both together."""
        return self.at_rest + self.surge

    @property
    def over(self) -> bool:
        """Whether that is more than it bears."""
        return self.borne is not None and self.peak > self.borne * (1.0 + 1e-6)


def wave_speed_in(tube: Tube, size: TubeSize, temperature: float) -> Velocity:
    """Speed of a wave in a size of tube at a temperature [K]."""
    modulus = tube.modulus(temperature)
    if modulus is None:
        modulus = STIFFEST[tube.metal] * SI["GPa"]
    return wave_speed(temperature, modulus, size.inside_diameter, size.wall)


def _closing_outlets(design: Design, by_hand: bool) -> list[tuple[Outlet, RunResult, Closing]]:
    """Every connection whose valve shuts fast; those of fixtures that are only planned too."""
    runs, kind_of = design.run_at, design.tree.kind_of
    return [
        (outlet, runs[outlet.link], closing)
        for outlet in design.tree.outlets
        if (closing := kind_of(outlet.fixture).closing) is not None
        and (by_hand or not closing.slow)
        and outlet.link in runs
        and outlet.flow > 0.0
    ]


def _quick_valves(
    design: Design, outlets: Sequence[tuple[Outlet, RunResult, Closing]], at_rest: dict[int, float]
) -> Iterator[QuickValve]:
    tree, runs = design.tree, design.run_at
    admittances = {run.index: _admittance(run) for run in design.runs}
    for outlet, run, closing in outlets:
        if at_rest[outlet.link] <= 0.0:
            continue  # no water comes there
        speed = wave_speed_in(run.tube, run.size, run.temperature)
        shut = velocity(outlet.flow, run.inside_diameter)
        at_once = joukowsky(density(run.temperature), speed, shut)
        path = list(_to_the_vessel(tree, outlet.link))
        columns = tuple(
            (runs[i].length, velocity(outlet.flow, runs[i].inside_diameter)) for i in path
        )
        slowed = [
            slow_closure(density(run.temperature), columns[start:], closing.time)
            for start in range(len(path) + 1)
        ]
        first, waves = _waves(tree, path, at_once, slowed, admittances)
        yield QuickValve(
            name=outlet.name,
            fixture=outlet.fixture.name,
            kind=outlet.fixture.kind,
            arrestor=outlet.fixture.arrestor,
            run=run,
            closing=closing,
            flow=outlet.flow,
            wave_speed=speed,
            at_once=first,
            columns=columns,
            at_rest=at_rest[outlet.link],
            waves=waves,
        )


def _to_the_vessel(tree: Tree, link: int) -> Iterator[int]:
    """The runs from a connection back to the heater's store, the tank or the main."""
    for i in (link, *tree.feeding(link)):
        of = tree.links[i]
        if isinstance(of, Run):
            yield i
        elif _stores(tree, i):
            return


def _stores(tree: Tree, link: int) -> bool:
    of = tree.links[link]
    return isinstance(of, Device) and tree.does(of, "stores")


def _waves(
    tree: Tree,
    path: Sequence[int],
    first: Pressure,
    slowed: Sequence[Pressure],
    admittances: dict[int, float],
) -> tuple[Pressure, dict[int, Pressure]]:
    """Rise in every run as the wave first passes.

    Args:
        path: the runs from the valve back.
        first: rise in the branch if its valve shuts at once.
        slowed: rise at the end of each of them, and at the vessel, in the time the valve takes.
        admittances: area over wave speed of each run [m s].

    Returns:
        Rise at the valve if it shuts at once, and in each run in the time it takes.
    """
    wave = first
    waves = {path[0]: min(first, slowed[0])}
    for place, i in enumerate(path):
        above = path[place + 1] if place + 1 < len(path) else None
        point = tree.parent[i]
        while point > 0 and not isinstance(tree.links[point], Run) and not _stores(tree, point):
            point = tree.parent[point]
        if above is None or point != above:
            break
        meeting = [*_runs_from(tree, above), above]
        share = passed_on(admittances[i], (admittances[j] for j in meeting))
        if place == 0:  # what comes back from a narrower or stiffer pipe doubles at the valve
            first *= max(1.0, 2.0 * share - 1.0)
            waves[i] = min(first, slowed[0])
        wave *= share
        waves[above] = min(wave, slowed[place + 1])
        for beside in meeting[:-1]:
            if beside != i:
                doubled = min(2.0 * wave, slowed[place + 1])
                waves |= dict.fromkeys(_reached(tree, beside), doubled)
    return first, waves


def _runs_from(tree: Tree, point: int) -> Iterator[int]:
    """The runs that start at a point, behind equipment and manifolds too."""
    for below in tree.children[point]:
        if isinstance(tree.links[below], Run):
            yield below
        elif not _stores(tree, below):
            yield from _runs_from(tree, below)


def _reached(tree: Tree, link: int) -> Iterator[int]:
    """The runs that a wave reaches from the start of one: itself, and on to a store of water."""
    if isinstance(tree.links[link], Run):
        yield link
    if not _stores(tree, link):
        for below in tree.children[link]:
            yield from _reached(tree, below)


def _admittance(run: RunResult) -> float:
    """Area over wave speed of a run [m s]."""
    speed = wave_speed_in(run.tube, run.size, run.temperature)
    return flow_area(run.inside_diameter) / speed


def valves_and_peaks(
    design: Design, *, by_hand: bool = True
) -> tuple[tuple[QuickValve, ...], tuple[PeakInRun, ...]]:
    """Every quick valve, the worst first, and the peak in each run that a wave reaches.

    Args:
        by_hand: whether levers and zone valves are looked at too.
    """
    outlets = _closing_outlets(design, by_hand)
    if not outlets:
        return (), ()
    known = {pipe.index: pipe for pipe in pipe_pressures(design) if pipe.index is not None}
    at_rest = {i: max(pipe.at_lowest_height, 0.0) for i, pipe in known.items()}
    valves = sorted(
        _quick_valves(design, outlets, at_rest),
        key=lambda valve: (valve.closing.slow, -valve.peak, valve.name),
    )
    peaks = []
    for run in design.runs:
        waves = [
            (valve.waves[run.index], valve.name) for valve in valves if run.index in valve.waves
        ]
        if waves:
            surge, name = max(waves)
            rating = known[run.index].rating
            peaks.append(
                PeakInRun(
                    run=run,
                    at_rest=at_rest[run.index],
                    surge=surge,
                    cause=name,
                    rating=rating,
                    borne=None if rating is None else rating * run.tube.surge_allowance,
                )
            )
    return tuple(valves), tuple(peaks)


class PumpStop(PeakInRun, frozen=True, kw_only=True):
    """The wave in one pipe before the tank as the pump stops at once."""

    form: ClassVar[Form] = Form(
        omit=("run",), add=("run.name", "run.nominal", "run.velocity", "peak", "over")
    )

    wave_speed: Velocity
    comes_back: ClosingTime
    """From the end of this pipe."""
    parts: bool
    """Whether the wave's low side would part the water: it does not hold together below vapour."""


def pump_stops(design: Design) -> Iterator[PumpStop]:
    """The upper bound in every run from the pump to the tank; a suction pipe is none."""
    if design.line is None:
        return
    known = {pipe.name: pipe for pipe in pipe_pressures(design) if pipe.index is None}
    altitude, cold = design.house.source.altitude, design.house.water.cold
    for before in design.stretches[:-1]:
        resting = standing_pressures(before)
        for run in before.runs:
            if run.name not in known:
                continue
            pipe = known[run.name]
            speed = wave_speed_in(run.tube, run.size, run.temperature)
            surge = joukowsky(density(run.temperature), speed, run.velocity)
            lowest = resting[run.index] + atmospheric_pressure(altitude) - vapour_pressure(cold)
            yield PumpStop(
                run=run,
                at_rest=max(pipe.at_lowest_height, 0.0),
                surge=surge,
                cause="pump",
                rating=pipe.rating,
                borne=None if pipe.rating is None else pipe.rating * run.tube.surge_allowance,
                wave_speed=speed,
                comes_back=critical_time(run.length, speed),
                parts=surge > lowest,
            )
