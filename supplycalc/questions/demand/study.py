"""The demand methods side by side: load, design flow, and the size each of them leads to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from msgspec import Struct

from supplycalc.demand import DEMAND_METHODS
from supplycalc.demand.guide import GuideFlow, guide_flow
from supplycalc.demand.loads import Columns, greatest_below, outlet_flows, summed_loads
from supplycalc.demand.method import unknown_method
from supplycalc.demand.probability import outdoor_flows
from supplycalc.findings.prescriptive import TableCheck, table_check
from supplycalc.findings.words import size_of
from supplycalc.model import House
from supplycalc.problems import InputError, Place, Problem
from supplycalc.questions.demand.differences import why_they_differ
from supplycalc.questions.demand.methods import (
    MethodResult,
    by_flow,
    lowest_and_highest,
    method_result,
)
from supplycalc.records import Form, Result
from supplycalc.sizing.design import Design, RunResult
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import Flow

ALIKE = 1.05
"""Flows within this ratio are called alike."""


class RunDemand(Struct, frozen=True, kw_only=True):
    """What the methods say of one run."""

    form: ClassVar[Form] = Form(omit=("largest_fixture",))

    name: str
    design_flow: dict[str, Flow]
    """By method."""
    zero_chance: float | None
    """Chance that nothing below it runs, by the method that computes the whole distribution."""
    mean_flow: Flow | None
    """By the same."""
    largest_fixture: Flow | None
    """Of the largest single fixture below, by the same."""


class DemandComparison(Result, frozen=True, kw_only=True):
    """Every method at one run of a house."""

    schema: ClassVar[str] = "supplycalc-demand/1"
    form: ClassVar[Form] = Form(omit=("house", "outdoor"), add=("method", "answer", "why", "runs"))

    house: House
    run: str
    is_service: bool
    """Whether it is the run from the source that carries most."""
    methods: tuple[MethodResult, ...]
    outdoor: Flow
    """Flow of the largest hose bibb below, which some methods add whole."""
    all_at_once: Flow
    """Of every fixture below the run, each at its own flow, and what runs for hours."""
    guide: GuideFlow | None
    """What a guide to private water systems asks of the pump; None on a main."""
    table: TableCheck | None
    """The code's table of sizes beside the design by the file's own method."""

    @property
    def method(self) -> str:
        """The file's own."""
        return self.house.project.demand

    @property
    def own(self) -> MethodResult:
        """The result of the method that the file asks for."""
        return next(result for result in self.methods if result.method == self.method)

    @property
    def ok(self) -> bool:
        """Whether the design by the file's own method passes."""
        return self.own.ok

    @property
    def whole_distribution(self) -> MethodResult | None:
        """Of the method that computes the whole distribution, where it was computed."""
        return next(
            (
                result
                for result in self.methods
                if result.record.whole_distribution and result.design is not None
            ),
            None,
        )

    @property
    def runs(self) -> tuple[RunDemand, ...]:
        """Every run of the house, from the source down."""
        designs = {
            result.method: result.design for result in self.methods if result.design is not None
        }
        whole = self.whole_distribution
        known = None if whole is None or whole.design is None else whole.design.demand
        return tuple(
            RunDemand(
                name=run.name,
                design_flow={
                    method: design.demand.design_flow[run.index]
                    for method, design in designs.items()
                },
                zero_chance=None if known is None else known.zero_chance[run.index],
                mean_flow=None if known is None else known.mean_flow[run.index],
                largest_fixture=None if known is None else known.largest[run.index],
            )
            for design in list(designs.values())[:1]
            for run in design.runs
        )

    def answer(self, system: UnitSystem) -> str:
        """The spread of the methods, in one sentence."""
        if not by_flow(self.methods):
            return f"No method gives a flow for {self.run}: {self.methods[0].reason}"
        low, high = lowest_and_highest(self.methods)
        run = f"the service line {self.run!r}" if self.is_service else f"{self.run!r}"
        if self.own.design_flow is None:
            first = f"Method {self.method!r} gives no flow: {self.own.reason}."
        else:
            first = f"{run} carries {_flow(self.own, system)} by your file's method {self.method!r}"
            first = f"{first[0].upper()}{first[1:]}{_sized(self.own)}."
        ratio = (high.design_flow or 0.0) / max(low.design_flow or 0.0, 1e-12)
        if ratio <= ALIKE:
            return f"{first} All methods agree within {ratio - 1:.0%}."
        return (
            f"{first} The methods go from {_flow(low, system)} ({low.method}{_sized(low)}) to "
            f"{_flow(high, system)} ({high.method}{_sized(high)}), {ratio:.1f} times as much."
        )

    def why(self, system: UnitSystem) -> tuple[str, ...]:
        """Why the methods differ, in sentences."""
        percentile = self.house.project.percentile
        return tuple(why_they_differ(self.methods, self.outdoor, percentile, system))


def _flow(result: MethodResult, system: UnitSystem) -> str:
    return show(result.design_flow or 0.0, "flow", system)


def _sized(result: MethodResult) -> str:
    """Its size as the end of a phrase."""
    return "" if result.run is None else f", {size_of(result.run)}"


def compare_demand(
    house: House, *, run: str | None = None, methods: Sequence[str] = ()
) -> DemandComparison:
    """Size a house by every demand method and look at one run.

    Args:
        run: the run to look at; None takes the one from the source that carries most.
        methods: which methods; empty takes all, the file's own always among them.

    Raises:
        InputError: an unknown run or method.
    """
    problems = []
    names = tuple(each.name for each in house.all_runs)
    if run is not None and run not in names:
        message = f"{run!r} is not a run of this file"
        problems.append(Problem(place=Place("run"), message=message, value=run, valid=names))
    for method in methods:
        if method not in DEMAND_METHODS:
            problems.append(unknown_method("methods", method))
    if problems:
        raise InputError(problems)
    wanted = {*methods, house.project.demand} if methods else set(DEMAND_METHODS)
    of_own = method_result(house, house.project.demand, run)
    looked_at = of_own.run.name if run is None and of_own.run is not None else run
    results = tuple(
        of_own if method == house.project.demand else method_result(house, method, looked_at)
        for method in DEMAND_METHODS
        if method in wanted
    )
    sized = next((result.run for result in results if result.run is not None), None)
    design = next((result.design for result in results if result.design is not None), None)
    own = of_own.design
    service = None if design is None else (own or design).service
    guide = None
    if house.source.kind == "well":
        guide = guide_flow(fixture.kind for fixture in house.fixtures)
    return DemandComparison(
        house=house,
        run=run or (sized.name if sized is not None else ""),
        is_service=service is not None and sized is not None and service.name == sized.name,
        methods=results,
        outdoor=0.0
        if design is None or sized is None
        else greatest_below(design.tree, outdoor_flows(design.tree))[sized.index],
        all_at_once=0.0 if design is None or sized is None else all_at_once(own or design, sized),
        guide=guide,
        table=None if own is None else table_check(own),
    )


def all_at_once(design: Design, run: RunResult) -> float:
    """What every fixture below a run would draw together, each at its own flow [m3/s]."""
    flow_of = outlet_flows(design.tree)
    together = summed_loads(design.tree, lambda fixture: Columns.alike(flow_of[fixture.name]))
    steady = design.demand.continuous
    return float(together[run.index]) + (steady[run.index] if steady else 0.0)
