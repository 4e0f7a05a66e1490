"""Heat of hot pipe: what a run loses while water runs, and how long it stays warm afterwards."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

from msgspec.structs import replace

from supplycalc.delivery.fixture_use import figure
from supplycalc.delivery.heat import (
    HEAT_CAPACITY,
    cooled,
    hot_runs,
    run_loss_per_length,
)
from supplycalc.hydraulics.water import density
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table

__all__ = [
    "HEAT_CAPACITY",
    "arriving",
    "draws_per_day",
    "heat_held",
    "insulated",
    "runs_off",
    "still_cold",
    "warm_time",
]


@functools.cache
def _habits() -> dict[str, tuple[float, bool]]:
    rows = load_table("hot_water")["habit"]["rows"]
    return {kind: (float(draws), bool(off)) for kind, draws, off in rows}


def draws_per_day(kind: str) -> float:
    """How often a household draws hot water at a kind of fixture [1/d].

    Args:
        kind: of fixture.

    Returns:
        Draws a day [1/d].

    Source: hot_water.toml (common practice, no source).
    """
    return _habits().get(kind, _habits()["other"])[0]


def runs_off(kind: str) -> bool:
    """Whether people let a kind of fixture run until the water is hot.

    Args:
        kind: of fixture.

    Returns:
        False where the water is used as it comes: machines, bathtubs.

    Source: hot_water.toml (common practice, no source).
    """
    return _habits().get(kind, _habits()["other"])[1]


def insulated(one: RunResult) -> RunResult:
    """The same run with foam around it.

    Args:
        one: a run of the design.

    Returns:
        The changed run.
    """
    return replace(one, run=replace(one.run, insulated=True))


def heat_held(one: RunResult, temperature: float) -> float:
    """Heat that a run's water and wall hold per length and kelvin.

    Args:
        one: the run with its size.
        temperature: of the water [K].

    Returns:
        [J/(m K)].

    Source: geometry; heat of the wall by hot_water.toml (from memory).
    """
    wall = load_table("hot_water")["wall"]
    metal = one.tube.metal
    inside, outside = one.size.inside_diameter, one.size.outside_diameter
    water = density(temperature) * HEAT_CAPACITY * inside**2
    ring = float(wall["metal" if metal else "plastic"]["value"]) * (outside**2 - inside**2)
    return math.pi / 4.0 * (water + ring)


def warm_time(one: RunResult, hot: float, wanted: float) -> float:
    """How long water left standing in a run stays warm enough to use.

    Args:
        one: the run with its size.
        hot: temperature at first [K].
        wanted: temperature that is still of use [K].

    Returns:
        Time [s]; 0 if it is too cool at first, inf if it never cools that far.

    Source: lumped cooling, exp(-t UA/C) (F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and
        Mass Transfer, chapter 5, from memory).
    """
    air = figure("heat", "surroundings")[0]
    if hot <= wanted:
        return 0.0
    if wanted <= air or one.run.circulated:
        return math.inf
    time = heat_held(one, hot) / run_loss_per_length(one)
    return time * math.log((hot - air) / (wanted - air))


def still_cold(one: RunResult, hot: float, wanted: float, draws: float) -> float:
    """How likely a draw finds a run cooled, if draws are spread by chance over the waking hours.

    Args:
        one: the run with its size.
        hot: temperature of hot water [K].
        wanted: temperature that is still of use [K].
        draws: through this run a day [1/d].

    Returns:
        Probability.

    Source: Poisson process; hours by hot_water.toml (common practice, no source).
    """
    if draws <= 0.0:
        return 1.0
    hours = float(load_table("hot_water")["habit-hours"]["value"])
    return math.exp(-draws / (hours * 3600.0) * warm_time(one, hot, wanted))


def arriving(
    design: Design,
    link: int,
    flow: tuple[float, ...],
    changed: Callable[[RunResult], RunResult] = lambda one: one,
) -> tuple[float, float]:
    """Temperature of hot water at the end of a link that runs steadily, and the heat lost before.

    Args:
        design: the sized house.
        link: at whose end the outlet stands.
        flow: of every link [m3/s].
        changed: what to make of each run first, such as `insulated`.

    Returns:
        (temperature [K], heat lost along the way [W]).

    Source: `delivery.heat.cooled` from run to run.
    """
    results = design.run_at
    temperature, air = design.house.water.hot, figure("heat", "surroundings")[0]
    lost = 0.0
    for i in hot_runs(design, link):
        one = changed(results[i])
        ua = run_loss_per_length(one) * one.run.length
        if one.run.circulated:
            continue
        after = cooled(temperature, air, ua, flow[i])
        lost += density(temperature) * HEAT_CAPACITY * flow[i] * (temperature - after)
        temperature = after
    return temperature, lost
