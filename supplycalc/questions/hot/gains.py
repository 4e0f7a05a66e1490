"""What would bring hot water sooner: thinner, shorter, insulated, kept hot; each one computed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.delivery.fixture_use import figure
from supplycalc.delivery.heat import run_loss_per_length
from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.problems import ComputationError
from supplycalc.questions.hot.cold_pipe import code_volume, cold_stretch, pipe_volume
from supplycalc.questions.hot.cooling import insulated, still_cold, warm_time
from supplycalc.questions.hot.limits import SLACK, best_wait, hot_limit
from supplycalc.questions.hot.outlets import DAYS, HotOutlet, daily_draws, hot_outlets
from supplycalc.questions.size.study import size
from supplycalc.records import Form
from supplycalc.sizing.design import Design, RunResult
from supplycalc.units import DAY
from supplycalc.units.quantities import Energy, HeatFlow, Length, PipeVolume, Pressure, Time, Volume

MOST_THINNED = 12
"""Runs tried in a smaller size, those of the longest waits first; bounds the time."""


class Thinner(Struct, frozen=True, kw_only=True):
    """A run, its group and what it feeds, in the next smaller size.

    The other hot runs keep their sizes; cold runs that the file leaves open are chosen anew.
    """

    form: ClassVar[Form] = Form(
        omit=("failing",),
        rename={
            "before": "from",
            "after": "to",
            "wait_before": "wait",
            "wait_after": "wait_then",
            "worst_name": "worst",
        },
    )

    runs: tuple[str, ...]
    before: str
    after: str
    outlet: str
    """The one with the longest wait behind it."""
    wait_before: Time
    wait_after: Time
    saved_per_draw: PipeVolume
    """Water less drawn there."""
    worst_name: str
    worst_margin: Pressure
    """At the worst fixture then."""
    too_fast: bool
    """Whether water would run above the run's velocity limit."""
    works: bool
    """Whether every fixture keeps its pressure and nothing fails that did not fail before."""
    failing: str = ""
    """Code of the first new failure."""


class Shorter(Struct, frozen=True, kw_only=True):
    """How much shorter an outlet's own run must be to keep a limit."""

    form: ClassVar[Form] = Form(omit=("wait_per_length",), add=("saved_by_a_tenth",))

    outlet: str
    run: str
    length: Length
    """Now."""
    less_for_wait: Length | None
    """For the shortest class of waiting; 0: kept already; None: not by this run alone."""
    less_for_volume: Length | None
    """For the published volume; likewise."""
    wait_per_length: float
    """Wait that each metre less saves [s/m]."""

    @property
    def saved_by_a_tenth(self) -> Time:
        """Wait that a tenth less of the run saves."""
        return 0.1 * self.length * self.wait_per_length


class Insulated(Struct, frozen=True, kw_only=True):
    """A bare hot run with foam around it."""

    run: str
    length: Length
    warm_bare: Time
    """How long it stays warm enough to use."""
    warm_foam: Time
    saved_volume: Volume
    """Run off less in a year."""
    saved_energy: Energy
    """In a year."""


class KeptHot(Struct, frozen=True, kw_only=True):
    """A shared hot run that is kept hot to its end, with all pipe before it."""

    form: ClassVar[Form] = Form(rename={"wait_before": "wait", "wait_after": "wait_then"})

    run: str
    outlet: str
    """The one with the longest wait behind it."""
    wait_before: Time
    wait_after: Time
    outlets: int
    """How many stand behind it."""
    heat: HeatFlow
    """Lost all day by the supply pipe if insulated, without its return."""
    yearly_energy: Energy


def _most_stored(outlet: HotOutlet) -> float:
    """The volume that a house should not hold before an outlet [m3]."""
    if not outlet.american:
        return hot_limit("three-litres").value
    return hot_limit("volume-circulated" if outlet.from_circulation else "stored").value


def needs_help(outlet: HotOutlet) -> bool:
    """Whether an outlet waits longer, or holds more, than the best published class.

    Source: classes of waiting and volume of the codes that hold, in hot_water.toml.
    """
    return outlet.wait_class != "good" or outlet.counted_volume > _most_stored(outlet)


def thinner_runs(
    design: Design,
    outlets: Sequence[HotOutlet],
    *,
    factor: float | None = None,
    draws: Mapping[str, float] | None = None,
) -> tuple[Thinner, ...]:
    """Each run before a slow outlet one size smaller, the house sized anew: what works first."""
    failing = {finding.code for finding in design.findings if finding.level == "fail"}
    tried: set[tuple[str, ...]] = set()
    changes = []
    for run in (run for outlet in outlets if needs_help(outlet) for run in outlet.runs):
        smaller = _next_smaller(run)
        if smaller is None:
            continue
        group = _group(design, run, smaller)
        if group in tried or len(tried) >= MOST_THINNED:
            continue
        tried.add(group)
        before = next(
            outlet for outlet in outlets if any(cold.name in group for cold in outlet.runs)
        )
        try:
            changed = size(_with_size(design, group, smaller), design.demand.method, mend=False)
            (after,) = hot_outlets(changed, factor=factor, draws=draws, only=before.name)
        except ComputationError:
            continue
        new = [
            finding.code
            for finding in changed.findings
            if finding.level == "fail" and finding.code not in failing
        ]
        change = Thinner(
            runs=group,
            before=run.nominal,
            after=smaller,
            outlet=after.name,
            wait_before=before.wait,
            wait_after=after.wait,
            saved_per_draw=before.drawn - after.drawn,
            worst_name=changed.worst.name,
            worst_margin=changed.worst.margin,
            too_fast=any(
                thin.velocity > thin.velocity_limit * (1.0 + SLACK)
                for thin in changed.runs
                if thin.name in group
            ),
            works=changed.shortfall <= 0.0 and not new,
            failing=new[0] if new else "",
        )
        changes.append(change)
    changes.sort(key=lambda change: (not change.works, change.wait_after - change.wait_before))
    return tuple(changes)


def _group(design: Design, run: RunResult, smaller: str) -> tuple[str, ...]:
    """The run, its group, and the runs behind them that would be larger than what feeds them."""
    narrower = run.tube.size(smaller).inside_diameter
    group = [
        other
        for other in design.runs
        if other is run or (run.run.group is not None and other.run.group == run.run.group)
    ]
    names = {member.name for member in group}
    for other in design.runs:
        same = other.material == run.material and other.side == "hot"
        fed = any(member.index in design.tree.path(other.index) for member in group)
        if same and fed and other.inside_diameter > narrower:
            names.add(other.name)
    return tuple(other.name for other in design.runs if other.name in names)


def _next_smaller(run: RunResult) -> str | None:
    """The next smaller size that counters keep."""
    below = [
        smaller
        for smaller in run.tube.sizes
        if smaller.common and smaller.inside_diameter < run.inside_diameter
    ]
    return below[-1].nominal if below else None


def _with_size(design: Design, names: tuple[str, ...], nominal: str) -> House:
    hot = {run.name: run.nominal for run in design.runs if run.side == "hot"}

    def sized(run: Run) -> Run:
        chosen = nominal if run.name in names else hot.get(run.name)
        return run if chosen is None else replace(run, size=chosen, sizes=(), minimum=None)

    return map_runs(design.house, sized)


def shorter_runs(outlets: Sequence[HotOutlet]) -> tuple[Shorter, ...]:
    """How much shorter the own run of each slow outlet must be."""
    slow = (outlet for outlet in outlets if needs_help(outlet) and outlet.runs)
    return tuple(_shorter(outlet) for outlet in slow if outlet.hot_flow > 0.0)


def _shorter(outlet: HotOutlet) -> Shorter:
    last = outlet.runs[-1]
    area = flow_area(last.inside_diameter)
    counted = code_volume(last) / last.length if outlet.american else area

    def less(surplus: float, per_length: float) -> float | None:
        """Length to take away for a volume too much [m3]; None: more than there is."""
        length = max(surplus, 0.0) / per_length
        return length if length < last.length else None

    return Shorter(
        outlet=outlet.name,
        run=last.name,
        length=last.length,
        less_for_wait=less(outlet.volume - best_wait() * outlet.hot_flow / outlet.factor, area),
        less_for_volume=less(outlet.counted_volume - _most_stored(outlet), counted),
        wait_per_length=outlet.factor * area / outlet.hot_flow,
    )


def insulated_runs(
    design: Design, outlets: Sequence[HotOutlet], *, draws: Mapping[str, float] | None = None
) -> tuple[Insulated, ...]:
    """What foam around each bare hot run would save, the greatest saving of heat first."""
    hot, daily = design.house.water.hot, daily_draws(design, draws)
    changes = []
    for run in design.runs:
        behind = [outlet for outlet in outlets if run.index in (cold.index for cold in outlet.runs)]
        if run.side != "hot" or run.run.insulated or not behind:
            continue
        foam, held, likely = insulated(run), pipe_volume(run), daily[run.index]
        water = energy = 0.0
        for outlet in behind:
            share = still_cold(run, hot, outlet.wanted, likely)
            share -= still_cold(foam, hot, outlet.wanted, likely)
            less = outlet.factor * held * share * outlet.draws_per_day * DAYS
            water += less if outlet.runs_off else 0.0
            energy += less / outlet.drawn * outlet.energy_per_draw if outlet.drawn > 0.0 else 0.0
        wanted = min(outlet.wanted for outlet in behind)
        change = Insulated(
            run=run.name,
            length=run.length,
            warm_bare=warm_time(run, hot, wanted),
            warm_foam=warm_time(foam, hot, wanted),
            saved_volume=water,
            saved_energy=energy,
        )
        changes.append(change)
    return tuple(sorted(changes, key=lambda change: -change.saved_energy))


def kept_hot_runs(design: Design, outlets: Sequence[HotOutlet]) -> tuple[KeptHot, ...]:
    """What keeping each shared run hot to its end gains, the most first, and the heat it costs."""
    tree = design.tree
    over_air = design.house.water.hot - figure("heat", "surroundings")[0]
    results = design.run_at
    changes = []
    for run in design.runs:
        if run.side != "hot" or run.run.fixture is not None or run.run.circulated:
            continue
        behind = [outlet for outlet in outlets if run.index in tree.path(outlet.outlet.link)]
        if not behind:
            continue
        before = [
            results[i] for i in tree.path(run.index) if tree.side[i] == "hot" and i in results
        ]
        slowest = behind[0]
        # pressures and flows stay as they are
        kept_hot = _kept(design, {kept.name for kept in before})
        runs, volume, _ = cold_stretch(kept_hot, slowest.outlet.link)
        heat = math.fsum(
            run_loss_per_length(insulated(kept)) * kept.length * over_air for kept in before
        )
        change = KeptHot(
            run=run.name,
            outlet=slowest.name,
            wait_before=slowest.wait,
            wait_after=replace(slowest, runs=runs, volume=volume).wait,
            outlets=len(behind),
            heat=heat,
            yearly_energy=heat * DAYS * DAY,
        )
        changes.append(change)
    return tuple(sorted(changes, key=lambda change: change.wait_after - change.wait_before))


def _kept(design: Design, names: set[str]) -> Design:
    """The same design with some runs kept hot."""

    def kept(run: RunResult) -> RunResult:
        return replace(run, run=replace(run.run, circulated=True)) if run.name in names else run

    return replace(design, runs=tuple(kept(run) for run in design.runs))
