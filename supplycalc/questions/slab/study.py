"""What the pour or the backfill locks in: how much more each run can carry, and for what price."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import is_inch_size
from supplycalc.demand import book_of
from supplycalc.findings.words import listed, nominal_of, size_of
from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import House, Run, Side
from supplycalc.questions.size.study import size
from supplycalc.questions.slab.checklist import CheckItem, PressureTest, checklist, pressure_tests
from supplycalc.questions.slab.spare import Spare, spare_flow, spare_sets
from supplycalc.questions.slab.surprises import (
    AsPoured,
    Surprise,
    added_runs,
    changes,
    meet,
    neighbour,
)
from supplycalc.records import Form
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.design import Design, DesignAnswer, RunResult
from supplycalc.sizing.pressure_range import pipe_pressures, pressure_to_test
from supplycalc.sizing.size import SizedTree, size_tree_or_none
from supplycalc.supply.well_line import every_trench_run
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import Flow, Mass, Pressure

NO_RUN = (
    "no run of this file is buried or embedded. Write buried or embedded on the runs that will be "
    "covered."
)
MOST_NAMED = 3
"""More locked runs than this are counted in the answer, not named."""


class Larger(Struct, frozen=True, kw_only=True):
    """A locked run laid one size larger, all else as chosen."""

    size: str
    extra_cost: Mass
    """For this run alone: what costs is compared by."""
    margin: Pressure
    """At the worst fixture."""
    spare_flow: Flow
    absorbs: tuple[str, ...]
    """Codes of surprises that it absorbs and the chosen size does not, all else as chosen."""
    absorbs_if_rest_grows: tuple[str, ...]
    """The same, for both sizes all other pipe that can still be reached chosen anew."""

    @property
    def bears(self) -> tuple[str, ...]:
        """Codes of all that it absorbs and the chosen size does not, in either way."""
        return tuple(dict.fromkeys((*self.absorbs, *self.absorbs_if_rest_grows)))


class LockedRun(Struct, frozen=True, kw_only=True):
    """A buried or embedded run."""

    form: ClassVar[Form] = Form(
        omit=("result",),
        rename={"result.nominal": "size"},
        add=(
            "result.name",
            "result.material",
            "result.nominal",
            "result.run.buried",
            "result.run.embedded",
            "result.design_flow",
            "result.velocity",
        ),
    )

    result: RunResult
    spare_flow: Flow | None
    """More flow at its end before the worst fixture falls short, every size as chosen; None before
    the tank, where the pump decides what flows."""
    spare_flow_if_rest_grows: Flow | None
    """The same with the locked runs as chosen and all other pipe chosen anew."""
    spare_flow_to_velocity_limit: Flow
    """More flow before the water runs faster than the limit; negative: it does already."""
    beside: str | None
    """The fixture beside which others were tried; None where none were."""
    can_add: tuple[Spare, ...]
    """Empty for a branch to one fixture, and where what is added would not count."""
    larger: Larger | None
    """None where no larger size is made."""
    without_planned: str | None
    """Size without the planned fixtures; None where the file plans none."""

    @property
    def is_branch(self) -> bool:
        """Whether it ends at one fixture, so that nothing else can hang from it."""
        return self.result.run.fixture is not None


class WorstFixture(Struct, frozen=True, kw_only=True):
    """The fixture connection with the least margin, everything as chosen."""

    name: str
    side: Side
    margin: Pressure


class SlabStudy(DesignAnswer, frozen=True, kw_only=True):
    """What gets locked in, run by run, and what may come later."""

    schema: ClassVar[str] = "supplycalc-slab/1"
    form: ClassVar[Form] = Form(omit=("design",), add=("answer", "worst"))

    planned: tuple[str, ...]
    """Fixtures that are only planned and count already."""
    checklist: tuple[CheckItem, ...]
    """Before the pour or the backfill."""
    tests: tuple[PressureTest, ...]
    highest_pressure: Pressure
    """In ordinary use in what gets covered, from which the tests follow."""
    highest_in: str | None
    """The pipe at whose lowest end it stands; None where nothing gets covered."""
    runs: tuple[LockedRun, ...] = ()
    surprises: tuple[Surprise, ...] = ()

    @property
    def worst(self) -> WorstFixture:
        """The fixture connection with the least margin."""
        outlet = self.design.worst
        return WorstFixture(name=outlet.fixture.name, side=outlet.side, margin=outlet.margin)

    def answer(self, system: UnitSystem) -> str:
        """What to lay now, in a sentence or two."""
        if not self.runs:
            pipe = self.pipe_from_the_well(system)
            return f"{pipe} Else {NO_RUN}" if pipe else f"Nothing gets locked in: {NO_RUN}"
        if not self.ok:
            return f"Do not pour yet. {self.design.verdict(system)}"
        named = self.runs[:MOST_NAMED]
        text = "Locked in: " + ", ".join(
            f"{run.result.name} at {size_of(run.result)}" for run in named
        )
        if len(self.runs) > len(named):
            text += f" and {len(self.runs) - len(named)} more"
        rough = len(self.design.house.ranges)
        if rough:
            known = "1 figure of the file is" if rough == 1 else f"{rough} figures of the file are"
            text = (
                f"Measure before you pour: {known} known within a range alone, and the middle is "
                f"taken here; 'supplycalc risk' tells which matter. {text}"
            )
        return f"{text}{_would_bear(self, system)}"

    def pipe_from_the_well(self, system: UnitSystem) -> str:
        """Pipe from the well of which no cover is given lies in a trench all the same; empty where
        there is none."""
        pipes = [pipe for pipe in every_trench_run(self.house) if not is_locked(pipe)]
        if not pipes:
            return ""
        lengths: dict[str | None, float] = {}
        for pipe in pipes:
            lengths[pipe.size] = lengths.get(pipe.size, 0.0) + pipe.length
        several = bool(self.house.joined_wells)
        told = listed(
            f"{show(length, 'length', system)} of "
            + (
                f"{size}{' inch' if is_inch_size(size) else ''}"
                if size
                else "a size not yet chosen"
            )
            for size, length in lengths.items()
        )
        return (
            f"The pipe from the well{'s' if several else ''}, {told}, gets locked in when its "
            f"trench is filled: 'supplycalc {'compare' if several else 'well'}' shows what other "
            "sizes would do."
        )


def more_pipe(extra: float, system: UnitSystem) -> str:
    """What a choice costs more [kg], in words."""
    return f"{show(extra, 'mass', system)} more pipe"


def _would_bear(study: SlabStudy, system: UnitSystem) -> str:
    """The first run that would bear more in a larger size, as the end of the answer."""
    for run in study.runs:
        larger = run.larger
        if larger is not None and larger.bears:
            titles = {surprise.code: surprise.title(system) for surprise in study.surprises}
            bears = "; or that ".join(titles[code] for code in larger.bears)
            extra = more_pipe(larger.extra_cost, system)
            size = nominal_of(run.result.tube.size(larger.size), run.result.tube)
            name = run.result.name
            return f". One size larger, {name} at {size} ({extra}), would also bear that {bears}."
    if all(surprise.absorbed_if_rest_grows for surprise in study.surprises):
        return ". What may come later finds room in that, as far as it was tried."
    if all(run.larger is None for run in study.runs):
        return ". Not all that may come later finds room in that, and no larger size is made of it."
    return ". One size larger would bear no more of what may come later, as far as it was tried."


def slab(house: House, method: str | None = None) -> SlabStudy:
    """Tell what the pour or the backfill locks in, each answer by really sizing.

    Raises:
        ComputationError: no trustworthy result can be computed.
    """
    design = size(house, method)
    house = design.house
    locked = [run for run in design.every_run if is_locked(run.run)]
    highest, highest_in = _highest_covered(design)
    book, tubes = book_of(house), {run.material for run in locked or design.every_run}
    study = SlabStudy(
        design=design,
        planned=tuple(fixture.name for fixture in house.fixtures if fixture.planned),
        checklist=checklist(
            tubes,
            buried=any(run.run.buried is not None for run in locked),
            embedded=any(run.run.embedded for run in locked),
            frost_depth=house.limits.frost_depth,
            book=book,
        ),
        tests=pressure_tests(highest, tubes, book=book),
        highest_pressure=highest,
        highest_in=highest_in,
    )
    if not locked:
        return study
    poured = AsPoured(
        design=design,
        fixed=with_sizes(house, design.sizes),
        reachable=with_sizes(house, {run.name: run.nominal for run in locked}),
    )
    behind = [run for run in locked if not run.before_tank]
    later = tuple(changes(design, behind[0].index if behind else 0))
    surprises = tuple(meet(change, poured, behind) for change in later)
    short = [
        surprise for surprise in surprises if not surprise.absorbed and not surprise.beyond_the_pump
    ]
    lean = _without_planned(house)
    runs = tuple(_locked_run(poured, run, short, lean) for run in locked)
    return replace(
        study,
        runs=runs,
        surprises=tuple(_with_larger(surprise, runs) for surprise in surprises),
    )


def _with_larger(surprise: Surprise, runs: Sequence[LockedRun]) -> Surprise:
    """A surprise that the usual sizes do not bear, with the one larger locked run that does."""
    if surprise.absorbed_if_rest_grows or surprise.wanted:
        return surprise
    for run in runs:
        if run.larger is not None and surprise.code in run.larger.absorbs_if_rest_grows:
            return replace(surprise, wanted={run.result.name: run.larger.size})
    return surprise


def _highest_covered(design: Design) -> tuple[float, str | None]:
    """The highest pressure to test what gets covered by [Pa gauge], and in which pipe."""
    locked = {result.name for result in design.every_run if is_locked(result.run)}
    covered = []
    for pipe in pipe_pressures(design):
        if pipe.name in locked or (pipe.index is None and pipe.low_level is None):
            covered.append((pressure_to_test(design, pipe), pipe.name))
    highest = max(covered, default=(0.0, ""))
    return highest if highest[0] > 0.0 else (design.source.static_pressure, None)


def is_locked(run: Run) -> bool:
    """Whether a run lies in the ground or in a slab, out of reach once covered."""
    return run.buried is not None or run.embedded


def _locked_run(
    poured: AsPoured, run: RunResult, short: Sequence[Surprise], lean: SizedTree | None
) -> LockedRun:
    design = poured.design
    limit_flow = run.velocity_limit * flow_area(run.inside_diameter)
    if run.before_tank:
        return LockedRun(
            result=run,
            spare_flow=None,
            spare_flow_if_rest_grows=None,
            spare_flow_to_velocity_limit=limit_flow - run.design_flow,
            beside=None,
            can_add=(),
            larger=None,
            without_planned=None,
        )
    told = run.run.fixture is None and added_runs(design.house)
    beside = neighbour(design, run.index) if told else None
    return LockedRun(
        result=run,
        spare_flow=spare_flow(design, poured.fixed, run),
        spare_flow_if_rest_grows=spare_flow(design, poured.reachable, run),
        spare_flow_to_velocity_limit=limit_flow - run.design_flow,
        beside=None if beside is None else beside.name,
        can_add=() if beside is None else tuple(spare_sets(poured, run, beside)),
        larger=_larger(poured, run, short),
        without_planned=None if lean is None else lean.size_of(run.name),
    )


def _larger(poured: AsPoured, run: RunResult, short: Sequence[Surprise]) -> Larger | None:
    sizes = [size.nominal for size in run.tube.sizes if size.common or size.nominal == run.nominal]
    place = sizes.index(run.nominal) + 1
    if place == len(sizes):
        return None
    larger = {run.name: sizes[place]}
    house = with_sizes(poured.fixed, larger)
    sized = size_tree_or_none(house)
    if sized is None:
        return None

    def absorbed_by(house: House, surprises: Sequence[Surprise]) -> Iterator[str]:
        for surprise in surprises:
            tried = size_tree_or_none(surprise.change.apply(house))
            if tried is not None and tried.feasible:
                yield surprise.code

    beyond = [surprise for surprise in short if not surprise.absorbed_if_rest_grows]

    return Larger(
        size=sizes[place],
        extra_cost=sized.cost - poured.design.cost,
        margin=sized.worst_margin,
        spare_flow=spare_flow(poured.design, house, run),
        absorbs=tuple(absorbed_by(house, short)),
        absorbs_if_rest_grows=tuple(absorbed_by(with_sizes(poured.reachable, larger), beyond)),
    )


def _without_planned(house: House) -> SizedTree | None:
    """The house sized without what is only planned; None where nothing is, or nothing else."""
    present = tuple(fixture for fixture in house.fixtures if not fixture.planned)
    if not present or len(present) == len(house.fixtures):
        return None
    return size_tree_or_none(replace(house, fixtures=present))
