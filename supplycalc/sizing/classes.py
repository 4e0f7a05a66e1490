"""Pressure classes: each run that may be of several is laid in the first that bears its pressure.

Of one kind of tube a lower class costs less and is as wide or wider, so the lowest that bears what
may stand in a run is the cheapest for that run whatever the sizes, and stays so in any choice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from supplycalc.demand.method import by_the_american_codes
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.network import Tree, line_tree
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.pressure_range import lowest_heights, resting
from supplycalc.supply.pump import curve_known, with_curve
from supplycalc.supply.source import SourcePressure
from supplycalc.supply.supply_curve import pump_pressure
from supplycalc.tables import code_limit, kelvin
from supplycalc.units.quantities import Temperature

RATED_AT = kelvin(73.0, "degF")
"""[K] The temperature at which the codes ask for a rating (IPC 605.3)."""
RATING_SLACK = 1e3
"""[Pa] Ratings are published rounded: 11 bar is 160 psi less 0.3."""


def with_classes(house: House, tree: Tree, source: SourcePressure) -> House:
    """The house with a class for every run behind the tank that may be of several; the same where
    no run names classes."""
    branches = [run for fixture in house.fixtures for run in fixture.branches]
    open_runs = {run.name for run in (*house.runs, *branches) if run.classes}
    if not open_runs:
        return house
    working, tank, pump = source.static_pressure, house.source.tank, house.source.pump
    stuck = working
    if pump is not None and curve_known(house):
        relief = math.inf if tank is None or tank.relief is None else tank.relief
        stuck = max(working, min(pump_pressure(house, 0.0), relief))
    weight, heights = specific_weight(house.water.cold), lowest_heights(tree)
    chosen: dict[str, str] = {}
    for i, run in tree.runs():
        if run.name not in open_runs:
            continue
        low = min(
            heights[tree.parent[i]], heights[i], *(z for _, z in run.profile or ((0.0, math.inf),))
        )
        needed = [
            resting(tree, pressure, valves_hold=True)[i] + weight * (tree.elevation[i] - low)
            for pressure in (working, stuck)
        ]
        chosen[run.name] = bearing_class(house, run, needed, tree.temperature[i])
    return _laid_in(house, chosen)


def with_line_classes(house: House) -> House:
    """The same for the runs before the tank; the last where nothing tells what the pump brings."""
    runs = [link for link in house.before_tank if isinstance(link, Run)]
    if not any(run.classes for run in runs):
        return house
    tubes = house.catalogue.tubes
    any_size = {run.name: run.size or tubes[run.material].sizes[-1].nominal for run in runs}
    working, stuck = pressures_to_bear(with_curve(with_sizes(house, any_size)))
    chosen = {
        link.name: bearing_class(house, link, (working[i], stuck[i]), house.water.cold)
        for i, link in enumerate(house.before_tank, start=1)
        if isinstance(link, Run) and link.classes
    }
    return _laid_in(house, chosen)


def _laid_in(house: House, chosen: Mapping[str, str]) -> House:
    def each(run: Run) -> Run:
        return replace(run, material=chosen[run.name]) if run.name in chosen else run

    return map_runs(house, each)


def pressures_to_bear(house: House) -> tuple[list[float], list[float]]:
    """Pressure in each link before the tank at its lower end, with nothing running.

    Returns:
        (at cut-out, with a switch that sticks as far as a relief valve lets it) [Pa gauge]; the
        second is inf where neither pump nor relief valve is told.
    """
    source, tank = house.source, house.source.tank
    working = max(source.kept_pressure, source.cut_out or 0.0)
    relief = math.inf if tank is None or tank.relief is None else tank.relief
    known = source.pump is None or len(source.pump.curve) > 1
    shut_off = pump_pressure(house, 0.0) if known else math.inf
    stuck = max(working, min(shut_off, relief))
    tree, weight = line_tree(house), specific_weight(house.water.cold)
    heads = []
    for i, link in enumerate(tree.links):
        along = [height for _, height in link.profile] if isinstance(link, Run) else []
        low = min(*tree.elevation[max(i - 1, 0) : i + 1], tree.elevation[i], *along)
        heads.append(weight * (source.elevation - low))
    return [working + head for head in heads], [stuck + head for head in heads]


def bearing_class(
    house: House, run: Run, pressures: Sequence[float], temperature: Temperature
) -> str:
    """The first class of a run that bears as much as may stand in it.

    Args:
        pressures: in ordinary use, and with a switch that sticks [Pa gauge].

    Returns:
        The first that bears both, and what the American codes ask of pipe in the ground where they
        hold; else the first that bears ordinary use and that; else the last.

    Source: IPC 605.3 for pipe in the ground.
    """
    by_code = by_the_american_codes(house) and run.buried is not None and not run.embedded
    asked = code_limit("service-rating").value - RATING_SLACK if by_code else 0.0
    for needed in (max(pressures), pressures[0]):
        for name in run.classes:
            tube = house.catalogue.tubes[name]
            sizes = [size for size in tube.sizes if size.common or size.nominal == run.size]
            if all(
                (rating is None or rating >= least)
                for size in sizes
                for rating, least in (
                    (tube.pressure_rating(size, temperature), needed),
                    (tube.pressure_rating(size, RATED_AT), asked),
                )
            ):
                return name
    return run.classes[-1]
