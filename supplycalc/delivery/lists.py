"""Newton steps in plain Python, for houses: faster there than numpy."""

from __future__ import annotations

import math
from collections.abc import Sequence

from supplycalc.delivery.live import Live, laws_of
from supplycalc.delivery.outlets import Mixers, draw, miss, settle
from supplycalc.delivery.problem import Problem
from supplycalc.hydraulics.factor import LAMINAR_LIMIT, factor_and_power
from supplycalc.hydraulics.friction import hazen_williams_gradient, hazen_williams_slope

State = tuple[list[float], tuple[list[float], list[float], list[float]]]
"""Draws of the openings and of the mixers."""


class ListEngine:
    """Draws of everything open, and how to improve them.

    `evaluate` finds flows, losses and pressures of the present draws; `step` linearises every law
    there and solves the tree: from the leaves up each subtree becomes "flow = G pressure + c", then
    the pressures follow from the source down. Only mixers tie branches together: what one unit of
    each one's unknown does to the others' pressures comes from the same elimination, and the small
    dense system of the mixers is solved before their draws are taken.
    """

    def __init__(self, problem: Problem, live: Live, share: float) -> None:
        self._problem = problem
        self._live = live
        self._devices, self._limits = laws_of(problem, live)
        self._gain = [problem.static_gain[i] for i in live.original]
        self._pipes = [_pipe(problem, i) for i in live.original]
        self._regulating = [False] * len(live.parent)
        self.opening = [share * bound for bound in live.opening_bound]
        self.mixers = Mixers(problem, live, share)
        self.flow: list[float] = []
        self.loss: list[float] = []
        self.pressure: list[float] = []
        self._slope: list[float] = []
        self._drag = [live.scale / max(bound, 1e-9) for bound in live.opening_bound]
        self._from = self._to = list(self.opening)

    def evaluate(self) -> float:
        """Follow flows up and pressures down for the present draws.

        Returns the largest pressure by which any outlet misses its law [Pa].
        """
        live = self._live
        parent, n = live.parent, len(live.parent)
        flow = [0.0] * n
        for draws, places in (
            (self.opening, live.opening_at),
            (self.mixers.cold, live.cold_at),
            (self.mixers.hot, live.hot_at),
        ):
            for drawn, at in zip(draws, places, strict=True):
                flow[at] += drawn
        add_up(parent, flow)
        loss, slope, pressure = [0.0] * n, [0.0] * n, [0.0] * n
        pressure[0], falling = self._problem.source(flow[0])
        slope[0] = -falling
        for i in range(1, n):
            q = flow[i]
            scale, reynolds_per_flow, relative, quadratic, c = self._pipes[i]
            lost = rise = 0.0
            if scale > 0.0:
                reynolds = reynolds_per_flow * q
                if c is not None:
                    lost, rise = self._hazen_williams(i, q, c)
                elif reynolds <= LAMINAR_LIMIT:
                    rise = 64.0 * scale
                    lost = rise * q
                else:
                    factor, power = factor_and_power(reynolds, relative)
                    rise = factor * reynolds * scale
                    lost = rise * q
                    rise *= 2.0 + power
            if quadratic > 0.0:
                lost += quadratic * q * q
                rise += 2.0 * quadratic * q
            device = self._devices[i]
            if device is not None:
                more, steeper = device(q)
                lost += more
                rise += steeper
            value = pressure[parent[i]] + self._gain[i] - lost
            limit = self._limits[i]
            if limit is not None:
                most, falling = limit(q)
                self._regulating[i] = value > most
                if value > most:
                    value, rise = most, -falling
            loss[i], slope[i], pressure[i] = lost, rise, value
        self.flow, self.loss, self._slope, self.pressure = flow, loss, slope, pressure
        worst = max(self.misses(), default=0.0)
        return worst if math.isfinite(worst) else math.inf

    def _hazen_williams(self, i: int, flow: float, c: float) -> tuple[float, float]:
        original, problem = self._live.original[i], self._problem
        length = problem.length[original]
        bore, density = problem.inside_diameter[original], problem.density[original]
        return (
            length * hazen_williams_gradient(flow, bore, c, density),
            length * hazen_williams_slope(flow, bore, c, density),
        )

    def misses(self) -> list[float]:
        """Pressure by which each opening, then each mixer, misses its law [Pa]."""
        openings = self._problem.openings
        found = [
            miss(self.pressure[at], drawn, opening.coefficient, opening.cap)
            for at, drawn, opening in zip(
                self._live.opening_at, self.opening, openings, strict=True
            )
        ]
        return found + self.mixers.miss(*self._at_mixers(self.pressure))

    def _at_mixers(self, values: list[float]) -> tuple[list[float], list[float]]:
        return [values[i] for i in self._live.cold_at], [values[i] for i in self._live.hot_at]

    def state(self) -> State:
        """The present draws, to come back to with `restore`."""
        return list(self.opening), self.mixers.state()

    def restore(self, state: State) -> None:
        """Draw as at an earlier `state`."""
        self.opening = list(state[0])
        self.mixers.restore(state[1])

    def ratio_excess(self, j: int) -> float:
        """What a ratio mixer would draw at the present pressures less what it draws [m3/s]."""
        cold, hot = self._at_mixers(self.pressure)
        return self.mixers.ratio_excess(j, cold[j], hot[j])

    def gain(self) -> float:
        """Power that is left over along the last step at the present draws [W].

        Where no valve regulates or balances, the settled state is the minimum of a convex function
        of the draws, and this is its fall along the step.
        """
        power = self.mixers.gain(*self._at_mixers(self.pressure))
        for j, (at, opening) in enumerate(
            zip(self._live.opening_at, self._problem.openings, strict=True)
        ):
            over = self.pressure[at] - (self.opening[j] / opening.coefficient) ** 2
            power += over * (self._to[j] - self._from[j])
        return power

    def move(self, share: float) -> None:
        """Stand at `share` of the way of the last step."""
        self.opening = [a + share * (b - a) for a, b in zip(self._from, self._to, strict=True)]
        if share == 1.0:
            self.opening = list(self._to)
        self.mixers.move(share)

    def aim(self, damping: float) -> None:
        """Find Newton's step from the present draws, held back by `damping`; see `move`."""
        live, n = self._live, len(self._live.parent)
        conduct, constant = [0.0] * n, [0.0] * n
        draws = []
        for j, at in enumerate(live.opening_at):
            opening = self._problem.openings[j]
            g, c = draw(
                self.pressure[at],
                self.opening[j],
                opening.coefficient,
                opening.cap,
                damping * self._drag[j],
            )
            draws.append((g, c))
            conduct[at] += g
            constant[at] += c
        forms = self.mixers.forms(*self._at_mixers(self.pressure), damping)
        for form, cold_at, hot_at in zip(forms, live.cold_at, live.hot_at, strict=True):
            for side, at in enumerate((cold_at, hot_at)):
                conduct[at] += form.g[side]
                constant[at] += form.c[side] + form.per[side] * form.x

        fixed, passes = self._linear()
        shrink = eliminate(live.parent, self._slope, fixed, passes, conduct, constant)
        pressure = descend(live.parent, self._slope, fixed, passes, shrink, constant)
        unknown = [k for k, form in enumerate(forms) if form.row is not None]
        x = [form.x for form in forms]
        if unknown:
            responses = [
                self._response(shrink, live.cold_at[k], live.hot_at[k], forms[k].per)
                for k in unknown
            ]
            at_sides = [self._at_mixers(response) for response in responses]
            changes = settle(
                forms,
                *self._at_mixers(pressure),
                [cold for cold, _ in at_sides],
                [hot for _, hot in at_sides],
            )
            for k, change, response in zip(unknown, changes, responses, strict=True):
                x[k] += change
                pressure = [p + change * more for p, more in zip(pressure, response, strict=True)]
        self.mixers.aim(forms, *self._at_mixers(pressure), x)
        self._from = self.opening
        self._to = [
            min(max(g * pressure[at] + c, 0.0), bound)
            for at, (g, c), bound in zip(live.opening_at, draws, live.opening_bound, strict=True)
        ]

    def _linear(self) -> tuple[list[float], list[float]]:
        """Every link's linear form; see `eliminate`."""
        fixed, passes = [], []
        rows = zip(
            self._regulating, self.pressure, self._gain, self.loss, self._slope, self.flow,
            strict=True,
        )  # fmt: skip
        for i, (regulating, pressure, gain, loss, slope, flow) in enumerate(rows):
            holds = regulating or i == 0
            fixed.append((pressure if holds else gain - loss) + slope * flow)
            passes.append(0.0 if holds else 1.0)
        return fixed, passes

    def _response(
        self, shrink: list[float], cold_at: int, hot_at: int, more: tuple[float, float]
    ) -> list[float]:
        """What more constant demand at two points does to every pressure."""
        parent, n = self._live.parent, len(self._live.parent)
        demand, change = [0.0] * n, [0.0] * n
        demand[cold_at] += more[0]
        demand[hot_at] += more[1]
        for i in range(n - 1, 0, -1):
            if demand[i] != 0.0:
                demand[parent[i]] += demand[i] * shrink[i]
        for i in range(n):
            above = 0.0 if i == 0 or self._regulating[i] else change[parent[i]]
            change[i] = (above - self._slope[i] * demand[i]) * shrink[i]
        return change


def add_up(parent: Sequence[int], flow: list[float]) -> None:
    """Add every link's flow to that of the link that feeds it, in place [m3/s].

    Args:
        parent: index of the feeding link, -1 for the source [-].
        flow: what is drawn at each link's end; becomes the flow of each link [m3/s].

    Source: our own.
    """
    for i in range(len(parent) - 1, 0, -1):
        flow[parent[i]] += flow[i]


def eliminate(
    parent: Sequence[int],
    slope: Sequence[float],
    fixed: Sequence[float],
    passes: Sequence[float],
    conduct: list[float],
    constant: list[float],
) -> list[float]:
    """Make each subtree "flow = G pressure + c", from the leaves up, in place.

    Link i is linear: the pressure at its end is passes*(pressure before it) + fixed - slope*flow,
    with passes 0 for the source and for a valve that holds its outlet.

    Args:
        parent: index of the feeding link, -1 for the source [-].
        slope: of each link [Pa s/m3].
        fixed: of each link [Pa].
        passes: 0 or 1 [-].
        conduct: G of what is open at each point; becomes that of all below [m3/s per Pa].
        constant: c of what is open at each point; becomes that of all below [m3/s].

    Returns:
        1/(1 + G slope) of each link [-], the share of a demand that counts upstream.

    Source: our own (elimination on a tree).
    """
    shrink = [1.0] * len(parent)
    for i in range(len(parent) - 1, 0, -1):
        g, above = conduct[i], parent[i]
        if g == 0.0:
            constant[above] += constant[i]
            continue
        shrink[i] = through = 1.0 / (1.0 + g * slope[i])
        constant[above] += (constant[i] + g * fixed[i]) * through
        conduct[above] += g * through * passes[i]
    shrink[0] = 1.0 / (1.0 + conduct[0] * slope[0])
    return shrink


def descend(
    parent: Sequence[int],
    slope: Sequence[float],
    fixed: Sequence[float],
    passes: Sequence[float],
    shrink: Sequence[float],
    constant: Sequence[float],
) -> list[float]:
    """Pressures of the linear system of `eliminate`, from the source down.

    Args:
        parent: index of the feeding link, -1 for the source [-].
        slope: of each link [Pa s/m3].
        fixed: of each link [Pa].
        passes: 0 or 1 [-].
        shrink: what `eliminate` returned [-].
        constant: c of all below each point [m3/s].

    Returns:
        Pressure at each link's end [Pa].

    Source: our own.
    """
    pressure: list[float] = []
    for above, s, f, p, share, c in zip(
        parent, slope, fixed, passes, shrink, constant, strict=True
    ):
        before = pressure[above] if p else 0.0
        pressure.append((before + f - s * c) * share)
    return pressure


def _pipe(problem: Problem, i: int) -> tuple[float, float, float, float, float | None]:
    """What of the friction law does not change with flow; see `friction.pressure_gradient`.

    (2 mu L/(pi D^4), Reynolds number over flow, relative roughness, fittings' loss over flow
    squared, C or None); all zero where there is no pipe.
    """
    bore, density, viscosity = (
        problem.inside_diameter[i],
        problem.density[i],
        problem.viscosity[i],
    )
    quadratic = 0.0
    if problem.k[i] > 0.0:
        quadratic = problem.k[i] * density / 2.0 / (math.pi / 4.0 * bore * bore) ** 2
    if problem.length[i] <= 0.0:
        return 0.0, 0.0, 0.0, quadratic, None
    return (
        2.0 * viscosity * problem.length[i] / (math.pi * bore**4),
        4.0 * density / (math.pi * bore * viscosity),
        problem.roughness[i] / bore,
        quadratic,
        None if problem.hazen_williams_c is None else problem.hazen_williams_c[i],
    )
