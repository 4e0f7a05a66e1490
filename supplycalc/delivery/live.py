"""What of a problem carries water: the links on the way to something open, and bounds at rest."""

from __future__ import annotations

import math
import operator

from msgspec import Struct

from supplycalc.delivery.problem import Law, Mixer, Opening, Problem
from supplycalc.problems import ComputationError


class Live(Struct, frozen=True, kw_only=True):
    """The links that can carry water, renumbered; index 0 stays the source."""

    original: tuple[int, ...]
    """Index in the problem."""
    parent: tuple[int, ...]
    """In the new numbers."""
    opening_at: tuple[int, ...]
    cold_at: tuple[int, ...]
    hot_at: tuple[int, ...]
    opening_bound: tuple[float, ...]
    """No outlet can draw more than from the pressure at rest, nor more than its cap [m3/s]."""
    cold_bound: tuple[float, ...]
    hot_bound: tuple[float, ...]
    scale: float
    """Largest pressure at rest anywhere [Pa], which tolerances refer to."""


def find_live(problem: Problem) -> Live:
    """Pick the links that feed something open and bound every draw.

    Args:
        problem: the tree and what is open.

    Returns:
        The live part.

    Raises:
        ComputationError: an outlet or a link is not a thing that water can run through.
    """
    _check(problem)
    count = len(problem.parent)
    wanted = [False] * count
    wanted[0] = True
    openings, mixers, parents = problem.openings, problem.mixers, problem.parent
    leaves = [opening.link for opening in openings]
    leaves += [link for mixer in mixers for link in (mixer.cold_link, mixer.hot_link)]
    for leaf in leaves:
        while not wanted[leaf]:
            wanted[leaf] = True
            leaf = parents[leaf]
    original = tuple([i for i in range(count) if wanted[i]])
    number = [0] * count
    for new, i in enumerate(original):
        number[i] = new
    rest = static_pressures(problem)
    bounds = [mixer_bounds(one, rest[one.cold_link], rest[one.hot_link]) for one in mixers]
    opening_bound = []
    for one in openings:
        still = rest[one.link]
        most = one.coefficient * math.sqrt(still) if still > 0.0 else 0.0
        opening_bound.append(most if most < one.cap else one.cap)
    live_rest = [rest[i] for i in original]
    return Live(
        original=original,
        parent=(-1, *[number[parents[i]] for i in original[1:]]),
        opening_at=tuple([number[one.link] for one in openings]),
        cold_at=tuple([number[one.cold_link] for one in mixers]),
        hot_at=tuple([number[one.hot_link] for one in mixers]),
        opening_bound=tuple(opening_bound),
        cold_bound=tuple([cold for cold, _ in bounds]),
        hot_bound=tuple([hot for _, hot in bounds]),
        scale=max(1e3, max(live_rest), -min(live_rest)),
    )


def static_pressures(problem: Problem) -> list[float]:
    """Pressure at each link's end with nothing running.

    Args:
        problem: the tree.

    Returns:
        Pressures [Pa gauge].

    Source: hydrostatics; a reducing valve holds its setting.
    """
    pressure = [problem.source(0.0)[0]]
    rows = zip(problem.parent, problem.static_gain, problem.limit, strict=True)
    next(rows)
    for parent, gain, limit in rows:
        value = pressure[parent] + gain
        pressure.append(value if limit is None else min(value, limit(0.0)[0]))
    return pressure


def port_coefficients(mixer: Mixer) -> tuple[float, float, float]:
    """Orifice coefficients of a plain mixer's parts.

    Args:
        mixer: a plain one.

    Returns:
        (cold port, hot port, outlet) [m3/s per sqrt(Pa)].

    Source: resistances in series add as 1/C^2.
    """
    port = mixer.coefficient / math.sqrt(mixer.port_share)
    outlet = mixer.coefficient / math.sqrt(1.0 - mixer.port_share)
    return (1.0 - mixer.hot_share) * port, mixer.hot_share * port, outlet


def mixer_bounds(mixer: Mixer, cold_rest: float, hot_rest: float) -> tuple[float, float]:
    """Most that each side of a mixer can draw.

    Args:
        mixer: plain or ratio.
        cold_rest: pressure of its cold side at rest [Pa gauge].
        hot_rest: pressure of its hot side at rest [Pa gauge].

    Returns:
        (cold, hot) flows [m3/s].
    """
    if mixer.kind == "ratio":
        lower = math.sqrt(max(min(cold_rest, hot_rest), 0.0))
        most = min(mixer.cap, mixer.coefficient * lower)
        return (1.0 - mixer.hot_share) * most, mixer.hot_share * most
    cold, hot, _ = port_coefficients(mixer)
    return (
        min(mixer.cap, cold * math.sqrt(max(cold_rest, 0.0))),
        min(mixer.cap, hot * math.sqrt(max(hot_rest, 0.0))),
    )


def _check(problem: Problem) -> None:
    count = len(problem.parent)
    numbers = sum(problem.length) + sum(problem.k) + sum(problem.static_gain)
    sound = math.isfinite(numbers) and min(problem.inside_diameter) > 0.0
    if not sound or any(map(operator.ge, problem.parent, range(count))):
        _check_each(problem)
    outlets: list[Opening | Mixer] = [*problem.openings, *problem.mixers]
    for outlet in outlets:
        if not 0.0 < outlet.coefficient < math.inf or not outlet.cap > 0.0:
            raise ComputationError(f"{outlet.name} has no opening that water could run through")
    for mixer in problem.mixers:
        if not 0.0 < mixer.hot_share < 1.0 or not 0.0 < mixer.port_share < 1.0:
            raise ComputationError(f"{mixer.name} does not mix: its shares must be between 0 and 1")


def _check_each(problem: Problem) -> None:
    rows = zip(
        problem.names,
        problem.parent,
        problem.length,
        problem.k,
        problem.static_gain,
        problem.inside_diameter,
        strict=True,
    )
    for i, (name, parent, length, k, gain, bore) in enumerate(rows):
        if i and not 0 <= parent < i:
            raise ComputationError(f"{name} stands before the link that feeds it")
        if not math.isfinite(length + k + gain):
            raise ComputationError(f"{name} has a length, K or height without a value")
        if (length > 0.0 or k > 0.0) and not 0.0 < bore < math.inf:
            raise ComputationError(f"{name} has no bore")


def laws_of(problem: Problem, live: Live) -> tuple[list[Law | None], list[Law | None]]:
    """Device and reducing-valve laws of the live links [Pa over m3/s]."""
    return (
        [problem.device[i] for i in live.original],
        [problem.limit[i] for i in live.original],
    )
