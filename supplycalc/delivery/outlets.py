"""What the open outlets draw: orifices and mixing valves, and their linear forms for Newton.

An outlet's law is used as pressure over flow, p = (q/C)^2, whose slope at rest is zero instead of
infinite. Dry outlets (nothing reaches them) and held ones (their regulator limits them) are states
that are tried anew at every step.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from supplycalc.delivery.open_supply import Mixer, Opening
from supplycalc.units.quantities import Flow, Pressure

_SMALLEST_SLOPE_FLOW = 1e-9
"""Outlets are never linearised below this flow [m3/s]; the law itself is not changed."""
_SMALLEST_SLOPE_PRESSURE = 1e-3
"""Nor, where that is less, below the flow that this pressure drives [Pa]: an outlet that is hardly
open gives no more than such flows, and must be followed there."""
_NEAR = 0.5
"""An outlet that draws less than this share of what its pressure allows is linearised there."""
_HELD = 1.0 - 1e-12
"""Share of its cap from which a mixer's summed flow counts as held: rounding of the sum."""
_NOTHING = (0.0, 0.0)


def opening_bound(opening: Opening, at_rest: Pressure) -> float:
    """Most that an opening can draw [m3/s], by the pressure at rest or by its regulator."""
    return min(opening.coefficient * math.sqrt(max(at_rest, 0.0)), opening.cap)


def mixer_bounds(mixer: Mixer, cold_at_rest: float, hot_at_rest: float) -> tuple[float, float]:
    """Most that each side of a mixer can draw.

    Args:
        cold_at_rest: pressure of its cold side with nothing running [Pa gauge].
        hot_at_rest: pressure of its hot side with nothing running [Pa gauge].

    Returns:
        (cold, hot) flows [m3/s].
    """
    if mixer.kind == "ratio":
        lower = math.sqrt(max(min(cold_at_rest, hot_at_rest), 0.0))
        most = min(mixer.cap, mixer.coefficient * lower)
        return (1.0 - mixer.hot_share) * most, mixer.hot_share * most
    cold, hot, _ = port_coefficients(mixer)
    return (
        min(mixer.cap, cold * math.sqrt(max(cold_at_rest, 0.0))),
        min(mixer.cap, hot * math.sqrt(max(hot_at_rest, 0.0))),
    )


def port_coefficients(mixer: Mixer) -> tuple[float, float, float]:
    """Orifice coefficients of a plain mixer's parts.

    Returns:
        (cold port, hot port, outlet) [m3/s per sqrt(Pa)].

    Source: resistances in series add as 1/C^2.
    """
    port = mixer.coefficient / math.sqrt(mixer.port_share)
    outlet = mixer.coefficient / math.sqrt(1.0 - mixer.port_share)
    return (1.0 - mixer.hot_share) * port, mixer.hot_share * port, outlet


def orifice_miss(pressure: Pressure, flow: Flow, coefficient: float, cap: Flow) -> float:
    """Pressure by which an outlet misses its law [Pa]; 0 where a dry outlet sees no pressure or a
    held one more than enough.

    Args:
        coefficient: C of q = C sqrt(p) [m3/s per sqrt(Pa)].
    """
    if flow <= 0.0:
        return max(pressure, 0.0)
    over = pressure - (flow / coefficient) ** 2
    return max(-over, 0.0) if flow >= cap else abs(over)


def orifice_tangent(
    pressure: Pressure, flow: Flow, coefficient: float, cap: Flow, drag: float
) -> tuple[float, float]:
    """An outlet's linear form at its present state.

    Args:
        coefficient: C of q = C sqrt(p) [m3/s per sqrt(Pa)].
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
        reach = _NEAR * coefficient * math.sqrt(pressure)
        at = min(max(flow, reach), cap)
    elif flow <= 0.0:
        return 0.0, 0.0
    else:
        at = flow
    least = min(_SMALLEST_SLOPE_FLOW, coefficient * math.sqrt(_SMALLEST_SLOPE_PRESSURE))
    if at < least:
        slope = 2.0 * least / square + drag
        return 1.0 / slope, flow - flow * flow / square / slope
    g = 1.0 / (2.0 * at / square + drag)
    return g, g * (at * at / square + drag * flow)


class MixerForm(Struct):
    """A mixer's linear form: flow of a side = g*p + c + per*x, and one equation for its unknown x.

    x is the chamber's pressure of a plain mixer and the flow of a ratio mixer. Pairs are of the
    cold and the hot side.
    """

    g: tuple[float, float]
    c: tuple[float, float]
    per: tuple[float, float]
    x: float
    row: tuple[float, float, float, float] | None
    """(a_cold, a_hot, a_x, right side) of the equation; None where x is settled."""

    def flows(self, cold: float, hot: float) -> tuple[float, float]:
        """Flow of each side [m3/s] at their pressures [Pa]."""
        return (
            self.g[0] * cold + self.c[0] + self.per[0] * self.x,
            self.g[1] * hot + self.c[1] + self.per[1] * self.x,
        )


class OpenMixer:
    """What an open mixer draws at present, and where a step would take it.

    Its methods take the pressures of its cold and its hot side [Pa].
    """

    def __init__(self, mixer: Mixer, bounds: tuple[float, float], scale: float) -> None:
        self.ratio = mixer.kind == "ratio"
        self.frozen = False
        """Whether a ratio mixer draws what it draws, whatever the pressure."""
        self.cold = self.hot = self.chamber = 0.0
        self._mixer = mixer
        self._bounds = bounds
        self._drag = scale / max(sum(bounds), 1e-9)
        self._ports = port_coefficients(mixer)
        self._from = self._to = self.state()
        self._shut = self._backward = (False, False)

    @property
    def most(self) -> float:
        """The most that it can draw [m3/s]."""
        return sum(self._bounds)

    @property
    def flow(self) -> float:
        """What it draws [m3/s]; exactly its cap where rounding alone keeps it from that."""
        total, cap = self.cold + self.hot, self._mixer.cap
        return cap if total >= cap * _HELD else total

    def state(self) -> tuple[float, float, float]:
        """Draws of the cold and hot side [m3/s] and the chamber's pressure [Pa]."""
        return self.cold, self.hot, self.chamber

    def restore(self, state: tuple[float, float, float]) -> None:
        """Draw as at an earlier `state`."""
        self.cold, self.hot, self.chamber = state

    def put(self, cold: float, hot: float, chamber: float = 0.0) -> None:
        """Draw these flows within the bounds, with the chamber's pressure in step with them."""
        cold = min(max(cold, 0.0), self._bounds[0])
        hot = min(max(hot, 0.0), self._bounds[1])
        total, cap = cold + hot, self._mixer.cap
        held = total >= cap * _HELD
        if held:
            cold, hot = cold * cap / total, hot * cap / total
        self.cold, self.hot = cold, hot
        if not self.ratio:
            self.chamber = max(chamber, 0.0) if held else (total / self._ports[2]) ** 2

    def put_flow(self, flow: float) -> None:
        """Draw a given flow in all [m3/s], at the hot share of a ratio mixer."""
        share = self._mixer.hot_share
        self.put((1.0 - share) * flow, share * flow)

    def ease(self, cold: float, hot: float) -> None:
        """Cut both sides to shares of what they draw; a ratio mixer to the lesser share."""
        if self.ratio:
            cold = hot = 1.0 if self.frozen else min(cold, hot)
        self.put(cold * self.cold, hot * self.hot)

    def excess(self, cold: float, hot: float) -> float:
        """What a ratio mixer would draw at these pressures, less what it draws [m3/s]."""
        wanted = self._mixer.coefficient * math.sqrt(max(min(cold, hot), 0.0))
        return min(wanted, self._mixer.cap) - self.flow

    def miss(self, cold: float, hot: float) -> float:
        """Pressure by which it misses its laws [Pa]."""
        mixer = self._mixer
        if self.ratio:
            if self.frozen:
                return 0.0
            return orifice_miss(min(cold, hot), self.flow, mixer.coefficient, mixer.cap)
        cold_port, hot_port, outlet = self._ports
        return max(
            orifice_miss(cold - self.chamber, self.cold, cold_port, math.inf),
            orifice_miss(hot - self.chamber, self.hot, hot_port, math.inf),
            orifice_miss(self.chamber, self.flow, outlet, mixer.cap),
        )

    def gain(self, cold: float, hot: float) -> float:
        """Power that is left over along the last step [W]."""
        more_cold, more_hot = self._to[0] - self._from[0], self._to[1] - self._from[1]
        total = self.cold + self.hot
        if self.ratio:
            over = min(cold, hot) - (total / self._mixer.coefficient) ** 2
            return over * (more_cold + more_hot)
        cold_port, hot_port, outlet = self._ports
        inside = (total / outlet) ** 2
        return (cold - inside - (self.cold / cold_port) ** 2) * more_cold + (
            hot - inside - (self.hot / hot_port) ** 2
        ) * more_hot

    def form(self, cold: float, hot: float, damping: float) -> MixerForm:
        """Its linear form at the present draw, held back by `damping`."""
        drag = damping * self._drag
        return self._ratio(cold, hot, drag) if self.ratio else self._plain(cold, hot, drag)

    def _ratio(self, cold: float, hot: float, drag: float) -> MixerForm:
        mixer, flow = self._mixer, self.flow
        share = (1.0 - mixer.hot_share, mixer.hot_share)
        if self.frozen:
            return MixerForm(_NOTHING, (self.cold, self.hot), _NOTHING, flow, None)
        g, c = orifice_tangent(min(cold, hot), flow, mixer.coefficient, mixer.cap, drag)
        if any(self._shut):
            g = c = 0.0
        if g == 0.0:
            return MixerForm(_NOTHING, (c * share[0], c * share[1]), _NOTHING, c, None)
        row = (g, 0.0, -1.0, -c) if cold <= hot else (0.0, g, -1.0, -c)
        return MixerForm(_NOTHING, _NOTHING, share, flow, row)

    def _plain(self, cold: float, hot: float, drag: float) -> MixerForm:
        cold_port, hot_port, outlet = self._ports
        inside = self.chamber
        g_cold, c_cold = orifice_tangent(cold - inside, self.cold, cold_port, math.inf, drag)
        g_hot, c_hot = orifice_tangent(hot - inside, self.hot, hot_port, math.inf, drag)
        if self._shut[0]:
            g_cold = c_cold = 0.0
        if self._shut[1]:
            g_hot = c_hot = 0.0
        if g_cold == 0.0 and g_hot == 0.0:
            return MixerForm(_NOTHING, _NOTHING, _NOTHING, 0.0, None)
        pressure = inside if self.flow > 0.0 else max(cold, hot)
        g_out, c_out = orifice_tangent(pressure, self.flow, outlet, self._mixer.cap, 0.0)
        row = (g_cold, g_hot, -g_cold - g_hot - g_out, c_out - c_cold - c_hot)
        return MixerForm((g_cold, g_hot), (c_cold, c_hot), (-g_cold, -g_hot), inside, row)

    def free(self) -> None:
        """Shut no side, as each step begins."""
        self._shut = (False, False)

    def aim(self, form: MixerForm, cold: float, hot: float) -> None:
        """Note where the linear form leads at these new pressures, within the bounds."""
        to_cold, to_hot = form.flows(cold, hot)
        self._backward = (self._shut[0] or to_cold < 0.0, self._shut[1] or to_hot < 0.0)
        self._from = self.state()
        self.put(to_cold, to_hot, form.x)
        self._to = self.state()
        self.restore(self._from)

    def revise(self) -> bool:
        """Shut the sides that the step just aimed would draw backward; whether there are any."""
        before, self._shut = self._shut, self._backward
        return before != self._shut

    def move(self, share: float) -> None:
        """Stand at `share` of the way of the last step."""
        self.put(*(a + share * (b - a) for a, b in zip(self._from, self._to, strict=True)))


def solve_mixers(
    forms: Sequence[MixerForm],
    cold: Sequence[float],
    hot: Sequence[Pressure],
    cold_response: Sequence[Sequence[float]],
    hot_response: Sequence[Sequence[float]],
) -> list[float]:
    """Solve the equations of mixers for their unknowns.

    Args:
        cold: pressure at each mixer's cold side while all x stay as they are [Pa].
        cold_response: [k][j] is what one more of mixer k's x adds to mixer j's cold pressure [Pa].
        hot_response: the same for the hot sides [Pa].
    """
    if len(forms) == 1:  # the usual case, quicker without arrays
        row = forms[0].row
        assert row is not None
        missed = row[3] - row[0] * cold[0] - row[1] * hot[0] - row[2] * forms[0].x
        return [missed / (row[0] * cold_response[0][0] + row[1] * hot_response[0][0] + row[2])]
    import numpy as np

    rows = np.array([form.row for form in forms])
    missing = (
        rows[:, 3] - rows[:, 0] * cold - rows[:, 1] * hot - rows[:, 2] * [form.x for form in forms]
    )
    left = (
        rows[:, 0, None] * np.array(cold_response).T
        + rows[:, 1, None] * np.array(hot_response).T
        + np.diag(rows[:, 2])
    )
    scale = np.abs(left).max(axis=1)
    changes: list[float] = np.linalg.solve(left / scale[:, None], missing / scale).tolist()
    return changes
