"""The tables of `parts`: pipe, cut list, each group of items, ports, sleeves, choices."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

from supplycalc.questions.parts.items import GROUPS
from supplycalc.questions.parts.pipe_lots import form_of
from supplycalc.records.table import Cell, Column, Table
from supplycalc.units import show

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from supplycalc.questions.parts.cutting import Cut
    from supplycalc.questions.parts.items import Item
    from supplycalc.questions.parts.options import PartsOptions
    from supplycalc.questions.parts.ports import ManifoldUse
    from supplycalc.questions.parts.study import PartsList
    from supplycalc.units import UnitSystem

SHOWN = 2
"""Places of an item that the terminal names; the file has them all."""


def pipe_table(found: PartsList, system: UnitSystem) -> Table:
    """Pipe by tube and size, and what to buy of it."""
    rows: list[tuple[Cell, ...]] = []
    for lot in found.lots:
        buy = ", ".join(
            f"{one.count} x {show(one.length, 'length', system)} {form_of(lot, one.length)}"
            + ("s" if one.count > 1 else "")
            + (", special order" if one.special else "")
            for one in lot.bought
        )
        rows.append((lot.material, lot.size.nominal, lot.length, lot.cut_length, buy, lot.left))
    return Table(
        title="Pipe to buy",
        columns=(
            Column(name="tube", wrap=True),
            Column(name="size"),
            Column(name="runs", dimension="length"),
            Column(name="with waste", dimension="length", wrap=True),
            Column(name="buy", wrap=True),
            Column(name="left", dimension="length"),
        ),
        rows=tuple(rows),
    )


def cut_table(found: PartsList, system: UnitSystem) -> Table:
    """What to cut from each coil and stick; equal ones in one row."""
    rows: list[tuple[Cell, ...]] = []
    for lot in found.lots:
        alike: dict[tuple[float, tuple[tuple[str, float], ...]], list[Cut]] = {}
        for one in lot.cuts:
            pieces = tuple((piece.name, piece.length) for piece in one.pieces)
            alike.setdefault((one.stock.length, pieces), []).append(one)
        for (length, pieces), cuts in alike.items():
            rows.append(
                (
                    f"{lot.material} {lot.size.nominal}",
                    len(cuts),
                    length,
                    "; ".join(_pieces(pieces, system)),
                    cuts[0].left,
                )
            )
    return Table(
        title="Cut list",
        columns=(
            Column(name="tube", wrap=True),
            Column(name="no.", digits=0),
            Column(name="of", dimension="length"),
            Column(name="pieces, waste included", wrap=True),
            Column(name="left", dimension="length"),
        ),
        rows=tuple(rows),
    )


def _pieces(pieces: Sequence[tuple[str, float]], system: UnitSystem) -> Iterable[str]:
    for (name, length), number in Counter(pieces).items():
        times = f"{number} x " if number > 1 else ""
        yield f"{name} {times}{show(length, 'length', system)}"


def group_tables(found: PartsList) -> Iterable[Table]:
    """Every group of items but pipe; with prices where there is a price list."""
    for group in GROUPS:
        items = [one for one in found.items if one.group == group]
        if items and (group != "pipe" or found.prices is not None):
            yield _group(group, items, found)


def _group(group: str, items: Sequence[Item], found: PartsList) -> Table:
    by_length = any(one.length is not None for one in items)
    columns = [Column(name="no.", digits=0), Column(name="part", wrap=True), Column(name="size")]
    if by_length:
        columns.append(Column(name="of", dimension="length"))
    columns.append(Column(name="tube or joint", wrap=True))
    if found.prices is None:
        columns.append(Column(name="for", wrap=True))
    else:
        columns.append(Column(name="each", digits=2))
        columns.append(Column(name=found.prices.currency, digits=2))
    rows: list[tuple[Cell, ...]] = []
    for one in items:
        cells: list[Cell] = [one.count, part_name(one), one.size]
        if by_length:
            cells.append(one.length)
        cells.append(one.material)
        if found.prices is None:
            cells.append(_places(one))
        else:
            cells.append("no price" if one.price is None else one.price)
            cells.append(one.amount)
        rows.append(tuple(cells))
    if found.prices is not None:
        total = sum(one.amount for one in items if one.amount is not None)
        rows.append((None, "in all", "", *([None] if by_length else []), "", None, total))
    return Table(title=group.capitalize(), columns=tuple(columns), rows=tuple(rows))


def part_name(one: Item) -> str:
    """A part as people call it, with what is to be said of it."""
    name = one.kind.replace("-", " ")
    notes = [one.note] if one.note else []
    if one.packs is not None:
        notes.append(f"{one.packs} {'pack' if one.packs == 1 else 'packs'} of {one.pack}")
    return f"{name} ({', '.join(notes)})" if notes else name


def _places(one: Item) -> str:
    shown = ", ".join(one.places[:SHOWN])
    more = len(one.places) - SHOWN
    return f"{shown} and {more} more" if more > 0 else shown


def port_table(use: ManifoldUse) -> Table:
    """A manifold's ports: run, size, and why it is no size smaller."""
    rows: list[tuple[Cell, ...]] = []
    for port in use.ports:
        why = port.why_not_smaller
        if not why:
            why = "smallest made" if port.smallest else port.run.decided_by
        rows.append(
            (
                port.number,
                port.run.run.name,
                port.run.size.nominal,
                port.run.run.length,
                port.run.design_flow,
                port.run.velocity,
                why,
            )
        )
    return Table(
        title=f"Ports of {use.manifold.name}",
        columns=(
            Column(name="port", digits=0),
            Column(name="run", wrap=True),
            Column(name="size"),
            Column(name="length", dimension="length"),
            Column(name="flow", dimension="flow"),
            Column(name="velocity", dimension="velocity"),
            Column(name="why no smaller", wrap=True),
        ),
        rows=tuple(rows),
    )


def sleeve_table(found: PartsList) -> Table:
    """Sleeves by their bore over the pipe in them."""
    return Table(
        title="Sleeves where pipe comes out of the ground or a slab",
        columns=(
            Column(name="run", wrap=True),
            Column(name="no.", digits=0),
            Column(name="sleeve"),
            Column(name="inside", dimension="diameter"),
            Column(name="pipe outside", dimension="diameter", wrap=True),
        ),
        rows=tuple(
            (
                one.run.run.name,
                one.count,
                one.nominal,
                one.inside_diameter,
                one.run.size.outside_diameter,
            )
            for one in found.sleeves
        ),
    )


def list_table(found: PartsList) -> Table:
    """Everything in one table, for a spreadsheet."""
    currency = "" if found.prices is None else found.prices.currency
    return Table(
        title="Parts",
        columns=(
            Column(name="group"),
            Column(name="part"),
            Column(name="size"),
            Column(name="tube or joint"),
            Column(name="count", digits=0),
            Column(name="length of each", dimension="length"),
            Column(name="price of each", digits=2),
            Column(name="amount", digits=2),
            Column(name="currency"),
            Column(name="packs", digits=0),
            Column(name="for"),
            Column(name="note"),
        ),
        rows=tuple(
            (
                one.group,
                one.kind.replace("-", " "),
                in_inches(one.size),
                one.material,
                float(one.count),
                one.length,
                one.price,
                one.amount,
                currency if one.price is not None else "",
                None if one.packs is None else float(one.packs),
                "; ".join(one.places),
                "no price" if found.prices is not None and one.price is None else one.note,
            )
            for one in found.items
        ),
    )


def in_inches(size: str) -> str:
    """A size with its unit, as a spreadsheet takes a bare 3/4 for a day of March."""
    if size and all(_INCHES.fullmatch(part) for part in size.split(" x ")):
        return f"{size} in"
    return size


_INCHES = re.compile(r"[0-9]{1,2}(?:-[0-9]+/[0-9]+)?|[0-9]+/[0-9]+")


def option_table(found: PartsOptions) -> Table:
    """The choices side by side."""
    cheapest = found.cheapest
    totals = [one.total for one in found.options if one.total is not None]
    best = min(totals, default=0.0) if cheapest is None else cheapest.total or 0.0
    columns = [Column(name="choice", wrap=True), Column(name="works")]
    columns.append(Column(name="to spare", dimension="pressure"))
    columns.append(Column(name="pipe bought", dimension="length", wrap=True))
    columns.append(Column(name="fittings", digits=0))
    if found.prices is not None:
        columns.append(Column(name=found.prices.currency, digits=2))
        columns.append(Column(name="more", digits=2))
        columns.append(Column(name="no price", digits=0, wrap=True))
    rows: list[tuple[Cell, ...]] = []
    for one in found.options:
        name = " ".join(filter(None, (one.option.material, one.option.size))) or "as in the file"
        if one.parts is None or one.option.design is None:
            blank: list[Cell] = [None] * (len(columns) - 2)
            rows.append((f"{name}: {one.option.reason}", "no", *blank))
            continue
        fittings = sum(i.count for i in one.parts.items if i.group == "fittings")
        cells: list[Cell] = [
            name,
            "yes" if one.ok else "NO",
            one.option.design.worst.margin,
            sum(lot.bought_length for lot in one.parts.lots),
            fittings,
        ]
        if found.prices is not None:
            cells += [one.parts.total, one.parts.total - best, len(one.parts.unpriced)]
        rows.append(tuple(cells))
    return Table(title="Parts of each choice", columns=tuple(columns), rows=tuple(rows))
