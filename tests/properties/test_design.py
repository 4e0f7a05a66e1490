"""Properties of whole designs on random houses: accounts close, more of a bad thing never helps.

Houses are drawn small (up to 12 runs) and sized by the real recipe.
"""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.demand import design_flows
from supplycalc.model import Device, Fixture, House, Loss, Project, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.network import build_tree
from supplycalc.questions.size.study import size
from supplycalc.sizing.changes import with_run
from supplycalc.sizing.choices import prepare
from supplycalc.sizing.design import Design
from supplycalc.sizing.pressures import follow_pressures
from supplycalc.supply.source import SourcePressure
from tests.houses import FOOT, GPM, PSI, branch, pipe, well

COLD_KINDS = ("lavatory", "water-closet", "kitchen-sink", "shower", "hose-bibb", "tub-shower")
FEW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def houses(draw: st.DrawFn, sizes: tuple[str, ...] = ()) -> House:
    """A random trunk-and-branch house with a device, heights and sometimes a heater."""
    count = draw(st.integers(1, 4))
    runs, points = [], ["source"]
    for i in range(count):
        start = draw(st.sampled_from(points[-2:]))
        runs.append(pipe(f"run {i}", start, f"p{i}", draw(st.integers(5, 60)), sizes=sizes))
        points.append(f"p{i}")
    fed = {run.start for run in runs}
    devices = [
        Device(
            name="filter",
            kind="device",
            start=points[-1],
            end="filtered",
            loss=Loss(
                linear=draw(st.floats(0.0, 1.0)) * PSI, quadratic=2.0 * PSI, reference_flow=8 * GPM
            ),
        )
    ]
    ends = [*(point for point in points[1:-1] if point not in fed), "filtered"]
    fixtures = []
    for i, start in enumerate(
        [*ends, *draw(st.lists(st.sampled_from(["filtered", *points[1:]]), max_size=3))]
    ):
        fixtures.append(
            Fixture(
                name=f"fixture {i}",
                kind=draw(st.sampled_from(COLD_KINDS)),
                elevation=draw(st.integers(-6, 20)) * FOOT,
                cold=branch(f"fixture {i}", "cold", start, draw(st.integers(3, 50)), sizes=sizes),
            )
        )
    return House(
        project=Project(name="Random house"),
        source=well(cut_in=draw(st.integers(25, 60)), cut_out=80.0),
        runs=tuple(runs),
        devices=tuple(devices),
        fixtures=tuple(fixtures),
    )


def residuals(design: Design) -> dict[tuple[str, str], float]:
    """Residual pressure of every outlet by fixture and side."""
    return {(outlet.fixture.name, outlet.side): outlet.residual for outlet in design.outlets}


def fixed(house: House, nominal: str) -> House:
    """The house with every run fixed at one size, so that only hydraulics differ."""
    return map_runs(house, lambda run: replace(run, size=nominal, sizes=()))


@FEW
@given(houses())
def test_the_pressure_account_closes(house: House) -> None:
    """Residual = source + static change - loss, and loss is the sum over the path, to 1e-9."""
    design = size(house, mend=False)
    losses = {result.run.name: result.loss for result in design.runs}
    losses |= {result.device.name: result.loss for result in design.devices}

    for outlet in design.outlets:
        expected = design.source.design_pressure + outlet.static_change - outlet.loss
        assert outlet.residual == pytest.approx(max(expected, 0.0), rel=1e-9, abs=1e-3)
        assert outlet.loss == pytest.approx(
            math.fsum(losses[name] for name in outlet.path), rel=1e-9, abs=1e-9
        )


@FEW
@given(houses(), st.integers(0, 10), st.floats(0.1, 30.0))
def test_more_length_never_raises_a_residual(house: House, which: int, feet: float) -> None:
    """Lengthening one run lowers what is below it and leaves the rest alone."""
    house = fixed(house, "3/4")
    names = [run.name for run in house.runs] + [
        fixture.cold.name for fixture in house.fixtures if fixture.cold
    ]
    name = names[which % len(names)]
    longer = with_run(house, name, lambda run: replace(run, length=run.length + feet * FOOT))

    before, after = residuals(size(house, mend=False)), residuals(size(longer, mend=False))
    assert all(after[key] <= before[key] + 1e-6 for key in before)


@FEW
@given(houses(), st.integers(0, 10), st.sampled_from(["1/2", "3/4", "1"]))
def test_a_smaller_size_never_raises_a_residual(house: House, which: int, smaller: str) -> None:
    """One run a size down lowers what is below it and leaves the rest alone."""
    house = fixed(house, "1-1/4")
    names = [run.name for run in house.runs] + [
        fixture.cold.name for fixture in house.fixtures if fixture.cold
    ]
    name = names[which % len(names)]
    changed = with_run(house, name, lambda run: replace(run, size=smaller))

    before, after = residuals(size(house, mend=False)), residuals(size(changed, mend=False))
    assert all(after[key] <= before[key] + 1e-6 for key in before)


@FEW
@given(houses(), st.integers(0, 10), st.floats(0.1, 10.0))
def test_more_flow_never_raises_a_residual(house: House, which: int, more: float) -> None:
    """A fixture that draws more lowers its own pressure and raises nobody's."""
    house = replace(fixed(house, "3/4"), project=Project(name="x", demand="listed"))
    index = which % len(house.fixtures)
    thirstier = [
        replace(fixture, flow=(5.0 + more) * GPM)
        if i == index
        else replace(fixture, flow=3.0 * GPM)
        for i, fixture in enumerate(house.fixtures)
    ]
    even = [replace(fixture, flow=3.0 * GPM) for fixture in house.fixtures]

    before = residuals(size(replace(house, fixtures=tuple(even)), mend=False))
    after = residuals(size(replace(house, fixtures=tuple(thirstier)), mend=False))
    assert all(after[key] <= before[key] + 1e-6 for key in before)


@FEW
@given(houses(), st.integers(0, 10), st.floats(0.1, 20.0))
def test_more_height_never_raises_a_residual(house: House, which: int, feet: float) -> None:
    """A fixture higher up loses exactly the weight of the water between.

    Where the height makes two rooms of one, so that the design flows change, that is another house.
    """
    house = fixed(house, "3/4")
    index = which % len(house.fixtures)
    higher = tuple(
        replace(fixture, elevation=fixture.elevation + feet * FOOT) if i == index else fixture
        for i, fixture in enumerate(house.fixtures)
    )

    low, high = size(house, mend=False), size(replace(house, fixtures=higher), mend=False)
    assume(low.demand.design_flow == high.demand.design_flow)
    before, after = residuals(low), residuals(high)
    for key in before:
        if key[0] == house.fixtures[index].name:
            weight = 999.702 * 9.80665 * feet * FOOT
            # where the pressure is used up on the way, 0 is told and not what would be below it
            assert after[key] == pytest.approx(max(before[key] - weight, 0.0), abs=1e-5 * weight)
        else:
            assert after[key] == pytest.approx(before[key], abs=1e-6)


def brute_force(house: House) -> float | None:
    """Least mass over every combination of sizes that keeps all limits; None: none does."""
    tree = build_tree(house)
    source = SourcePressure(
        design_pressure=house.source.cut_in or 0.0,
        static_pressure=house.source.cut_out or 0.0,
        elevation=house.source.elevation,
        limited_by="cut-in",
    )
    situation = prepare(tree, design_flows(tree), source)
    choices = [(i, choice) for i, choice in enumerate(situation.choices) if choice is not None]
    best = None
    for combination in itertools.product(*(choice.allowed for _, choice in choices)):
        sizes = [0] * len(tree)
        for (i, _), j in zip(choices, combination, strict=True):
            sizes[i] = j
        nominal = {i: choice.options[sizes[i]].size.rank for i, choice in choices}
        larger_than_feed = False
        for i, _ in choices:
            above = tree.parent[i]
            while above > 0 and above not in nominal:
                above = tree.parent[above]
            larger_than_feed |= above > 0 and nominal[i] > nominal[above]
        if larger_than_feed or follow_pressures(situation, sizes).worst_margin < -1e-6:
            continue
        cost = sum(choice.options[sizes[i]].cost for i, choice in choices)
        best = cost if best is None else min(best, cost)
    return best


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(houses(sizes=("1/2", "3/4", "1")))
def test_sizes_are_the_cheapest_of_all_combinations(house: House) -> None:
    """Without a reserve the design costs what brute force finds, or both find nothing."""
    house = replace(house, limits=replace(house.limits, reserve=0.0))
    pipes: list[Run] = [*house.runs, *(fixture.cold for fixture in house.fixtures if fixture.cold)]
    assume(len(pipes) <= 7)
    design = size(house, mend=False)
    best = brute_force(house)

    assert design.optimal == (best is not None)
    if best is not None:
        assert design.cost == pytest.approx(best, rel=1e-9)
