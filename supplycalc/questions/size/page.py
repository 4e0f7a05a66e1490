"""What `size` prints: verdict, worst fixture, schedule, findings, assumptions, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from supplycalc.findings.materials import rating_exceeded
from supplycalc.findings.pressure import pressure_short
from supplycalc.findings.words import listed
from supplycalc.output import view
from supplycalc.output.cautions import cautions
from supplycalc.output.terminal import Page
from supplycalc.output.wording import (
    USED_UP,
    amount,
    assumption_text,
    cite,
    finding_text,
    first_words,
    money,
    remedy_text,
    sentence,
    verdict,
)
from supplycalc.sizing.design import Design, Finding
from supplycalc.units import UnitSystem, show

RATED, SHORT = rating_exceeded.code, pressure_short.code
LABELS = {"fail": ("FAIL", "red"), "warn": ("WARN", "yellow"), "note": ("NOTE", "bold")}


def size_page(
    page: Page, design: Design, system: UnitSystem, *, why: bool = False, details: bool = False
) -> None:
    """Write the result of `size`.

    Args:
        page: to write on.
        design: the sized house.
        system: units to show.
        why: also what the next smaller sizes would have done.
        details: also bores, counted lengths, K and Reynolds numbers.
    """
    text = verdict(design, system)
    word = text.split(":")[0].split()[0].rstrip(",:")
    first = "red" if word == "Fails" else "yellow" if "thin margin" in text else "green"
    page.paragraph(text, style=first)
    page.blank()
    page.paragraph(_basis(design, system))
    steps = view.account(design, design.worst)
    page.table(steps, system)
    if not view.adds_up(steps, system):
        page.paragraph("Each figure is rounded by itself, so the last digit may be one off.")
    for valve in design.devices:
        if valve.device.setting is not None and valve.device.name in design.worst.path:
            page.paragraph(
                f"{valve.device.name}: a reducing valve set to "
                f"{show(valve.device.setting, 'pressure', system)}; its loss is what it takes away "
                "at this flow."
            )
    page.table(view.fixtures(design), system)
    page.paragraph(
        "gets: pressure at the fixture's stop while the design flow runs; needs: what it asks for."
    )
    if design.worst.residual < 0:
        page.paragraph(USED_UP)
    page.table(view.schedule(design), system)
    page.paragraph(_cost(design, system))
    if why:
        page.table(view.next_smaller(design), system)
    if details:
        page.table(view.details(design), system)
    _findings(page, design, system)
    _remedies(page, design, system)
    _assumptions(page, design, system)
    page.heading("Take care")
    for caution in cautions(design):
        page.paragraph(caution, indent=2, hang=2)


def _basis(design: Design, system: UnitSystem) -> str:
    source, demand = design.source, design.demand
    name = design.house.project.name
    flow = show(demand.design_flow[0], "flow", system)
    text = f"{name}: design flow {flow} by method '{demand.method}'"
    if demand.load_name:
        text += f" ({demand.load[0]:.{view.load_digits(design)}f} {demand.load_name})"
    working = show(source.design_pressure, "pressure", system)
    highest = show(source.static_pressure, "pressure", system)
    return f"{text}; {working} at the source while it runs, {highest} at most."


def _cost(design: Design, system: UnitSystem) -> str:
    if design.cost_basis == "pipe mass":
        cost = f"{show(design.cost, 'mass', system)} of pipe (no price list: mass stands for cost)"
    else:
        cost = f"{money(design.cost, design.currency)} for pipe, by the price list"
    if design.optimal:
        return f"No cheaper choice of sizes keeps every limit: {cost}."
    return f"No choice of sizes keeps the pressure; this one falls short least: {cost}."


def _findings(page: Page, design: Design, system: UnitSystem) -> None:
    page.heading("Findings")
    if not design.findings:
        page.paragraph("None: no limit is broken.", indent=2)
    for finding, others in _alike(design.findings):
        finding_lines(page, finding, system)
        if others:
            _others(page, others, system)


def _alike(findings: Iterable[Finding]) -> Iterator[tuple[Finding, list[Finding]]]:
    """Findings by level; what is short for the same reason as one before it stands with that."""
    told: list[tuple[Finding, list[Finding]]] = []
    alike: dict[object, list[Finding]] = {}
    for finding in sorted(findings, key=lambda one: list(LABELS).index(one.level)):
        # a rating counts as the same where it is the same pressure at the same temperature
        same = finding.values[1:] if finding.code == RATED else ()
        key = finding.code, finding.remedy, same
        if finding.code in (SHORT, RATED) and key in alike:
            alike[key].append(finding)
            continue
        alike[key] = []
        told.append((finding, alike[key]))
    for finding, others in told:
        yield finding, others if len(others) > 1 else []
        if len(others) == 1:
            yield others[0], []


def _others(page: Page, others: list[Finding], system: UnitSystem) -> None:
    """What fails for the same reason as the one before, in one line."""
    place = 2 if others[0].code == SHORT else 0
    least, most = (f(one.values[place][0] for one in others) for f in (min, max))
    ends = f"{amount(least, system)} to {amount(most, system)}"
    if amount(least, system) == amount(most, system):
        ends = amount(most, system)
    label, style = LABELS["fail"]
    names = listed(one.where for one in others)
    if others[0].code == SHORT:
        text = f"{names}: short by {ends} for the same reason, each as the table above shows"
    elif others[0].values[0][1] == "temperature":
        text = f"{names}: the same, water of {sentence('{0}', others[0].values, system)}"
    else:
        text = f"{names}: the same, with {ends} there"
    page.paragraph(text, label=label, style=style, indent=2, hang=5)


def finding_lines(page: Page, finding: Finding, system: UnitSystem) -> None:
    """One finding: level, where, what; then what mends it and where the limit comes from."""
    label, style = LABELS[finding.level]
    message = finding_text(finding, system)
    page.paragraph(
        f"{first_words(finding, message)}{message}", label=label, style=style, indent=2, hang=5
    )
    if finding.remedy:
        remedy = sentence(finding.remedy, finding.remedy_values, system)
        word = "To do" if finding.level == "note" else "To mend it"
        page.paragraph(f"{word}: {remedy}", indent=7, hang=2)
    page.paragraph(f"Source: {cite(finding.source)}", indent=7, hang=2)


def _remedies(page: Page, design: Design, system: UnitSystem) -> None:
    if not design.remedies:
        return
    page.heading("Changes that mend it, each computed to work; do one of them")
    for number, remedy in enumerate(design.remedies, start=1):
        spare = amount(remedy.worst_margin, system)
        text = f"{remedy_text(remedy, system)}: then {spare} to spare at {remedy.worst_name}"
        if remedy.cost > 0 and design.cost_basis == "pipe mass":
            text += f"; {show(remedy.cost, 'mass', system)} more pipe"
        elif remedy.cost > 0:
            text += f"; {money(remedy.cost, design.currency)} more for pipe"
        page.paragraph(text, label=f"{number}.", indent=2, hang=3)


def _assumptions(page: Page, design: Design, system: UnitSystem) -> None:
    if not design.assumptions:
        return
    page.heading("Assumed, because the file leaves it out")
    for one in design.assumptions:
        page.paragraph(assumption_text(one, system), label="-", indent=2, hang=2)
