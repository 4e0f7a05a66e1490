"""The tables of `parts`: pipe, cut list, each group of items, ports, sleeves, choices."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from supplycalc.questions.parts.cutting import Cut
from supplycalc.questions.parts.items import GROUPS, Item
from supplycalc.questions.parts.manifolds import ManifoldUse, Port
from supplycalc.questions.parts.options import PartsOption, PartsOptions
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.questions.parts.pipe_lots import Lot
from supplycalc.questions.parts.supports import Sleeve
from supplycalc.records import Cell, Column, Table, table_of
from supplycalc.units import UnitSystem, show

SHOWN = 2
"""Places of an item that the terminal names; the file has them all."""


def pipe_table(parts: PartsList, system: UnitSystem) -> Table:
    """Pipe by tube and size, and what to buy of it."""

    def buy(lot: Lot) -> str:
        return ", ".join(
            f"{bought.count} x {show(bought.length, 'length', system)} {lot.called(bought.length)}"
            + ("s" if bought.count > 1 else "")
            + (", special order" if bought.special else "")
            for bought in lot.bought
        )

    return table_of(
        "Pipe to buy",
        Lot,
        parts.lots,
        (
            Column(name="tube", of="tube_words", wrap=True),
            Column(name="size", of="size.nominal"),
            Column(name="runs", of="length"),
            Column(name="with waste", of="cut_length", wrap=True),
            Column(name="buy", of=buy, wrap=True),
            Column(name="left", of="left"),
        ),
    )


def cut_table(parts: PartsList, system: UnitSystem) -> Table:
    """What to cut from each coil and stick; equal ones in one row."""
    rows: list[tuple[Cell, ...]] = []
    for lot in parts.lots:
        alike: dict[object, list[Cut]] = {}
        for cut in lot.cuts:
            pieces = tuple((piece.name, piece.length) for piece in cut.pieces)
            alike.setdefault((cut.stock.length, pieces), []).append(cut)
        tube = f"{lot.tube_words} {lot.size.nominal}"
        for cuts in alike.values():
            first = cuts[0]
            pieces_text = "; ".join(_pieces(first, system))
            rows.append((tube, len(cuts), first.stock.length, pieces_text, first.left))
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


def _pieces(cut: Cut, system: UnitSystem) -> Iterator[str]:
    for piece, number in Counter(cut.pieces).items():
        times = f"{number} x " if number > 1 else ""
        yield f"{piece.name} {times}{show(piece.length, 'length', system)}"


def group_tables(parts: PartsList, *, where: bool = False) -> Iterator[Table]:
    """Every group of items but pipe; with prices where there is a price list, or all places."""
    for group in GROUPS:
        items = [item for item in parts.items if item.group == group]
        if items and (group != "pipe" or parts.prices is not None):
            yield _group(group, items, parts, where)


def _group(group: str, items: Sequence[Item], parts: PartsList, where: bool) -> Table:
    columns = [
        Column(name="no.", of="count", digits=0),
        Column(name="part", of=_part_name, wrap=True),
    ]
    if any(item.size for item in items):
        columns.append(Column(name="size", of="size"))
    if any(item.length is not None for item in items):
        columns.append(Column(name="length", of="length"))
    if any(item.material for item in items):
        columns.append(Column(name="tube or joint", of="material", wrap=True))
    if parts.prices is None or where:
        places = _all_places if where else _places
        columns.append(Column(name="for", of=places, wrap=True))
    else:
        columns.append(Column(name="each", of=_price, digits=2))
        columns.append(Column(name=parts.prices.currency, of="amount", digits=2))
    table = table_of(group.capitalize(), Item, items, columns)
    if parts.prices is None or where:
        return table
    total = sum(item.amount for item in items if item.amount is not None)
    last = (None, "in all", *[None] * (len(columns) - 3), total)
    return replace(table, rows=(*table.rows, last))


def _part_name(item: Item) -> str:
    """A part as people call it, with what is to be said of it."""
    name = item.spoken
    notes = [item.note] if item.note else []
    if item.packs is not None:
        notes.append(f"{item.packs} {'pack' if item.packs == 1 else 'packs'} of {item.pack}")
    return f"{name} ({', '.join(notes)})" if notes else name


def _price(item: Item) -> Cell:
    return "no price" if item.price is None else item.price


def _places(item: Item) -> str:
    shown = ", ".join(item.places[:SHOWN])
    more = len(item.places) - SHOWN
    return f"{shown} and {more} more" if more > 0 else shown


def _all_places(item: Item) -> str:
    return ", ".join(item.places)


def port_table(use: ManifoldUse) -> Table:
    """A manifold's ports: run, size, and why it is no size smaller."""

    def why(port: Port) -> str:
        return port.why_not_smaller or ("smallest made" if port.smallest else port.run.decided_by)

    return table_of(
        f"Ports of {use.manifold.name}",
        Port,
        use.ports,
        (
            Column(name="port", of="number", digits=0),
            Column(name="run", of="run.name", wrap=True),
            Column(name="size", of="run.nominal"),
            Column(name="length", of="run.length"),
            Column(name="flow", of="run.design_flow"),
            Column(name="velocity", of="run.velocity"),
            Column(name="why no smaller", of=why, wrap=True),
        ),
    )


def sleeve_table(parts: PartsList) -> Table:
    """Sleeves by their inside diameter over the pipe in them."""
    return table_of(
        "Sleeves where pipe comes out of the ground or a slab",
        Sleeve,
        parts.sleeves,
        (
            Column(name="run", of="run.name", wrap=True),
            Column(name="no.", of="count", digits=0),
            Column(name="sleeve", of="nominal"),
            Column(name="inside", of="inside_diameter"),
            Column(name="pipe outside", of="run.size.outside_diameter", wrap=True),
        ),
    )


def list_table(parts: PartsList) -> Table:
    """Everything in one table, for a spreadsheet."""
    currency = "" if parts.prices is None else parts.prices.currency
    priced = parts.prices is not None

    def note(item: Item) -> str:
        return "no price" if priced and item.price is None else item.note

    return table_of(
        "Parts",
        Item,
        parts.items,
        (
            Column(name="group", of="group"),
            Column(name="part", of="spoken"),
            Column(name="size", of=lambda item: in_inches(item.size)),
            Column(name="tube or joint", of="material"),
            Column(name="count", of="count", digits=0),
            Column(name="length of each", of="length"),
            Column(name="price of each", of="price", digits=2),
            Column(name="amount", of="amount", digits=2),
            Column(name="currency", of=lambda item: "" if item.price is None else currency),
            Column(name="packs", of="packs", digits=0),
            Column(name="for", of=lambda item: "; ".join(item.places)),
            Column(name="note", of=note),
        ),
    )


def in_inches(size: str) -> str:
    """A size with its unit, as a spreadsheet takes a bare 3/4 for a day of March."""
    if size and all(_INCHES.fullmatch(part) for part in size.split(" x ")):
        return f"{size} in"
    return size


_INCHES = re.compile(r"[0-9]{1,2}(?:-[0-9]+/[0-9]+)?|[0-9]+/[0-9]+")


def option_table(options: PartsOptions) -> Table:
    """The choices side by side."""
    totals = [option.total for option in options.options if option.total is not None]
    cheapest = options.cheapest
    least = min(totals, default=0.0) if cheapest is None else cheapest.total or 0.0

    def choice(option: PartsOption) -> str:
        return f"{option.name}: {option.option.reason}" if option.parts is None else option.name

    def works(option: PartsOption) -> str:
        return "yes" if option.ok else "no" if option.parts is None else "NO"

    def more(option: PartsOption) -> Cell:
        return None if option.total is None else option.total - least

    columns = [
        Column(name="choice", of=choice, wrap=True),
        Column(name="works", of=works),
        Column(name="to spare", of="worst_margin"),
        Column(name="pipe bought", of="pipe_bought", wrap=True),
        Column(name="fittings", of="fittings", digits=0),
    ]
    if options.currency is not None:
        columns.append(Column(name=options.currency, of="total", digits=2))
        columns.append(Column(name="more", of=more, digits=2))
        columns.append(Column(name="no price", of="unpriced", digits=0, wrap=True))
    return table_of("Parts of each choice", PartsOption, options.options, columns)
