"""The demand methods side by side: load, design flow, and the size each of them leads to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from supplycalc.demand import DEMAND_METHODS, Method, method_record
from supplycalc.demand.guide import GuideFlow, guide_flow
from supplycalc.demand.loads import Demand, GroupUse, greatest_below
from supplycalc.demand.method import unknown_method
from supplycalc.demand.probability import outdoor_flows
from supplycalc.findings.prescriptive import TableCheck, table_check
from supplycalc.model import House
from supplycalc.problems import ComputationError, InputError, Place, Problem
from supplycalc.questions.compare.study import all_runs
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Design, OutletResult, RunResult
from supplycalc.units.quantities import Flow

SLACK = 1e-9
"""[m3/s] Flows closer than this are one."""


class MethodResult(Struct, frozen=True, kw_only=True):
    """A method at one run, with the whole house really sized by it."""

    method: str
    design: Design | None
    """None where no trustworthy design can be computed; `reason` says why."""
    demand: Demand | None
    run: RunResult | None
    """The run in this design."""
    reason: str = ""

    @property
    def record(self) -> Method:
        """The method's own record."""
        return method_record(self.method)

    @property
    def index(self) -> int:
        """Of the run in the tree."""
        return 0 if self.run is None else self.run.index

    @property
    def load(self) -> float | None:
        """In the method's own units; None where it has none."""
        if self.demand is None or not self.demand.load_name:
            return None
        return self.demand.load[self.index]

    @property
    def load_name(self) -> str:
        """What the load counts."""
        return "" if self.demand is None else self.demand.load_name

    @property
    def design_flow(self) -> Flow | None:
        """By the method, with continuous loads; None where no design can be computed."""
        return None if self.demand is None else self.demand.design_flow[self.index]

    @property
    def continuous(self) -> Flow:
        """Part of the design flow that may run for hours."""
        if self.demand is None or not self.demand.continuous:
            return 0.0
        return self.demand.continuous[self.index]

    @property
    def largest(self) -> Flow:
        """Flow of the largest single fixture below the run."""
        return 0.0 if self.demand is None else self.demand.largest[self.index]

    @property
    def largest_decides(self) -> bool:
        """Whether the method's own figure is no more than one fixture alone draws."""
        flow = self.design_flow
        return flow is not None and flow - self.continuous <= self.largest + SLACK

    @property
    def zero_chance(self) -> float | None:
        """Chance that none of the fixtures below the run runs."""
        return self._known(self.demand.zero_chance) if self.demand else None

    @property
    def mean_flow(self) -> Flow | None:
        """Mean flow in the busy hour, without continuous loads."""
        return self._known(self.demand.mean_flow) if self.demand else None

    def _known(self, values: Sequence[float]) -> float | None:
        return values[self.index] if values else None

    @property
    def rule(self) -> str:
        """Which of the method's rules gave the flow."""
        return self.demand.rule[self.index] if self.demand and self.demand.rule else ""

    @property
    def worst(self) -> OutletResult | None:
        """The fixture with the least margin in this design."""
        return None if self.design is None else self.design.worst

    @property
    def groups_used(self) -> tuple[GroupUse, ...]:
        """Group values that count in the run: those of rooms that it feeds or that feed it."""
        if self.design is None or self.demand is None:
            return ()
        tree = self.design.tree
        fed = {
            outlet.fixture.name
            for outlet in tree.outlets
            if outlet.link in tree.at_or_below(self.index)
        }
        return tuple(use for use in self.demand.groups_used if fed & set(use.fixtures))


class DemandComparison(Struct, frozen=True, kw_only=True):
    """Every method at one run of a house."""

    house: House
    run: str
    is_service: bool
    """Whether it is the first run from the source."""
    methods: tuple[MethodResult, ...]
    outdoor: Flow
    """Flow of the largest hose bibb below, which some methods add whole."""
    guide: GuideFlow | None
    """What a guide to private water systems asks of the pump; None on a main."""
    table: TableCheck | None
    """The code's table of sizes beside the design by the file's own method."""

    @property
    def own(self) -> MethodResult:
        """The result of the method that the file asks for."""
        wanted = self.house.project.demand
        return next(result for result in self.methods if result.method == wanted)

    @property
    def computed(self) -> tuple[MethodResult, ...]:
        """The methods that gave a flow, the lowest first; the earlier one where flows are equal."""
        return tuple(
            sorted(
                (result for result in self.methods if result.design_flow is not None),
                key=lambda result: round((result.design_flow or 0.0) / SLACK),
            )
        )

    @property
    def lowest(self) -> MethodResult:
        """The method that asks for least; the earlier one where flows are equal."""
        return self.computed[0]

    @property
    def highest(self) -> MethodResult:
        """The method that asks for most; the earlier one where flows are equal."""
        most = self.computed[-1].design_flow or 0.0
        return next(
            result for result in self.computed if (result.design_flow or 0.0) >= most - SLACK
        )

    @property
    def ok(self) -> bool:
        """Whether the design by the file's own method passes."""
        return self.own.design is not None and self.own.design.ok

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc demand --json` prints it."""
        from supplycalc.questions.demand.page import demand_to_dict

        return demand_to_dict(self, units)


def compare_demand(
    house: House, *, run: str | None = None, methods: Sequence[str] = ()
) -> DemandComparison:
    """Size a house by every demand method and look at one run.

    Args:
        house: a checked house.
        run: the run to look at; None takes the first from the source.
        methods: which methods; empty takes all, the file's own always among them.

    Returns:
        One result per method, in the order of `DEMAND_METHODS`.

    Raises:
        InputError: an unknown run or method.

    Source: named by each method.
    """
    problems = []
    names = [each.name for each in all_runs(house)]
    if run is not None and run not in names:
        message = f"{run!r} is not a run of this file"
        problems.append(Problem(place=Place("run"), message=message, value=run, valid=tuple(names)))
    for method in methods:
        if method not in DEMAND_METHODS:
            problems.append(unknown_method("methods", method))
    if problems:
        raise InputError(problems)
    wanted = {*methods, house.project.demand} if methods else set(DEMAND_METHODS)
    results = tuple(_result(house, method, run) for method in DEMAND_METHODS if method in wanted)
    sized = next((result for result in results if result.design is not None), None)
    own = next(result for result in results if result.method == house.project.demand)
    return DemandComparison(
        house=house,
        run=run or (sized.run.run.name if sized is not None and sized.run is not None else ""),
        is_service=sized is not None and sized.index == 1,
        methods=results,
        outdoor=0.0
        if sized is None or sized.design is None
        else _outdoor(sized.design, sized.index),
        guide=guide_flow(fixture.kind for fixture in house.fixtures)
        if house.source.kind == "well"
        else None,
        table=table_check(own.design) if own.design is not None else None,
    )


def _outdoor(design: Design, link: int) -> float:
    return greatest_below(design.tree, outdoor_flows(design.tree))[link]


def _result(house: House, method: str, run: str | None) -> MethodResult:
    try:
        design = size(house, method, mend=False)
    except ComputationError as error:
        return MethodResult(method=method, design=None, demand=None, run=None, reason=str(error))
    looked_at = design.runs[0] if run is None else design.run(run)
    return MethodResult(method=method, design=design, demand=design.demand, run=looked_at)
