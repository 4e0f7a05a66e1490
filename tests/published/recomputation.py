"""A house computed a second time from textbook formulas and code tables, without the package.

Written on its own from the published formulas: nothing of supplycalc is imported, and every figure
below was typed from its source, not read from the package's data. Only what three houses need is
here: copper, PEX, CPVC and polyethylene, soldered, socket and insert fittings, the residential
code's demand with the bathroom's group value, a main or a well whose pump holds its cut-in. Sizes
are taken as given.
"""

from __future__ import annotations

import itertools
import math
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

G = 9.80665
PSI = 0.45359237 * G / 0.0254**2
GPM = 231 * 0.0254**3 / 60
FOOT, INCH = 0.3048, 0.0254
UNITS = {"ft": FOOT, "in": INCH, "psi": PSI, "gpm": GPM}

# Tubes: roughness [mm], bore [in] by nominal size, how they are joined.
# ASTM B88 type K and L; ASTM F876 and D2846, average wall; ASTM D2737 SDR 9, average wall, and
# D2239 (from memory).
# Roughness of drawn tube and plastic: Hydraulic Institute, Engineering Data Book.
TUBES: dict[str, tuple[float, dict[str, float], str]] = {
    "copper-k": (
        0.0015,
        {"1/2": 0.527, "3/4": 0.745, "1": 0.995, "1-1/4": 1.245, "1-1/2": 1.481, "2": 1.959},
        "soldered",
    ),
    "copper-l": (
        0.0015,
        {
            "3/8": 0.430,
            "1/2": 0.545,
            "3/4": 0.785,
            "1": 1.025,
            "1-1/4": 1.265,
            "1-1/2": 1.505,
            "2": 1.985,
        },
        "soldered",
    ),
    "pex-sdr9": (
        0.0015,
        {"3/8": 0.350, "1/2": 0.475, "3/4": 0.671, "1": 0.862, "1-1/4": 1.054, "1-1/2": 1.244},
        "crimp",
    ),
    "cpvc-sdr11": (
        0.0015,
        {"1/2": 0.469, "3/4": 0.695, "1": 0.901, "1-1/4": 1.105, "1-1/2": 1.309, "2": 1.716},
        "socket",
    ),
    "pe-sidr7": (
        0.0015,
        {"3/4": 0.824, "1": 1.049, "1-1/4": 1.380, "1-1/2": 1.610, "2": 2.067},
        "insert",
    ),
    "pe-cts-sdr9": (0.0015, {"3/4": 0.669, "1": 0.860, "1-1/4": 1.051, "1-1/2": 1.241}, "insert"),
}
# Copper Tube Handbook, Table 14.7 (from memory): feet of the same tube.
SOLDERED = {
    "3/8": {"elbow-90": 0.5, "tee-branch": 1.5},
    "1/2": {"elbow-90": 1.0, "tee-branch": 2.0},
    "3/4": {"elbow-90": 2.0, "tee-branch": 3.0},
    "1": {"elbow-90": 2.5, "tee-branch": 4.5, "ball-valve": 0.5},
    "1-1/4": {"elbow-90": 3.0, "tee-branch": 5.5, "tee-run": 0.5, "ball-valve": 0.5},
    "1-1/2": {"elbow-90": 4.0, "tee-branch": 7.0, "tee-run": 0.5, "ball-valve": 0.5},
}
# Trade table of PVC and CPVC socket fittings: feet of the same tube.
SOCKET = {
    "1/2": {"elbow-90": 1.5, "tee-run": 1.0, "tee-branch": 4.0},
    "3/4": {"elbow-90": 2.0, "tee-run": 1.4, "tee-branch": 5.0},
    "1": {"elbow-90": 2.5, "tee-run": 1.7, "tee-branch": 6.0},
    "1-1/4": {"elbow-90": 3.8, "tee-run": 2.3, "tee-branch": 7.0},
    "1-1/2": {"elbow-90": 4.0, "tee-run": 2.7, "tee-branch": 8.0},
    "2": {"elbow-90": 5.7, "tee-run": 4.3, "tee-branch": 12.0},
}
# A PEX maker's installation manual of 2016: feet of the same tube; beyond 1 inch by its bronze
# press fittings, none shorter than in 1 inch.
CRIMP = {
    "3/8": {"elbow-90": 9.2, "tee-run": 2.9, "tee-branch": 9.4},
    "1/2": {"elbow-90": 9.4, "tee-run": 2.2, "tee-branch": 10.4},
    "3/4": {"elbow-90": 9.4, "tee-run": 1.9, "tee-branch": 8.9},
    "1": {"elbow-90": 10.0, "tee-run": 2.3, "tee-branch": 11.0},
    "1-1/4": {"elbow-90": 11.0, "tee-run": 2.3, "tee-branch": 11.0},
    "1-1/2": {"elbow-90": 13.0, "tee-run": 2.3, "tee-branch": 12.0},
}
# A pump maker's friction charts of 2011, plastic insert fittings: feet of the same pipe; the way
# straight through a tee as a coupling.
INSERT = {
    "3/4": {"elbow-90": 5.0, "tee-run": 3.0, "tee-branch": 8.0},
    "1": {"elbow-90": 6.0, "tee-run": 3.0, "tee-branch": 9.0},
    "1-1/4": {"elbow-90": 7.0, "tee-run": 3.0, "tee-branch": 12.0},
    "1-1/2": {"elbow-90": 8.0, "tee-run": 3.0, "tee-branch": 13.0},
}
LENGTHS = {"soldered": SOLDERED, "socket": SOCKET, "crimp": CRIMP, "insert": INSERT}
INSERT_WALL = 0.0713 * INCH
# Crane Technical Paper 410: n of n*fT, and fT by nominal size (from memory).
CRANE_N = {"ball-valve": 3.0}
CRANE_FT = {"1/2": 0.027, "3/4": 0.025, "1": 0.023, "1-1/4": 0.022, "1-1/2": 0.021, "2": 0.019}
# A maker's design manual: Cv 3.1 of a multiport tee's 1/2 inch outlet, 891 d^4/Cv^2 with 0.475 in.
PORT_K = round(891 * 0.475**4 / 3.1**2, 1)

# Residential code, Table P2903.6: cold, hot, total (from memory).
UNITS_OF = {
    "tub-shower": (1.0, 1.0, 1.4),
    "shower": (1.0, 1.0, 1.4),
    "lavatory": (0.5, 0.5, 0.7),
    "water-closet": (2.2, 0.0, 2.2),
    "kitchen-sink": (1.0, 1.0, 1.4),
    "dishwasher": (0.0, 1.4, 1.4),
    "clothes-washer": (1.0, 1.0, 1.4),
    "laundry-tub": (1.0, 1.0, 1.4),
    "hose-bibb": (2.5, 0.0, 2.5),
}
FULL_BATH, HALF_BATH = (2.7, 1.5, 3.6), (2.5, 0.5, 2.6)
BATHROOM = {
    "tub-shower": "bath",
    "shower": "bath",
    "lavatory": "basin",
    "water-closet": "closet",
}
# Table P2903.1: gpm and psi flowing.
OUTLETS = {
    "tub-shower": (4.0, 20.0),
    "shower": (2.5, 20.0),
    "lavatory": (0.8, 8.0),
    "water-closet": (3.0, 20.0),
    "kitchen-sink": (1.75, 8.0),
    "dishwasher": (2.75, 8.0),
    "clothes-washer": (4.0, 8.0),
    "laundry-tub": (4.0, 8.0),
    "hose-bibb": (5.0, 8.0),
}
# Table P2903.6(1), flush tanks: fixture units, gpm.
ESTIMATE = [
    *((1, 3.0), (2, 5.0), (3, 6.5), (4, 8.0), (5, 9.4), (6, 10.7), (7, 11.8), (8, 12.8)),
    *((9, 13.7), (10, 14.6), (11, 15.4), (12, 16.0), (13, 16.5), (14, 17.0), (15, 17.5)),
    *((16, 18.0), (17, 18.4), (18, 18.8), (19, 19.2), (20, 19.6), (25, 21.5), (30, 23.3)),
    *((35, 24.9), (40, 26.3), (45, 27.7), (50, 29.1), (60, 32.0), (70, 35.0), (80, 38.0)),
]
# Usual losses where a file gives none: AWWA C700 meter, tank heater (common practice).
USUAL = {"meter": (15.0, 30.0), "heater": (2.0, 7.0)}


def quantity(text: str) -> float:
    """A number with a unit in SI; temperatures in K."""
    match = re.fullmatch(r"(-?[\d.]+) (\S+)", text)
    assert match, text
    number, unit = float(match[1]), match[2]
    return (number + 459.67) / 1.8 if unit == "degF" else number * UNITS[unit]


def water(temperature: float) -> tuple[float, float]:
    """Density [kg/m3] and viscosity [Pa s] by IAPWS SR6-08 at 0.1 MPa."""
    a = (1.93763157e-2, 6.74458446e3, -2.22521604e5, 1.00231247e8, -1.63552118e9, 8.32299658e9)
    b = (
        5.78545292e-3,
        -1.53195665e-2,
        3.11337859e-2,
        -4.23546241e-2,
        3.38713507e-2,
        -1.19946761e-2,
    )
    alpha, beta = 10.0 / (593.0 - temperature), 10.0 / (temperature - 232.0)
    volume = a[0] + sum(x * alpha**n for x, n in zip(a[1:], (4, 5, 7, 8, 9), strict=True))
    volume += sum(x * beta**n for n, x in enumerate(b, start=1))
    t = temperature / 300.0
    viscosity = 280.68 * t**-1.9 + 511.45 * t**-7.7 + 61.131 * t**-19.6 + 0.45903 * t**-40.0
    return 100e3 / (461.51805 * 10.0 * volume), 1e-6 * viscosity


def colebrook(reynolds: float, relative: float) -> float:
    """Colebrook's factor by plain repetition, which gains a digit per step."""
    root = 7.0
    for _ in range(60):
        root = -2.0 * math.log10(relative / 3.7 + 2.51 * root / reynolds)
    return root**-2


def darcy(reynolds: float, relative: float) -> float:
    """Laminar to 2000, Colebrook from 4000, between them Hermite's cubic in ln f over ln Re.

    The slope at the upper end by central difference: the error is of the order of 1e-10.
    """
    if reynolds <= 2000.0:
        return 64.0 / reynolds
    if reynolds >= 4000.0:
        return colebrook(reynolds, relative)
    span = math.log(2.0)
    start, end = math.log(0.032), math.log(colebrook(4000.0, relative))
    step = 1e-4
    slope = (
        math.log(colebrook(4000.0 * math.exp(step), relative))
        - math.log(colebrook(4000.0 * math.exp(-step), relative))
    ) / (2.0 * step)
    s = math.log(reynolds / 2000.0) / span
    h00, h10 = 2 * s**3 - 3 * s**2 + 1, s**3 - 2 * s**2 + s
    h01, h11 = -2 * s**3 + 3 * s**2, s**3 - s**2
    return math.exp(h00 * start + h10 * span * -1.0 + h01 * end + h11 * span * slope)


def fittings_k(counts: dict[str, int], joining: str, size: str, bore: float, rough: float) -> float:
    """Sum of K on the tube's velocity head."""
    total = 0.0
    for kind, count in counts.items():
        if joining in LENGTHS and not (joining != "soldered" and kind in CRANE_N):
            feet = LENGTHS[joining][size].get(kind, 0.0)
            rho, mu = water((60.0 + 459.67) / 1.8)
            k = darcy(rho * 4.0 * FOOT * bore / mu, rough / bore) * feet * FOOT / bore
        elif joining == "socket":
            k = CRANE_N[kind] * CRANE_FT[size]
        else:
            ratio = (1.0 - 2.0 * INSERT_WALL / bore) ** 2
            k = (0.5 * (1.0 - ratio) + (1.0 - ratio) ** 2) / ratio**2
            k += CRANE_N[kind] * CRANE_FT[size]
        total += count * k
    return total


@dataclass
class Pipe:
    """One link of the supply."""

    name: str
    start: str
    end: str
    record: dict[str, Any]
    is_run: bool
    hot: bool = False
    fixtures: dict[str, int] = field(default_factory=dict)
    """Name -> 1 cold, 2 hot, 3 both."""
    units: float = 0.0
    flow: float = 0.0
    loss: float = 0.0


@dataclass
class Recomputed:
    """What was found: losses and flows by link, residual pressures by end point [SI]."""

    flow: dict[str, float]
    loss: dict[str, float]
    residual: dict[str, float]
    source: float


def recompute(path: Path, sizes: dict[str, str]) -> Recomputed:
    """Flows, losses and residual pressures of a file for given sizes, in SI."""
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    pipes = list(links(data))
    by_end = {pipe.end: pipe for pipe in pipes}

    def upstream(pipe: Pipe) -> list[Pipe]:
        way = [pipe]
        while way[-1].start != "source":
            way.append(by_end[way[-1].start])
        return way

    kinds = {fixture["name"]: fixture["kind"] for fixture in data["fixture"]}
    for fixture in data["fixture"]:
        for bit, side in ((1, "cold"), (2, "hot")):
            if side in fixture:
                for pipe in upstream(by_end[f"{fixture['name']} {side}"]):
                    now = pipe.fixtures.get(fixture["name"], 0)
                    pipe.fixtures[fixture["name"]] = now | bit
    for pipe in pipes:
        pipe.hot = any(before.record.get("kind") == "heater" for before in upstream(pipe))
    rooms = bathrooms(pipes, kinds, upstream)
    for pipe in pipes:
        pipe.units = demand_units(pipe.fixtures, kinds, rooms)
        pipe.flow = design_flow(pipe.units, [OUTLETS[kinds[name]][0] for name in pipe.fixtures])
        pipe.loss = run_loss(pipe, data, sizes, by_end) if pipe.is_run else device_loss(pipe)

    roots = [pipe for pipe in pipes if pipe.start == "source"]
    everything: dict[str, int] = {}
    for pipe in roots:
        for name, side in pipe.fixtures.items():
            everything[name] = everything.get(name, 0) | side
    whole = design_flow(
        demand_units(everything, kinds, rooms), [OUTLETS[kinds[name]][0] for name in everything]
    )
    working = source_pressure(data["source"], whole)
    heights = elevations(data, pipes, by_end)
    residual = {}
    for pipe in pipes:
        if pipe.end in heights[1]:
            pressure = working
            for link in reversed(upstream(pipe)):
                heats = link.record.get("kind") == "heater"  # what rises to its inlet is cold
                rho = water(temperature_of(by_end[link.start] if heats else link, data))[0]
                pressure += rho * G * (heights[0][link.start] - heights[0][link.end]) - link.loss
            residual[pipe.end] = pressure
    return Recomputed(
        flow={pipe.name: pipe.flow for pipe in pipes},
        loss={pipe.name: pipe.loss for pipe in pipes},
        residual=residual,
        source=working,
    )


def links(data: dict[str, Any]) -> Iterator[Pipe]:
    """Runs, devices, manifolds and branches of a file."""
    for run in data["run"]:
        yield Pipe(run["name"], run["from"], run["to"], run, True)
    for device in data.get("device", ()):
        yield Pipe(device["name"], device["from"], device["to"], device, False)
    for manifold in data.get("manifold", ()):
        yield Pipe(manifold["name"], manifold["from"], manifold["name"], {"manifold": True}, False)
    for fixture in data["fixture"]:
        for side in ("cold", "hot"):
            if side in fixture:
                name = f"{fixture['name']} {side}"
                yield Pipe(name, fixture[side]["from"], name, fixture[side], True)


def bathrooms(pipes: list[Pipe], kinds: dict[str, str], upstream: Any) -> list[frozenset[str]]:
    """Fixtures that a pipe feeds together and that all stand in bathrooms, largest set first."""
    sets = {
        frozenset(pipe.fixtures)
        for pipe in pipes
        if len(pipe.fixtures) > 1 and all(kinds[name] in BATHROOM for name in pipe.fixtures)
    }
    rooms: list[frozenset[str]] = []
    for names in sorted(sets, key=lambda names: (-len(names), sorted(names))):
        if not any(names & other for other in rooms):
            rooms.append(names)
    return rooms


def demand_units(
    fixtures: dict[str, int], kinds: dict[str, str], rooms: list[frozenset[str]]
) -> float:
    """Fixture units of a pipe: single values, or for the fixtures of a room what is least."""

    def column(values: tuple[float, float, float], side: int) -> float:
        return values[side - 1]

    total = 0.0
    for name, side in fixtures.items():
        if not any(name in room for room in rooms):
            total += column(UNITS_OF[kinds[name]], side)
    for room in rooms:
        present = {name: fixtures[name] for name in room if name in fixtures}
        seen = 0
        for side in present.values():
            seen |= side
        waiting: dict[str, list[float]] = {"closet": [], "basin": [], "bath": []}
        for name, side in present.items():
            waiting[BATHROOM[kinds[name]]].append(column(UNITS_OF[kinds[name]], side))
        best = math.inf
        most = max([len(sides) for sides in waiting.values()], default=0)
        for full, half in itertools.product(range(most + 1), repeat=2):
            load = full * column(FULL_BATH, seen or 3) + half * column(HALF_BATH, seen or 3)
            for slot, values in waiting.items():
                covered = full + (half if slot != "bath" else 0)
                load += sum(sorted(values, reverse=True)[covered:])
            best = min(best, load)
        total += best if present else 0.0
    return total


def design_flow(units: float, flows: list[float]) -> float:
    """Flow by the estimating table, straight between its rows [m3/s].

    Up to one unit, and for a single fixture, no more than the fixtures draw together; never less
    than the largest.
    """
    flow = max(flows)
    if units >= 1.0 - 1e-9:
        for (low, at_low), (high, at_high) in itertools.pairwise(ESTIMATE):
            if low - 1e-9 <= units <= high + 1e-9:
                flow = at_low + (at_high - at_low) * (units - low) / (high - low)
                break
        else:
            raise AssertionError("beyond the table that was typed here")
    if units <= 1.0 + 1e-9 or len(flows) == 1:
        flow = min(flow, sum(flows))
    return max(flow, max(flows)) * GPM


def temperature_of(pipe: Pipe, data: dict[str, Any]) -> float:
    """Temperature of the water in a link [K]."""
    return quantity(data["water"]["hot" if pipe.hot else "cold"])


def run_loss(
    pipe: Pipe, data: dict[str, Any], sizes: dict[str, str], by_end: dict[str, Pipe]
) -> float:
    """Friction and fittings of a run [Pa]."""
    rough_mm, bores, joining = TUBES[pipe.record.get("material", data["defaults"]["material"])]
    size = sizes[pipe.name]
    bore, rough = bores[size] * INCH, rough_mm / 1000.0
    rho, mu = water(temperature_of(pipe, data))
    k = fittings_k(pipe.record["fittings"], joining, size, bore, rough)
    feeding = by_end.get(pipe.start)
    if feeding is not None and feeding.record.get("manifold"):
        k += PORT_K
    speed = pipe.flow / (math.pi * bore**2 / 4.0)
    factor = darcy(rho * speed * bore / mu, rough / bore)
    return (factor * quantity(pipe.record["length"]) / bore + k) * rho * speed**2 / 2.0


def device_loss(pipe: Pipe) -> float:
    """Loss of a device that goes with the square of flow [Pa]."""
    if pipe.record.get("manifold"):
        return 0.0
    if "loss" in pipe.record:
        loss, at = (quantity(part) for part in pipe.record["loss"].split(" at "))
    else:
        psi, gpm = USUAL[pipe.record["kind"]]
        loss, at = psi * PSI, gpm * GPM
    return loss * (pipe.flow / at) ** 2


def source_pressure(source: dict[str, Any], flow: float) -> float:
    """Working pressure at the source [Pa]; a well's pump is held to manage its cut-in."""
    if source["kind"] == "well":
        return quantity(source["cut_in"])
    static, residual = quantity(source["static"]), quantity(source["residual"])
    return static - (static - residual) * (flow / quantity(source["residual_flow"])) ** 1.852


def elevations(
    data: dict[str, Any], pipes: list[Pipe], by_end: dict[str, Pipe]
) -> tuple[dict[str, float], set[str]]:
    """Heights of all points [m], and the names of the ends of branches."""
    known = {"source": quantity(data["source"]["elevation"])}
    for point in data.get("point", ()):
        known[point["name"]] = quantity(point["elevation"])
    for device in data.get("device", ()):
        if "elevation" in device:
            known[device["to"]] = quantity(device["elevation"])
    ends = set()
    for fixture in data["fixture"]:
        for side in ("cold", "hot"):
            if side in fixture:
                known[f"{fixture['name']} {side}"] = quantity(fixture["elevation"])
                ends.add(f"{fixture['name']} {side}")

    def height(point: str) -> float:
        if point not in known:
            known[point] = height(by_end[point].start)
        return known[point]

    for pipe in pipes:
        height(pipe.end)
    return known, ends
