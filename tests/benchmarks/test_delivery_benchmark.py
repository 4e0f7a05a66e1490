"""Delivery against general solvers in one run: ratios are printed, wall clock is never asserted.

    pytest tests/benchmarks/test_delivery_benchmark.py -s

Against `scipy.optimize.root` (hybr, krylov and df-sane; the same law of friction, the rest of the
residual in numpy) and a general Newton on the node matrix with scipy's sparse solver, which knows
nothing of trees. All start from the same draws and must give the same flows, which is asserted.
"""

from __future__ import annotations

import math
import statistics
import time
import warnings
from collections.abc import Callable

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.optimize import root
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import spsolve

from supplycalc.delivery.open_supply import Head, OpenSupply, constant_source
from supplycalc.delivery.solver import deliver
from supplycalc.hydraulics.friction import flow_area, pressure_gradient_with_slope
from tests.delivery.supplies import house_like


class General:
    """The same supply in arrays, for the general solvers."""

    def __init__(self, supply: OpenSupply) -> None:
        self.n = len(supply.parent)
        self.parent = np.array(supply.parent)
        self.length, self.k = np.array(supply.length), np.array(supply.k)
        self.diameter = np.array(supply.inside_diameter)
        self.rough = np.array(supply.roughness)
        self.rho, self.mu = np.array(supply.density), np.array(supply.viscosity)
        self.gain = np.array(supply.static_gain)
        self.source = supply.source(0.0)[0]
        self.at = np.array([o.link for o in supply.openings])
        self.c = np.array([o.coefficient for o in supply.openings])
        self.cap = np.array([o.cap for o in supply.openings])
        self.head_at = np.array([h.link for h in supply.heads], dtype=int)
        self.head = np.array([h.law(0.0)[0] for h in supply.heads])
        self.quadratic = self.k * self.rho / 2.0 / flow_area(self.diameter) ** 2
        self.last = np.arange(1, self.n + 1)
        order = self._preorder()
        self.place = np.argsort(order)
        self.order = order

    def _preorder(self) -> np.ndarray:
        children: list[list[int]] = [[] for _ in range(self.n)]
        for i in range(1, self.n):
            children[self.parent[i]].append(i)
        order, stack = [], [0]
        while stack:
            i = stack.pop()
            order.append(i)
            stack.extend(children[i])
        size = [1] * self.n
        for i in reversed(order):
            if i:
                size[self.parent[i]] += size[i]
        self.last = np.array([order_at + size[i] for order_at, i in enumerate(order)])
        return np.array(order)

    def losses(self, flow: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Losses and slopes of every link."""
        lost, rise = pressure_gradient_with_slope(
            flow, self.diameter, self.rough, self.rho, self.mu
        )
        return (
            lost * self.length + self.quadratic * flow * abs(flow),
            rise * self.length + 2.0 * self.quadratic * abs(flow),
        )

    def pressures(self, drawn: np.ndarray) -> np.ndarray:
        """Of outlets and heads, by cumulative sums in preorder: the fastest demand-driven pass."""
        at = np.concatenate((self.at, self.head_at))
        at_point = np.bincount(at, drawn, self.n)[self.order]
        running = np.concatenate(([0.0], np.cumsum(at_point)))
        flow = np.empty(self.n)
        flow[self.order] = running[self.last] - running[:-1]
        change = (self.gain - self.losses(flow)[0])[self.order]
        change[0] = 0.0
        leaving = np.bincount(self.last, change, self.n + 1)[: self.n]
        pressure = self.source + np.cumsum(change - leaving)
        return pressure[self.place[at]]

    def by_root(self, method: str) -> np.ndarray:
        """Flows by scipy.optimize.root; unknown is each outlet's square root of pressure.

        Of a head it is what it takes in, over the flow of a tap.
        """
        scale, taps = math.sqrt(self.source), len(self.c)

        def drawn(x: np.ndarray) -> np.ndarray:
            outlets = np.minimum(self.cap, self.c * np.maximum(x[:taps], 0.0) * scale)
            return np.concatenate((outlets, 1e-4 * x[taps:]))

        def residual(x: np.ndarray) -> np.ndarray:
            wanted = np.concatenate((x[:taps] * np.abs(x[:taps]), self.head / scale**2))
            return self.pressures(drawn(x)) / scale**2 - wanted

        start = np.concatenate((np.full(taps, 0.7), np.zeros(len(self.head))))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            roots = root(residual, start, method=method, tol=1e-10).x
        return drawn(roots)

    def by_node_matrix(self) -> tuple[np.ndarray, int]:
        """Flows by Newton on the sparse node matrix, with the same states of the outlets."""
        n, links = self.n, np.arange(1, self.n)
        above = self.parent[1:]
        drawn = np.minimum(self.cap, 0.7 * self.c * math.sqrt(self.source))
        flow = np.zeros(n)
        flow[1:] = 1e-4
        pressure = np.full(n, self.source)
        square = self.c**2
        for step in range(1, 100):
            loss, slope = self.losses(flow)
            g = 1.0 / slope[1:]
            offset = g * (self.gain[1:] - loss[1:] + slope[1:] * flow[1:])
            p = pressure[self.at]
            near = np.minimum(
                np.maximum(drawn, 0.5 * self.c * np.sqrt(np.maximum(p, 0.0))), self.cap
            )
            near = np.maximum(near, 1e-9)
            go, co = square / (2.0 * near), 0.5 * near
            dry, held = (
                (drawn <= 0.0) & (p <= 0.0),
                (drawn >= self.cap) & (p >= (self.cap / self.c) ** 2),
            )
            go[dry | held], co[dry], co[held] = 0.0, 0.0, self.cap[held]
            rows = np.concatenate((links, links, above, above, self.at))
            columns = np.concatenate((links, above, above, links, self.at))
            values = np.concatenate((g, -g, g, -g, go))
            right = np.bincount(links, offset, n) - np.bincount(above, offset, n)
            right -= np.bincount(self.at, co, n)
            inner = (rows > 0) & (columns > 0)
            right -= np.bincount(rows[(columns == 0)], values[(columns == 0)] * self.source, n)
            matrix = csc_matrix(
                (values[inner], (rows[inner] - 1, columns[inner] - 1)), shape=(n - 1, n - 1)
            )
            pressure = np.concatenate(([self.source], spsolve(matrix, right[1:])))
            flow[1:] = g * (pressure[above] - pressure[1:]) + offset
            new = np.clip(go * pressure[self.at] + co, 0.0, self.cap)
            change = np.max(np.abs(new - drawn))
            drawn = new
            if change < 1e-13:
                return drawn, step
        return drawn, 100


def seconds(work: Callable[[], object], times: int) -> float:
    """Median processor time of a call [s], which other work on the machine disturbs least."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return statistics.median(taken)


@pytest.mark.parametrize(("fixtures", "times"), [(30, 21), (1000, 5)])
@pytest.mark.parametrize("deep", [False, True])
def test_against_general_solvers(fixtures: int, times: int, deep: bool) -> None:
    """The same flows to 1e-6; prints how many times longer the general solvers take."""
    supply = house_like(fixtures, deep=deep)
    general = General(supply)
    delivered = deliver(supply)
    ours = seconds(lambda: deliver(supply), times)
    sparse, steps = general.by_node_matrix()
    by_matrix = seconds(general.by_node_matrix, times)
    line = f"\n{fixtures} outlets, {len(supply.parent) - 1} links, {'deep' if deep else 'bushy'}: "
    line += f"ours {1e3 * ours:.2f} ms ({delivered.iterations} steps), "
    line += f"sparse Newton {by_matrix / ours:.1f}x ({steps} steps)"
    largest = max(delivered.opening_flow)
    assert np.max(np.abs(sparse - delivered.opening_flow)) < 1e-6 * largest
    for method in ("hybr", "krylov", "df-sane"):
        if method == "hybr" and fixtures > 100 and deep:
            continue
        flows = general.by_root(method)
        error = np.max(np.abs(flows - delivered.opening_flow)) / largest
        taken = seconds(lambda method=method: general.by_root(method), 1 if fixtures > 100 else 5)
        line += f", {method} {taken / ours:.0f}x (off by {error:.0e})"
    print(line)


@pytest.mark.parametrize("deep", [False, True])
def test_with_several_heads(deep: bool) -> None:
    """30 outlets and two tanks: the same flows to 1e-6; prints how many times longer hybr takes."""
    supply = house_like(30, deep=deep)
    heads = tuple(
        Head(name=f"tank {link}", link=link, law=constant_source(pressure))
        for link, pressure in ((5, 0.9e5), (20, 1.8e5))
    )
    supply = replace(supply, heads=heads)
    general = General(supply)
    delivered = deliver(supply)
    expected = np.array([*delivered.opening_flow, *(-flow for flow in delivered.head_flow)])
    ours = seconds(lambda: deliver(supply), 21)
    flows = general.by_root("hybr")
    assert np.max(np.abs(flows - expected)) < 1e-6 * np.max(np.abs(expected))
    ratio = seconds(lambda: general.by_root("hybr"), 5) / ours
    print(f"\n30 outlets, 2 tanks: ours {1e3 * ours:.2f} ms, hybr {ratio:.0f}x")
