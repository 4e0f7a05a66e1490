"""Heat of hot pipe: what a run loses while water runs, and how long it stays warm afterwards."""

from __future__ import annotations

import math

from msgspec.structs import replace

from supplycalc.delivery.fixture_use import figure
from supplycalc.delivery.heat import HEAT_CAPACITY, cooled, hot_runs, run_loss_per_length
from supplycalc.hydraulics.water import density
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table
from supplycalc.units import HOUR


def insulated(run: RunResult) -> RunResult:
    """The same run with foam around it."""
    return replace(run, run=replace(run.run, insulated=True))


def heat_held(run: RunResult, temperature: float) -> float:
    """Heat that a run's water and wall hold at a temperature [J/(m K)].

    Source: geometry; heat of the wall by hot_water.toml (from memory).
    """
    wall = load_table("hot_water")["wall"]
    inside, outside = run.size.inside_diameter, run.size.outside_diameter
    water = density(temperature) * HEAT_CAPACITY * inside**2
    kind = "metal" if run.tube.metal else "plastic"
    ring = float(wall[kind]["value"]) * (outside**2 - inside**2)
    return math.pi / 4.0 * (water + ring)


def warm_time(run: RunResult, hot: float, wanted: float) -> float:
    """How long water left standing in a run stays warm enough to use.

    Returns:
        Time [s]; 0 if it is too cool at first, inf if it never cools that far.

    Source: lumped cooling, exp(-t UA/C) (F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and
        Mass Transfer, chapter 5, from memory).
    """
    air = figure("heat", "surroundings")[0]
    if hot <= wanted:
        return 0.0
    if wanted <= air or run.run.circulated:
        return math.inf
    time = heat_held(run, hot) / run_loss_per_length(run)
    return time * math.log((hot - air) / (wanted - air))


def still_cold(run: RunResult, hot: float, wanted: float, draws: float) -> float:
    """How likely a draw finds a run cooled, if so many draws a day come by chance while awake.

    Source: Poisson process; hours by hot_water.toml (common practice, no source).
    """
    if draws <= 0.0:
        return 1.0
    hours = float(load_table("hot_water")["habit-hours"]["value"])
    return math.exp(-draws / (hours * HOUR) * warm_time(run, hot, wanted))


def arriving(design: Design, link: int, flow: tuple[float, ...]) -> tuple[float, float]:
    """Temperature of hot water at the end of a link that runs steadily, and the heat lost before.

    Pipe that is kept hot loses nothing of what is drawn.

    Returns:
        (temperature [K], heat lost along the way [W]).

    Source: `delivery.heat.cooled` from run to run.
    """
    results = design.run_at
    temperature, air = design.house.water.hot, figure("heat", "surroundings")[0]
    lost = 0.0
    for i in hot_runs(design, link):
        run = results[i]
        if run.run.circulated:
            continue
        after = cooled(temperature, air, run_loss_per_length(run) * run.length, flow[i])
        lost += density(temperature) * HEAT_CAPACITY * flow[i] * (temperature - after)
        temperature = after
    return temperature, lost
