"""Exact least-cost sizing by Pareto fronts of (pressure needed, cost) from the outlets up.

The pressure needed at the head of a subtree is a maximum over what it feeds and its cost a sum, so
only the designs that need less pressure or cost less than every other are worth keeping. This
module deals with what surrounds that search: groups, shortfalls, sizes that can't be reconciled.
"""

from __future__ import annotations

import heapq
import math

from msgspec.structs import replace

from supplycalc.sizing.problem import TOLERANCE, SizingProblem, Solution, evaluate
from supplycalc.sizing.search import least_cost
from supplycalc.sizing.shortfall import least_shortfall, surely_served
from supplycalc.sizing.ways import unavoidably_oversized, unfold

Fixed = tuple[tuple[int, int], ...]
"""(group, option) pairs decided so far."""


def cheapest(problem: SizingProblem) -> Solution:
    """Find the cheapest design that serves every outlet, or the one that falls short least.

    Among equally cheap designs the one that needs the least pressure is taken. Where no design
    serves every outlet, the largest shortfall of any outlet is made as small as possible, then the
    cost. Links that no design could keep from ranking above what feeds them are exempt.

    Groups are decided by branching on the first one whose links disagree, cheapest bound first; at
    worst every combination of their options is solved once (343 for three groups of seven sizes).

    Args:
        problem: the tree, its options and the pressure available [Pa].

    Returns:
        The design.

    How: dynamic programming with Lagrangian bounds.
    """
    if not problem.links:
        return evaluate(problem, ())
    oversized = unavoidably_oversized(problem)
    exempt = oversized
    choice = _best(problem, exempt, 0.0)
    if choice is None:
        slack = _smallest_slack(problem, exempt)
        if slack == math.inf:  # the size rule forbids every choice of the groups
            grouped = tuple(i for i, link in enumerate(problem.links) if link.group >= 0)
            exempt = tuple(sorted({*oversized, *grouped}))
            slack = _smallest_slack(problem, exempt)
        choice = _best(problem, exempt, max(slack, 0.0))
    assert choice is not None, "a design with the least shortfall exists"
    return replace(evaluate(problem, choice), oversized=_above_feed(problem, exempt, choice))


def _above_feed(
    problem: SizingProblem, exempt: tuple[int, ...], choice: tuple[int, ...]
) -> tuple[int, ...]:
    """Those of the links exempted here that do rank above what feeds them."""
    ceilings: list[float] = []
    above = []
    for index, link in enumerate(problem.links):
        feed = math.inf if link.parent < 0 else ceilings[link.parent]
        option = link.options[choice[index]]
        ceilings.append(feed if option.rank is None else option.ceiling)
        if index in exempt and not link.exempt and option.rank is not None and option.rank > feed:
            above.append(index)
    return tuple(above)


def _best(problem: SizingProblem, exempt: tuple[int, ...], slack: float) -> tuple[int, ...] | None:
    """Cheapest choice when every requirement is lowered by `slack` [Pa]; None: there is none."""
    relaxed = _with_slack(problem, slack)
    queue: list[tuple[float, float, Fixed, tuple[int, ...]]] = []

    def solve(fixed: Fixed) -> None:
        ways = unfold(relaxed, exempt, dict(fixed))
        if (
            surely_served(ways, relaxed.available)
            or least_shortfall(ways, relaxed.available) <= TOLERANCE
        ):
            cost, needed, choice = least_cost(ways, relaxed.available)
            heapq.heappush(queue, (cost, needed, fixed, choice))

    solve(())
    while queue:
        _, _, fixed, choice = heapq.heappop(queue)
        group = _disagreeing(problem, choice)
        if group is None:
            return choice
        count = next(len(link.options) for link in problem.links if link.group == group)
        for option in range(count):
            solve((*fixed, (group, option)))
    return None


def _disagreeing(problem: SizingProblem, choice: tuple[int, ...]) -> int | None:
    """The first group whose links differ in their option."""
    taken: dict[int, int] = {}
    for link, option in zip(problem.links, choice, strict=True):
        if link.group >= 0 and taken.setdefault(link.group, option) != option:
            return link.group
    return None


def _smallest_slack(problem: SizingProblem, exempt: tuple[int, ...]) -> float:
    """By how much all requirements must be lowered so that a design exists [Pa]."""
    groups: dict[int, int] = {}
    for link in problem.links:
        if link.group >= 0:
            groups[link.group] = len(link.options)
    order = sorted(groups)
    start = least_shortfall(unfold(problem, exempt, {}), problem.available)
    queue: list[tuple[float, int, Fixed]] = [(start, 0, ())]
    while True:
        bound, _, fixed = heapq.heappop(queue)
        if len(fixed) == len(order):
            return bound
        group = order[len(fixed)]
        for option in range(groups[group]):
            further = (*fixed, (group, option))
            short = least_shortfall(unfold(problem, exempt, dict(further)), problem.available)
            heapq.heappush(queue, (short, -len(further), further))


def _with_slack(problem: SizingProblem, slack: float) -> SizingProblem:
    """The problem with every requirement lowered, told as higher pressures instead."""
    if slack <= 0.0:
        return problem
    return replace(
        problem,
        available=problem.available + slack,
        links=tuple(
            replace(link, outlet_limit=link.outlet_limit + slack) for link in problem.links
        ),
    )
