"""Random and hand-made supplies for the tests of delivery (all invented)."""

from __future__ import annotations

import math
import random

from supplycalc.delivery.open_supply import (
    Law,
    Mixer,
    Opening,
    OpenSupply,
    constant_source,
    device_law,
    lower_of,
    sagging_main,
    valve_law,
)
from supplycalc.model import Loss

DIAMETERS = (0.009, 0.0123, 0.017, 0.0219, 0.027, 0.035)
STYLES = {"normal": 3e5, "low": 4e4, "transition": 5e4, "starved": 3e5, "any": None}
RATED = ((5e-5, 5.5e4), (1e-4, 5.5e4), (1.58e-4, 1.4e5), (3e-4, 1.4e5))


def random_supply(
    seed: int,
    *,
    links: int | None = None,
    openings: int | None = None,
    mixers: bool = True,
    valves: bool = True,
    style: str | None = None,
    deep: bool | None = None,
) -> OpenSupply:
    """A random tree with devices, reducing valves, heights, a random source and open set.

    Pipes, heights and pressures range beyond what a house has: starved, dry and laminar supplies
    are in it on purpose.
    """
    rng = random.Random(seed)
    count = (links or rng.choice([2, 3, 5, 10, 20, 40, 80])) + 1
    deep = rng.random() < 0.3 if deep is None else deep
    style = style or rng.choice(list(STYLES))
    parent = [-1]
    for i in range(1, count):
        parent.append(rng.randrange(max(0, i - 3), i) if deep else rng.randrange(i))
    length, k, gain = [0.0] * count, [0.0] * count, [0.0] * count
    diameter = [0.02] * count
    device: list[Law | None] = [None] * count
    limit: list[Law | None] = [None] * count
    for i in range(1, count):
        kind = rng.random()
        gain[i] = 9800.0 * rng.uniform(-4.0, 4.0) if rng.random() < 0.5 else 0.0
        if kind < 0.75 or (kind >= 0.9 and not valves):
            length[i] = 10.0 ** rng.uniform(-0.5, 2.0)
            diameter[i] = rng.choice(DIAMETERS[:2] if style == "starved" else DIAMETERS)
            k[i] = rng.choice([0.0, rng.uniform(0.0, 30.0)])
        elif kind < 0.9:
            device[i] = device_law(_random_loss(rng))
        elif kind < 0.95:
            falloff = rng.choice([0.0, 7e4])
            limit[i] = valve_law(rng.uniform(1e5, 4e5), falloff, 7e-4, 0.7)
    places = rng.sample(range(1, count), openings or rng.randint(1, min(count - 1, 40)))
    outlets: list[Opening] = []
    mixing: list[Mixer] = []
    while places:
        i = places.pop()
        flow, pressure = rng.choice(RATED)
        coefficient = flow / math.sqrt(pressure) * (0.2 if style == "transition" else 1.0)
        cap = rng.choice([math.inf, flow, 1.3 * flow])
        if mixers and places and rng.random() < 0.4:
            mixing.append(
                Mixer(
                    name=f"mixer {i}",
                    kind=rng.choice(["plain", "plain", "ratio"]),
                    cold_link=i,
                    hot_link=places.pop(),
                    coefficient=coefficient,
                    hot_share=rng.choice([0.75, rng.uniform(0.05, 0.95)]),
                    port_share=rng.uniform(0.1, 0.9),
                    cap=cap,
                )
            )
        else:
            outlets.append(Opening(name=f"tap {i}", link=i, coefficient=coefficient, cap=cap))
    return OpenSupply(
        names=tuple(f"link {i}" for i in range(count)),
        parent=tuple(parent),
        length=tuple(length),
        inside_diameter=tuple(diameter),
        roughness=(rng.choice([0.0, 1.5e-6, 1.5e-4]),) * count,
        k=tuple(k),
        density=(998.0,) * count,
        viscosity=(1.0e-3,) * count,
        static_gain=tuple(gain),
        device=tuple(device),
        limit=tuple(limit),
        source=_random_source(rng, style),
        openings=tuple(outlets),
        mixers=tuple(mixing),
    )


def _random_loss(rng: random.Random) -> Loss:
    if rng.random() < 0.3:
        return Loss(curve=((0.0, 0.0), (2e-4, 1e4), (4e-4, 5e4), (8e-4, 2e5)))
    return Loss(
        constant=rng.choice([0.0, 0.0, 3e4]),
        linear=rng.choice([0.0, rng.uniform(0.0, 2e4)]),
        quadratic=rng.uniform(0.0, 1e5),
        reference_flow=4e-4,
    )


def _random_source(rng: random.Random, style: str) -> Law:
    nominal = STYLES[style]
    pressure = (rng.uniform(-1e4, 6e5) if nominal is None else nominal) * rng.uniform(0.5, 1.5)
    kind = rng.random()
    if kind < 0.4 or pressure <= 0.0:
        return constant_source(pressure)
    if kind < 0.6:
        residual = pressure * rng.uniform(0.3, 0.99)
        return sagging_main(pressure, residual, 6e-4 * rng.uniform(0.1, 2.0), 1.852)
    if kind < 0.8:
        fall = pressure * rng.uniform(0.2, 1.0) / (1e-3 * rng.uniform(0.1, 2.0)) ** 2
        return lambda flow: (pressure - fall * flow * flow, -2.0 * fall * flow)
    heads = [pressure + 1e5]
    for _ in range(4):
        heads.append(heads[-1] - pressure * rng.uniform(0.01, 0.6))
    curve = pump_curve(tuple((3e-4 * i, head) for i, head in enumerate(heads)))
    return lower_of(curve, constant_source(0.8 * pressure)) if rng.random() < 0.3 else curve


def pump_curve(points: tuple[tuple[float, float], ...]) -> Law:
    """Straight between (flow [m3/s], pressure [Pa]) points and on beyond the last."""

    def law(flow: float) -> tuple[float, float]:
        i = 0
        while i < len(points) - 2 and flow > points[i + 1][0]:
            i += 1
        (low, at_low), (high, at_high) = points[i], points[i + 1]
        slope = (at_high - at_low) / (high - low)
        return at_low + slope * (flow - low), slope

    return law


def house_like(fixtures: int, seed: int = 1, *, deep: bool = False) -> OpenSupply:
    """A tree of about two links per fixture at 1.5 bar, all fixtures open and capped.

    Bushy (a random recursive tree), or deep: every trunk link from one of the ten before it.
    """
    rng = random.Random(seed)
    trunk = max(1, fixtures - 2)
    reach = 9 if deep else trunk
    parent = [-1, 0, *(rng.randrange(max(1, i - reach), i) for i in range(2, trunk + 1))]
    flow = [0] * (trunk + 1)
    outlets = []
    for j in range(fixtures):
        above = rng.randrange(1, trunk + 1)
        parent.append(above)
        rated, pressure = rng.choice(((5e-5, 5.5e4), (1e-4, 5.5e4), (1.58e-4, 1.0e5)))
        coefficient = rated / math.sqrt(pressure)
        outlets.append(
            Opening(name=f"tap {j}", link=len(parent) - 1, coefficient=coefficient, cap=rated)
        )
        while above > 0:
            flow[above] += 1
            above = parent[above]
    count = len(parent)
    diameters = [0.0123] * count
    for i in range(1, trunk + 1):  # about 2 m/s with everything open
        diameters[i] = max(0.0123, math.sqrt(4.0 * 1e-4 * flow[i] / math.pi / 2.0))
    return OpenSupply(
        names=tuple(f"link {i}" for i in range(count)),
        parent=tuple(parent),
        length=(0.0, *(rng.uniform(1.0, 8.0) for _ in range(count - 1))),
        inside_diameter=tuple(diameters),
        roughness=(1.5e-6,) * count,
        k=(0.0, *(rng.uniform(0.5, 5.0) for _ in range(count - 1))),
        density=(998.0,) * count,
        viscosity=(1.0e-3,) * count,
        static_gain=(0.0, *(rng.uniform(-2e3, 2e3) for _ in range(count - 1))),
        device=(None,) * count,
        limit=(None,) * count,
        source=constant_source(1.5e5),
        openings=tuple(outlets),
    )
