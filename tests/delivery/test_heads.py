"""Several heads on one tree: every law is met, and no valve lets water back."""

from __future__ import annotations

import math
import random

import pytest
from msgspec.structs import replace

from supplycalc.delivery.open_supply import (
    Delivered,
    Head,
    Opening,
    OpenSupply,
    constant_source,
    open_pressures_at_rest,
    valve_law,
)
from supplycalc.delivery.solver import deliver
from tests.delivery.plain_formulas import law_of_outlets, link_loss
from tests.delivery.supplies import random_supply


def supply_with_heads(seed: int, *, valves: bool) -> OpenSupply:
    """A random tree of pipes and devices with one to three heads and, at will, check valves."""
    rng = random.Random(seed)
    supply = random_supply(seed, mixers=not valves, valves=False)
    count = len(supply.parent)
    rest = open_pressures_at_rest(supply)
    return replace(
        supply,
        length=tuple(length or 1.0 for length in supply.length),
        limit=(None,) * count,
        source=supply.source if valves else constant_source(rest[0]),
        mixers=tuple(m for m in supply.mixers if m.kind == "plain"),
        heads=tuple(
            Head(
                name=f"head {i}",
                link=i,
                law=constant_source(rest[i] * rng.uniform(0.5, 1.3) + rng.uniform(-1e4, 1e4)),
            )
            for i in rng.sample(range(1, count), rng.randint(1, min(3, count - 1)))
        ),
        one_way=frozenset(i for i in range(count) if i == 0 or rng.random() < 0.1)
        if valves
        else frozenset(),
    )


@pytest.mark.parametrize("valves", [False, True])
@pytest.mark.parametrize("seed", range(60))
def test_every_law_is_met(seed: int, valves: bool) -> None:
    """By the plain formulas: outlets, heads, links, the balance of each point, shut valves."""
    supply = supply_with_heads(seed, valves=valves)
    settled = deliver(supply)
    _assert_met(supply, settled)


def _assert_met(supply: OpenSupply, settled: Delivered) -> None:
    largest = max(map(abs, (*settled.flow, *settled.head_flow, 1e-9)))
    for flow, by_law in law_of_outlets(supply, settled):
        assert flow == pytest.approx(by_law, rel=1e-5, abs=1e-8)
    for head, given in zip(supply.heads, settled.head_flow, strict=True):
        assert settled.pressure[head.link] == pytest.approx(head.law(given)[0], abs=1.0)
    into = list(settled.flow)
    for i in range(1, len(into)):
        into[supply.parent[i]] -= settled.flow[i]
        lost = math.copysign(link_loss(supply, i, abs(settled.flow[i])), settled.flow[i])
        before = settled.pressure[supply.parent[i]] + supply.static_gain[i]
        if i in supply.one_way and settled.flow[i] <= 1e-12:
            assert settled.flow[i] >= -1e-12
            assert before <= settled.pressure[i] + 1.0
        else:
            assert before - lost == pytest.approx(settled.pressure[i], abs=1.0)
    for opening, flow in zip(supply.openings, settled.opening_flow, strict=True):
        into[opening.link] -= flow
    for mixer, (cold, hot) in zip(supply.mixers, settled.mixer_flow, strict=True):
        into[mixer.cold_link] -= cold
        into[mixer.hot_link] -= hot
    for head, given in zip(supply.heads, settled.head_flow, strict=True):
        into[head.link] += given
    assert max(map(abs, into)) < 1e-12 + 1e-9 * largest


def line(*, tank: float, check_valve: bool = False, setting: float | None = None) -> OpenSupply:
    """Source at 3 bar, 30 m to point 1 (or a reducing valve), 30 m to a tap and tank at 2."""
    return OpenSupply(
        names=("source", "line", "branch"),
        parent=(-1, 0, 1),
        length=(0.0, 30.0, 30.0),
        inside_diameter=(1.0, 0.02, 0.02),
        roughness=(1.5e-6,) * 3,
        k=(0.0,) * 3,
        density=(998.0,) * 3,
        viscosity=(1e-3,) * 3,
        static_gain=(0.0,) * 3,
        device=(None,) * 3,
        limit=(None, None if setting is None else valve_law(setting, 0.0, 1e-3, 0.7), None),
        source=constant_source(3e5),
        openings=(Opening(name="tap", link=1, coefficient=4e-4 / math.sqrt(1e5)),),
        heads=(Head(name="tank", link=2, law=constant_source(tank)),),
        one_way=frozenset({2} if check_valve else ()),
    )


def test_a_fuller_tank_gives_and_a_check_valve_keeps_its_water() -> None:
    """A tap before the tank gets its water only where no valve stands between."""
    free, kept = deliver(line(tank=2.9e5)), deliver(line(tank=2.9e5, check_valve=True))
    assert free.head_flow[0] > 1e-4
    assert free.flow[2] < 0.0
    assert kept.head_flow[0] == kept.flow[2] == 0.0
    assert kept.pressure[2] == 2.9e5
    assert kept.pressure[1] < free.pressure[1] < 2.9e5
    assert kept.opening_flow[0] < free.opening_flow[0]
    # and one that is emptier than the line takes water in as if there were no valve
    assert deliver(line(tank=1e5, check_valve=True)) == deliver(line(tank=1e5))


def test_a_reducing_valve_shuts_against_a_tank_behind_it() -> None:
    """Water behind it that stands higher than its setting does not go back through it."""
    settled = deliver(line(tank=2.5e5, setting=1.5e5))
    assert settled.flow[1] == 0.0
    assert settled.head_flow[0] == pytest.approx(settled.opening_flow[0])


def test_a_tank_at_the_balance_gives_nothing() -> None:
    """Its pressure is what would stand there without it."""
    alone = deliver(replace(line(tank=0.0), heads=()))
    assert deliver(line(tank=alone.pressure[2])).head_flow[0] == pytest.approx(0.0, abs=1e-9)
