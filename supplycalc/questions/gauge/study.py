"""Readings of a house beside what its file says of the same states, and what would explain them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import ClassVar

import numpy as np
from msgspec import Struct
from scipy.stats import chi2

from supplycalc.demand import highest_at_rest
from supplycalc.findings.outdoor_taps import OUTDOOR_KINDS
from supplycalc.findings.rule import YOUR_FILE
from supplycalc.findings.words import listed
from supplycalc.model import House
from supplycalc.output.cautions import LIMITS
from supplycalc.questions.gauge.advice import (
    NextReading,
    ReadingToTake,
    next_reading,
    readings_to_take,
)
from supplycalc.questions.gauge.causes import Explanation, explanations
from supplycalc.questions.gauge.doubts import (
    OF_95,
    OWN,
    FloatArray,
    covariance,
    gauge_accuracy,
    of_the_switch,
    usual,
)
from supplycalc.questions.gauge.states import Bench, Observed, Otherwise, ReadState
from supplycalc.questions.size.study import size
from supplycalc.records import Form
from supplycalc.records.sentences import Assumption, Finding
from supplycalc.sizing.design import Design, DesignAnswer
from supplycalc.supply.tank import atmospheric_pressure, water_held
from supplycalc.tables import citation_of, load_table
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import Flow, Pressure, Setting, Time


class Compared(Struct, frozen=True, kw_only=True):
    """One number that was read, beside what the file makes of that state."""

    at: str
    """As the reading has it, with the side where a fixture has two."""
    open: tuple[str, ...]
    """What ran."""
    source: str
    """How the source stood, in words of the file."""
    source_pressure: Setting | None
    """What its gauge showed; None: it was not read."""
    within: bool
    """Whether gauge, bucket and file explain it."""


class ComparedPressure(Compared, frozen=True, kw_only=True):
    """A pressure."""

    dimension: ClassVar[str] = "pressure"

    read: Pressure
    computed: Pressure
    """Least, over the states that the source may have been in."""
    computed_most: Pressure | None
    """Most; None: the file does not tell."""
    difference: Pressure
    """From the nearest of them, above 0 where more was read."""
    explained: Pressure
    """±, by gauge, outlets, computed losses and what the file knows roughly."""


class ComparedFlow(Compared, frozen=True, kw_only=True):
    """A flow."""

    dimension: ClassVar[str] = "flow"

    read: Flow
    computed: Flow
    computed_most: Flow | None
    difference: Flow
    explained: Flow


class Leak(Struct, frozen=True, kw_only=True):
    """A pressure that fell with nothing running."""

    at: str
    start: Pressure
    fell: Pressure
    fell_in: Time
    flow: Flow | None
    """What ran out of the tank meanwhile; None: the file tells of no tank's air."""
    shown: bool
    """Whether the gauge can tell it from nothing."""


class GaugeStudy(DesignAnswer, frozen=True, kw_only=True):
    """Every reading, what would explain those that differ, what to read next."""

    schema: ClassVar[str] = "supplycalc-gauge/1"
    form: ClassVar[Form] = Form(omit=("design",), add=("answer", "cautions"))

    pressures: tuple[ComparedPressure, ...] = ()
    flows: tuple[ComparedFlow, ...] = ()
    leaks: tuple[Leak, ...] = ()
    together: float | None = None
    """Chance that a house as in its file gives readings that differ so much together; None:
    nothing was read."""
    explanations: tuple[Explanation, ...] = ()
    """The best first; empty where the readings need none, or no single thing explains them."""
    next: NextReading | None = None
    """What to read to tell the explanations apart."""
    to_read: tuple[ReadingToTake, ...] = ()
    """Where nothing was read yet."""
    findings: tuple[Finding, ...] = ()
    assumptions: tuple[Assumption, ...] = ()

    @property
    def compared(self) -> tuple[ComparedPressure | ComparedFlow, ...]:
        """Pressures, then flows."""
        return (*self.pressures, *self.flows)

    @property
    def agrees(self) -> bool:
        """Whether the readings are what the file makes of the house."""
        return all(each.within for each in self.compared) and not self.differs_together

    @property
    def differs_together(self) -> bool:
        """Whether the readings together are no chance any more."""
        return self.together is not None and self.together < usual("joint")

    @property
    def ok(self) -> bool:
        """Whether the readings agree with the file, and nothing that was read fails."""
        return self.agrees and not any(finding.level == "fail" for finding in self.findings)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What belongs beside readings (common practice, no source)."""
        shock = (
            "Electricity: switch off and lock out the pump circuit before the pressure switch or "
            "the pump is touched; drain the tank before its air charge."
        )
        return (
            "Pressure: take a gauge of at least twice the highest pressure, open valves slowly, "
            "and let the pressure off before a filter, a fitting or a gauge is undone.",
            "Hot water: read on the cold side; what stands in a heater scalds, and its relief "
            "valve stays as it is.",
            *((shock,) if self.house.source.pump or self.house.source.kind == "well" else ()),
            "Drinking water: flush what was opened before anyone drinks; hoses and buckets hang "
            "above the rim, so that nothing is drawn back.",
            "An explanation is no proof: look before you dig, cut or buy. " + LIMITS,
        )

    def answer(self, system: UnitSystem) -> str:
        """The answer in two or three sentences."""
        if not self.compared:
            return (
                "Nothing was measured yet. Take these readings, write each as [[reading]] in the "
                "file, and ask again."
                if self.to_read
                else "Nothing was measured yet, and there is no fixture to read at."
            )
        text = self._agreement(system)
        failing = [
            f"{it.opening(system)}{it.said(system)}" for it in self.findings if it.level == "fail"
        ]
        fails = f" {'But' if self.agrees else 'And'} {failing[0]}." if failing else ""
        if self.agrees:
            return text + fails
        best = next((it for it in self.explanations if it.fits), None)
        if best is None:
            return (
                f"{text} No single thing that was tried explains all readings: more than one is "
                f"otherwise, or a reading is wrong.{fails}"
            )
        first, *beside = [name for name, _ in best.apart]
        where = first if not beside else f"{first} or what stands in line with it"
        count = sum(it.rank == "explains as well" for it in self.explanations)
        more = (
            f"; {count} other{'s explain' if count > 1 else ' explains'} it as well"
            if count
            else ""
        )
        return f"{text} Best explained by {where}{more}.{fails}"

    def _agreement(self, system: UnitSystem) -> str:
        count = len(self.compared)
        if self.agrees:
            readings = "the one reading lies" if count == 1 else f"all {count} readings lie"
            untold = sum(" to " in each.source for each in self.compared)
            where = "" if untold == count else f" at {untold} of them"
            weak = f" The source's gauge was not read{where}: that says little." if untold else ""
            return (
                f"The house does what its file says: {readings} within what gauge, bucket and "
                f"file explain.{weak}"
            )
        outside = [each for each in self.compared if not each.within]
        if not outside:
            return (
                "The house does not do what its file says: each reading by itself might be "
                "chance, all together are not."
            )
        worst = max(outside, key=lambda it: abs(it.difference) / it.explained)
        is_pressure = isinstance(worst, ComparedPressure)
        more = ("higher", "lower") if is_pressure else ("more", "less")
        ran = f" with {listed(worst.open)} open" if worst.open else " with nothing running"
        ran = " alone" if worst.open == (worst.at,) else ran
        off, explained = (
            show(abs(value), worst.dimension, system)
            for value in (worst.difference, worst.explained)
        )
        others = len(outside) - 1
        also = f" {others} more differ{'s' if others == 1 else ''}." if others else ""
        return (
            f"The house does not do what its file says: {worst.at}{ran} "
            f"{'stands' if is_pressure else 'gives'} {off} {more[worst.difference < 0.0]} than "
            f"computed; ± {explained} is explained.{also}"
        )


def gauge(house: House, method: str | None = None) -> GaugeStudy:
    """Compare the readings of a house with its file, and look for what explains differences.

    Raises:
        InputError: a reading for which no state of the house can be computed.
        ComputationError: no sizes, or flows that do not settle.
    """
    return gauge_of(size(house, method))


def gauge_of(design: Design) -> GaugeStudy:
    """The same for a design that is sized already."""
    readings = design.house.readings
    if not readings:
        return GaugeStudy(design=design, to_read=readings_to_take(design))
    bench = Bench(design, readings)
    measured = np.array([each.measured for each in bench.observed])
    computed, ends = np.array(bench.computed()), bench.ends()
    doubt = covariance(bench, computed)
    explained = OF_95 * np.sqrt(np.diag(doubt))
    off = _outside(measured, ends)
    whole = doubt + of_the_switch(bench, ends)
    together = float(chi2.sf(off @ np.linalg.solve(doubt, off), len(off)))
    compared = [
        _compared(bench.states[each.state], each, ends[i], float(off[i]), float(explained[i]))
        for i, each in enumerate(bench.observed)
    ]
    agrees = all(each.within for each in compared) and together >= usual("joint")
    tried: tuple[Explanation, ...] = ()
    if not agrees:

        def fits(supposed: Otherwise) -> bool:
            moved = np.array(bench.computed(supposed)) - computed
            shifted = [(low + by, high + by) for (low, high), by in zip(ends, moved, strict=True)]
            return bool(np.all(np.abs(_outside(measured, shifted)) <= explained))

        tried = explanations(bench, measured, whole, fits)
    suspects = [
        pair for it in tried if it.rank in ("explains", "explains as well") for pair in it.apart
    ]
    leaks = tuple(_leaks(bench))
    return GaugeStudy(
        design=design,
        pressures=tuple(it for it in compared if isinstance(it, ComparedPressure)),
        flows=tuple(it for it in compared if isinstance(it, ComparedFlow)),
        leaks=leaks,
        together=together,
        explanations=tried,
        next=next_reading(bench, suspects) if len(suspects) > 1 else None,
        findings=tuple(_findings(bench, leaks)),
        assumptions=tuple(_assumptions(bench)),
    )


def _outside(measured: FloatArray, ends: list[tuple[float, float]]) -> FloatArray:
    """How far each reading lies beyond what is computed over the states of the source [SI]."""
    low, high = (np.array(side) for side in zip(*ends, strict=True))
    off: FloatArray = np.maximum(measured - high, 0.0) - np.maximum(low - measured, 0.0)
    return off


def _compared(
    state: ReadState, each: Observed, ends: tuple[float, float], off: float, explained: float
) -> ComparedPressure | ComparedFlow:
    at = "source" if each.what == "source" else _place(state)
    kind = ComparedFlow if each.what == "flow" else ComparedPressure
    low, high = ends
    return kind(
        at=at,
        open=tuple(
            use.name if use.share == 1.0 else f"{use.name}@{use.share:.0%}" for use in state.uses
        ),
        source=_source_words(state),
        source_pressure=state.reading.source_pressure,
        within=abs(off) <= explained,
        read=each.measured,
        computed=low,
        computed_most=high if math.isfinite(high) else None,
        difference=off,
        explained=explained,
    )


def _source_words(state: ReadState) -> str:
    if state.told:
        return state.middle.name
    return f"{state.cases[0].name} to {state.cases[1].name}"


def _leaks(bench: Bench) -> Iterator[Leak]:
    """Pressures that fell by themselves; where a tank stands on the house, what ran out of it.

    Source: Boyle's law for the tank's air.
    """
    source = bench.design.house.source
    gains, tree = bench.household.static_gains, bench.design.tree
    for state in bench.states:
        reading = state.reading
        if reading.fell is None or reading.fell_in is None or reading.pressure is None:
            continue
        tank, flow = source.tank, None
        if source.kind == "well" and tank and tank.volume and tank.precharge is not None:
            air = atmospheric_pressure(source.altitude)
            at_tank = reading.pressure - math.fsum(gains[i] for i in tree.path(state.link))
            held, left = (
                water_held(tank.volume, tank.precharge, pressure, air)
                for pressure in (at_tank, at_tank - reading.fell)
            )
            flow = (held - left) / reading.fell_in
        yield Leak(
            at=_place(state),
            start=reading.pressure,
            fell=reading.fell,
            fell_in=reading.fell_in,
            flow=flow,
            shown=reading.fell > math.sqrt(2.0) * OWN * gauge_accuracy(reading),
        )


def _place(state: ReadState) -> str:
    """Where a reading was taken, with the side where a fixture has two."""
    at = state.reading.at
    return f"{at} ({state.side})" if state.side and not at.endswith(f"({state.side})") else at


def _findings(bench: Bench, leaks: tuple[Leak, ...]) -> Iterator[Finding]:
    """What a reading tells by itself, whatever the file makes of the house."""
    design = bench.design
    code, own = highest_at_rest(design.house), design.house.limits.max_static
    limit, citation = (code.value, code.citation) if own is None else (own, YOUR_FILE)
    outlets = {outlet.link: outlet for outlet in design.tree.outlets}
    rated = design.house.source.tank and design.house.source.tank.max_pressure
    for state in bench.states:
        read, outlet = state.reading.pressure, outlets.get(state.link)
        if read is None:
            continue
        if state.link == 0 and rated and read > rated:
            yield Finding(
                level="fail",
                code="read-over-tank",
                where="pressure tank",
                message="{0} were read at it, and it is rated for {1}",
                values=((read, "pressure"), (rated, "setting")),
                remedy="keep away, switch the pump off, let water run until the pressure is down; "
                "then mend switch and relief valve",
            )
        if not state.uses and outlet is not None and read > limit:
            outdoor = outlet.fixture.kind in OUTDOOR_KINDS
            yield Finding(
                level="note" if outdoor else "fail",
                code="read-static-over-limit",
                where=_place(state),
                message="{0} were read with nothing running; the limit is {1}",
                values=((read, "pressure"), (limit, "pressure")),
                remedy="line and tap must be rated for what was read"
                if outdoor
                else "set the reducing valve anew or replace it"
                if any(device.setting for device in design.house.devices)
                else "fit a pressure-reducing valve (and room for hot water to expand behind it)",
                source=citation,
            )
        if state.uses and read <= gauge_accuracy(state.reading):
            yield Finding(
                level="warn",
                code="read-nothing-left",
                where=_place(state),
                message="next to no pressure is left while this runs: what stands in hoses, tubs "
                "and the ground can be drawn into the pipe",
                remedy="do not run it together until it is mended; vacuum breakers at every hose",
            )
        elif state.uses and outlet is not None and read < outlet.required_pressure:
            yield Finding(
                level="warn",
                code="read-under-need",
                where=_place(state),
                message="{0} were read while it ran so, and it needs {1}",
                values=((read, "pressure"), (outlet.required_pressure, "pressure")),
                remedy="'supplycalc size' tells whether the pipe is meant to give more",
            )
    for leak in leaks:
        yield _leak_finding(leak, design.house)


def _leak_finding(leak: Leak, house: House) -> Finding:
    values = [(leak.fell, "pressure"), (leak.fell_in, "minutes")]
    text = "the pressure fell {0} in {1} with nothing running"
    if not leak.shown:
        return Finding(
            level="note",
            code="pressure-fell",
            where=leak.at,
            message=f"{text}, no more than two looks at a needle may differ",
            values=tuple(values),
            remedy="watch it for longer",
        )
    if leak.flow is not None:
        text += ": {2} ran out of the tank"
        values.append((leak.flow, "flow"))
    well = house.source.kind == "well"
    return Finding(
        level="fail",
        code="pressure-fell",
        where=leak.at,
        message=text,
        values=tuple(values),
        remedy="shut the valve to the house and watch on: if it still falls, "
        + (
            "the check valve or the line to the well lets water back"
            if well
            else "the service leaks"
        )
        + "; if it stands, look at toilets, taps and relief valve, then at pipe in slab and ground "
        "(cooling water in a heater falls a little too)",
    )


def _assumptions(bench: Bench) -> Iterator[Assumption]:
    """What was taken of gauge, bucket, outlets, pipe and source."""
    design = bench.design

    def taken(text: str, name: str, dimension: str) -> Assumption:
        row = load_table("gauge")["accuracy"][name]
        return Assumption(text=text, values=((usual(name), dimension),), source=citation_of(row))

    if any(each.what == "pressure" for each in bench.observed):
        yield taken(
            "gauges read ± {0}, the source's too, unless a reading says its own",
            "dial-gauge",
            "pressure",
        )
    if any(each.what == "flow" for each in bench.observed):
        yield taken("bucket and watch are right to ± {0}", "bucket", "share")
    if any(state.uses for state in bench.states):
        yield taken("computed losses are right to ± {0}", "loss", "share")
        yield taken("an open outlet lets ± {0} of its kind's flow through", "outlet", "share")
    if not all(state.told for state in bench.states):
        yield Assumption(
            text="where the source's gauge was not read, it stood anywhere between the states that "
            "are named; read it at the same moment and the answer is sharper"
        )
    if any(state.open_ended for state in bench.states):
        yield Assumption(
            text="the file gives no static pressure of the main, so that no reading at rest is too "
            "high"
        )
    unsized = sum(run.size is None for run in design.house.all_runs)
    if unsized:
        yield Assumption(
            text=f"{unsized} run{'s have' if unsized > 1 else ' has'} no size in the file, and "
            "those that 'supplycalc size' chooses are taken; write what was laid"
        )
