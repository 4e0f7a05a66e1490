"""What `compare` shows: the answer first, then the options in one table."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.pressure import pressure_short
from supplycalc.output.blocks import (
    EVERYTHING,
    Block,
    FindingBlock,
    Heading,
    Paragraph,
    Verdict,
)
from supplycalc.output.one_screen import LINES, MANY_LINES, MANY_ROWS, NEXT_STEP, fitted
from supplycalc.output.terminal import height_of
from supplycalc.questions.compare.study import ComparedOption, Comparison
from supplycalc.questions.size.page import USED_UP
from supplycalc.records import Column, Table, table_of
from supplycalc.records.sentences import Finding
from supplycalc.units import UnitSystem, show

CARE_IN_SHORT = "Care: an estimate; code, inspector, licensed trades decide."


def comparison_page(comparison: Comparison, system: UnitSystem) -> Iterator[Block]:
    """What `compare` shows."""
    yield Verdict(text=comparison.answer(system), mood="good" if comparison.ok else "bad")
    yield comparison_table(comparison, system)
    several = " (the highest of its runs)" if len(comparison.runs) > 1 else ""
    if comparison.runs:
        yield Paragraph(
            text=f"velocity and loss: in {comparison.subject}{several}; pipe: of the whole house."
        )
    if any(
        option.design and option.design.worst.used_up_in is not None
        for option in comparison.options
    ):
        yield Paragraph(text=USED_UP)
    yield from differing(comparison, system)
    yield from _next_step(comparison, system)


def comparison_first(comparison: Comparison, system: UnitSystem) -> Iterator[Block]:
    """The options on one screen: answer, table, what else differs in short, what to do."""
    fixtures = max((len(it.design.outlets) for it in comparison.options if it.design), default=0)
    blocks: list[Block] = [
        Verdict(text=comparison.answer(system), mood="good" if comparison.ok else "bad"),
        comparison_table(comparison, system),
    ]
    end: list[Block] = [
        *_next_step(comparison, system),
        Paragraph(text=f"{CARE_IN_SHORT} {EVERYTHING}"),
    ]
    room = MANY_LINES if fixtures >= MANY_ROWS else LINES
    room -= height_of([*blocks, *end], system)
    for blocks_each in ([*differing(comparison, system, most=most)] for most in (3, 2, 1)):
        if height_of(blocks_each, system) < room:
            blocks += blocks_each
            break
    yield from fitted([*blocks, *end], system, fixtures=fixtures)


def _next_step(comparison: Comparison, system: UnitSystem) -> Iterator[Block]:
    """What to do with the answer; nothing where no choice works."""
    best = comparison.cheapest
    if best is not None and best.too_fast:
        best = comparison.cheapest_unflawed or best
    if best is None:
        yield Paragraph(text=f"{NEXT_STEP}supplycalc size tells what would mend it.", apart=True)
        return
    steps = []
    if best.material is not None:
        steps.append(f'write material = "{best.material}" at {comparison.subject}')
    if best.size is not None:
        steps.append(f'write size = "{best.size}" at {comparison.subject}')
    if best.setting is not None:
        setting = show(best.setting, "setting", system)
        key = (comparison.setting or "").replace("-", "_").replace(" ", "_")
        steps.append(f'write {key} = "{setting}" in [source]')
    if steps:
        text = f"{NEXT_STEP}{', '.join(steps)}, then supplycalc size."
        yield Paragraph(text=text, apart=True)


def differing(
    comparison: Comparison, system: UnitSystem, most: int | None = None, *, failing: bool = True
) -> Iterator[Block]:
    """Failures and warnings that not every option has; the table tells who is short already.

    With `most` no more than so many of an option, a line each; without `failing` of options alone
    that work.
    """
    sized = [(option, option.design.findings) for option in comparison.options if option.design]
    seen: dict[tuple[str, str], int] = {}
    for _, findings in sized:
        for key in {(finding.code, finding.where) for finding in findings}:
            seen[key] = seen.get(key, 0) + 1

    def tells_apart(finding: Finding) -> bool:
        left_out = finding.level == "note" or finding.code == pressure_short.code
        return not left_out and seen[finding.code, finding.where] < len(sized)

    differing = [
        (option, [finding for finding in findings if tells_apart(finding)])
        for option, findings in sized
        if failing or (option.design and option.design.ok)
    ]
    if any(told for _, told in differing):
        yield Heading("What else differs between them")
    for option, told in differing:
        if not told:
            continue
        label = comparison.label(option, system)
        if most is not None:
            more = f" (and {len(told) - most} more)" if len(told) > most else ""
            yield Paragraph(text=f"{label}{more}:", indent=2, hang=2)
            yield from (FindingBlock(finding=finding, brief=1) for finding in told[:most])
            continue
        yield Paragraph(text=f"{label}:", indent=2, hang=2)
        for finding in told:
            yield Paragraph(
                text=f"{finding.opening(system)}{finding.said(system)}",
                label=finding.level.upper(),
                mood="bad" if finding.level == "fail" else "care",
                indent=4,
                hang=5,
            )


def comparison_table(comparison: Comparison, system: UnitSystem) -> Table:
    """The options side by side."""
    of_runs, setting = bool(comparison.runs), comparison.setting
    pump_gives = Column(name="pump gives", of="line.flow", wrap=True)
    columns = [
        *([Column(name="tube", of="material", wrap=True)] if comparison.by_material else ()),
        *([Column(name="size", of=_size)] if of_runs else ()),
        *([Column(name=setting, of="setting")] if setting else ()),
        Column(name="worst fixture", of="design.worst.name", wrap=True),
        Column(name="gets", of="design.worst.residual"),
        Column(name="to spare", of="design.worst.margin", wrap=True),
        *([pump_gives] if comparison.before_tank else ()),
        *([Column(name="velocity", of="velocity", wrap=True)] if of_runs else ()),
        *([Column(name="loss", of="loss")] if of_runs else ()),
        Column(name="pipe", of="design.cost", dimension="mass"),
        Column(name="verdict", of=lambda option: option.verdict(system), wrap=True),
    ]
    subject = comparison.subject or "the source"
    return table_of(
        f"Choices for {subject}; every other size is chosen anew for each",
        ComparedOption,
        comparison.options,
        columns,
    )


def _size(option: ComparedOption) -> str:
    """The size asked for, else all that were chosen for its runs."""
    return option.size or "/".join(dict.fromkeys(run.nominal for run in option.runs))
