"""The abstract sizing problem: one option per link of a rooted tree, at least total cost.

Nothing here knows of pipes or houses. A link has options, each with a cost and a loss at the
link's design flow; an outlet asks for a pressure; no size may feed one that ranks above its
ceiling. The source feeds every size. For the search the problem is unfolded: for every link and
every class of feeding sizes, the ways to build it. Feeding sizes under which a subtree has the same
choices form one class, so the size rule costs only where it binds; without it every link has one.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache

from msgspec import Struct

TOLERANCE = 1e-6
"""How far the pressure needed may exceed the pressure available [Pa]: room for rounding only."""

NOWHERE_NEEDED = -1e12
"""Stands for "no outlet" [Pa]: far below any pressure, yet finite, so that sums stay numbers."""

_Way = list[tuple[int, int]]
"""(option, index into `Plan.below`) of every option that a class leaves."""
_Place = tuple[int, tuple[float | None, ...], tuple[float, ...], bool, int]
"""Of a link: its parent, rank and ceiling of each option, whether it is exempt from the size rule,
and the one option that it may take; -1: any."""


class LinkOption(Struct, frozen=True, kw_only=True):
    """One way to build a link."""

    cost: float
    """In any unit, the same for all options; not negative."""
    loss: float
    """At the link's design flow [Pa]."""
    rank: float | None = None
    """Place in the order of sizes; None: the link has no size of its own (a device, a manifold)
    and hands the size that feeds it on to the links it feeds."""
    ceiling: float = math.inf
    """Largest rank that this size may feed; without meaning where `rank` is None."""


class LinkProblem(Struct, frozen=True, kw_only=True):
    """A link of the tree: what it may be built of and what it must deliver at its end."""

    parent: int
    """Index of the link that feeds it, -1 for the source; always less than its own index."""
    options: tuple[LinkOption, ...]
    static_gain: float = 0.0
    """Pressure gained along the link by height, negative when it rises [Pa]."""
    required: float = -math.inf
    """Residual pressure required at its end [Pa gauge]; -inf: no outlet there."""
    outlet_limit: float = math.inf
    """Highest pressure possible at its end, for a pressure-reducing valve [Pa gauge]."""
    group: int = -1
    """Links of one group take the option of the same index; -1: no group."""
    exempt: bool = False
    """True: its own rank is not held against what feeds it (a size that the user fixed)."""


class SizingProblem(Struct, frozen=True, kw_only=True):
    """A tree of links in preorder and what the source can give."""

    links: tuple[LinkProblem, ...]
    available: float
    """At the source [Pa gauge]."""

    def __post_init__(self) -> None:
        counts: dict[int, int] = {}
        for index, link in enumerate(self.links):
            if not -1 <= link.parent < index:
                raise ValueError(f"link {index}: parent {link.parent} does not come before it")
            if not link.options:
                raise ValueError(f"link {index}: no option")
            for option in link.options:
                if not 0.0 <= option.cost < math.inf:
                    raise ValueError(f"link {index}: a cost is negative or not finite")
                if not -math.inf < option.loss < math.inf:
                    raise ValueError(f"link {index}: a loss is not finite")
            if link.group >= 0 and counts.setdefault(link.group, len(link.options)) != len(
                link.options
            ):
                raise ValueError(f"link {index}: group {link.group} has unequal option lists")


class Solution(Struct, frozen=True, kw_only=True):
    """The option chosen for every link."""

    feasible: bool
    """Whether every outlet is served; False: the design is the one that falls short least."""
    choice: tuple[int, ...]
    """Index of the option of each link."""
    cost: float
    needed: float
    """Pressure needed at the source so that every outlet is served [Pa gauge], limits of
    pressure-reducing valves left aside."""
    shortfall: float
    """Largest of required less residual pressure over the outlets [Pa]; negative is margin."""
    oversized: tuple[int, ...] = ()
    """Links that can't but rank above what feeds them; they were treated as exempt."""


def solution_of(problem: SizingProblem, choice: Sequence[int]) -> Solution:
    """Cost and pressures of a given design; the size rule and groups are not looked at.

    Args:
        problem: the tree, its options and the pressure available [Pa].
        choice: index of the option of each link.

    Returns:
        The solution; `feasible` tells whether every outlet is served within `TOLERANCE`.
    """
    links = problem.links
    need = [link.required for link in links]
    needed, excess = -math.inf, -math.inf
    for index in range(len(links) - 1, -1, -1):
        link = links[index]
        excess = max(excess, need[index] - link.outlet_limit)
        upstream = need[index] + link.options[choice[index]].loss - link.static_gain
        if link.parent < 0:
            needed = max(needed, upstream)
        elif upstream > need[link.parent]:
            need[link.parent] = upstream
    shortfall = max(excess, needed - problem.available)
    return Solution(
        feasible=shortfall <= TOLERANCE,
        choice=tuple(choice),
        cost=math.fsum(link.options[o].cost for link, o in zip(links, choice, strict=True)),
        needed=needed,
        shortfall=shortfall,
    )


class Plan(Struct, frozen=True, kw_only=True):
    """What may feed what in a tree, whatever it costs and loses, in lists by link."""

    children: list[list[int]]
    roots: list[int]
    ways: list[list[_Way]]
    """By link and class: (option, index into `below`)."""
    below: list[list[tuple[int, ...]]]
    """By link: classes of its children, in the order of `children`."""
    root_classes: list[int]


class Ways(Plan, frozen=True, kw_only=True):
    """The choices of every link, in lists by link."""

    drop: list[list[float]]
    """Loss less static gain of each option [Pa]."""
    cost: list[list[float]]
    """Cost of each option in whole units of a fine grid, so that sums do not depend on order."""
    required: list[float]
    limit: list[float]


def unavoidably_oversized(problem: SizingProblem) -> tuple[int, ...]:
    """Find the links that no design could keep from ranking above what feeds them.

    Args:
        problem: the tree, losses in [Pa].

    Returns:
        Indices of links, exempt ones left out; with these exempt, a design that keeps the rule
        exists, groups aside.
    """
    largest: list[float] = []
    oversized = []
    for index, link in enumerate(problem.links):
        feed = math.inf if link.parent < 0 else largest[link.parent]
        offered = [
            feed if option.rank is None else option.ceiling
            for option in link.options
            if link.exempt or option.rank is None or option.rank <= feed
        ]
        if not offered:
            oversized.append(index)
            offered = [option.ceiling for option in link.options]
        largest.append(max(offered))
    return tuple(oversized)


def unfold(problem: SizingProblem, exempt: Collection[int], fixed: Mapping[int, int]) -> Ways:
    """List the ways to build every link under every class of feeding sizes; a class without any way
    can't be built.

    Args:
        problem: the tree, losses in [Pa].
        exempt: links to exempt from the size rule besides those that say so.
        fixed: by group the option that its links are to take.
    """
    links, grid = problem.links, cost_grid(problem)
    plan = _plan(
        tuple(
            [
                (
                    link.parent,
                    tuple([option.rank for option in link.options]),
                    tuple([option.ceiling for option in link.options]),
                    link.exempt or index in exempt,
                    fixed.get(link.group, -1),
                )
                for index, link in enumerate(links)
            ]
        )
    )
    return Ways(
        children=plan.children,
        roots=plan.roots,
        drop=[[option.loss - link.static_gain for option in link.options] for link in links],
        cost=[[float(int(option.cost * grid + 0.5)) for option in link.options] for link in links],
        required=[max(link.required, NOWHERE_NEEDED) for link in links],
        limit=[link.outlet_limit for link in links],
        ways=plan.ways,
        below=plan.below,
        root_classes=plan.root_classes,
    )


@lru_cache(maxsize=64)
def _plan(links: tuple[_Place, ...]) -> Plan:
    """The plan of a tree: the same for every reserve, and for variants in which losses differ."""
    children: list[list[int]] = [[] for _ in links]
    roots: list[int] = []
    for index, (parent, *_) in enumerate(links):
        (roots if parent < 0 else children[parent]).append(index)
    ranks = sorted({rank for _, own, *_ in links for rank in own if rank is not None})
    allowed = _allowed(links, ranks)
    # a size is told by the number of ranks it may feed; a link without size by -1
    feeds = [
        [
            -1 if rank is None else bisect_right(ranks, ceiling)
            for rank, ceiling in zip(own, ceilings, strict=True)
        ]
        for _, own, ceilings, *_ in links
    ]
    states = _feeding_states(allowed, feeds, children, roots, len(ranks))
    classes, ways, below = _classes(allowed, feeds, children, states)
    return Plan(
        children=children,
        roots=roots,
        ways=ways,
        below=below,
        root_classes=[classes[root][len(ranks)] for root in roots],
    )


def cost_grid(problem: SizingProblem) -> float:
    """Grid lines per unit of cost: a power of ten such that every total is a whole float.

    Args:
        problem: the tree, losses in [Pa].

    Returns:
        A power of ten; costs written with few decimals lie on the grid exactly, so that equal
        totals compare equal.
    """
    total = math.fsum(max(option.cost for option in link.options) for link in problem.links)
    if total <= 0.0:
        return 1.0
    return float(10.0 ** min(math.floor(15.0 - math.log10(total)), 300))


def _allowed(links: Sequence[_Place], ranks: list[float]) -> list[list[list[int]]]:
    """By link and size that feeds it, told by the number of ranks it may feed: the options left."""
    position: dict[float | None, int] = {rank: index for index, rank in enumerate(ranks)}
    position[None] = -1
    memory: dict[tuple[tuple[float | None, ...], int], list[list[int]]] = {}
    rows = []
    for _, own, _, exempt, only in links:
        held = (None,) * len(own) if exempt or not ranks else own
        row = memory.get((held, only))
        if row is None:
            row = memory[held, only] = [
                [
                    option
                    for option, rank in enumerate(held)
                    if position[rank] < state and (only < 0 or option == only)
                ]
                for state in range(len(ranks) + 1)
            ]
        rows.append(row)
    return rows


def _feeding_states(
    allowed: list[list[list[int]]],
    feeds: list[list[int]],
    children: list[list[int]],
    roots: list[int],
    highest: int,
) -> list[set[int]]:
    """By link: what may feed it, told by the number of ranks that it may feed in turn."""
    states: list[set[int]] = [set() for _ in children]
    for index in roots:
        states[index].add(highest)
    for index, fed in enumerate(children):
        onward = {
            feeds[index][option] if feeds[index][option] >= 0 else state
            for state in states[index]
            for option in allowed[index][state]
        }
        for child in fed:
            states[child] |= onward
    return states


def _classes(
    allowed: list[list[list[int]]],
    feeds: list[list[int]],
    children: list[list[int]],
    states: list[set[int]],
) -> tuple[list[dict[int, int]], list[list[_Way]], list[list[tuple[int, ...]]]]:
    """By link: the class of each feeding size, and `Plan.ways` and `Plan.below`.

    Feeding sizes that leave a subtree the same choices are one class; known from the leaves up.
    """
    classes: list[dict[int, int]] = [{} for _ in children]
    ways: list[list[_Way]] = [[] for _ in children]
    below: list[list[tuple[int, ...]]] = [[] for _ in children]
    for index in range(len(children) - 1, -1, -1):
        fed = [classes[child] for child in children[index]]
        downs: dict[tuple[int, ...], int] = {}
        seen: dict[tuple[tuple[int, int], ...], int] = {}
        for state in sorted(states[index]):
            way = []
            for option in allowed[index][state]:
                offered = feeds[index][option]
                onward = offered if offered >= 0 else state
                down = tuple([child[onward] for child in fed])
                way.append((option, downs.setdefault(down, len(downs))))
            classes[index][state] = seen.setdefault(tuple(way), len(seen))
        ways[index] = [list(way) for way in seen]
        below[index] = list(downs)
    return classes, ways, below
