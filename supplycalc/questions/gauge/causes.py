"""What would explain readings that differ: one thing otherwise at a time, fitted to all of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import ClassVar, Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular
from scipy.optimize import brentq, least_squares

from supplycalc.delivery.peak import LASTING
from supplycalc.findings.words import listed
from supplycalc.hydraulics.pressure import pipe_loss
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Device, Manifold, Run
from supplycalc.network import Tree
from supplycalc.problems import ComputationError
from supplycalc.questions.gauge.states import AS_IN_FILE, Bench, Otherwise
from supplycalc.records import Form
from supplycalc.records.sentences import sentence
from supplycalc.units import UnitSystem
from supplycalc.units.dimensions import PSI
from supplycalc.units.quantities import Diameter, Flow, Length, Pressure, Share

FloatArray = NDArray[np.float64]

AS_GOOD = 2.0
"""Misfit over the best by no more explains as well: odds of one to e."""
NOT_AT_ALL = 0.5
"""Share of the misfit that an explanation must take away to be told."""
SEEN = 0.2
"""Of its standard deviation, by which two explanations must differ somewhere to be two."""
MOST_HEIGHT = 15 * PSI
"""[Pa] A height that is wrong by more than three storeys is no slip."""
STARTS = (-0.6, -0.35, -0.2, -0.1, -0.03, 0.0, 0.03, 0.1, 0.2, 0.35, 0.6)
"""Shares of its bounds from which a fit is begun."""

Rank = Literal["explains", "explains as well", "explains less", "not enough"]


class Explanation(Struct, frozen=True, kw_only=True):
    """One thing otherwise, by as much as fits the readings best."""

    form: ClassVar[Form] = Form(
        omit=("message", "values", "supposed", "apart"),
        add=("said", "pressure", "height", "share", "flow"),
    )

    code: str
    where: tuple[str, ...]
    """Parts that it may be, all the same to these readings."""
    message: str
    values: tuple[tuple[float, str], ...]
    remedy: str
    misfit: float
    """Sum of squares of what is left of the differences, over what is explained anyway."""
    fits: bool
    """Whether all readings lie within what gauge, bucket and file explain."""
    rank: Rank
    as_if_inside: Diameter | None
    """Inside diameter of the one run, if it were that."""
    supposed: Otherwise
    apart: tuple[tuple[str, Otherwise], ...]
    """The parts that it may be, each by itself."""

    def said(self, system: UnitSystem) -> str:
        """What would be otherwise, and by how much."""
        return sentence(self.message, self.values, system)

    @property
    def pressure(self) -> Pressure | None:
        """By which it is otherwise, lost or more; None: it is told otherwise."""
        return self._value("pressure")

    @property
    def height(self) -> Length | None:
        """By which it is otherwise."""
        return self._value("length")

    @property
    def share(self) -> Share | None:
        """Of what the file makes of it."""
        return self._value("share")

    @property
    def flow(self) -> Flow | None:
        """At which a loss is told."""
        return self._value("flow")

    def _value(self, dimension: str) -> float | None:
        return next((value for value, of in self.values if of == dimension), None)


class Cause(Struct, frozen=True, kw_only=True, eq=False):
    """A kind of explanation before it is fitted."""

    code: str
    where: tuple[str, ...]
    label: str = ""
    """What a list of suspects calls it; empty: its first part."""
    low: float
    high: float
    suppose: Callable[[float], Otherwise]
    tell: Callable[[float], tuple[str, tuple[tuple[float, str], ...]]]
    """Its sentence, with marks for the values."""
    remedy: Callable[[float], str]
    link: int | None = None
    """Of the one run that it is."""
    flow: float = 0.0
    """At which a loss is told [m3/s]."""
    parts: tuple[tuple[str, int], ...] = ()
    """Of a loss: its parts, each a name and a link."""


def explanations(
    bench: Bench, measured: FloatArray, covariance: FloatArray, fits: Callable[[Otherwise], bool]
) -> tuple[Explanation, ...]:
    """Every single explanation that takes away half of the misfit or more, the best first.

    Args:
        measured: what was read [SI].
        covariance: of what gauge, bucket and file explain anyway.
        fits: whether all readings lie within that under a supposition.

    Source: generalised least squares, one parameter at a time.
    """
    lower: FloatArray = cholesky(covariance, lower=True)

    def left(supposed: Otherwise) -> FloatArray:
        try:
            difference = measured - np.array(bench.computed(supposed))
        except ComputationError:
            return np.full(len(measured), 1e3)
        whitened: FloatArray = solve_triangular(lower, difference, lower=True)
        return whitened

    nothing = float(np.sum(left(AS_IN_FILE) ** 2))
    tried: list[tuple[float, int, Cause, float]] = []
    for number, cause in enumerate(causes(bench)):
        value = _fitted(cause, left)
        misfit = float(np.sum(left(cause.suppose(value)) ** 2))
        if nothing - misfit >= NOT_AT_ALL * nothing:
            tried.append((misfit, number, cause, value))
    if not tried:
        return ()
    best = min(misfit for misfit, *_ in tried)
    # of those that explain as well the commonest first, in the order of `causes`
    good = [each for each in tried if each[0] <= best + AS_GOOD]
    less = sorted(each for each in tried if each[0] > best + AS_GOOD)
    tried = [*good, *less]
    return tuple(
        _explanation(bench, cause, value, misfit, best, fits, first=number == 0)
        for number, (misfit, _, cause, value) in enumerate(tried)
    )


def _fitted(cause: Cause, left: Callable[[Otherwise], FloatArray]) -> float:
    """The value that leaves least [SI of the cause]."""
    span = max(abs(cause.low), abs(cause.high))

    def of(x: FloatArray) -> FloatArray:
        return left(cause.suppose(float(x[0]) * span))

    starts = [x for x in STARTS if cause.low <= x * span <= cause.high]
    start = min(starts, key=lambda x: float(np.sum(of(np.array([x])) ** 2)))
    bounds = (cause.low / span, cause.high / span)
    start = min(max(start, bounds[0] + 1e-6), bounds[1] - 1e-6)
    found = least_squares(of, [start], bounds=bounds, diff_step=1e-4, x_scale=0.1, xtol=1e-6)
    return float(found.x[0]) * span


def _explanation(
    bench: Bench,
    cause: Cause,
    value: float,
    misfit: float,
    best: float,
    fits: Callable[[Otherwise], bool],
    *,
    first: bool,
) -> Explanation:
    message, values = cause.tell(value)
    supposed = cause.suppose(value)
    within = fits(supposed)
    rank: Rank = "explains" if first else "explains as well"
    if misfit > best + AS_GOOD:
        rank = "explains less"
    if not within:
        rank = "not enough"
    inside = None
    if cause.link is not None and value > 0.0:
        inside = _as_if_inside(bench, cause.link, cause.flow, value)
    return Explanation(
        code=cause.code,
        where=cause.where,
        message=message,
        values=values,
        remedy=cause.remedy(value),
        misfit=misfit,
        fits=within,
        rank=rank,
        as_if_inside=inside,
        supposed=supposed,
        apart=tuple(
            (name, Otherwise(lost={link: (value, cause.flow)})) for name, link in cause.parts
        )
        if value > 0.0 and len(cause.parts) > 1
        else ((cause.label or cause.where[0], supposed),),
    )


def causes(bench: Bench) -> Iterator[Cause]:
    """What may be otherwise, the commonest first (common practice, no source)."""
    gauged = all(state.reading.source_pressure is not None for state in bench.states)
    if not gauged:
        yield _of_source(bench, gauged=False)
    yield from _of_valves(bench)
    groups = list(_in_line(bench))
    devices = [group for group in groups if group.device]
    for group in (*devices, *(group for group in groups if not group.device)):
        yield _lost_in(bench, group)
    yield from _of_outlets(bench)
    yield from _of_pump(bench)
    if gauged:
        yield _of_source(bench, gauged=True)
    yield from _of_heights(bench)
    yield from _of_all_pipe(bench)


def _of_source(bench: Bench, *, gauged: bool) -> Cause:
    """The pressure that the house is given, or the gauge that it was read by."""
    kind = bench.design.house.source.kind
    words = {
        "well": "the pressure at the tank",
        "main": "the main's pressure",
    }.get(kind, "the pressure of the water's level")
    if gauged:
        words = f"{words}, or its gauge,"

    def of_source(value: float) -> str:
        if kind == "main":
            return (
                "ask the water works for the day's pressure, or read at the meter with a second "
                "gauge; pressure in a main changes by the hour"
            )
        if kind != "well":
            return "measure the height of the water above the tap, and read with a second gauge"
        return (
            "compare the tank's gauge with a second one; then read at which pressure the pump "
            "starts and stops, and the tank's air charge with the tank drained. Switch off and "
            "lock out the pump circuit before the switch is opened"
        )

    return Cause(
        code="source-pressure",
        where=("source",),
        label="the pressure at the source",
        low=-60 * PSI,
        high=60 * PSI,
        suppose=lambda value: Otherwise(source=value),
        tell=lambda value: (
            f"{words} stands {{0}} {_higher(value)} than {'told' if gauged else 'the file says'}",
            ((abs(value), "pressure"),),
        ),
        remedy=of_source,
    )


def _of_valves(bench: Bench) -> Iterator[Cause]:
    """What a reducing valve holds, and how far a main falls."""
    source = bench.design.house.source
    for i, link in enumerate(bench.design.tree.links):
        if isinstance(link, Device) and link.setting is not None and _matters(bench, i):
            yield _of_setting(link, i)
    flowing = any(state.uses and state.middle.name == "main" for state in bench.states)
    if source.kind == "main" and source.static is not None and flowing:
        yield Cause(
            code="main-falls",
            where=("main",),
            low=0.0,
            high=20.0,
            suppose=lambda value: Otherwise(main=value),
            tell=lambda value: (
                "the main falls {0} as far under flow as the file says",
                ((value, "share"),),
            ),
            remedy=lambda _: (
                "read at the first tap behind the meter while a hose runs, at another hour too; a "
                "street valve or curb stop half shut is the water works' to open"
            ),
        )


def _of_setting(valve: Device, link: int) -> Cause:
    setting = valve.setting or 0.0
    return Cause(
        code="valve-setting",
        where=(valve.name,),
        low=-setting,
        high=100 * PSI,
        suppose=lambda value: Otherwise(settings={link: value}),
        tell=lambda value: (
            f"{valve.name} holds {{0}} instead of its {{1}}",
            ((setting + value, "setting"), (setting, "setting")),
        ),
        remedy=lambda _: (
            "read behind it with nothing running; clean its strainer and set it anew, or replace "
            "it where the pressure creeps up"
        ),
    )


def _higher(value: float) -> str:
    return "higher" if value > 0.0 else "lower"


class InLine(Struct, frozen=True, kw_only=True):
    """Links that the same water passes in every reading, with no gauge between them."""

    links: tuple[int, ...]
    device: bool
    """Whether one of them is a device that loses pressure."""
    flow: float
    """The most that ran through in any reading [m3/s]."""


def _in_line(bench: Bench) -> Iterator[InLine]:
    """All links that something ran through, those in series together, from the source down."""
    tree = bench.design.tree
    flows = [bench.flows(state) for state in bench.states]
    groups: dict[tuple[object, ...], list[int]] = {}
    for i in range(1, len(tree)):
        most = max((flow[i] for flow in flows), default=0.0)
        if most <= 0.0:
            continue
        below = tree.at_or_below(i)
        seen = tuple(n for n, each in enumerate(bench.observed) if each.link in below)
        through = tuple(
            tuple(o.link for use in state.uses for o in use.outlets(tree) if o.link in below)
            for state in bench.states
        )
        groups.setdefault((seen, through), []).append(i)
    for links in groups.values():
        yield InLine(
            links=tuple(links),
            device=any(isinstance(tree.links[i], Device) for i in links),
            flow=max(max(flow[i] for i in links) for flow in flows),
        )


def _lost_in(bench: Bench, group: InLine) -> Cause:
    """More, or less, is lost in one of these links."""
    tree = bench.design.tree
    named = [i for i in group.links if not isinstance(tree.links[i], Manifold)] or list(group.links)
    named.sort(key=lambda i: not isinstance(tree.links[i], Device))
    names = tuple(_part(tree, i) for i in named)
    lost = bench.lost_in(group.links, group.flow)
    runs = [i for i in named if isinstance(tree.links[i], Run)]

    def suppose(value: float) -> Otherwise:
        if value >= 0.0:
            return Otherwise(lost={named[0]: (value, group.flow)})
        return Otherwise(scaled=(frozenset(group.links), max(1.0 + value / lost, 0.0)))

    def tell(value: float) -> tuple[str, tuple[tuple[float, str], ...]]:
        # at the flow that ran, not at the one that would have
        supposed = suppose(value)
        ran = max(bench.flows(state, supposed)[named[0]] for state in bench.states)
        should = bench.lost_in(group.links, ran)
        more = value * (ran / group.flow) ** 2 if value > 0.0 else value / lost * should
        which = names[0] if len(names) == 1 else f"one of {listed(names, word='or')}"
        if len(names) > 6:
            which = f"something from {_part(tree, min(named))} to {_part(tree, max(named))}"
        return (
            f"{which} loses {{0}} {'more' if value > 0.0 else 'less'} than computed at {{1}} "
            f"({{2}} instead of {{3}})",
            (
                (abs(more), "pressure"),
                (ran, "flow"),
                (should + more, "pressure"),
                (should, "pressure"),
            ),
        )

    def remedy(value: float) -> str:
        return _lost_remedy(bench, named, more=value > 0.0)

    return Cause(
        code="loss",
        where=names,
        low=-lost if lost > 0.0 else 0.0,
        high=120 * PSI,
        suppose=suppose,
        tell=tell,
        remedy=remedy,
        link=runs[0] if len(named) == 1 and runs else None,
        flow=group.flow,
        parts=tuple(zip(names, named, strict=True)),
    )


def _part(tree: Tree, link: int) -> str:
    """What a link is called; a fixture's own branch as the pipe to it."""
    part = tree.links[link]
    if isinstance(part, Run) and part.fixture is not None:
        both = len(tree.fixtures[part.fixture].branches) > 1
        return f"pipe to {part.fixture}" + (f" ({tree.side[link]})" if both else "")
    return tree.names[link]


CARTRIDGES = ("cartridge-filter",)
TREATED = ("softener", "iron-filter", "neutralizer")


def _lost_remedy(bench: Bench, links: list[int], *, more: bool) -> str:
    """What to look at first."""
    tree = bench.design.tree
    if not more:
        return (
            "compare sizes and lengths with what was laid; a bypass that stands open, or a device "
            "without its insert, loses less too"
        )
    parts = [tree.links[i] for i in links]
    kinds = [part.kind for part in parts if isinstance(part, Device)]
    advice = []
    if any(kind in CARTRIDGES for kind in kinds):
        advice.append("shut its valves, let the pressure off and change the cartridge")
    if any(kind in TREATED for kind in kinds):
        advice.append("read once more with the treatment on bypass (the water is then untreated)")
    if any("heats" in kind or "heater" in kind for kind in kinds):
        advice.append("look for scale at the heater's inlet and heat traps, cooled down first")
    rest = [kind for kind in kinds if kind not in (*CARTRIDGES, *TREATED) and "heater" not in kind]
    if rest:
        advice.append("look at screens and stops of the " + listed(dict.fromkeys(rest)))
    if any(isinstance(part, Run) for part in parts):
        advice.append(
            "open every valve on the way fully; look for a kink, a smaller size than the file's, "
            "scale"
        )
    return "; ".join(advice) or "look for a valve that is not fully open"


def _of_outlets(bench: Bench) -> Iterator[Cause]:
    """An outlet that lets more or less through than its kind."""
    names = dict.fromkeys(use.fixture.name for state in bench.states for use in state.uses)
    for name in names:
        yield _of_outlet(name)


def _of_outlet(name: str) -> Cause:
    return Cause(
        code="outlet",
        where=(name,),
        label=f"{name} itself",
        low=-3.0,
        high=2.0,
        suppose=lambda value: Otherwise(outlets={name: 2.0**value}),
        tell=lambda value: (
            f"{name} itself lets {{0}} of the computed flow through at one pressure",
            ((2.0**value, "share"),),
        ),
        remedy=lambda value: (
            "clean aerator, screens and cartridge, open its stops fully, then fill a bucket"
            if value < 0.0
            else "fill a bucket at it: an outlet without its regulator takes more from the others"
        ),
    )


def _of_pump(bench: Bench) -> Iterator[Cause]:
    """A weaker pump, deeper water, a narrower way to the tank; where readings show the pump."""
    house = bench.design.house
    alone = [state for state in bench.states if state.reading.when == "pump alone"]
    shown = alone or [s for s in bench.states if s.uses and s.middle.name in LASTING]
    if not shown or not bench.pump_known:
        return
    flow = max(math.fsum(bench.solve(state, AS_IN_FILE)[1]) for state in shown)
    if house.source.pump is not None and not house.further_wells:
        yield Cause(
            code="pump",
            where=("pump",),
            low=-0.9,
            high=0.5,
            suppose=lambda value: Otherwise(pump=1.0 + value),
            tell=lambda value: (
                "the pump gives {0} of the head of its curve",
                ((1.0 + value, "share"),),
            ),
            remedy=lambda _: (
                "repeat the bucket test at the tank; check voltage, a worn impeller, a hole or "
                "check valve in the drop pipe, with the circuit locked out: a pump man's work"
            ),
        )
    weight = specific_weight(house.water.cold)
    yield Cause(
        code="water-level",
        where=("well",),
        low=-60 * PSI,
        high=120 * PSI,
        suppose=lambda value: Otherwise(lift=value),
        tell=lambda value: (
            f"the water in the well stands {{0}} {'deeper' if value > 0.0 else 'higher'} than the "
            "file says while the pump runs",
            ((abs(value) / weight, "length"),),
        ),
        remedy=lambda _: (
            "measure the water level at rest and while it runs; a pump that draws the well down "
            "to its inlet needs dry-run protection"
        ),
    )
    if flow > 0.0:
        yield Cause(
            code="line-to-tank",
            where=("line to the tank",),
            low=0.0,
            high=120 * PSI,
            suppose=lambda value: Otherwise(line=(value, flow)),
            tell=lambda value: (
                "the way from the pump to the tank loses {0} more than computed at {1}",
                ((value, "pressure"), (flow, "flow")),
            ),
            remedy=lambda _: (
                "look for a check valve that hangs, a clogged screen or a filter before the tank, "
                "a kink in the trench; switch off and lock out the pump first"
            ),
        )


def _of_heights(bench: Bench) -> Iterator[Cause]:
    """Heights: of the source's gauge, and of each place at which was read."""
    house, tree = bench.design.house, bench.design.tree
    weight = specific_weight(house.water.cold)
    if any(each.link for each in bench.observed):
        yield Cause(
            code="gauge-height",
            where=("source",),
            label="the height of its gauge",
            low=-MOST_HEIGHT,
            high=MOST_HEIGHT,
            suppose=lambda value: Otherwise(behind=value),
            tell=lambda value: (
                f"the source's gauge stands {{0}} {_higher(value)} than the file says",
                ((abs(value) / weight, "length"),),
            ),
            remedy=lambda _: "measure its height against the outlet once more, by level or hose",
        )
    places = dict.fromkeys((state.link, state.reading.at) for state in bench.states if state.link)
    for link, name in places:
        if sum(1 for each in bench.observed if tree.at_or_below(link) and each.link == link) > 0:
            yield _of_place(link, name, weight)


def _of_place(link: int, name: str, weight: float) -> Cause:
    return Cause(
        code="height",
        where=(name,),
        label="the height at which was read",
        low=-MOST_HEIGHT,
        high=MOST_HEIGHT,
        suppose=lambda value: Otherwise(places={link: value}),
        tell=lambda value: (
            f"the gauge at {name} was held {{0}} {'lower' if value > 0.0 else 'higher'} than the "
            "file has that place",
            ((abs(value) / weight, "length"),),
        ),
        remedy=lambda _: "measure the height of the gauge, not of the pipe; then read once more",
    )


def _of_all_pipe(bench: Bench) -> Iterator[Cause]:
    """All pipe of one material is narrower or rougher, as old steel is."""
    groups = [group.links for group in _in_line(bench)]
    runs = dict(bench.design.tree.runs())
    for material in dict.fromkeys(run.material for run in runs.values()):
        links = frozenset(i for i, run in runs.items() if run.material == material)
        # in one series it is what a single loss is
        if sum(not links.isdisjoint(group) for group in groups) > 1:
            yield _of_material(material, links)


def _of_material(material: str, links: frozenset[int]) -> Cause:
    return Cause(
        code="all-pipe",
        where=(material,),
        label=f"all {material}",
        low=-2.0,
        high=3.0,
        suppose=lambda value: Otherwise(scaled=(links, 2.0**value)),
        tell=lambda value: (
            f"all {material} loses {{0}} of what is computed",
            ((2.0**value, "share"),),
        ),
        remedy=lambda value: (
            "cut out a piece and look: scale in old steel, deposits, or a tube of another standard "
            "with a narrower inside"
            if value > 0.0
            else "compare sizes and lengths with what was laid"
        ),
    )


def _matters(bench: Bench, link: int) -> bool:
    """Whether a reading was taken at or behind a link."""
    below = bench.design.tree.at_or_below(link)
    return any(each.link in below for each in bench.observed)


def _as_if_inside(bench: Bench, link: int, flow: float, more: float) -> float | None:
    """Inside diameter at which a run would lose so much more [m]; None: no such diameter."""
    laws = bench.household.laws
    now = laws.inside_diameter[link]
    area_law = laws.k[link]

    def lost(inside: float) -> float:
        friction, fittings = pipe_loss(
            flow,
            laws.length[link],
            inside,
            laws.roughness[link],
            area_law,
            laws.density[link],
            laws.viscosity[link],
        )
        return float(friction + fittings)

    wanted = lost(now) + more
    narrow = 0.1 * now
    if lost(narrow) < wanted:
        return None
    return float(brentq(lambda inside: lost(inside) - wanted, narrow, now, xtol=1e-6))
