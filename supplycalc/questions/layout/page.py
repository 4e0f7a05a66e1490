"""What `layout` prints and its JSON: layouts side by side, the manifold's place, a plan."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from supplycalc.output.cautions import cautions
from supplycalc.output.machine import cost_quantity, quantity, unit_system
from supplycalc.output.wording import THIN_MARGIN, amount
from supplycalc.questions.layout.plan import plan
from supplycalc.records.table import Cell, Column, Table, wait_cell
from supplycalc.units import show

if TYPE_CHECKING:
    from supplycalc.model import Position
    from supplycalc.output.old_page import Page
    from supplycalc.questions.layout.field import Place
    from supplycalc.questions.layout.study import LayoutStudy, Option
    from supplycalc.units import UnitSystem

LAYOUT_SCHEMA = "supplycalc-layout/1"
SOONER = 2.0
"""[s] A gain of less is not worth a sentence; our own."""


def cost_text(study: LayoutStudy, option: Option, system: UnitSystem) -> str:
    """The cost of a layout with its unit: everything to buy, or pipe where there is no price."""
    if option.total is not None and study.prices is not None:
        missing = f" ({option.unpriced} items without a price)" if option.unpriced else ""
        return f"{option.total:.2f} {study.prices.currency} for all parts{missing}"
    return f"{show(option.design.cost, 'mass', system)} of pipe"


def where(at: Position, system: UnitSystem) -> str:
    """A place in words, e.g. "30 ft east, 6 ft north, 4 ft up"."""
    words = (("east", "west"), ("north", "south"), ("up", "down"))
    return ", ".join(
        f"{show(abs(value), 'length', system)} {plus if value >= 0 else minus}"
        for value, (plus, minus) in zip(at, words, strict=True)
    )


def answer(study: LayoutStudy, system: UnitSystem) -> str:
    """Which layout to build, in a sentence or two."""
    one = study.options[study.chosen]
    worst = one.design.worst
    if not one.works:
        short = amount(-worst.margin, system)
        return (
            f"No layout keeps the pressure; {one.title} falls short least, by {short} at "
            f"{worst.name}. 'supplycalc size' on a written layout tells what mends it."
        )
    text = f"Of those that work, {one.title} cost least: {cost_text(study, one, system)}"
    text += f", {amount(worst.margin, system)} to spare at {worst.name}"
    if worst.margin < THIN_MARGIN:
        text += " (thin)"
    if one.longest_wait is not None:
        slowest = one.longest_wait
        when = f"after {show(slowest.wait, 'time', system)}"
        text += f", hot water at {slowest.name} {when if math.isfinite(slowest.wait) else 'never'}"
    if one.slab_joints:
        text += f"; but {one.slab_joints} joints would lie in the slab"
    return f"{text}.{_sooner(study, one, system)}"


def _sooner(study: LayoutStudy, chosen: Option, system: UnitSystem) -> str:
    """A further sentence on the layout that brings hot water soonest, where that is another."""
    working = [
        one
        for one in study.options
        if one.works and one.longest_wait is not None and one.slab_joints <= chosen.slab_joints
    ]
    if not working or chosen.longest_wait is None:
        return ""
    best = min(working, key=lambda one: one.longest_wait.wait if one.longest_wait else 0.0)
    assert best.longest_wait is not None
    gain = chosen.longest_wait.wait - best.longest_wait.wait
    if best is chosen or math.isinf(best.longest_wait.wait) or gain < SOONER:
        return ""
    wait = show(best.longest_wait.wait, "time", system)
    return (
        f" Hot water comes soonest from {best.title}, after {wait} at most, for "
        f"{cost_text(study, best, system)}."
    )


def comparison_table(study: LayoutStudy) -> Table:
    """The layouts on equal terms."""
    cost = Column(name="cost", dimension="mass")
    if study.prices is not None:
        cost = Column(name=f"all parts, {study.prices.currency}", digits=2, wrap=True)
    return Table(
        title="The layouts on equal terms, each sized at least cost",
        columns=(
            Column(name="layout", wrap=True),
            Column(name="to spare", dimension="pressure", wrap=True),
            Column(name="pipe", dimension="length"),
            cost,
            Column(name="fittings", wrap=True),
            Column(name="ports"),
            Column(name="joints in slab", wrap=True),
            Column(name="longest wait", dimension="time", wrap=True),
            Column(name="in hot pipe", dimension="volume", wrap=True),
        ),
        rows=tuple(
            (
                one.code,
                one.design.worst.margin,
                one.pipe,
                one.design.cost if one.total is None else one.total,
                ", ".join(f"{count} {kind}" for kind, count in one.fittings),
                str(one.ports),
                str(one.slab_joints),
                wait_cell(one.longest_wait.wait if one.longest_wait else None),
                one.hot_volume,
            )
            for one in study.options
        ),
    )


def pipe_table(study: LayoutStudy) -> Table:
    """Pipe by size, one column for each layout."""
    keys: dict[tuple[str, str], None] = {}
    for option in study.options:
        for one in option.pipes:
            keys.setdefault((one.material, one.size))
    tubes = study.options[0].design.tree.catalogue.tubes
    order = sorted(keys, key=lambda key: (key[0], tubes[key[0]].size(key[1]).inside_diameter))
    lengths = [{(p.material, p.size): p.length for p in one.pipes} for one in study.options]
    return Table(
        title="Pipe laid anew, by size",
        columns=(
            Column(name="tube", wrap=True),
            Column(name="size"),
            *(Column(name=one.code, dimension="length", wrap=True) for one in study.options),
        ),
        rows=tuple((*key, *(one.get(key, 0.0) for one in lengths)) for key in order),
    )


def wait_table(study: LayoutStudy) -> Table:
    """Hot-water wait at each hot outlet, one column for each layout."""
    waits = [{one.name: one.wait for one in option.outlets} for option in study.options]
    names = [one.name for one in study.options[study.chosen].outlets]
    return Table(
        title="Wait for hot water, the valve as it is used and nothing else running",
        columns=(
            Column(name="outlet", wrap=True),
            *(Column(name=one.code, dimension="time", wrap=True) for one in study.options),
        ),
        rows=tuple((name, *(wait_cell(one.get(name)) for one in waits)) for name in names),
    )


def freedom_table(study: LayoutStudy) -> Table:
    """How far the manifold may move, and at what price."""
    return Table(
        title="How far it may move from there",
        columns=(
            Column(name="for at most"),
            Column(name="places", digits=0),
            Column(name="west", dimension="length"),
            Column(name="east", dimension="length"),
            Column(name="south", dimension="length"),
            Column(name="north", dimension="length"),
        ),
        rows=tuple(
            (f"{one.share:.0%} more", float(one.places), one.west, one.east, one.south, one.north)
            for one in study.places.freedom
        ),
    )


def branch_table(study: LayoutStudy) -> Table:
    """The branches of the home runs from one manifold: which may be thin, and why."""
    option = study.options[0]
    rows: list[tuple[Cell, ...]] = [
        (
            one.run.name,
            one.size.nominal,
            one.run.length,
            one.design_flow,
            one.velocity,
            one.loss,
            one.decided_by,
        )
        for one in option.design.runs
        if one.run.fixture is not None and one.start in dict(option.places)
    ]
    return Table(
        title="Home runs from one manifold: what each branch needs",
        columns=(
            Column(name="branch", wrap=True),
            Column(name="size"),
            Column(name="length", dimension="length"),
            Column(name="flow", dimension="flow"),
            Column(name="velocity", dimension="velocity"),
            Column(name="loss", dimension="pressure"),
            Column(name="decided by", wrap=True),
        ),
        rows=tuple(rows),
    )


def layout_page(page: Page, study: LayoutStudy, system: UnitSystem) -> None:
    """Write the result of `layout`."""
    works = study.options[study.chosen].works
    page.paragraph(answer(study, system), style="green" if works else "red")
    page.table(comparison_table(study), system)
    for one in study.options:
        text = f"{one.code}: {one.title}; {one.method}."
        spots = dict.fromkeys(at for _, at in one.places)
        if spots:
            places = "; ".join(where(at, system) for at in spots)
            text += f" {'Manifolds' if len(spots) > 1 else 'Manifold'} at {places}."
        page.paragraph(text, indent=2, hang=2)
    allowance = study.house.project.length_allowance
    page.paragraph(
        f"Lengths run along the building's axes, drop and rise counted, with {allowance:.0%} "
        "added; pipe, fittings and joints are those laid anew, cost is of the whole house."
    )
    page.table(pipe_table(study), system)
    if study.options[study.chosen].outlets:
        page.table(wait_table(study), system)
    _place(page, study, system)
    page.table(branch_table(study), system)
    page.heading("Take care")
    page.paragraph(
        "A layout is a proposal: framing, fire walls, frost and other trades decide the way. Leave "
        "every manifold within reach, with one shut-off and one drain, and its ports labelled.",
        indent=2,
        hang=2,
    )
    for caution in cautions(study.options[study.chosen].design):
        page.paragraph(caution, indent=2, hang=2)


def _place(page: Page, study: LayoutStudy, system: UnitSystem) -> None:
    places = study.places
    best = places.places[places.best]
    spacing = show(places.spacing, "length", system)
    text = f"One manifold stands best at {where(best.at, system)}"
    if best.storey:
        text += f" ({best.storey})"
    text += f"; {len(places.places)} places were sized, {spacing} apart"
    if places.unreachable:
        text += f" ({places.unreachable} more cannot be reached)"
    if not best.feasible:
        text += f"; even there {best.worst_name} is short by {amount(-best.worst_margin, system)}"
    page.heading("Where the manifold should stand")
    page.paragraph(f"{text}.")
    if places.freedom:
        page.table(freedom_table(study), system)
    page.heading("Plan")
    for line in plan(study):
        page.verbatim(line)


def layout_to_dict(study: LayoutStudy, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `layout`; units "us" or "metric", None takes the project's."""
    system = unit_system(study.house, units)
    places = study.places
    return {
        "schema": LAYOUT_SCHEMA,
        "project": study.house.project.name,
        "ok": study.ok,
        "units": system,
        "answer": answer(study, system),
        "chosen": study.options[study.chosen].code,
        "from": study.frame.origin,
        "prices": study.prices
        and {
            "name": study.prices.name,
            "date": study.prices.date.isoformat(),
            "currency": study.prices.currency,
        },
        "length_allowance": study.house.project.length_allowance,
        "layouts": [_option(one, system) for one in study.options],
        "place": {
            "best": places.best,
            "spacing": quantity(places.spacing, "length", system),
            "unreachable": places.unreachable,
            "freedom": [
                {
                    "extra_cost": one.share,
                    "places": one.places,
                    **{
                        side: quantity(getattr(one, side), "length", system)
                        for side in ("west", "east", "south", "north")
                    },
                }
                for one in places.freedom
            ],
            "places": [_candidate(study, one, system) for one in places.places],
        },
    }


def _at(at: Position, system: UnitSystem) -> list[dict[str, Any] | None]:
    return [quantity(value, "elevation", system) for value in at]


def _candidate(study: LayoutStudy, one: Place, system: UnitSystem) -> dict[str, Any]:
    design = study.options[0].design
    return {
        "at": _at(one.at, system),
        "on": one.storey or None,
        "ok": one.feasible,
        "cost": cost_quantity(one.cost, design, system),
        "margin": quantity(one.worst_margin, "pressure", system),
        "worst": one.worst_name,
        "pipe": quantity(one.pipe, "length", system),
        "hot_volume": quantity(one.hot_volume, "volume", system),
    }


def _option(one: Option, system: UnitSystem) -> dict[str, Any]:
    worst = one.design.worst
    return {
        "code": one.code,
        "title": one.title,
        "method": one.method,
        "ok": one.works,
        "cost": {
            "total": cost_quantity(one.design.cost, one.design, system),
            "basis": one.design.cost_basis,
        },
        "all_parts": None if one.total is None else {"total": one.total, "unpriced": one.unpriced},
        "worst": {
            "name": worst.fixture.name,
            "side": worst.side,
            "residual": quantity(worst.residual, "pressure", system),
            "margin": quantity(worst.margin, "pressure", system),
        },
        "pipe": quantity(one.pipe, "length", system),
        "pipes": [
            {
                "material": it.material,
                "size": it.size,
                "length": quantity(it.length, "length", system),
            }
            for it in one.pipes
        ],
        "fittings": dict(one.fittings),
        "ports": one.ports,
        "slab_joints": one.slab_joints,
        "hot_volume": quantity(one.hot_volume, "volume", system),
        "waits": [
            {
                "name": it.name,
                "wait": quantity(it.wait, "time", system),
                "volume": quantity(it.volume, "volume", system),
                "flow": quantity(it.hot_flow, "flow", system),
            }
            for it in one.outlets
        ],
        "manifolds": [{"name": name, "at": _at(at, system)} for name, at in one.places],
        "runs": [
            {
                "name": it.run.name,
                "from": it.start,
                "to": it.end,
                "size": it.size.nominal,
                "length": quantity(it.run.length, "length", system),
            }
            for it in one.design.runs
        ],
    }
