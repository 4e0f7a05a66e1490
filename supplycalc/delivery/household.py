"""A sized house whose outlets can be opened: what each gets, and how its mixing valve stands."""

from __future__ import annotations

from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.delivery.fixture_use import FixtureUse, Rating, figure, rating
from supplycalc.delivery.heat import arriving_temperature, mean_temperature
from supplycalc.delivery.open_supply import (
    Delivered,
    Head,
    Law,
    Mixer,
    Opening,
    OpenSupply,
    constant_source,
    device_law,
    valve_law,
)
from supplycalc.delivery.solver import deliver
from supplycalc.hydraulics.devices import FALLOFF_POWER
from supplycalc.hydraulics.pressure import LinkLaws
from supplycalc.hydraulics.water import density
from supplycalc.model import Side
from supplycalc.records import Form
from supplycalc.sizing.design import Design
from supplycalc.sizing.link_laws import laws_of_design
from supplycalc.units.quantities import Flow, Pressure, Temperature

_ROUNDS = 40
_SHARE_TOLERANCE = 1e-9
_HELD = 1.0 - 1e-9


def shut_supply(design: Design, laws: LinkLaws) -> OpenSupply:
    """A sized house with everything shut and a source that holds nothing."""
    c = laws.hazen_williams_c
    return OpenSupply(
        names=design.tree.names,
        parent=design.tree.parent,
        length=tuple(laws.length),
        inside_diameter=tuple(laws.inside_diameter),
        roughness=tuple(laws.roughness),
        k=tuple(laws.k),
        density=tuple(laws.density),
        viscosity=tuple(laws.viscosity),
        static_gain=tuple(laws.static_gain),
        device=tuple(None if loss is None else device_law(loss) for loss in laws.device),
        limit=tuple(
            None
            if held is None
            else valve_law(held.setting, held.falloff, held.falloff_flow, FALLOFF_POWER)
            for held in laws.held
        ),
        source=constant_source(0.0),
        one_way=frozenset(filter(design.tree.closes, range(len(design.tree))))
        if design.house.far_tanks
        else frozenset(),
        hazen_williams_c=None if c is None else tuple(c),
    )


class Outflow(Struct, frozen=True, kw_only=True):
    """What comes out of one use."""

    form: ClassVar[Form] = Form(
        omit=("use", "rated"),
        add=(
            "name",
            "flow",
            "pressure",
            "rated_flow",
            "rated_pressure",
            "share_of_rated",
            "regulated",
            "dry",
        ),
    )

    use: FixtureUse
    rated: Rating
    cold: Flow
    hot: Flow
    cold_pressure: Pressure | None
    """At the fixture's connection; None: not opened."""
    hot_pressure: Pressure | None
    temperature: Temperature
    """Of the water that comes out; nan where nothing does."""

    @property
    def name(self) -> str:
        """Of the use."""
        return self.use.name

    @property
    def flow(self) -> Flow:
        """Of both sides together."""
        return self.cold + self.hot

    @property
    def pressure(self) -> Pressure:
        """The lower of the pressures at its connections."""
        return min(p for p in (self.cold_pressure, self.hot_pressure) if p is not None)

    @property
    def weaker_side(self) -> Side:
        """Of its open connections the one with less pressure; cold where they are equal."""
        cold, hot = self.cold_pressure, self.hot_pressure
        return "hot" if cold is None or (hot is not None and hot < cold) else "cold"

    @property
    def rated_flow(self) -> Flow:
        """Of the fully open outlet at its rated pressure."""
        return self.rated.flow

    @property
    def rated_pressure(self) -> Pressure:
        """What its kind asks for, unless the file says otherwise."""
        return self.rated.pressure

    @property
    def share_of_rated(self) -> float:
        """Flow over that of the fully open outlet at its rated pressure."""
        return self.flow / self.rated.flow

    @property
    def regulated(self) -> bool:
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
        self.design, self.laws = design, laws_of_design(design)
        self._shut = shut_supply(design, self.laws)
        self._settings: dict[tuple[str, float, Law], float] = {}

    @property
    def static_gains(self) -> tuple[float, ...]:
        """Pressure gained by height along each link [Pa]."""
        return self._shut.static_gain

    def wanted_share(self, use: FixtureUse, hot: Temperature) -> float:
        """Hot share that gives the wanted temperature when hot water of `hot` [K] arrives.

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

    def use_temperature(self, use: FixtureUse) -> float:
        """Wanted temperature of a use [K]: the file's, else the usual one."""
        wanted = use.fixture.use_temperature
        return wanted if wanted is not None else figure("mixing", "use-temperature")[0]

    def setting(self, use: FixtureUse, law: Law) -> float:
        """Hot share that a use's valve is set to while nothing else runs.

        A person turns the valve until the water is right. Later changes of pressure find it there.

        Returns:
            Share of hot at equal supply pressures.
        """
        key = (use.name, use.share, law)
        if key not in self._settings:
            self._settings[key] = self._set(use, law)
        return self._settings[key]

    def _set(self, use: FixtureUse, law: Law) -> float:
        least = figure("mixing", "least-share")[0]
        share = self.wanted_share(use, self.design.house.water.hot)
        low, high = least, 1.0 - least
        for _ in range(_ROUNDS):
            settled = self._solve((use,), {use.name: share}, law)
            outflow = settled.outflows[0]
            if outflow.flow <= 0.0:
                break
            off = self.wanted_share(use, self._arriving(use, settled)) - outflow.hot / outflow.flow
            if abs(off) < _SHARE_TOLERANCE:
                break
            if off > 0.0:
                low = max(low, share)
            else:
                high = min(high, share)
            better = share + off
            share = better if low < better < high else 0.5 * (low + high)
        return share

    def _arriving(self, use: FixtureUse, settled: Settled) -> float:
        """Temperature of the hot water that arrives at a use [K]."""
        hot_link = use.outlets(self.design.tree)[-1].link
        return arriving_temperature(self.design, hot_link, settled.delivered.flow)

    def share_set(self, use: FixtureUse) -> float:
        """Hot share that a use's valve is set to for hot water as the heater gives it."""
        return self.wanted_share(use, self.design.house.water.hot)

    def as_set(self, uses: tuple[FixtureUse, ...], law: Law) -> Settled:
        """Solve the house with uses open together, every valve set for the heater's water.

        Raises:
            ComputationError: the flows could not be settled.
        """
        shares = {use.name: self.share_set(use) for use in uses if use.through == "both"}
        return self._solve(uses, shares, law)

    def settle(
        self, uses: tuple[FixtureUse, ...], law: Law, heads: tuple[Head, ...] = ()
    ) -> Settled:
        """Solve the house with uses open together, each mixing valve set as when it ran alone.

        Pressure-balanced valves keep their share. Thermostatic ones find the share anew that gives
        the wanted temperature with the hot water that arrives.

        Raises:
            ComputationError: the flows could not be settled.
        """
        tree = self.design.tree
        mixed = [use for use in uses if use.through == "both"]
        shares = {use.name: self.setting(use, law) for use in mixed}
        thermostatic = [use for use in mixed if use.mixing_valve(tree) == "thermostatic"]
        settled = self._solve(uses, shares, law, heads)
        for _ in range(_ROUNDS):
            moved = 0.0
            for use in thermostatic:
                new = self.wanted_share(use, self._arriving(use, settled))
                moved = max(moved, abs(new - shares[use.name]))
                shares[use.name] = new
            if moved <= _SHARE_TOLERANCE:
                break
            settled = self._solve(uses, shares, law, heads)
        return settled

    def open_supply(
        self,
        uses: tuple[FixtureUse, ...],
        law: Law,
        shares: dict[str, float] | None = None,
        heads: tuple[Head, ...] = (),
    ) -> OpenSupply:
        """What the solver gets for these uses; openings and mixers in the order of the uses.
        shares: hot share at which each mixing valve stands, by the use's name; None: as each
            is set alone.
        """
        if shares is None:
            shares = {use.name: self.setting(use, law) for use in uses if use.through == "both"}
        tree = self.design.tree
        openings, mixers = [], []
        for use in uses:
            rated = rating(use, tree)
            links = [outlet.link for outlet in use.outlets(tree)]
            if use.through == "both":
                mixers.append(
                    Mixer(
                        name=use.name,
                        kind="plain" if use.mixing_valve(tree) == "plain" else "ratio",
                        cold_link=links[0],
                        hot_link=links[1],
                        coefficient=rated.coefficient,
                        hot_share=shares[use.name],
                        port_share=figure("mixing", "port-share")[0],
                        cap=rated.cap,
                    )
                )
            else:
                openings.append(
                    Opening(
                        name=use.name,
                        link=links[0],
                        coefficient=rated.coefficient,
                        cap=rated.cap,
                    )
                )
        return replace(
            self._shut, source=law, openings=tuple(openings), mixers=tuple(mixers), heads=heads
        )

    def _solve(
        self,
        uses: tuple[FixtureUse, ...],
        shares: dict[str, float],
        law: Law,
        heads: tuple[Head, ...] = (),
    ) -> Settled:
        delivered = deliver(self.open_supply(uses, law, shares, heads))
        openings, mixers = iter(delivered.opening_flow), iter(delivered.mixer_flow)
        outflows = []
        for use in uses:
            flows = next(mixers) if use.through == "both" else (next(openings),)
            outflows.append(self._outflow(use, flows, delivered))
        return Settled(delivered=delivered, outflows=tuple(outflows))

    def _outflow(self, use: FixtureUse, flows: tuple[float, ...], delivered: Delivered) -> Outflow:
        """What comes out of a use, from the flow through each of its open connections."""
        outlets = use.outlets(self.design.tree)
        flow = {outlet.side: q for outlet, q in zip(outlets, flows, strict=True)}
        pressure = {outlet.side: max(delivered.pressure[outlet.link], 0.0) for outlet in outlets}
        temperatures = [
            arriving_temperature(self.design, outlet.link, delivered.flow) for outlet in outlets
        ]
        return Outflow(
            use=use,
            rated=rating(use, self.design.tree),
            cold=flow.get("cold", 0.0),
            hot=flow.get("hot", 0.0),
            cold_pressure=pressure.get("cold"),
            hot_pressure=pressure.get("hot"),
            temperature=mean_temperature(flows, tuple(temperatures)),
        )
