"""Design flow of every link: one function per method, and the table that names them."""

from __future__ import annotations

from collections.abc import Callable

from supplycalc.demand import irc, listed
from supplycalc.demand.loads import Demand
from supplycalc.tree import Tree

__all__ = ["METHODS", "Demand", "design_flows"]

METHODS: dict[str, Callable[[Tree], Demand]] = {
    "irc": irc.design_flows,
    "listed": listed.design_flows,
}


def design_flows(tree: Tree) -> Demand:
    """The design flows by the project's demand method.

    Args:
        tree: the supply [-].

    Returns:
        Loads and design flows in m3/s.

    Raises:
        KeyError: no such method.

    Source: named by each method.
    """
    return METHODS[tree.house.project.demand](tree)
