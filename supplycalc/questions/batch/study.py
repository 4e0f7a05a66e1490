"""A batch: cut into pieces, sent to an executor, kept as it comes, put in order."""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, as_completed
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, ClassVar

import msgspec
from msgspec import Struct

from supplycalc.problems import InputError, Place, Problem
from supplycalc.questions.batch.work import (
    BatchPiece,
    BatchRow,
    batch_rows,
    beside_pressure,
    shares_sizes,
)
from supplycalc.reading import loads
from supplycalc.reading.files import read_text
from supplycalc.reading.variants import VariantColumn, VariantTable, read_variants
from supplycalc.units import UnitSystem

FILES_A_PIECE, SIZED_A_PIECE, FIXED_A_PIECE = 8, 64, 2048
SHARED_BY = 16
"""Variants that differ in pressure alone, from which a piece may be long."""
SCHEMA = "supplycalc-batch/1"


class Batch(Struct, frozen=True, kw_only=True):
    """The rows of a batch, in the order of its files or variants."""

    schema: ClassVar[str] = SCHEMA

    rows: tuple[BatchRow, ...]
    columns: tuple[VariantColumn, ...] = ()
    """Of a table of variants."""
    shown_in: UnitSystem = "us"

    @property
    def ok(self) -> bool:
        """True when every row was computed and passes."""
        return all(row.ok for row in self.rows)

    @property
    def skipped(self) -> tuple[BatchRow, ...]:
        """Rows that could not be read or computed."""
        return tuple(row for row in self.rows if row.ok is None)

    def to_dict(self, units: UnitSystem | None = None) -> dict[str, Any]:
        """The machine-readable form, as `--json` prints it.

        Args:
            units: "us" or "metric"; None takes the first file's.
        """
        system = units or self.shown_in
        rows = [row_data(row, self.columns, system) for row in self.rows]
        return {"schema": SCHEMA, "ok": self.ok, "rows": rows}


def row_data(row: BatchRow, columns: Sequence[VariantColumn], system: UnitSystem) -> dict[str, Any]:
    """A row as JSON has it."""
    from supplycalc.records import fields_to_data, quantity

    data = fields_to_data(row, system)
    cost = data.pop("cost")
    data["cost"] = None if cost is None else quantity(row.cost, "mass", system)
    data["values"] = {
        column.head: value_data(column, value, system)
        for column, value in zip(columns, row.values, strict=True)
    }
    return data


def value_data(column: VariantColumn, value: float | None, system: UnitSystem) -> Any:
    """What a variant has at a field (SI, or the number of a size), as JSON has it."""
    from supplycalc.records import quantity

    if value is None or column.sizes:
        return None if value is None else column.sizes[int(value)]
    return quantity(value, column.key.dimension or "pressure", system)


def batch(
    files: Iterable[str | Path],
    *,
    variants: str | Path | None = None,
    fixed: bool = False,
    method: str | None = None,
    executor: Executor | None = None,
    keep: Path | None = None,
    progress: Callable[[float], None] | None = None,
) -> Batch:
    """Size many houses, or one house in many variants; no remedies are looked for.

    Args:
        variants: table (CSV) whose columns are fields, such as run.service.length.
        method: demand method; None takes each file's.
        executor: does the pieces; None: this process, one after the other.
        keep: file in which finished pieces are kept, and taken from when it is there.
        progress: is told the part of the rows that is finished.

    Returns:
        The rows in order, whatever order they came in.

    Raises:
        InputError: there is no house, or the table of variants is wrong.
    """
    paths = [Path(path) for path in files]
    if not paths:
        raise InputError([Problem(place=Place("batch"), message="there is no file to work on")])
    if variants is None:
        texts, bad = _read(paths)
        pieces, table = list(_of_files(texts, method)), None
    else:
        if len(paths) != 1:
            message = "a table of variants goes with one house"
            raise InputError([Problem(place=Place(str(variants)), message=message)])
        text = read_text(paths[0])
        house = loads(text, str(paths[0]))
        table = read_variants(read_text(variants), str(variants), house)
        at_once = SIZED_A_PIECE
        few = len(set(beside_pressure(table))) * SHARED_BY <= len(table.names)
        if fixed or (few and shares_sizes(house, table)):
            at_once = FIXED_A_PIECE
        pieces = list(_of_variants(str(paths[0]), text, table, method, fixed, at_once))
        texts, bad = [(0, str(paths[0]), text)], []
    kept = _Kept(keep, pieces)
    rows = [*bad, *kept.rows]
    total = len(bad) + sum(_count(piece) for piece in pieces)
    missing = [piece for piece in pieces if piece.first not in kept.firsts]
    for found in _finished(missing, executor):
        kept.add(found)
        rows += found
        if progress is not None:
            progress(len(rows) / max(total, 1))
    rows.sort(key=lambda row: row.number)
    return Batch(
        rows=tuple(rows),
        columns=() if table is None else table.columns,
        shown_in=_units_of(texts),
    )


def _finished(pieces: Sequence[BatchPiece], executor: Executor | None) -> Iterator[list[BatchRow]]:
    """The rows of each piece, as they come."""
    if executor is None:
        yield from map(batch_rows, pieces)
        return
    for future in as_completed([executor.submit(batch_rows, piece) for piece in pieces]):
        yield future.result()


def _count(piece: BatchPiece) -> int:
    return len(piece.texts) if piece.table is None else len(piece.table.names)


_Text = tuple[int, str, str]
"""Number of its row, name and text of a file."""


def _read(paths: Sequence[Path]) -> tuple[list[_Text], list[BatchRow]]:
    """The texts of files, and a row for each that cannot be read."""
    texts, bad = [], []
    for number, path in enumerate(paths):
        try:
            texts.append((number, str(path), read_text(path)))
        except InputError as error:
            problem = error.problems[0].text
            bad.append(BatchRow(number=number, name=str(path), problem=problem))
    return texts, bad


def _of_files(texts: Sequence[_Text], method: str | None) -> Iterator[BatchPiece]:
    # rows of a piece are numbered one after the other: a file that cannot be read ends a piece
    alike = itertools.groupby(enumerate(texts), lambda pair: pair[1][0] - pair[0])
    for run in ([text for _, text in pairs] for _, pairs in alike):
        for at in range(0, len(run), FILES_A_PIECE):
            part = run[at : at + FILES_A_PIECE]
            named = tuple((name, text) for _, name, text in part)
            yield BatchPiece(first=part[0][0], texts=named, method=method)


def _of_variants(
    name: str, text: str, table: VariantTable, method: str | None, fixed: bool, at_once: int
) -> Iterator[BatchPiece]:
    for at in range(0, len(table.names), at_once):
        part = VariantTable(
            columns=table.columns,
            names=table.names[at : at + at_once],
            values=table.values[at : at + at_once],
        )
        yield BatchPiece(first=at, texts=((name, text),), method=method, table=part, fixed=fixed)


def _units_of(texts: Sequence[_Text]) -> UnitSystem:
    """Of the first house that can be read."""
    for _, name, text in texts:
        try:
            return loads(text, name).project.shown_in
        except InputError:
            continue
    return "us"


class _Kept:
    """Finished pieces in a file, a line each, so that a batch that was killed loses none."""

    def __init__(self, path: Path | None, pieces: Sequence[BatchPiece]) -> None:
        self.rows: list[BatchRow] = []
        self.firsts: set[int] = set()
        self._path = path
        if path is None:
            return
        try:
            release = version("supplycalc")
        except PackageNotFoundError:  # run from where it was unpacked
            release = ""
        whole = msgspec.json.encode([release, *pieces])
        self._mark = hashlib.sha256(whole).hexdigest()
        lines = path.read_bytes().split(b"\n") if path.exists() else []
        mine = bool(lines) and lines[0] == self._mark.encode()
        if not mine:
            path.write_bytes(self._mark.encode() + b"\n")
            return
        good = [lines[0]]
        for line in lines[1:]:
            try:
                rows = msgspec.json.decode(line, type=list[BatchRow])
            except msgspec.DecodeError:
                continue  # the one that was being written
            good.append(line)
            self.rows += rows
            self.firsts.add(rows[0].number)
        path.write_bytes(b"\n".join(good) + b"\n")

    def add(self, rows: list[BatchRow]) -> None:
        """Keep the rows of a finished piece."""
        if self._path is None:
            return
        with self._path.open("ab") as stream:
            stream.write(msgspec.json.encode(rows) + b"\n")


def json_lines(result: Batch, system: UnitSystem) -> str:
    """A batch as JSON lines, a row each."""
    import json

    return "".join(
        json.dumps(row_data(row, result.columns, system), ensure_ascii=False) + "\n"
        for row in result.rows
    )
