"""One Newton step: flows up the tree, pressures down it, and the changes that meet all laws.

Only the links on the way to something open or to a head are looked at; they are renumbered, the
source first.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from supplycalc.delivery.open_supply import OpenSupply, check_open, open_pressures_at_rest
from supplycalc.delivery.outlets import (
    OpenMixer,
    mixer_bounds,
    opening_bound,
    orifice_miss,
    orifice_tangent,
    solve_mixers,
)
from supplycalc.hydraulics.pressure import pipe_loss_with_slope

DrawState = tuple[list[float], list[tuple[float, float, float]], list[float]]
"""Draws of the openings, states of the mixers and what the heads give."""

_HARDLY = 1e-6
"""Share of its flow by which a link's may change and its loss follow the tangent: what that leaves
out is of the order of its square, 1e-12 of the loss. Near the end, and behind a regulator that
holds an outlet, losses need not be worked out again."""

_STIFF = 1.0
"""Least fall of a head's pressure with what it gives that a step reckons with [Pa s/m3]: a
thousandth of that of the widest house pipe; the law itself is not changed."""

_REVISIONS = 12
"""How often at most a step is solved anew with outlets shut that it would draw backward."""


class Draws:
    """What everything open draws at present, and how to improve it.

    `evaluate` finds flows and pressures of the present draws, with the slope of every link's loss;
    `aim` solves for the step at which all laws, made linear there, are met: from the leaves up each
    subtree's change of flow becomes "G times the change of pressure + c", then the changes of
    pressure follow from the source down. Where that would draw an outlet backward, it is shut and
    the step solved anew, lest the others lean on water that it can't give. Only mixers tie branches
    together: what one unit of each one's unknown does to the others' pressures comes from the same
    elimination, and the small dense system of the mixers is solved before their draws are taken.

    A further head is a draw of either sign with a pressure of its own: all of the above holds for
    it but the bounds.
    """

    def __init__(self, supply: OpenSupply, share: float) -> None:
        """Begin with everything open drawing a share of the most that it can.

        Raises:
            ComputationError: an outlet or a link is not a thing that water can run through.
        """
        check_open(supply)
        self.links = _links_in_use(supply)
        number = {link: i for i, link in enumerate(self.links)}
        at_rest = open_pressures_at_rest(supply)
        self.pressure = [at_rest[link] for link in self.links]
        self.scale = max(1e3, *map(abs, self.pressure))
        """Largest pressure at rest anywhere [Pa], which tolerances refer to."""

        self._supply = supply
        self._parent = [-1, *(number[supply.parent[link]] for link in self.links[1:])]
        self._gain = [supply.static_gain[link] for link in self.links]
        self._limit = [supply.limit[link] for link in self.links]
        self._known = [(-1.0, 0.0, 0.0)] * len(self.links)
        """Flow at which each link's loss was last worked out, that loss and its slope."""
        self._passes = [0.0] + [1.0] * (len(self.links) - 1)
        self._slope: list[float] = []
        self.flow: list[float] = []

        self._openings = [
            (number[opening.link], opening.coefficient, opening.cap) for opening in supply.openings
        ]
        self._bound = [opening_bound(opening, at_rest[opening.link]) for opening in supply.openings]
        self._drag = [self.scale / max(bound, 1e-9) for bound in self._bound]
        self.opening = [share * bound for bound in self._bound]
        self._from = self._to = list(self.opening)

        self._heads = [(number[head.link], head.law) for head in supply.heads]
        self._head_drag = self.scale / max(sum(self._bound), 1e-4)
        self.given = _first_given(supply, share * max(sum(self._bound), 1e-4))
        """What each head gives [m3/s]."""
        self._given_from = self._given_to = self.given
        self._sides = [(number[mixer.cold_link], number[mixer.hot_link]) for mixer in supply.mixers]
        self.mixers: list[OpenMixer] = []
        for mixer in supply.mixers:
            bounds = mixer_bounds(mixer, at_rest[mixer.cold_link], at_rest[mixer.hot_link])
            self.mixers.append(OpenMixer(mixer, bounds, self.scale))
            self.mixers[-1].put(share * bounds[0], share * bounds[1])

    def evaluate(self) -> float:
        """Follow flows up and pressures down for the present draws.

        Returns the largest pressure by which any outlet misses its law [Pa].
        """
        parent = self._parent
        flow = [0.0] * len(parent)
        for (at, _, _), drawn in zip(self._openings, self.opening, strict=True):
            flow[at] += drawn
        for (cold_at, hot_at), mixer in zip(self._sides, self.mixers, strict=True):
            flow[cold_at] += mixer.cold
            flow[hot_at] += mixer.hot
        for (at, _), given in zip(self._heads, self.given, strict=True):
            flow[at] -= given
        for i in range(len(parent) - 1, 0, -1):
            flow[parent[i]] += flow[i]

        at_source, falling = self._supply.source(max(flow[0], 0.0))
        at_source += falling * min(flow[0], 0.0)
        pressure, slope = [at_source], [-falling]
        rows = zip(flow, parent, self._gain, self._known, self._limit, strict=True)
        for i, (q, above, gain, (known, lost, rise), limit) in enumerate(rows):
            if i == 0:
                continue
            change = q - known
            if abs(change) > _HARDLY * abs(q):
                lost, rise = _loss_with_slope(self._supply, self.links[i], q)
                self._known[i], change = (q, lost, rise), 0.0
            value = pressure[above] + gain - lost - rise * change
            if limit is not None:
                most, falling = limit(max(q, 0.0))
                regulates = value > most
                self._passes[i] = 0.0 if regulates else 1.0
                if regulates:
                    value, rise = most, -falling
            pressure.append(value)
            slope.append(rise)
        self.flow, self.pressure, self._slope = flow, pressure, slope
        worst = max(self.misses(), default=0.0)
        return worst if math.isfinite(worst) else math.inf

    def misses(self) -> list[float]:
        """Pressure by which each opening, then each mixer, misses its law [Pa]."""
        pressure = self.pressure
        misses = [
            orifice_miss(pressure[at], drawn, coefficient, cap)
            for (at, coefficient, cap), drawn in zip(self._openings, self.opening, strict=True)
        ]
        misses += [mixer.miss(*sides) for mixer, sides in self._with_pressures(pressure)]
        misses += [
            abs(pressure[at] - law(given)[0])
            for (at, law), given in zip(self._heads, self.given, strict=True)
        ]
        return misses

    def _with_pressures(
        self, pressure: Sequence[float]
    ) -> Iterator[tuple[OpenMixer, tuple[float, float]]]:
        """Every mixer with the pressures at its cold and its hot side [Pa]."""
        for mixer, (cold_at, hot_at) in zip(self.mixers, self._sides, strict=True):
            yield mixer, (pressure[cold_at], pressure[hot_at])

    def state(self) -> DrawState:
        """The present draws, to come back to with `restore`."""
        return list(self.opening), [mixer.state() for mixer in self.mixers], list(self.given)

    def restore(self, state: DrawState) -> None:
        """Draw as at an earlier `state`."""
        self.opening, self.given = list(state[0]), list(state[2])
        for mixer, its_state in zip(self.mixers, state[1], strict=True):
            mixer.restore(its_state)

    def ease(self, most: float) -> None:
        """Cut the draws below every link that now loses more than `most` [Pa], as its loss goes."""
        pressure = self.pressure
        share = [math.sqrt(most / max(most - pressure[0], most))]
        for i in range(1, len(pressure)):
            lost = pressure[self._parent[i]] + self._gain[i] - pressure[i]
            share.append(min(math.sqrt(most / max(lost, most)), share[self._parent[i]]))
        self.opening = [
            drawn * share[at]
            for (at, _, _), drawn in zip(self._openings, self.opening, strict=True)
        ]
        for mixer, shares in self._with_pressures(share):
            mixer.ease(*shares)
        self.given = [g * share[at] for (at, _), g in zip(self._heads, self.given, strict=True)]

    def excess(self, j: int) -> float:
        """What ratio mixer j would draw at the present pressures less what it draws [m3/s]."""
        cold_at, hot_at = self._sides[j]
        return self.mixers[j].excess(self.pressure[cold_at], self.pressure[hot_at])

    def gain(self) -> float:
        """Power that is left over along the last step at the present draws [W].

        Where no valve regulates or balances, the settled state is the minimum of a convex function
        of the draws, and this is its fall along the step.
        """
        power = sum(mixer.gain(*sides) for mixer, sides in self._with_pressures(self.pressure))
        rows = zip(self._openings, self.opening, self._from, self._to, strict=True)
        for (at, coefficient, _), drawn, before, after in rows:
            over = self.pressure[at] - (drawn / coefficient) ** 2
            power += over * (after - before)
        heads = zip(self._heads, self.given, self._given_from, self._given_to, strict=True)
        for (at, law), given, before, after in heads:
            power += (law(given)[0] - self.pressure[at]) * (after - before)
        return power

    def move(self, share: float) -> None:
        """Stand at `share` of the way of the last step."""
        if share == 1.0:
            self.opening, self.given = list(self._to), list(self._given_to)
        else:
            self.opening = [a + share * (b - a) for a, b in zip(self._from, self._to, strict=True)]
            ways = zip(self._given_from, self._given_to, strict=True)
            self.given = [a + share * (b - a) for a, b in ways]
        for mixer in self.mixers:
            mixer.move(share)

    def aim(self, damping: float) -> None:
        """Find Newton's step from the present draws, held back by `damping`; see `move`."""
        pressure = self.pressure
        rows = []
        for (at, coefficient, cap), drawn, drag in zip(
            self._openings, self.opening, self._drag, strict=True
        ):
            g, c = orifice_tangent(pressure[at], drawn, coefficient, cap, damping * drag)
            rows.append((at, g, g * pressure[at] + c, drawn))
        heads = []
        for (at, law), given in zip(self._heads, self.given, strict=True):
            value, falling = law(given)
            g = 1.0 / (max(-falling, _STIFF) + damping * self._head_drag)
            heads.append((at, g, g * (pressure[at] - value) - given, -given))
        for mixer in self.mixers:
            mixer.free()
        for _ in range(_REVISIONS):
            change = self._solve(rows + heads, damping)
            after = [to + g * change[at] for at, g, to, _ in rows]
            revised = [mixer.revise() for mixer in self.mixers]
            if not any(revised) and min(after, default=0.0) >= 0.0:
                break
            rows = [
                row if to >= 0.0 else (row[0], 0.0, 0.0, row[3])
                for row, to in zip(rows, after, strict=True)
            ]
        self._from, self._given_from = self.opening, self.given
        self._to = [min(max(to, 0.0), bound) for to, bound in zip(after, self._bound, strict=True)]
        self._given_to = [-to - g * change[at] for at, g, to, _ in heads]

    def _solve(self, rows: list[tuple[int, float, float, float]], damping: float) -> list[float]:
        """Changes of all pressures when openings draw as `rows` tell; aims the mixers too."""
        n = len(self._parent)
        conduct, constant = [0.0] * n, [0.0] * n
        for at, g, to, drawn in rows:
            conduct[at] += g
            constant[at] += to - drawn
        forms = []
        for (mixer, sides), ends in zip(
            self._with_pressures(self.pressure), self._sides, strict=True
        ):
            form = mixer.form(*sides, damping)
            forms.append(form)
            to_cold, to_hot = form.flows(*sides)
            more = (to_cold - mixer.cold, to_hot - mixer.hot)
            for side, at in enumerate(ends):
                conduct[at] += form.g[side]
                constant[at] += more[side]
        shrink = self._eliminate(conduct, constant)
        change = self._descend(shrink, constant)
        tied = [j for j, form in enumerate(forms) if form.row is not None]
        if tied:
            responses = [self._response(shrink, self._sides[j], forms[j].per) for j in tied]
            after = self._after(change)
            cold_at = [self._sides[j][0] for j in tied]
            hot_at = [self._sides[j][1] for j in tied]
            steps = solve_mixers(
                [forms[j] for j in tied],
                [after[at] for at in cold_at],
                [after[at] for at in hot_at],
                [[response[at] for at in cold_at] for response in responses],
                [[response[at] for at in hot_at] for response in responses],
            )
            for j, step, response in zip(tied, steps, responses, strict=True):
                forms[j].x += step
                change = [p + step * rise for p, rise in zip(change, response, strict=True)]
        after = self._after(change)
        for form, (mixer, sides) in zip(forms, self._with_pressures(after), strict=True):
            mixer.aim(form, *sides)
        return change

    def _after(self, change: list[float]) -> list[float]:
        """Pressures after a change."""
        return [p + more for p, more in zip(self.pressure, change, strict=True)]

    def _eliminate(self, conduct: list[float], constant: list[float]) -> list[float]:
        """Make each subtree "change of flow = G change of pressure + c", from the leaves up.

        Link i is linear: the pressure at its end changes by passes*(change before it) - slope*
        (change of its flow), with passes 0 for the source and a valve that holds its outlet. G and
        c of what is open at each point [m3/s per Pa, m3/s] become, in place, those of all below.

        Returns 1/(1 + G slope) of each link, the share of a demand that counts upstream.
        """
        parent, slope, passes = self._parent, self._slope, self._passes
        shrink = [1.0] * len(parent)
        for i in range(len(parent) - 1, 0, -1):
            g, above = conduct[i], parent[i]
            shrink[i] = through = 1.0 / (1.0 + g * slope[i])
            constant[above] += constant[i] * through
            conduct[above] += g * through * passes[i]
        shrink[0] = 1.0 / (1.0 + conduct[0] * slope[0])
        return shrink

    def _descend(self, shrink: list[float], constant: list[float]) -> list[float]:
        """Changes of pressure at each link's end [Pa], from the source down, after `_eliminate`."""
        change: list[float] = []
        rows = zip(self._parent, self._slope, self._passes, shrink, constant, strict=True)
        for above, slope, passes, share, c in rows:
            before = change[above] if passes else 0.0
            change.append((before - slope * c) * share)
        return change

    def _response(
        self, shrink: list[float], sides: tuple[int, int], more: tuple[float, float]
    ) -> list[float]:
        """What more constant demand at a mixer's two sides does to every pressure [Pa]."""
        demand = [0.0] * len(self._parent)
        for at, amount in zip(sides, more, strict=True):
            while at >= 0:
                demand[at] += amount
                amount *= shrink[at]
                at = self._parent[at]
        return self._descend(shrink, demand)


def _first_given(supply: OpenSupply, drawn: float) -> list[float]:
    """What heads may give at first [m3/s]: their share of the draws, to or from the source."""
    over, height = [], [0.0]
    for parent, gain in zip(supply.parent[1:], supply.static_gain[1:], strict=True):
        height.append(height[parent] + gain)
    for head in supply.heads:
        over.append(head.law(0.0)[0] - height[head.link] - supply.source(0.0)[0])
    return [math.copysign(drawn / (len(over) + 1), more) for more in over]


def _links_in_use(supply: OpenSupply) -> list[int]:
    """The source and the links that feed something open or lead to a head, in order."""
    ends = [opening.link for opening in supply.openings]
    ends += [link for mixer in supply.mixers for link in (mixer.cold_link, mixer.hot_link)]
    ends += [head.link for head in supply.heads]
    in_use = {0}
    for link in ends:
        while link not in in_use:
            in_use.add(link)
            link = supply.parent[link]
    return sorted(in_use)


def _loss_with_slope(supply: OpenSupply, link: int, flow: float) -> tuple[float, float]:
    """Loss of a link by friction, fittings and a device in it [Pa], and its derivative by flow."""
    if flow < 0.0:
        loss, slope = _loss_with_slope(supply, link, -flow)
        return -loss, slope
    length, k, device = supply.length[link], supply.k[link], supply.device[link]
    loss = slope = 0.0
    if length > 0.0 or k > 0.0:
        loss, slope = pipe_loss_with_slope(
            flow,
            length,
            supply.inside_diameter[link],
            supply.roughness[link],
            k,
            supply.density[link],
            supply.viscosity[link],
            None if supply.hazen_williams_c is None else supply.hazen_williams_c[link],
        )
    if device is not None:
        more, steepness = device(flow)
        loss, slope = loss + more, slope + steepness
    return loss, slope
