"""Two outside ways to the same answer, brute force and integer programming, and test trees."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence

from fluids.friction import friction_factor

from supplycalc.sizing.problem import LinkOption, LinkProblem, SizingProblem

PEX_INSIDE_DIAMETERS = (0.350, 0.475, 0.671, 0.862, 1.053, 1.244)
"""Inside diameters of PEX SDR 9 tube, 3/8 to 1-1/2 [in], from memory of ASTM F876; exactness does
not matter here."""
PRICES = (0.35, 0.50, 0.95, 1.70, 2.80, 4.10)  # invented, per foot


def pressures(problem: SizingProblem, choice: Sequence[int]) -> list[float]:
    """Pressure at every link's end [Pa], from the source down."""
    ends: list[float] = []
    for link, option in zip(problem.links, choice, strict=True):
        inlet = problem.available if link.parent < 0 else ends[link.parent]
        ends.append(min(link.outlet_limit, inlet + link.static_gain - link.options[option].loss))
    return ends


def shortfall(problem: SizingProblem, choice: Sequence[int]) -> float:
    """Required less residual pressure at the worst outlet [Pa]."""
    ends = pressures(problem, choice)
    return max(link.required - end for link, end in zip(problem.links, ends, strict=True))


def needed(problem: SizingProblem, choice: Sequence[int]) -> float:
    """Most that any outlet needs at the source, valves' limits aside [Pa]."""
    worst = -math.inf
    for start, link in enumerate(problem.links):
        need, index = link.required, start
        while index >= 0:
            on_path = problem.links[index]
            need += on_path.options[choice[index]].loss - on_path.static_gain
            index = on_path.parent
        worst = max(worst, need)
    return worst


def keeps_rules(problem: SizingProblem, choice: Sequence[int]) -> bool:
    """Whether groups agree and no size ranks above the ceiling of the nearest one upstream."""
    taken: dict[int, int] = {}
    for index, link in enumerate(problem.links):
        if link.group >= 0 and taken.setdefault(link.group, choice[index]) != choice[index]:
            return False
        rank = link.options[choice[index]].rank
        if link.exempt or rank is None:
            continue
        feed = link.parent
        while feed >= 0 and problem.links[feed].options[choice[feed]].rank is None:
            feed = problem.links[feed].parent
        if feed >= 0 and rank > problem.links[feed].options[choice[feed]].ceiling:
            return False
    return True


def brute_force(problem: SizingProblem) -> tuple[float, float, float] | None:
    """Try everything: (shortfall counted only above 0, cost, needed) at its least, in this order.

    None where no design keeps the rules. Shortfalls and costs are compared to 1e-6 and 1e-9.
    """
    designs = [
        (
            max(shortfall(problem, choice), 0.0),
            math.fsum(link.options[o].cost for link, o in zip(problem.links, choice, strict=True)),
            needed(problem, choice),
        )
        for choice in itertools.product(*[range(len(link.options)) for link in problem.links])
        if keeps_rules(problem, choice)
    ]
    if not designs:
        return None
    least = min(short for short, _, _ in designs)
    near = [design for design in designs if design[0] <= least + 1e-6]
    lowest = min(cost for _, cost, _ in near)
    return least, lowest, min(need for _, cost, need in near if cost <= lowest + 1e-9)


def milp(problem: SizingProblem, short: float | None = None) -> float:
    """Least cost by HiGHS, every requirement lowered by `short`; None: least shortfall instead.

    One binary per option, one pressure per link's end, one shortfall. Links of mixed options, some
    with a rank and some without, are not covered.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    links = problem.links
    first = [0, *itertools.accumulate(len(link.options) for link in links)]
    binaries, count = first[-1], first[-1] + len(links) + 1
    rows: list[tuple[int, int, float]] = []
    low: list[float] = []
    high: list[float] = []

    def row(terms: Sequence[tuple[int, float]], least: float, most: float) -> None:
        rows.extend((len(low), column, value) for column, value in terms)
        low.append(least)
        high.append(most)

    scale = 1e3  # pressures in kPa
    leaders: dict[int, int] = {}
    for i, link in enumerate(links):
        columns = range(first[i], first[i + 1])
        pressure = binaries + i
        row([(column, 1.0) for column in columns], 1.0, 1.0)
        losses = [
            (column, option.loss / scale)
            for column, option in zip(columns, link.options, strict=True)
        ]
        if link.parent < 0:
            most = (problem.available + link.static_gain) / scale
            row([(pressure, 1.0), *losses], -np.inf, most)
        else:
            feed = (binaries + link.parent, -1.0)
            row([(pressure, 1.0), feed, *losses], -np.inf, link.static_gain / scale)
        if link.required > -math.inf:
            row([(pressure, 1.0), (count - 1, 1.0)], link.required / scale, np.inf)
        if link.outlet_limit < math.inf:
            row([(pressure, 1.0)], -np.inf, link.outlet_limit / scale)
        if link.group >= 0:
            leader = leaders.setdefault(link.group, i)
            if leader != i:
                for own, other in zip(
                    columns, range(first[leader], first[leader + 1]), strict=True
                ):
                    row([(own, 1.0), (other, -1.0)], 0.0, 0.0)
        feed_link = link.parent
        while feed_link >= 0 and links[feed_link].options[0].rank is None:
            feed_link = links[feed_link].parent
        if feed_link >= 0 and not link.exempt and link.options[0].rank is not None:
            for rank in sorted({option.rank for option in link.options}):
                mine = [
                    (column, 1.0)
                    for column, option in zip(columns, link.options, strict=True)
                    if option.rank >= rank
                ]
                feeds = [
                    (first[feed_link] + o, -1.0)
                    for o, option in enumerate(links[feed_link].options)
                    if option.ceiling >= rank
                ]
                if len(feeds) < len(links[feed_link].options):
                    row([*mine, *feeds], -np.inf, 0.0)
    objective = np.zeros(count)
    lower, upper = np.full(count, -np.inf), np.full(count, np.inf)
    lower[:binaries], upper[:binaries] = 0.0, 1.0
    if short is None:
        objective[-1] = 1.0
    else:
        objective[:binaries] = [option.cost for link in links for option in link.options]
        lower[-1] = upper[-1] = short / scale
    integrality = np.zeros(count)
    integrality[:binaries] = 1
    i, j, value = (np.array(part) for part in zip(*rows, strict=True))
    result = milp(
        objective,
        integrality=integrality,
        bounds=Bounds(lower, upper),
        constraints=LinearConstraint(
            coo_array((value, (i, j)), (len(low), count)).tocsc(), low, high
        ),
        options={"mip_rel_gap": 1e-7},
    )
    assert result.success, result.message
    if short is None:
        return float(result.fun) * scale
    chosen = np.round(result.x[:binaries])
    return float(objective[:binaries] @ chosen)


def random_tree(
    rng: random.Random, runs: int, *, deep: bool = False, rule: bool = False
) -> tuple[LinkProblem, ...]:
    """A tree of PEX runs: flows add up below linear, Darcy losses, lengths of 3 to 60 ft.

    In a bushy tree any earlier run may feed the next, in a deep one only the last twenty. Speeds
    above 3 m/s are left out, as a velocity limit would.
    """
    parents = [-1] + [
        rng.randrange(max(0, i - 20), i) if deep else rng.randrange(i) for i in range(1, runs)
    ]
    leaf = [True] * runs
    load = [0.0] * runs
    for i in range(runs - 1, -1, -1):
        load[i] = load[i] or rng.uniform(1.0, 4.0)
        if parents[i] >= 0:
            leaf[parents[i]] = False
            load[parents[i]] += load[i]
    links = []
    for i, parent in enumerate(parents):
        flow = 1.5 * load[i] ** 0.68 * 6.30902e-5
        length = rng.uniform(3.0, 60.0)
        options = []
        for rank, (inches, price) in enumerate(zip(PEX_INSIDE_DIAMETERS, PRICES, strict=True)):
            diameter = inches * 0.0254
            speed = flow / (math.pi / 4.0 * diameter**2)
            if speed > 3.0 and inches < PEX_INSIDE_DIAMETERS[-1]:
                continue
            friction = friction_factor(Re=speed * diameter / 1.3e-6, eD=1.5e-6 / diameter)
            options.append(
                LinkOption(
                    cost=price * length,
                    loss=friction * length * 0.3048 / diameter * 500.0 * speed**2,
                    rank=float(rank) if rule else None,
                    ceiling=float(rank) if rule else math.inf,
                )
            )
        links.append(
            LinkProblem(
                parent=parent,
                options=tuple(options),
                static_gain=rng.uniform(-3e3, 3e3),
                required=55_158.0 if leaf[i] else -math.inf,  # 8 psi
            )
        )
    return tuple(links)


def with_head(links: tuple[LinkProblem, ...], share: float) -> SizingProblem:
    """Make so much available that a share of the way from best to cheapest sizes is needed."""
    bare = SizingProblem(links=links, available=0.0)
    best = [min(range(len(k.options)), key=lambda o, k=k: k.options[o].loss) for k in links]
    cheap = [min(range(len(k.options)), key=lambda o, k=k: k.options[o].cost) for k in links]
    least, most = needed(bare, best), needed(bare, cheap)
    return SizingProblem(links=links, available=least + share * (most - least))
