"""Every use of a house's fixtures: what it draws while it runs alone, for how long, and how often.

Homes and days differ more than chance allows that treats every day alike: the number of draws in a
day spreads wider than Poisson's law. So all chances of a day go up and down together with how busy
the household is that day, a factor with a spread of its own and of mean one.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from supplycalc.chance.habits import habits
from supplycalc.delivery.fixture_use import FixtureUse, rating
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Law
from supplycalc.demand.loads import FloatArray
from supplycalc.network import Outlet
from supplycalc.tables import load_table
from supplycalc.units import HOUR
from supplycalc.units.quantities import Flow, Time

_MOST = 0.95
"""Chance that a fixture runs, at most: those who wait come on top of one another no further."""
_BUSY_POINTS = 7
"""Of the quadrature over how busy a day is; exact for polynomials of degree 13."""
_HELD = 1.0 - 1e-6
"""Share of its cap from which a draw counts as regulated."""


class Connection(Struct, frozen=True, kw_only=True):
    """One connection of a use: q = C sqrt(p) up to what its regulator lets through."""

    outlet: Outlet
    flow: Flow
    """While it runs alone."""
    coefficient: float
    """C [m3/s per sqrt(Pa)], from what runs alone."""
    cap: Flow


class RunningUse(Struct, frozen=True, kw_only=True, eq=False):
    """One use of one fixture."""

    use: FixtureUse
    connections: tuple[Connection, ...]
    fixture: int
    """Number of the fixture: it serves one use at a time."""
    duration: Time
    """Of one draw that is found running: long ones are found more often than short ones."""
    hourly: FloatArray
    """Chance that it runs in each hour of the day."""

    @property
    def flow(self) -> Flow:
        """Of both sides, while it runs alone."""
        return sum(connection.flow for connection in self.connections)


def running_uses(
    household: Household, people: int, law: Law
) -> tuple[tuple[RunningUse, ...], tuple[str, ...]]:
    """What so many people do in a house, each use settled alone.

    Args:
        people: who live there.
        law: of the source at a usual pressure [Pa over m3/s].

    Returns:
        (the uses that get water, names of the fixtures that get none).
    """
    tree = household.design.tree
    number: dict[str, int] = {}
    uses, dry = [], []
    for habit in habits(tree, people):
        for use in habit.uses:
            connections = _connections(household, use, law)
            flow = sum(connection.flow for connection in connections)
            if flow <= 0.0:
                dry.append(use.fixture.name)
                continue
            time = habit.duration or habit.volume / flow
            hourly = np.array(habit.hourly) / len(habit.uses) * time / HOUR
            one_draw = time if habit.duration else time / habit.fills
            uses.append(
                RunningUse(
                    use=use,
                    connections=connections,
                    fixture=number.setdefault(use.fixture.name, len(number)),
                    duration=one_draw * (1.0 + habit.spread**2),
                    hourly=hourly,
                )
            )
    # an order that neither names nor the file's order decide: the tank's moments go by it
    uses.sort(key=_by_what_it_draws)
    return tuple(uses), tuple(dict.fromkeys(dry))


def _by_what_it_draws(use: RunningUse) -> tuple[float, ...]:
    """Flow, length, hours and pressure of a use, rounded where units would turn the last digit."""
    coefficient = sum(each.coefficient for each in use.connections)
    figures = (use.flow, use.duration, float(use.hourly.sum()), coefficient)
    return tuple(float(f"{figure:.9g}") for figure in figures)


def _connections(household: Household, use: FixtureUse, law: Law) -> tuple[Connection, ...]:
    """What a use draws alone through each of its connections, its valve set for the hot supply."""
    [settled] = household.as_set((use,), law).outflows
    rated = rating(use, household.design.tree)
    regulated = settled.flow >= rated.cap * _HELD
    connections = []
    for outlet in use.outlets(household.design.tree):
        cold = outlet.side == "cold"
        flow = settled.cold if cold else settled.hot
        pressure = (settled.cold_pressure if cold else settled.hot_pressure) or 0.0
        # a regulated outlet's orifice is that of the whole valve, shared out as the flow is
        share = flow / settled.flow if settled.flow > 0.0 else 0.0
        own = rated.coefficient * share if regulated else flow / math.sqrt(max(pressure, 1.0))
        connections.append(
            Connection(
                outlet=outlet,
                flow=flow,
                coefficient=own,
                cap=rated.cap * share if math.isfinite(rated.cap) else math.inf,
            )
        )
    return tuple(connections)


def busyness() -> tuple[FloatArray, FloatArray]:
    """How busy a household may be on a day: factors on all chances, and the share of days of each.

    Returns:
        (factors of mean one, weights that add up to one).

    Source: lognormal, with the geometric standard deviation of a person's indoor use in a day over
        homes and days that day.toml names; nodes of Gauss and Hermite.
    """
    row = load_table("day")["busyness"]
    sigma = math.log(row["value"])
    at, weight = np.polynomial.hermite_e.hermegauss(_BUSY_POINTS)
    weight = weight / weight.sum()
    factor = np.exp(sigma * at)
    return factor / float(factor @ weight), weight


def chances(uses: tuple[RunningUse, ...], factors: FloatArray) -> FloatArray:
    """Chance that each use runs, by hour and by how busy the day is.

    Returns:
        One row per use; columns by factor, the hours of each together.
    """
    hourly = np.array([use.hourly for use in uses])
    columns = [np.minimum(hourly * factor, _MOST) for factor in factors]
    return np.concatenate(columns, axis=1)
