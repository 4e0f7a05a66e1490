"""Prices as the cost that sizing makes least; sizes without a price are never chosen."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from msgspec.structs import replace

from supplycalc.catalogue import Catalogue, Tube, TubeSize
from supplycalc.model import House, Run
from supplycalc.problems import InputError, Problem
from supplycalc.sizing.changes import map_runs
from supplycalc.sizing.choices import pipe_mass

if TYPE_CHECKING:
    from supplycalc.reading.prices import PriceList

BEYOND = 1e6
"""What a kilogram of tube without a price counts: the solver is not offered it, so any large cost
does. Our own."""


def price_cost(prices: PriceList) -> Callable[[Run, Tube, TubeSize], float]:
    """The cost of a run by a price list: its length at the cheapest listed price per length.

    Args:
        prices: in its own currency.

    Returns:
        Cost function of (run, tube, size) [currency].
    """
    rates: dict[tuple[str, str], float] = {}
    for one in prices.pipes:
        key = (one.material, one.size)
        rates[key] = min(one.price / one.length, rates.get(key, one.price / one.length))

    def cost(run: Run, tube: Tube, size: TubeSize) -> float:
        rate = rates.get((run.material, size.nominal))
        return pipe_mass(run, tube, size) * BEYOND if rate is None else rate * run.length

    return cost


def only_priced(house: House, catalogue: Catalogue, prices: PriceList) -> House:
    """The same house with only such sizes to choose from as have a price.

    Args:
        house: a checked house.
        catalogue: for the families' sizes.
        prices: price list.

    Returns:
        The narrowed house, saying so among its assumptions where something was left out.

    Raises:
        InputError: a fixed size has no price, or no size of a run has one.
    """
    missing: dict[str, list[Run]] = {}
    left_out: dict[str, None] = {}

    def each(run: Run) -> Run:
        priced = {one.size for one in prices.pipes if one.material == run.material}
        if run.size is not None:
            if run.size not in priced:
                missing.setdefault(f"{run.material} {run.size}", []).append(run)
            return run
        family = catalogue.tubes[run.material].sizes
        offered = run.sizes or tuple(one.nominal for one in family if one.common)
        kept = tuple(one for one in offered if one in priced)
        if not kept:
            missing.setdefault(f"{run.material} {' or '.join(offered)}", []).append(run)
            return run
        for one in offered:
            if one not in priced:
                left_out[f"{run.material} {one}"] = None
        return replace(run, sizes=kept)

    narrowed = map_runs(house, each)
    if missing:
        raise InputError([_missing(runs, tube) for tube, runs in missing.items()])
    if not left_out:
        return narrowed
    told = f"the price list has no price for {', '.join(left_out)}: not chosen"
    if told in house.assumptions:
        return narrowed
    return replace(narrowed, assumptions=(*house.assumptions, told))


def _missing(runs: list[Run], tube: str) -> Problem:
    """One problem for all runs that wait for the same price, at the first of them."""
    more = f" (and {len(runs) - 1} more of its kind)" if len(runs) > 1 else ""
    message = f"run {runs[0].name!r}{more}: the price list has no price for {tube}"
    return Problem(place=runs[0].place, message=message)
