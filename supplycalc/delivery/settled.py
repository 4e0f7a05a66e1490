"""Uses that run together in a house: what each gets, and how its mixing valve stands."""

from __future__ import annotations

import math

from msgspec import Struct

from supplycalc.delivery.heat import arriving_temperature
from supplycalc.delivery.house import base_problem, mean_temperature, valve_of, with_uses
from supplycalc.delivery.problem import Delivered, Law, Problem
from supplycalc.delivery.solver import deliver
from supplycalc.delivery.use import Rating, Use, figure, rating
from supplycalc.hydraulics.water import density
from supplycalc.sizing.design import Design

_ROUNDS = 40
_SHARE_TOLERANCE = 1e-9
_HELD = 1.0 - 1e-9


class Outflow(Struct, frozen=True, kw_only=True):
    """What comes out of one use."""

    use: Use
    rated: Rating
    cold: float
    """[m3/s]"""
    hot: float
    """[m3/s]"""
    cold_pressure: float | None
    """At the fixture's connection [Pa gauge]; None: not opened."""
    hot_pressure: float | None
    temperature: float
    """Of the water that comes out [K]; nan where nothing does."""
    hot_share: float | None
    """Share of hot that its mixing valve stands at; None: it does not mix."""

    @property
    def flow(self) -> float:
        """[m3/s]"""
        return self.cold + self.hot

    @property
    def pressure(self) -> float:
        """The lower of the pressures at its connections [Pa gauge]."""
        return min(p for p in (self.cold_pressure, self.hot_pressure) if p is not None)

    @property
    def share_of_rated(self) -> float:
        """[-]"""
        return self.flow / self.rated.flow

    @property
    def held(self) -> bool:
        """Whether its regulator decides the flow."""
        return self.flow >= self.rated.cap * _HELD

    @property
    def dry(self) -> bool:
        """Whether nothing comes out."""
        return self.flow <= 0.0


class Settled(Struct, frozen=True, kw_only=True):
    """A house with outlets open, settled."""

    delivered: Delivered
    outflows: tuple[Outflow, ...]
    """In the order of the uses."""


class Household:
    """A sized house whose outlets can be opened; keeps what does not change between solves."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self._base: Problem = base_problem(design)
        self._settings: dict[tuple[str, float, Law], float] = {}

    @property
    def static_gains(self) -> tuple[float, ...]:
        """Pressure gained by height along each link [Pa]."""
        return self._base.static_gain

    def wanted_share(self, use: Use, hot: float) -> float:
        """Hot share that gives the wanted temperature when hot water of `hot` [K] arrives.

        Args:
            use: with both sides open.
            hot: temperature of the arriving hot water [K].

        Returns:
            Share of the flow, within what a valve can be set to.

        Source: heat balance of mixing.
        """
        wanted = self.use_temperature(use)
        cold = self.design.house.water.cold
        least = figure("mixing", "least-share")[0]
        if hot <= wanted:
            return 1.0 - least
        warms, cools = density(cold) * (wanted - cold), density(hot) * (hot - wanted)
        return min(max(warms / (warms + cools), least), 1.0 - least)

    def use_temperature(self, use: Use) -> float:
        """Wanted temperature of a use [K]: the file's, else the usual one."""
        wanted = use.fixture.use_temperature
        return wanted if wanted is not None else figure("mixing", "use-temperature")[0]

    def setting(self, use: Use, law: Law) -> float:
        """Hot share that a use's valve is set to while nothing else runs.

        A person turns the valve until the water is right. Later changes of pressure find it there.

        Args:
            use: with both sides open.
            law: of the source [Pa over m3/s].

        Returns:
            Share of hot at equal supply pressures.
        """
        key = (use.name, use.share, law)
        if key not in self._settings:
            self._settings[key] = self._set(use, law)
        return self._settings[key]

    def _set(self, use: Use, law: Law) -> float:
        least = figure("mixing", "least-share")[0]
        share = self.wanted_share(use, self.design.house.water.hot)
        low, high = least, 1.0 - least
        for _ in range(_ROUNDS):
            one = self._solve((use,), {use.name: share}, law)[1][0]
            if one.flow <= 0.0:
                break
            link = self._link(use, "hot")
            wanted = self.wanted_share(use, self._arriving(link, one.hot))
            off = wanted - one.hot / one.flow
            if abs(off) < _SHARE_TOLERANCE:
                break
            if off > 0.0:
                low = max(low, share)
            else:
                high = min(high, share)
            better = share + off
            share = better if low < better < high else 0.5 * (low + high)
        return share

    def _arriving(self, link: int, flow: float) -> float:
        flows = [0.0] * len(self.design.tree)
        for i in self.design.tree.path(link):
            flows[i] = flow
        return arriving_temperature(self.design, link, tuple(flows))

    def _link(self, use: Use, side: str) -> int:
        return next(
            one.link
            for one in self.design.tree.outlets
            if one.fixture is use.fixture and one.side == side
        )

    def settle(self, uses: tuple[Use, ...], law: Law) -> Settled:
        """Solve the house with uses open together, each mixing valve set as when it ran alone.

        Pressure-balanced valves keep their share. Thermostatic ones find the share anew that gives
        the wanted temperature with the hot water that arrives.

        Args:
            uses: what is open.
            law: of the source [Pa over m3/s].

        Returns:
            What each gets.

        Raises:
            ComputationError: the flows could not be settled.
        """
        mixed = [use for use in uses if use.through == "both"]
        shares = {use.name: self.setting(use, law) for use in mixed}
        warm = [use for use in mixed if valve_of(use, self.design) == "thermostatic"]
        delivered, outflows = self._solve(uses, shares, law)
        for _ in range(_ROUNDS):
            moved = 0.0
            for use in warm:
                hot = arriving_temperature(self.design, self._link(use, "hot"), delivered.flow)
                new = self.wanted_share(use, hot)
                moved = max(moved, abs(new - shares[use.name]))
                shares[use.name] = new
            if moved <= _SHARE_TOLERANCE:
                break
            delivered, outflows = self._solve(uses, shares, law)
        return Settled(delivered=delivered, outflows=outflows)

    def problem(
        self, uses: tuple[Use, ...], law: Law, shares: dict[str, float] | None = None
    ) -> Problem:
        """What the solver gets for these uses.

        Args:
            uses: what is open.
            law: of the source [Pa over m3/s].
            shares: hot share of each mixing use; None: as each is set alone.

        Returns:
            The problem.
        """
        if shares is None:
            shares = {use.name: self.setting(use, law) for use in uses if use.through == "both"}
        return with_uses(self._base, self.design, uses, shares, law)

    def _solve(
        self, uses: tuple[Use, ...], shares: dict[str, float], law: Law
    ) -> tuple[Delivered, tuple[Outflow, ...]]:
        delivered = deliver(self.problem(uses, law, shares))
        openings, mixers = iter(delivered.opening_flow), iter(delivered.mixer_flow)
        found = []
        for use in uses:
            cold = hot = 0.0
            if use.through == "both":
                cold, hot = next(mixers)
            elif use.through == "cold":
                cold = next(openings)
            else:
                hot = next(openings)
            found.append(self._outflow(use, cold, hot, delivered, shares.get(use.name)))
        return delivered, tuple(found)

    def _outflow(
        self, use: Use, cold: float, hot: float, delivered: Delivered, share: float | None
    ) -> Outflow:
        links = {
            side: self._link(use, side) for side in ("cold", "hot") if use.through in (side, "both")
        }
        temperatures = [
            arriving_temperature(self.design, link, delivered.flow) for link in links.values()
        ]
        flows = [cold if side == "cold" else hot for side in links]
        pressures = {side: delivered.pressure[link] for side, link in links.items()}
        temperature = mean_temperature(tuple(flows), tuple(temperatures))
        return Outflow(
            use=use,
            rated=rating(use, self.design.tree),
            cold=cold,
            hot=hot,
            cold_pressure=pressures.get("cold"),
            hot_pressure=pressures.get("hot"),
            temperature=temperature if cold + hot > 0.0 else math.nan,
            hot_share=share,
        )
