"""Independent ways to a supply's flows, for the tests of delivery to compare with."""

from __future__ import annotations

import math

from supplycalc.delivery.open_supply import Delivered, OpenSupply
from supplycalc.hydraulics.friction import hazen_williams_gradient, pressure_gradient


def link_loss(supply: OpenSupply, i: int, flow: float) -> float:
    """Loss of one link [Pa] by the plain formulas, without slopes."""
    loss = 0.0
    diameter = supply.inside_diameter[i]
    if supply.length[i] > 0.0:
        if supply.hazen_williams_c is None:
            gradient = pressure_gradient(
                flow, diameter, supply.roughness[i], supply.density[i], supply.viscosity[i]
            )
        else:
            gradient = hazen_williams_gradient(
                flow, diameter, supply.hazen_williams_c[i], supply.density[i]
            )
        loss += gradient * supply.length[i]
    if supply.k[i] > 0.0:
        speed = flow / (math.pi / 4.0 * diameter * diameter)
        loss += supply.k[i] * supply.density[i] * speed * speed / 2.0
    device = supply.device[i]
    return loss if device is None else loss + device(flow)[0]


def pressures_for(supply: OpenSupply, draws: dict[int, float]) -> tuple[list[float], list[float]]:
    """(flows, pressures) of every link when points draw given flows: the demand-driven answer."""
    count = len(supply.parent)
    flow = [draws.get(i, 0.0) for i in range(count)]
    for i in range(count - 1, 0, -1):
        flow[supply.parent[i]] += flow[i]
    pressure = [supply.source(flow[0])[0]]
    for i in range(1, count):
        value = pressure[supply.parent[i]] + supply.static_gain[i]
        value -= link_loss(supply, i, flow[i])
        limit = supply.limit[i]
        pressure.append(value if limit is None else min(value, limit(flow[i])[0]))
    return flow, pressure


def draws_of(supply: OpenSupply, delivered: Delivered) -> dict[int, float]:
    """What each point draws [m3/s]."""
    draws: dict[int, float] = {}
    for opening, flow in zip(supply.openings, delivered.opening_flow, strict=True):
        draws[opening.link] = draws.get(opening.link, 0.0) + flow
    for mixer, (cold, hot) in zip(supply.mixers, delivered.mixer_flow, strict=True):
        draws[mixer.cold_link] = draws.get(mixer.cold_link, 0.0) + cold
        draws[mixer.hot_link] = draws.get(mixer.hot_link, 0.0) + hot
    return draws


def law_of_outlets(supply: OpenSupply, delivered: Delivered) -> list[tuple[float, float]]:
    """(flow, what the outlet's law gives at the pressure found) of every outlet [m3/s].

    A plain mixer's chamber pressure is found here by bisection, from the sides' pressures alone.
    """
    pairs = []
    for opening, flow in zip(supply.openings, delivered.opening_flow, strict=True):
        pressure = max(delivered.pressure[opening.link], 0.0)
        pairs.append((flow, min(opening.cap, opening.coefficient * math.sqrt(pressure))))
    for mixer, (cold, hot) in zip(supply.mixers, delivered.mixer_flow, strict=True):
        sides = (delivered.pressure[mixer.cold_link], delivered.pressure[mixer.hot_link])
        shares = (1.0 - mixer.hot_share, mixer.hot_share)
        if mixer.kind == "ratio":
            total = min(mixer.cap, mixer.coefficient * math.sqrt(max(min(sides), 0.0)))
            pairs += [(cold, shares[0] * total), (hot, shares[1] * total)]
            continue
        ports = [share * mixer.coefficient / math.sqrt(mixer.port_share) for share in shares]
        outlet = mixer.coefficient / math.sqrt(1.0 - mixer.port_share)

        def into(
            chamber: float, ports: list[float] = ports, sides: tuple[float, float] = sides
        ) -> list[float]:
            return [
                port * math.sqrt(max(side - chamber, 0.0))
                for port, side in zip(ports, sides, strict=True)
            ]

        low, high = 0.0, max(*sides, 0.0)
        for _ in range(200):
            middle = 0.5 * (low + high)
            if sum(into(middle)) > min(mixer.cap, outlet * math.sqrt(middle)):
                low = middle
            else:
                high = middle
        pairs += list(zip((cold, hot), into(0.5 * (low + high)), strict=True))
    return pairs
