"""What `parts` prints and its JSON: pipe, cut list, ports, everything else to buy, prices."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from supplycalc.output.cautions import LIMITS
from supplycalc.output.machine import assumption_to_dict, finding_to_dict, quantity, unit_system
from supplycalc.output.old_page import OLD_LABELS as LABELS
from supplycalc.output.old_page import finding_lines
from supplycalc.output.wording import amount, assumption_text, money, verdict
from supplycalc.questions.parts.findings import described
from supplycalc.questions.parts.items import GROUPS
from supplycalc.questions.parts.tables import (
    cut_table,
    group_tables,
    option_table,
    pipe_table,
    port_table,
    sleeve_table,
)
from supplycalc.units import show

if TYPE_CHECKING:
    from supplycalc.output.old_page import Page
    from supplycalc.questions.parts.items import Item
    from supplycalc.questions.parts.options import PartsOption, PartsOptions
    from supplycalc.questions.parts.study import PartsList
    from supplycalc.units import UnitSystem

PARTS_SCHEMA = "supplycalc-parts/1"
OPTIONS_SCHEMA = "supplycalc-parts-options/1"


def answer(found: PartsList, system: UnitSystem) -> str:
    """What the list comes to, in a sentence or two."""
    runs = show(sum(lot.length for lot in found.lots), "length", system)
    bought = show(sum(lot.bought_length for lot in found.lots), "length", system)
    joints = sum(one.count for one in found.items if one.group == "fittings" and not _ring(one))
    first = f"{bought} of pipe for {runs} of runs, {joints} fittings"
    ports = sum(use.total for use in found.manifolds)
    if ports:
        spare = sum(use.spare for use in found.manifolds)
        first += f", {ports} manifold ports ({spare} spare)"
    if found.prices is None:
        return f"{first}; no price list, so no prices."
    total = money(found.total, found.prices.currency)
    missing = len(found.unpriced)
    if missing and found.total == 0.0:
        return f"{first}; none of it has a price in '{found.prices.name}'."
    last = f"{total} by '{found.prices.name}' of {found.prices.date.isoformat()}"
    if missing:
        last += f", without {missing} {'item that has' if missing == 1 else 'items that have'}"
        last += " no price"
    return f"{first}: {last}."


def _ring(one: Item) -> bool:
    return one.kind.endswith("-ring") or one.kind == "clamp"


def parts_page(page: Page, found: PartsList, system: UnitSystem) -> None:
    """Write the result of `parts`.

    Args:
        page: to write on.
        found: the list.
        system: units to show.
    """
    page.paragraph(answer(found, system), style="green" if found.ok else "red")
    if not found.design.ok:
        page.paragraph(verdict(found.design, system), style="red")
    page.table(pipe_table(found, system), system)
    page.paragraph(
        f"runs: as in the design; with {show(found.waste, 'share', system)} waste: what is cut; "
        "left: what remains of the coils and sticks."
    )
    page.table(cut_table(found, system), system)
    if all(lot.least for lot in found.lots):
        page.paragraph("No other choice of these lengths holds all pieces at less cost.")
    for table in group_tables(found):
        page.table(table, system)
    if found.sleeves:
        page.table(sleeve_table(found), system)
    for use in found.manifolds:
        page.table(port_table(use), system)
        page.paragraph(_body(use.body_loss, use.total, use.spare, system))
    page.heading("Findings")
    if not found.findings:
        page.paragraph("None.", indent=2)
    for finding in sorted(found.findings, key=lambda one: list(LABELS).index(one.level)):
        finding_lines(page, finding, system)
    page.heading("Assumptions")
    for one in found.assumptions:
        page.paragraph(f"- {assumption_text(one, system)}", indent=2, hang=2)
    page.heading("Take care")
    for caution in parts_cautions(found):
        page.paragraph(caution, indent=2, hang=2)


def _body(loss: float, total: int, spare: int, system: UnitSystem) -> str:
    lost = amount(loss, system)
    lost = lost if lost.startswith("less") else f"up to {lost}"
    return (
        f"{total} ports, {spare} spare, a valve at each used port, one shut-off and one drain; the "
        f"body loses {lost}, which the sizing leaves out."
    )


def parts_cautions(found: PartsList) -> tuple[str, ...]:
    """The cautions that belong beside a parts list (common practice, no source)."""
    cautions = [
        "Buy parts that are rated for drinking water, free of lead, and for the pressure and "
        "temperature of their place. Fittings and rings of one system do not fit another's."
    ]
    if any(one.below for one in found.strands):
        cautions.append(
            "What the slab or the ground hides is one piece without a joint: measure the way with "
            "a cord before you cut, and keep it under test pressure while it is covered."
        )
    return (*cautions, LIMITS)


def options_page(page: Page, found: PartsOptions, system: UnitSystem) -> None:
    """Write the parts of each choice side by side.

    Args:
        page: to write on.
        found: the options.
        system: units to show.
    """
    best = found.cheapest
    name = found.comparison.subject
    if best is None:
        works = sum(one.ok for one in found.options)
        page.paragraph(
            f"{name}: {works} of {len(found.options)} choices work.",
            style="green" if works else "red",
        )
    else:
        assert best.parts is not None
        assert found.prices is not None
        total = money(best.parts.total, found.prices.currency)
        missing = len(best.parts.unpriced)
        without = f", without {missing} that have no price" if missing else ""
        text = f"{name}: cheapest that works is {words(best)}, {total}{without}."
        page.paragraph(text, style="green")
    page.table(option_table(found), system)
    page.paragraph(
        "Each choice is really sized, all other open sizes chosen anew; left out is what has no "
        "price."
    )
    unpriced = dict.fromkeys(
        described(item)
        for one in found.options
        if one.parts is not None and found.prices is not None
        for item in one.parts.unpriced
    )
    if unpriced:
        page.paragraph(f"No price for: {', '.join(unpriced)}.")
    page.heading("Take care")
    page.paragraph(LIMITS, indent=2, hang=2)


def words(one: PartsOption) -> str:
    """A choice in words, e.g. "pex-sdr9 1"."""
    return " ".join(filter(None, (one.option.material, one.option.size))) or "as in the file"


def parts_to_dict(found: PartsList, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `parts`; units "us" or "metric", None takes the project's."""
    system = unit_system(found.design.house, units)

    def length(value: float | None) -> dict[str, Any] | None:
        return quantity(value, "length", system)

    prices = found.prices
    return {
        "schema": PARTS_SCHEMA,
        "project": found.design.house.project.name,
        "ok": found.ok,
        "units": system,
        "answer": answer(found, system),
        "waste": found.waste,
        "prices": None
        if prices is None
        else {
            "name": prices.name,
            "date": prices.date.isoformat(),
            "currency": prices.currency,
            "total": round(found.total, 2),
            "missing": [described(one) for one in found.unpriced],
        },
        "items": [_item(one, system) for one in found.items],
        "pipe": [
            {
                "material": lot.material,
                "size": lot.size.nominal,
                "form": lot.form,
                "runs": [run.run.name for strand in lot.strands for run in strand.runs],
                "length": length(lot.length),
                "cut_length": length(lot.cut_length),
                "bought_length": length(lot.bought_length),
                "left": length(lot.left),
                "least": lot.least,
                "cuts": [
                    {
                        "stock": length(cut.stock.length),
                        "pieces": [
                            {"name": piece.name, "length": length(piece.length)}
                            for piece in cut.pieces
                        ],
                        "left": length(cut.left),
                    }
                    for cut in lot.cuts
                ],
                "joints": [{"name": strand.name, "count": count} for strand, count in lot.joints],
            }
            for lot in found.lots
        ],
        "manifolds": [
            {
                "name": use.manifold.name,
                "body": use.body,
                "ports": use.total,
                "spare": use.spare,
                "body_loss": quantity(use.body_loss, "pressure", system),
                "used": [
                    {
                        "port": port.number,
                        "run": port.run.run.name,
                        "size": port.run.size.nominal,
                        "length": length(port.run.run.length),
                        "design_flow": quantity(port.run.design_flow, "flow", system),
                        "decided_by": port.run.decided_by,
                        "why_not_smaller": port.why_not_smaller or None,
                    }
                    for port in use.ports
                ],
            }
            for use in found.manifolds
        ],
        "sleeves": [
            {
                "run": one.run.run.name,
                "size": one.nominal,
                "inside_diameter": quantity(one.inside_diameter, "diameter", system),
                "pipe_outside_diameter": quantity(
                    one.run.size.outside_diameter, "diameter", system
                ),
                "count": one.count,
            }
            for one in found.sleeves
        ],
        "findings": [finding_to_dict(one, system) for one in found.findings],
        "assumptions": [assumption_to_dict(one, system) for one in found.assumptions],
        "cautions": list(parts_cautions(found)),
    }


def _item(one: Item, system: UnitSystem) -> dict[str, Any]:
    assert one.group in GROUPS
    return {
        "group": one.group,
        "kind": one.kind,
        "size": one.size or None,
        "material": one.material or None,
        "count": one.count,
        "length": quantity(one.length, "length", system),
        "packs": one.packs,
        "price": one.price,
        "amount": one.amount,
        "places": list(one.places),
        "note": one.note or None,
    }


def options_to_dict(found: PartsOptions, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `parts` with choices; units as in `parts_to_dict`."""
    system = unit_system(found.comparison.house, units)
    best = found.cheapest
    return {
        "schema": OPTIONS_SCHEMA,
        "project": found.comparison.house.project.name,
        "ok": found.ok,
        "units": system,
        "subject": found.comparison.subject,
        "currency": None if found.prices is None else found.prices.currency,
        "best": None if best is None else found.options.index(best),
        "options": [
            {
                "size": one.option.size,
                "material": one.option.material,
                "ok": one.ok,
                "reason": one.option.reason or None,
                "total": one.total,
                "worst_margin": None
                if one.option.design is None
                else quantity(one.option.design.worst.margin, "pressure", system),
                "parts": None if one.parts is None else parts_to_dict(one.parts, units),
            }
            for one in found.options
        ],
    }
