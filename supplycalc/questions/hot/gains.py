"""What would bring hot water sooner: thinner, shorter, insulated, kept hot; each one computed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.delivery.fixture_use import figure
from supplycalc.delivery.heat import run_loss_per_length
from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import House, Run
from supplycalc.problems import ComputationError
from supplycalc.questions.hot.heat import insulated, still_cold, warm_time
from supplycalc.questions.hot.pipe import cold_stretch, hot_limit
from supplycalc.questions.hot.study import DAYS, HotOutlet, daily_draws, hot_outlets
from supplycalc.questions.size.study import size
from supplycalc.sizing.changes import map_runs
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table
from supplycalc.units import DAY

YEAR = DAYS * DAY
"""[s]"""
MOST_THINNED = 12
"""Runs tried in a smaller size, those of the longest waits first; bounds the time. Our own."""


class Thinner(Struct, frozen=True, kw_only=True):
    """A run, its group and what it feeds, in the next smaller size.

    The other hot runs keep their sizes; cold runs that the file leaves open are chosen anew.
    """

    runs: tuple[str, ...]
    before: str
    after: str
    outlet: str
    """The one with the longest wait behind it."""
    wait_before: float
    """[s]"""
    wait_after: float
    """[s]"""
    saved: float
    """Water less drawn per draw there [m3]."""
    worst_name: str
    worst_margin: float
    """[Pa] at the worst fixture then"""
    too_fast: bool
    """Whether water would run above the run's velocity limit."""
    works: bool
    """Whether every fixture keeps its pressure and nothing fails that did not fail before."""
    failing: str = ""
    """Code of the first new failure."""


class Shorter(Struct, frozen=True, kw_only=True):
    """How much shorter an outlet's own run must be to keep a limit."""

    outlet: str
    run: str
    length: float
    """[m] now"""
    cut_for_wait: float | None
    """[m] less for the shortest class of waiting; 0: kept already; None: not by this run alone."""
    cut_for_volume: float | None
    """[m] less for the published volume; likewise."""
    per_length: float
    """Wait that each metre less saves [s/m]."""


class Insulated(Struct, frozen=True, kw_only=True):
    """A bare hot run with foam around it."""

    run: str
    length: float
    bare_time: float
    """How long it stays warm enough to use [s]."""
    foam_time: float
    saved_volume: float
    """Run off less in a year [m3]."""
    saved_energy: float
    """[J] in a year"""


class KeptHot(Struct, frozen=True, kw_only=True):
    """A shared hot run that is kept hot to its end, with all pipe before it."""

    run: str
    outlet: str
    """The one with the longest wait behind it."""
    wait_before: float
    wait_after: float
    outlets: int
    """Outlets behind it."""
    power: float
    """Heat lost all day by the supply pipe if insulated, without its return [W]."""
    yearly_energy: float
    """[J]"""


class Gains(Struct, frozen=True, kw_only=True):
    """What was tried, the greatest gain first."""

    thinner: tuple[Thinner, ...]
    shorter: tuple[Shorter, ...]
    insulated: tuple[Insulated, ...]
    kept_hot: tuple[KeptHot, ...]


def gains(
    design: Design,
    outlets: Sequence[HotOutlet],
    *,
    factor: float | None = None,
    draws: Mapping[str, float] | None = None,
) -> Gains:
    """Try what would bring hot water sooner.

    Args:
        design: the sized house.
        outlets: of `hot_outlets` for this design.
        factor: water drawn over the volume in the pipe; None takes the usual one.
        draws: fixture -> draws of hot water a day [1/d].

    Returns:
        Every change with what it gains.
    """
    slow = [one for one in outlets if needs_help(one)]
    thinner = _thinner(design, outlets, slow, factor, draws)
    shorter = (_shorter(one) for one in slow if one.runs and one.flow > 0.0)
    bare = _insulated(design, outlets, daily_draws(design, draws))
    kept = _kept_hot(design, outlets)
    return Gains(
        thinner=tuple(sorted(thinner, key=lambda one: (not one.works, -_gain(one)))),
        shorter=tuple(shorter),
        insulated=tuple(sorted(bare, key=lambda one: -one.saved_energy)),
        kept_hot=tuple(sorted(kept, key=lambda one: one.wait_after - one.wait_before)),
    )


def _gain(one: Thinner | KeptHot) -> float:
    return one.wait_before - one.wait_after


def needs_help(one: HotOutlet) -> bool:
    """Whether an outlet waits longer, or holds more, than the best published class.

    Args:
        one: the outlet.

    Returns:
        True or False.

    Source: classes of ASPE and the volume of EPA WaterSense, in hot_water.toml.
    """
    return one.wait_class != "good" or one.volume > hot_limit("stored").value


def _thinner(
    design: Design,
    outlets: Sequence[HotOutlet],
    slow: Sequence[HotOutlet],
    factor: float | None,
    draws: Mapping[str, float] | None,
) -> Iterator[Thinner]:
    failing = {one.code for one in design.findings if one.level == "fail"}
    tried: set[tuple[str, ...]] = set()
    for result in (run for one in slow for run in one.runs):
        less = _next_smaller(result)
        if less is None:
            continue
        group = _group(design, result, less)
        if group in tried or len(tried) >= MOST_THINNED:
            continue
        tried.add(group)
        before = next(one for one in outlets if any(run.run.name in group for run in one.runs))
        try:
            other = size(_with_size(design, group, less), design.demand.method, mend=False)
            (now,) = hot_outlets(other, factor=factor, draws=draws, only=before.name)
        except ComputationError:
            continue
        new = [
            one.code for one in other.findings if one.level == "fail" and one.code not in failing
        ]
        changed = [one for one in other.runs if one.run.name in group]
        yield Thinner(
            runs=group,
            before=result.size.nominal,
            after=less,
            outlet=now.name,
            wait_before=before.wait,
            wait_after=now.wait,
            saved=before.drawn - now.drawn,
            worst_name=other.worst.name,
            worst_margin=other.worst.margin,
            too_fast=any(one.velocity > one.velocity_limit * (1.0 + 1e-9) for one in changed),
            works=other.shortfall <= 0.0 and not new,
            failing=new[0] if new else "",
        )


def _group(design: Design, one: RunResult, less: str) -> tuple[str, ...]:
    """The run, its group, and the runs behind them that would be larger than what feeds them."""
    narrower = one.tube.size(less).inside_diameter
    group = [
        other
        for other in design.runs
        if other is one or (one.run.group is not None and other.run.group == one.run.group)
    ]
    names = {other.run.name for other in group}
    for other in design.runs:
        same = other.run.material == one.run.material and other.side == "hot"
        fed = any(two.index in design.tree.path(other.index) for two in group)
        if same and fed and other.size.inside_diameter > narrower:
            names.add(other.run.name)
    return tuple(other.run.name for other in design.runs if other.run.name in names)


def _next_smaller(one: RunResult) -> str | None:
    """The next smaller size that counters keep."""
    below = [
        other
        for other in one.tube.sizes
        if other.common and other.inside_diameter < one.size.inside_diameter
    ]
    return below[-1].nominal if below else None


def _with_size(design: Design, names: tuple[str, ...], nominal: str) -> House:
    hot = {one.run.name: one.size.nominal for one in design.runs if one.side == "hot"}

    def each(run: Run) -> Run:
        chosen = nominal if run.name in names else hot.get(run.name)
        return run if chosen is None else replace(run, size=chosen, sizes=(), minimum=None)

    return map_runs(design.house, each)


def _shorter(one: HotOutlet) -> Shorter:
    own = one.runs[-1]
    area = flow_area(own.size.inside_diameter)
    best = float(load_table("hot_water")["wait_class"]["rows"][0][1])
    allowed = best * one.flow / one.factor
    most = hot_limit("volume-circulated" if one.from_circulation else "stored").value
    return Shorter(
        outlet=one.name,
        run=own.run.name,
        length=own.run.length,
        cut_for_wait=_cut(one.volume - allowed, area, own.run.length),
        cut_for_volume=_cut(one.volume - most, area, own.run.length),
        per_length=one.factor * area / one.flow,
    )


def _cut(volume: float, area: float, length: float) -> float | None:
    cut = max(volume, 0.0) / area
    return cut if cut < length else None


def _insulated(
    design: Design, outlets: Sequence[HotOutlet], daily: Mapping[int, float]
) -> Iterator[Insulated]:
    hot = design.house.water.hot
    for one in design.runs:
        behind = [other for other in outlets if one.index in (run.index for run in other.runs)]
        if one.side != "hot" or one.run.insulated or not behind:
            continue
        foam, held = insulated(one), flow_area(one.size.inside_diameter) * one.run.length
        water = energy = 0.0
        for other in behind:
            likely = daily[one.index]
            share = still_cold(one, hot, other.wanted, likely)
            share -= still_cold(foam, hot, other.wanted, likely)
            less = other.factor * held * share * other.draws * DAYS
            water += less if other.runs_off else 0.0
            energy += less / other.drawn * other.energy if other.drawn > 0.0 else 0.0
        wanted = min(other.wanted for other in behind)
        yield Insulated(
            run=one.run.name,
            length=one.run.length,
            bare_time=warm_time(one, hot, wanted),
            foam_time=warm_time(foam, hot, wanted),
            saved_volume=water,
            saved_energy=energy,
        )


def _kept_hot(design: Design, outlets: Sequence[HotOutlet]) -> Iterator[KeptHot]:
    tree = design.tree
    over_air = design.house.water.hot - figure("heat", "surroundings")[0]
    results = design.run_at
    for one in design.runs:
        if one.side != "hot" or one.run.fixture is not None or one.run.circulated:
            continue
        before = [i for i in tree.path(one.index) if tree.side[i] == "hot" and i in results]
        changed = _kept(design, {results[i].run.name for i in before})
        after = {two.outlet.link: two for two in _waits_only(changed, outlets)}
        behind = [two for two in outlets if one.index in tree.path(two.outlet.link)]
        if not behind:
            continue
        slowest = max(behind, key=lambda two: two.wait)
        power = math.fsum(
            run_loss_per_length(insulated(results[i])) * results[i].run.length * over_air
            for i in before
        )
        yield KeptHot(
            run=one.run.name,
            outlet=slowest.name,
            wait_before=slowest.wait,
            wait_after=after[slowest.outlet.link].wait,
            outlets=len(behind),
            power=power,
            yearly_energy=power * YEAR,
        )


def _kept(design: Design, names: set[str]) -> Design:
    """The same design with some runs kept hot; pressures and flows stay as they are."""

    def each(run: Run) -> Run:
        return replace(run, circulated=True) if run.name in names else run

    return replace(
        design,
        runs=tuple(replace(one, run=each(one.run)) for one in design.runs),
    )


def _waits_only(design: Design, outlets: Sequence[HotOutlet]) -> Iterator[HotOutlet]:
    """The outlets with the stretch that stands cold in a changed design."""
    for one in outlets:
        runs, volume, kept = cold_stretch(design, one.outlet.link)
        yield replace(one, runs=runs, volume=volume, from_circulation=kept)
