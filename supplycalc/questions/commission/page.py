"""What `commission` shows: the steps in order with this house's figures, then what they rest on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from supplycalc.findings.rule import published
from supplycalc.findings.words import is_are, listed
from supplycalc.output.blocks import (
    Block,
    Checklist,
    FindingBlock,
    Heading,
    Paragraph,
    Verdict,
    assumptions_blocks,
    care_blocks,
    findings_blocks,
)
from supplycalc.output.cautions import LIMITS
from supplycalc.questions.commission.expansion import Expansion
from supplycalc.questions.commission.flushing import FlushedMain, FlushedOutlet
from supplycalc.questions.commission.settings import ExpectedReading, SettingToMake
from supplycalc.questions.commission.study import CARE, CommissionStudy
from supplycalc.questions.commission.water import (
    Bleach,
    Disinfection,
    Instruction,
    WaterPart,
    chlorine_solution,
)
from supplycalc.questions.slab.page import pressure_test_said
from supplycalc.records import Cell, Column, Table, table_of
from supplycalc.records.fields import measure_of, public_fields
from supplycalc.records.sentences import cite
from supplycalc.units import UnitSystem, show

STEPS = {
    "test": "Test",
    "set": "Set",
    "flush": "Flush",
    "disinfect": "Chlorinate",
    "rinse": "Rinse",
    "heat": "Heat",
    "read": "Read",
}
"""In the order of the work; instructions name theirs by the key."""
SURGE = "Quick valves and a stopping pump: 'supplycalc surge'."


def commission_page(study: CommissionStudy, system: UnitSystem) -> Iterator[Block]:
    """What `commission` shows."""
    yield Verdict(text=study.answer(system), mood="strong" if study.ok else "bad")
    for number, (key, title) in enumerate(STEPS.items(), 1):
        yield Heading(f"{number} {title}")
        if key not in ("set", "read"):  # their tables say it
            text = step_said(study, key, system)
            yield Paragraph(text=f"{text[0].upper()}{text[1:]}", indent=2)
        items = [
            f"{it.said(system)}{_published(it)}" for it in study.instructions if it.step == key
        ]
        if items:
            yield Checklist(items=tuple(items), mark="[ ]")
        yield from _tables(study, key, system)
    yield Paragraph(text=f"{SURGE} What names no source is common practice.", apart=True)
    yield from findings_blocks(study.findings, "Nothing.")
    yield from assumptions_blocks(study.assumptions, system)
    yield from care_blocks(study.cautions)


def _published(instruction: Instruction) -> str:
    """Its source, where it is more than common practice."""
    source = published(instruction.source)
    return "" if source is None else f" [{cite(source)}]"


def _tables(study: CommissionStudy, key: str, system: UnitSystem) -> Iterator[Block]:
    """What stands behind a step."""
    if key == "test":
        for part in study.tested:
            title = f"{part.name}, in use at most {show(part.highest, 'pressure', system)}"
            yield Paragraph(text=f"{title} in {part.highest_in}:", indent=2, apart=True)
            items = (
                f"{pressure_test_said(it, system, ' or more')} [{cite(it.source)}]"
                for it in part.tests
            )
            yield Checklist(items=tuple(items), mark="-")
    elif key == "flush":
        yield mains_table(study)
        yield outlets_table(study)
    elif key == "disinfect":
        yield parts_water_table(study)
        yield dose_table(study, system)
    elif key == "set":
        yield settings_table(study, system)
    elif key == "read":
        yield readings_table(study, system)


def step_said(study: CommissionStudy, key: str, system: UnitSystem) -> str:
    """A step in a sentence or two, with this house's figures."""
    said = {
        "test": _test,
        "set": _set,
        "flush": _flush,
        "disinfect": _disinfect,
        "rinse": _rinse,
        "heat": _heat,
        "read": _read,
    }
    return said[key](study, system)


def _test(study: CommissionStudy, system: UnitSystem) -> str:
    asked: dict[tuple[float, float | None], list[str]] = {}
    for part in study.tested:
        test = part.tests[0]
        asked.setdefault((test.pressure, test.minutes), []).append(part.name)
    told = []
    for (pressure, minutes), names in asked.items():
        text = f"{show(pressure, 'pressure', system)} or more"
        text += "" if minutes is None else f" for {minutes:.0f} min"
        told.append(text if len(asked) == 1 else f"{listed(names)} {text}")
    text = f"on water, {', '.join(told)} [{cite(study.tested[0].tests[0].source)}]"
    if study.most_asked > max(pressure for pressure, _ in asked):
        text += f"; some ask {show(study.most_asked, 'pressure', system)}"
    shut = f" Shut off: {', '.join(study.isolated)}." if study.isolated else ""
    return f"{text}.{shut}"


def _set(study: CommissionStudy, system: UnitSystem) -> str:
    told = (f"{it.what} {figures_said(it, system)}" for it in study.settings)
    return f"{'; '.join(told)}."


def _flush(study: CommissionStudy, system: UnitSystem) -> str:
    flushed, heater = study.flushing, "heater off until full, " if study.heats else ""
    water = show(flushed.water, "volume", system)
    text = (
        f"aerators off, {heater}cold and hot apart, mains first, then on each "
        f"storey the farthest outlet; {flushed.turns:.0f} times the pipe's water, {water}."
    )
    if flushed.mains:
        asks = max(flushed.mains, key=lambda main: main.needed)
        speed, needed, comes = (
            show(value, dimension, system)
            for value, dimension in (
                (flushed.velocity, "velocity"),
                (asks.needed, "flow"),
                (asks.flow, "flow"),
            )
        )
        but = "and" if asks.reached else "but"
        text += f" {speed} asks for {needed} in {asks.result.name}, {but} {comes} come"
        unknown = flushed.state == "cut-in"
        text += ", if the pump keeps up." if unknown else "."
    return text


def _disinfect(study: CommissionStudy, system: UnitSystem) -> str:
    doses = [study.dose(of) for of in study.doses_for]
    percent = _usual(doses[-1]).percent
    told = "; ".join(_dosed(dose, system) for dose in doses)
    where = ""
    if study.doses_for == ("well", "house"):
        where = ", all down the well" if study.wells == 1 else ", down the wells, each its share"
    text = f"in {percent:g} % bleach, held {doses[-1].hours:.0f} h{where}: {told}"
    for strong in study.disinfections:
        if strong.title.startswith("strong"):
            strength = show(strong.strength, "chlorine", system)
            text += f" (or {strength} for {strong.hours:.0f} h)"
    text += f" [{cite(doses[-1].source)}]"
    if study.only_if_asked:
        text = f"only if supplier, health office or a sample ask; {text}"
    elif study.house.source.kind == "main":
        text = f"as the utility says, the main shut; else {text}"
    heater = "; heater off" if study.heats else ""
    by = f"; bypass {listed(study.bypassed)}" if study.bypassed else ""
    return f"{text}. Never with acid or ammonia{heater}{by}."


def _usual(dose: Disinfection) -> Bleach:
    """The solution of the middle strength."""
    return dose.bleach[(len(dose.bleach) - 1) // 2]


def _dosed(dose: Disinfection, system: UnitSystem) -> str:
    """Water, strength and the usual bleach that it takes."""
    strength = show(dose.strength, "chlorine", system)
    if dose.water <= 0.0:
        return f"{dose.of} at {strength}, its water to be measured"
    water, bleach = show(dose.water, "volume", system), show(_usual(dose).volume, "dose", system)
    return f"{dose.of} {water} at {strength}, {bleach}"


def _rinse(study: CommissionStudy, system: UnitSystem) -> str:
    del study, system
    return (
        "until no chlorine is left, never into a septic tank or stream; a laboratory's "
        "sample for coliform bacteria must be clean before anyone drinks."
    )


def _heat(study: CommissionStudy, system: UnitSystem) -> str:
    if not study.expansions:
        return "no tank heater in the file, so nothing grows in store."
    shut = [each for each in study.expansions if each.closed_by]
    room = [each for each in study.expansions if not each.closed_by]
    told = [f"{_grown([each], system)}; {_shut_in(each, system)}." for each in shut]
    if room:
        told.append(f"{_grown(room, system)}; {_taken_in(room[0], system)}.")
    return " ".join(told)


def _grown(heaters: Sequence[Expansion], system: UnitSystem) -> str:
    """By how much the water of heaters grows."""
    volume = show(math.fsum(each.volume for each in heaters), "volume", system)
    grows = show(math.fsum(each.grows for each in heaters), "pipe-volume", system)
    cold, hot = (show(it, "temperature", system) for it in (heaters[0].cold, heaters[0].hot))
    names = [each.heater for each in heaters]
    verb = is_are(names, "grows", "grow")
    return f"{listed(names)}, {volume}, {verb} by {grows} from {cold} to {hot}"


def _shut_in(each: Expansion, system: UnitSystem) -> str:
    relief = show(each.relief, "setting", system)
    verb = is_are(each.closed_by, "shuts", "shut")
    text = f"{listed(each.closed_by)} {verb} it in: up to {relief}, where its relief valve drips"
    if each.tank is None or each.charge is None:
        return text
    tank, charge = show(each.tank, "volume", system), show(each.charge, "setting", system)
    return f"{text}, without an expansion tank of {tank}, air at {charge}"


def _taken_in(each: Expansion, system: UnitSystem) -> str:
    if each.reaches is None:
        return f"the {each.taken_by} takes it, how far is not known without its volume"
    at_rest = show(each.at_rest, "pressure", system)
    after = show(min(each.reaches, each.relief), "pressure", system)
    rises = f" at {at_rest}" if after == at_rest else f": {at_rest} become {after}"
    return f"the {each.taken_by} takes it{rises}"


def _read(study: CommissionStudy, system: UnitSystem) -> str:
    told = (f"{it.what} {figures_said(it, system)}" for it in study.readings)
    return f"{'; '.join(told)}. Written as [[reading]] in the file, 'supplycalc gauge' judges them."


def figures_said(record: SettingToMake | ExpectedReading, system: UnitSystem) -> str:
    """Its figures, in a few words."""
    told = []
    for field in public_fields(type(record)):
        value, measure = getattr(record, field.attribute), measure_of(field.hint)
        if measure is not None and value is not None:
            told.append(show(value, measure.dimension, system))
    return ", ".join(told)


def settings_table(study: CommissionStudy, system: UnitSystem) -> Table:
    """What is set, to which figure."""
    return table_of(
        "Set",
        SettingToMake,
        study.settings,
        (
            Column(name="what", of="what", wrap=True),
            Column(name="to", of=lambda it: figures_said(it, system)),
            Column(name="how", of="how", wrap=True),
        ),
    )


def readings_table(study: CommissionStudy, system: UnitSystem) -> Table:
    """What is expected, and room for what is read."""
    return table_of(
        "Expected",
        ExpectedReading,
        study.readings,
        (
            Column(name="reading", of="what", wrap=True),
            Column(name="expected", of=lambda it: figures_said(it, system), wrap=True),
            Column(name="read", of=lambda _: "________"),
        ),
    )


def parts_water_table(study: CommissionStudy) -> Table:
    """The water in each part, and what of the usual bleach it takes."""
    usual = {of: _usual(study.dose(of)) for of in study.doses_for}

    def dose(part: WaterPart) -> Cell:
        if part.volume is None:
            return "?"
        strength = study.dose(part.of).strength
        return chlorine_solution(part.volume, strength, usual[part.of].percent)

    return table_of(
        "Water that stands in it",
        WaterPart,
        study.water,
        (
            Column(name="part", of="name", wrap=True),
            Column(
                name="water",
                of=lambda part: "?" if part.volume is None else part.volume,
                dimension="volume",
            ),
            Column(name=f"{usual['house'].percent:g} % bleach", of=dose, dimension="dose"),
            Column(name="note", of="note", wrap=True),
        ),
    )


def dose_table(study: CommissionStudy, system: UnitSystem) -> Table:
    """Every dose with every solution that is sold."""
    percents = list(dict.fromkeys(it.percent for dose in study.disinfections for it in dose.bleach))

    def of(percent: float) -> Column:
        return Column(
            name=f"{percent:g} %",
            dimension="dose",
            of=lambda dose: next(
                (it.volume for it in dose.bleach if it.percent == percent and dose.water > 0.0),
                None,
            ),
        )

    return table_of(
        "Bleach, by the per cent on its label",
        Disinfection,
        study.disinfections,
        (
            Column(name="for", of=lambda dose: f"{dose.of}, {dose.title}", wrap=True),
            Column(name="dose", of=lambda dose: show(dose.strength, "chlorine", system)),
            Column(name="hours", of="hours", digits=0),
            *map(of, percents),
            Column(name="source", of=lambda dose: cite(dose.source), wrap=True),
        ),
    )


def mains_table(study: CommissionStudy) -> Table:
    """Whether each shared pipe is flushed fast enough."""
    return table_of(
        f"Mains, each with what hangs behind it open ({study.flushing.state})",
        FlushedMain,
        study.flushing.mains,
        (
            Column(name="main", of="result.name", wrap=True),
            Column(name="size", of="result.nominal"),
            Column(name="holds", of="water"),
            Column(name="asks", of="needed"),
            Column(name="comes", of="flow"),
            Column(name="speed", of="velocity"),
            Column(name="open for", of="time"),
            Column(name="enough", of=lambda main: "yes" if main.reached else "no"),
        ),
    )


def outlets_table(study: CommissionStudy) -> Table:
    """Every outlet in the order in which it is opened."""
    return table_of(
        "Then the outlets, each alone, in this order",
        FlushedOutlet,
        study.flushing.outlets,
        (
            Column(name="outlet", of="name", wrap=True),
            Column(name="storey", of="level", wrap=True),
            Column(name="way", of="length"),
            Column(name="branch", of="water"),
            Column(name="flow", of="flow"),
            Column(
                name="open for",
                of=lambda it: "no water" if it.time is None else it.time,
                dimension="time",
            ),
        ),
    )


def commission_section(study: CommissionStudy, system: UnitSystem) -> Iterator[Block]:
    """The steps with their figures, for a page that tells more than this."""
    yield Heading("Before it is used")
    if not study.design.ok:
        yield Paragraph(
            text="Mend first: the design fails. What stands here is for the supply as the file "
            "has it; after a change it differs.",
            mood="bad",
        )
    steps = (
        f"{title}: {step_said(study, key, system)}"
        for key, title in STEPS.items()
        if key not in ("set", "read")
    )
    yield Checklist(items=tuple(steps), mark="[ ]")
    yield settings_table(study, system)
    yield readings_table(study, system)
    for finding in study.findings:
        if finding.level != "note":
            yield FindingBlock(finding=finding)


BLANKS = {
    "test": "start ________ end ________ minutes ______ by ______________",
    "flush": "clear after ________",
    "disinfect": "poured ________ at ______ h, strip ______ mg/L, at the end ______ mg/L",
    "rinse": "none left at ______ h, sample no. ________ result ________",
    "heat": "at the tap ________",
}
"""Of the sheet; what is set and read stands in its tables."""


def sheet_page(study: CommissionStudy, system: UnitSystem) -> Iterator[Block]:
    """One sheet for the day, with blanks to sign."""
    yield Verdict(text=f"Before it is used: {study.house.project.name}", mood="strong")
    if not study.ok:
        yield Paragraph(text="The design fails: 'supplycalc size' tells what mends it.", mood="bad")
    for number, (key, title) in enumerate(STEPS.items(), 1):
        text = step_said(study, key, system) if key in BLANKS else "as in the table below"
        yield Paragraph(text=f"{title}: {text}", label=f"[ ] {number}", hang=6)
        if key in BLANKS:
            yield Paragraph(text=BLANKS[key], indent=6)
    yield settings_table(study, system)
    yield readings_table(study, system)
    yield Heading("Take care")
    yield Checklist(items=(*CARE, LIMITS), mark="!")
    yield Paragraph(text="Signed ______________________ on ____________", apart=True)
