"""Sentences about a design: the verdict, findings, assumptions, sources, in the reader's units."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from supplycalc.units import PSI, show

if TYPE_CHECKING:
    from collections.abc import Sequence

    from supplycalc.sizing.design import Assumption, Design, Finding, OutletResult, Remedy
    from supplycalc.tables import Citation
    from supplycalc.units import UnitSystem

THIN_MARGIN = 5 * PSI
"""[Pa] 5 psi: less than this to spare is called thin; our own."""
USED_UP = "Below zero: at these flows the pressure is used up before the water gets there."
FROM_MEMORY = "from memory, check against your code"
NO_SOURCE = "common practice, no source"
_MARK = re.compile(r"\{(\d+)\}")


def money(amount: float, currency: str) -> str:
    """An amount with its currency, e.g. "1,234.50 USD"."""
    return f"{amount:,.2f} {currency}".rstrip()


def sentence(text: str, values: Sequence[tuple[float, str]], system: UnitSystem) -> str:
    """Fill the marks `{0}`, `{1}`, … of a text; other braces stay as they are."""

    def filled(match: re.Match[str]) -> str:
        number = int(match[1])
        if number >= len(values):
            return match[0]
        value, dimension = values[number]
        return show(value, dimension, system)

    return _MARK.sub(filled, text)


def cite(source: Citation | None) -> str:
    """A source in words, with its mark where the figure was not seen in print."""
    if source is None:
        return NO_SOURCE
    text = source.text
    if source.edition and source.edition not in text:
        text = f"{text}, {source.edition}"
    if source.check == "memory":
        return f"{text} ({FROM_MEMORY})"
    return text


def remedy_text(remedy: Remedy, system: UnitSystem) -> str:
    """A remedy as an order, e.g. "set the pressure switch to 50.0 psi / 70.0 psi"."""
    return sentence(remedy.text, remedy.values, system)


def finding_text(finding: Finding, system: UnitSystem) -> str:
    """What a finding says, without its place and source."""
    return sentence(finding.message, finding.values, system)


def assumption_text(one: Assumption, system: UnitSystem) -> str:
    """What was assumed, with its source where it has one."""
    text = sentence(one.text, one.values, system)
    return text if one.source is None else f"{text} [{cite(one.source)}]"


def first_words(finding: Finding, message: str) -> str:
    """Where a finding stands, as the start of its sentence; nothing if the sentence begins so."""
    return "" if not finding.where or message.startswith(finding.where) else f"{finding.where}: "


def amount(value: float, system: UnitSystem) -> str:
    """A pressure to spare or short; one that rounds to nothing is told as less than a digit."""
    text = show(value, "pressure", system)
    number, unit = text.split()
    if float(number) != 0.0 or value <= 0.0:
        return text
    digits = len(number.partition(".")[2])
    return f"less than {10.0**-digits:.{digits}f} {unit}"


def verdict(design: Design, system: UnitSystem) -> str:
    """The answer in one sentence that a person can act on.

    Args:
        design: judged.
        system: units to speak in.

    Returns:
        One sentence that begins with "Works", "Works, but" or "Fails".
    """
    fails = [finding for finding in design.findings if finding.level == "fail"]
    short = [outlet for outlet in design.outlets if outlet.margin < 0 and design.shortfall > 0]
    if short:
        return _short(design, short, system)
    if fails:
        return _other_fail(fails, system)
    return _works(design, system)


def _works(design: Design, system: UnitSystem) -> str:
    worst = design.worst
    spare = amount(worst.margin, system)
    needs = show(worst.required, "pressure", system)
    gets = show(worst.residual, "pressure", system)
    chosen = _first_choice(design)
    with_it = f" with {chosen}" if chosen else ""
    end = _look_at(design)
    if worst.margin < THIN_MARGIN:
        spare = spare if spare.startswith("less") else f"only {spare}"
        return (
            f"Works{with_it}, but with a thin margin: {spare} to spare at {worst.name}, which "
            f"gets {gets} and needs {needs}; measure before you build on it{end}."
        )
    return (
        f"Works{with_it}: every fixture keeps its pressure; the one with least to spare, "
        f"{worst.name}, gets {gets} and needs {needs}, {spare} to spare{end}."
    )


def _first_choice(design: Design) -> str:
    """The run from the source and its size, where the size was open: what most people ask first."""
    first = design.runs[0] if design.runs else None
    if first is None or first.run.size is not None or first.index != 1:
        return ""
    return f"{first.run.name} at {first.size.nominal}{'' if first.tube.metric else ' inch'}"


def _look_at(design: Design) -> str:
    count = sum(finding.level == "warn" for finding in design.findings)
    if not count:
        return ""
    return "; one warning below" if count == 1 else f"; {count} warnings below"


def _short(design: Design, short: Sequence[OutletResult], system: UnitSystem) -> str:
    worst = short[0]
    by = amount(-worst.margin, system)
    gets = f"gets {show(worst.residual, 'pressure', system)}"
    if worst.residual < 0:
        gets = "the pressure is used up before it gets there"
    needs = show(worst.required, "pressure", system)
    text = f"Fails: {_pump(design, system)}{worst.name} is short by {by} ({gets}, needs {needs})"
    others = len({one.fixture.name for one in short} - {worst.fixture.name})
    if others:
        text += f", and {others} more {'fixture falls' if others == 1 else 'fixtures fall'} short"
    if not design.remedies:
        source = "a booster" if design.house.source.kind == "main" else "a higher switch setting"
        first_of_all = (
            "; start with the pump, or with less at once" if _pump(design, system) else ""
        )
        return (
            f"{text}; larger pipe, shorter runs, devices left out and {source} do not mend it"
            f"{first_of_all}."
        )
    first = design.remedies[0]
    spare = amount(first.worst_margin, system)
    return (
        f"{text}; to mend it, {remedy_text(first, system)} "
        f"(computed: then {spare} to spare at {first.worst_name})."
    )


def _pump(design: Design, system: UnitSystem) -> str:
    """What comes before all pipe: the pump gives less than the design flow."""
    if design.source.limited_by != "pump" or design.source.pump_flow is None:
        return ""
    flow = show(design.demand.design_flow[0], "flow", system)
    gives = show(design.source.pump_flow, "flow", system)
    return f"the pump gives {gives} at cut-in, the design flow is {flow}; "


def _other_fail(fails: Sequence[Finding], system: UnitSystem) -> str:
    first = fails[0]
    message = finding_text(first, system).rstrip(".")
    where = first_words(first, message)
    text = f"Fails, though no fixture is short of pressure: {where}{message}"
    if first.remedy:
        mend = sentence(first.remedy, first.remedy_values, system).rstrip(".")
        text += f"; to mend it, {mend}"
    more = len(fails) - 1
    if more:
        text += f" (and {more} more {'failure' if more == 1 else 'failures'} below)"
    return f"{text}."
