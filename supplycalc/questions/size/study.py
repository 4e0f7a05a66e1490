"""The recipe of `size`: from a house to a judged design."""

from __future__ import annotations

from msgspec.structs import replace

from supplycalc.delivery.peak import peak_at_source, peak_by_pump_alone
from supplycalc.demand.loads import Demand
from supplycalc.findings import judge
from supplycalc.findings.assumptions import assumptions
from supplycalc.model import House
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.design import Design
from supplycalc.sizing.remedies import remedies
from supplycalc.sizing.results import device_results, outlet_results, run_results
from supplycalc.sizing.size import can_serve, choose, situation_of
from supplycalc.sizing.unknown_sizes import with_unknown_sizes
from supplycalc.supply.pump_check import pump_check


def size(
    house: House,
    method: str | None = None,
    *,
    mend: bool = True,
    prices: PriceList | None = None,
) -> Design:
    """Size a house at least cost, judge it, and where it falls short find what mends it.

    Args:
        house: a checked house.
        method: demand method; None takes the project's.
        mend: whether to look for remedies.
        prices: price list that decides what is cheapest; None: the mass of pipe.

    Returns:
        The design with findings, assumptions and remedies.

    Raises:
        InputError: a fixed size has no price, or no size of a run has one.
        ComputationError: no trustworthy result can be computed.
    """
    if method is not None:
        house = replace(house, project=replace(house.project, demand=method))
    design = _size(house, prices)
    if mend and design.shortfall > 0.0:
        demand = design.demand  # no remedy changes what is drawn

        def works(changed: House) -> bool:
            return can_serve(situation_of(changed, prices, demand))

        def resized(changed: House) -> Design:
            return _size(changed, prices, demand)

        design = replace(design, remedies=remedies(design, works, resized))
    if not mend:
        return replace(design, remedies_sought=False)
    return _with_what_comes_out(with_unknown_sizes(design, lambda changed: _size(changed, prices)))


def _with_what_comes_out(design: Design) -> Design:
    """Where pressure or pump fall short of the design flow: what then really comes out."""
    pump = design.pump
    if pump is not None and pump.curve_known and pump.state in ("short-of-peak", "too-small"):
        pump = replace(pump, comes_out=peak_by_pump_alone(design))
    used_up = any(outlet.used_up_in is not None for outlet in design.outlets)
    return replace(design, pump=pump, comes_out=peak_at_source(design) if used_up else None)


def _size(
    house: House,
    prices: PriceList | None,
    demand: Demand | None = None,
) -> Design:
    sized = choose(situation_of(house, prices, demand))
    situation, outlets = sized.situation, outlet_results(sized)
    design = Design(
        tree=situation.tree,
        demand=situation.demand,
        source=situation.source,
        pump=pump_check(situation.tree, situation.demand),
        runs=run_results(sized),
        devices=device_results(sized),
        outlets=outlets,
        cost=sized.cost,
        cost_basis="pipe mass" if prices is None else "price list",
        currency="" if prices is None else prices.currency,
        optimal=sized.feasible,
        shortfall=0.0 if sized.feasible else max(-outlets[0].margin, 0.0),
    )
    design = replace(design, assumptions=assumptions(design))
    return replace(design, findings=judge(design))
