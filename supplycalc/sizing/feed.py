"""Ties between runs: no size larger than the one that feeds it, one size for a whole group."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import TubeSize, nominal_inches
from supplycalc.network import Tree
from supplycalc.problems import ComputationError
from supplycalc.sizing.situation import RunChoice, Situation

METRIC_SLACK = 1.05
"""Where bores decide, a size may be this much wider than its feed (a PE 32 feeds a copper 28)."""


class FeedOrder(Struct, frozen=True, kw_only=True):
    """How sizes compare: nominal among inch tubes, by bore where a metric one is in the tree."""

    by_bore: bool

    def rank(self, size: TubeSize) -> float:
        """Place of a size in the order [in]."""
        if self.by_bore:
            return size.inside_diameter / 0.0254
        return nominal_inches(size.nominal)

    def ceiling(self, size: TubeSize) -> float:
        """Largest rank that a size may feed [in]."""
        return self.rank(size) * (METRIC_SLACK if self.by_bore else 1.0 + 1e-9)


def feed_order(choices: Sequence[RunChoice | None]) -> FeedOrder:
    """The order in force for a tree.

    Args:
        choices: of every link.

    Returns:
        The order.
    """
    metric = any(choice is not None and choice.tube.metric for choice in choices)
    return FeedOrder(by_bore=metric)


def reconcile(situation: Situation) -> Situation:
    """Settle what limits ask of runs against what ties them to other runs.

    Where a velocity limit asks for more than the feed can be, the feed decides: a larger pipe
    behind a small one would only hide the small one, and the velocity gets its finding. Runs of a
    group keep the sizes that all of them may have.

    Args:
        situation: with each run's sizes by its own limits.

    Returns:
        The situation with the sizes that are left.

    Raises:
        ComputationError: the runs of a group have no size in common.
    """
    choices = _no_larger_than_feed(situation.tree, list(situation.choices))
    return replace(situation, choices=tuple(_common_to_groups(choices)))


def _no_larger_than_feed(tree: Tree, choices: list[RunChoice | None]) -> list[RunChoice | None]:
    if tree.house.limits.larger_than_feed:
        return choices
    order = feed_order(choices)
    for i, choice in enumerate(choices):
        feed = choices[tree.feeding_run(i)] if choice is not None else None
        if choice is None or feed is None or choice.run.size is not None:
            continue
        ceiling = max(order.ceiling(feed.options[j].size) for j in feed.allowed)
        if order.rank(choice.options[choice.allowed[0]].size) <= ceiling:
            continue
        fitting = [
            j
            for j in choice.offered
            if j >= choice.minimum and order.rank(choice.options[j].size) <= ceiling
        ]
        if fitting:
            choices[i] = replace(choice, allowed=(fitting[-1],))
    return choices


def outranks_any_feed(situation: Situation, order: FeedOrder, link: int) -> bool:
    """Whether a run is larger than its feed can be whatever is chosen, or may be by the file.

    Such a run is not held against its feed; a finding tells of it.

    Args:
        situation: the tree and the sizes that are left.
        order: how sizes compare.
        link: index of the run.

    Returns:
        True where the rule does not bind.
    """
    if situation.tree.house.limits.larger_than_feed:
        return True
    choice = situation.choices[link]
    feed = situation.choices[situation.tree.feeding_run(link)]
    if feed is None or choice is None:
        return False
    ceiling = max(order.ceiling(feed.options[j].size) for j in feed.allowed)
    return min(order.rank(choice.options[j].size) for j in choice.allowed) > ceiling


def members_of_groups(choices: Sequence[RunChoice | None]) -> dict[str, list[int]]:
    """Group name -> indices of its runs.

    Args:
        choices: of every link.

    Returns:
        The groups in file order.
    """
    groups: dict[str, list[int]] = {}
    for i, choice in enumerate(choices):
        if choice is not None and choice.run.group is not None:
            groups.setdefault(choice.run.group, []).append(i)
    return groups


def _common_to_groups(choices: list[RunChoice | None]) -> list[RunChoice | None]:
    """Leave in each group only the sizes that all its runs may have.

    Where their limits leave none in common, the largest size that all of them offer is taken.
    """
    for indices in members_of_groups(choices).values():
        group = [choice for i in indices if (choice := choices[i]) is not None]
        common = _shared_nominals(group, lambda choice: choice.allowed)
        if not common:
            common = _shared_nominals(group, lambda choice: choice.offered)[-1:]
        if not common:
            names = ", ".join(choice.run.name for choice in group)
            raise ComputationError(f"the runs of one group have no size in common: {names}")
        for i, choice in zip(indices, group, strict=True):
            positions = {option.size.nominal: j for j, option in enumerate(choice.options)}
            choices[i] = replace(choice, allowed=tuple(positions[name] for name in common))
    return choices


def _shared_nominals(
    group: list[RunChoice], which: Callable[[RunChoice], tuple[int, ...]]
) -> list[str]:
    first = [group[0].options[j].size.nominal for j in which(group[0])]
    rest = [{choice.options[j].size.nominal for j in which(choice)} for choice in group[1:]]
    return [name for name in first if all(name in names for names in rest)]
