"""Design flow of every link: one function per method, and the table that names them."""

from __future__ import annotations

from collections.abc import Callable

from supplycalc.demand import din1988, en806, exact, ipc, irc, listed, peak_demand_study, upc
from supplycalc.demand.loads import Demand, with_continuous
from supplycalc.network import Tree
from supplycalc.problems import InputError, Place, Problem

__all__ = ["METHODS", "Demand", "design_flows", "known_method"]

METHODS: dict[str, Callable[[Tree], Demand]] = {
    "irc": irc.design_flows,
    "ipc": ipc.design_flows,
    "upc": upc.design_flows,
    "peak-demand-study": peak_demand_study.design_flows,
    "en806": en806.design_flows,
    "din1988": din1988.design_flows,
    "exact": exact.design_flows,
    "listed": listed.design_flows,
}
"""AS/NZS 3500.1 is not here: its tables of simultaneous flow were found in no text to cite."""


def design_flows(tree: Tree) -> Demand:
    """The design flows by the project's demand method, continuous loads on top.

    Args:
        tree: the supply.

    Returns:
        Loads and design flows in m3/s.

    Raises:
        KeyError: no such method.

    Source: named by each method.
    """
    return with_continuous(tree, METHODS[tree.house.project.demand](tree))


def known_method(method: str | None) -> str | None:
    """A demand method's name as it is, or InputError with the nearest right one.

    Args:
        method: the name; None stands for the file's own.

    Returns:
        The same name.

    Raises:
        InputError: there is no such method.
    """
    if method is not None and method not in METHODS:
        message = f"{method!r} is not a demand method"
        where = Place("method")
        raise InputError(
            [Problem(place=where, message=message, value=method, valid=tuple(METHODS))]
        )
    return method
