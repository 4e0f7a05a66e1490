"""Ways of joining tube, and the loss of every fitting in each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue.tubes import nominal_inches
from supplycalc.problems import NOWHERE, Place
from supplycalc.tables import Citation, citation_of, to_si

CHECK_VALVES = ("check-valve", "foot-valve")
"""Fittings that water cannot run back through."""


class Joining(Struct, frozen=True, kw_only=True):
    """One way of joining and its family of figures."""

    name: str
    title: str
    form: str
    """"k", "equivalent-length" [m] or "diameter-ratio"."""
    figures: dict[str, tuple[float, ...]]
    """Kind -> one figure per entry of `at`; lengths [m] where diameters decide the others."""
    at: tuple[float, ...]
    """Nominal sizes of the figures [in]."""
    diameter_ratio: float
    """Inside diameter of the fitting over that of the tube, where `insert_wall` is 0."""
    insert_wall: float
    """Wall of a fitting that sits inside the tube [m]."""
    bodies: dict[str, float]
    """Kind -> K of the turn itself in the fitting's own width, for diameter-ratio joinings."""
    valves: dict[str, float]
    """Kind -> n of K = n*fT, where the joining has no figure of its own."""
    own: dict[str, float]
    """Kind -> K of the user's own fittings."""
    citation: Citation
    cited: dict[str, Citation]
    """Kind -> where its figure comes from, where that is not `citation`."""
    assumed: str

    def citation_of(self, kind: str) -> Citation:
        """Where the figure of a kind of fitting comes from."""
        return self.cited.get(kind, self.citation)

    @property
    def kinds(self) -> tuple[str, ...]:
        """Every fitting that may be counted with this joining."""
        own = [name for name in self.own if name not in self.figures]
        names = [*self.figures, *self.bodies, *self.valves, "stop", *own]
        return tuple(dict.fromkeys(names))


class OwnFitting(Struct, frozen=True, kw_only=True):
    """A fitting that a house file declares: one K for all sizes, for one way of joining or all."""

    name: str
    k: float
    joining: str | None = None
    source: str = "your file"
    place: Place = NOWHERE


def joining(name: str, row: dict[str, Any], table: dict[str, Any]) -> Joining:
    """A way of joining from its row of fittings.toml, in SI."""
    unit = "" if row["form"] == "k" else "ft"
    figures = {
        kind: tuple(to_si(value, unit) for value in values)
        for kind, values in row.items()
        if isinstance(values, list) and kind != "sizes"
    }
    insert = row["form"] == "diameter-ratio"
    bodies = {kind: k for kind, k, _, _ in table["body"]["rows"]} if insert else {}
    valves, stop = table["valves"], table["stop"]
    cited = {kind: citation_of(valves, check) for kind, _, check in valves["rows"]} | {
        "stop": citation_of(stop)
    }
    if insert and row.get("diameter_ratio") == 1.0:  # as wide as the tube: the turn is all of it
        own = row["source"]
        for kind, _, of, check in table["body"]["rows"]:
            of_body = {"source": of, "check": check if of == own else "derived"}
            cited[kind] = citation_of(of_body)
    for kind in figures:
        cited.pop(kind, None)
        if "printed" in row:
            cited[kind] = citation_of(row["printed"])
    cited |= {kind: citation_of(entry) for kind, entry in row.get("other", {}).items()}
    return Joining(
        name=name,
        title=row["title"],
        form=row["form"],
        figures=figures,
        at=tuple(nominal_inches(size) for size in row.get("sizes", ())),
        diameter_ratio=row.get("diameter_ratio", 1.0),
        insert_wall=to_si(row.get("insert_wall", 0.0), "in"),
        bodies=bodies,
        valves={kind: n for kind, n, _ in valves["rows"]},
        own={},
        citation=citation_of(row),
        cited=cited,
        assumed=row.get("assumed", ""),
    )


def with_own_fitting(joinings: Mapping[str, Joining], fitting: OwnFitting) -> dict[str, Joining]:
    """The ways of joining with a fitting that the file declares, for one of them or for all.

    Args:
        fitting: one of a shipped name goes before it.
    """
    source = Citation(key="own", text=fitting.source)
    return {
        name: replace(
            joining,
            own={**joining.own, fitting.name: fitting.k},
            cited={**joining.cited, fitting.name: source},
        )
        if fitting.joining in (None, name)
        else joining
        for name, joining in joinings.items()
    }
