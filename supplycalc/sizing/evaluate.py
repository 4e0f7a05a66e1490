"""Pressures, losses and margins of a tree whose every run has a size."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from supplycalc.hydraulics.pressure import pressures_below
from supplycalc.model import Device, Manifold, Run
from supplycalc.sizing.design import DeviceResult, NextSmaller, OutletResult, RunResult
from supplycalc.sizing.situation import Situation, SizeOption

Sizes = Sequence[int]
"""For each link the index of its size in its family; 0 for links that are not runs."""


class Account(Struct, frozen=True, kw_only=True):
    """Pressures of every point for one choice of sizes."""

    sizes: tuple[int, ...]
    loss: tuple[float, ...]
    """Of each link [Pa]; a reducing valve's holds what it takes away."""
    pressure: tuple[float, ...]
    """At each link's end while the design flow runs [Pa gauge]."""
    worst_margin: float
    """[Pa]"""
    worst_outlet: int
    """Index into the tree's outlets."""


def option(situation: Situation, sizes: Sizes, link: int) -> SizeOption:
    """The chosen option of a run."""
    choice = situation.choices[link]
    assert choice is not None
    return choice.options[sizes[link]]


def account(situation: Situation, sizes: Sizes) -> Account:
    """Follow the pressure from the source to every point for given sizes.

    Args:
        situation: the tree with its design flows.
        sizes: index of each run's size in its family.

    Returns:
        Losses and pressures [Pa] and the worst outlet.
    """
    parent = situation.tree.parent
    loss = [
        situation.device_loss[i] if choice is None else choice.options[sizes[i]].loss
        for i, choice in enumerate(situation.choices)
    ]
    pressure = pressures_below(
        parent, situation.available, situation.static_gain, loss, situation.outlet_limit
    )
    for i, limit in enumerate(situation.outlet_limit):
        if limit < math.inf:
            loss[i] = pressure[parent[i]] + situation.static_gain[i] - pressure[i]
    return _judged(situation, tuple(sizes), tuple(loss), tuple(pressure))


def with_one_size(situation: Situation, done: Account, link: int, size: int) -> Account:
    """The account when one run of a finished one takes another size.

    What hangs below the run gains or loses the same pressure everywhere, so nothing else is
    followed anew; with a reducing valve in the tree everything is.

    Args:
        situation: the tree with its design flows.
        done: the account to start from.
        link: index of the run.
        size: index of its new size in its family.

    Returns:
        The new account.
    """
    sizes = (*done.sizes[:link], size, *done.sizes[link + 1 :])
    if min(situation.outlet_limit) < math.inf:
        return account(situation, sizes)
    more = option(situation, sizes, link).loss - done.loss[link]
    last = situation.tree.last[link]
    below = [pressure - more for pressure in done.pressure[link:last]]
    return _judged(
        situation,
        sizes,
        (*done.loss[:link], done.loss[link] + more, *done.loss[link + 1 :]),
        (*done.pressure[:link], *below, *done.pressure[last:]),
    )


def _judged(
    situation: Situation,
    sizes: tuple[int, ...],
    loss: tuple[float, ...],
    pressure: tuple[float, ...],
) -> Account:
    margins = [
        pressure[outlet.link] - outlet.required_pressure for outlet in situation.tree.outlets
    ]
    worst = min(range(len(margins)), key=margins.__getitem__)
    return Account(
        sizes=sizes,
        loss=loss,
        pressure=pressure,
        worst_margin=margins[worst],
        worst_outlet=worst,
    )


def static_pressures(situation: Situation) -> list[float]:
    """Highest pressure at each link's end with nothing running [Pa gauge].

    Args:
        situation: the tree with its design flows.

    Returns:
        Pressure at each link's end [Pa gauge].

    Source: hydrostatics; reducing valves hold their setting.
    """
    parent = situation.tree.parent
    zero = [0.0] * len(parent)
    return pressures_below(
        parent, situation.highest, situation.static_gain, zero, situation.static_limit
    )


def outlet_results(situation: Situation, done: Account) -> tuple[OutletResult, ...]:
    """The outlets with their accounts, worst margin first.

    Args:
        situation: the tree with its design flows.
        done: the pressures for the chosen sizes.

    Returns:
        One result per fixture connection.
    """
    tree, still = situation.tree, static_pressures(situation)
    results = []
    for outlet in tree.outlets:
        path = tree.path(outlet.link)
        results.append(
            OutletResult(
                fixture=outlet.fixture,
                index=outlet.link,
                side=outlet.side,
                name=outlet.name,
                elevation=tree.elevation[outlet.link],
                path=tuple(tree.names[i] for i in path if not isinstance(tree.links[i], Manifold)),
                design_flow=situation.demand.design_flow[outlet.link],
                static_change=math.fsum(situation.static_gain[i] for i in path),
                loss=math.fsum(done.loss[i] for i in path),
                residual=done.pressure[outlet.link],
                required=outlet.required_pressure,
                static_pressure=still[outlet.link],
            )
        )
    return tuple(sorted(results, key=lambda one: (one.margin, one.name)))


def device_results(situation: Situation, done: Account) -> tuple[DeviceResult, ...]:
    """The devices with their losses, from the source down.

    Args:
        situation: the tree with its design flows.
        done: the pressures for the chosen sizes.

    Returns:
        One result per device.
    """
    still = static_pressures(situation)
    return tuple(
        DeviceResult(
            device=link,
            index=i,
            side=situation.tree.side[i],
            load=situation.demand.load[i],
            design_flow=situation.demand.design_flow[i],
            static_gain=situation.static_gain[i],
            loss=done.loss[i],
            end_pressure=done.pressure[i],
            static_end_pressure=still[i],
            assumed=link.loss is None,
        )
        for i, link in enumerate(situation.tree.links)
        if isinstance(link, Device)
    )


def run_results(
    situation: Situation,
    done: Account,
    decided: Sequence[tuple[str, NextSmaller | None]],
) -> tuple[RunResult, ...]:
    """The runs with their sizes, losses and reasons, from the source down.

    Args:
        situation: the tree with its design flows.
        done: the pressures for the chosen sizes.
        decided: for each link (what decided its size, its NextSmaller or None).

    Returns:
        One result per run.
    """
    tree, still = situation.tree, static_pressures(situation)
    results = []
    for i, link in enumerate(tree.links):
        choice = situation.choices[i]
        if choice is None or not isinstance(link, Run):
            continue
        chosen = option(situation, done.sizes, i)
        reason, smaller = decided[i]
        results.append(
            RunResult(
                run=link,
                index=i,
                side=tree.side[i],
                tube=choice.tube,
                size=chosen.size,
                start=tree.points[tree.parent[i]],
                end=tree.points[i],
                temperature=tree.temperature[i],
                load=situation.demand.load[i],
                design_flow=situation.demand.design_flow[i],
                velocity=chosen.velocity,
                velocity_limit=choice.velocity_limit,
                static_gain=situation.static_gain[i],
                friction_loss=chosen.friction_loss,
                fitting_loss=chosen.fitting_loss,
                k=chosen.k,
                counted_length=choice.counted_length,
                end_pressure=done.pressure[i],
                static_end_pressure=still[i],
                decided_by=reason,
                next_smaller=smaller,
                allowed=tuple(choice.options[j].size.nominal for j in choice.allowed),
            )
        )
    return tuple(results)
