"""One house sized for its numbers only: what studies repeat hundreds of times."""

from __future__ import annotations

from msgspec import Struct

from supplycalc.catalogue import Catalogue
from supplycalc.demand import design_flows
from supplycalc.model import House
from supplycalc.network import build_tree
from supplycalc.problems import ComputationError
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.choices import pipe_mass, prepare
from supplycalc.sizing.evaluate import Account, option
from supplycalc.sizing.price_cost import only_priced, price_cost
from supplycalc.sizing.situation import Situation
from supplycalc.sizing.size import choose
from supplycalc.supply.source import source_pressure


class Trial(Struct, frozen=True, kw_only=True):
    """A sized house without findings, reasons and assumptions; its numbers are those of `size`."""

    situation: Situation
    done: Account
    feasible: bool
    """Whether every fixture keeps its pressure."""
    cost: float
    """[kg], or in the price list's currency"""

    @property
    def worst_margin(self) -> float:
        """Least margin over what a fixture needs [Pa]."""
        return self.done.worst_margin

    @property
    def worst_name(self) -> str:
        """The fixture with that margin."""
        return self.situation.tree.outlets[self.done.worst_outlet].name

    def size_of(self, name: str) -> str | None:
        """Nominal size of a run by its name, or None where there is no such run."""
        for i, choice in enumerate(self.situation.choices):
            if choice is not None and choice.run.name == name:
                return choice.options[self.done.sizes[i]].size.nominal
        return None


def try_house(house: House, catalogue: Catalogue, prices: PriceList | None = None) -> Trial:
    """Size a house at least cost, as `size` does, and leave out the judging.

    Args:
        house: a checked house, perhaps changed since.
        catalogue: its tubes, fittings, devices and fixture kinds.
        prices: price list that decides what is cheapest; None: the mass of pipe.

    Returns:
        The sizes and pressures.

    Raises:
        InputError: a fixed size has no price, or no size of a run has one.
        ComputationError: no trustworthy result can be computed.
    """
    if prices is not None:
        house = only_priced(house, catalogue, prices)
    tree = build_tree(house, catalogue)
    demand = design_flows(tree)
    source = source_pressure(house, demand.design_flow[0])
    cost = pipe_mass if prices is None else price_cost(prices)
    return settle(prepare(tree, demand, source.design_pressure, source.static_pressure, cost))


def settle(situation: Situation) -> Trial:
    """Choose the sizes of a situation and add up what they cost.

    Args:
        situation: a tree with its design flows and permitted sizes.

    Returns:
        The sizes and pressures.
    """
    done, feasible = choose(situation)
    cost = sum(
        option(situation, done.sizes, i).cost
        for i, choice in enumerate(situation.choices)
        if choice is not None
    )
    return Trial(situation=situation, done=done, feasible=feasible, cost=cost)


def attempt(house: House | None, catalogue: Catalogue) -> Trial | None:
    """Size a changed house where the change exists and can be computed.

    Args:
        house: the changed house, or None where there is no such change.
        catalogue: its tubes, fittings, devices and fixture kinds.

    Returns:
        The trial, or None.
    """
    if house is None:
        return None
    try:
        return try_house(house, catalogue)
    except ComputationError:
        return None
