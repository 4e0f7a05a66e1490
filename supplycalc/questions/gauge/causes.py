"""What would explain readings that differ: one thing otherwise at a time, fitted to all of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any, ClassVar, Literal

import numpy as np
from msgspec import Struct
from scipy.linalg import cholesky, solve_triangular
from scipy.optimize import brentq, least_squares

from supplycalc.delivery.peak import LASTING
from supplycalc.findings.words import listed
from supplycalc.hydraulics.pressure import pipe_loss
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Device, Manifold, Run
from supplycalc.network import Tree
from supplycalc.problems import ComputationError
from supplycalc.questions.gauge.doubts import FloatArray
from supplycalc.questions.gauge.states import AS_IN_FILE, Bench, Otherwise
from supplycalc.records import Form
from supplycalc.records.sentences import sentence
from supplycalc.tables import load_table
from supplycalc.units import UnitSystem
from supplycalc.units.dimensions import PSI
from supplycalc.units.quantities import Diameter, Flow, Length, Pressure, Share

AS_GOOD = 2.0
"""Misfit over the best by no more explains as well: odds of one to e."""
NOT_AT_ALL = 0.5
"""Share of the misfit that an explanation must take away to be told."""
MOST_PRESSURE = 120 * PSI
MOST_HEIGHT = 15 * PSI
"""[Pa] A height that is wrong by more than three storeys is no slip."""
MOST_NAMED = 6
"""Parts in line that are named; of more the first and the last."""
STARTS = (0.0, -0.6, -0.3, -0.1, -0.02, 0.02, 0.05, 0.15, 0.4)
"""Shares of its bounds from the best of which a fit is begun."""

Rank = Literal["explains", "explains as well", "explains less", "not enough"]
Values = tuple[tuple[float, str], ...]
"""(SI value, dimension) of each mark of a sentence."""


class Explanation(Struct, frozen=True, kw_only=True):
    """One thing otherwise, by as much as fits the readings best."""

    form: ClassVar[Form] = Form(
        omit=("message", "values", "apart"), add=("said", "pressure", "height", "share", "flow")
    )

    code: str
    where: tuple[str, ...]
    """Parts that it may be, all the same to these readings."""
    message: str
    values: Values
    remedy: str
    misfit: float
    """Sum of squares of what is left of the differences, over what is explained anyway."""
    fits: bool
    """Whether all readings lie within what gauge, bucket and file explain."""
    rank: Rank
    as_if_inside: Diameter | None
    """Inside diameter of the one run, if it were that."""
    apart: tuple[tuple[str, Otherwise], ...]
    """What it may be, each by itself, as a list of suspects calls it."""

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
    """A kind of explanation before it is fitted; its words stand in gauge.toml."""

    code: str
    name: str = ""
    """Of the part, in its words."""
    low: float
    high: float
    suppose: Callable[[float], Otherwise]
    values: Callable[[float], Values]
    remedy: str = ""
    """Instead of that of its code."""
    flow: float = 0.0
    """At which a loss is supposed [m3/s]."""
    parts: tuple[tuple[str, int], ...] = ()
    """Of a loss: its parts, each a name and a link."""

    def word(self, key: str, value: float) -> str:
        """Its message or remedy, that for less where there is one; empty: none."""
        row: dict[str, Any] = load_table("gauge")["cause"][self.code]
        less = row.get({"message": "less"}.get(key, f"{key}_less")) if value < 0.0 else None
        return str(less or row.get(key, "")).replace("[name]", self.name)


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
    for number, cause in enumerate(_causes(bench)):
        value = _fitted(cause, left)
        misfit = float(np.sum(left(cause.suppose(value)) ** 2))
        if nothing - misfit >= NOT_AT_ALL * nothing:
            tried.append((misfit, number, cause, value))
    best = min((misfit for misfit, *_ in tried), default=0.0)
    # of those that explain as well the commonest first, in the order of `_causes`
    good = [each for each in tried if each[0] <= best + AS_GOOD]
    less = sorted(each for each in tried if each[0] > best + AS_GOOD)
    told: list[Explanation] = []
    for misfit, _, cause, value in (*good, *less):
        within = fits(cause.suppose(value))
        rank: Rank = "explains" if not told else "explains as well"
        if not within or misfit > best + AS_GOOD:
            rank = "explains less" if within else "not enough"
        told.append(_explanation(bench, cause, value, misfit, rank, within=within))
    return tuple(told)


def _fitted(cause: Cause, left: Callable[[Otherwise], FloatArray]) -> float:
    """The value that leaves least [SI of the cause]; 0 where none that is tried first helps."""
    span = max(abs(cause.low), abs(cause.high))

    def of(x: FloatArray) -> FloatArray:
        return left(cause.suppose(float(x[0]) * span))

    low, high = cause.low / span, cause.high / span
    starts = [x for x in STARTS if x == 0.0 or low < x < high]
    start = min(starts, key=lambda x: float(np.sum(of(np.array([x])) ** 2)))
    if start == 0.0:
        return 0.0
    fit = least_squares(
        of, [start], bounds=(low, high), diff_step=1e-4, x_scale=0.1, xtol=1e-4, ftol=1e-4
    )
    return float(fit.x[0]) * span


def _explanation(
    bench: Bench, cause: Cause, value: float, misfit: float, rank: Rank, *, within: bool
) -> Explanation:
    less = value < 0.0 and cause.code == "loss"
    runs = [i for _, i in cause.parts if isinstance(bench.design.tree.links[i], Run)]
    apart: tuple[tuple[str, Otherwise], ...]
    apart = ((cause.word("label", value) or cause.name, cause.suppose(value)),)
    if cause.parts and value > 0.0:
        apart = tuple((name, Otherwise(lost={i: (value, cause.flow)})) for name, i in cause.parts)
    return Explanation(
        code=cause.code,
        where=tuple(name for name, _ in cause.parts) or (cause.name or cause.word("label", value),),
        message=cause.word("message", value),
        values=cause.values(value),
        remedy=cause.word("remedy", value) if less or not cause.remedy else cause.remedy,
        misfit=misfit,
        fits=within,
        rank=rank,
        as_if_inside=_as_if_inside(bench, runs[0], cause.flow, value)
        if len(cause.parts) == 1 and runs and value > 0.0
        else None,
        apart=apart,
    )


def _causes(bench: Bench) -> Iterator[Cause]:
    """What may be otherwise, the commonest first (common practice, no source)."""
    given = [state.reading for state in bench.states if state.reading.when != "pump alone"]
    gauged = all(reading.source_pressure is not None for reading in given)
    if not gauged:
        yield _of_source(bench, "source-pressure")
    yield from _of_valves(bench)
    in_line = list(_in_line(bench))
    for links in sorted(in_line, key=lambda links: not _holds_device(bench.design.tree, links)):
        yield _lost_in(bench, links)
    for name in dict.fromkeys(use.fixture.name for state in bench.states for use in state.uses):
        yield _of_outlet(name)
    yield from _of_pump(bench)
    if gauged:
        yield _of_source(bench, "source-gauge")
    yield from _of_heights(bench)
    runs = dict(bench.design.tree.runs())
    for material in dict.fromkeys(run.material for run in runs.values()):
        of_it = frozenset(i for i, run in runs.items() if run.material == material)
        # in one line it is what a single loss is
        if sum(not of_it.isdisjoint(links) for links in in_line) > 1:
            yield _of_material(material, of_it)


def _of_source(bench: Bench, code: str) -> Cause:
    """The pressure that the house is given, or the gauge that it was read by."""
    kind = bench.design.house.source.kind
    remedy = load_table("gauge")["cause"][code].get(kind, "")
    return Cause(
        code=code,
        low=-MOST_PRESSURE / 2.0,
        high=MOST_PRESSURE / 2.0,
        suppose=lambda value: Otherwise(source=value),
        values=lambda value: ((abs(value), "pressure"),),
        remedy=remedy,
    )


def _of_valves(bench: Bench) -> Iterator[Cause]:
    """What a reducing valve holds, and how far a main falls."""
    source, tree = bench.design.house.source, bench.design.tree
    for i, link in enumerate(tree.links):
        behind = any(each.link in tree.at_or_below(i) for each in bench.observed)
        if isinstance(link, Device) and link.setting is not None and behind:
            yield _of_setting(link.name, i, link.setting)
    flowing = any(state.uses and state.middle.name == "main" for state in bench.states)
    if source.kind == "main" and source.static is not None and flowing:
        yield Cause(
            code="main-falls",
            low=-3.0,
            high=4.0,
            suppose=lambda value: Otherwise(main=2.0**value),
            values=lambda value: ((2.0**value, "share"),),
        )


def _of_setting(name: str, link: int, setting: float) -> Cause:
    return Cause(
        code="valve-setting",
        name=name,
        low=-setting,
        high=MOST_PRESSURE,
        suppose=lambda value: Otherwise(settings={link: value}),
        values=lambda value: ((setting + value, "setting"), (setting, "setting")),
    )


def _in_line(bench: Bench) -> Iterator[tuple[int, ...]]:
    """Links that something ran through, those together that no gauge and no branch parts."""
    tree = bench.design.tree
    flows = [state.flow for state in bench.states]
    groups: dict[object, list[int]] = {}
    for i in range(1, len(tree)):
        if max(flow[i] for flow in flows) > 0.0:
            below = tree.at_or_below(i)
            read = tuple(n for n, each in enumerate(bench.observed) if each.link in below)
            drawn = tuple(
                tuple(o.link for use in state.uses for o in use.outlets(tree) if o.link in below)
                for state in bench.states
            )
            groups.setdefault((read, drawn), []).append(i)
    return map(tuple, groups.values())


def _holds_device(tree: Tree, links: Sequence[int]) -> bool:
    return any(isinstance(tree.links[i], Device) for i in links)


def _lost_in(bench: Bench, links: tuple[int, ...]) -> Cause:
    """More, or less, is lost in one of some links in line."""
    tree = bench.design.tree
    named = [i for i in links if not isinstance(tree.links[i], Manifold)] or list(links)
    named.sort(key=lambda i: not isinstance(tree.links[i], Device))
    names = [_part(tree, i) for i in named]
    flow = max(state.flow[links[0]] for state in bench.states)
    lost = bench.lost_in(links, flow)
    which = names[0] if len(names) == 1 else f"one of {listed(names, word='or')}"
    if len(names) > MOST_NAMED:
        which = f"something from {_part(tree, min(named))} to {_part(tree, max(named))}"

    def suppose(value: float) -> Otherwise:
        if value >= 0.0:
            return Otherwise(lost={named[0]: (value, flow)})
        return Otherwise(scaled=(frozenset(links), max(1.0 + value / lost, 0.0)))

    def values(value: float) -> Values:
        # at the flow that ran, not at the one that would have
        ran = bench.ran(links[0], suppose(value))
        should = bench.lost_in(links, ran)
        more = value * (ran / flow) ** 2 if value > 0.0 else value / lost * should
        losses = (should + more, should)
        return (abs(more), "pressure"), (ran, "flow"), *((loss, "pressure") for loss in losses)

    advice: dict[str, str] = load_table("gauge")["cause"]["loss"]["advice"]
    parts = [tree.links[i] for i in named]
    kinds = (part.kind if isinstance(part, Device) else "run" for part in parts)
    todo = dict.fromkeys(advice.get(kind, advice["device"]) for kind in kinds)
    return Cause(
        code="loss",
        name=which,
        low=-lost,
        high=MOST_PRESSURE,
        suppose=suppose,
        values=values,
        remedy="; ".join(todo),
        flow=flow,
        parts=tuple(zip(names, named, strict=True)),
    )


def _part(tree: Tree, link: int) -> str:
    """What a link is called; a fixture's own branch as the pipe to it."""
    part = tree.links[link]
    if isinstance(part, Run) and part.fixture is not None:
        both = len(tree.fixtures[part.fixture].branches) > 1
        return f"pipe to {part.fixture}" + (f" ({tree.side[link]})" if both else "")
    return tree.names[link]


def _of_outlet(name: str) -> Cause:
    """An outlet that lets more or less through than its kind."""
    return Cause(
        code="outlet",
        name=name,
        low=-3.0,
        high=2.0,
        suppose=lambda value: Otherwise(outlets={name: 2.0**value}),
        values=lambda value: ((2.0**value, "share"),),
    )


def _of_pump(bench: Bench) -> Iterator[Cause]:
    """A weaker pump, deeper water, a narrower way to the tank; where readings show the pump."""
    house = bench.design.house
    shown = [state for state in bench.states if state.uses and state.middle.name in LASTING]
    shown += [state for state in bench.states if state.reading.when == "pump alone"]
    if not shown or not bench.pump_known:
        return
    if not house.further_wells:
        yield Cause(
            code="pump",
            low=-0.9,
            high=0.5,
            suppose=lambda value: Otherwise(pump=1.0 + value),
            values=lambda value: ((1.0 + value, "share"),),
        )
    weight = specific_weight(house.water.cold)
    yield Cause(
        code="water-level",
        low=-MOST_PRESSURE / 2.0,
        high=MOST_PRESSURE,
        suppose=lambda value: Otherwise(lift=value),
        values=lambda value: ((abs(value) / weight, "length"),),
    )
    flow = max(math.fsum(bench.solve(state, AS_IN_FILE)[1]) for state in shown)
    if flow > 0.0:
        yield Cause(
            code="line-to-tank",
            low=0.0,
            high=MOST_PRESSURE,
            suppose=lambda value: Otherwise(line=(value, flow)),
            values=lambda value: ((value, "pressure"), (flow, "flow")),
        )


def _of_heights(bench: Bench) -> Iterator[Cause]:
    """Heights: of the source's gauge, and of each place at which was read."""
    weight = specific_weight(bench.design.house.water.cold)

    def cause(code: str, name: str, suppose: Callable[[float], Otherwise]) -> Cause:
        return Cause(
            code=code,
            name=name,
            low=-MOST_HEIGHT,
            high=MOST_HEIGHT,
            suppose=suppose,
            values=lambda value: ((abs(value) / weight, "length"),),
        )

    def at(link: int) -> Callable[[float], Otherwise]:
        return lambda value: Otherwise(places={link: value})

    places = {state.link: state.reading.at for state in bench.states if state.link}
    if places:
        yield cause("gauge-height", "", lambda value: Otherwise(behind=value))
    for link, name in places.items():
        yield cause("height", name, at(link))


def _of_material(material: str, links: frozenset[int]) -> Cause:
    """All pipe of one material is narrower or rougher, as old steel is."""
    return Cause(
        code="all-pipe",
        name=material,
        low=-2.0,
        high=3.0,
        suppose=lambda value: Otherwise(scaled=(links, 2.0**value)),
        values=lambda value: ((2.0**value, "share"),),
    )


def _as_if_inside(bench: Bench, link: int, flow: float, more: float) -> float | None:
    """Inside diameter at which a run would lose so much more [m]; None: no such diameter."""
    laws = bench.household.laws
    now = laws.inside_diameter[link]
    rest = (laws.roughness[link], laws.k[link], laws.density[link], laws.viscosity[link])

    def over(inside: float) -> float:
        return float(sum(pipe_loss(flow, laws.length[link], inside, *rest))) - wanted

    wanted = 0.0
    wanted = over(now) + more
    narrow = 0.1 * now
    return None if over(narrow) < 0.0 else float(brentq(over, narrow, now, xtol=1e-6))
