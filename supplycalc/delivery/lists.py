"""Newton steps in plain Python, for houses: faster there than numpy."""

from __future__ import annotations

import math
from collections.abc import Sequence

from supplycalc.delivery.live import Live, laws_of
from supplycalc.delivery.outlets import REVISIONS, Mixers, draw, settle
from supplycalc.delivery.problem import Law, Problem
from supplycalc.hydraulics.friction import (
    factor_reynolds,
    hazen_williams_gradient,
    hazen_williams_slope,
)

State = tuple[list[float], tuple[list[float], list[float], list[float]]]
"""Draws of the openings and of the mixers."""

_Special = tuple[Law | None, Law | None]
"""Further loss, and the highest pressure behind a reducing valve."""
_Link = tuple[int, float, float, float, float, float, _Special | None]
"""(feeding link, static gain, 2 mu L/(pi D^4), Reynolds number over flow, relative roughness,
fittings' loss over flow squared, what else it is); zero where there is no such loss."""

_HARDLY = 1e-6
"""Share of its flow by which a pipe's may change and its loss follow the tangent: what that
leaves out is of the order of its square, 1e-12 of the loss. Near the end, and behind a regulator
that holds an outlet, friction need not be worked out again."""
_CIRCLE = math.pi / 4.0  # area over diameter squared


class ListEngine:
    """Draws of everything open, and how to improve them.

    `evaluate` finds flows and pressures of the present draws, with the slope of every link's loss;
    `aim` solves for the step at which all laws, made linear there, are met: from the leaves up each
    subtree's change of flow becomes "G times the change of pressure + c", then the changes of
    pressure follow from the source down. Where that would draw an outlet backward, it is shut and
    the step solved anew, lest the others lean on water that it can't give. Only mixers tie branches
    together: what one unit of each one's unknown does to the others' pressures comes from the same
    elimination, and the small dense system of the mixers is solved before their draws are taken.
    """

    def __init__(self, problem: Problem, live: Live, share: float) -> None:
        self._problem = problem
        self._live = live
        self._links = _links(problem, live)
        self._pipes = [(0.0, 0.0, 64.0 * link[2]) for link in self._links]
        self._orifices = [(one.coefficient, one.cap) for one in problem.openings]
        self._passes = [0.0] + [1.0] * (len(live.parent) - 1)
        self.opening = [share * bound for bound in live.opening_bound]
        self.mixers = Mixers(problem, live, share)
        self.flow: list[float] = []
        self.pressure: list[float] = []
        self._slope: list[float] = []
        self._over: list[float] = []
        self._drag = [live.scale / max(bound, 1e-9) for bound in live.opening_bound]
        self._from = self._to = list(self.opening)

    def evaluate(self) -> float:
        """Follow flows up and pressures down for the present draws.

        Returns the largest pressure by which any outlet misses its law [Pa].
        """
        live, mixers = self._live, self.mixers
        flow = [0.0] * len(live.parent)
        for at, drawn in zip(live.opening_at, self.opening, strict=True):
            flow[at] += drawn
        if len(mixers):
            for draws, places in ((mixers.cold, live.cold_at), (mixers.hot, live.hot_at)):
                for drawn, at in zip(draws, places, strict=True):
                    flow[at] += drawn
        add_up(live.parent, flow)
        source, falling = self._problem.source(flow[0])
        pressure, slope, pipes = [source], [-falling], [(flow[0], 0.0, 0.0)]
        rows = zip(flow, self._pipes, self._links, strict=True)
        next(rows)
        for q, pipe, (above, gain, scale, reynolds_per_flow, roughness, k, special) in rows:
            known, lost, rise = pipe
            change, little = q - known, _HARDLY * q
            if not -little <= change <= little:
                product, power = factor_reynolds(reynolds_per_flow * q, roughness)
                rise, fitting = product * scale, k * q
                lost = (rise + fitting) * q
                rise = rise * (2.0 + power) + 2.0 * fitting
                pipe, change = (q, lost, rise), 0.0
            pipes.append(pipe)
            value = pressure[above] + gain - lost - rise * change
            if special is not None:
                value, rise = self._special(len(slope), special, q, value, rise)
            pressure.append(value)
            slope.append(rise)
        self._pipes = pipes
        self.flow, self._slope, self.pressure = flow, slope, pressure
        self._over = [
            pressure[at] - (drawn / coefficient) ** 2
            for at, drawn, (coefficient, _) in zip(
                live.opening_at, self.opening, self._orifices, strict=True
            )
        ]
        worst = max(self.misses(), default=0.0)
        return worst if math.isfinite(worst) else math.inf

    def _special(
        self, i: int, special: _Special, flow: float, pressure: float, rise: float
    ) -> tuple[float, float]:
        """Pressure and slope of a link that is not only a pipe by Darcy-Weisbach."""
        loss, limit = special
        if loss is not None:
            lost, steeper = loss(flow)
            pressure -= lost
            rise += steeper
        if limit is not None:
            most, falling = limit(flow)
            regulates = pressure > most
            self._passes[i] = 0.0 if regulates else 1.0
            if regulates:
                return most, -falling
        return pressure, rise

    def misses(self) -> list[float]:
        """Pressure by which each opening, then each mixer, misses its law [Pa]."""
        found = [
            0.0 if (drawn <= 0.0 and over <= 0.0) or (drawn >= cap and over >= 0.0) else abs(over)
            for over, drawn, (_, cap) in zip(self._over, self.opening, self._orifices, strict=True)
        ]
        if len(self.mixers):
            found += self.mixers.miss(*self._at_mixers(self.pressure))
        return found

    def _at_mixers(self, values: list[float]) -> tuple[list[float], list[float]]:
        return [values[i] for i in self._live.cold_at], [values[i] for i in self._live.hot_at]

    def state(self) -> State:
        """The present draws, to come back to with `restore`."""
        return list(self.opening), self.mixers.state()

    def restore(self, state: State) -> None:
        """Draw as at an earlier `state`."""
        self.opening = list(state[0])
        self.mixers.restore(state[1])

    def ease(self, most: float) -> None:
        """Cut the draws below every link that now loses more than `most` [Pa], as its loss goes."""
        share: list[float] = []
        for value, (above, gain, *_) in zip(self.pressure, self._links, strict=True):
            before = most if above < 0 else self.pressure[above] + gain
            part = math.sqrt(most / max(before - value, most))
            share.append(part if above < 0 else min(part, share[above]))
        self.opening = [
            drawn * share[at] for at, drawn in zip(self._live.opening_at, self.opening, strict=True)
        ]
        self.mixers.ease(*self._at_mixers(share))

    def ratio_excess(self, j: int) -> float:
        """What a ratio mixer would draw at the present pressures less what it draws [m3/s]."""
        cold, hot = self._at_mixers(self.pressure)
        return self.mixers.ratio_excess(j, cold[j], hot[j])

    def gain(self) -> float:
        """Power that is left over along the last step at the present draws [W].

        Where no valve regulates or balances, the settled state is the minimum of a convex function
        of the draws, and this is its fall along the step.
        """
        power = 0.0
        for over, before, after in zip(self._over, self._from, self._to, strict=True):
            power += over * (after - before)
        if len(self.mixers):
            power += self.mixers.gain(*self._at_mixers(self.pressure))
        return power

    def move(self, share: float) -> None:
        """Stand at `share` of the way of the last step."""
        if share == 1.0:
            self.opening = list(self._to)
        else:
            self.opening = [a + share * (b - a) for a, b in zip(self._from, self._to, strict=True)]
        self.mixers.move(share)

    def aim(self, damping: float) -> None:
        """Find Newton's step from the present draws, held back by `damping`; see `move`."""
        live, pressure = self._live, self.pressure
        rows = []
        for at, over, drawn, (coefficient, cap), drag in zip(
            live.opening_at, self._over, self.opening, self._orifices, self._drag, strict=True
        ):
            if over >= 0.0 and drawn >= cap:
                rows.append((at, 0.0, cap, drawn))
                continue
            p = pressure[at]
            g, c = draw(p, drawn, coefficient, cap, damping * drag)
            rows.append((at, g, g * p + c, drawn))
        self.mixers.free()
        for _ in range(REVISIONS):
            change = self._solve(rows, damping)
            after = [to + g * change[at] for at, g, to, _ in rows]
            if not self.mixers.revise() and min(after, default=0.0) >= 0.0:
                break
            rows = [
                row if to >= 0.0 else (row[0], 0.0, 0.0, row[3])
                for row, to in zip(rows, after, strict=True)
            ]
        self._from = self.opening
        self._to = [
            0.0 if to < 0.0 else to if to < bound else bound
            for to, bound in zip(after, live.opening_bound, strict=True)
        ]

    def _solve(self, rows: list[tuple[int, float, float, float]], damping: float) -> list[float]:
        """Changes of all pressures when openings draw as `rows` tell; aims the mixers too."""
        live, mixers, n = self._live, self.mixers, len(self._live.parent)
        conduct, constant = [0.0] * n, [0.0] * n
        for at, g, to, drawn in rows:
            conduct[at] += g
            constant[at] += to - drawn
        if not len(mixers):
            shrink = eliminate(live.parent, self._slope, self._passes, conduct, constant)
            return descend(live.parent, self._slope, self._passes, shrink, constant)
        sides = self._at_mixers(self.pressure)
        forms = mixers.forms(*sides, damping)
        for side, places in enumerate((live.cold_at, live.hot_at)):
            drawn_there = (mixers.cold, mixers.hot)[side]
            for form, at, p, drawn in zip(forms, places, sides[side], drawn_there, strict=True):
                conduct[at] += form.g[side]
                constant[at] += form.g[side] * p + form.c[side] + form.per[side] * form.x - drawn
        shrink = eliminate(live.parent, self._slope, self._passes, conduct, constant)
        change = descend(live.parent, self._slope, self._passes, shrink, constant)
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
                *self._after(change),
                [cold for cold, _ in at_sides],
                [hot for _, hot in at_sides],
            )
            for k, step, response in zip(unknown, changes, responses, strict=True):
                x[k] += step
                change = [p + step * more for p, more in zip(change, response, strict=True)]
        mixers.aim(forms, *self._after(change), x)
        return change

    def _after(self, change: list[float]) -> tuple[list[float], list[float]]:
        """Pressures at the mixers' sides after a change."""
        pressure, live = self.pressure, self._live
        return (
            [pressure[i] + change[i] for i in live.cold_at],
            [pressure[i] + change[i] for i in live.hot_at],
        )

    def _response(
        self, shrink: list[float], cold_at: int, hot_at: int, more: tuple[float, float]
    ) -> list[float]:
        """What more constant demand at two points does to every pressure."""
        parent, n = self._live.parent, len(self._live.parent)
        demand = [0.0] * n
        demand[cold_at] += more[0]
        demand[hot_at] += more[1]
        for i in range(n - 1, 0, -1):
            if demand[i] != 0.0:
                demand[parent[i]] += demand[i] * shrink[i]
        return descend(parent, self._slope, self._passes, shrink, demand)


def add_up(parent: Sequence[int], flow: list[float]) -> None:
    """Add every link's flow to that of the link that feeds it, in place [m3/s].

    Args:
        parent: index of the feeding link, -1 for the source.
        flow: what is drawn at each link's end; becomes the flow of each link [m3/s].
    """
    for i in range(len(parent) - 1, 0, -1):
        flow[parent[i]] += flow[i]


def eliminate(
    parent: Sequence[int],
    slope: Sequence[float],
    passes: Sequence[float],
    conduct: list[float],
    constant: list[float],
) -> list[float]:
    """Make each subtree "change of flow = G change of pressure + c", from the leaves up, in place.

    Link i is linear: the pressure at its end changes by passes*(change before it) - slope*(change
    of its flow), with passes 0 for the source and for a valve that holds its outlet.

    Args:
        parent: index of the feeding link, -1 for the source.
        slope: of each link [Pa s/m3].
        passes: 0 or 1.
        conduct: G of what is open at each point; becomes that of all below [m3/s per Pa].
        constant: c of what is open at each point; becomes that of all below [m3/s].

    Returns:
        1/(1 + G slope) of each link, the share of a demand that counts upstream.

    How: elimination on a tree.
    """
    shrink = [1.0] * len(parent)
    for i in range(len(parent) - 1, 0, -1):
        g, above = conduct[i], parent[i]
        if g == 0.0:
            constant[above] += constant[i]
            continue
        shrink[i] = through = 1.0 / (1.0 + g * slope[i])
        constant[above] += constant[i] * through
        conduct[above] += g * through * passes[i]
    shrink[0] = 1.0 / (1.0 + conduct[0] * slope[0])
    return shrink


def descend(
    parent: Sequence[int],
    slope: Sequence[float],
    passes: Sequence[float],
    shrink: Sequence[float],
    constant: Sequence[float],
) -> list[float]:
    """Changes of pressure of the linear system of `eliminate`, from the source down.

    Args:
        parent: index of the feeding link, -1 for the source.
        slope: of each link [Pa s/m3].
        passes: 0 or 1.
        shrink: what `eliminate` returned.
        constant: c of all below each point [m3/s].

    Returns:
        Change of the pressure at each link's end [Pa].
    """
    change: list[float] = []
    for above, s, p, share, c in zip(parent, slope, passes, shrink, constant, strict=True):
        before = change[above] if p else 0.0
        change.append((before - s * c) * share)
    return change


def _links(problem: Problem, live: Live) -> list[_Link]:
    """What of every live link's law does not change with flow; see `friction.pressure_gradient`."""
    lengths, ks, bores, gains = (
        problem.length,
        problem.k,
        problem.inside_diameter,
        problem.static_gain,
    )
    devices, limits = laws_of(problem, live)
    links: list[_Link] = []
    for i, above, loss, limit in zip(live.original, live.parent, devices, limits, strict=True):
        length, k, bore = lengths[i], ks[i], bores[i]
        density, viscosity = problem.density[i], problem.viscosity[i]
        area = _CIRCLE * bore * bore
        scale = reynolds_per_flow = roughness = fittings = 0.0
        if k > 0.0:
            fittings = k * density / 2.0 / (area * area)
        if length > 0.0 and problem.hazen_williams_c is None:
            scale = 0.5 * _CIRCLE * viscosity * length / (area * area)
            reynolds_per_flow = density * bore / (area * viscosity)
            roughness = problem.roughness[i] / bore
        elif length > 0.0:
            loss = _hazen_williams(problem, i, loss)
        special = None if loss is None and limit is None else (loss, limit)
        links.append((above, gains[i], scale, reynolds_per_flow, roughness, fittings, special))
    return links


def _hazen_williams(problem: Problem, i: int, device: Law | None) -> Law:
    """The loss of a pipe by Hazen-Williams, with that of a device in it if there is one."""
    assert problem.hazen_williams_c is not None
    length, c = problem.length[i], problem.hazen_williams_c[i]
    bore, density = problem.inside_diameter[i], problem.density[i]

    def law(flow: float) -> tuple[float, float]:
        lost, steeper = (0.0, 0.0) if device is None else device(flow)
        return (
            lost + length * hazen_williams_gradient(flow, bore, c, density),
            steeper + length * hazen_williams_slope(flow, bore, c, density),
        )

    return law
