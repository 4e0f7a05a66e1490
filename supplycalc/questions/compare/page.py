"""What `compare` prints and its JSON: the answer first, then the options in one table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from supplycalc.findings.pressure import pressure_short
from supplycalc.output.machine import cost_quantity, quantity, source_to_dict, unit_system
from supplycalc.output.old_page import OLD_LABELS as LABELS
from supplycalc.output.wording import THIN_MARGIN, USED_UP, amount, finding_text, first_words
from supplycalc.records.table import Cell, Column, Table
from supplycalc.units import show

if TYPE_CHECKING:
    from collections.abc import Iterator

    from supplycalc.output.old_page import Page
    from supplycalc.questions.compare.study import Comparison, Option
    from supplycalc.sizing.design import Finding
    from supplycalc.units import UnitSystem

COMPARE_SCHEMA = "supplycalc-compare/1"


def option_verdict(option: Option, system: UnitSystem) -> str:
    """An option in a few words."""
    design = option.design
    if design is None:
        return option.reason
    if design.worst.margin < 0 and design.shortfall > 0:
        return f"FAILS, short by {amount(-design.worst.margin, system)}"
    fails = [finding for finding in design.findings if finding.level == "fail"]
    if fails:
        return f"FAILS, {fails[0].code.replace('-', ' ')}"
    words = ["works"]
    if design.worst.margin < THIN_MARGIN:
        words.append("thin margin")
    if option.too_fast:
        words.append("over velocity limit")
    return ", ".join(words)


def label(result: Comparison, option: Option, system: UnitSystem) -> str:
    """The choice in words, e.g. "service at 3/4 with cut-in 40.0 psi"."""
    text = result.subject
    if option.material is not None:
        text += f" in {option.material}"
    if option.size is not None:
        text += f" at {option.size}"
    if option.setting is not None:
        setting = f"{result.setting} {show(option.setting, 'pressure', system)}"
        text = f"{text} with {setting}" if text else setting
    return text


def answer(result: Comparison, system: UnitSystem) -> str:
    """Which option to take, in one sentence."""
    best, clean = result.cheapest, result.cheapest_unflawed
    if best is None or best.design is None:
        other = result.otherwise
        if other is not None and other.design is not None:
            spare = amount(other.design.worst.margin, system)
            return (
                f"None of these works; {label(result, other, system)} does, with {spare} to spare "
                f"at {other.design.worst.name}."
            )
        return "None of these works; 'supplycalc size' says what would mend it."
    worst = best.design.worst
    spare = amount(worst.margin, system)
    least = "works"
    if len(result.options) > 1 and not result.runs:
        least = "is the lowest that works"
    elif len(result.options) > 1:
        cost = "with least pipe" if best.design.cost_basis == "pipe mass" else "that costs least"
        least = f"works and is the choice {cost}"
    text = f"{label(result, best, system)} {least}, with {spare} to spare at {worst.name}"
    if worst.margin < THIN_MARGIN:
        text += ", which is a thin margin"
    if best.too_fast:
        text += "; but water runs faster there than the limit"
        if clean is not None:
            text += f", which {label(result, clean, system)} keeps"
    return f"{text}."


def comparison_table(result: Comparison, system: UnitSystem) -> Table:
    """The options side by side."""
    columns: list[Column] = []
    if result.by_material:
        columns.append(Column(name="tube", wrap=True))
    if result.runs:
        columns.append(Column(name="size"))
    if result.setting:
        columns.append(Column(name=result.setting, dimension="pressure"))
    columns.append(Column(name="worst fixture", wrap=True))
    columns.append(Column(name="gets", dimension="pressure"))
    columns.append(Column(name="to spare", dimension="pressure", wrap=True))
    if result.runs:
        columns.append(Column(name="velocity", dimension="velocity", wrap=True))
        columns.append(Column(name="loss", dimension="pressure"))
    currency = {one.design.currency for one in result.options if one.design} - {""}
    if currency:
        columns.append(Column(name=f"pipe, {currency.pop()}", digits=2, wrap=True))
    else:
        columns.append(Column(name="pipe", dimension="mass"))
    columns.append(Column(name="verdict", wrap=True))
    title = f"Choices for {result.subject}" if result.subject else "Choices for the source"
    return Table(
        title=f"{title}; every other size is chosen anew for each",
        columns=tuple(columns),
        rows=tuple(_row(result, option, system) for option in result.options),
    )


def _row(result: Comparison, option: Option, system: UnitSystem) -> tuple[Cell, ...]:
    design = option.design
    cells: list[Cell] = []
    if result.by_material:
        cells.append(option.material)
    if result.runs:
        chosen = dict.fromkeys(one.size.nominal for one in option.runs)
        cells.append(option.size or "/".join(chosen))
    if result.setting:
        cells.append(option.setting)
    cells.append(None if design is None else design.worst.name)
    cells.append(None if design is None else design.worst.residual)
    cells.append(None if design is None else design.worst.margin)
    if result.runs:
        cells += [option.velocity, option.loss]
    cells.append(None if design is None else design.cost)
    cells.append(option_verdict(option, system))
    return tuple(cells)


def comparison_page(page: Page, result: Comparison, system: UnitSystem) -> None:
    """Write the result of `compare`."""
    style = "red" if not result.ok else "green"
    page.paragraph(answer(result, system), style=style)
    page.table(comparison_table(result, system), system)
    several = " (the highest of its runs)" if len(result.runs) > 1 else ""
    if result.runs:
        page.paragraph(
            f"velocity and loss: in {result.subject}{several}; pipe: of the whole house."
        )
    if any(one.design is not None and one.design.worst.residual < 0 for one in result.options):
        page.paragraph(USED_UP)
    differing = list(_differing(result))
    if differing:
        page.heading("What else differs between them")
    before: Option | None = None
    for option, finding in differing:
        if option is not before:
            page.paragraph(f"{label(result, option, system)}:", indent=2, hang=2)
            before = option
        word, style = LABELS[finding.level]
        message = finding_text(finding, system)
        text = f"{first_words(finding, message)}{message}"
        page.paragraph(text, label=word, style=style, indent=4, hang=5)


def _differing(result: Comparison) -> Iterator[tuple[Option, Finding]]:
    """Failures and warnings that not every option has; the table tells who is short already."""
    there = [(one, one.design.findings) for one in result.options if one.design is not None]
    seen: dict[tuple[str, str], int] = {}
    for _, findings in there:
        for key in {(one.code, one.where) for one in findings}:
            seen[key] = seen.get(key, 0) + 1
    for option, findings in there:
        for finding in findings:
            if finding.level == "note" or finding.code == pressure_short.code:
                continue
            if seen[finding.code, finding.where] < len(there):
                yield option, finding


def comparison_to_dict(result: Comparison, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `compare`; units "us" or "metric", None takes the project's."""
    system = unit_system(result.house, units)
    best = result.cheapest
    return {
        "schema": COMPARE_SCHEMA,
        "project": result.house.project.name,
        "ok": result.ok,
        "units": system,
        "subject": result.subject or None,
        "runs": list(result.runs),
        "setting": result.setting or None,
        "best": None if best is None else result.options.index(best),
        "options": [_option(one, system) for one in result.options],
        "otherwise": None if result.otherwise is None else _option(result.otherwise, system),
    }


def _option(option: Option, system: UnitSystem) -> dict[str, Any]:
    design = option.design
    return {
        "material": option.material,
        "size": option.size,
        "setting": quantity(option.setting, "pressure", system),
        "ok": option.ok,
        "verdict": option_verdict(option, system),
        "worst": design
        and {
            "name": design.worst.fixture.name,
            "side": design.worst.side,
            "residual": quantity(design.worst.residual, "pressure", system),
            "required": quantity(design.worst.required, "pressure", system),
            "margin": quantity(design.worst.margin, "pressure", system),
        },
        "runs": [
            {
                "name": one.run.name,
                "material": one.run.material,
                "size": one.size.nominal,
                "velocity": quantity(one.velocity, "velocity", system),
                "velocity_limit": quantity(one.velocity_limit, "velocity", system),
                "loss": quantity(one.loss, "pressure", system),
            }
            for one in option.runs
        ],
        "cost": design
        and {
            "total": cost_quantity(design.cost, design, system),
            "basis": design.cost_basis,
        },
        "findings": [
            {
                "level": one.level,
                "code": one.code,
                "where": one.where,
                "message": finding_text(one, system),
                **source_to_dict(one.source),
            }
            for one in (design.findings if design else ())
        ],
    }
