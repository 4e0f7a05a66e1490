"""Heat that hot water loses on its way while it runs steadily, and the warmth of mixed water."""

from __future__ import annotations

import math

from supplycalc.delivery.fixture_use import figure
from supplycalc.hydraulics.water import density
from supplycalc.model import Run
from supplycalc.sizing.design import Design, RunResult
from supplycalc.units.quantities import Diameter, Flow, Temperature

HEAT_CAPACITY = 4180.0
"""Of water [J/(kg K)], within 0.2 % from 10 to 70 degC (from memory)."""


def loss_per_length(
    inside_diameter: Diameter,
    outside_diameter: Diameter,
    wall_conductivity: float,
    foam_thickness: float,
    foam_conductivity: float,
    surface: float,
) -> float:
    """Heat lost by a tube to still air, per length and per kelvin [W/(m K)].

    The resistance between water and wall is left out: it is small beside that to the air.

    Args:
        wall_conductivity: of the tube's wall [W/(m K)].
        foam_thickness: 0 for a bare tube [m].
        foam_conductivity: [W/(m K)].
        surface: heat given off by the outer surface [W/(m2 K)].

    Source: radial conduction through cylinders in series, F. P. Incropera and D. P. DeWitt,
        Fundamentals of Heat and Mass Transfer, chapter 3 (from memory).
    """
    outer = outside_diameter + 2.0 * foam_thickness
    resistance = math.log(outside_diameter / inside_diameter) / (2.0 * math.pi * wall_conductivity)
    resistance += math.log(outer / outside_diameter) / (2.0 * math.pi * foam_conductivity)
    resistance += 1.0 / (math.pi * outer * surface)
    return 1.0 / resistance


def run_loss_per_length(run: RunResult) -> float:
    """Heat lost by a run of the design per length and kelvin [W/(m K)].

    Source: `loss_per_length` with the figures of delivery.toml (common practice, no source).
    """
    metal = run.tube.metal
    return loss_per_length(
        run.size.inside_diameter,
        run.size.outside_diameter,
        figure("heat", "metal" if metal else "plastic")[0],
        figure("heat", "foam-thickness")[0] if run.run.insulated else 0.0,
        figure("heat", "foam")[0],
        figure("heat", "surface")[0],
    )


def cooled(
    temperature: Temperature, surroundings: Temperature, loss: float, flow: float
) -> Temperature:
    """Temperature at the end of a pipe that runs steadily.

    Args:
        loss: UA of its whole length [W/K].
        flow: [m3/s]; without flow the water takes the temperature of the air.

    Source: heat balance of plug flow, as `loss_per_length`.
    """
    if flow <= 0.0:
        return surroundings
    share = math.exp(-loss / (density(temperature) * HEAT_CAPACITY * flow))
    return surroundings + (temperature - surroundings) * share


def hot_runs(design: Design, link: int) -> list[int]:
    """Indices of the runs behind the heater on the way to a link, in order of flow.

    Args:
        link: at whose end the outlet stands.
    """
    tree = design.tree
    return [i for i in tree.path(link) if tree.side[i] == "hot" and isinstance(tree.links[i], Run)]


def arriving_temperature(design: Design, link: int, flow: tuple[Flow, ...]) -> float:
    """Temperature of the water at the end of a link, from the heater on [K]; cold links have the
    cold water's.

    Args:
        link: at whose end the outlet stands.

    Source: `cooled` from run to run.
    """
    tree = design.tree
    if tree.side[link] == "cold":
        return design.house.water.cold
    results = design.run_at
    temperature, air = design.house.water.hot, figure("heat", "surroundings")[0]
    for i in hot_runs(design, link):
        ua = run_loss_per_length(results[i]) * results[i].run.length
        temperature = cooled(temperature, air, ua, flow[i])
    return temperature


def mean_temperature(flows: tuple[Flow, ...], temperatures: tuple[Temperature, ...]) -> float:
    """Temperature of mixed water.

    Returns:
        Mass-weighted mean [K]; nan without flow.

    Source: ASPE Plumbing Engineering Design Handbook, volume 2, mixed temperature (from memory).
    """
    masses = [flow * density(t) for flow, t in zip(flows, temperatures, strict=True)]
    total = math.fsum(masses)
    if total <= 0.0:
        return math.nan
    return math.fsum(m * t for m, t in zip(masses, temperatures, strict=True)) / total
