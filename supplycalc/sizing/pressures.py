"""Pressures, losses and margins of a tree whose every run has a size."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from supplycalc.hydraulics.pressure import pressures_below
from supplycalc.sizing.choices import Situation, SizeOption
from supplycalc.units.quantities import Pressure

Sizes = Sequence[int]
"""For each link the index of its size in its family; 0 for links that are not runs."""


class TreePressures(Struct, frozen=True, kw_only=True):
    """Losses and pressures of a whole tree for one choice of sizes."""

    sizes: tuple[int, ...]
    """For each link the index of its size in its family; 0 for links that are not runs."""
    loss: tuple[float, ...]
    """Of each link [Pa]; a reducing valve's holds what it takes away."""
    pressure: tuple[float, ...]
    """At each link's end while the design flow runs [Pa gauge]."""
    worst_margin: float
    """[Pa]"""
    worst_outlet: int
    """Index into the tree's outlets."""


def chosen_option(situation: Situation, sizes: Sizes, link: int) -> SizeOption:
    """The chosen option of a run."""
    choice = situation.choices[link]
    assert choice is not None
    return choice.options[sizes[link]]


def follow_pressures(situation: Situation, sizes: Sizes) -> TreePressures:
    """Follow the pressure from the source to every point for given sizes.

    Args:
        sizes: index of each run's size in its family.
    """
    parent = situation.tree.parent
    loss = [
        situation.device_loss[i] if choice is None else choice.options[sizes[i]].loss
        for i, choice in enumerate(situation.choices)
    ]
    pressure = pressures_below(
        parent,
        situation.source.design_pressure,
        situation.static_gain,
        loss,
        situation.outlet_limit,
    )
    for i, limit in enumerate(situation.outlet_limit):
        if limit < math.inf:
            loss[i] = pressure[parent[i]] + situation.static_gain[i] - pressure[i]
    return _judged(situation, tuple(sizes), tuple(loss), tuple(pressure))


def with_one_size(
    situation: Situation, pressures: TreePressures, link: int, size: int
) -> TreePressures:
    """The pressures when one run takes another size [Pa].

    What hangs below the run gains or loses the same pressure everywhere, so nothing else is
    followed anew; with a reducing valve in the tree everything is.

    Args:
        link: index of the run.
        size: index of its new size in its family.
    """
    sizes = (*pressures.sizes[:link], size, *pressures.sizes[link + 1 :])
    if min(situation.outlet_limit) < math.inf:
        return follow_pressures(situation, sizes)
    more = chosen_option(situation, sizes, link).loss - pressures.loss[link]
    last = situation.tree.last[link]
    below = [pressure - more for pressure in pressures.pressure[link:last]]
    return _judged(
        situation,
        sizes,
        (*pressures.loss[:link], pressures.loss[link] + more, *pressures.loss[link + 1 :]),
        (*pressures.pressure[:link], *below, *pressures.pressure[last:]),
    )


def _judged(
    situation: Situation,
    sizes: tuple[int, ...],
    loss: tuple[float, ...],
    pressure: tuple[float, ...],
) -> TreePressures:
    margins = [
        pressure[outlet.link] - outlet.required_pressure for outlet in situation.tree.outlets
    ]
    worst = min(range(len(margins)), key=margins.__getitem__)
    return TreePressures(
        sizes=sizes,
        loss=loss,
        pressure=pressure,
        worst_margin=margins[worst],
        worst_outlet=worst,
    )


def highest_pressures(situation: Situation) -> list[Pressure]:
    """Highest pressure at each link's end with nothing running [Pa gauge].

    Source: hydrostatics; reducing valves hold their setting.
    """
    parent = situation.tree.parent
    zero = [0.0] * len(parent)
    return pressures_below(
        parent,
        situation.source.static_pressure,
        situation.static_gain,
        zero,
        situation.static_limit,
    )
