"""Newton steps in numpy, level by level over the tree, for large supplies; as `lists`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from supplycalc.delivery.lists import State, add_up, descend, eliminate
from supplycalc.delivery.live import Live, laws_of
from supplycalc.delivery.outlets import NEAR, REVISIONS, SMALLEST_SLOPE_FLOW, Mixers, settle
from supplycalc.delivery.problem import Law, Problem
from supplycalc.hydraulics.friction import (
    hazen_williams_gradient,
    hazen_williams_slope,
    pressure_gradient_with_slope,
)

Array = NDArray[np.float64]

LINKS_PER_LEVEL = 30
"""With fewer links per level than this on average, passes link by link in plain Python are faster
than a handful of numpy calls for every level."""


class ArrayEngine:
    """Draws of everything open, and how to improve them; a test holds it equal to `ListEngine`.

    Links are kept level by level from the source, so that a whole level is one slice and each pass
    over the tree is a few numpy calls per level.
    """

    def __init__(self, problem: Problem, live: Live, share: float) -> None:
        self._problem = problem
        n = len(live.parent)
        depth = [0] * n
        for i in range(1, n):
            depth[i] = depth[live.parent[i]] + 1
        by_level = np.argsort(np.array(depth), kind="stable")
        self._place = np.empty(n, dtype=np.int64)
        self._place[by_level] = np.arange(n)
        self._parent = np.zeros(n, dtype=np.int64)
        self._parent[1:] = self._place[np.array(live.parent, dtype=np.int64)[by_level[1:]]]
        self._parent_list: list[int] = self._parent.tolist()
        edges = [0, *np.cumsum(np.bincount(depth)).tolist()]
        self._levels = [slice(a, b) for a, b in pairwise(edges)]
        self._upward = [
            (above, level, self._parent[level] - above.start)
            for above, level in pairwise(self._levels)
        ][::-1]
        self._deep = n < LINKS_PER_LEVEL * len(self._levels)

        original = np.array(live.original, dtype=np.int64)[by_level]
        self._gain = np.array(problem.static_gain)[original]
        self._pipes(original)
        devices, limits = laws_of(problem, live)
        place = self._place.tolist()
        self._devices = [(place[j], law) for j, law in enumerate(devices) if law is not None]
        self._limits: list[list[tuple[int, Law]]] = [[] for _ in self._levels]
        for j, law in enumerate(limits):
            if law is not None:
                self._limits[depth[j]].append((place[j], law))
        self._any_limit = any(self._limits)
        self._regulating = np.zeros(n, dtype=bool)

        self._at = self._place[np.array(live.opening_at, dtype=np.int64)]
        self._cold_at = self._place[np.array(live.cold_at, dtype=np.int64)]
        self._hot_at = self._place[np.array(live.hot_at, dtype=np.int64)]
        self._coefficient = np.array([o.coefficient for o in problem.openings], dtype=float)
        self._cap = np.array([o.cap for o in problem.openings], dtype=float)
        self._bound = np.array(live.opening_bound, dtype=float)
        self._drag = live.scale / np.maximum(self._bound, 1e-9)
        self._draws = share * self._bound
        self._from = self._to = self._draws
        self.mixers = Mixers(problem, live, share)
        self._flow = self._slope = self._pressure = np.zeros(n)

    def _pipes(self, original: NDArray[np.int64]) -> None:
        p = self._problem
        bore = np.array(p.inside_diameter)[original]
        k, density = np.array(p.k)[original], np.array(p.density)[original]
        is_pipe = np.array(p.length)[original] > 0.0
        self._length = np.array(p.length)[original][is_pipe]
        self._pipe_at = np.flatnonzero(is_pipe)
        self._bore = bore[is_pipe]
        self._roughness = np.array(p.roughness)[original][is_pipe]
        self._density = density[is_pipe]
        self._viscosity = np.array(p.viscosity)[original][is_pipe]
        self._c = None
        if p.hazen_williams_c is not None:
            self._c = np.array(p.hazen_williams_c)[original][is_pipe]
        self._quadratic = np.zeros(len(original))
        fitted = k > 0.0
        area = math.pi / 4.0 * bore[fitted] ** 2
        self._quadratic[fitted] = k[fitted] * density[fitted] / 2.0 / area**2

    @property
    def opening(self) -> list[float]:
        """Draw of each opening [m3/s]."""
        return _plain(self._draws)

    @property
    def flow(self) -> list[float]:
        """Of each live link [m3/s]."""
        return _plain(self._flow[self._place])

    @property
    def pressure(self) -> list[float]:
        """At each live link's end [Pa gauge]."""
        return _plain(self._pressure[self._place])

    def evaluate(self) -> float:
        """Follow flows up and pressures down for the present draws.

        Returns the largest pressure by which any outlet misses its law [Pa].
        """
        n = len(self._parent)
        flow = _sums(self._at, self._draws, n)
        if len(self.mixers):
            flow += _sums(self._cold_at, self.mixers.cold, n)
            flow += _sums(self._hot_at, self.mixers.hot, n)
        if self._deep:
            drawn = flow.tolist()
            add_up(self._parent_list, drawn)
            flow = np.array(drawn)
        else:
            for above, level, feeder in self._upward:
                flow[above] += np.bincount(feeder, flow[level], above.stop - above.start)
        loss = self._quadratic * flow
        slope = 2.0 * loss
        loss *= flow
        self._add_friction(flow, loss, slope)
        for i, law in self._devices:
            more, steeper = law(float(flow[i]))
            loss[i] += more
            slope[i] += steeper
        source, falling = self._problem.source(float(flow[0]))
        slope[0] = -falling
        pressure = self._fall(source, flow, self._gain - loss, slope)
        self._flow, self._slope, self._pressure = flow, slope, pressure
        worst = max(self.misses(), default=0.0)
        return worst if math.isfinite(worst) else math.inf

    def _fall(self, source: float, flow: Array, change: Array, slope: Array) -> Array:
        """Pressures from the source down; a valve that regulates gets its own slope."""
        change[0] = source
        self._regulating[:] = False
        if self._deep and not self._any_limit:
            falling: list[float] = []
            for above, more in zip(self._parent_list, change.tolist(), strict=True):
                falling.append(falling[above] + more if falling else more)
            return np.array(falling)
        for k, level in enumerate(self._levels):
            if k:
                change[level] += change[self._parent[level]]
            for i, law in self._limits[k]:
                most, slowing = law(float(flow[i]))
                if change[i] > most:
                    self._regulating[i] = True
                    change[i], slope[i] = most, -slowing
        return change

    def _add_friction(self, flow: Array, loss: Array, slope: Array) -> None:
        q = flow[self._pipe_at]
        if self._c is None:
            lost, rise = pressure_gradient_with_slope(
                q, self._bore, self._roughness, self._density, self._viscosity
            )
        else:
            lost = hazen_williams_gradient(q, self._bore, self._c, self._density)
            rise = hazen_williams_slope(q, self._bore, self._c, self._density)
        loss[self._pipe_at] += lost * self._length
        slope[self._pipe_at] += rise * self._length

    def misses(self) -> list[float]:
        """Pressure by which each opening, then each mixer, misses its law [Pa]."""
        over = self._over()
        found = np.abs(over)
        dry, held = self._draws <= 0.0, self._draws >= self._cap
        found[dry] = np.maximum(over[dry], 0.0)
        found[held] = np.maximum(-over[held], 0.0)
        return _plain(found) + self.mixers.miss(*self._at_mixers(self._pressure))

    def _over(self) -> Array:
        pressure: Array = self._pressure[self._at]
        over: Array = pressure - (self._draws / self._coefficient) ** 2
        return over

    def _at_mixers(self, values: Array) -> tuple[list[float], list[float]]:
        return _plain(values[self._cold_at]), _plain(values[self._hot_at])

    def state(self) -> State:
        """The present draws, to come back to with `restore`."""
        return list(self.opening), self.mixers.state()

    def restore(self, state: State) -> None:
        """Draw as at an earlier `state`."""
        self._draws = np.array(state[0])
        self.mixers.restore(state[1])

    def ease(self, most: float) -> None:
        """Cut the draws below every link that now loses more than `most` [Pa], as its loss goes."""
        before = self._pressure[self._parent] + self._gain
        before[0] = most
        share = np.sqrt(most / np.maximum(before - self._pressure, most))
        for level in self._levels[1:]:
            share[level] = np.minimum(share[level], share[self._parent[level]])
        self._draws = self._draws * share[self._at]
        self.mixers.ease(*self._at_mixers(share))

    def ratio_excess(self, j: int) -> float:
        """What a ratio mixer would draw at the present pressures less what it draws [m3/s]."""
        cold, hot = self._at_mixers(self._pressure)
        return self.mixers.ratio_excess(j, cold[j], hot[j])

    def gain(self) -> float:
        """Power that is left over along the last step at the present draws [W]."""
        power = float(np.dot(self._over(), self._to - self._from))
        return power + self.mixers.gain(*self._at_mixers(self._pressure))

    def move(self, share: float) -> None:
        """Stand at `share` of the way of the last step."""
        if share == 1.0:
            self._draws = self._to
        else:
            self._draws = self._from + share * (self._to - self._from)
        self.mixers.move(share)

    def aim(self, damping: float) -> None:
        """Find Newton's step from the present draws, held back by `damping`; see `move`."""
        g, c = self._linear(damping)
        to = g * self._pressure[self._at] + c
        self.mixers.free()
        for _ in range(REVISIONS):
            change = self._step(g, to - self._draws, damping)
            after = to + g * change[self._at]
            backward = after < 0.0
            if not self.mixers.revise() and not backward.any():
                break
            g, to = np.where(backward, 0.0, g), np.where(backward, 0.0, to)
        self._from = self._draws
        self._to = np.minimum(np.maximum(after, 0.0), self._bound)

    def _step(self, g: Array, more: Array, damping: float) -> Array:
        """Changes of all pressures when openings draw `more` and G times the change; aims mixers.

        See `lists.ListEngine`, which does the same.
        """
        n, mixers = len(self._parent), self.mixers
        conduct, constant = _sums(self._at, g, n), _sums(self._at, more, n)
        if not len(mixers):
            return self._solve(conduct, constant)[1]
        sides = self._at_mixers(self._pressure)
        forms = mixers.forms(*sides, damping)
        for side, at in enumerate((self._cold_at, self._hot_at)):
            drawn = (mixers.cold, mixers.hot)[side]
            np.add.at(conduct, at, [form.g[side] for form in forms])
            fixed = [
                form.g[side] * p + form.c[side] + form.per[side] * form.x - now
                for form, p, now in zip(forms, sides[side], drawn, strict=True)
            ]
            np.add.at(constant, at, fixed)
        shrink, change = self._solve(conduct, constant)
        unknown = [k for k, form in enumerate(forms) if form.row is not None]
        x = [form.x for form in forms]
        if unknown:
            columns = np.zeros((n, len(unknown)))
            for side, at in enumerate((self._cold_at, self._hot_at)):
                per = [forms[k].per[side] for k in unknown]
                np.add.at(columns, (at[unknown], np.arange(len(unknown))), per)
            response = self._response(shrink, columns)
            changes = settle(
                forms,
                *self._at_mixers(self._pressure + change),
                response[self._cold_at].T.tolist(),
                response[self._hot_at].T.tolist(),
            )
            change = change + response @ np.array(changes)
            for k, step in zip(unknown, changes, strict=True):
                x[k] += step
        mixers.aim(forms, *self._at_mixers(self._pressure + change), x)
        return change

    def _linear(self, damping: float) -> tuple[Array, Array]:
        """G and c of every opening; as `outlets.draw`."""
        pressure, flow = self._pressure[self._at], self._draws
        coefficient, cap = self._coefficient, self._cap
        square = coefficient * coefficient
        drag = damping * self._drag
        reach = NEAR * coefficient * np.sqrt(np.maximum(pressure, 0.0))
        at = np.minimum(np.maximum(flow, reach), cap)
        tiny = at < SMALLEST_SLOPE_FLOW
        g = 1.0 / (2.0 * np.maximum(at, SMALLEST_SLOPE_FLOW) / square + drag)
        c = g * (at * at / square + drag * flow)
        c[tiny] = (flow - flow * flow / square * g)[tiny]
        dry = (flow <= 0.0) & (pressure <= 0.0)
        held = (flow >= cap) & (pressure >= cap * cap / square)
        g[dry | held] = 0.0
        c[dry] = 0.0
        c[held] = cap[held]
        return g, c

    def _solve(self, conduct: Array, constant: Array) -> tuple[Array, Array]:
        """(1/(1 + G slope), changes of pressure) of the linear system; see `lists.eliminate`."""
        passes = np.where(self._regulating, 0.0, 1.0)
        passes[0] = 0.0
        if self._deep:
            links = self._parent_list, self._slope.tolist(), passes.tolist()
            below = constant.tolist()
            share = eliminate(*links, conduct.tolist(), below)
            return np.array(share), np.array(descend(*links, share, below))
        shrink = np.empty(len(conduct))
        for above, level, feeder in self._upward:
            g = conduct[level]
            through = 1.0 / (1.0 + g * self._slope[level])
            shrink[level] = through
            count = above.stop - above.start
            constant[above] += np.bincount(feeder, constant[level] * through, count)
            conduct[above] += np.bincount(feeder, g * through * passes[level], count)
        shrink[0] = 1.0 / (1.0 + conduct[0] * self._slope[0])
        change = -(self._slope * constant)
        change *= shrink
        passes *= shrink
        for level in self._levels[1:]:
            change[level] += passes[level] * change[self._parent[level]]
        return shrink, change

    def _response(self, shrink: Array, demand: Array) -> Array:
        """What more constant demand at points (rows) does to every pressure, per column."""
        for _, level, _ in self._upward:
            np.add.at(demand, self._parent[level], demand[level] * shrink[level, None])
        change = -(self._slope * shrink)[:, None] * demand
        passes = np.where(self._regulating, 0.0, shrink)[:, None]
        for level in self._levels[1:]:
            change[level] += passes[level] * change[self._parent[level]]
        return change


def _sums(at: NDArray[np.int64], values: Sequence[float] | Array, count: int) -> Array:
    """Values added up by place; zeros where there are none (bincount then makes integers)."""
    return np.bincount(at, values, count).astype(np.float64, copy=False)


def _plain(values: Array) -> list[float]:
    plain: list[float] = values.tolist()
    return plain
