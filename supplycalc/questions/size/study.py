"""The recipe of `size`: from a house to a judged design."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from supplycalc.delivery.peak import peak_at_source, peak_by_pump_alone
from supplycalc.findings import judge
from supplycalc.findings.assumptions import assumptions
from supplycalc.model import House
from supplycalc.model.field_paths import with_live_ranges
from supplycalc.network import well_side
from supplycalc.problems import InputError, Problem
from supplycalc.sizing.changes import draws_alike
from supplycalc.sizing.choices import Situation
from supplycalc.sizing.costs import cost_by
from supplycalc.sizing.design import LEVELS, Design, MarginPrice
from supplycalc.sizing.line_results import line_designs
from supplycalc.sizing.profile import line_profiles
from supplycalc.sizing.results import device_results, outlet_results, run_results
from supplycalc.sizing.size import (
    SizedTree,
    at_largest,
    at_sizes,
    can_serve,
    choose,
    least_short,
    situation_of,
    with_margin,
)
from supplycalc.sizing.unknown_sizes import with_unknown_sizes
from supplycalc.supply.pump_check import pump_check
from supplycalc.units import PSI

if TYPE_CHECKING:
    from supplycalc.reading.prices import PriceList

TO_SPARE = {
    "us": (0.0, 3 * PSI, 5 * PSI, 10 * PSI),
    "metric": (0.0, 20e3, 5 * PSI, 70e3),
}
"""[Pa] what is priced beside each other"""


def size(
    house: House,
    method: str | None = None,
    *,
    mend: bool = True,
    prices: PriceList | None = None,
    daily: bool = False,
    confidence: float | None = None,
) -> Design:
    """Size a house at least cost, judge it, and where it falls short find what mends it.

    Args:
        method: demand method; None takes the project's.
        prices: price list that decides what is cheapest; None: the mass of pipe.
        daily: whether to add the second verdict, in daily use, and how sure it is within ranges.
        confidence: part of the cases within the file's ranges for which pressure is to suffice;
            None: the sizes are chosen for the middle.

    Raises:
        InputError: a fixed size has no price, or no size of a run has one.
        ComputationError: no trustworthy result can be computed.
    """
    if method is not None:
        house = replace(house, project=replace(house.project, demand=method))
    if house.ranges:
        house = with_live_ranges(house)
    design = _sized(house, prices, mend=mend)
    if confidence is not None:
        design = _made_sure(design, confidence, prices)
    if not daily:
        return design
    design = in_daily_use(design, prices)
    return within_ranges(design) if house.ranges else design


def _made_sure(design: Design, confidence: float, prices: PriceList | None) -> Design:
    """The design with the cheapest sizes found that suffice so often, where any do."""
    from supplycalc.chance.sure_sizes import sure_sizes

    if not design.house.ranges:
        message = (
            'a confidence asks for ranges in the file, such as length = "85 ± 10 ft"; it gives '
            "every figure as sure"
        )
        raise InputError([Problem(place=design.house.place, message=message)])
    [sure] = sure_sizes(design, (confidence,), prices=prices)
    if sure.kept and sure.changes:
        sized = at_sizes(choose(situation_of(design.house, prices)), dict(sure.sizes))
        design = _judged(replace(sized, feasible=sized.worst_margin >= 0.0), prices)
    return replace(design, sure=sure)


def within_ranges(design: Design) -> Design:
    """The design with how sure it is, where the file knows figures within ranges alone."""
    from supplycalc.chance.certainty import certainty

    return replace(design, certainty=certainty(design))


def in_daily_use(design: Design, prices: PriceList | None = None) -> Design:
    """The design with its second verdict: what every fixture gets while people live there.

    Where the file limits how long a fixture may be short, with the cheapest sizes for that.
    """
    from supplycalc.chance.daily import daily_use
    from supplycalc.findings.daily_use import DAILY_RULES, daily_assumptions, nothing_to_tell

    if nothing_to_tell(design):
        return design
    use = daily_use(design)
    if use is None:
        return design
    design = replace(
        design, daily_use=use, assumptions=(*design.assumptions, *daily_assumptions(design, use))
    )
    if design.house.limits.short is not None:
        from supplycalc.chance.sizes import sizes_by_chance

        chosen = sizes_by_chance(design, design.house.limits.short, cost_by(prices))
        design = replace(design, by_chance=chosen)
    findings = (*design.findings, *judge(design, DAILY_RULES))
    return replace(design, findings=tuple(sorted(findings, key=lambda it: LEVELS.index(it.level))))


def _sized(house: House, prices: PriceList | None, *, mend: bool) -> Design:
    sized = choose(situation_of(house, prices))
    if not mend:
        shown = sized if sized.feasible else least_short(sized)
        return replace(_judged(shown, prices), remedies_sought=False)

    def changed(other: House) -> Situation:
        alike = draws_alike(other, sized.situation.tree.house)
        return situation_of(other, prices, sized.situation if alike else None)

    def resized(other: House) -> Design:
        return _judged(choose(changed(other)), prices)

    as_it_is = _judged(sized if sized.feasible else at_largest(sized), prices)
    if as_it_is.ok:
        design = replace(as_it_is, margin_prices=_margin_prices(sized))
        return _with_what_comes_out(with_unknown_sizes(design, resized))

    from supplycalc.questions.size.stored import with_storage
    from supplycalc.sizing.remedies import remedies

    mended = remedies(as_it_is, lambda other: can_serve(changed(other)), resized)
    mended = with_storage(as_it_is, mended, resized)
    first = next((i for i, remedy in enumerate(mended) if remedy.sizes), None)
    if first is not None:
        sized = at_sizes(sized, dict(mended[first].sizes))
    design = replace(_judged(sized, prices), remedies=mended, sized_for=first)
    design = _telling_of_change(design)
    if first is None and sized.feasible:
        design = replace(design, margin_prices=_margin_prices(sized))
    return _with_what_comes_out(with_unknown_sizes(design, resized))


def _telling_of_change(design: Design) -> Design:
    """Runs that the change shown makes larger than the house as it is may have them say so."""
    after = design.after_change
    if design.sized_for is None or not after:
        return design
    change = f"change {design.sized_for + 1}"
    runs = tuple(
        replace(run, decided_by=f"{run.decided_by}; {change}: {after[run.name]}")
        if run.name in after
        else run
        for run in design.runs
    )
    return replace(design, runs=runs)


def _least_shortfall(sized: SizedTree) -> float:
    """Of the worst fixture with the largest sizes; all that it needs where nothing arrives [Pa]."""
    return min(
        -sized.most, max(outlet.required_pressure for outlet in sized.situation.tree.outlets)
    )


def _margin_prices(sized: SizedTree) -> tuple[MarginPrice, ...]:
    """What each pressure to spare costs, beside the design that was chosen."""
    chosen = sized.nominals()
    prices = []
    for reserve in TO_SPARE[sized.situation.tree.house.project.units]:
        other = with_margin(sized, reserve)
        if other is None:
            prices.append(MarginPrice(reserve=reserve, cost=None))
            continue
        changes = [
            (name, nominal) for name, nominal in other.nominals().items() if chosen[name] != nominal
        ]
        prices.append(MarginPrice(reserve=reserve, cost=other.cost, changes=tuple(changes)))
    return tuple(prices)


def _with_what_comes_out(design: Design) -> Design:
    """Where pressure or pump fall short of the design flow: what then really comes out."""
    pump = design.pump
    if pump is not None and pump.curve_known and pump.state in ("short-of-peak", "too-small"):
        pump = replace(pump, comes_out=peak_by_pump_alone(design))
    used_up = any(outlet.used_up_in is not None for outlet in design.outlets)
    return replace(design, pump=pump, comes_out=peak_at_source(design) if used_up else None)


def _judged(sized: SizedTree, prices: PriceList | None) -> Design:
    situation, outlets = sized.situation, outlet_results(sized)
    lines = line_designs(well_side(situation.tree.house), situation.lines, cost_by(prices))
    design = Design(
        tree=situation.tree,
        demand=situation.demand,
        source=situation.source,
        pump=pump_check(situation.tree, situation.demand),
        line=lines[0] if lines else None,
        more_lines=lines[1:],
        runs=run_results(sized),
        devices=device_results(sized),
        outlets=outlets,
        cost=sized.cost,
        cost_basis="pipe mass" if prices is None else "price list",
        currency="" if prices is None else prices.currency,
        optimal=sized.feasible,
        shortfall=0.0 if sized.feasible else max(-outlets[0].margin, 0.0),
        least_shortfall=0.0 if sized.feasible else _least_shortfall(sized),
    )
    design = replace(design, profiles=line_profiles(design))
    design = replace(design, assumptions=assumptions(design))
    return replace(design, findings=judge(design))
