"""What `hot` shows: waits, water run off, limits, and what would bring it sooner."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.demand import by_the_american_codes
from supplycalc.output.blocks import (
    Block,
    Mood,
    Paragraph,
    Verdict,
    assumptions_blocks,
    care_blocks,
    findings_blocks,
)
from supplycalc.questions.hot.study import HotStudy
from supplycalc.questions.hot.tables import change_tables, hot_outlet_table, limit_table, year_table
from supplycalc.tables import load_table
from supplycalc.units import UnitSystem, convert

MOODS: dict[str, Mood] = {"good": "good", "fair": "care", "long": "bad"}


def hot_page(study: HotStudy, system: UnitSystem) -> Iterator[Block]:
    """What `hot` shows."""
    yield Verdict(text=study.answer(system), mood=MOODS[study.outlets[0].wait_class])
    yield hot_outlet_table(study)
    yield Paragraph(text=outlets_said(study))
    yield year_table(study, system)
    yield Paragraph(
        text=f"In all about {_whole(study.year.volume, 'volume', system)} run off and "
        f"{_whole(study.year.energy, 'energy', system)} lost in a year, by habits that are "
        "common practice without a source; give your own with --draws."
    )
    yield limit_table(study, system)
    yield Paragraph(
        text="The residential code binds houses to its length; the others are benchmarks: the "
        "plumbing code's length, the energy code's length by size and volume (public buildings), "
        "and the water-saving house's volume stored and drawn. Volume that stands in copper, CPVC "
        "and PEX counts by the code's table, in ounces per foot."
        if by_the_american_codes(study.house)
        else "The 3-litre rule binds large plants (W 551); a house for one or two families is a "
        "small one, and to it the volume is a benchmark."
    )
    yield from change_tables(study, system)
    yield from _after_changes(study)
    yield from findings_blocks(study.findings, "None: no limit is broken.")
    yield from assumptions_blocks(study.assumptions, system, "Assumptions")
    yield from care_blocks(study.cautions)


def outlets_said(study: HotStudy) -> str:
    """What the columns of the hot outlets mean."""
    good, fair = (f"{most:g}" for _, most in load_table("hot_water")["wait_class"]["rows"])
    on_main = study.house.source.kind == "main"
    source = "the main as usual" if on_main else f"the source at {study.source_name}"
    return (
        "holds: water standing between the heater, or pipe that is kept hot, and the outlet; "
        f"hot flow: its hot part as used, alone, with {source}; hot only: the wait with the "
        "valve on hot alone; drawn: from the hot pipe by then; arrives: once it runs steadily; "
        f"class: good up to {good} s, fair up to {fair} s, long beyond."
    )


def _after_changes(study: HotStudy) -> Iterator[Block]:
    if study.thinner:
        yield Paragraph(
            text="Thinner: the other hot runs keep their sizes, cold runs that your file leaves "
            "open are chosen anew."
        )
    if not study.kept_hot:
        return
    yield Paragraph(
        text="Kept hot: the heat is that of the insulated supply pipe, day and night; the return "
        "pipe and the pump come on top, a pump that runs on demand saves most of it."
    )
    home_runs = any(outlet.runs and outlet.runs[-1].run.fixture for outlet in study.outlets)
    if home_runs and study.house.manifolds:
        yield Paragraph(
            text="With home runs the loop ends at the manifold: each run behind it stays cold, or "
            "would need a return of its own."
        )


def _whole(value: float, dimension: str, system: UnitSystem) -> str:
    """A rounded figure for what is no more than an estimate."""
    number, unit = convert(value, dimension, system)
    digits = max(len(str(int(abs(number)))) - 2, 0)
    return f"{round(number, -digits):,.0f} {unit}"
