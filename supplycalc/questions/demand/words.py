"""What `demand` says in sentences: the spread of the methods, why they differ, the code's table."""

from __future__ import annotations

from typing import TYPE_CHECKING

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

WHY = {
    "irc": "adds fixture units and reads the residential code's table, which below about 60 units "
    "lies above Hunter's curve: for one house up to twice",
    "ipc": "the same units and table as irc, but group values for bathrooms only",
    "upc": "its own fixture units (a bath 4, a closet 2.5) on Hunter's curve of 1940, which was "
    "made for larger buildings and larger fixtures",
    "peak-demand-study": "how often and how strongly efficient fixtures run in measured homes; "
    "the 99th percentile of the flow while any water runs, so the quiet moments do not count",
    "en806": "adds loading units of 0.1 l/s; read back from the standard's pipe tables, which take "
    "water to run at 2 m/s and already hold how many draw-offs run at once",
    "din1988": "adds the flows of the draw-offs, cold and hot each, and takes the German formula "
    "for dwellings; in one room at most two run at once",
    "exact": "the computed chance of every combination of fixtures in the busy hour, quiet moments "
    "counted; it rests on the study's chances of use in homes and on your fixtures' own flows, so "
    "it does not hold where many bathe at once by the clock",
    "listed": "the fixtures that you list as running at once, or the two most demanding ones",
}
"""Why each method gives what it gives, in one sentence."""

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


def _flow(one: MethodResult, system: UnitSystem) -> str:
    return show(one.design_flow or 0.0, "flow", system)


def _size(one: MethodResult) -> str:
    if one.run is None:
        return ""
    return one.run.size.nominal if one.run.tube.metric else f"{one.run.size.nominal} inch"


def _sized(one: MethodResult) -> str:
    return f", {_size(one)}" if _size(one) else ""


def reasons(result: DemandComparison, system: UnitSystem) -> Iterator[str]:
    """Plain sentences on why the methods differ at this run."""
    computed = {one.method: one for one in result.computed}
    if len(computed) > 1:
        low, high = result.lowest, result.highest
        yield (
            f"{high.method} asks for most: it {_verb(high)}. {low.method} asks for least: it "
            f"{_verb(low)}."
        )
    irc, upc = computed.get("irc"), computed.get("upc")
    if irc and upc and irc.load and upc.load:
        yield (
            f"irc counts {irc.load:.1f} and upc {upc.load:.1f} units for the same fixtures; each "
            "code's units go with its own conversion only, so the units cannot be compared, the "
            "flows can."
        )
    study, exact = computed.get("peak-demand-study"), computed.get("exact")
    if exact and exact.zero_chance is not None:
        percent = f"{result.house.project.percentile:.1%}".replace(".0%", "%")
        text = (
            f"exact: in the busy hour nothing is drawn here {exact.zero_chance:.0%} of the time, "
            f"the mean is {show(exact.mean_flow or 0.0, 'flow', system)}, and {percent} of the "
            f"time the flow is at most {_flow(exact, system)}"
        )
        if study and study.rule:
            text += (
                f"; the study looks only at the moments when water runs (its rule here: "
                f"{study.rule})"
            )
        yield f"{text}."
    floor = [one.method for one in computed.values() if one.largest_decides]
    if floor:
        some = next(iter(computed.values()))
        yield (
            f"By {', '.join(floor)} the largest single fixture decides "
            f"({show(some.largest, 'flow', system)}): no pipe is sized for less."
        )
    if result.outdoor > 0.0 and {"exact", "ipc", "peak-demand-study"} & computed.keys():
        yield (
            "exact and peak-demand-study know no chance of use for a hose bibb, and ipc no fixture "
            f"units: the largest below ({show(result.outdoor, 'flow', system)}) is added whole."
        )
    steady = max((one.continuous for one in computed.values()), default=0.0)
    if steady > 0.0:
        yield f"All of them hold {show(steady, 'flow', system)} that may run for hours, on top."
    yield from _group_words(computed)


def _verb(one: MethodResult) -> str:
    start = {
        "irc": "reads the residential code's table, which lies above Hunter's curve for one house",
        "ipc": "reads the same table as irc, with fewer group values and hose bibbs in gpm",
        "upc": "reads Hunter's curve of 1940, made for larger buildings and fixtures",
        "peak-demand-study": "takes measured use of efficient fixtures, while water runs",
        "en806": "adds cold and hot loading units and reads pipe tables made for 2 m/s",
        "din1988": "adds cold and hot flows of every draw-off and damps the sum by a formula",
        "exact": "counts how seldom fixtures run together, quiet moments included",
        "listed": "takes only the fixtures that run at once by your list, or the two largest",
    }
    if one.largest_decides:
        return f"{start[one.method]}, and the largest single fixture sets the floor"
    return start[one.method]


def _group_words(computed: dict[str, MethodResult]) -> Iterator[str]:
    for method in ("irc", "ipc", "din1988"):
        one = computed.get(method)
        if one is None:
            continue
        for use in one.groups_used:
            yield f"{method} used {_group_text(use)}."
    coded = [computed[method] for method in ("irc", "ipc") if method in computed]
    if coded and not any(one.groups_used for one in coded):
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
