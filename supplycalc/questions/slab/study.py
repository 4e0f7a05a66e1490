"""What the pour or the backfill locks in: how much more each run can carry, and for what price."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import Fixture, House, Run
from supplycalc.questions.size.study import size as size_house
from supplycalc.questions.slab import surprises
from supplycalc.questions.slab.checklist import CheckItem, PressureTest, checklist, pressure_tests
from supplycalc.questions.slab.spare import Spare, spare_flow, spare_sets
from supplycalc.sizing.changes import map_runs
from supplycalc.sizing.design import Design, RunResult
from supplycalc.sizing.remedies import SWITCH_STEP
from supplycalc.sizing.size import SizedTree, size_tree_or_none

WEAKER = 0.8
"""Share of the old head that a weaker pump gives; our own."""


class Outcome(Struct, frozen=True, kw_only=True):
    """One surprise met by the house as it is chosen, really sized."""

    code: str
    title: str
    value: tuple[float, str] | None
    """(SI value, dimension) that the title's mark {0} shows."""
    margin: float
    """At the worst fixture with every size as chosen [Pa]."""
    worst_name: str
    source_pressure: float | None
    """While the then design flow runs [Pa gauge]; None where it cannot be computed."""
    absorbed: bool
    """With every size as chosen."""
    rest_mends: bool
    """With the locked runs as chosen and all pipe that can still be reached chosen anew."""
    rest_cost: float | None
    """What that pipe costs more; None where it does not mend."""
    wanted: tuple[tuple[str, str], ...]
    """(locked run, size it would be given) where the locked runs are too small, if known."""


class Larger(Struct, frozen=True, kw_only=True):
    """A locked run laid one size larger, all else as chosen."""

    nominal: str
    extra_cost: float
    """For this run alone, on the design's basis."""
    margin: float
    """At the worst fixture [Pa]."""
    spare_flow: float
    """[m3/s]"""
    absorbs: tuple[str, ...]
    """Codes of surprises that it absorbs and the chosen size does not, all else as chosen."""
    absorbs_with_rest: tuple[str, ...]
    """The same, all other pipe that can still be reached chosen anew."""


class LockedRun(Struct, frozen=True, kw_only=True):
    """A buried or embedded run."""

    result: RunResult
    own_branch: bool
    """Whether it ends at one fixture, so that nothing else can hang from it."""
    spare_flow: float
    """More flow at its end before the worst fixture falls short, every size as chosen [m3/s]."""
    rest_flow: float
    """The same with the locked runs as chosen and all other pipe chosen anew [m3/s]."""
    velocity_flow: float
    """More flow before the water runs faster than the limit; negative: it does already [m3/s]."""
    spares: tuple[Spare, ...]
    beside: str
    """The fixture beside which they were tried; empty for a branch."""
    larger: Larger | None
    without_planned: str | None
    """Size without the planned fixtures; None where the file plans none."""


class SlabStudy(Struct, frozen=True, kw_only=True):
    """What gets locked in, run by run, and what may come later."""

    design: Design
    runs: tuple[LockedRun, ...]
    outcomes: tuple[Outcome, ...]
    planned: tuple[str, ...]
    checklist: tuple[CheckItem, ...]
    """Before the pour or the backfill."""
    tests: tuple[PressureTest, ...]

    @property
    def ok(self) -> bool:
        """True when the design itself passes."""
        return self.design.ok

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc slab --json` prints it."""
        from supplycalc.questions.slab.page import slab_to_dict

        return slab_to_dict(self, units)


def is_locked(run: Run) -> bool:
    """Whether a run lies in the ground or in a slab, out of reach once covered."""
    return run.buried is not None or run.embedded


def slab(house: House, method: str | None = None) -> SlabStudy:
    """Tell what the pour or the backfill locks in, each answer by really sizing.

    Args:
        house: a checked house.
        method: demand method; None takes the project's.

    Returns:
        Every buried or embedded run with its spare capacity, the price of a size more, and what
        later surprises would do; no run where nothing is locked in.

    Raises:
        ComputationError: no trustworthy result can be computed.
    """
    if method is not None:
        house = replace(house, project=replace(house.project, demand=method))
    design = size_house(house)
    chosen = {one.run.name: one.size.nominal for one in design.runs}
    locked = [one for one in design.runs if is_locked(one.run)]
    study = SlabStudy(
        design=design,
        runs=(),
        outcomes=(),
        planned=tuple(one.name for one in house.fixtures if one.planned),
        checklist=checklist(
            buried=any(one.run.buried is not None for one in locked),
            embedded=any(one.run.embedded for one in locked),
            frost_depth=house.limits.frost_depth,
        ),
        tests=pressure_tests(design.source.static_pressure),
    )
    if not locked:
        return study
    fixed = _fixed(house, chosen, chosen)
    changes = tuple(_changes(design, locked[0]))
    outcomes = tuple(_outcome(design, fixed, locked, change) for change in changes)
    short = {
        change.code: change
        for change, outcome in zip(changes, outcomes, strict=True)
        if not outcome.absorbed
    }
    lean = _without_planned(house)
    reachable = _fixed(house, chosen, [one.run.name for one in locked])
    return replace(
        study,
        runs=tuple(_locked_run(design, fixed, reachable, one, short, lean) for one in locked),
        outcomes=outcomes,
    )


def _fixed(house: House, chosen: dict[str, str], names: Sequence[str] | dict[str, str]) -> House:
    """The house with the named runs fixed at the chosen sizes."""

    def each(run: Run) -> Run:
        return replace(run, size=chosen[run.name], sizes=()) if run.name in names else run

    return map_runs(house, each)


class _Change(Struct, frozen=True, kw_only=True):
    """Something that can happen to the house later."""

    code: str
    title: str
    value: tuple[float, str] | None
    apply: Callable[[House], House | None]


def _changes(design: Design, first: RunResult) -> Iterator[_Change]:
    """The surprises that can happen to this house."""
    house = design.house
    like = _neighbour(design, first.index) or design.worst.fixture
    yield _Change(
        code="bath-added",
        title=f"a full bath is added beside {like.name}",
        value=None,
        apply=lambda one: surprises.with_set(one, like, surprises.SETS["full bath"], 1),
    )
    service = next((one for one in design.runs if design.tree.parent[one.index] == 0), None)
    present = {device.kind for device in house.devices}
    later = [kind for kind in house.catalogue.devices.values() if kind.added_later]
    later.sort(key=lambda kind: kind.added_later)
    treatment = next((kind.name for kind in later if kind.name not in present), None)
    if service is not None and treatment is not None and service.run.fixture is None:
        word = treatment.replace("-", " ")
        yield _Change(
            code="treatment-added",
            title=f"{_article(word)} {word} is added after {service.run.name}",
            value=None,
            apply=lambda one: surprises.with_device_after(
                one, service.run, treatment, f"later {word}"
            ),
        )
    if surprises.with_weaker_pump(house, WEAKER) is not None:
        yield _Change(
            code="weaker-pump",
            title="the pump is replaced by one with {0} of its head",
            value=(WEAKER, "share"),
            apply=lambda one: surprises.with_weaker_pump(one, WEAKER),
        )
    step = SWITCH_STEP[house.project.units]
    if surprises.with_lower_pressure(house, step) is not None:
        what = "the pressure switch is set" if house.source.kind == "well" else "the main falls"
        yield _Change(
            code="lower-pressure",
            title=f"{what} {{0}} lower",
            value=(step, "pressure"),
            apply=lambda one: surprises.with_lower_pressure(one, step),
        )


def _article(word: str) -> str:
    return "an" if word[0] in "aeiou" else "a"


def _neighbour(design: Design, link: int) -> Fixture | None:
    """The worst fixture fed through a link, one with cold and hot first."""
    tree = design.tree
    below = [one for one in design.outlets if one.index in tree.at_or_below(link)]
    both = [one for one in below if one.fixture.cold is not None and one.fixture.hot is not None]
    return (both or below)[0].fixture if below else None


def _outcome(design: Design, fixed: House, locked: Sequence[RunResult], change: _Change) -> Outcome:
    chosen = {one.run.name: one.size.nominal for one in design.runs}
    names = [one.run.name for one in locked]
    as_chosen = size_tree_or_none(change.apply(fixed))
    absorbed = as_chosen is not None and as_chosen.feasible
    rest = size_tree_or_none(change.apply(_fixed(design.house, chosen, names)))
    mends = absorbed or (rest is not None and rest.feasible)
    wanted: tuple[tuple[str, str], ...] = ()
    if not mends:
        free = size_tree_or_none(change.apply(_opened(design.house, names)))
        if free is not None and free.feasible:
            sizes = {name: free.size_of(name) for name in names}
            wanted = tuple((n, s) for n, s in sizes.items() if s is not None and s != chosen[n])
    before = design.cost
    return Outcome(
        code=change.code,
        title=change.title,
        value=change.value,
        margin=-math.inf if as_chosen is None else as_chosen.worst_margin,
        worst_name="" if as_chosen is None else as_chosen.worst_name,
        source_pressure=None if as_chosen is None else as_chosen.situation.source.design_pressure,
        absorbed=absorbed,
        rest_mends=mends,
        rest_cost=rest.cost - before if rest is not None and rest.feasible else None,
        wanted=wanted,
    )


def _opened(house: House, names: Sequence[str]) -> House:
    """The house with the named runs free to take any size of their family."""

    def each(run: Run) -> Run:
        return replace(run, size=None, sizes=()) if run.name in names else run

    return map_runs(house, each)


def _locked_run(
    design: Design,
    fixed: House,
    reachable: House,
    result: RunResult,
    short: dict[str, _Change],
    lean: SizedTree | None,
) -> LockedRun:
    run, tree = result.run, design.tree
    own = run.fixture is not None
    beside = None if own else _neighbour(design, result.index)
    limit_flow = result.velocity_limit * flow_area(result.size.inside_diameter)
    return LockedRun(
        result=result,
        own_branch=own,
        spare_flow=spare_flow(design, fixed, result),
        rest_flow=spare_flow(design, reachable, result),
        velocity_flow=limit_flow - result.design_flow,
        spares=() if beside is None else spare_sets(design, fixed, reachable, result, beside),
        beside="" if beside is None else beside.name,
        larger=_larger(design, fixed, reachable, result, short),
        without_planned=None if lean is None else lean.size_of(tree.names[result.index]),
    )


def _larger(
    design: Design,
    fixed: House,
    reachable: House,
    result: RunResult,
    short: dict[str, _Change],
) -> Larger | None:
    sizes = [one for one in result.tube.sizes if one.common or one.nominal == result.size.nominal]
    place = [one.nominal for one in sizes].index(result.size.nominal)
    if place + 1 == len(sizes):
        return None
    nominal = sizes[place + 1].nominal

    def each(run: Run) -> Run:
        return replace(run, size=nominal) if run.name == result.run.name else run

    house = map_runs(fixed, each)
    sized = size_tree_or_none(house)
    if sized is None:
        return None
    open_rest = map_runs(reachable, each)

    def absorbed_by(one: House) -> Iterator[str]:
        for code, change in short.items():
            tried = size_tree_or_none(change.apply(one))
            if tried is not None and tried.feasible:
                yield code

    return Larger(
        nominal=nominal,
        extra_cost=sized.cost - design.cost,
        margin=sized.worst_margin,
        spare_flow=spare_flow(design, house, result),
        absorbs=tuple(absorbed_by(house)),
        absorbs_with_rest=tuple(absorbed_by(open_rest)),
    )


def _without_planned(house: House) -> SizedTree | None:
    """The house sized without what is only planned; None where nothing is, or nothing else."""
    here = tuple(one for one in house.fixtures if not one.planned)
    if not here or len(here) == len(house.fixtures):
        return None
    return size_tree_or_none(replace(house, fixtures=here))
