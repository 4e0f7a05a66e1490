"""Why the demand methods differ at a run, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from supplycalc.demand import DEMAND_METHODS, method_record
from supplycalc.demand.loads import GroupUse
from supplycalc.findings.words import listed
from supplycalc.questions.demand.methods import MethodResult, by_flow, lowest_and_highest
from supplycalc.units import UnitSystem, show


def why_they_differ(
    results: Sequence[MethodResult], outdoor: float, percentile: float, system: UnitSystem
) -> Iterator[str]:
    """Plain sentences on why the methods differ at a run.

    Args:
        outdoor: flow of the largest hose bibb below the run [m3/s].
        percentile: of the project, which the whole distribution is asked for.
    """
    computed = [result for result in results if result.design_flow is not None]
    if len(computed) > 1:
        low, high = lowest_and_highest(computed)
        yield (
            f"{high.method} asks for most: it {_verb(high)}. {low.method} asks for least: it "
            f"{_verb(low)}."
        )
    units = [result for result in computed if result.record.own_fixture_units and result.load]
    if len(units) > 1:
        counts = [f"{result.method} {result.load:.1f}" for result in units]
        first = f"{units[0].method} counts {units[0].load:.1f}"
        yield (
            f"{listed((first, *counts[1:]))} units for the same fixtures; each code's units go "
            "with its own conversion only, so the units cannot be compared, the flows can."
        )
    yield from _quiet_moments(computed, percentile, system)
    floor = [result for result in by_flow(computed) if result.largest_decides]
    if floor:
        largest = lowest_and_highest(computed)[0].largest_fixture
        yield (
            f"By {', '.join(result.method for result in floor)} the largest single fixture decides "
            f"({show(largest, 'flow', system)}): no pipe is sized for less."
        )
    if outdoor > 0.0 and any(result.record.unknown_outdoors for result in computed):
        yield (
            f"{_unknown_outdoors()}: the largest below "
            f"({show(outdoor, 'flow', system)}) is added whole."
        )
    steady = max((result.continuous for result in computed), default=0.0)
    if steady > 0.0:
        yield f"All of them hold {show(steady, 'flow', system)} that may run for hours, on top."
    yield from _group_words(computed)


def _quiet_moments(computed: list[MethodResult], level: float, system: UnitSystem) -> Iterator[str]:
    """What the whole distribution says, beside a study that looks at moments with water only."""
    studies = [result for result in computed if result.rule]
    for result in computed:
        if not result.record.whole_distribution or result.zero_chance is None:
            continue
        percent = f"{level:.1%}".replace(".0%", "%")
        text = (
            f"{result.method}: in the busy hour nothing is drawn here {result.zero_chance:.0%} of "
            f"the time, the mean is {show(result.mean_flow or 0.0, 'flow', system)}, and {percent} "
            f"of the time the flow is at most {show(result.design_flow or 0.0, 'flow', system)}"
        )
        for study in studies:
            text += (
                f"; the study looks only at the moments when water runs (its rule here: "
                f"{study.rule})"
            )
        yield f"{text}."


def _unknown_outdoors() -> str:
    """What no method knows of a hose bibb: "a and b know no x for a hose bibb, and c no y"."""
    unknown: dict[str, list[str]] = {}
    for name in sorted(DEMAND_METHODS):
        what = method_record(name).unknown_outdoors
        if what:
            unknown.setdefault(what, []).append(name)
    (what, names), *others = sorted(unknown.items())
    know = "know" if len(names) > 1 else "knows"
    text = f"{listed(names)} {know} no {what} for a hose bibb"
    return text + "".join(f", and {listed(names)} no {what}" for what, names in others)


def _verb(result: MethodResult) -> str:
    if result.largest_decides:
        return f"{result.record.verb}, and the largest single fixture sets the floor"
    return result.record.verb


def _group_words(computed: list[MethodResult]) -> Iterator[str]:
    for result in computed:
        for group in result.groups_used:
            yield f"{result.method} used {_group_text(group)}."
    coded = [result for result in computed if result.record.group_values]
    if coded and not any(result.groups_used for result in coded):
        yield (
            "No group value of a bathroom, kitchen or laundry is used: no run feeds the fixtures "
            "of one room and nothing else, so each fixture counts by itself."
        )


def _group_text(group: GroupUse) -> str:
    times = f"{group.count} x " if group.count > 1 else ""
    text = (
        f"the group value {times}{group.title} ({group.value:.4g} each) for {len(group.fixtures)} "
        + (f"fixtures of {group.room!r}" if group.room else f"fixtures fed by {group.run!r}")
    )
    return text if group.complete else f"{text}, as a cap for a part of that group"
