"""The laws of what is open, and their linear forms for one Newton step.

An outlet's law is used as pressure over flow, p = (q/C)^2, whose slope at rest is zero instead of
infinite. Dry outlets (nothing reaches them) and held ones (their regulator limits them) are states
that are tried anew at every step.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from supplycalc.delivery.live import Live, port_coefficients
from supplycalc.delivery.problem import Mixer, Problem

SMALLEST_SLOPE_FLOW = 1e-9
"""Outlets are never linearised below this flow [m3/s]; the law itself is not changed."""
NEAR = 0.5
"""An outlet that draws less than this share of what its pressure allows is linearised there."""
REVISIONS = 12
"""How often at most a step is solved anew with outlets shut that it would draw backward."""
_HELD = 1.0 - 1e-12
"""Share of its cap from which a mixer's summed flow counts as held: rounding of the sum."""


def miss(pressure: float, flow: float, coefficient: float, cap: float) -> float:
    """Pressure by which an outlet misses its law.

    Args:
        pressure: across it [Pa].
        flow: through it [m3/s].
        coefficient: C of q = C sqrt(p) [m3/s per sqrt(Pa)].
        cap: of its regulator [m3/s].

    Returns:
        Not negative [Pa]; 0 where a dry outlet sees no pressure or a held one more than enough.
    """
    if flow <= 0.0:
        return max(pressure, 0.0)
    over = pressure - (flow / coefficient) ** 2
    return max(-over, 0.0) if flow >= cap else abs(over)


def draw(
    pressure: float, flow: float, coefficient: float, cap: float, drag: float
) -> tuple[float, float]:
    """An outlet's linear form at its present state.

    Args:
        pressure: across it [Pa].
        flow: through it [m3/s].
        coefficient: C of q = C sqrt(p) [m3/s per sqrt(Pa)].
        cap: of its regulator [m3/s].
        drag: pressure per change of flow that holds the step back [Pa s/m3]; 0: Newton's own step.

    Returns:
        G [m3/s per Pa] and c [m3/s] of flow = G pressure + c.

    Source: tangent of p = (q/C)^2.
    """
    square = coefficient * coefficient
    if flow >= cap:
        if pressure >= cap * cap / square:
            return 0.0, cap
        at = cap
    elif pressure > 0.0:
        reach = NEAR * coefficient * math.sqrt(pressure)
        at = flow if flow > reach else reach if reach < cap else cap
    elif flow <= 0.0:
        return 0.0, 0.0
    else:
        at = flow
    if at < SMALLEST_SLOPE_FLOW:
        slope = 2.0 * SMALLEST_SLOPE_FLOW / square + drag
        return 1.0 / slope, flow - flow * flow / square / slope
    g = 1.0 / (2.0 * at / square + drag)
    return g, g * (at * at / square + drag * flow)


_FREE = (False, False)
"""Whether a step holds a mixer's cold side, and its hot side, at no flow."""


class MixerForm(Struct):
    """A mixer's linear form: side flow = g*p + c + per*x, and one equation for its unknown x.

    x is the chamber's pressure of a plain mixer and the flow of a ratio mixer.
    """

    g: tuple[float, float]
    c: tuple[float, float]
    per: tuple[float, float]
    x: float
    row: tuple[float, float, float, float] | None
    """(a_cold, a_hot, a_x, right side) of the equation; None where x is settled."""
    held: bool
    """Whether its regulator holds it."""


class Mixers:
    """Present draws of the open mixers, and where a step would take them."""

    def __init__(self, problem: Problem, live: Live, share: float) -> None:
        self._mixers = problem.mixers
        self._bounds = (live.cold_bound, live.hot_bound)
        self._drag = [
            live.scale / max(cold + hot, 1e-9)
            for cold, hot in zip(live.cold_bound, live.hot_bound, strict=True)
        ]
        self._ports = [port_coefficients(mixer) for mixer in problem.mixers]
        count = len(problem.mixers)
        self.cold, self.hot, self.chamber = [0.0] * count, [0.0] * count, [0.0] * count
        for j, (cold, hot) in enumerate(zip(*self._bounds, strict=True)):
            self._put(j, share * cold, share * hot, 0.0)
        self._from = self._to = self.state()
        self._frozen = False
        self._shut = [_FREE] * count
        self._backward = self._shut

    def __len__(self) -> int:
        return len(self._mixers)

    def restore(self, state: tuple[list[float], list[float], list[float]]) -> None:
        """Go back to draws and chamber pressures of an earlier `state`."""
        self.cold, self.hot, self.chamber = (list(values) for values in state)

    def ease(self, cold: Sequence[float], hot: Sequence[float]) -> None:
        """Cut the draws of both sides to their shares, those of a ratio mixer to the less."""
        for j, mixer in enumerate(self._mixers):
            if self._frozen and mixer.kind == "ratio":
                continue
            less = min(cold[j], hot[j])
            shares = (less, less) if mixer.kind == "ratio" else (cold[j], hot[j])
            self._put(j, shares[0] * self.cold[j], shares[1] * self.hot[j], 0.0)

    def state(self) -> tuple[list[float], list[float], list[float]]:
        """Draws of the cold and hot sides [m3/s] and chamber pressures [Pa], copied."""
        return list(self.cold), list(self.hot), list(self.chamber)

    @property
    def ratios(self) -> list[int]:
        """Which of the mixers keep a ratio."""
        return [j for j, mixer in enumerate(self._mixers) if mixer.kind == "ratio"]

    def freeze(self, frozen: bool) -> None:
        """Let the ratio mixers draw what they draw, whatever the pressure, or free them again."""
        self._frozen = frozen

    def most(self, j: int) -> float:
        """The most that a ratio mixer can draw [m3/s]."""
        return self._bounds[0][j] + self._bounds[1][j]

    def put_ratio(self, j: int, flow: float) -> None:
        """Let a ratio mixer draw a given flow [m3/s]."""
        share = self._mixers[j].hot_share
        self._put(j, (1.0 - share) * flow, share * flow, 0.0)

    def ratio_excess(self, j: int, cold: float, hot: float) -> float:
        """What a ratio mixer would draw at its sides' pressures [Pa], less what it draws [m3/s]."""
        mixer = self._mixers[j]
        wanted = mixer.coefficient * math.sqrt(max(min(cold, hot), 0.0))
        return min(wanted, mixer.cap) - self._total(j)

    def miss(self, cold: Sequence[float], hot: Sequence[float]) -> list[float]:
        """Pressure by which each mixer misses its laws at its sides' pressures [Pa]."""
        found = []
        for j, mixer in enumerate(self._mixers):
            if mixer.kind == "ratio":
                found.append(
                    0.0
                    if self._frozen
                    else miss(min(cold[j], hot[j]), self._total(j), mixer.coefficient, mixer.cap)
                )
                continue
            cold_port, hot_port, outlet = self._ports[j]
            inside = self.chamber[j]
            found.append(
                max(
                    miss(cold[j] - inside, self.cold[j], cold_port, math.inf),
                    miss(hot[j] - inside, self.hot[j], hot_port, math.inf),
                    miss(inside, self._total(j), outlet, mixer.cap),
                )
            )
        return found

    def _total(self, j: int) -> float:
        """Flow of a mixer; exactly its cap where rounding alone keeps it from that."""
        total = self.cold[j] + self.hot[j]
        cap = self._mixers[j].cap
        return cap if total >= cap * _HELD else total

    def gain(self, cold: Sequence[float], hot: Sequence[float]) -> float:
        """Power that is left over along the last step, at the sides' pressures [W]."""
        power = 0.0
        for j, mixer in enumerate(self._mixers):
            to_cold = self._to[0][j] - self._from[0][j]
            to_hot = self._to[1][j] - self._from[1][j]
            total = self.cold[j] + self.hot[j]
            if mixer.kind == "ratio":
                over = min(cold[j], hot[j]) - (total / mixer.coefficient) ** 2
                power += over * (to_cold + to_hot)
                continue
            cold_port, hot_port, outlet = self._ports[j]
            inside = (total / outlet) ** 2
            power += (cold[j] - inside - (self.cold[j] / cold_port) ** 2) * to_cold
            power += (hot[j] - inside - (self.hot[j] / hot_port) ** 2) * to_hot
        return power

    def forms(self, cold: Sequence[float], hot: Sequence[float], damping: float) -> list[MixerForm]:
        """Linear forms at the present draws and the sides' pressures [Pa]."""
        return [
            self._ratio(j, mixer, cold[j], hot[j], damping * self._drag[j])
            if mixer.kind == "ratio"
            else self._plain(j, mixer, cold[j], hot[j], damping * self._drag[j])
            for j, mixer in enumerate(self._mixers)
        ]

    def _ratio(self, j: int, mixer: Mixer, cold: float, hot: float, drag: float) -> MixerForm:
        flow = self._total(j)
        share = (1.0 - mixer.hot_share, mixer.hot_share)
        if self._frozen:
            return MixerForm((0.0, 0.0), (self.cold[j], self.hot[j]), (0.0, 0.0), flow, None, False)
        g, c = draw(min(cold, hot), flow, mixer.coefficient, mixer.cap, drag)
        if any(self._shut[j]):
            g = c = 0.0
        if g == 0.0:
            fixed = (c * share[0], c * share[1])
            return MixerForm((0.0, 0.0), fixed, (0.0, 0.0), c, None, c > 0.0)
        row = (g, 0.0, -1.0, -c) if cold <= hot else (0.0, g, -1.0, -c)
        return MixerForm((0.0, 0.0), (0.0, 0.0), share, flow, row, False)

    def _plain(self, j: int, mixer: Mixer, cold: float, hot: float, drag: float) -> MixerForm:
        cold_port, hot_port, outlet = self._ports[j]
        inside = self.chamber[j]
        g_cold, c_cold = draw(cold - inside, self.cold[j], cold_port, math.inf, drag)
        g_hot, c_hot = draw(hot - inside, self.hot[j], hot_port, math.inf, drag)
        cold_shut, hot_shut = self._shut[j]
        if cold_shut:
            g_cold = c_cold = 0.0
        if hot_shut:
            g_hot = c_hot = 0.0
        if g_cold == 0.0 and g_hot == 0.0:
            return MixerForm((0.0, 0.0), (0.0, 0.0), (0.0, 0.0), 0.0, None, False)
        pressure = inside if self._total(j) > 0.0 else max(cold, hot)
        g_out, c_out = draw(pressure, self._total(j), outlet, mixer.cap, 0.0)
        held = g_out == 0.0
        row = (g_cold, g_hot, -g_cold - g_hot - g_out, c_out - c_cold - c_hot)
        return MixerForm((g_cold, g_hot), (c_cold, c_hot), (-g_cold, -g_hot), inside, row, held)

    def aim(
        self,
        forms: Sequence[MixerForm],
        cold: Sequence[float],
        hot: Sequence[float],
        x: Sequence[float],
    ) -> None:
        """Note where the linear forms lead at new pressures and x, within the bounds."""
        before = self.state()
        self._backward = []
        for j, form in enumerate(forms):
            to_cold = form.g[0] * cold[j] + form.c[0] + form.per[0] * x[j]
            to_hot = form.g[1] * hot[j] + form.c[1] + form.per[1] * x[j]
            cold_shut, hot_shut = self._shut[j]
            self._backward.append((cold_shut or to_cold < 0.0, hot_shut or to_hot < 0.0))
            self._put(j, to_cold, to_hot, x[j])
        self._from, self._to = before, self.state()
        self.restore(before)

    def free(self) -> None:
        """Shut no side, as each step begins."""
        self._shut = [_FREE] * len(self._mixers)

    def revise(self) -> bool:
        """Shut the sides that the step just aimed would draw backward; whether there are any."""
        before, self._shut = self._shut, self._backward
        return before != self._shut

    def move(self, share: float) -> None:
        """Stand at `share` of the way of the last step."""
        for j in range(len(self._mixers)):
            cold, hot, inside = (
                a[j] + share * (b[j] - a[j]) for a, b in zip(self._from, self._to, strict=True)
            )
            self._put(j, cold, hot, inside)

    def _put(self, j: int, cold: float, hot: float, inside: float) -> None:
        """Keep the draws within their bounds and the chamber's pressure in step with them."""
        mixer = self._mixers[j]
        cold = min(max(cold, 0.0), self._bounds[0][j])
        hot = min(max(hot, 0.0), self._bounds[1][j])
        total = cold + hot
        held = total >= mixer.cap * _HELD
        if held:
            cold, hot = cold * mixer.cap / total, hot * mixer.cap / total
        self.cold[j], self.hot[j] = cold, hot
        if mixer.kind == "plain":
            least = (total / self._ports[j][2]) ** 2
            self.chamber[j] = max(inside, 0.0) if held else least


def settle(
    forms: Sequence[MixerForm],
    cold: Sequence[float],
    hot: Sequence[float],
    cold_response: Sequence[Sequence[float]],
    hot_response: Sequence[Sequence[float]],
) -> list[float]:
    """Solve the mixers' equations for their unknowns.

    Args:
        forms: linear forms of all mixers.
        cold: pressure at each mixer's cold side while all x stay as they are [Pa].
        hot: the same at the hot sides [Pa].
        cold_response: [k][j] is what one more of the k-th unknown x adds to j's cold pressure [Pa].
        hot_response: the same for the hot sides [Pa].

    Returns:
        How much x changes for each mixer whose form has an equation, in their order.

    How: bordering.
    """
    unknown = [j for j, form in enumerate(forms) if form.row is not None]
    rows = [form.row for form in forms if form.row is not None]
    missing = [
        row[3] - row[0] * cold[j] - row[1] * hot[j] - row[2] * forms[j].x
        for j, row in zip(unknown, rows, strict=True)
    ]
    if len(unknown) == 1:
        (j,), (row,) = unknown, rows
        own = row[0] * cold_response[0][j] + row[1] * hot_response[0][j] + row[2]
        return [missing[0] / own]
    import numpy as np

    parts = np.array(rows)
    left = (
        parts[:, 0, None] * np.array(cold_response)[:, unknown].T
        + parts[:, 1, None] * np.array(hot_response)[:, unknown].T
        + np.diag(parts[:, 2])
    )
    scale = np.abs(left).max(axis=1)
    changes: list[float] = np.linalg.solve(
        left / scale[:, None], np.array(missing) / scale
    ).tolist()
    return changes
