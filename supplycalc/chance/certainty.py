"""Draws of what a file knows within ranges, and what they say of a design."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from msgspec.structs import replace

from supplycalc.chance.variants import Peak, draws_by, peaks
from supplycalc.demand.loads import BoolArray, FloatArray, IntArray
from supplycalc.model import FieldPath, House, Range
from supplycalc.model.field_paths import FILLING, run_of, with_value
from supplycalc.records.known_ranges import KnownRange
from supplycalc.sizing.certainty import Certainty, Condition, Measurement
from supplycalc.sizing.choices import Situation
from supplycalc.sizing.design import Design
from supplycalc.sizing.size import largest_sizes, situation_of
from supplycalc.supply.pump_check import flow_range, pump_check
from supplycalc.supply.source import working_pressure

SEED = 1
DRAWS = 1024
"""Taken by `size`; more by `risk`."""
PUMP_DRAWS = 256
"""Of them those for which the pump is judged, each by itself."""
REPLICATES = 8
"""Sets of draws, each scrambled anew: their spread is the error of a share."""
HALF_WIDTH = 1.959963984540054
"""Standard deviations on either side of the middle that hold 95 % of a normal distribution."""
SEPARATES = 0.01
"""Of cases that a condition on one figure may tell wrongly."""
LEAST_IN_BIN = 32
"""Draws, where a figure's cases are told apart."""
DECIDED = ("pressure-short", "pump-cannot-hold", "daily-use-short")
"""Codes of failures that pressure and pump decide, which are drawn."""
Progress = Callable[[float], None]
"""Is told the part of the work that is finished."""


def unit_draws(dimensions: int, count: int, seed: int) -> FloatArray:
    """Numbers between 0 and 1 that fill the space evenly.

    Args:
        dimensions: how many numbers each draw has.
        count: of draws; the next power of two for each of `REPLICATES` sets is taken.
        seed: the same gives the same draws.

    Returns:
        Dimensions by draws, set after set.

    Source: Sobol's sequence with random linear scrambling, `scipy.stats.qmc`.
    """
    from scipy.stats import qmc

    power = max(int(np.ceil(np.log2(max(count, 1) / REPLICATES))), 1)
    seeds = np.random.SeedSequence(seed).spawn(REPLICATES)
    sets = [
        qmc.Sobol(dimensions, scramble=True, seed=np.random.default_rng(each)).random_base2(power)
        for each in seeds
    ]
    drawn: FloatArray = np.concatenate(sets).T
    return drawn


def values_of(house: House, ranges: Sequence[Range], drawn: FloatArray) -> dict[FieldPath, Any]:
    """The figures that numbers between 0 and 1 stand for.

    Args:
        drawn: ranges by draws.

    Returns:
        By field one value for each draw [SI]; of an unknown size its number in its family.

    Source: inverse of each distribution; normal by its 95 % half width.
    """
    from scipy.special import ndtri

    values: dict[FieldPath, Any] = {}
    for known, row in zip(ranges, drawn, strict=True):
        if known.distribution == "sizes":
            values[known.path] = _size_numbers(house, known)[
                np.minimum((row * len(known.sizes)).astype(int), len(known.sizes) - 1)
            ]
        elif known.distribution == "even":
            values[known.path] = known.low + (known.high - known.low) * row
        else:
            half = max(known.high - known.middle, known.middle - known.low)
            value = known.middle + half / HALF_WIDTH * ndtri(row)
            values[known.path] = np.clip(value, *known.bounds)
    return values


def _size_numbers(house: House, known: Range) -> Any:
    """The sizes that old pipe may have, as numbers in its family."""
    name = run_of(known.path)
    run = next(run for run in house.all_runs if run.name == name)
    family = [size.nominal for size in house.catalogue.tubes[run.material].sizes]
    return np.array([family.index(nominal) for nominal in known.sizes])


def sizes_of(design: Design, situation: Situation) -> list[int]:
    """The sizes of a design as indices into the families of a situation."""
    chosen = design.sizes
    return [
        0
        if choice is None
        else [option.size.nominal for option in choice.options].index(chosen[choice.run.name])
        for choice in situation.choices
    ]


def bears_on_pump(house: House, path: FieldPath) -> bool:
    """Whether the verdict on the pump depends on a field."""
    if house.source.kind != "well" or path[-1] == "size" or house.source.pump is None:
        return False
    before = set() if house.source.open_water else {link.name for link in house.before_tank}
    of_line = path[0] in ("run", "device") and path[1] in before
    fills = house.source.filled_by is not None and path[1] in FILLING
    return (path[0] == "source" and not fills) or of_line or draws_by(house, path)


def pump_enough(
    design: Design, values: Mapping[FieldPath, Any], progress: Progress | None = None
) -> BoolArray:
    """Whether the pump gives what it is judged by, in each draw.

    Args:
        values: by field one value for each draw [SI].
    """
    from supplycalc.demand import design_flows
    from supplycalc.network import build_tree

    own = {path: each for path, each in values.items() if bears_on_pump(design.house, path)}
    count = len(next(iter(own.values())))
    enough = np.zeros(count, dtype=bool)
    assert design.pump is not None
    anew = any(draws_by(design.house, path) for path in own)
    for number in range(count):
        house = design.house
        for path, each in own.items():
            house = with_value(house, path, float(each[number]))
        if anew:
            tree = build_tree(house)
            check = pump_check(tree, design_flows(tree))
        else:  # what is asked of it stays
            pressure = working_pressure(house, 0.0)
            check = replace(design.pump, pump_flow=flow_range(house, pressure))
        enough[number] = check is None or check.state != "too-small"
        if progress is not None:
            progress((number + 1) / count)
    return enough


def certainty(design: Design, seed: int = SEED, draws: int = DRAWS) -> Certainty:
    """How often a design works within the ranges of its file, and what to measure first.

    Args:
        seed: of the draws.
        draws: how many; fewer of the pump.

    Source: quasi-Monte-Carlo; what measuring tells is the expected value of partial information
        for the verdict (R. A. Howard, 1966), from the same draws.
    """
    house = design.house
    ranges = house.ranges
    drawn = unit_draws(len(ranges), draws, seed)
    values = values_of(house, ranges, drawn)
    served = drawn_peaks(design, values).served
    pump: BoolArray | None = None
    works = served
    used = drawn
    if any(bears_on_pump(house, path) for path in values):
        some = first_of_sets(drawn.shape[1], PUMP_DRAWS)
        used = drawn[:, some]
        pump = pump_enough(design, {path: each[some] for path, each in values.items()})
        works = served[some] & pump
    elif design.pump is not None and design.pump.state == "too-small":
        works = np.zeros_like(served)
    return Certainty(
        ranges=tuple(KnownRange(known=known) for known in ranges),
        works=float(works.mean()),
        pressure=float(served.mean()),
        pump=None if pump is None else float(pump.mean()),
        error=share_error(works),
        draws=int(works.size),
        seed=seed,
        measurements=measurements(ranges, used, works),
        only_if=_only_if(house, ranges, used, works),
        largest_sizes=design.shortfall > 0.0,
        fails_otherwise=any(
            finding.level == "fail" and finding.code not in DECIDED for finding in design.findings
        ),
    )


def drawn_peaks(design: Design, values: Mapping[FieldPath, Any]) -> Peak:
    """The code's peak in every draw, at the sizes of a design.

    Where none suffice for the middle of the ranges, at the largest that limits permit; what a pipe
    of unknown size turns out to be then decides how large what it feeds may be.

    Args:
        values: by field one value for each draw [SI].
    """
    house, situation = design.house, situation_of(design.house)
    if design.shortfall <= 0.0:
        return peaks(situation, sizes_of(design, situation), values)
    unknown = [known for known in house.ranges if known.distribution == "sizes"]
    if not unknown:
        return peaks(situation, largest_sizes(situation), values)
    kinds, which = np.unique(
        np.array([values[known.path] for known in unknown]), axis=1, return_inverse=True
    )
    shape = (len(situation.tree.outlets), which.size)
    residual, required = np.empty(shape), np.empty(shape)
    source, flow = np.empty(which.size), np.empty(which.size)
    for number, kind in enumerate(kinds.T):
        mine = which.ravel() == number
        settled = house
        for known, size in zip(unknown, kind, strict=True):
            numbers = _size_numbers(house, known).tolist()
            settled = with_value(settled, known.path, known.sizes[numbers.index(size)])
        one_kind = situation_of(settled)
        part = peaks(
            one_kind,
            largest_sizes(one_kind),
            {path: each[mine] for path, each in values.items()},
        )
        residual[:, mine], required[:, mine] = part.residual, part.required
        source[mine], flow[mine] = part.source, part.flow
    return Peak(residual=residual, required=required, source=source, flow=flow)


def first_of_sets(count: int, wanted: int) -> IntArray:
    """The first draws of each scrambled set, which fill the space evenly by themselves."""
    each = min(max(wanted // REPLICATES, 1), count // REPLICATES)
    numbers: IntArray = np.arange(count).reshape(REPLICATES, -1)[:, :each].ravel()
    return numbers


def share_error(works: BoolArray) -> float:
    """Standard error of the share of draws that work, from the spread of the scrambled sets."""
    means = works.reshape(REPLICATES, -1).mean(axis=1)
    return float(means.std(ddof=1) / np.sqrt(REPLICATES))


def measurements(
    ranges: Sequence[Range], drawn: FloatArray, works: BoolArray
) -> tuple[Measurement, ...]:
    """What it would tell to know each figure, the one that tells most first.

    Args:
        drawn: ranges by draws, between 0 and 1.

    Source: expected value of partial information; the draws stand in bins of the figure.
    """
    before = max(works.mean(), 1.0 - works.mean())
    told = []
    for known, row in zip(ranges, drawn, strict=True):
        if known.distribution == "sizes":
            count = len(known.sizes)
            bins = [works[(row * count).astype(int) == number] for number in range(count)]
        else:
            count = min(max(works.size // LEAST_IN_BIN, 1), 32)
            bins = np.array_split(works[np.argsort(row, kind="stable")], count)
        right = sum(max(each.sum(), each.size - each.sum()) for each in bins) / works.size
        gain = max(float(right - before), 0.0)
        told.append(
            Measurement(known=KnownRange(known=known), right=float(before) + gain, gain=gain)
        )
    return tuple(sorted(told, key=lambda each: -each.gain))


def _only_if(
    house: House, ranges: Sequence[Range], drawn: FloatArray, works: BoolArray
) -> Condition | None:
    """The condition on one figure that tells the cases apart; None where none does."""
    share = works.mean()
    if not SEPARATES < share < 1.0 - SEPARATES:
        return None
    best: tuple[float, Condition] | None = None
    for known, row in zip(ranges, drawn, strict=True):
        order = np.argsort(row, kind="stable")
        up = np.concatenate([[0], np.cumsum(works[order])])
        left = np.arange(works.size + 1)
        # wrong where the lower part should work: those of it that fail, those above that work
        wrong_low = (left - up) + (up[-1] - up)
        wrong_high = up + (works.size - left) - (up[-1] - up)
        for at_most, wrong in ((True, wrong_low), (False, wrong_high)):
            place = int(wrong.argmin())
            missed = float(wrong[place]) / works.size
            if missed > SEPARATES or not 0 < place < works.size:
                continue
            if best is not None and best[0] <= missed:
                continue
            # on the side that works: nothing in between was drawn
            edge = row[order][[place - 1 if at_most else place]]
            value = values_of(house, [known], edge[None, :])[known.path][0]
            size = ""
            if known.distribution == "sizes":
                size = known.sizes[min(int(edge[0] * len(known.sizes)), len(known.sizes) - 1)]
            told = KnownRange(known=known)
            condition = Condition(known=told, at_most=at_most, limit=float(value), size=size)
            best = missed, condition
    return None if best is None else best[1]
