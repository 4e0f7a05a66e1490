"""The recipe of `size`: from a house to a judged design."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from supplycalc.catalogue import Catalogue
from supplycalc.demand import design_flows
from supplycalc.demand.loads import Demand
from supplycalc.findings import judge
from supplycalc.findings.assumptions import assumptions
from supplycalc.model import House
from supplycalc.network import build_tree
from supplycalc.sizing.choices import pipe_mass, prepare
from supplycalc.sizing.design import Design
from supplycalc.sizing.evaluate import device_results, outlet_results, run_results
from supplycalc.sizing.price_cost import only_priced, price_cost
from supplycalc.sizing.situation import Situation
from supplycalc.sizing.size import can_serve, choose, reasons
from supplycalc.supply.source import SourcePressure, source_pressure

if TYPE_CHECKING:
    from supplycalc.reading.prices import PriceList


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
    catalogue = house.catalogue
    design = _size(house, catalogue, prices)
    if mend and design.shortfall > 0.0:
        from supplycalc.sizing.remedies import remedies

        demand = design.demand  # no remedy changes what is drawn

        def works(changed: House) -> bool:
            return can_serve(_prepared(changed, catalogue, prices, demand)[1])

        found = remedies(design, works, lambda changed: _size(changed, catalogue, prices, demand))
        design = replace(design, remedies=found)
    return design


def _prepared(
    house: House, catalogue: Catalogue, prices: PriceList | None, demand: Demand | None
) -> tuple[SourcePressure, Situation]:
    """What the source gives, and what each size of each run would do."""
    if prices is not None:
        house = only_priced(house, catalogue, prices)
    tree = build_tree(house, catalogue)
    demand = demand or design_flows(tree)
    source = source_pressure(house, demand.design_flow[0])
    cost = pipe_mass if prices is None else price_cost(prices)
    return source, prepare(tree, demand, source.design_pressure, source.static_pressure, cost)


def _size(
    house: House,
    catalogue: Catalogue,
    prices: PriceList | None,
    demand: Demand | None = None,
) -> Design:
    source, situation = _prepared(house, catalogue, prices, demand)
    tree, demand = situation.tree, situation.demand
    done, feasible = choose(situation)
    outlets = outlet_results(situation, done)
    runs = run_results(situation, done, reasons(situation, done))
    design = Design(
        tree=tree,
        demand=demand,
        source=source,
        runs=runs,
        devices=device_results(situation, done),
        outlets=outlets,
        cost=sum(
            choice.options[done.sizes[i]].cost
            for i, choice in enumerate(situation.choices)
            if choice is not None
        ),
        cost_basis="pipe mass" if prices is None else "price list",
        currency="" if prices is None else prices.currency,
        optimal=feasible,
        shortfall=0.0 if feasible else max(-outlets[0].margin, 0.0),
    )
    design = replace(design, assumptions=assumptions(design))
    return replace(design, findings=judge(design))
