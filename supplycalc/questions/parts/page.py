"""What `parts` shows: pipe, cut list, everything else to buy, ports; choices side by side."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import (
    Block,
    Paragraph,
    Verdict,
    assumptions_blocks,
    care_blocks,
    findings_blocks,
)
from supplycalc.output.cautions import LIMITS
from supplycalc.questions.parts.manifolds import ManifoldUse
from supplycalc.questions.parts.options import PartsOptions
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.questions.parts.tables import (
    cut_table,
    group_tables,
    option_table,
    pipe_table,
    port_table,
    sleeve_table,
)
from supplycalc.records.sentences import amount
from supplycalc.units import UnitSystem, show


def parts_page(parts: PartsList, system: UnitSystem, *, where: bool = False) -> Iterator[Block]:
    """What `parts` shows of one list."""
    yield Verdict(text=parts.answer(system), mood="good" if parts.ok else "bad")
    if not parts.design.ok:
        yield Paragraph(text=parts.design.verdict(system), mood="bad")
    yield pipe_table(parts, system)
    yield Paragraph(
        text=f"runs: as in the design; with {show(parts.waste, 'share', system)} waste: what is "
        "cut; left: what remains of the coils and sticks."
    )
    yield cut_table(parts, system)
    if all(lot.least for lot in parts.lots):
        yield Paragraph(text="No other choice of these lengths holds all pieces at less cost.")
    yield from group_tables(parts, where=where)
    if parts.sleeves:
        yield sleeve_table(parts)
    for use in parts.manifolds:
        yield port_table(use)
        yield Paragraph(text=_body(use, system))
    yield from findings_blocks(parts.findings, "None.")
    yield from assumptions_blocks(parts.assumptions, system, "Assumptions")
    yield from care_blocks(parts.cautions)


def _body(use: ManifoldUse, system: UnitSystem) -> str:
    lost = amount(use.body_loss, system)
    lost = lost if lost.startswith("less") else f"up to {lost}"
    return (
        f"{use.total} ports, {use.spare} spare, a valve at each used port, one shut-off and one "
        f"drain; the body loses {lost}, which the sizing leaves out."
    )


def options_page(options: PartsOptions) -> Iterator[Block]:
    """The parts of each choice side by side."""
    yield Verdict(text=options.answer, mood="good" if options.ok else "bad")
    yield option_table(options)
    yield Paragraph(
        text="Each choice is really sized, all other open sizes chosen anew; left out is what has "
        "no price."
    )
    if options.prices is not None:
        lists = [option.parts for option in options.options if option.parts is not None]
        unpriced = dict.fromkeys(item.words for parts in lists for item in parts.unpriced)
        if unpriced:
            yield Paragraph(text=f"No price for: {', '.join(unpriced)}.")
    yield from care_blocks((LIMITS,))
