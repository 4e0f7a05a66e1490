"""Kinds of fixture: what each needs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.tables import Citation, citation_of, to_si

Side = Literal["cold", "hot"]
BATHING = frozenset({"tub-shower", "bathtub", "whirlpool-tub", "shower"})
"""Kinds in which people bathe."""
CLOSETS = frozenset({"water-closet", "water-closet-one-piece", "flush-valve-closet"})


class Closing(Struct, frozen=True, kw_only=True):
    """How fast a kind of valve shuts."""

    title: str
    time: float
    """[s] in which most of the flow is stopped."""
    by_hand: bool
    """Whether it shuts as fast as somebody likes."""
    slow: bool
    """Whether the codes' rule for quick valves is not meant for it."""
    units: float
    """Fixture units by which its arrestor is chosen."""
    citation: Citation


class FixtureKind(Struct, frozen=True, kw_only=True):
    """A kind of fixture and what it needs."""

    name: str
    title: str
    sides: tuple[Side, ...]
    mixed: bool
    outlets: dict[str, tuple[float, float]]
    """Valve -> (flow [m3/s], flowing pressure [Pa gauge]); the usual valve first."""
    minimum_size: str
    """Smallest branch [nominal in]; empty where the book names none."""
    minimum_citation: Citation
    citation: Citation
    note: str
    closing: Closing | None = None
    """How fast its valve shuts; None: slowly, as a float valve does."""
    smaller_from_manifold: bool = True
    """Whether the book lets a short branch of a manifold be one size smaller."""

    @property
    def valves(self) -> tuple[str, ...]:
        """Kinds of valve that the table tells apart, the usual one first."""
        return tuple(self.outlets)

    def flow(self, valve: str | None = None) -> float:
        """Flow of the outlet alone [m3/s]; None, or one not told apart: with its usual valve."""
        return self._outlet(valve)[0]

    def pressure(self, valve: str | None = None) -> float:
        """Flowing pressure it needs [Pa gauge]; None, or one not told apart: its usual valve's."""
        return self._outlet(valve)[1]

    def _outlet(self, valve: str | None) -> tuple[float, float]:
        return self.outlets.get(valve or "", self.outlets[self.valves[0]])


def closings(table: dict[str, Any]) -> Iterator[tuple[list[str], Closing]]:
    """The kinds of fixture of every row of `closing` in fixtures.toml, and how fast they shut."""
    for row in table["closing"].values():
        yield (
            row["kinds"],
            Closing(
                title=row["title"],
                time=float(row["seconds"]),
                by_hand=row["by_hand"],
                slow=row["slow"],
                units=float(row["units"]),
                citation=citation_of(row),
            ),
        )


def fixture_kind(name: str, row: dict[str, Any], table: dict[str, Any]) -> FixtureKind:
    """A kind of fixture from its row of fixtures.toml, in SI."""
    units = table["units"]
    return FixtureKind(
        name=name,
        title=row["title"],
        sides=tuple(row["sides"]),
        mixed=row.get("mixed", False),
        outlets={
            valve: (to_si(flow, units["flow"]), to_si(pressure, units["pressure"]))
            for valve, flow, pressure in row["outlet"]
        },
        minimum_size=row["minimum"],
        minimum_citation=citation_of(table["minimum"]["other"].get(name, table["minimum"])),
        citation=citation_of(row),
        note=row.get("note", ""),
        closing=next((it for kinds, it in closings(table) if name in kinds), None),
    )


def by_the_book(kind: FixtureKind, method: Mapping[str, Any]) -> FixtureKind:
    """A kind of fixture with what a demand method's own book asks for it; as it is, where the
    method has no book of its own.

    Args:
        kind: with the figures of the American tables of outlets.
        method: the data file of the demand method. Its table `outlet` says where the book has an
            outlet's flow, flowing pressure and smallest branch; what it leaves out stays.
    """
    book = method.get("outlet")
    if book is None:
        return kind
    table = method[book["table"]]
    row = next(row for row in table["rows"] if row[0] == method["row_of"][kind.name])
    figures = dict(zip(table["columns"], row, strict=True))
    of_row = citation_of(table, figures.get("check"))
    asked = to_si(figures[book["pressure"]], "kPa") if "pressure" in book else None
    citation = of_row
    if "pressure_of_all" in book:
        of_all = book["pressure_of_all"]
        asked, citation = to_si(of_all["value"], of_all["unit"]), citation_of(of_all)
    assert asked is not None
    outlets = {}
    for valve, (flow, pressure) in kind.outlets.items():
        if "flow" in book:
            flow = to_si(figures[book["flow"]], "l/s")
        more = kind.name in book.get("more_for", ())
        outlets[valve] = (flow, max(asked, pressure) if more else asked)
    return replace(
        kind,
        outlets=outlets,
        citation=citation,
        minimum_size=figures.get(book.get("branch"), ""),
        minimum_citation=of_row,
        smaller_from_manifold=False,
    )
