"""What `gauge` shows: read and computed side by side, what would explain it, what to read next."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from supplycalc.findings.words import listed
from supplycalc.output.blocks import (
    Block,
    Checklist,
    Heading,
    Mood,
    Paragraph,
    Picture,
    Verdict,
    assumptions_blocks,
    care_blocks,
    care_in_short,
    findings_blocks,
    first_findings,
)
from supplycalc.output.destination import NARROWEST
from supplycalc.output.one_screen import FOR_FINDINGS, fitted
from supplycalc.questions.gauge.advice import NextReading, ReadingToTake
from supplycalc.questions.gauge.causes import Explanation
from supplycalc.questions.gauge.doubts import usual
from supplycalc.questions.gauge.study import (
    Compared,
    ComparedFlow,
    ComparedPressure,
    GaugeStudy,
)
from supplycalc.reading.writing import toml_text
from supplycalc.records import Cell, Column, Table, table_of
from supplycalc.units import UnitSystem, convert, show, unit_of

MOST_EXPLANATIONS = 3
"""On the first screen."""
EXPLAINED = "What would explain it, each by itself and fitted to all readings"
RANKS = {
    "explains": "explains all",
    "explains as well": "explains as well",
    "explains less": "explains all, less well",
    "not enough": "explains a part",
}


def gauge_first(study: GaugeStudy, system: UnitSystem) -> Iterator[Block]:
    """Whether the house does what its file says, on one screen."""
    return fitted(_screen(study, system), system, fixtures=0)


def _screen(study: GaugeStudy, system: UnitSystem) -> Iterator[Block]:
    yield _verdict(study, system)
    rows = sorted(study.compared, key=lambda row: row.within)  # what differs is cut last
    yield from _compared_table(tuple(rows), system)
    if study.to_read:
        yield from _to_take(study, system)
    best = [it for it in study.explanations if it.rank != "not enough"] or study.explanations
    if best:
        yield Heading("What would explain it, by itself (a guess, no proof)")
        first, *others = best[:MOST_EXPLANATIONS]
        items = (_explained(first, system), *(_otherwise(it, system) for it in others))
        yield Checklist(items=items, mark="-")
    if study.next is not None:
        yield Paragraph(text=_next(study.next, system))
    fails = any(finding.level == "fail" for finding in study.findings)
    room = 1 if best and not fails else FOR_FINDINGS // 2
    yield from first_findings(study.findings, room=room)
    yield from care_in_short(hot=True)


def gauge_page(study: GaugeStudy, system: UnitSystem) -> Iterator[Block]:
    """Everything."""
    yield _verdict(study, system)
    yield from _compared_table(study.compared, system)
    if study.to_read:
        yield from _to_take(study, system)
    if study.explanations:
        yield Heading(EXPLAINED)
    yield from _explanations(study, system)
    if study.compared:
        yield from findings_blocks(study.findings, "None.")
        yield from assumptions_blocks(study.assumptions, system, heading="Assumptions")
    yield from care_blocks(study.cautions)


def gauge_section(study: GaugeStudy, system: UnitSystem) -> Iterator[Block]:
    """What a page of all answers says of readings."""
    yield Heading("Readings, against the file")
    yield Paragraph(text=study.answer(system))
    yield from _compared_table(study.compared, system)
    if study.explanations:
        yield Paragraph(text=f"{EXPLAINED}:", apart=True)
    yield from _explanations(study, system)


def _explanations(study: GaugeStudy, system: UnitSystem) -> Iterator[Block]:
    """What would explain the readings, and what to read next."""
    if study.explanations:
        items = (_explained(it, system) for it in study.explanations)
        yield Checklist(items=tuple(items), mark="-")
        yield Paragraph(
            text="No explanation is proved. What explains as well cannot be told apart by these "
            "readings; the commonest stands first."
        )
    if study.next is not None:
        yield Paragraph(text=_next(study.next, system), apart=True)


def _verdict(study: GaugeStudy, system: UnitSystem) -> Verdict:
    mood: Mood = "plain" if not study.compared else "good" if study.ok else "bad"
    return Verdict(text=study.answer(system), mood=mood)


def compared_readings(study: GaugeStudy, system: UnitSystem) -> Table:
    """Every number that was read, for a spreadsheet; units stand in a column of their own."""

    def of(name: str) -> Callable[[ComparedPressure | ComparedFlow], Cell]:
        def cell(row: ComparedPressure | ComparedFlow) -> Cell:
            value = getattr(row, name)
            return None if value is None else convert(value, row.dimension, system)[0]

        return cell

    return table_of(
        "Readings",
        Compared,
        study.compared,
        (
            Column(name="at", of="at"),
            Column(name="open", of=lambda row: ", ".join(row.open)),
            Column(name="source", of="source"),
            Column(name="source pressure", of="source_pressure"),
            Column(name="unit", of=lambda row: unit_of(row.dimension, system)),
            *(
                Column(name=name.replace("_", " "), of=of(name), digits=2)
                for name in ("read", "computed", "computed_most", "difference", "explained")
            ),
            Column(name="within", of=lambda row: "yes" if row.within else "no"),
        ),
    )


def _compared_table(
    rows: tuple[ComparedPressure | ComparedFlow, ...], system: UnitSystem
) -> Iterator[Table]:
    """What was read and what is computed, side by side."""

    def plain(value: float, row: ComparedPressure | ComparedFlow) -> str:
        return show(value, row.dimension, system, unit=False)

    def computed(row: ComparedPressure | ComparedFlow) -> Cell:
        low = plain(row.computed, row)
        high = "more" if row.computed_most is None else plain(row.computed_most, row)
        return low if low == high else f"{low} to {high}"

    def state(row: Compared) -> Cell:
        gauge = row.source_pressure
        told = row.source if " to " not in row.source else "not read"
        return told if gauge is None else show(gauge, "setting", system)

    if rows:
        yield table_of(
            "Read and computed, and how far off; ± is what gauge, bucket and file explain",
            Compared,
            rows,
            (
                Column(name="at", of="at", wrap=True),
                Column(name="open", of=lambda row: listed(row.open) or "nothing", wrap=True),
                Column(name="source at", of=state, wrap=True),
                Column(name="read", of=lambda row: show(row.read, row.dimension, system)),
                Column(name="computed", of=computed, wrap=True),
                Column(
                    name="off by",
                    of=lambda row: f"{plain(row.difference, row)} ± {plain(row.explained, row)}",
                ),
                Column(name="", of=lambda row: "" if row.within else "NO"),
            ),
        )


def _to_take(study: GaugeStudy, system: UnitSystem) -> Iterator[Block]:
    def of(ends: tuple[float, float] | None, dimension: str) -> Cell:
        if ends is None:
            return None
        low, high = (show(end, dimension, system, unit=False) for end in ends)
        unit = unit_of(dimension, system)
        return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"

    yield table_of(
        "Readings to take, and what they should be",
        ReadingToTake,
        study.to_read,
        (
            Column(name="at", of="at", wrap=True),
            Column(name="open", of=lambda it: listed(it.open) or "nothing", wrap=True),
            Column(
                name="should be",
                of=lambda it: of(it.pressure, "pressure") or of(it.flow, "flow"),
                wrap=True,
            ),
            Column(name="shows", of="why", wrap=True),
        ),
    )
    yield Paragraph(
        text="Read the source's gauge at the same moment (source_pressure). In the file:"
    )
    shown = max((it.reading for it in study.to_read), key=lambda it: len(it.open))
    names = [toml_text(it) for it in shown.open]
    opened = f"  open = [{', '.join(names)}]"
    if len(opened) > NARROWEST:
        opened = "  open = [" + ",\n    ".join(names) + "]"
    unit = unit_of("pressure", system)
    yield Picture(
        lines=(
            "  [[reading]]",
            f"  at = {toml_text(shown.at)}",
            *opened.splitlines(),
            f'  pressure = "... {unit}"',
            f'  source_pressure = "... {unit}"',
        )
    )


def _explained(it: Explanation, system: UnitSystem) -> str:
    """What would be otherwise, and what to do about it."""
    return f"{_otherwise(it, system)}. {it.remedy[0].upper()}{it.remedy[1:]}."


def _otherwise(it: Explanation, system: UnitSystem) -> str:
    """What would be otherwise, how well it explains."""
    text = it.said(system)
    if it.as_if_inside is not None:
        text += f", as if it were {show(it.as_if_inside, 'diameter', system)} inside"
    return f"{text[0].upper()}{text[1:]}: {RANKS[it.rank]}"


def _next(reading: NextReading, system: UnitSystem) -> str:
    """What to read next, and what it would be under each explanation."""
    ran = f"with {listed(reading.open)} open" if reading.open else "with nothing running"
    if reading.when is not None:
        ran += ", the pump alone feeding it, once its gauge holds still"
    elif reading.source_pressure is not None:
        ran += f", the source's gauge at {show(reading.source_pressure, 'setting', system)}"
    alike: list[tuple[float, list[str]]] = []
    for each in reading.expected:
        if alike and alike[-1][0] - each.pressure < 0.5 * usual("dial-gauge"):
            alike[-1][1].append(each.name)
        else:
            alike.append((each.pressure, [each.name]))
    values = "; ".join(
        f"{show(value, 'pressure', system)} if {listed(names, word='or')}" for value, names in alike
    )
    joint = "" if reading.fixture else " (a tee or a drain there)"
    return f"Next: read at {reading.at}{joint} {ran}: {values}."
