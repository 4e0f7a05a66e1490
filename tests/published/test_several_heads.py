"""Several fixed heads on one tree: reservoirs that meet, a network solver, and a root finder.

Three reservoirs: a worked answer on a homework page ("Problem 9: three reservoirs 1, 2, 3 meet at
junction x"): heads of 282 and 257 m, 0.605 m3/s from the second, pipes of 1410 m / 0.9 m / C 110,
988 m / 0.75 m / C 100 and 1022 m / 0.6 m / C 90; answers 0.27 and 0.875 m3/s and 285.0 m. They are
rounded to three figures: half of the last one is allowed.

The pressures of pandapipes are ours to 0.1 % as in `test_delivery_network_solver`; flows are
compared by the losses that they make. scipy's general root finder solves the same laws, written
anew without a tree pass for head flows: to 1e-7 of the largest flow, at which hybr ends.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.optimize import root

from supplycalc.delivery.open_supply import Head, OpenSupply, constant_source
from supplycalc.delivery.solver import deliver
from tests.delivery.plain_formulas import link_loss
from tests.delivery.supplies import house_like
from tests.published.network_solver import DENSITY, VISCOSITY, pressures_by_network, reynolds

WEIGHT = 9.80665 * 998.0


def meeting(
    heads: tuple[float, float, float], pipes: tuple[tuple[float, float, float], ...]
) -> OpenSupply:
    """Three pipes (length, inside diameter, C) from heads [m] that meet at point 1."""
    first, second, third = (constant_source(head * WEIGHT) for head in heads)
    return OpenSupply(
        names=("first", "pipe 1", "pipe 2", "pipe 3"),
        parent=(-1, 0, 1, 1),
        length=(0.0, *(pipe[0] for pipe in pipes)),
        inside_diameter=(1.0, *(pipe[1] for pipe in pipes)),
        roughness=(0.0,) * 4,
        k=(0.0,) * 4,
        density=(998.0,) * 4,
        viscosity=(1e-3,) * 4,
        static_gain=(0.0,) * 4,
        device=(None,) * 4,
        limit=(None,) * 4,
        source=first,
        heads=(Head(name="second", link=2, law=second), Head(name="third", link=3, law=third)),
        hazen_williams_c=(1.0, *(pipe[2] for pipe in pipes)),
    )


def test_three_reservoirs() -> None:
    """The second head is sought at which it gives 0.605 m3/s, as the problem asks."""
    pipes = ((1410.0, 0.9, 110.0), (988.0, 0.75, 100.0), (1022.0, 0.6, 90.0))
    low, high = 257.0, 400.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        given = deliver(meeting((282.0, middle, 257.0), pipes)).head_flow[0]
        low, high = (middle, high) if given < 0.605 else (low, middle)
    settled = deliver(meeting((282.0, middle, 257.0), pipes))
    assert settled.flow[0] == pytest.approx(0.27, abs=5e-4)
    assert -settled.head_flow[1] == pytest.approx(0.875, abs=5e-4)
    assert middle == pytest.approx(285.0, abs=0.05)


def supply_with_heads(seed: int) -> OpenSupply:
    """A bushy tree at 1.5 bar with taps and two tanks in it, one of them higher than the source."""
    rng = random.Random(seed)
    supply = house_like(12, seed=seed)
    count = len(supply.parent)
    taps = {opening.link for opening in supply.openings}
    links = rng.sample([i for i in range(1, count) if i not in taps], 2)
    heads = tuple(
        Head(name=f"tank {i}", link=i, law=constant_source(pressure))
        for i, pressure in zip(links, (0.7e5, 1.8e5), strict=True)
    )
    return replace(
        supply,
        heads=heads,
        static_gain=(0.0,) * count,
        density=(DENSITY,) * count,
        viscosity=(VISCOSITY,) * count,
    )


@pytest.mark.parametrize("seed", range(6))
def test_agrees_with_the_network_solver(seed: int) -> None:
    """Every pressure to 0.1 %."""
    supply = supply_with_heads(seed)
    settled = deliver(supply)
    assert min(settled.head_flow) < 0.0 < max(settled.head_flow)
    expected = pressures_by_network(supply, settled)
    turbulent = min(abs(re) for re in reynolds(supply, settled)) > 4000.0
    for ours, theirs in zip(settled.pressure, expected, strict=True):
        # without a laminar branch theirs loses a little less where water hardly moves
        assert ours == pytest.approx(theirs, rel=1e-3 if turbulent else 3e-3)


@pytest.mark.parametrize("seed", range(6))
def test_agrees_with_a_general_root_finder(seed: int) -> None:
    """Unknowns: every tap's root of pressure and what every tank gives."""
    supply = supply_with_heads(seed)
    settled = deliver(supply)
    flows = by_root(supply)
    ours = np.array([*settled.opening_flow, *settled.head_flow])
    assert np.max(np.abs(flows - ours)) < 1e-7 * np.max(np.abs(ours))


def by_root(supply: OpenSupply) -> np.ndarray:
    """(flows of the taps, flows of the heads) by scipy's hybr from a cold start."""
    scale, many = supply.source(0.0)[0], len(supply.openings)
    unit = 1e-4

    def drawn(x: np.ndarray) -> np.ndarray:
        taps = [
            min(o.cap, o.coefficient * math.sqrt(scale) * max(y, 0.0))
            for o, y in zip(supply.openings, x[:many], strict=True)
        ]
        return np.array([*taps, *(unit * x[many:])])

    def misses(x: np.ndarray) -> list[float]:
        flow = [0.0] * len(supply.parent)
        taken = drawn(x)
        for o, q in zip(supply.openings, taken, strict=False):
            flow[o.link] += q
        for h, q in zip(supply.heads, taken[many:], strict=True):
            flow[h.link] -= q
        for i in range(len(flow) - 1, 0, -1):
            flow[supply.parent[i]] += flow[i]
        pressure = [supply.source(flow[0])[0]]
        for i in range(1, len(flow)):
            lost = math.copysign(link_loss(supply, i, abs(flow[i])), flow[i])
            pressure.append(pressure[supply.parent[i]] + supply.static_gain[i] - lost)
        taps = [
            pressure[o.link] / scale - y * abs(y) for o, y in zip(supply.openings, x, strict=False)
        ]
        return taps + [
            (pressure[h.link] - h.law(q)[0]) / scale
            for h, q in zip(supply.heads, taken[many:], strict=True)
        ]

    start = np.array([0.7] * many + [0.0] * len(supply.heads))
    return drawn(root(misses, start, method="hybr", tol=1e-12).x)


@pytest.mark.parametrize("order", [(0, 1, 2), (1, 2, 0), (2, 0, 1)])
def test_any_reservoir_may_be_the_root(order: tuple[int, int, int]) -> None:
    """The state is one alone, from whichever head the tree is written."""
    heads = (282.0, 284.9674, 257.0)
    pipes = ((1410.0, 0.9, 110.0), (988.0, 0.75, 100.0), (1022.0, 0.6, 90.0))
    first, second, third = order
    turned = deliver(
        meeting(
            (heads[first], heads[second], heads[third]), (pipes[first], pipes[second], pipes[third])
        )
    )
    plain = deliver(meeting(heads, pipes))
    given = (plain.flow[0], *plain.head_flow)
    for ours, number in zip((turned.flow[0], *turned.head_flow), order, strict=True):
        assert ours == pytest.approx(given[number], rel=1e-7)
    assert turned.pressure[1] == pytest.approx(plain.pressure[1], rel=1e-9)
