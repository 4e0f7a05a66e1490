"""Changes that bring water over a height that no choice of sizes gets it over: more pressure before
it, or a lower way; and the flow up to which the line stays full as it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence

from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.problems import ComputationError, InputError
from supplycalc.sizing.design import CREST, Design, Remedy, RunResult
from supplycalc.sizing.pressure_range import BEFORE_TANK, Crest, crests
from supplycalc.sizing.source_changes import failing, raised_at_source, remedy_of
from supplycalc.sizing.trials import Trial
from supplycalc.supply.well_line import link_loss_with_slope
from supplycalc.units import FOOT, PSI, UnitSystem
from supplycalc.units.quantities import Flow

STEP: dict[UnitSystem, tuple[float, float]] = {"us": (FOOT, PSI), "metric": (0.5, 10e3)}
"""[m], [Pa] in which a lower way and a booster are told."""
MOST_RISE = 150 * PSI
"""No booster is sought beyond it."""


def over_crest(
    design: Design, switches: Iterable[Trial], size: Callable[[House], Design]
) -> Iterator[Remedy]:
    """The least lower way, and the least higher switch or booster, that bring water over the worst
    height, sizes chosen anew."""
    tops = crests(design)
    if CREST not in failing(design) or not tops:
        return
    top = max(tops, key=lambda it: it.below_flowing)
    length, pressure = STEP[design.house.project.units]
    weight = specific_weight(design.house.water.cold)
    least = max(math.ceil(top.below_at_rest / pressure), 1)
    boosters = [
        _boosted(design, step * pressure) for step in range(least, int(MOST_RISE / pressure))
    ]
    fed = [outlet.elevation for outlet in design.outlets]
    deepest = int((top.height - min(fed)) / length)
    least = max(math.ceil(top.below_at_rest / weight / length), 1)
    lower = [_lower(design, top, step * length) for step in range(least, deepest + 1)]
    way = _first(lower, design, size)
    if way is not None:
        yield remedy_of(*way)
    of_source = list(switches) if design.house.source.kind == "well" else boosters
    raised = _first(of_source, design, size)
    if raised is not None:  # its sizes say nothing of the pressure that is there now
        yield replace(remedy_of(*raised), sizes=())


def _first(
    trials: Sequence[Trial], design: Design, size: Callable[[House], Design]
) -> tuple[Design, Trial] | None:
    """The first of trials, each of which goes further than the one before, that gets over."""
    low, high, best = 0, len(trials), None
    while low < high:
        middle = (low + high) // 2
        try:
            changed = size(trials[middle].house)
        except (ComputationError, InputError):
            return None
        if CREST in failing(changed) or changed.shortfall > 0.0:
            low = middle + 1
        else:
            high, best = middle, (changed, trials[middle])
    return None if best is None or failing(best[0]) - failing(design) else best


def _boosted(design: Design, rise: float) -> Trial:
    source = design.house.source
    before = "at the source" if source.kind == "main" else "behind the tank"
    return Trial(
        house=raised_at_source(design, rise),
        text=f"fit a booster pump {before} that raises the pressure by {{0}} at {{1}} (licensed "
        "work)",
        values=((rise, "pressure"), (design.demand.design_flow[0], "flow")),
    )


def _lower(design: Design, top: Crest, fall: float) -> Trial:
    """The house with nothing on the way to a height, and on the runs that start there, higher than
    so much below it; lengths stay."""
    tree = next(it.tree for it in design.stretches if top.link in it.tree.names)
    cap, at = top.height - fall, tree.names.index(top.link)
    way = {*tree.path(at), *tree.children[at]}
    names = {tree.names[i] for i in way}
    points = {tree.points[i] for i in way}

    def each(run: Run) -> Run:
        if run.name not in names or not run.profile:
            return run
        first, *others = run.profile
        if run.start == tree.points[0]:  # the source stays where it is
            lowered = (first, *((along, min(height, cap)) for along, height in others))
        else:
            lowered = tuple((along, min(height, cap)) for along, height in run.profile)
        return replace(run, profile=lowered)

    house = map_runs(design.house, each)
    moved = tuple(
        replace(point, elevation=min(point.elevation, cap), at=None)
        if point.name in points and point.elevation is not None
        else point
        for point in house.points
    )
    link = tree.links[at]
    line = link.route or link.name if isinstance(link, Run) else top.link
    return Trial(
        house=replace(house, points=moved),
        text=f"lead {line} no higher than {{0}}, {{1}} lower than its height now",
        values=((cap, "elevation"), (fall, "length")),
    )


def full_up_to(design: Design, top: Crest) -> Flow | None:
    """The flow at a height up to which its pressure stays above that of the air, sizes as they are,
    all draws falling alike; None where it never does, or a valve holds the pressure before it.

    Source: `link_loss_with_slope`.
    """
    if top.below_at_rest > 0.0 or top.index == BEFORE_TANK:
        return None
    tree = design.tree
    way = [design.result_at[i] for i in tree.path(top.index) if i in design.result_at]
    links = [
        replace(it.run, size=it.nominal) if isinstance(it, RunResult) else it.device for it in way
    ]
    if any(link.setting is not None for link in links if not isinstance(link, Run)):
        return None

    def lost(share: float) -> float:
        losses = [
            link_loss_with_slope(design.house, link, share * it.design_flow)[0]
            for link, it in zip(links, way, strict=True)
        ]
        losses[-1] *= top.along
        return math.fsum(losses)

    allowed = lost(1.0) - top.below_flowing
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if lost(middle) < allowed else (low, middle)
    return low * design.demand.design_flow[top.index]
