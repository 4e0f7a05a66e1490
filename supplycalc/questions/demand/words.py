"""What `demand` says in sentences: the spread of the methods, why they differ, the code's table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from supplycalc.demand import DEMAND_METHODS, method_record
from supplycalc.output.wording import cite
from supplycalc.units import show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from supplycalc.demand.guide import GuideFlow
    from supplycalc.demand.loads import GroupUse
    from supplycalc.findings.prescriptive import TableCheck
    from supplycalc.questions.demand.study import DemandComparison, MethodResult
    from supplycalc.units import UnitSystem

ALIKE = 1.05
"""Flows within this ratio are called alike."""

OUTCOMES = {
    "agrees": "They agree:",
    "larger": "The design is larger than the table asks:",
    "smaller": "The design is smaller than the table asks:",
    "no answer": "No answer:",
}


def answer(result: DemandComparison, system: UnitSystem) -> str:
    """The spread of the methods, in one sentence."""
    computed = result.computed
    if not computed:
        return f"No method gives a flow for {result.run}: {result.methods[0].reason}"
    low, high, own = result.lowest, result.highest, result.own
    what = f"the service line {result.run!r}" if result.is_service else f"{result.run!r}"
    if own.design_flow is None:
        mine = f"Method {own.method!r} gives no flow: {own.reason}."
    else:
        sized = f", {_size(own)}" if _size(own) else ""
        mine = f"{what} carries {_flow(own, system)} by your file's method {own.method!r}{sized}."
    ratio = (high.design_flow or 0.0) / max(low.design_flow or 0.0, 1e-12)
    mine = mine[0].upper() + mine[1:]
    if ratio <= ALIKE:
        return f"{mine} All methods agree within {ratio - 1:.0%}."
    return (
        f"{mine} The methods go from {_flow(low, system)} ({low.method}{_sized(low)}) to "
        f"{_flow(high, system)} ({high.method}{_sized(high)}), {ratio:.1f} times as much."
    )


def _flow(result: MethodResult, system: UnitSystem) -> str:
    return show(result.design_flow or 0.0, "flow", system)


def _size(result: MethodResult) -> str:
    if result.run is None:
        return ""
    nominal = result.run.size.nominal
    return nominal if result.run.tube.metric else f"{nominal} inch"


def _sized(result: MethodResult) -> str:
    return f", {_size(result)}" if _size(result) else ""


def reasons(result: DemandComparison, system: UnitSystem) -> Iterator[str]:
    """Plain sentences on why the methods differ at this run."""
    computed = {each.method: each for each in result.computed}
    in_order = [computed[name] for name in DEMAND_METHODS if name in computed]
    if len(computed) > 1:
        low, high = result.lowest, result.highest
        yield (
            f"{high.method} asks for most: it {_verb(high)}. {low.method} asks for least: it "
            f"{_verb(low)}."
        )
    units = [each for each in in_order if each.record.own_fixture_units and each.load]
    if len(units) > 1:
        counts = [f"{each.method} {each.load:.1f}" for each in units]
        first = f"{units[0].method} counts {units[0].load:.1f}"
        yield (
            f"{_and([first, *counts[1:]])} units for the same fixtures; each "
            "code's units go with its own conversion only, so the units cannot be compared, the "
            "flows can."
        )
    yield from _quiet_moments(result, in_order, system)
    floor = [each.method for each in computed.values() if each.largest_decides]
    if floor:
        largest = result.lowest.largest
        yield (
            f"By {', '.join(floor)} the largest single fixture decides "
            f"({show(largest, 'flow', system)}): no pipe is sized for less."
        )
    if result.outdoor > 0.0 and any(each.record.unknown_outdoors for each in in_order):
        yield (
            f"{_unknown_outdoors()}: the largest below "
            f"({show(result.outdoor, 'flow', system)}) is added whole."
        )
    steady = max((each.continuous for each in computed.values()), default=0.0)
    if steady > 0.0:
        yield f"All of them hold {show(steady, 'flow', system)} that may run for hours, on top."
    yield from _group_words(in_order)


def _quiet_moments(
    result: DemandComparison, in_order: list[MethodResult], system: UnitSystem
) -> Iterator[str]:
    """What the whole distribution says, beside a study that looks at moments with water only."""
    studies = [each for each in in_order if each.rule]
    for each in in_order:
        if not each.record.whole_distribution or each.zero_chance is None:
            continue
        percent = f"{result.house.project.percentile:.1%}".replace(".0%", "%")
        text = (
            f"{each.method}: in the busy hour nothing is drawn here {each.zero_chance:.0%} of the "
            f"time, the mean is {show(each.mean_flow or 0.0, 'flow', system)}, and {percent} of "
            f"the time the flow is at most {_flow(each, system)}"
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
    text = f"{_and(names)} {know} no {what} for a hose bibb"
    return text + "".join(f", and {_and(names)} no {what}" for what, names in others)


def _and(parts: list[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _verb(result: MethodResult) -> str:
    if result.largest_decides:
        return f"{result.record.verb}, and the largest single fixture sets the floor"
    return result.record.verb


def _group_words(in_order: list[MethodResult]) -> Iterator[str]:
    for result in in_order:
        for use in result.groups_used:
            yield f"{result.method} used {_group_text(use)}."
    coded = [result for result in in_order if result.record.group_values]
    if coded and not any(result.groups_used for result in coded):
        yield (
            "No group value of a bathroom, kitchen or laundry is used: no run feeds the fixtures "
            "of one room and nothing else, so each fixture counts by itself."
        )


def _group_text(use: GroupUse) -> str:
    times = f"{use.count} x " if use.count > 1 else ""
    text = f"the group value {times}{use.title} ({use.value:.4g} each) for {len(use.fixtures)} "
    text += f"fixtures fed by {use.run!r}"
    return text if use.complete else f"{text}, as a cap for a part of that group"


def guide_words(guide: GuideFlow, system: UnitSystem) -> str:
    """The guide's figure in one sentence."""
    left = f"; it does not list {', '.join(guide.left_out)}" if guide.left_out else ""
    return (
        f"{show(guide.pump, 'flow', system)} for one home: allowances of "
        f"{show(guide.allowances, 'flow', system)} together, the largest use ({guide.largest}) at "
        f"its full flow{left}."
    )


def table_words(check: TableCheck | None, system: UnitSystem) -> Iterator[str]:
    """The code's table beside the design by the file's method."""
    if check is None:
        yield "Not read: the service is of metric tube, and the codes' tables know inch sizes."
        return
    where = (
        f"{check.title}, block {check.block}: {check.load:.1f} fixture units, "
        f"{show(check.pressure, 'pressure', system)} left after height and devices, "
        f"{show(check.length, 'length', system)} developed length with a share for fittings"
    )
    yield f"{where}."
    service = check.service_run
    has = f"the design has {service.size.nominal} inch"
    if check.distribution_run is not None:
        beyond = check.distribution_run
        inch = "" if beyond.tube.metric else " inch"
        has += f", and beyond it {beyond.run.name} in {beyond.size.nominal}{inch}"
    asks = "the table gives no size"
    if check.service:
        asks = f"the table asks for a service of {check.service} inch or more"
        if check.distribution:
            asks += (
                f"; with a service of {service.size.nominal} inch, distribution pipe of "
                f"{check.distribution} inch or more"
            )
    yield f"{asks[0].upper()}{asks[1:]}; {has}."
    yield f"{OUTCOMES[check.outcome]} {check.reason}."
    yield f"Source: {cite(check.citation)}"
