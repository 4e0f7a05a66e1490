"""How much more a run can carry before a fixture falls short, by really sizing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import Fixture, House
from supplycalc.questions.slab.surprises import SETS, AsPoured, with_set, with_steady_flow
from supplycalc.records import Form
from supplycalc.sizing.design import Design, RunResult
from supplycalc.sizing.size import SizedTree, size_tree_or_none

MOST_SETS = 6
"""More sets than this are not tried."""
FIRST_FLOW, MOST_FLOW = 3.15e-5, 6.3e-3
"""[m3/s] Half a gpm to begin with, 100 gpm at most."""
HALVINGS = 8
"""The flow is found to a 256th of the last doubling."""


class Spare(Struct, frozen=True, kw_only=True):
    """How many of a named set of fixtures can still be added through a run."""

    form: ClassVar[Form] = Form(rename={"name": "set"})

    name: str
    count: int
    """Before the worst fixture falls short, every size but theirs as chosen."""
    count_if_rest_grows: int
    """The same with the locked runs as chosen and all other pipe chosen anew."""
    load: float | None
    """What those sets add to the run's load, in the method's unit; None where it has none."""

    @property
    def capped(self) -> bool:
        """Whether no more were tried."""
        return self.count_if_rest_grows >= MOST_SETS


def spare_flow(design: Design, house: House, result: RunResult) -> float:
    """Flow that can be drawn at a run's end beside everything else [m3/s], found by halving.

    A fixture's own branch is tried with a fixture that draws more; any other run with a steady draw
    at its end.
    """
    tree = design.tree

    def works(more: float) -> bool:
        if result.run.fixture is not None:
            changed = _drawing_more(design, house, result.run.fixture, more)
        else:
            changed = with_steady_flow(
                house, result.run, result.side, more, tree.elevation[result.index]
            )
        sized = size_tree_or_none(changed)
        return sized is not None and sized.feasible

    low, high = 0.0, FIRST_FLOW
    if not works(low):
        return 0.0
    while works(high):
        low, high = high, 2.0 * high
        if high > MOST_FLOW:
            return low
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if works(middle) else (low, middle)
    return low


def _drawing_more(design: Design, house: House, fixture: str, more: float) -> House:
    """The house with one fixture replaced by one that draws more at the same pressure."""
    flow = next(outlet.flow for outlet in design.tree.outlets if outlet.fixture.name == fixture)
    return replace(
        house,
        fixtures=tuple(
            replace(item, flow=flow + more) if item.name == fixture else item
            for item in house.fixtures
        ),
    )


def spare_sets(poured: AsPoured, result: RunResult, beside: Fixture) -> Iterator[Spare]:
    """How many of each named set of fixtures can be added beside one that a run feeds."""
    for name in SETS:
        count, load = _count(poured.fixed, result, beside, name, 0)
        most, most_load = _count(poured.reachable, result, beside, name, count)
        yield Spare(
            name=name,
            count=count,
            count_if_rest_grows=most,
            load=(most_load or load) if poured.design.demand.load_name else None,
        )


def _count(
    house: House, result: RunResult, beside: Fixture, name: str, known: int
) -> tuple[int, float]:
    """Sets that can be added, `known` of them proven already, and their load on the run."""
    kinds = SETS[name]
    best: SizedTree | None = None
    count = known
    while count < MOST_SETS:
        changed = with_set(house, beside, kinds, count + 1)
        if len(changed.fixtures) == len(house.fixtures):
            break  # no kind of the set finds water here
        sized = size_tree_or_none(changed)
        if sized is None or not sized.feasible:
            break
        count, best = count + 1, sized
    if best is None:
        return count, 0.0
    index = best.situation.tree.index[result.end]
    return count, best.situation.demand.load[index] - result.load
