"""Sizes for which pressure suffices in a wanted part of all draws, and how cheap any can be.

Candidates are the cheapest sizes for single draws and those that keep more and more to spare at the
middle of the ranges; all are held against the same draws. A design that serves a part p of the
draws costs no less than the cheapest for each draw that it serves, so none costs less than the p-th
part of all draws' cheapest costs, put in order.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec.structs import replace

from supplycalc.chance.certainty import (
    DRAWS,
    SEED,
    Progress,
    first_of_sets,
    unit_draws,
    values_of,
)
from supplycalc.chance.variants import draws_by, peaks
from supplycalc.demand.loads import BoolArray
from supplycalc.model import FieldPath, House
from supplycalc.model.field_paths import run_of, with_value
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.certainty import SureSizes
from supplycalc.sizing.choices import Situation, sizing_problem
from supplycalc.sizing.design import Design
from supplycalc.sizing.fronts import cheapest
from supplycalc.sizing.size import choose, largest_sizes, situation_of, with_margin

LEVELS_SHOWN = (0.5, 0.8, 0.95, 0.99)
SIZED_DRAWS = 128
"""Draws that are sized by themselves."""
RESERVES = 16
"""Margins at the middle that are tried, up to what the largest sizes keep."""

Sizes = tuple[int, ...]


def sure_sizes(
    design: Design,
    levels: Sequence[float] = LEVELS_SHOWN,
    *,
    seed: int = SEED,
    prices: PriceList | None = None,
    progress: Progress | None = None,
) -> tuple[SureSizes, ...]:
    """The cheapest sizes found for each wanted chance.

    Args:
        levels: wanted parts of all draws.
        seed: of the draws.
        prices: price list that decides what is cheapest; None: the mass of pipe.

    Source: scenario sizing by exact fronts; the bound is an order statistic.
    """
    house = design.house
    drawn = unit_draws(len(house.ranges), DRAWS, seed)
    values = values_of(house, house.ranges, drawn)
    situation = situation_of(house, prices)
    some = first_of_sets(drawn.shape[1], SIZED_DRAWS)
    costs, found = [], {tuple(largest_sizes(situation))}
    for place, number in enumerate(some.tolist()):
        sizes = _for_draw(situation, design, values, number, prices)
        costs.append(math.inf if sizes is None else _cost(situation, sizes))
        if sizes is not None:
            found.add(sizes)
        if progress is not None:
            progress((place + 1) / some.size)
    sized = choose(situation)
    for reserve in np.linspace(0.0, max(sized.most, 0.0), RESERVES).tolist():
        other = with_margin(sized, reserve)
        if other is not None:
            found.add(tuple(other.pressures.sizes))
    candidates = sorted(found, key=lambda sizes: (_cost(situation, sizes), sizes))
    served: dict[Sizes, BoolArray] = {}
    for sizes in candidates:
        served[sizes] = peaks(situation, sizes, values).served
    ordered = sorted(costs)
    rows = []
    for level in levels:
        bound = ordered[min(math.ceil(level * len(ordered)), len(ordered)) - 1]
        taken = next((each for each in candidates if served[each].mean() >= level), None)
        best = max(candidates, key=lambda each: float(served[each].mean()))
        shown = best if taken is None else taken
        nominals = _nominals(situation, shown)
        cost = _cost(situation, shown)
        rows.append(
            SureSizes(
                level=level,
                reached=float(served[shown].mean()),
                kept=taken is not None,
                cost=cost,
                bound=min(bound, cost) if taken is not None else None,
                sizes=tuple(nominals.items()),
                changes=tuple(
                    (run, nominal)
                    for run, nominal in nominals.items()
                    if design.sizes[run] != nominal
                ),
                sized_draws=int(some.size),
            )
        )
    return tuple(rows)


def _for_draw(
    situation: Situation,
    design: Design,
    values: Mapping[FieldPath, Any],
    number: int,
    prices: PriceList | None,
) -> Sizes | None:
    """The cheapest sizes that serve one draw; None where none do."""
    house = design.house
    ranges = {known.path: known for known in house.ranges}
    changed = house
    for path, each in values.items():
        put: Any = float(each[number])
        if path[-1] == "size":
            put = _nominal(house, path, int(each[number]))
        changed = with_value(changed, path, put)
    alike = not any(draws_by(house, path) for path in ranges)
    single = situation_of(changed, prices, situation if alike else None)
    unknown = {run_of(path) for path in values if path[-1] == "size"}
    # what limits leave is that of the middle, so that each draw chooses among the same designs
    choices = tuple(
        of_draw
        if of_draw is None or usual is None or usual.run.name in unknown
        else replace(of_draw, allowed=usual.allowed)
        for of_draw, usual in zip(single.choices, situation.choices, strict=True)
    )
    solution = cheapest(sizing_problem(replace(single, choices=choices), 0.0))
    if not solution.feasible:
        return None
    return tuple(
        0
        if choice is None
        else usual.allowed[0]
        if usual is not None and usual.run.name in unknown
        else choice.allowed[solution.choice[i]]
        for i, (choice, usual) in enumerate(zip(choices, situation.choices, strict=True))
    )


def _nominal(house: House, path: FieldPath, number: int) -> str:
    name = run_of(path)
    run = next(run for run in house.all_runs if run.name == name)
    return house.catalogue.tubes[run.material].sizes[number].nominal


def _cost(situation: Situation, sizes: Sequence[int]) -> float:
    """Of all pipe behind the tank, with what stands before it."""
    return sum(line.cost for line in situation.lines) + math.fsum(
        choice.options[size].cost
        for choice, size in zip(situation.choices, sizes, strict=True)
        if choice is not None
    )


def _nominals(situation: Situation, sizes: Sequence[int]) -> dict[str, str]:
    return {
        choice.run.name: choice.options[size].size.nominal
        for choice, size in zip(situation.choices, sizes, strict=True)
        if choice is not None
    }
