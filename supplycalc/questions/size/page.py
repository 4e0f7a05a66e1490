"""What `size` shows: verdict, worst fixture, schedule, findings, assumptions, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from supplycalc.demand import method_record
from supplycalc.demand.loads import is_public
from supplycalc.findings.materials import rating_exceeded
from supplycalc.findings.pressure import pressure_short
from supplycalc.findings.words import listed
from supplycalc.output.blocks import (
    Account,
    Block,
    FindingBlock,
    Heading,
    Paragraph,
    Verdict,
    assumptions_blocks,
    by_level,
    care_blocks,
)
from supplycalc.output.cautions import cautions
from supplycalc.questions.size import tables
from supplycalc.records.sentences import amount, money, sentence
from supplycalc.sizing.certainty import SureSizes, share_said
from supplycalc.sizing.daily_use import LEAST_TOLD as LEAST_TIME
from supplycalc.sizing.daily_use import DailyUse, minutes_a_year
from supplycalc.sizing.design import Design, Finding, pump_then
from supplycalc.supply.pump_check import ComesOut
from supplycalc.supply.well_line import tank_place, tank_place_known
from supplycalc.units import UnitSystem, show

USED_UP = "0: the pressure is used up on the way, before the water gets there."
LEAST_TOLD = 0.005
"""Kilograms or money: less is no difference."""
MOST_CHANGES = 6
"""Sizes told by name; more are counted."""
LEAST_GAP = 0.005
"""Part of a cost that is no difference."""
COUNTED = ("One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")
"""As a sentence begins."""
RATED, SHORT = rating_exceeded.code, pressure_short.code


def size_page(
    design: Design, system: UnitSystem, *, why: bool = False, details: bool = False
) -> Iterator[Block]:
    """What `size` shows."""
    yield verdict_block(design, system)
    yield from second_verdict(design, system)
    yield Paragraph(text=_basis(design, system), apart=True)
    if design.house.source.kind == "well" and tank_place_known(design.house):
        yield Paragraph(text=f"{tank_place(design.house).capitalize()}.")
    steps = tables.account(design, design.worst)
    yield Account(steps)
    if design.worst.used_up_in is None and not tables.adds_up(steps, system):
        yield Paragraph(text="Each figure is rounded by itself, so the last digit may be one off.")
    for valve in design.devices:
        if valve.device.setting is not None and valve.name in design.worst.path:
            setting = show(valve.device.setting, "setting", system)
            yield Paragraph(
                text=f"{valve.name}: a reducing valve set to {setting}; its loss is what it takes "
                "away at this flow."
            )
    yield tables.fixtures(design)
    yield Paragraph(
        text=f"gets: pressure at the fixture's {'stop' if system == 'us' else 'connection'} while "
        "the design flow runs; needs: what it asks for."
    )
    if design.daily_use is not None and design.daily_use.connections:
        yield tables.daily_use_table(design.daily_use)
        yield Paragraph(
            text="1 of 100 minutes: less than this pressure stands at the fixture's stop in only 1 "
            f"of 100 minutes of its use. {_sure_of(design.daily_use, system)}"
        )
    if design.comes_out is not None:
        yield Paragraph(text=f"{USED_UP} {comes_out_words(design.comes_out, system)}")
    yield tables.schedule(design)
    for profile in design.profiles:
        yield tables.over_the_ground(profile)
    yield Paragraph(text=design.friction_told(system))
    yield Paragraph(text=_cost(design, system))
    if design.margin_prices:
        yield tables.margin_prices(design)
    yield from by_chance_lines(design, system)
    yield from _pump(design, system)
    if why:
        yield tables.next_smaller(design)
    if details:
        yield tables.details(design)
    yield from _findings(design, system)
    yield from _remedies(design, system)
    yield from assumptions_blocks(design.assumptions, system)
    yield from care_blocks(cautions(design))


def verdict_block(
    design: Design, system: UnitSystem, below: Iterable[Finding] | None = None
) -> Verdict:
    """The answer, first of all, and where the house works how many warnings stand on the page.

    Args:
        below: what the page tells; left out, the design's own findings.
    """
    text = design.verdict(system)
    warned = sum(it.level == "warn" for it in (design.findings if below is None else below))
    if warned and text.startswith("Works"):
        told = COUNTED[warned - 1] if warned <= len(COUNTED) else f"{warned}"
        text += f" {told} warning{' stands' if warned == 1 else 's stand'} below."
    care = text.startswith("Works only if") or "thin margin" in text
    fails = text.startswith("Fails")
    return Verdict(text=text, mood="bad" if fails else "care" if care else "good")


def _sure(design: Design, sure: SureSizes, system: UnitSystem) -> str:
    """What the sizes for a wanted chance cost, and how near the cheapest they are."""
    wanted = f"{100.0 * sure.level:g} %"
    if not sure.kept:
        return (
            f"No sizes suffice in {wanted} of cases: the surest, of "
            f"{cost_said(sure.cost, design, system)}, in {share_said(sure.reached)}; measure "
            "instead."
        )
    bound = 0.0 if sure.bound is None else sure.bound
    text = f"These sizes are for {wanted}: {cost_said(sure.cost, design, system)} of pipe"
    if sure.cost - bound <= LEAST_TOLD:
        return f"{text}, and none so sure cost less ({sure.sized_draws} draws sized one by one)."
    least = cost_said(bound, design, system)
    return f"{text}; none so sure cost less than {least} ({sure.sized_draws} draws sized)."


def cost_said(cost: float, design: Design, system: UnitSystem) -> str:
    """A cost on a design's basis, such as "64 lb"."""
    if design.cost_basis == "pipe mass":
        return show(cost, "mass", system)
    return money(cost, design.currency)


def second_verdict(
    design: Design, system: UnitSystem, *, brief: bool = False
) -> Iterator[Paragraph]:
    """How sure the verdict is, and what daily use is like, beside the code's peak.

    Args:
        brief: in short why the two differ.
    """
    if design.certainty is not None:
        yield Paragraph(text=design.certainty.verdict(system))
    if design.sure is not None:
        yield Paragraph(text=_sure(design, design.sure, system))
    if design.daily_use is not None:
        yield Paragraph(text=design.daily_use.verdict(system, brief=brief))
    elif any(is_public(design.tree, fixture) for fixture in design.house.fixtures):
        yield Paragraph(
            text="Daily use is not told: guests come by the clock, not by the chances of a home; "
            "'supplycalc day' follows a schedule of draws."
        )


def _sure_of(use: DailyUse, system: UnitSystem) -> str:
    """How the figures of daily use were found, and how sure they are."""
    drawn = f", {use.drawn_sets} of them drawn at random" if use.drawn_sets else ""
    text = f"From {use.sets:,} sets of fixtures that run together{drawn}"
    if use.short:
        text += f"; the longest time below is sure to {show(use.error, 'minutes', system)}"
    if use.pump_gives_way >= LEAST_TIME:
        way = minutes_a_year(use.pump_gives_way)
        text += f"; for {way} more is drawn than the pump gives and the tank is below cut-in"
    return f"{text}."


def by_chance_lines(design: Design, system: UnitSystem) -> Iterator[Paragraph]:
    """The cheapest sizes for the file's limit of daily use, beside the code's."""
    chance = design.by_chance
    if chance is None:
        return
    limit = f"Short for at most {chance.limit}"
    if not chance.kept:
        dry = () if design.daily_use is None else design.daily_use.without_water
        why = f"with the largest, {chance.worst} is short for {minutes_a_year(chance.worst_below)}"
        if dry:
            why = f"{listed(dry)} {'gets' if len(dry) == 1 else 'get'} no water"
        yield Paragraph(text=f"{limit}: no sizes keep it; {why}.")
        return
    costs = [cost_said(cost, design, system) for cost in (chance.cost, design.cost)]
    changes = [f"{name} at {size} (not {design.sizes[name]})" for name, size in chance.changes]
    if len(changes) > MOST_CHANGES:
        changes = [*changes[:MOST_CHANGES], f"{len(changes) - MOST_CHANGES} more"]
    told = f": {listed(changes)}" if changes else ", the same sizes"
    near = (
        "none cost less" if chance.gap < LEAST_GAP else f"at most {chance.gap:.0%} above the least"
    )
    tank = ""
    if chance.tank is not None:
        tank = (
            f" with a pressure tank of {show(chance.tank, 'volume', system)} (no sizes without it)"
        )
    keep = "" if chance.code_keeps else " The sizes by the code's peak do not keep it."
    yield Paragraph(
        text=f"{limit}: {costs[0]} of pipe would do{tank}, by the code's peak {costs[1]} ({near}, "
        f"for the same draws){told}; {chance.short_for}. An inspector goes by the code's peak, "
        f"which these sizes do not look at.{keep}"
    )


def _basis(design: Design, system: UnitSystem) -> str:
    source, demand = design.source, design.demand
    name = design.house.project.name
    flow = show(demand.design_flow[0], "flow", system)
    text = f"{name}: design flow {flow} by method {method_record(demand.method).told}"
    if demand.load_name:
        text += (
            f", {demand.load[0]:.{tables.load_digits(design)}f} {demand.load_name} (points for how "
            "much and how often fixtures draw, which its table turns into flow)"
            if demand.load_name.endswith("units")
            else f", {demand.load[0]:.{tables.load_digits(design)}f} {demand.load_name}"
        )
    working = show(source.design_pressure, "pressure", system)
    highest = show(source.static_pressure, "pressure", system)
    return f"{text}; {working} at the source while it runs, {highest} at most."


def _cost(design: Design, system: UnitSystem) -> str:
    basis = "for pipe, by the price list"
    if design.cost_basis == "pipe mass":
        basis = "of pipe (no price list: mass stands for cost)"
    cost = f"{cost_said(design.cost, design, system)} {basis}"
    shown = "" if design.sized_for is None else f"change {design.sized_for + 1} below"
    if design.optimal and shown:
        return f"Shown are the sizes that go with {shown}: {cost}."
    if design.optimal:
        return f"No cheaper choice of sizes keeps every limit: {cost}."
    least = f"are {amount(design.least_shortfall, system)} short"
    if design.least_shortfall >= design.worst.required - 1.0:
        least = "leave none"
    text = f"No choice of sizes keeps the pressure: the largest permitted {least}."
    if not shown:
        return f"{text} Shown is what velocity and minimum sizes ask for: {cost}."
    return f"{text} Shown are the sizes that go with {shown}: {cost}."


def _as_shown(design: Design) -> str:
    """How far the sizes shown are those of the change they are shown for."""
    if not design.after_change:
        return " (its sizes are the ones shown)"
    return " (the sizes shown are its own, but where 'decided by' names another)"


def _pump(design: Design, system: UnitSystem) -> Iterator[Block]:
    """The well's pump, where it does not simply keep up."""
    pump = design.pump
    if pump is None or pump.pump_flow is None or pump.state == "holds":
        return
    yield tables.pump(pump)
    if pump.low_tank_time is not None and pump.full_tank_time is not None:
        full, low = (
            show(time, "minutes", system) for time in (pump.full_tank_time, pump.low_tank_time)
        )
        if math.isfinite(pump.low_tank_time):
            yield Paragraph(
                text=f"Tank and pump together carry the design flow for {full} from a full tank "
                f"and for {low} from a nearly empty one, the pump off at first."
            )
    if pump.comes_out is not None:
        yield Paragraph(text=f"By the pump alone: {comes_out_words(pump.comes_out, system)}")


def comes_out_words(comes_out: ComesOut, system: UnitSystem) -> str:
    """What is delivered with so much open as makes the design flow, in one sentence."""
    total = show(comes_out.total, "flow", system)
    at = show(comes_out.pressure, "pressure", system)
    gets = show(comes_out.weakest_flow, "flow", system)
    rated = show(comes_out.rated_flow, "flow", system)
    return (
        f"With as much open as makes the design flow ({', '.join(comes_out.opened)}) {total} "
        f"comes out in all, at {at} at the source; {comes_out.weakest} gets {gets} of its {rated}."
    )


def _findings(design: Design, system: UnitSystem) -> Iterator[Block]:
    yield Heading("Findings")
    if not design.findings:
        yield Paragraph(text="None: no limit is broken.", indent=2)
    for finding, others in _alike(design.findings):
        yield FindingBlock(finding=finding)
        if others:
            yield _others(others, system)


def _alike(findings: Iterable[Finding]) -> Iterator[tuple[Finding, list[Finding]]]:
    """Findings by level; what is short for the same reason as one before it stands with that."""
    told: list[tuple[Finding, list[Finding]]] = []
    alike: dict[object, list[Finding]] = {}
    for finding in by_level(findings):
        # a rating counts as the same where it is the same pressure at the same temperature
        same = finding.values[1:] if finding.code == RATED else ()
        key = finding.code, finding.remedy, same
        if finding.code in (SHORT, RATED) and key in alike:
            alike[key].append(finding)
            continue
        alike[key] = []
        told.append((finding, alike[key]))
    for finding, others in told:
        yield finding, others if len(others) > 1 else []
        if len(others) == 1:
            yield others[0], []


def _others(others: list[Finding], system: UnitSystem) -> Paragraph:
    """What fails for the same reason as the one before, in one line."""
    place = 2 if others[0].code == SHORT else 0
    least, most = (f(finding.values[place][0] for finding in others) for f in (min, max))
    ends = f"{amount(least, system)} to {amount(most, system)}"
    if amount(least, system) == amount(most, system):
        ends = amount(most, system)
    names = listed(finding.where for finding in others)
    if others[0].code == SHORT:
        text = f"{names}: short by {ends} for the same reason, each as the table above shows"
    elif others[0].values[0][1] == "temperature":
        text = f"{names}: the same, water of {sentence('{0}', others[0].values, system)}"
    else:
        text = f"{names}: the same, with {ends} there"
    return Paragraph(text=text, label="FAIL", mood="bad", indent=2, hang=5)


def _remedies(design: Design, system: UnitSystem) -> Iterator[Block]:
    headings = {
        "pressure": "Changes that mend it, each computed to work; do one of them",
        "static": "A change that mends the pressure at rest, computed to work",
        "pump": "A change that mends the pump, computed to work",
        "rating": "A change that keeps pipe within its rating, computed to work",
    }
    if any(finding.level == "fail" and finding.code != SHORT for finding in design.findings):
        headings["pressure"] = "Changes that mend the pressure, each computed to work; do one"
    told = ""
    for number, remedy in enumerate(design.remedies, start=1):
        if remedy.mends != told:
            told = remedy.mends
            yield Heading(headings[told])
        spare = amount(remedy.worst_margin, system)
        text = f"{remedy.said(system)}: then {spare} to spare at {remedy.worst_name}"
        if remedy.mends == "pump":
            text = f"{remedy.said(system)}: then {pump_then(remedy, system)}"
        more = remedy.cost - design.cost if remedy.sizes else 0.0
        if more > LEAST_TOLD:
            what = "more pipe" if design.cost_basis == "pipe mass" else "more for pipe"
            text += f"; {cost_said(more, design, system)} {what}"
        if number - 1 == design.sized_for:
            text += _as_shown(design)
        yield Paragraph(text=text, label=f"{number}.", indent=2, hang=3)
