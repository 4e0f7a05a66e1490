"""Kinds of fixture: what each needs."""

from __future__ import annotations

from typing import Any, Literal

from msgspec import Struct

from supplycalc.tables import Citation, citation_of, to_si

Side = Literal["cold", "hot"]


class FixtureKind(Struct, frozen=True, kw_only=True):
    """A kind of fixture and what it needs."""

    name: str
    title: str
    sides: tuple[Side, ...]
    mixed: bool
    outlets: dict[str, tuple[float, float]]
    """Valve -> (flow [m3/s], flowing pressure [Pa gauge]); the usual valve first."""
    minimum_size: str
    minimum_citation: Citation
    citation: Citation
    note: str

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
    )
