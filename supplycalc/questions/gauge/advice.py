"""Which readings to take: where nothing was read yet, and where several explanations remain."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import ClassVar

from msgspec import Struct

from supplycalc.delivery.fixture_use import full_use, rating
from supplycalc.findings.outdoor_taps import OUTDOOR_KINDS
from supplycalc.model import SOURCE, Fixture, GaugeReading, When
from supplycalc.problems import ComputationError, InputError
from supplycalc.questions.gauge.doubts import usual
from supplycalc.questions.gauge.states import Bench, Otherwise
from supplycalc.records import Form
from supplycalc.sizing.design import Design
from supplycalc.units.quantities import Flow, Pressure, Setting

MOST_SUSPECTS = 8
"""Explanations that a further reading is to tell apart."""
APART = 2.0
"""Of a gauge's ±, from which two expected pressures are told apart."""


class ReadingToTake(Struct, frozen=True, kw_only=True):
    """A reading to take, and what it should be if the house is as in its file."""

    form: ClassVar[Form] = Form(omit=("reading",), add=("at", "open"))

    reading: GaugeReading
    why: str
    pressure: tuple[Pressure, Pressure] | None
    """Least and most, over the states of the source."""
    flow: tuple[Flow, Flow] | None

    @property
    def at(self) -> str:
        """Where."""
        return self.reading.at

    @property
    def open(self) -> tuple[str, ...]:
        """What runs meanwhile."""
        return self.reading.open


class Expected(Struct, frozen=True, kw_only=True):
    """What a further reading would be under one explanation."""

    name: str
    pressure: Pressure


class NextReading(Struct, frozen=True, kw_only=True):
    """The reading that tells most of the remaining explanations apart."""

    at: str
    open: tuple[str, ...]
    source_pressure: Setting | None
    """At which the expected pressures hold; None: a main as the file has it, or the pump alone."""
    when: When | None
    fixture: bool
    """Whether a fixture stands there, or the source's gauge, not a joint alone."""
    expected: tuple[Expected, ...]
    """The highest first."""


def readings_to_take(design: Design) -> tuple[ReadingToTake, ...]:
    """At most four, the simplest first; none where nothing can be computed."""
    proposed = []
    for reading, why in _suggested(design):
        try:
            bench = Bench(design, (reading,))
            ends = dict(zip((each.what for each in bench.observed), bench.ends(), strict=True))
        except (ComputationError, InputError):
            continue
        proposed.append(
            ReadingToTake(
                reading=reading, why=why, pressure=ends.get("pressure"), flow=ends.get("flow")
            )
        )
    return tuple(proposed)


def _suggested(design: Design) -> Iterator[tuple[GaugeReading, str]]:
    """(with any pressure or flow in it for what is to be read, what it shows)"""
    there = [outlet for outlet in design.outlets if not outlet.planned]
    if not there:
        return
    worst = there[0]
    place, fixture = worst.name, worst.fixture
    yield GaugeReading(at=SOURCE, pressure=0.0), "what the house is given"
    at_rest = f"{fixture.name} (cold)" if fixture.cold and fixture.hot else fixture.name
    yield (
        GaugeReading(at=at_rest, pressure=0.0),
        "heights, and a valve that holds the pressure down",
    )
    taker = _taker(design, fixture, place)
    if taker is not None:
        yield (
            GaugeReading(at=place, open=(fixture.name, taker.name), pressure=0.0),
            "what pipe and devices lose on the longest way",
        )
    tap = _tap(design)
    if tap is not None:
        yield (
            GaugeReading(at=tap.name, open=(tap.name,), flow=1.0),
            "what comes out of one full tap",
        )


def _taker(design: Design, fixture: Fixture, place: str) -> Fixture | None:
    """The other outlet that takes most pressure from a fixture's connection, both open."""
    others = [it for it in design.house.fixtures if it is not fixture and not it.planned]
    least: tuple[float, Fixture] | None = None
    for other in others:
        reading = GaugeReading(at=place, open=(fixture.name, other.name), pressure=0.0)
        try:
            [value] = Bench(design, (reading,)).computed()
        except (ComputationError, InputError):
            continue
        if least is None or value < least[0]:
            least = value, other
    return None if least is None else least[1]


def _tap(design: Design) -> Fixture | None:
    """An outdoor tap, else the largest outlet that a bucket fits under."""
    fixtures = [it for it in design.house.fixtures if not it.planned]
    outdoor = [it for it in fixtures if it.kind in OUTDOOR_KINDS and it.cold is not None]
    if outdoor:
        return outdoor[0]
    rated = []
    for fixture in fixtures:
        try:
            rated.append((rating(full_use(fixture), design.tree).flow, fixture))
        except InputError:
            continue
    return max(rated, key=lambda pair: pair[0])[1] if rated else None


def next_reading(bench: Bench, suspects: Sequence[tuple[str, Otherwise]]) -> NextReading | None:
    """The place and the open outlets at which the suspects differ most.

    Args:
        suspects: explanations that the readings leave, each with what it supposes.

    Returns:
        None where no reading would tell any of them apart.
    """
    suspects = suspects[:MOST_SUSPECTS]
    ends = {outlet.link for outlet in bench.design.tree.outlets}
    read = {(state.link, state.reading.open) for state in bench.states if state.reading.pressure}
    source = bench.design.house.source
    kept = None
    if source.kind == "well":
        kept = source.kept_pressure or bench.states[0].middle.law(0.0)[0]
    best: tuple[tuple[float, ...], NextReading] | None = None
    of_pump = any(it.lift or it.line or it.pump != 1.0 for _, it in suspects) and bench.pump_known
    for opened, alone in itertools.product(_draws(bench), (False, True) if of_pump else (False,)):
        if alone and not opened:
            continue
        when: When | None = "pump alone" if alone else None
        held = None if alone else kept
        reading = GaugeReading(
            at=SOURCE, open=opened, pressure=0.0, source_pressure=held, when=when
        )
        try:
            trial = Bench(bench.design, (reading,))
            solved = [trial.solve(trial.states[0], supposed)[0] for _, supposed in suspects]
        except (ComputationError, InputError):
            continue
        for link, name in _places(bench):
            values = [
                max(pressures[link] - (0.0 if link else supposed.behind), 0.0)
                for pressures, (_, supposed) in zip(solved, suspects, strict=True)
            ]
            told = _told_apart(values)
            if told <= 0.0 or (link, opened) in read:
                continue
            # a fixture is easier to read at than a joint, fewer outlets easier than many
            ease = 0.5 * (link in ends or link == 0) - 0.1 * len(opened)
            spread = (max(values) - min(values)) / usual("dial-gauge")
            score = (told, ease + 0.1 * spread)
            if best is None or score > best[0]:
                expected = tuple(
                    Expected(name=suspect, pressure=value)
                    for (suspect, _), value in zip(suspects, values, strict=True)
                )
                best = (
                    score,
                    NextReading(
                        at=name,
                        open=opened,
                        source_pressure=held,
                        when=when,
                        fixture=link in ends or link == 0,
                        expected=tuple(sorted(expected, key=lambda it: -it.pressure)),
                    ),
                )
    return None if best is None else best[1]


def _told_apart(values: Sequence[float]) -> float:
    """How many pairs a gauge would tell apart."""
    least = APART * usual("dial-gauge")
    return sum(abs(a - b) >= least for number, a in enumerate(values) for b in values[:number])


def _draws(bench: Bench) -> Iterator[tuple[str, ...]]:
    """What may run during a further reading: nothing, what ran before, one outlet."""
    draws: dict[tuple[str, ...], None] = {(): None}
    for state in bench.states:
        draws[tuple(use.name for use in state.uses)] = None
    tap = _tap(bench.design)
    if tap is not None:
        draws[tap.name,] = None
    for outlet in bench.design.outlets[:1]:
        draws[outlet.fixture_name,] = None
    yield from draws


def _places(bench: Bench) -> Iterator[tuple[int, str]]:
    """Where a gauge may sit: the source, joints between links, fixtures."""
    tree = bench.design.tree
    ends = {outlet.link: outlet for outlet in tree.outlets}
    yield 0, SOURCE
    for i in range(1, len(tree)):
        outlet = ends.get(i)
        if outlet is None:
            yield i, tree.points[i]
        elif not outlet.fixture.planned:
            yield i, outlet.name
