"""The tables of `hot`: waits, water run off, limits, and each change that was tried."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from supplycalc.questions.hot.gains import Insulated, KeptHot, Shorter, Thinner
from supplycalc.questions.hot.limits import best_wait, hot_limit
from supplycalc.questions.hot.outlets import HotOutlet
from supplycalc.questions.hot.study import HotStudy
from supplycalc.records import Cell, Column, Table, table_of
from supplycalc.records.sentences import amount
from supplycalc.records.table import wait_cell
from supplycalc.units import MINUTE, UnitSystem, convert, show, unit_of

MOST_ROWS = 6
"""Rows of each table of changes."""


def nobody_waits(outlets: Iterable[HotOutlet]) -> str:
    """What a title says of outlets that stand last; empty where there are none."""
    last = [outlet.name for outlet in outlets if not outlet.runs_off]
    return f"; last, as nobody waits there: {', '.join(last)}" if last else ""


def hot_outlet_table(study: HotStudy) -> Table:
    """Every hot outlet, the longest wait first, those at which nobody waits last."""
    return table_of(
        "Hot outlets, the longest wait first" + nobody_waits(study.outlets),
        HotOutlet,
        study.outlets,
        (
            Column(name="outlet", of="name", wrap=True),
            Column(name="pipe", of="length"),
            Column(name="holds", of="volume"),
            Column(name="hot flow", of="hot_flow", wrap=True),
            _wait("wait", "wait"),
            _wait("hot only", "wait_hot_only", wrap=True),
            Column(
                name="drawn",
                dimension="pipe-volume",
                of=lambda outlet: outlet.drawn if outlet.hot_flow > 0.0 else None,
            ),
            Column(
                name="arrives",
                dimension="temperature",
                of=lambda outlet: outlet.arrives if outlet.hot_flow > 0.0 else None,
            ),
            Column(name="class", of="wait_class"),
        ),
    )


def _wait(name: str, field: str, *, wrap: bool = False) -> Column:
    """A column of waits, some of which may never end."""
    return Column(
        name=name, dimension="time", wrap=wrap, of=lambda record: wait_cell(getattr(record, field))
    )


def _whole(name: str, field: str, dimension: str, system: UnitSystem) -> Column:
    """A column without decimals, its unit in its name: estimates that claim no more."""
    return Column(
        name=f"{name} {unit_of(dimension, system)}",
        digits=0,
        wrap=True,
        of=lambda record: convert(getattr(record, field), dimension, system)[0],
    )


def _minutes(name: str, field: str) -> Column:
    """A column of the times that pipe stays warm, which may be without end."""

    def cell(record: object) -> Cell:
        time = getattr(record, field)
        return time / MINUTE if math.isfinite(time) else "always"

    return Column(name=f"{name} min", digits=0, wrap=True, of=cell)


def year_table(study: HotStudy, system: UnitSystem) -> Table:
    """What runs away at every outlet, with one draw and in a year."""
    return table_of(
        "Water and heat that run away",
        HotOutlet,
        sorted(study.outlets, key=lambda outlet: -outlet.yearly_energy),
        (
            Column(name="outlet", of="name", wrap=True),
            Column(name="draws a day", of="draws_per_day", digits=1, wrap=True),
            _minutes("stays warm", "stays_warm"),
            Column(
                name="per draw",
                dimension="pipe-volume",
                wrap=True,
                of=lambda outlet: outlet.drawn if outlet.runs_off else 0.0,
            ),
            Column(name="heat", of="energy_per_draw", wrap=True),
            _whole("a year", "yearly_volume", "volume", system),
            _whole("heat a year", "yearly_energy", "energy", system),
        ),
    )


LIMIT_TITLES = {
    "length-residential": ("residential", "length"),
    "length-plumbing": ("plumbing", "length"),
    "length-by-size": ("energy code by size", "length"),
    "stored": ("stored", "pipe-volume"),
    "drawn": ("drawn", "pipe-volume"),
    "volume-circulated": ("past loop", "pipe-volume"),
    "three-litres": ("holds at most", "volume"),
}
"""Limit -> (the start of its column's name, dimension)."""


def limit_table(study: HotStudy, system: UnitSystem) -> Table:
    """Which published limits each outlet keeps."""
    past_loop = any(outlet.from_circulation for outlet in study.outlets)
    american = all(outlet.american for outlet in study.outlets)
    names = [
        name
        for name in LIMIT_TITLES
        if (name == "three-litres") != american and (past_loop or name != "volume-circulated")
    ]

    def title(name: str) -> str:
        start, dimension = LIMIT_TITLES[name]
        if name == "length-by-size":
            return start
        return f"{start} {show(hot_limit(name).value, dimension, system)}"

    def words(outlet: HotOutlet) -> dict[str, str]:
        told = {check.limit.name: "ok" if check.kept else "OVER" for check in outlet.limits}
        for check in outlet.limits:
            if check.limit.name == "length-by-size":
                longest = show(check.limit.value, "length", system)
                told["length-by-size"] = f"{longest}: {told['length-by-size']}"
        return told

    return Table(
        title="Published limits",
        columns=(
            Column(name="outlet", wrap=True),
            *(Column(name=title(name), wrap=True) for name in names),
        ),
        rows=tuple(
            (outlet.name, *(told.get(name, "") for name in names))
            for outlet, told in ((outlet, words(outlet)) for outlet in study.outlets)
        ),
    )


def change_tables(study: HotStudy, system: UnitSystem) -> Iterator[Table]:
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
    return table_of(
        "Thinner: each run in the next smaller size",
        Thinner,
        study.thinner[:MOST_ROWS],
        (
            Column(name="run", of=lambda change: ", ".join(change.runs), wrap=True),
            Column(name="sizes", of=lambda change: f"{change.before} to {change.after}"),
            Column(name="outlet", of="outlet", wrap=True),
            _wait("wait", "wait_before"),
            _wait("then", "wait_after"),
            Column(name="result", of=lambda change: thinner_result(change, system), wrap=True),
        ),
    )


def thinner_result(change: Thinner, system: UnitSystem) -> str:
    """Whether a thinner run works, in words."""
    if change.worst_margin < 0.0:
        return f"no: {change.worst_name} short by {amount(-change.worst_margin, system)}"
    if not change.works:
        return f"no: {change.failing.replace('-', ' ')}" if change.failing else "no"
    word = "works, but too fast" if change.too_fast else "works"
    return f"{word}; {amount(change.worst_margin, system)} to spare at {change.worst_name}"


def _shorter(study: HotStudy) -> Table:
    best = f"{best_wait():.0f} s"

    def less(name: str, field: str) -> Column:
        def cell(change: Shorter) -> Cell:
            length = getattr(change, field)
            return "not alone" if length is None else float(length)

        return Column(name=name, dimension="length", wrap=True, of=cell)

    return table_of(
        f"Shorter: how much less of an outlet's own run keeps {best}, and the volume",
        Shorter,
        study.shorter[: 2 * MOST_ROWS],
        (
            Column(name="run", of="run", wrap=True),
            Column(name="now", of="length"),
            less(f"less for {best}", "less_for_wait"),
            less("less for the volume", "less_for_volume"),
            Column(name="saved if 10 % less", of="saved_by_a_tenth", wrap=True),
        ),
    )


def _insulated(study: HotStudy, system: UnitSystem) -> Table:
    return table_of(
        "Insulated: bare runs with foam around them",
        Insulated,
        [change for change in study.insulated[:MOST_ROWS] if change.saved_energy > 0.0],
        (
            Column(name="run", of="run", wrap=True),
            Column(name="length", of="length"),
            _minutes("warm, bare", "warm_bare"),
            _minutes("warm, foam", "warm_foam"),
            _whole("saved a year", "saved_volume", "volume", system),
            _whole("heat saved", "saved_energy", "energy", system),
        ),
    )


def _kept_hot(study: HotStudy, system: UnitSystem) -> Table:
    return table_of(
        "Kept hot: shared pipe with a circulation line or a heating cable",
        KeptHot,
        study.kept_hot[:MOST_ROWS],
        (
            Column(name="to the end of", of="run", wrap=True),
            Column(name="outlet", of="outlet", wrap=True),
            _wait("wait", "wait_before"),
            _wait("then", "wait_after"),
            Column(name="heat W", of=lambda change: change.heat, digits=0),
            _whole("a year", "yearly_energy", "energy", system),
        ),
    )
