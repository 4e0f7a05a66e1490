"""The cheapest sizes of a tree, and for each run what decided its size."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec.structs import replace

from supplycalc.problems import ComputationError
from supplycalc.sizing.design import NextSmaller
from supplycalc.sizing.evaluate import Account, account, option, with_one_size
from supplycalc.sizing.feed import (
    FeedOrder,
    feed_order,
    members_of_groups,
    outranks_any_feed,
)
from supplycalc.sizing.fronts import cheapest
from supplycalc.sizing.problem import TOLERANCE, LinkOption, LinkProblem, SizingProblem
from supplycalc.sizing.situation import RunChoice, Situation
from supplycalc.units import show

NOT_WORTH_PIPE = 689.5
"""[Pa] 0.1 psi: where pressure is short anyway, larger pipe is not chosen for less; our own."""
NOT_WORTH_SHARE = 0.05
"""Nor for less than this share of what is short; our own."""
MOST_LOSS = 1e8
"""[Pa] Ten times the highest pressure that a file may name: a loss beyond it is a slip of the pen,
and next to it the pressures of a house would drown in rounding; our own."""


def choose(situation: Situation) -> tuple[Account, bool]:
    """Choose the cheapest sizes that keep every limit; the least bad ones where none do.

    Least bad: every fixture gets what it requires, or where that is out of reach, all that the
    largest permitted sizes would give it, less what no pipe is bought for: 0.1 psi, or 5 % of what
    is short. The reserve that the file asks for is kept where any choice of sizes keeps it, and
    left aside otherwise.

    Args:
        situation: the tree with its design flows and the sizes that limits leave.

    Returns:
        The pressures for the chosen sizes, and whether every outlet keeps its pressure.

    Raises:
        ComputationError: whatever the sizes, more pressure is lost than any water supply has.

    How: exact Pareto fronts, see `fronts`.
    """
    _refuse_absurd(situation)
    solution = cheapest(_problem(situation, reserve=situation.tree.house.limits.reserve))
    if not solution.feasible:
        solution = cheapest(_problem(situation))
    if not solution.feasible:
        solution = replace(
            cheapest(_problem(situation, reachable=_reach(situation))), feasible=False
        )
    sizes = [
        0 if choice is None else choice.allowed[solution.choice[i]]
        for i, choice in enumerate(situation.choices)
    ]
    return account(situation, sizes), solution.feasible


def can_serve(situation: Situation) -> bool:
    """Whether any choice of sizes gives every outlet its pressure.

    Args:
        situation: the tree with its design flows and the sizes that limits leave.

    Returns:
        True where the largest permitted sizes do: none leaves any outlet more pressure.
    """
    return account(situation, largest_sizes(situation)).worst_margin >= -TOLERANCE


def _refuse_absurd(situation: Situation) -> None:
    least = [
        situation.device_loss[i]
        if choice is None
        else min(choice.options[j].loss for j in choice.allowed)
        for i, choice in enumerate(situation.choices)
    ]
    if math.fsum(least) <= MOST_LOSS:
        return
    tree, loss = situation.tree, account(situation, largest_sizes(situation)).loss
    lost = [math.fsum(loss[i] for i in tree.path(link)) for link in range(len(tree))]
    if max(lost) <= MOST_LOSS:
        return
    way = tree.path(lost.index(max(lost)))
    worst = max(way, key=loss.__getitem__)
    most = show(MOST_LOSS, "pressure", tree.house.project.units)
    flow = show(float(situation.demand.design_flow[worst]), "flow", tree.house.project.units)
    raise ComputationError(
        f"more than {most} would be lost on the way through {tree.names[way[-1]]}, most of it in "
        f"{tree.names[worst]} at {flow}; check lengths, bores, losses and flows"
    )


def _reach(situation: Situation) -> list[float]:
    """What is asked of each outlet where not all can be served [Pa]."""
    best = account(situation, largest_sizes(situation)).pressure
    return [
        math.inf if most >= asked else most - max(NOT_WORTH_PIPE, NOT_WORTH_SHARE * (asked - most))
        for asked, most in zip(situation.required, best, strict=True)
    ]


def largest_sizes(situation: Situation) -> list[int]:
    """The largest permitted size of every run, never larger than its feed, groups alike.

    Args:
        situation: the tree and the sizes that limits leave.

    Returns:
        Index of each run's size in its family.

    How: lowering from the top until nothing changes; sizes form a lattice.
    """
    order = feed_order(situation.choices)
    sizes = [0 if choice is None else choice.allowed[-1] for choice in situation.choices]
    groups = members_of_groups(situation.choices)
    changed = True
    while changed:
        changed = False
        for i, choice in enumerate(situation.choices):
            above = situation.tree.feeding_run(i)
            feed = situation.choices[above] if choice is not None else None
            if choice is None or feed is None or outranks_any_feed(situation, order, i):
                continue
            ceiling = order.ceiling(feed.options[sizes[above]].size)
            fitting = [j for j in choice.allowed if order.rank(choice.options[j].size) <= ceiling]
            if fitting and fitting[-1] < sizes[i]:
                sizes[i], changed = fitting[-1], True
        for members in groups.values():
            lowest = min(
                choice.allowed.index(sizes[i])
                for i in members
                if (choice := situation.choices[i]) is not None
            )
            for i in members:
                choice = situation.choices[i]
                if choice is not None and sizes[i] != choice.allowed[lowest]:
                    sizes[i], changed = choice.allowed[lowest], True
    return sizes


def _problem(
    situation: Situation, *, reserve: float = 0.0, reachable: Sequence[float] | None = None
) -> SizingProblem:
    """The abstract problem; with `reachable`, no outlet is asked for more than that pressure."""
    order = feed_order(situation.choices)
    required = [asked + reserve for asked in situation.required]
    if reachable is not None:
        required = [min(pair) for pair in zip(required, reachable, strict=True)]
    groups: dict[str, int] = {}
    links = []
    for i, choice in enumerate(situation.choices):
        if choice is None:
            options: tuple[LinkOption, ...] = (
                LinkOption(cost=0.0, loss=situation.device_loss[i], rank=None, ceiling=math.inf),
            )
            group, exempt = -1, False
        else:
            options = tuple(
                LinkOption(
                    cost=choice.options[j].cost,
                    loss=choice.options[j].loss,
                    rank=order.rank(choice.options[j].size),
                    ceiling=order.ceiling(choice.options[j].size),
                )
                for j in choice.allowed
            )
            name = choice.run.group
            group = -1 if name is None else groups.setdefault(name, len(groups))
            exempt = outranks_any_feed(situation, order, i)
        links.append(
            LinkProblem(
                parent=situation.tree.parent[i],
                options=options,
                static_gain=situation.static_gain[i],
                required=required[i],
                outlet_limit=situation.outlet_limit[i],
                group=group,
                exempt=exempt,
            )
        )
    return SizingProblem(links=tuple(links), available=situation.available)


def reasons(situation: Situation, done: Account) -> list[tuple[str, NextSmaller | None]]:
    """For each run what decided its size, and what the next smaller size would have done.

    Args:
        situation: the tree with its design flows.
        done: the chosen sizes.

    Returns:
        One (reason, next smaller size or None) per link; ("", None) for links that are not runs.

    How: by trying.
    """
    order = feed_order(situation.choices)
    groups = members_of_groups(situation.choices)
    fed: dict[int, list[int]] = {}
    for i, choice in enumerate(situation.choices):
        if choice is not None:
            fed.setdefault(situation.tree.feeding_run(i), []).append(i)
    result: list[tuple[str, NextSmaller | None]] = []
    for i, choice in enumerate(situation.choices):
        if choice is None:
            result.append(("", None))
            continue
        members = groups.get(choice.run.group or "", [i])
        result.append(_reason(situation, done, i, choice, members, fed.get(i, []), order))
    return result


def _reason(
    situation: Situation,
    done: Account,
    link: int,
    choice: RunChoice,
    members: Sequence[int],
    fed: Sequence[int],
    order: FeedOrder,
) -> tuple[str, NextSmaller | None]:
    chosen = done.sizes[link]
    smaller = _next_smaller(choice, chosen)
    if smaller is None:
        return ("fixed by you" if choice.run.size else "smallest made"), None
    name = choice.options[smaller].size.nominal
    tried = done
    for member in members:
        other = situation.choices[member]
        assert other is not None
        position = [one.size.nominal for one in other.options]
        if name in position:
            tried = with_one_size(situation, tried, member, position.index(name))
    outlet = situation.tree.outlets[tried.worst_outlet]
    velocity = choice.options[smaller].velocity
    decided, reason = _decided(situation, done, tried, link, choice, smaller, members, fed, order)
    return decided, NextSmaller(
        nominal=name,
        velocity=velocity,
        loss=choice.options[smaller].loss,
        worst_margin=tried.worst_margin,
        worst_name=outlet.name,
        reason=reason,
    )


def _next_smaller(choice: RunChoice, chosen: int) -> int | None:
    """Index of the next smaller size: of those the user offers, else of the whole family."""
    smaller = [j for j in choice.offered if j < chosen]
    if not smaller:
        smaller = [j for j in range(chosen) if choice.options[j].size.common]
    return smaller[-1] if smaller else None


def _decided(
    situation: Situation,
    done: Account,
    tried: Account,
    link: int,
    choice: RunChoice,
    smaller: int,
    members: Sequence[int],
    fed: Sequence[int],
    order: FeedOrder,
) -> tuple[str, str]:
    """(what decided the size in a word or two, why the next smaller one was not taken)."""
    if choice.run.size is not None:
        return "fixed by you", "you fixed the size"
    if smaller not in choice.offered:
        return "smallest you allow", "not among the sizes you allow"
    if smaller < choice.minimum:
        return choice.minimum_source, f"below the {choice.minimum_source}"
    over = [
        member
        for member in members
        if (other := situation.choices[member]) is not None
        and option(situation, tried.sizes, member).velocity > other.velocity_limit * (1 + 1e-9)
    ]
    if over:
        if link in over:
            return "velocity", "water would run faster than the limit"
        other = situation.choices[over[0]]
        assert other is not None
        return "its group", f"too fast in {other.run.name}, of the same group"
    if tried.worst_margin < -1e-6 and tried.worst_margin < done.worst_margin:
        outlet = situation.tree.outlets[tried.worst_outlet]
        return "pressure", f"{outlet.name} would fall short"
    if done.worst_margin < -1e-6 and (shorter := _shorter(situation, done, tried)):
        return "pressure", shorter
    if tried.worst_margin < situation.tree.house.limits.reserve - 1e-6 <= done.worst_margin:
        return "reserve", "the reserve you ask for would not be kept"
    mine = order.ceiling(choice.options[smaller].size)
    for below in fed:
        other = situation.choices[below]
        assert other is not None
        if order.rank(other.options[done.sizes[below]].size) > mine:
            return "the pipe below it", f"{other.run.name}, which it feeds, is larger"
    if len(members) > 1:
        return "its group", "another run of the group decided"
    return "least cost", "dearer for the house as a whole"


def _shorter(situation: Situation, done: Account, tried: Account) -> str:
    """Where some outlet is short anyway: which one a change would leave shorter, if any."""
    found, most = "", 1e-6
    for outlet in situation.tree.outlets:
        before = done.pressure[outlet.link] - outlet.required_pressure
        after = tried.pressure[outlet.link] - outlet.required_pressure
        if after < -1e-6 and before - after > most:
            most = before - after
            verb = "shorter still" if before < -1e-6 else "short"
            found = f"{outlet.name} would fall {verb}"
    return found
