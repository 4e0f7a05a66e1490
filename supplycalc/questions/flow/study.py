"""What really comes out with given outlets open, in every state of the source."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from supplycalc.delivery.fixture_use import FixtureUse, figure, full_use, parse_uses
from supplycalc.delivery.household import Household, Outflow
from supplycalc.delivery.source_cases import SourceCase, source_cases
from supplycalc.findings.hot_water import scald_times
from supplycalc.hydraulics.friction import velocity
from supplycalc.model import House, Manifold
from supplycalc.problems import InputError, Place, Problem
from supplycalc.questions.flow.disturbance import Disturbance, disturb
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Assumption, Design, DeviceResult, Finding, RunResult
from supplycalc.tables import code_limit

POOR = 0.5
"""Share of its rated flow below which an outlet is warned of; our own."""


class Step(Struct, frozen=True, kw_only=True):
    """One link on the way to an outlet."""

    name: str
    result: RunResult | DeviceResult | None
    """None for a manifold."""
    flow: float
    """[m3/s]"""
    static_gain: float
    """[Pa]"""
    loss: float
    """[Pa]"""
    pressure: float
    """At its end [Pa gauge]."""


class Way(Struct, frozen=True, kw_only=True):
    """Where the pressure went on the way to one connection."""

    name: str
    steps: tuple[Step, ...]


class Common(Struct, frozen=True, kw_only=True):
    """A run that more than one of the open outlets draw through."""

    run: RunResult
    flow: float
    velocity: float


class Case(Struct, frozen=True, kw_only=True):
    """One state of the source with everything open."""

    source: SourceCase
    source_pressure: float
    """[Pa gauge] at the flow that runs."""
    total: float
    """[m3/s]"""
    outflows: tuple[Outflow, ...]
    alone: tuple[Outflow, ...]
    """Each outlet with the others shut."""
    lost: tuple[tuple[float, ...], ...]
    """lost[i][j]: what outlet i would gain if j were shut [m3/s]; 0 for i = j."""
    common: tuple[Common, ...]
    ways: tuple[Way, ...]
    """To each open outlet by its weaker side, in the order of the outlets."""
    iterations: int
    residual: float
    """[Pa]"""


class FlowStudy(Struct, frozen=True, kw_only=True):
    """What comes out, case by case; the first case is the one to plan by."""

    design: Design
    uses: tuple[FixtureUse, ...]
    cases: tuple[Case, ...]
    disturbance: Disturbance | None
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    @property
    def outflows(self) -> tuple[Outflow, ...]:
        """What comes out in the first case."""
        return self.cases[0].outflows

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc flow --json` prints it."""
        from supplycalc.questions.flow.page import flow_to_dict

        return flow_to_dict(self, units)


def flow(
    house: House,
    texts: tuple[str, ...],
    *,
    disturbed: bool = False,
    at_once: int = 2,
    method: str | None = None,
) -> FlowStudy:
    """Size what is open in a house, open outlets, and settle the flows.

    Args:
        house: a checked house.
        texts: what is open, such as "kitchen sink", "bath@50%" or "basin (hot)".
        disturbed: whether to open every other outlet in turn beside the first.
        at_once: how many of the others may run at once in the worst set.
        method: demand method for sizing; None takes the file's.

    Returns:
        What comes out.

    Raises:
        InputError: nothing is open, or something unknown.
        ComputationError: no sizes, or flows that do not settle.
    """
    uses = parse_uses(house, texts)
    if not uses:
        raise InputError(
            [
                Problem(
                    place=Place("--open"),
                    message="nothing is open: name an outlet, "
                    f'e.g. --open "{house.fixtures[0].name}"'
                    if house.fixtures
                    else "there is no fixture to open",
                )
            ]
        )
    return flow_of(size(house, method, mend=False), uses, disturbed=disturbed, at_once=at_once)


def flow_of(
    design: Design, uses: tuple[FixtureUse, ...], *, disturbed: bool = False, at_once: int = 2
) -> FlowStudy:
    """The same for a design that is sized already; see `flow`.

    Args:
        design: with a size for every run.
        uses: what is open.
        disturbed: whether to open every other outlet in turn beside the first.
        at_once: how many of the others may run at once in the worst set.

    Returns:
        What comes out.
    """
    household = Household(design)
    sources = source_cases(design.house)
    cases = tuple(_case(household, uses, source) for source in sources)
    found = None
    if disturbed:
        shut = tuple(
            full_use(fixture)
            for fixture in design.house.fixtures
            if not fixture.planned and all(one.fixture is not fixture for one in uses)
        )
        found = disturb(household, uses, shut, sources[0], at_once)
    return FlowStudy(
        design=design,
        uses=uses,
        cases=cases,
        disturbance=found,
        findings=tuple(_findings(design, cases)),
        assumptions=tuple(_assumptions(household, uses, cases)),
    )


def _case(household: Household, uses: tuple[FixtureUse, ...], source: SourceCase) -> Case:
    settled = household.settle(uses, source.law)
    alone = tuple(household.settle((use,), source.law).outflows[0] for use in uses)
    lost = [[0.0] * len(uses) for _ in uses]
    if len(uses) > 1:
        for j in range(len(uses)):
            rest = uses[:j] + uses[j + 1 :]
            found = household.settle(rest, source.law).outflows
            for one in found:
                i = uses.index(one.use)
                lost[i][j] = one.flow - settled.outflows[i].flow
    return Case(
        source=source,
        source_pressure=settled.delivered.pressure[0],
        total=settled.delivered.flow[0],
        outflows=settled.outflows,
        alone=alone,
        lost=tuple(map(tuple, lost)),
        common=tuple(_common(household.design, uses, settled.delivered.flow)),
        ways=tuple(
            _way(household, one, settled.delivered.flow, settled.delivered.pressure)
            for one in settled.outflows
        ),
        iterations=settled.delivered.iterations,
        residual=settled.delivered.residual,
    )


def _links(design: Design, use: FixtureUse) -> dict[str, int]:
    return {outlet.side: outlet.link for outlet in use.outlets(design.tree)}


def _common(
    design: Design, uses: tuple[FixtureUse, ...], flows: tuple[float, ...]
) -> Iterator[Common]:
    users = [0] * len(design.tree)
    for use in uses:
        for i in {i for link in _links(design, use).values() for i in design.tree.path(link)}:
            users[i] += 1
    for one in design.runs:
        if users[one.index] > 1:
            q = flows[one.index]
            yield Common(run=one, flow=q, velocity=velocity(q, one.size.inside_diameter))


def _way(
    household: Household, one: Outflow, flows: tuple[float, ...], pressures: tuple[float, ...]
) -> Way:
    design = household.design
    tree, links = design.tree, _links(design, one.use)
    side = min(links, key=lambda side: pressures[links[side]])
    results = design.result_at
    gains = household.static_gains
    steps = []
    for i in tree.path(links[side]):
        before = pressures[tree.parent[i]]
        steps.append(
            Step(
                name=tree.names[i],
                result=None if isinstance(tree.links[i], Manifold) else results[i],
                flow=flows[i],
                static_gain=gains[i],
                loss=before + gains[i] - pressures[i],
                pressure=pressures[i],
            )
        )
    name = one.use.name if len(links) == 1 else f"{one.use.name} ({side})"
    return Way(name=name, steps=tuple(steps))


def _findings(design: Design, cases: tuple[Case, ...]) -> Iterator[Finding]:
    first = cases[0]
    for i, one in enumerate(first.outflows):
        yield from _flow_findings(one, first.alone[i])
        for case in cases:
            step = list(_temperature_findings(design, case, case.outflows[i], case.alone[i]))
            if step:
                yield from step
                break
    for common in first.common:
        if common.velocity > common.run.velocity_limit * (1.0 + 1e-9):
            yield Finding(
                level="warn",
                code="fast-together",
                where=common.run.run.name,
                message="water runs at {0} with these open; the limit of this run is {1}",
                values=((common.velocity, "velocity"), (common.run.velocity_limit, "velocity")),
                remedy="a larger size for this run, if they often run together",
            )
    low = [
        (s.pressure, s.name) for way in first.ways for s in way.steps if s.pressure < 0.0 < s.flow
    ]
    if low:
        pressure, name = min(low)
        yield Finding(
            level="warn",
            code="below-air-pressure",
            where=name,
            message="the pressure falls to {0}, below that of the air: an open tap or a leak there "
            "would suck in what is around it",
            values=((pressure, "pressure"),),
            remedy="protect hose taps and tank fills against backflow, and give this run more "
            "pressure",
        )


def _flow_findings(one: Outflow, alone: Outflow) -> Iterator[Finding]:
    if one.dry:
        yield Finding(
            level="fail",
            code="dry",
            where=one.use.name,
            message="nothing comes out, even with the others shut: the pressure does not reach it"
            if alone.dry
            else "nothing comes out: the pressure does not reach it while the others run",
            remedy="more pressure at the source"
            if alone.dry
            else "run fewer at once, or give it more pressure",
        )
    elif one.share_of_rated < POOR * one.use.share:
        yield Finding(
            level="warn",
            code="little-water",
            where=one.use.name,
            message="{0} comes out, less than half of its rated {1}",
            values=((one.flow, "flow"), (one.rated.flow, "flow")),
            remedy="run fewer at once, or a larger size where the pressure goes",
        )


def _temperature_findings(
    design: Design, case: Case, one: Outflow, alone: Outflow
) -> Iterator[Finding]:
    if one.use.through != "both" or one.dry or alone.dry or len(case.outflows) < 2:
        return
    step = one.temperature - alone.temperature
    most, citation = figure("mixing", "temperature-step")
    if abs(step) <= most:
        return
    hotter = step > 0.0
    limit = design.house.limits.max_hot or code_limit("scald").value
    burns = one.temperature > limit
    times = [time for at, time, _ in scald_times() if at <= one.temperature]
    danger = f"; water this hot burns an adult's skin in about {times[-1]}" if times else ""
    person = one.use.fixture.kind in ("shower", "tub-shower", "bathtub", "bidet", "lavatory")
    yield Finding(
        level="fail" if burns and person else "warn",
        code="scald-step" if hotter else "chill-step",
        where=one.use.name,
        message=f"the mixed water {'jumps' if hotter else 'drops'} from {{0}} to {{1}} when the "
        f"others open (source at {case.source.name}){danger}; a person who starts back from it "
        "can fall",
        values=((alone.temperature, "temperature"), (one.temperature, "temperature")),
        remedy="a pressure-balanced or thermostatic valve"
        if one.use.mixing_valve(design.tree) == "plain"
        else "a thermostatic valve, and less loss on the side that gives way",
        source=citation,
    )


def _assumptions(
    household: Household, uses: tuple[FixtureUse, ...], cases: tuple[Case, ...]
) -> Iterator[Assumption]:
    yield Assumption(
        text="an outlet is an orifice: its flow goes with the square root of the pressure at its "
        "connection, through its rated flow at rated pressure"
    )
    if any(math.isfinite(one.rated.cap) for one in cases[0].outflows):
        yield Assumption(
            text="showerheads and faucets have regulators that hold the published maximum flow",
            source=figure("regulator", "shower")[1],
        )
    mixed = [use for use in uses if use.through == "both"]
    if not mixed:
        return
    wanted = sorted({household.use_temperature(use) for use in mixed})
    yield Assumption(
        text="each mixing valve was set while it ran alone, as near as it can be to "
        + (" or ".join(f"{{{i}}}" for i in range(len(wanted)))),
        values=tuple((one, "temperature") for one in wanted),
    )
    valves = {use.mixing_valve(household.design.tree) for use in mixed}
    if "plain" in valves:
        yield Assumption(
            text="a plain mixer is two fixed ports into one chamber and an outlet after it; the "
            "ports take {0} of the pressure; no water crosses over between hot and cold",
            values=((figure("mixing", "port-share")[0], "share"),),
        )
    if valves - {"plain"}:
        yield Assumption(
            text="a pressure-balanced or thermostatic valve throttles the stronger side to the "
            "weaker one's pressure and keeps the share of hot (thermostatic: the temperature); "
            "without pressure on one side it shuts both"
        )
    yield Assumption(
        text="hot water leaves the heater at {0} and has run long enough to warm the pipe; bare "
        "runs give 10 W per m2 and kelvin to air at {1}, insulated ones have {2} of foam",
        values=(
            (household.design.house.water.hot, "temperature"),
            (figure("heat", "surroundings")[0], "temperature"),
            (figure("heat", "foam-thickness")[0], "thickness"),
        ),
    )
