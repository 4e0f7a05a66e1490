"""What must hold of any supply, whatever its tree, source and outlets."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.delivery.open_supply import Delivered, OpenSupply, open_pressures_at_rest
from supplycalc.delivery.solver import deliver
from tests.delivery.plain_formulas import draws_of, pressures_for
from tests.delivery.supplies import random_supply

SEEDS = st.integers(0, 2**40)
MODERATE = settings(max_examples=120, deadline=None)


@st.composite
def supplies(draw: st.DrawFn, *, mixers: bool = True, ratios: bool = True) -> OpenSupply:
    """Random trees; without `ratios` the mixers are plain ones."""
    links = draw(st.integers(1, 30))
    openings = draw(st.integers(1, links))
    supply = random_supply(draw(SEEDS), links=links, openings=openings, mixers=mixers)
    if not ratios:
        supply = replace(
            supply, mixers=tuple(replace(mixer, kind="plain") for mixer in supply.mixers)
        )
    return supply


def outlet_flows(delivered: Delivered) -> list[float]:
    """Total of every opening, then of every mixer [m3/s]."""
    return [*delivered.opening_flow, *map(sum, delivered.mixer_flow)]


@MODERATE
@given(supplies())
def test_mass_balance_at_every_point(supply: OpenSupply) -> None:
    """What flows in at a point flows out or is drawn there, to 1e-9 of the flow."""
    delivered = deliver(supply)
    out = [0.0] * len(supply.parent)
    for i in range(1, len(supply.parent)):
        out[supply.parent[i]] += delivered.flow[i]
    for i, drawn in draws_of(supply, delivered).items():
        out[i] += drawn

    for into, leaving in zip(delivered.flow, out, strict=True):
        assert into == pytest.approx(leaving, rel=1e-9, abs=1e-18)
        assert into >= 0.0


@MODERATE
@given(supplies())
def test_a_demand_driven_solve_gives_the_same_pressures(supply: OpenSupply) -> None:
    """The delivered flows put in as demands lead to the same pressures, to rounding."""
    delivered = deliver(supply)
    flow, pressure = pressures_for(supply, draws_of(supply, delivered))
    highest = max(map(abs, pressure), default=1.0)

    assert flow == pytest.approx(list(delivered.flow), rel=1e-12, abs=1e-18)
    assert pressure == pytest.approx(list(delivered.pressure), abs=1e-11 * highest + 1e-9)


@MODERATE
@given(supplies(ratios=False), st.randoms(use_true_random=False))
def test_opening_one_outlet_never_raises_another(supply: OpenSupply, chance: object) -> None:
    """With one outlet shut every other gets as much or more.

    Flows are settled to a pressure of 1e-11 of that at rest, which at a nearly dry outlet is a
    millionth of its full flow: so much is granted. Valves that keep a ratio are left out: one that
    backs off relieves the others.
    """
    whole = deliver(supply)
    flows = outlet_flows(whole)
    count = len(supply.openings)
    shut = chance.randrange(len(flows))  # type: ignore[attr-defined]
    if shut < count:
        rest = replace(supply, openings=supply.openings[:shut] + supply.openings[shut + 1 :])
    else:
        j = shut - count
        rest = replace(supply, mixers=supply.mixers[:j] + supply.mixers[j + 1 :])
    without = outlet_flows(deliver(rest))
    with_it = flows[:shut] + flows[shut + 1 :]
    coefficients = [o.coefficient for o in (*rest.openings, *rest.mixers)]
    highest = max(1e3, *map(abs, open_pressures_at_rest(supply)))

    for before, after, coefficient in zip(without, with_it, coefficients, strict=True):
        assert after <= before * (1.0 + 1e-9) + coefficient * math.sqrt(1e-11 * highest + 1e-6)


@MODERATE
@given(supplies())
def test_all_shut_gives_static_pressure(supply: OpenSupply) -> None:
    """Nothing runs, and each point has the source's pressure, its height and valves' settings."""
    delivered = deliver(replace(supply, openings=(), mixers=()))

    assert set(delivered.flow) == {0.0}
    assert list(delivered.pressure) == open_pressures_at_rest(supply)
    for i in range(1, len(supply.parent)):
        above = delivered.pressure[supply.parent[i]] + supply.static_gain[i]
        limit = supply.limit[i]
        assert delivered.pressure[i] == (above if limit is None else min(above, limit(0.0)[0]))


@MODERATE
@given(supplies(mixers=False), st.floats(0.1, 1.0))
def test_opening_wider_never_gives_less(supply: OpenSupply, share: float) -> None:
    """An outlet turned down draws no more than wide open, and leaves no less to the others."""
    first, *others = supply.openings
    narrow = replace(first, coefficient=share * first.coefficient)
    wide, less = (
        deliver(replace(supply, openings=(opening, *others))).opening_flow
        for opening in (first, narrow)
    )
    highest = max(1e3, *map(abs, open_pressures_at_rest(supply)))
    tiny = math.sqrt(1e-11 * highest + 1e-6)

    assert less[0] <= wide[0] * (1.0 + 1e-9) + first.coefficient * tiny
    for before, after, opening in zip(less[1:], wide[1:], others, strict=True):
        assert after <= before * (1.0 + 1e-9) + opening.coefficient * tiny


@MODERATE
@given(supplies(), st.floats(1.0, 3.0))
def test_it_settles_for_any_start_of_pressure(supply: OpenSupply, factor: float) -> None:
    """Scaling the source's pressure up never ends in an error, nor in a negative flow."""
    law = supply.source
    stronger = replace(supply, source=lambda q: (factor * law(q)[0], factor * law(q)[1]))

    assert min(outlet_flows(deliver(stronger))) >= 0.0
