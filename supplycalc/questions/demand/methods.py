"""One demand method at one run of a house that is really sized by it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, ClassVar

from msgspec import Struct

from supplycalc.demand import Method, method_record
from supplycalc.demand.loads import GroupUse
from supplycalc.model import House, Side
from supplycalc.problems import ComputationError
from supplycalc.questions.size.study import size
from supplycalc.records import Form, fields_to_data
from supplycalc.records.sentences import CITED, citation_data
from supplycalc.sizing.design import Design, RunResult
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Flow, Pressure, Velocity

SAME_FLOW = 1e-9
"""[m3/s] Flows closer than this are one."""


class MethodWorst(Struct, frozen=True, kw_only=True):
    """The fixture connection with the least margin in a method's design."""

    name: str
    side: Side
    margin: Pressure


class MethodResult(Struct, frozen=True, kw_only=True):
    """What a method gives at the run."""

    form: ClassVar[Form] = Form(omit=("design", "run"), add=("ok", "largest_decides", "why"))
    more_schema: ClassVar[dict[str, Any]] = CITED

    method: str
    design: Design | None = None
    """The house sized by it; None where no trustworthy design can be computed."""
    run: RunResult | None = None
    """The run in this design."""
    reason: str | None = None
    """Why there is no design."""
    load: float | None = None
    """In the method's own units; None where it has none."""
    load_name: str | None = None
    """What the load counts."""
    design_flow: Flow | None = None
    """With continuous loads."""
    continuous: Flow = 0.0
    """Part of the design flow that may run for hours."""
    largest_fixture: Flow = 0.0
    """Of the largest single fixture below the run."""
    zero_chance: float | None = None
    """Chance that none of the fixtures below the run runs; None by methods that don't know it."""
    mean_flow: Flow | None = None
    """In the busy hour, without continuous loads; None by methods that don't know it."""
    rule: str | None = None
    """Which of the method's rules gave the flow."""
    groups_used: tuple[GroupUse, ...] = ()
    """Group values that count in the run: those of rooms that it feeds or that feed it."""
    size: str | None = None
    """Nominal."""
    material: str | None = None
    velocity: Velocity | None = None
    decided_by: str | None = None
    worst: MethodWorst | None = None

    @property
    def record(self) -> Method:
        """The method's own record."""
        return method_record(self.method)

    @property
    def ok(self) -> bool:
        """Whether the house sized by it passes."""
        return self.design is not None and self.design.ok

    @property
    def largest_decides(self) -> bool:
        """Whether the method's own figure is no more than one fixture alone draws."""
        flow = self.design_flow
        return flow is not None and flow - self.continuous <= self.largest_fixture + SAME_FLOW

    @property
    def why(self) -> str:
        """What the method counts and on what that rests."""
        return self.record.counts

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it, with the method's source."""
        return {**fields_to_data(self, system), **citation_data(self.record.source)}


def method_result(house: House, method: str, run_name: str | None) -> MethodResult:
    """Load, flow and size by one method at a run (None: the service line), or why there is none."""
    try:
        design = size(house, method)
    except ComputationError as error:
        return MethodResult(method=method, reason=str(error))
    run = (design.service or design.runs[0]) if run_name is None else design.run(run_name)
    demand, i, worst = design.demand, run.index, design.worst
    return MethodResult(
        method=method,
        design=design,
        run=run,
        load=demand.load[i] if demand.load_name else None,
        load_name=demand.load_name or None,
        design_flow=demand.design_flow[i],
        continuous=demand.continuous[i] if demand.continuous else 0.0,
        largest_fixture=demand.largest[i],
        zero_chance=demand.zero_chance[i] if demand.zero_chance else None,
        mean_flow=demand.mean_flow[i] if demand.mean_flow else None,
        rule=(demand.rule[i] or None) if demand.rule else None,
        groups_used=tuple(_groups_used(design, i)),
        size=run.nominal,
        material=run.material,
        velocity=run.velocity,
        decided_by=run.decided_by,
        worst=MethodWorst(name=worst.fixture_name, side=worst.side, margin=worst.margin),
    )


def _groups_used(design: Design, link: int) -> Iterator[GroupUse]:
    tree = design.tree
    below = tree.at_or_below(link)
    fed = {outlet.fixture.name for outlet in tree.outlets if outlet.link in below}
    for group in design.demand.groups_used:
        if fed & set(group.fixtures):
            yield group


def by_flow(results: Iterable[MethodResult]) -> list[MethodResult]:
    """The results that have a flow, the lowest first; the earlier one where flows are equal."""
    computed = [result for result in results if result.design_flow is not None]
    return sorted(computed, key=lambda result: round((result.design_flow or 0.0) / SAME_FLOW))


def lowest_and_highest(results: Iterable[MethodResult]) -> tuple[MethodResult, MethodResult]:
    """The methods that ask for least and for most; the earlier one where flows are equal."""
    computed = by_flow(results)
    most = (computed[-1].design_flow or 0.0) - SAME_FLOW
    highest = next(result for result in computed if (result.design_flow or 0.0) >= most)
    return computed[0], highest
