"""What really comes out with given outlets open, in every state of the source."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import asdict

from supplycalc.delivery.fixture_use import FixtureUse, figure, full_use, parse_uses
from supplycalc.delivery.household import Household, Outflow
from supplycalc.delivery.open_supply import Delivered
from supplycalc.delivery.peak import LASTING
from supplycalc.delivery.source_cases import SourceCase, pump_running, source_cases
from supplycalc.demand import by_the_american_codes
from supplycalc.findings.fixture_flows import own_flow_assumption
from supplycalc.findings.hot_water import scald_times
from supplycalc.findings.pressure import crest
from supplycalc.hydraulics.friction import velocity
from supplycalc.model import House
from supplycalc.problems import InputError, Place, Problem
from supplycalc.questions.flow.disturbance import Disturbance, disturb
from supplycalc.questions.flow.far_help import FarHelp, far_help
from supplycalc.questions.flow.lasting import Lasting, lasting, lasting_findings
from supplycalc.questions.size.study import size
from supplycalc.records import Form
from supplycalc.sizing.design import Assumption, Design, DesignAnswer, Finding, RunResult
from supplycalc.sizing.pressure_range import crests
from supplycalc.tables import code_limit, load_table, to_si
from supplycalc.units.quantities import Flow, Pressure, Velocity

POOR = 0.5
"""Share of its rated flow below which an outlet is warned of (common practice, no source)."""


class Step(Struct, frozen=True, kw_only=True):
    """One link on the way to an outlet."""

    form: ClassVar[Form] = Form(omit=("size",), rename={"static_gain": "static_change"})

    name: str
    size: str | None
    """Nominal; None for a device or a manifold."""
    flow: Flow
    static_gain: Pressure
    loss: Pressure
    end_pressure: Pressure | None
    """None where it is below the air's."""
    suction: Pressure = 0.0
    """How far it is below the air's."""


class OpenOutlet(Outflow, frozen=True, kw_only=True):
    """What comes out of an open outlet, beside what it would give alone, and its path."""

    alone: Outflow
    """With the others shut."""
    lost_to: dict[str, Flow]
    """By the name of each other open outlet: what this one would gain if that were shut."""
    path: tuple[Step, ...]
    """From the source to its weaker side."""

    @property
    def end_of_path(self) -> str:
        """The connection that the path leads to."""
        return f"{self.name} ({self.weaker_side})" if self.use.through == "both" else self.name


class SharedRun(Struct, frozen=True, kw_only=True):
    """A run that more than one of the open outlets draw through."""

    form: ClassVar[Form] = Form(omit=("run",), add=("name", "size", "velocity_limit"))

    run: RunResult
    flow: Flow
    velocity: Velocity

    @property
    def name(self) -> str:
        """Of the run."""
        return self.run.name

    @property
    def size(self) -> str:
        """Nominal."""
        return self.run.nominal

    @property
    def velocity_limit(self) -> Velocity:
        """Of the run."""
        return self.run.velocity_limit


class Case(Struct, frozen=True, kw_only=True):
    """One state of the source with everything open."""

    form: ClassVar[Form] = Form(
        omit=("source",), rename={"source_name": "source"}, add=("source_name",)
    )

    source: SourceCase
    source_pressure: Pressure
    """At the flow that runs."""
    total: Flow
    outlets: tuple[OpenOutlet, ...]
    common: tuple[SharedRun, ...]
    iterations: int
    residual: Pressure
    """How far flows and pressures are from agreeing."""

    @property
    def source_name(self) -> str:
        """The state of the source."""
        return self.source.name


class FlowStudy(DesignAnswer, frozen=True, kw_only=True):
    """What comes out, case by case; the first case is the one to plan by."""

    schema: ClassVar[str] = "supplycalc-flow/1"
    form: ClassVar[Form] = Form(omit=("design",), rename={"uses": "open"}, add=("cautions",))

    uses: tuple[FixtureUse, ...]
    cases: tuple[Case, ...]
    disturbance: Disturbance | None
    lasting: Lasting | None
    """How long a well's supply keeps it up; None on a main."""
    far_tank: tuple[FarHelp, ...]
    """What a second pressure tank does while the first stands at cut-in, and at cut-out; empty:
    there is none, or no volume."""
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    @property
    def outlets(self) -> tuple[OpenOutlet, ...]:
        """What comes out in the first case."""
        return self.cases[0].outlets

    @property
    def cautions(self) -> tuple[str, ...]:
        """The cautions that fit what is open (common practice, no source)."""
        estimate = (
            "An estimate: real outlets differ from their ratings. Measure with a bucket and a "
            "gauge. Your local code, its inspector and licensed trades decide."
        )
        if all(use.through == "cold" for use in self.uses):
            return (estimate,)
        scalding = (
            "Scalding: test the water by hand before anyone steps in, children and old people "
            "above all. A computed temperature does not protect; a pressure-balanced or "
            "thermostatic valve, set on site with a thermometer, does."
        )
        return scalding, estimate


def flow(
    house: House,
    texts: tuple[str, ...],
    *,
    disturbed: bool = False,
    at_once: int = 2,
    method: str | None = None,
) -> FlowStudy:
    """Size what is open in a house, open outlets, and settle the flows.

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
    return flow_of(size(house, method), uses, disturbed=disturbed, at_once=at_once)


def flow_of(
    design: Design, uses: tuple[FixtureUse, ...], *, disturbed: bool = False, at_once: int = 2
) -> FlowStudy:
    """The same for a design that is sized already; see `flow`."""
    household = Household(design)
    sources, running = source_cases(design.house), pump_running(design.tree)
    sources = sources if running is None else (*sources, running)
    cases = tuple(_case(household, uses, source) for source in sources)
    lasts = _lasting(design, cases)
    disturbance = None
    if disturbed:
        shut = tuple(
            full_use(fixture)
            for fixture in design.house.fixtures
            if not fixture.planned and all(use.fixture is not fixture for use in uses)
        )
        disturbance = disturb(household, uses, shut, sources[0], at_once)
    return FlowStudy(
        design=design,
        uses=uses,
        cases=cases,
        disturbance=disturbance,
        lasting=lasts,
        far_tank=tuple(_far_help(household, uses, sources)),
        findings=(*_lasting_findings(design, cases, lasts), *_findings(design, cases)),
        assumptions=tuple(_assumptions(household, uses, cases)),
    )


def _far_help(
    household: Household, uses: tuple[FixtureUse, ...], sources: tuple[SourceCase, ...]
) -> Iterator[FarHelp]:
    """In the states in which the tanks stand at rest before anything is opened."""
    for source in sources if household.design.house.far_tanks else ():
        if source.name != "pump alone" and not source.heads:
            told = far_help(household, uses, source, household.settle(uses, source.law))
            if told is not None:
                yield told


def _case(household: Household, uses: tuple[FixtureUse, ...], source: SourceCase) -> Case:
    settled = household.settle(uses, source.law, source.heads)
    delivered = settled.delivered
    flows_without: dict[str, dict[str, float]] = {}  # by what is shut: flows of the others
    for use in uses if len(uses) > 1 else ():
        others = tuple(other for other in uses if other is not use)
        outflows = household.settle(others, source.law, source.heads).outflows
        flows_without[use.name] = {outflow.name: outflow.flow for outflow in outflows}
    return Case(
        source=source,
        source_pressure=max(delivered.pressure[0], 0.0),
        total=delivered.flow[0] + math.fsum(delivered.head_flow),
        outlets=tuple(
            OpenOutlet(
                **asdict(outflow),
                alone=household.settle((outflow.use,), source.law, source.heads).outflows[0],
                lost_to={
                    shut: flows[outflow.name] - outflow.flow
                    for shut, flows in flows_without.items()
                    if shut != outflow.name
                },
                path=tuple(_path(household, outflow, delivered)),
            )
            for outflow in settled.outflows
        ),
        common=tuple(_common(household.design, uses, delivered.flow)),
        iterations=delivered.iterations,
        residual=delivered.residual,
    )


def pump_alone(cases: tuple[Case, ...]) -> Case | None:
    """The case in which the tank is empty; None where no pump's curve is known."""
    return next((case for case in cases if case.source.name in LASTING), None)


def _lasting(design: Design, cases: tuple[Case, ...]) -> Lasting | None:
    last = pump_alone(cases)
    return lasting(
        design.house,
        cases[0].total,
        cases[0].source_pressure,
        most_drawn=max(case.total for case in cases if not case.source.heads),
        pump_alone=None if last is None else last.total,
    )


def _lasting_findings(
    design: Design, cases: tuple[Case, ...], lasts: Lasting | None
) -> Iterator[Finding]:
    if lasts is not None:
        last = pump_alone(cases)
        several = bool(design.house.further_wells)
        after = () if last is None else last.outlets
        yield from lasting_findings(lasts, after, several=several)


def _common(
    design: Design, uses: tuple[FixtureUse, ...], flows: tuple[float, ...]
) -> Iterator[SharedRun]:
    tree = design.tree
    users = [0] * len(tree)
    for use in uses:
        for i in {i for outlet in use.outlets(tree) for i in tree.path(outlet.link)}:
            users[i] += 1
    for run in design.runs:
        if users[run.index] > 1:
            flow = abs(flows[run.index])
            yield SharedRun(run=run, flow=flow, velocity=velocity(flow, run.inside_diameter))


def _path(household: Household, outflow: Outflow, delivered: Delivered) -> Iterator[Step]:
    """The links from the source to an outlet's weaker side."""
    tree, run_at = household.design.tree, household.design.run_at
    pressures, gains = delivered.pressure, household.static_gains
    (end,) = (
        outlet.link for outlet in outflow.use.outlets(tree) if outlet.side == outflow.weaker_side
    )
    for i in tree.path(end):
        yield Step(
            name=tree.names[i],
            size=run_at[i].nominal if i in run_at else None,
            flow=delivered.flow[i],
            static_gain=gains[i],
            loss=pressures[tree.parent[i]] + gains[i] - pressures[i],
            end_pressure=pressures[i] if pressures[i] >= 0.0 else None,
            suction=max(-pressures[i], 0.0),
        )


def _findings(design: Design, cases: tuple[Case, ...]) -> Iterator[Finding]:
    first = cases[0]
    yield from _not_reached(design, first)
    yield from _not_fired(design, first)
    for i, outlet in enumerate(first.outlets):
        yield from _flow_findings(outlet)
        for case in cases:
            steps = list(_temperature_findings(design, case, case.outlets[i]))
            if steps:
                yield from steps
                break
    for run in first.common:
        if run.velocity > run.velocity_limit * (1.0 + 1e-9):
            yield Finding(
                level="warn",
                code="fast-together",
                where=run.name,
                message="water runs at {0} with these open; the limit of this run is {1}",
                values=((run.velocity, "velocity"), (run.velocity_limit, "velocity")),
                remedy="a larger size for this run, if they often run together",
            )
    low = [
        (step.suction, step.name)
        for outlet in first.outlets
        for step in outlet.path
        if step.suction > 0.0 and step.flow > 0.0
    ]
    if low:
        suction, name = max(low)
        yield Finding(
            level="warn",
            code="below-air-pressure",
            where=name,
            message="the water is under suction there, {0} less than the air's pressure: an open "
            "tap or a leak would suck in what is around it",
            values=((suction, "pressure"),),
            remedy="protect {hose bibbs|garden taps} and tank fills against backflow, and give "
            "this run more pressure",
        )


def _not_reached(design: Design, case: Case) -> Iterator[Finding]:
    """Crests on the way to what is open: the flows hold only if water got over them."""
    tree = design.tree
    ways = (tree.path(outlet.link) for item in case.outlets for outlet in item.use.outlets(tree))
    passed = {link for way in ways for link in way}
    tops = {top.name for top in crests(design) if top.index in passed}
    yield from (
        finding
        for finding in design.findings
        if finding.code == crest.code and finding.where in tops
    )


def _not_fired(design: Design, case: Case) -> Iterator[Finding]:
    """Heaters without a tank through which so little runs that they may not fire."""
    tree = design.tree
    row = load_table("hot_water")["tankless-flow"]
    least = to_si(row["value"], row["unit"])
    for result in design.devices:
        if not tree.does(result.device, "heats-flow"):
            continue
        behind = tree.at_or_below(result.index)
        flow = sum(
            outlet.hot
            for outlet in case.outlets
            if any(it.link in behind for it in outlet.use.outlets(tree) if it.side == "hot")
        )
        if 0.0 < flow < least:
            yield Finding(
                level="warn",
                code="tankless-flow",
                where=result.device.name,
                message="only {0} of hot water is drawn through it; many heaters of this kind do "
                "not fire below {1}, and the water stays cold",
                values=((flow, "flow"), (least, "flow")),
                remedy="compare with the heater's sheet; a hotter tap setting draws more hot water",
            )


def _flow_findings(outlet: OpenOutlet) -> Iterator[Finding]:
    if outlet.dry:
        yield Finding(
            level="fail",
            code="dry",
            where=outlet.name,
            message="nothing comes out, even with the others shut: the pressure does not reach it"
            if outlet.alone.dry
            else "nothing comes out: the pressure does not reach it while the others run",
            remedy="more pressure at the source"
            if outlet.alone.dry
            else "run fewer at once, or give it more pressure",
        )
    elif outlet.share_of_rated < POOR * outlet.use.share:
        yield Finding(
            level="warn",
            code="little-water",
            where=outlet.name,
            message="{0} comes out, less than half of its rated {1}",
            values=((outlet.flow, "flow"), (outlet.rated.flow, "flow")),
            remedy="run fewer at once, or a larger size where the pressure goes",
        )


def _temperature_findings(design: Design, case: Case, outlet: OpenOutlet) -> Iterator[Finding]:
    alone = outlet.alone
    if outlet.use.through != "both" or outlet.dry or alone.dry or len(case.outlets) < 2:
        return
    step = outlet.temperature - alone.temperature
    most, citation = figure("mixing", "temperature-step")
    if abs(step) <= most:
        return
    hotter = step > 0.0
    limit = design.house.limits.max_hot or code_limit("scald").value
    burns = outlet.temperature > limit
    times = [time for at, time, _ in scald_times() if at <= outlet.temperature]
    danger = f"; water this hot burns an adult's skin in about {times[-1]}" if times else ""
    person = outlet.use.fixture.kind in (
        "shower",
        "tub-shower",
        "bathtub",
        "whirlpool-tub",
        "bidet",
        "lavatory",
    )
    yield Finding(
        level="fail" if burns and person else "warn",
        code="scald-step" if hotter else "chill-step",
        where=outlet.name,
        message=f"the mixed water {'jumps' if hotter else 'drops'} from {{0}} to {{1}} when the "
        f"others open (source at {case.source.name}){danger}; a person who starts back from it "
        "can fall",
        values=((alone.temperature, "temperature"), (outlet.temperature, "temperature")),
        remedy="a pressure-balanced or thermostatic valve"
        if outlet.use.mixing_valve(design.tree) == "plain"
        else "a thermostatic valve, and less loss on the side that gives way",
        source=citation,
    )


def _assumptions(
    household: Household, uses: tuple[FixtureUse, ...], cases: tuple[Case, ...]
) -> Iterator[Assumption]:
    american = by_the_american_codes(household.design.house)
    yield Assumption(
        text="an outlet is an orifice: its flow goes with the square root of the pressure at its "
        "connection, through its rated flow at rated pressure"
    )
    if any(math.isfinite(outlet.rated.cap) for outlet in cases[0].outlets):
        yield Assumption(
            text="showerheads and faucets have regulators that hold "
            + ("the published maximum flow" if american else "what is usual of sparing ones"),
            source=figure("regulator", "shower")[1] if american else None,
        )
    yield from own_flow_assumption(use.fixture for use in uses)
    mixed = [use for use in uses if use.through == "both"]
    if not mixed:
        return
    wanted = sorted({household.use_temperature(use) for use in mixed})
    yield Assumption(
        text="each mixing valve was set while it ran alone, as near as it can be to "
        + (" or ".join(f"{{{i}}}" for i in range(len(wanted)))),
        values=tuple((temperature, "temperature") for temperature in wanted),
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
        "runs give {1.8 Btu an hour|10 W} from each {ft2 and degF|m2 and kelvin} to air at {1}, "
        "insulated ones have {2} of foam",
        values=(
            (household.design.house.water.hot, "temperature"),
            (figure("heat", "surroundings")[0], "temperature"),
            (figure("heat", "foam-thickness")[0], "thickness"),
        ),
    )
