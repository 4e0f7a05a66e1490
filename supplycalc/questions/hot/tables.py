"""The tables of `hot`: waits, water run off, limits, and each change that was tried."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from supplycalc.output.wording import amount
from supplycalc.questions.hot.findings import checks
from supplycalc.questions.hot.pipe import hot_limit
from supplycalc.records.table import Cell, Column, Table, wait_cell
from supplycalc.tables import load_table
from supplycalc.units import convert, show, unit_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from supplycalc.questions.hot.gains import Thinner
    from supplycalc.questions.hot.study import HotStudy
    from supplycalc.units import UnitSystem

MOST_ROWS = 6
"""Rows of each table of changes."""


def best_wait() -> float:
    """The longest wait of the best published class [s]."""
    return float(load_table("hot_water")["wait_class"]["rows"][0][1])


def outlet_table(study: HotStudy) -> Table:
    """Every hot outlet, the longest wait first."""
    return Table(
        title="Hot outlets, the longest wait first",
        columns=(
            Column(name="outlet", wrap=True),
            Column(name="pipe", dimension="length"),
            Column(name="holds", dimension="pipe-volume"),
            Column(name="hot flow", dimension="flow", wrap=True),
            Column(name="wait", dimension="time"),
            Column(name="hot only", dimension="time", wrap=True),
            Column(name="drawn", dimension="pipe-volume"),
            Column(name="arrives", dimension="temperature"),
            Column(name="class"),
        ),
        rows=tuple(
            (
                one.name,
                one.length,
                one.volume,
                one.flow,
                wait_cell(one.wait),
                wait_cell(one.open_wait),
                one.drawn,
                one.arrives if one.flow > 0.0 else None,
                one.wait_class,
            )
            for one in study.outlets
        ),
    )


def _plain(name: str, dimension: str, system: UnitSystem, digits: int = 0) -> Column:
    """A column of plain numbers whose unit stands in its name."""
    return Column(name=f"{name} {unit_of(dimension, system)}", digits=digits, wrap=True)


def _in(value: float, dimension: str, system: UnitSystem) -> float:
    return convert(value, dimension, system)[0]


def _minutes(value: float) -> Cell:
    return value / 60.0 if math.isfinite(value) else "always"


def year_table(study: HotStudy, system: UnitSystem) -> Table:
    """What runs away at every outlet, with one draw and in a year."""
    return Table(
        title="Water and heat that run away",
        columns=(
            Column(name="outlet", wrap=True),
            Column(name="draws a day", digits=1, wrap=True),
            Column(name="stays warm min", digits=0, wrap=True),
            Column(name="per draw", dimension="pipe-volume", wrap=True),
            Column(name="heat", dimension="energy", wrap=True),
            _plain("a year", "volume", system),
            _plain("heat a year", "energy", system),
        ),
        rows=tuple(
            (
                one.name,
                one.draws,
                _minutes(one.warm_time),
                one.drawn if one.runs_off else 0.0,
                one.energy,
                _in(one.yearly_volume, "volume", system),
                _in(one.yearly_energy, "energy", system),
            )
            for one in sorted(study.outlets, key=lambda one: -one.yearly_energy)
        ),
    )


def limit_table(study: HotStudy, system: UnitSystem) -> Table:
    """Which published limits each outlet keeps."""
    names = {
        "length-residential": ("residential", "length"),
        "length-plumbing": ("plumbing", "length"),
        "length-by-size": ("energy code by size", "length"),
        "stored": ("stored", "pipe-volume"),
        "drawn": ("drawn", "pipe-volume"),
    }
    if any(one.from_circulation for one in study.outlets):
        names["volume-circulated"] = ("past loop", "pipe-volume")
    rows: list[tuple[Cell, ...]] = []
    for one in study.outlets:
        found = {check.limit.name: check for check in checks(one)}
        cells: list[Cell] = [one.name]
        for name, (_, dimension) in names.items():
            check = found.get(name)
            word = "" if check is None else "ok" if check.kept else "OVER"
            if check is not None and name == "length-by-size":
                word = f"{show(check.limit.value, dimension, system)}: {word}"
            cells.append(word)
        rows.append(tuple(cells))

    def title(name: str, word: str, dimension: str) -> str:
        if name == "length-by-size":
            return word
        return f"{word} {show(hot_limit(name).value, dimension, system)}"

    return Table(
        title="Published limits",
        columns=(
            Column(name="outlet", wrap=True),
            *(Column(name=title(name, *one), wrap=True) for name, one in names.items()),
        ),
        rows=tuple(rows),
    )


def change_tables(study: HotStudy, system: UnitSystem) -> Iterable[Table]:
    """What was tried to bring hot water sooner; only tables that have rows."""
    for table in (
        _thinner(study, system),
        _shorter(study),
        _insulated(study, system),
        _kept_hot(study, system),
    ):
        if table.rows:
            yield table


def _thinner(study: HotStudy, system: UnitSystem) -> Table:
    return Table(
        title="Thinner: each run in the next smaller size",
        columns=(
            Column(name="run", wrap=True),
            Column(name="sizes"),
            Column(name="outlet", wrap=True),
            Column(name="wait", dimension="time"),
            Column(name="then", dimension="time"),
            Column(name="result", wrap=True),
        ),
        rows=tuple(
            (
                ", ".join(one.runs),
                f"{one.before} to {one.after}",
                one.outlet,
                wait_cell(one.wait_before),
                wait_cell(one.wait_after),
                thinner_result(one, system),
            )
            for one in study.gains.thinner[:MOST_ROWS]
        ),
    )


def thinner_result(one: Thinner, system: UnitSystem) -> str:
    """Whether a thinner run works, in words."""
    if one.worst_margin < 0.0:
        return f"no: {one.worst_name} short by {amount(-one.worst_margin, system)}"
    if not one.works:
        return f"no: {one.failing.replace('-', ' ')}" if one.failing else "no"
    word = "works, but too fast" if one.too_fast else "works"
    return f"{word}; {amount(one.worst_margin, system)} to spare at {one.worst_name}"


def _shorter(study: HotStudy) -> Table:
    def cut(value: float | None) -> Cell:
        return "not alone" if value is None else value

    best, most = f"{best_wait():.0f} s", hot_limit("stored").value
    return Table(
        title=f"Shorter: how much less of an outlet's own run keeps {best}, and the volume",
        columns=(
            Column(name="run", wrap=True),
            Column(name="now", dimension="length"),
            Column(name=f"less for {best}", dimension="length", wrap=True),
            Column(name="less for the volume", dimension="length", wrap=True),
            Column(name="saved if 10 % less", dimension="time", wrap=True),
        ),
        rows=tuple(
            (
                one.run,
                one.length,
                cut(one.cut_for_wait),
                cut(one.cut_for_volume),
                0.1 * one.length * one.per_length,
            )
            for one in study.gains.shorter[: 2 * MOST_ROWS]
            if most > 0.0
        ),
    )


def _insulated(study: HotStudy, system: UnitSystem) -> Table:
    return Table(
        title="Insulated: bare runs with foam around them",
        columns=(
            Column(name="run", wrap=True),
            Column(name="length", dimension="length"),
            Column(name="warm, bare min", digits=0, wrap=True),
            Column(name="warm, foam min", digits=0, wrap=True),
            _plain("saved a year", "volume", system),
            _plain("heat saved", "energy", system),
        ),
        rows=tuple(
            (
                one.run,
                one.length,
                _minutes(one.bare_time),
                _minutes(one.foam_time),
                _in(one.saved_volume, "volume", system),
                _in(one.saved_energy, "energy", system),
            )
            for one in study.gains.insulated[:MOST_ROWS]
            if one.saved_energy > 0.0
        ),
    )


def _kept_hot(study: HotStudy, system: UnitSystem) -> Table:
    return Table(
        title="Kept hot: shared pipe with a circulation line or a heating cable",
        columns=(
            Column(name="to the end of", wrap=True),
            Column(name="outlet", wrap=True),
            Column(name="wait", dimension="time"),
            Column(name="then", dimension="time"),
            Column(name="heat W", digits=0),
            _plain("a year", "energy", system),
        ),
        rows=tuple(
            (
                one.run,
                one.outlet,
                wait_cell(one.wait_before),
                wait_cell(one.wait_after),
                one.power,
                _in(one.yearly_energy, "energy", system),
            )
            for one in study.gains.kept_hot[:MOST_ROWS]
        ),
    )
