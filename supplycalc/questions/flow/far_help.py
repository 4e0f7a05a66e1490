"""What a second pressure tank does for open outlets: at first, for how long, and what lasts."""

from __future__ import annotations

import math
from typing import ClassVar

from msgspec import Struct

from supplycalc.delivery.fixture_use import FixtureUse
from supplycalc.delivery.household import Household, Settled
from supplycalc.delivery.open_supply import Head, constant_source
from supplycalc.delivery.source_cases import SourceCase
from supplycalc.records import Form
from supplycalc.supply.far_tank import FarTank, far_tanks_of
from supplycalc.supply.tank import air_constant, water_held
from supplycalc.units.quantities import Flow, Minutes, Pressure, Volume

LEFT = 0.1
"""Share of what a tank can give that is left when it counts as spent: the last of it comes ever
more slowly, as its pressure nears what the line holds there."""
HARDLY = 1e-7
"""[m3/s] A tank that gives less takes no part."""

# Gauss-Legendre on (0, 1), M. Abramowitz and I. A. Stegun, table 25.4
_GAUSS = tuple(
    (0.5 + sign * 0.5 * x, 0.5 * weight)
    for x, weight in (
        (0.1252334085114689, 0.2491470458134028),
        (0.3678314989981802, 0.2334925365383548),
        (0.5873179542866175, 0.2031674267230659),
        (0.7699026741943047, 0.1600783285433462),
        (0.9041172563704749, 0.1069393259953184),
        (0.9815606342467193, 0.0471753363865118),
    )
    for sign in (-1.0, 1.0)
)


class HeldUp(Struct, frozen=True, kw_only=True):
    """An open outlet, while the tank gives water and after."""

    name: str
    flow_at_first: Flow
    pressure_at_first: Pressure
    flow: Flow
    """That lasts."""
    pressure: Pressure
    """That lasts."""


class FarHelp(Struct, frozen=True, kw_only=True):
    """A second tank beside the first one, whose pressure stays: both full to it at first."""

    form: ClassVar[Form] = Form(omit=("far",), add=("name",))

    far: FarTank
    source: str
    """The state of the source."""
    starts_at: Pressure
    """At the tank, with nothing running."""
    lasts: Pressure
    """At its point, when it gives nothing more."""
    gives_at_first: Flow
    gives: Volume
    """In all, until its pressure is what lasts, or until it is empty."""
    time: Minutes
    """Until it is empty, or until nine tenths of that are given."""
    runs_empty: bool
    outlets: tuple[HeldUp, ...]

    @property
    def name(self) -> str:
        """Of the tank."""
        return self.far.name

    @property
    def takes_part(self) -> bool:
        """Whether it gives anything to what is open."""
        return self.gives_at_first > HARDLY


def far_help(
    household: Household, uses: tuple[FixtureUse, ...], source: SourceCase, lasting: Settled
) -> FarHelp | None:
    """What the house's second tank does for uses that are opened together.

    Args:
        source: in its weakest lasting state, with which the tank stood at rest before.
        lasting: the same uses without the tank.

    Returns:
        None where there is no such tank, its volume is not known, or it holds no water.

    Source: the tank's water over its flow, integrated by Gauss-Legendre; flows by
        `delivery.solver`, the air by Boyle's law.
    """
    for far in far_tanks_of(household.design.tree):
        start = source.law(0.0)[0] + far.gain
        if far.tank.volume is not None and start > far.precharge:
            return _help(household, uses, source, lasting, far, far.tank.volume, start)
    return None


def _help(
    household: Household,
    uses: tuple[FixtureUse, ...],
    source: SourceCase,
    lasting: Settled,
    far: FarTank,
    volume: float,
    start: float,
) -> FarHelp:
    def settled(pressure: float) -> Settled:
        head = Head(name=far.name, link=far.link, law=constant_source(pressure))
        return household.settle(uses, source.law, (head,))

    lasts = lasting.delivered.pressure[far.link]
    end = max(lasts, far.precharge)
    most, least = (
        water_held(volume, far.precharge, pressure, far.atmosphere) for pressure in (start, end)
    )
    air = air_constant(volume, far.precharge, far.atmosphere)

    def flow(share: float) -> float:
        """What it gives with a share of its water left."""
        held = least + share * (most - least)
        at = air / (volume - held) - far.atmosphere
        return settled(at).delivered.head_flow[0]

    at_first = settled(start)
    first, gives, time = at_first.delivered.head_flow[0], most - least, 0.0
    runs_empty = lasts < far.precharge
    if first > HARDLY and gives > 0.0:
        if runs_empty:
            time = gives * math.fsum(weight / flow(x) for x, weight in _GAUSS)
        else:  # over the logarithm of what is left, by which it comes ever more slowly
            span = -math.log(LEFT)
            shares = [(math.exp(-span * x), weight) for x, weight in _GAUSS]
            time = gives * span * math.fsum(share / flow(share) * w for share, w in shares)
    return FarHelp(
        far=far,
        source=source.name,
        starts_at=start,
        lasts=max(lasts, 0.0),
        gives_at_first=max(first, 0.0),
        gives=max(gives, 0.0),
        time=time,
        runs_empty=runs_empty,
        outlets=tuple(
            HeldUp(
                name=after.name,
                flow_at_first=before.flow,
                pressure_at_first=before.pressure,
                flow=after.flow,
                pressure=after.pressure,
            )
            for before, after in zip(at_first.outflows, lasting.outflows, strict=True)
        ),
    )
