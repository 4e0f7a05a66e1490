"""Flushing: the flow that each main asks for, what comes, and which outlet after which."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.delivery.fixture_use import FixtureUse
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Law
from supplycalc.delivery.peak import LASTING
from supplycalc.delivery.solver import deliver
from supplycalc.delivery.source_cases import source_cases
from supplycalc.hydraulics.friction import flow_area, velocity
from supplycalc.questions.commission.expansion import commission_limit
from supplycalc.questions.commission.water import pipes
from supplycalc.questions.draw.levels import level_of, levels
from supplycalc.questions.hot.cold_pipe import pipe_volume
from supplycalc.records import Form
from supplycalc.sizing.design import Design, OutletResult, RunResult
from supplycalc.tables import Citation
from supplycalc.units.quantities import Flow, Length, PipeVolume, Time, Velocity, Volume

NEARLY = 0.95
"""Share of the wanted speed that counts as reached."""


class FlushedMain(Struct, frozen=True, kw_only=True):
    """A shared pipe, and what runs through it with everything behind it open."""

    form: ClassVar[Form] = Form(
        omit=("result",),
        add=("result.name", "result.nominal", "water", "velocity", "time", "reached"),
    )

    result: RunResult
    needed: Flow
    """For the speed that carries grit."""
    turns: float
    """Times that its water is changed."""
    flow: Flow
    """With every outlet of one side behind it open, the others shut, nothing screwed into them."""

    @property
    def water(self) -> PipeVolume:
        """In it."""
        return pipe_volume(self.result)

    @property
    def velocity(self) -> Velocity:
        """Of that flow."""
        return velocity(self.flow, self.result.inside_diameter)

    @property
    def time(self) -> Time | None:
        """Until its water is changed; None: nothing comes."""
        return self.turns * self.water / self.flow if self.flow > 0.0 else None

    @property
    def reached(self) -> bool:
        """Whether that is fast enough."""
        return self.flow >= NEARLY * self.needed


class FlushedOutlet(Struct, frozen=True, kw_only=True):
    """A connection, in the order in which they are opened."""

    name: str
    level: str
    length: Length
    """Of the pipe from the source."""
    water: PipeVolume
    """In its own branch, as the mains are flushed already."""
    flow: Flow
    """With it alone open."""
    time: Time | None
    """Until that is changed; None: nothing comes."""


class Flushing(Struct, frozen=True, kw_only=True):
    """How the house is flushed."""

    form: ClassVar[Form] = Form(omit=("velocity_source",))

    state: str
    """Of the source."""
    velocity: Velocity
    """That carries grit."""
    velocity_source: Citation
    turns: float
    """Times that the water is changed."""
    water: Volume
    """That this takes in all."""
    flow: Flow
    """The most that runs through a main."""
    mains: tuple[FlushedMain, ...]
    outlets: tuple[FlushedOutlet, ...]


def flushing(design: Design) -> Flushing:
    """Open what hangs behind each main, and each outlet alone, and see what runs.

    The source is what lasts: the pump alone where its curve is known, else the pressure that pipe
    is sized at.

    Raises:
        ComputationError: the flows could not be settled.
    """
    cases = source_cases(design.house)
    case = next((case for case in cases if case.name in LASTING), cases[0])
    household = Household(design)
    there = [it for it in design.outlets if not it.planned and it.required > 0.0]
    sides = [[it for it in there if it.side == side] for side in ("cold", "hot")]
    wanted = commission_limit(design, "flush-velocity")
    turns = commission_limit(design, "flush-turns")

    def most(index: int) -> float:
        below = design.tree.at_or_below(index)
        behind = ([it for it in outlets if it.index in below] for outlets in sides)
        flows = (_flows(household, outlets, case.law)[index] for outlets in behind if outlets)
        return max(flows, default=0.0)

    mains = tuple(
        FlushedMain(
            result=run,
            needed=wanted.value * flow_area(run.inside_diameter),
            turns=turns.value,
            flow=most(run.index),
        )
        for run in design.runs
        if run.run.fixture is None
    )
    behind_tank = [run for run in pipes(design) if not run.before_tank]
    return Flushing(
        state=case.name,
        velocity=wanted.value,
        velocity_source=wanted.citation,
        turns=turns.value,
        water=turns.value * math.fsum(map(pipe_volume, behind_tank)),
        flow=max((main.flow for main in mains), default=0.0),
        mains=mains,
        outlets=tuple(
            opened
            for outlets in sides
            for opened in _outlets(household, outlets, case.law, turns.value)
        ),
    )


def _flows(household: Household, outlets: Sequence[OutletResult], law: Law) -> tuple[float, ...]:
    """Flow in every link with these connections open and nothing that holds them down [m3/s]."""
    uses = tuple(FixtureUse(fixture=it.fixture, through=it.side) for it in outlets)
    supply = household.open_supply(uses, law)
    wide = tuple(replace(opening, cap=math.inf) for opening in supply.openings)
    return deliver(replace(supply, openings=wide)).flow


def _outlets(
    household: Household, outlets: Sequence[OutletResult], law: Law, turns: float
) -> Iterator[FlushedOutlet]:
    """Storey by storey from below, on each the farthest first."""
    design = household.design
    storeys, runs = levels(design), design.run_at
    ways = {it.name: [runs[i] for i in design.tree.path(it.index) if i in runs] for it in outlets}

    def length(outlet: OutletResult) -> float:
        return math.fsum(run.length for run in ways[outlet.name])

    def turn(outlet: OutletResult) -> tuple[int, float]:
        return storeys.index(level_of(storeys, outlet.elevation)), -length(outlet)

    for outlet in sorted(outlets, key=turn):
        flow = _flows(household, (outlet,), law)[outlet.index]
        water = pipe_volume(runs[outlet.index])
        yield FlushedOutlet(
            name=outlet.name,
            level=level_of(storeys, outlet.elevation).name,
            length=length(outlet),
            water=water,
            flow=flow,
            time=turns * water / flow if flow > 0.0 else None,
        )
