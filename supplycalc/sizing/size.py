"""The cheapest sizes of a tree: every fixture served, every limit kept."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.demand import design_flows
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Run
from supplycalc.network import Tree, build_tree, tree_like, well_side
from supplycalc.problems import ComputationError
from supplycalc.sizing.choices import (
    LineSizes,
    RunChoice,
    Situation,
    binding_feeds,
    members_of_groups,
    prepare,
    sizing_problem,
)
from supplycalc.sizing.classes import with_classes
from supplycalc.sizing.costs import cost_by, only_priced, pumping_cost
from supplycalc.sizing.fronts import cheapest
from supplycalc.sizing.line import flow_to_tank, size_line
from supplycalc.sizing.pressures import TreePressures, follow_pressures
from supplycalc.sizing.problem import TOLERANCE
from supplycalc.supply.source import source_pressure
from supplycalc.tables import code_limit
from supplycalc.units import PSI, show
from supplycalc.units.quantities import Pressure

if TYPE_CHECKING:
    from supplycalc.reading.prices import PriceList

WORTH_HAVING = 0.5 * PSI
"""[Pa] Less to spare is worth no pipe; common practice, no source."""
NOT_WORTH_SHARE = 0.05
"""Of what is short anyway, less is worth no pipe; common practice, no source."""
AIR = 1.0
"""[Pa gauge] Just above the air's pressure, so that rounding does not fall below it."""
MOST_LOSS = 1e8
"""[Pa] Ten times the highest pressure that a file may name: a loss beyond it is a slip of the pen,
and next to it the pressures of a house would drown in rounding."""


class SizedTree(Struct, frozen=True, kw_only=True):
    """A tree with a size for every run: its numbers, without findings, reasons and assumptions."""

    situation: Situation
    pressures: TreePressures
    feasible: bool
    """Whether some choice of sizes gives every fixture its pressure."""
    cost: float
    """[kg], or in the price list's currency"""
    reserve: float
    """Margin that the sizes were chosen to keep at every fixture [Pa]."""
    most: float
    """Margin of the worst fixture with the largest permitted sizes [Pa]."""

    @property
    def worst_margin(self) -> float:
        """Least margin over what a fixture needs [Pa]; nothing arriving is as short as can be."""
        worst = self.situation.tree.outlets[self.pressures.worst_outlet]
        return max(self.pressures.worst_margin, -worst.required_pressure)

    @property
    def worst_name(self) -> str:
        """The fixture with that margin."""
        return self.situation.tree.outlets[self.pressures.worst_outlet].name

    def size_of(self, name: str) -> str | None:
        """Nominal size of a run by its name, or None where there is no such run."""
        return self.nominals().get(name)

    def nominals(self) -> dict[str, str]:
        """Nominal size of every run by its name."""
        return self.situation.nominals(self.pressures.sizes)


def situation_of(
    house: House,
    prices: PriceList | None = None,
    like: Situation | None = None,
) -> Situation:
    """Work out what each size of each run of a house would do at the design flows.

    Args:
        prices: price list that decides what is cheapest; None: the mass of pipe.
        like: of a house that draws the same, with the same prices: its design flows and what its
            runs do in each size are not computed anew.

    Raises:
        InputError: a fixed size has no price, or no size of a run has one.
    """
    if prices is not None:
        house = only_priced(house, prices)
    tree = build_tree(house) if like is None else tree_like(like.tree, house)
    demand = design_flows(tree) if like is None else like.demand
    cost = cost_by(prices)
    lines: tuple[LineSizes, ...] = ()
    if house.all_before_tank:
        before = well_side(house)
        wanted = flow_to_tank(house, demand.design_flow[0])
        energy = pumping_cost(before, prices)
        if before.further_wells:
            from supplycalc.sizing.lines import size_lines

            before, lines = size_lines(before, wanted, cost, energy)
        else:
            before, line = size_line(before, wanted, cost, energy)
            lines = (line,)
        house = replace(
            house, suction=before.suction, line=before.line, joined_wells=before.joined_wells
        )
        tree = replace(tree, house=house)
    known = None if house.source.filled_by is not None or len(lines) != 1 else lines[0].pump_flow
    source = source_pressure(house, demand.design_flow[0], known)
    classed = with_classes(house, tree, source)
    if classed is not house:
        house, tree = classed, build_tree(classed)
    return replace(prepare(tree, demand, source, cost, like), lines=lines)


def size_tree(house: House, prices: PriceList | None = None) -> SizedTree:
    """Size a house at least cost for its numbers only: what studies repeat hundreds of times.

    Args:
        prices: price list that decides what is cheapest; None: the mass of pipe.

    Raises:
        InputError: a fixed size has no price, or no size of a run has one.
        ComputationError: no trustworthy result can be computed.
    """
    return choose(situation_of(house, prices))


def size_tree_or_none(house: House | None) -> SizedTree | None:
    """Size a changed house where the change exists and can be computed.

    Args:
        house: the changed house, or None where there is no such change.

    Returns:
        The sizes and pressures, or None.
    """
    if house is None:
        return None
    try:
        return size_tree(house)
    except ComputationError:
        return None


def choose(situation: Situation) -> SizedTree:
    """Choose the cheapest sizes that keep every limit and a reserve of pressure.

    The reserve is the file's or the usual one; where no choice of the permitted sizes reaches it,
    the most that they reach. Where some fixture falls short
    whatever the sizes, larger pipe mends nothing: the smallest that velocity and minimum sizes
    leave are taken.

    Raises:
        ComputationError: whatever the sizes, more pressure is lost than any water supply has.

    How: exact Pareto fronts, see `fronts`.
    """
    widest = follow_pressures(situation, largest_sizes(situation))
    _refuse_absurd(situation, widest.loss)
    situation, most = _over_heights(situation, widest.pressure), widest.worst_margin
    if most < -TOLERANCE:
        return sized_as(situation, smallest_sizes(situation), most=most)
    wanted = (it for it in wanted_reserves(situation.tree.house) if it <= most)
    return _with_reserve(situation, next(wanted, max(most, 0.0)), most)


def _over_heights(situation: Situation, reached: Sequence[float]) -> Situation:
    """Ask for the air's pressure at every height on the way that the largest sizes get over.

    Of a height inside a run what it asks of the run's end, the loss behind it left aside.

    Args:
        reached: pressure at each link's end with the largest sizes [Pa gauge].
    """
    weight = specific_weight(situation.tree.house.water.cold)
    required = list(situation.required)
    for i, height in _heights(situation.tree):
        needed = max(weight * (height - situation.tree.elevation[i]), AIR)
        if reached[i] >= needed:
            required[i] = max(required[i], needed)
    return replace(situation, required=tuple(required))


def _heights(tree: Tree) -> Iterator[tuple[int, float]]:
    """Links that end at, or pass over, a known height above an outlet that they feed [m]."""
    lowest = [math.inf] * len(tree)
    for outlet in tree.outlets:
        lowest[outlet.link] = tree.elevation[outlet.link]
    for i in range(len(tree) - 1, 0, -1):
        above = tree.parent[i]
        lowest[above] = min(lowest[above], lowest[i])
    for i in range(1, len(tree)):
        link, top = tree.links[i], tree.elevation[i]
        profile = link.profile if isinstance(link, Run) else ()
        if profile:
            top = max([top, *(height for _, height in profile[1:])])
        if top > lowest[i] and (tree.known_elevation[i] or profile):
            yield i, top


def wanted_reserves(house: House) -> list[float]:
    """The margins to keep at every fixture, falling [Pa].

    The file's stands first, and the usual one, below which a margin is thin, where it is less.
    """
    own, usual = house.limits.reserve, code_limit("thin-margin").value
    if own is None:
        return [usual]
    return [own, usual] if own > usual else [own]


def with_margin(sized: SizedTree, reserve: Pressure) -> SizedTree | None:
    """The cheapest sizes that keep another reserve; None where no choice of sizes keeps the
    reserve."""
    if reserve > sized.most + TOLERANCE:
        return None
    return _with_reserve(sized.situation, min(reserve, sized.most), sized.most)


def _with_reserve(situation: Situation, reserve: float, most: float) -> SizedTree:
    """The cheapest sizes that keep a reserve [Pa]."""
    solution = cheapest(sizing_problem(situation, reserve))
    sizes = situation.sizes_by(solution.choice)
    return sized_as(situation, sizes, most=most, reserve=reserve, feasible=solution.feasible)


def at_sizes(sized: SizedTree, nominals: Mapping[str, str]) -> SizedTree:
    """The same tree with the sizes of another design.

    Args:
        nominals: nominal size by the name of the run; a run that may not have its own is as near to
            it as limits and feed leave.
    """
    sizes = list(sized.pressures.sizes)
    for i, choice in enumerate(sized.situation.choices):
        if choice is None or choice.run.name not in nominals:
            continue
        family = [option.size.nominal for option in choice.options]
        wanted = family.index(nominals[choice.run.name])
        sizes[i] = min(choice.allowed, key=lambda j: abs(j - wanted))
    sizes = held_to_feeds(sized.situation, sizes)
    return sized_as(sized.situation, sizes, most=sized.most, feasible=sized.feasible)


def least_short(sized: SizedTree) -> SizedTree:
    """The cheapest sizes that fall hardly shorter than the largest: fair beside other designs.

    Returns:
        The tree with those sizes, short by a twentieth or 0.5 psi more at most.
    """
    slack = max(WORTH_HAVING, -NOT_WORTH_SHARE * sized.most)
    tried = _with_reserve(sized.situation, sized.most - slack, sized.most)
    return replace(tried, feasible=False, reserve=0.0)


def at_largest(sized: SizedTree) -> SizedTree:
    """The same tree with the largest permitted sizes: none leaves any outlet more pressure."""
    sizes = largest_sizes(sized.situation)
    return sized_as(sized.situation, sizes, most=sized.most, feasible=sized.feasible)


def sized_as(
    situation: Situation,
    sizes: Sequence[int],
    *,
    most: float,
    reserve: float = 0.0,
    feasible: bool = False,
) -> SizedTree:
    """The tree with given sizes.

    Args:
        sizes: index of each run's size in its family.
        most: margin of the worst fixture with the largest permitted sizes [Pa].
        reserve: margin that the sizes were chosen to keep [Pa].
        feasible: whether some choice of sizes serves every fixture.
    """
    return SizedTree(
        situation=situation,
        pressures=follow_pressures(situation, sizes),
        feasible=feasible,
        cost=situation.cost(sizes),
        reserve=reserve,
        most=most,
    )


def can_serve(situation: Situation) -> bool:
    """Whether any choice of sizes gives every outlet its pressure.

    Returns:
        True where the largest permitted sizes do: none leaves any outlet more pressure.
    """
    return follow_pressures(situation, largest_sizes(situation)).worst_margin >= -TOLERANCE


def _refuse_absurd(situation: Situation, loss: Sequence[float]) -> None:
    """Raise where with the largest sizes more is lost [Pa] than any water supply has."""
    if math.fsum(loss) <= MOST_LOSS:
        return
    tree = situation.tree
    lost = [math.fsum(loss[i] for i in tree.path(link)) for link in range(len(tree))]
    if max(lost) <= MOST_LOSS:
        return
    way = tree.path(lost.index(max(lost)))
    worst = max(way, key=loss.__getitem__)
    most = show(MOST_LOSS, "pressure", tree.house.project.shown_in)
    flow = show(situation.demand.design_flow[worst], "flow", tree.house.project.shown_in)
    raise ComputationError(
        f"more than {most} would be lost on the way through {tree.names[way[-1]]}, most of it in "
        f"{tree.names[worst]} at {flow}; check lengths, diameters, losses and flows"
    )


def largest_sizes(situation: Situation) -> list[int]:
    """The largest permitted size of every run, never larger than its feed, groups alike.

    Returns:
        Index of each run's size in its family.
    """
    largest = [0 if choice is None else choice.allowed[-1] for choice in situation.choices]
    return held_to_feeds(situation, largest)


def held_to_feeds(situation: Situation, sizes: list[int]) -> list[int]:
    """The largest permitted sizes up to those given, none larger than its feed, groups alike.

    Args:
        sizes: index of each run's size in its family; changed in place.
    """
    return _settled(situation, sizes, lower=True)


def smallest_sizes(situation: Situation) -> list[int]:
    """The smallest permitted size of every run, none larger than its feed, groups alike.

    Returns:
        Index of each run's size in its family.
    """
    smallest = [0 if choice is None else choice.allowed[0] for choice in situation.choices]
    return feeds_raised_to(situation, smallest)


def feeds_raised_to(situation: Situation, sizes: list[int]) -> list[int]:
    """The smallest permitted sizes from those given on, none larger than its feed, groups alike.

    Args:
        sizes: index of each run's size in its family; changed in place.
    """
    return _settled(situation, sizes, lower=False)


def _settled(situation: Situation, sizes: list[int], *, lower: bool) -> list[int]:
    """Sizes lowered to what feeds and groups allow, or raised to what they ask, over and over until
    nothing changes: sizes form a lattice."""
    held, groups = _held(situation), members_of_groups(situation.choices).values()
    before: list[int] = []
    while before != sizes:
        before = list(sizes)
        for i, choice, above, feed in held:
            if lower:
                ceiling = feed.options[sizes[above]].ceiling
                fitting = [j for j in choice.allowed if choice.options[j].rank <= ceiling]
                sizes[i] = min([sizes[i], *fitting[-1:]])
            else:
                rank = choice.options[sizes[i]].rank
                wide = [j for j in feed.allowed if feed.options[j].ceiling >= rank]
                sizes[above] = max([sizes[above], *wide[:1]])
        for members in groups:
            group = {i: each for i in members if (each := situation.choices[i]) is not None}
            places = [each.allowed.index(sizes[i]) for i, each in group.items()]
            for i, each in group.items():
                sizes[i] = each.allowed[min(places) if lower else max(places)]
    return sizes


def _held(situation: Situation) -> list[tuple[int, RunChoice, int, RunChoice]]:
    """Runs that must not be larger than what feeds them, with their number and its."""
    return [
        (i, choice, above, feed)
        for i, above in enumerate(binding_feeds(situation))
        if above >= 0
        and (choice := situation.choices[i]) is not None
        and (feed := situation.choices[above]) is not None
    ]
