"""The abstract sizing problem: one option per link of a rooted tree, at least total cost.

Nothing here knows of pipes or houses. A link has options, each with a cost and a loss at the
link's design flow; an outlet asks for a pressure; no size may feed one that ranks above its
ceiling. The source feeds every size.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

TOLERANCE = 1e-6
"""How far the pressure needed may exceed the pressure available [Pa]: room for rounding only."""


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
            if any(not (0.0 <= option.cost < math.inf) for option in link.options):
                raise ValueError(f"link {index}: a cost is negative or not finite")
            if any(not math.isfinite(option.loss) for option in link.options):
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
