"""What `risk` shows: how sure it is, which fixtures, what to measure, pump, tank and well."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.output.blocks import (
    Block,
    Checklist,
    Heading,
    Mood,
    Paragraph,
    Verdict,
    care_blocks,
    care_in_short,
)
from supplycalc.output.cautions import cautions
from supplycalc.questions.risk.study import OutletRisk, Risk, WellRisk
from supplycalc.questions.size.page import cost_said
from supplycalc.records.known_ranges import range_said
from supplycalc.records.table import Column, Table, table_of
from supplycalc.sizing.certainty import SureSizes, share_said
from supplycalc.units import UnitSystem, show

MOST_FIXTURES, MOST_FIGURES = 4, 3
"""On the first screen."""


EVEN = 0.5
LEAST_TOLD = 0.005
"""Part of the variance: less is told as mattering less."""


def risk_page(risk: Risk, system: UnitSystem) -> Iterator[Block]:
    """What `risk` shows with everything."""
    yield from _verdict(risk, system)
    if risk.certainty is not None:
        yield fixtures_table(risk.fixtures)
        yield Paragraph(
            text="short: part of the draws in which it has less than it needs; the pressures are "
            "those that it has less than in 5, 50 and 95 of 100 draws, at the code's peak."
        )
        yield from _figures(risk, len(risk.weights))
        yield from _well(risk.well, system)
        yield price_table(risk, system)
        yield Heading("What is known within a range")
        yield Checklist(
            items=tuple(
                f"{each.name} in line {each.known.known.place.line}: "
                f"{range_said(each.known.known, system)}; {each.how}"
                for each in risk.certainty.measurements
            ),
            mark="-",
        )
        yield Paragraph(text=_draws(risk))
    yield from care_blocks(cautions(risk.design))


def risk_first(risk: Risk, system: UnitSystem) -> Iterator[Block]:
    """What `risk` shows at first."""
    yield from _verdict(risk, system)
    if risk.certainty is not None:
        yield fixtures_table(risk.fixtures[:MOST_FIXTURES])
        yield from _figures(risk, MOST_FIGURES)
        yield from _well(risk.well, system)
        yield from _price(risk, system)
        yield Paragraph(text=_draws(risk))
    yield from care_in_short(hot="hot" in risk.design.tree.side)


def _verdict(risk: Risk, system: UnitSystem) -> Iterator[Block]:
    sure = risk.certainty
    mood: Mood = "plain" if sure is None else "good" if sure.works == 1.0 else "care"
    if sure is not None and sure.works < EVEN:
        mood = "bad"
    yield Verdict(text=risk.verdict(system), mood=mood)


def fixtures_table(fixtures: tuple[OutletRisk, ...]) -> Table:
    """A line for each connection, as the screen and a spreadsheet have it."""
    return table_of(
        "Fixtures, the one that is short most often first",
        OutletRisk,
        fixtures,
        (
            Column(name="fixture", of="name", wrap=True),
            Column(name="short", of="short"),
            Column(name="±", of=lambda row: 2.0 * row.short_error, dimension="share"),
            Column(name="5 %", of="residual_5"),
            Column(name="50 %", of="residual_50"),
            Column(name="95 %", of="residual_95"),
            Column(name="needs", of="required"),
        ),
    )


def _figures(risk: Risk, most: int) -> Iterator[Block]:
    """What matters most, and what measuring it tells."""
    assert risk.certainty is not None
    gains = {each.known.known.path: each for each in risk.certainty.measurements}
    if not risk.weights:
        yield Paragraph(text="No figure known within a range bears on pressure at a fixture.")
        return
    yield Heading("What matters, as part of what is unsure at the tightest fixture")
    telling = [weight for weight in risk.weights if weight.in_all >= LEAST_TOLD]
    for weight in telling[:most]:
        gain = gains[weight.known.known.path]
        error = share_said(2.0 * weight.in_all_error)
        text = f"{weight.name}: {share_said(min(weight.in_all, 1.0))} (± {error})"
        if gain.gain >= 0.001:
            text += f"; measured, right in {share_said(gain.right)}"
        yield Paragraph(text=text, indent=2, hang=2)
    if len(risk.weights) > min(most, len(telling)):
        rest = len(risk.weights) - min(most, len(telling))
        yield Paragraph(text=f"and {rest} more, of less weight", indent=2)


def _well(well: WellRisk | None, system: UnitSystem) -> Iterator[Block]:
    """Pump, tank and well in a line each."""
    if well is None or not well.draws:
        return
    yield Heading("Pump, tank and well: 5, 50 and 95 %")

    def three(values: tuple[float, ...], dimension: str) -> str:
        return ", ".join(show(value, dimension, system) for value in values)

    if well.pump_flow is not None and well.pump_too_small is not None:
        yield Paragraph(
            text=f"pump gives {three(well.pump_flow, 'flow')}; "
            f"{_in('too small', well.pump_too_small)}, "
            f"{_in('below the peak', well.below_peak or 0.0)}",
            indent=2,
            hang=2,
        )
    if well.drawdown is not None and well.run_time is not None:
        short = ""
        if well.run_too_short is not None:
            short = f"; {_in('too short a run', well.run_too_short)}"
        yield Paragraph(
            text=f"tank holds {three(well.drawdown, 'volume')}, filled in "
            f"{three(well.run_time, 'minutes')}{short}",
            indent=2,
            hang=2,
        )
    if well.sustained is not None and well.well_too_small is not None:
        yield Paragraph(
            text=f"well sustains {three(well.sustained, 'flow')}; "
            f"{_in('too little', well.well_too_small)}",
            indent=2,
            hang=2,
        )


def _price(risk: Risk, system: UnitSystem) -> Iterator[Block]:
    """What other chances cost, in a line or two."""
    told, usual = [], risk.design.cost
    for each in risk.price_of_certainty:
        cost = cost_said(each.cost, risk.design, system) if each.kept else "no sizes"
        told.append(f"{100.0 * each.level:g} %: {cost}")
    yield Paragraph(
        text=f"Pipe so that pressure suffices in {', in '.join(told)} (now "
        f"{cost_said(usual, risk.design, system)})",
    )


def price_table(risk: Risk, system: UnitSystem) -> Table:
    """Sizes for each chance, what they cost and what changes."""

    def changes(each: SureSizes) -> str:
        if not each.kept:
            return "no sizes suffice so often; measure instead"
        return ", ".join(f"{run} {nominal}" for run, nominal in each.changes) or "none"

    return Table(
        title="The price of certainty: sizes for which pressure suffices so often",
        columns=(
            Column(name="wanted", dimension="share"),
            Column(name="reached", dimension="share"),
            Column(name="pipe"),
            Column(name="none below"),
            Column(name="sizes that change", wrap=True),
        ),
        rows=tuple(
            (
                each.level,
                each.reached,
                cost_said(each.cost, risk.design, system),
                "" if each.bound is None else cost_said(each.bound, risk.design, system),
                changes(each),
            )
            for each in risk.price_of_certainty
        ),
    )


def _in(what: str, share: float) -> str:
    """How often something is so."""
    if share in (0.0, 1.0):
        return f"never {what}" if share == 0.0 else f"always {what}"
    return f"{what} in {share_said(share)}"


def _draws(risk: Risk) -> str:
    assert risk.certainty is not None
    sizes = "the largest sizes permitted" if risk.certainty.largest_sizes else "size's sizes"
    pump = "" if risk.well is None or not risk.well.draws else f", {risk.well.draws} of pump"
    return (
        f"{risk.draws} draws of the code's peak{pump} (seed {risk.seed}) at {sizes}; "
        "± is two standard errors. The figures are taken as independent of each other."
    )
