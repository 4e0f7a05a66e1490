"""What `surge` shows: peaks at quick valves and at the pump's stop, cures, noise."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from supplycalc.output.blocks import (
    EVERYTHING,
    Block,
    Heading,
    Mood,
    Paragraph,
    Verdict,
    assumptions_blocks,
    care_blocks,
    findings_blocks,
    first_findings,
)
from supplycalc.output.one_screen import fitted
from supplycalc.questions.surge.study import Cure, SurgeStudy, arrestor_source
from supplycalc.records import Column, Table, table_of
from supplycalc.records.sentences import cite
from supplycalc.sizing.water_hammer import PeakInRun, PumpStop
from supplycalc.units import UnitSystem, show

BOUND = (
    "Upper bound: each valve alone at its fixture's flow, the highest pressure at rest and the "
    "wave by Joukowsky, or "
    "what the column makes in the time the valve takes, whichever is less; the stiffness of tube "
    "is that for a short time. Not counted: friction, hoses and hangers that give, air, later "
    "echoes, two valves at once."
)
BY_HAND = 2
"""Valves shut by hand on the first screen."""


def surge_first(study: SurgeStudy, system: UnitSystem) -> Iterator[Block]:
    """What bangs and what to do, on one screen."""
    return fitted(_screen(study, system), system, fixtures=len(study.design.outlets))


def _screen(study: SurgeStudy, system: UnitSystem) -> Iterator[Block]:
    yield _verdict(study, system)
    by_hand = [cure for cure in study.cures if cure.valve.closing.slow][:BY_HAND]
    shown = [*study.cures[: len(study.quick)], *by_hand]
    if shown:
        yield valve_table(shown)
    if study.ok:  # else sizes change first
        yield from _cures_in_short(study, system)
        if study.pump:
            yield pump_stop_table(study)
    yield Paragraph(text=noise(study, system))
    yield from first_findings(study.findings, room=3)
    yield Paragraph(
        text="Care: an upper bound, no measurement; let the pressure off before a joint is opened; "
        f"code, inspector and licensed trades decide. {EVERYTHING}"
    )


def surge_page(study: SurgeStudy, system: UnitSystem) -> Iterator[Block]:
    """What `surge` shows."""
    yield _verdict(study, system)
    if study.cures:
        yield valve_table(study.cures)
        yield from _cures_in_short(study, system)
        yield cure_table(study, system)
        yield pipe_peaks(study)
    if study.pump:
        yield pump_stop_table(study)
        yield Paragraph(text=pump_said(study))
    yield Paragraph(text=noise(study, system), apart=True)
    yield Paragraph(text=BOUND, apart=True)
    yield from findings_blocks(study.findings, "Nothing.")
    yield from assumptions_blocks(study.assumptions, system)
    yield from care_blocks(study.cautions)


def surge_section(study: SurgeStudy, system: UnitSystem) -> Iterator[Block]:
    """Quick valves and the pump's stop, for a page that tells more than this."""
    if not (study.quick or study.pump):
        return
    yield Heading("Water hammer")
    yield Paragraph(text=study.shock(system))
    if study.quick:
        yield valve_table(study.cures[: len(study.quick)])
    if study.pump:
        yield pump_stop_table(study)
    yield Paragraph(text=BOUND)


def _verdict(study: SurgeStudy, system: UnitSystem) -> Verdict:
    mood: Mood = "bad" if not study.ok else "care" if study.to_fit else "strong"
    return Verdict(text=study.answer(system), mood=mood)


def _cures_in_short(study: SurgeStudy, system: UnitSystem) -> Iterator[Block]:
    """Where arrestors stand, and what else would do at the worst valve."""
    if study.to_fit:
        near = show(study.near, "length", system)
        sizes = " and ".join(dict.fromkeys(cure.arrestor or "" for cure in study.to_fit))
        text = f"Arrestor: size {sizes}, within {near} of the fixture, where it can be reached"
        yield Paragraph(text=f"{text} [{cite(arrestor_source())}].")
    over = [cure for cure in study.to_fit if cure.valve.peak > study.most]
    if over:
        worst = max(over, key=lambda cure: cure.valve.peak)
        yield Paragraph(text=f"Instead, at {worst.valve.name}: {_instead(study, worst, system)}.")


def _instead(study: SurgeStudy, cure: Cure, system: UnitSystem) -> str:
    ways = []
    if cure.larger is not None and cure.larger_peak is not None:
        peak = show(cure.larger_peak, "pressure", system)
        enough = "" if cure.larger_peak <= study.most else ", not enough"
        ways.append(f"{cure.larger} pipe ({peak}{enough})")
    if cure.rest_at_most is not None:
        ways.append(f"{show(cure.rest_at_most, 'pressure', system)} at rest")
    ways.append(f"a valve that takes {show(cure.shut_in, 'closing-time', system)}")
    return ", or ".join(ways)


def valve_table(cures: Sequence[Cure]) -> Table:
    """The peak at each valve, and the arrestor that holds it."""
    return table_of(
        "As each valve shuts alone",
        Cure,
        cures,
        (
            Column(name="valve", of="valve.name", wrap=True),
            Column(name="size", of="valve.nominal"),
            Column(name="speed", of="valve.velocity"),
            Column(name="at rest", of="valve.at_rest"),
            Column(name="peak", of="valve.peak"),
            Column(name="arrestor", of=_fitted_or_size, wrap=True),
        ),
    )


def _fitted_or_size(cure: Cure) -> str:
    return "there" if cure.valve.arrestor else cure.arrestor or "-"


def cure_table(study: SurgeStudy, system: UnitSystem) -> Table:
    """What would do instead of an arrestor, each alone."""
    most = show(study.most, "pressure", system)
    return table_of(
        f"To stay under {most} without an arrestor, each alone",
        Cure,
        study.cures,
        (
            Column(name="valve", of="valve.name", wrap=True),
            Column(name="shuts in", of="valve.closing_time"),
            Column(name="or in", of="shut_in"),
            Column(name="next size", of="larger", wrap=True),
            Column(name="peak then", of="larger_peak", wrap=True),
            Column(name="at rest at most", of="rest_at_most", wrap=True),
        ),
    )


def pipe_peaks(study: SurgeStudy) -> Table:
    """The highest wave in each pipe against its rating."""
    return table_of(
        "In each pipe, no arrestor counted",
        PeakInRun,
        study.pipes,
        (
            Column(name="pipe", of="run.name", wrap=True),
            Column(name="size", of="run.nominal"),
            Column(name="at rest", of="at_rest"),
            Column(name="peak", of="peak"),
            Column(name="bears", of="borne"),
            Column(name="by", of="cause", wrap=True),
        ),
    )


def pump_stop_table(study: SurgeStudy) -> Table:
    """The wave before the tank as the pump stops."""
    return table_of(
        "At a power cut" if study.held else "As the pump stops, if at once",
        PumpStop,
        study.pump,
        (
            Column(name="pipe", of="run.name", wrap=True),
            Column(name="size", of="run.nominal"),
            Column(name="speed", of="run.velocity"),
            Column(name="in use", of="at_rest"),
            Column(name="peak", of="peak"),
            Column(name="bears", of="borne"),
        ),
    )


def pump_said(study: SurgeStudy) -> str:
    """What is behind the pump's figures."""
    text = (
        "Pump: the wave of water that stops at once, back from tank and check valve; real pumps "
        "run down a moment, and the tank takes the rest. A check valve that shuts late slams: "
        "spring-loaded ones shut before the water turns. bears: the rating, for polyethylene with "
        "what its standard allows for waves."
    )
    return f"{text} This pump slows down by itself; a power cut stops it." if study.held else text


def noise(study: SurgeStudy, system: UnitSystem) -> str:
    """Which pipe sings, by the limits that `size` has."""
    fast = [run for run in study.design.every_run if run.velocity > run.velocity_limit * SLACK]
    quick = max(study.quick, key=lambda valve: valve.velocity, default=None)
    branch = ""
    if quick is not None and quick.velocity > study.quick_branch:
        runs, usual = (show(it, "velocity", system) for it in (quick.velocity, study.quick_branch))
        branch = f" {quick.pipe} runs at {runs}; before a quick valve {usual} is usual advice."
    if not fast:
        return f"Noise: no pipe runs faster than its limit.{branch}"
    worst = max(fast, key=lambda run: run.velocity / run.velocity_limit)
    speed, most = (show(it, "velocity", system) for it in (worst.velocity, worst.velocity_limit))
    more = f", and {len(fast) - 1} more" if len(fast) > 1 else ""
    return (
        f"Noise: {worst.name} runs at {speed} (limit {most}){more}; larger pipe is quieter.{branch}"
    )


SLACK = 1.0 + 1e-9
