"""What sizing makes least: the mass of pipe, or its price where a price list is given."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from msgspec.structs import replace

from supplycalc.catalogue import Tube, TubeSize
from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.problems import InputError, Problem
from supplycalc.supply.limits import efficiency

if TYPE_CHECKING:
    from supplycalc.reading.prices import PriceList

Cost = Callable[[Run, Tube, TubeSize], float]
"""What a run costs in a size [kg, or in the price list's currency]."""
BEYOND = 1e6
"""What a kilogram of tube without a price counts: the solver is not offered it, so any large cost
does. Our own."""
DAYS_A_YEAR = 365.25
KILOWATT_HOUR = 3.6e6
"""[J]"""


def pipe_mass(run: Run, tube: Tube, size: TubeSize) -> float:
    """Mass of a run's pipe material, the cost where no price list is given [kg].

    Source: geometry.
    """
    ring = math.pi / 4.0 * (size.outside_diameter**2 - size.inside_diameter**2)
    return tube.density * ring * run.length


def cost_by(prices: PriceList | None) -> Cost:
    """What sizing makes least: cost by a price list, or the mass of pipe without one [kg].

    Args:
        prices: price list, or None.
    """
    return pipe_mass if prices is None else price_cost(prices)


def price_cost(prices: PriceList) -> Cost:
    """The cost of a run by a price list: its length at the cheapest listed price per length.

    Returns:
        Cost function of (run, tube, size) [currency].
    """
    rates: dict[tuple[str, str], float] = {}
    for pipe in prices.pipes:
        key, rate = (pipe.material, pipe.size), pipe.price / pipe.length
        rates[key] = min(rate, rates.get(key, rate))

    def cost(run: Run, tube: Tube, size: TubeSize) -> float:
        rate = rates.get((run.material, size.nominal))
        return pipe_mass(run, tube, size) * BEYOND if rate is None else rate * run.length

    return cost


def pumping_cost(house: House, prices: PriceList | None) -> float:
    """What pumping against a pressure costs over the years that a price list counts [currency/Pa];
    0 where pumping does not count.

    Source: work is pressure times volume; usual efficiencies are common practice, no source.
    """
    electricity = None if prices is None else prices.electricity
    pump = house.source.pump
    if electricity is None or pump is None:
        return 0.0
    share = efficiency(pump.kind).middle if pump.efficiency is None else pump.efficiency
    volume = electricity.daily_water * DAYS_A_YEAR * electricity.years
    return volume / share / KILOWATT_HOUR * electricity.price


def only_priced(house: House, prices: PriceList) -> House:
    """The same house with only such sizes to choose from as have a price.

    Returns:
        The narrowed house, saying so among its assumptions where something was left out.

    Raises:
        InputError: a fixed size has no price, or no size of a run has one.
    """
    missing: dict[str, list[Run]] = {}
    left_out: dict[str, None] = {}

    def each(run: Run) -> Run:
        priced = {pipe.size for pipe in prices.pipes if pipe.material == run.material}
        if run.existing:
            return run
        if run.size is not None:
            if run.size not in priced:
                missing.setdefault(f"{run.material} {run.size}", []).append(run)
            return run
        if run.classes:
            sold = {pipe.material for pipe in prices.pipes}
            kept_classes = tuple(name for name in run.classes if name in sold)
            run = replace(run, classes=kept_classes or run.classes)
        family = house.catalogue.tubes[run.material].sizes
        offered = run.sizes or tuple(size.nominal for size in family if size.common)
        kept = tuple(nominal for nominal in offered if nominal in priced)
        if not kept:
            missing.setdefault(f"{run.material} {' or '.join(offered)}", []).append(run)
            return run
        for nominal in offered:
            if nominal not in priced:
                left_out[f"{run.material} {nominal}"] = None
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
