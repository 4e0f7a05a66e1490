"""One pass over the tree against the friction evaluation that it cannot do without.

Run by hand: `pytest tests/benchmarks/test_tree_benchmark.py -s`. Each size prints the ratio of the
whole pass (flows up, losses, pressures down) to one array friction evaluation of as many pipes in
the same run, for bushy and deep trees; the plain-Python engine is timed where it is used.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np
import pytest

from supplycalc.hydraulics.friction import pressure_gradients
from supplycalc.hydraulics.pressure import (
    Pipes,
    flows_from_outlets,
    pipe_loss,
    pipe_losses,
    pressures_below,
    pressures_by_cumulative_sum,
)
from supplycalc.network import FloatArray, IntArray


def random_tree(count: int, deep: bool, seed: int = 7) -> tuple[IntArray, IntArray]:
    """(parent, last) of a random tree in preorder."""
    random = np.random.default_rng(seed)
    reach = 20 if deep else count
    raw = np.zeros(count, dtype=np.int64)
    raw[0] = -1
    index = np.arange(1, count)
    raw[1:] = index - 1 - (random.random(count - 1) * np.minimum(index, reach)).astype(np.int64)
    children: list[list[int]] = [[] for _ in range(count)]
    for i, p in enumerate(raw[1:].tolist(), start=1):
        children[p].append(i)
    parent, last = np.full(count, -1, dtype=np.int64), np.zeros(count, dtype=np.int64)
    stack, position = [(0, -1)], 0
    order: list[int] = []
    while stack:
        node, above = stack.pop()
        parent[position] = above
        order.append(node)
        stack.extend((child, position) for child in reversed(children[node]))
        position += 1
    last[:] = np.arange(1, count + 1)
    ends, above_of = last.tolist(), parent.tolist()
    for i in range(count - 1, 0, -1):
        ends[above_of[i]] = max(ends[above_of[i]], ends[i])
    return parent, np.array(ends)


def median(call: Callable[[], object], rounds: int = 7) -> float:
    """Median wall time of a call [s]."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return sorted(times)[len(times) // 2]


@pytest.mark.parametrize("deep", [False, True], ids=["bushy", "deep"])
@pytest.mark.parametrize("count", [30, 1_000, 100_000, 1_000_000])
def test_pass_against_friction_alone(benchmark, count: int, deep: bool) -> None:
    """Ratio of the whole pass to one friction evaluation of as many pipes."""
    random = np.random.default_rng(3)
    parent, last = random_tree(count, deep)
    leaf = last == np.arange(1, count + 1)
    drawn = np.where(leaf, random.uniform(5e-5, 3e-4, count), 0.0)
    flow = flows_from_outlets(last, drawn)
    bore = np.maximum(0.009, np.sqrt(flow / (math.pi / 4.0) / 2.0))
    pipes = Pipes(
        length=random.uniform(1.0, 20.0, count),
        inside_diameter=bore,
        roughness=np.full(count, 1.5e-6),
        k=random.uniform(0.0, 8.0, count),
        density=np.full(count, 999.7),
        viscosity=np.full(count, 1.307e-3),
    )
    gain = random.uniform(-1e4, 1e4, count)

    def whole() -> FloatArray:
        friction, fitting = pipe_losses(flows_from_outlets(last, drawn), pipes)
        return pressures_by_cumulative_sum(last, 4e5, gain, friction + fitting)

    def friction_alone() -> FloatArray:
        return pressure_gradients(
            flow, pipes.inside_diameter, pipes.roughness, pipes.density, pipes.viscosity
        )

    pressure = benchmark.pedantic(whole, rounds=5, iterations=1)
    ratio = median(whole) / median(friction_alone)
    print(f"\n{count} runs: pass {median(whole) * 1e3:.3f} ms, {ratio:.2f} x friction alone")
    if count <= 1_000:
        listed = [array.tolist() for array in (flow, pipes.length, bore, pipes.roughness, pipes.k)]
        above, gains, open_end = parent.tolist(), gain.tolist(), [math.inf] * count

        def plain() -> list[float]:
            loss = [sum(pipe_loss(*one, 999.7, 1.307e-3)) for one in zip(*listed, strict=True)]
            return pressures_below(above, 4e5, gains, loss, open_end)

        print(f"  plain Python {median(plain) * 1e3:.3f} ms")
        assert pressure[1:] == pytest.approx(plain()[1:], rel=1e-9, abs=1e-3)
