"""What a run is made of: tube, way of joining, sizes, fittings and length."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from msgspec import Struct, field

from supplycalc.catalogue import Catalogue, Tube
from supplycalc.model import OwnFitting
from supplycalc.reading.everyday import everyday
from supplycalc.reading.links import Entries, Link
from supplycalc.reading.reporter import Entry, Reporter, quoted

Position = tuple[float, float, float]


class Pipe(Struct, frozen=True, kw_only=True):
    """The answers for one run or branch."""

    material: str
    joining: str
    size: str | None
    sizes: tuple[str, ...]
    minimum: str | None
    length: float
    """[m]"""
    measured: bool
    """Whether the length comes from positions."""
    joining_assumed: bool


class PipeReader(Struct, frozen=True, kw_only=True):
    """Reads the pipes of one file."""

    reporter: Reporter
    catalogue: Catalogue
    defaults: Entry | None
    own_fittings: tuple[OwnFitting, ...]
    positions: Mapping[str, Position]
    allowance: float
    """Share added to measured lengths."""
    without_material: list[Entry] = field(default_factory=list)

    def read(self, entry: Entry, start: str | None, end: str | None) -> Pipe | None:
        """The pipe of a run or branch between two points; None where something is wrong."""
        length = self._length(entry, start, end)
        material = entry.get("material")
        if material is None and entry.missing("material"):
            default = self.defaults
            if default is None or default.missing("material"):
                self.without_material.append(entry)
                return None
            material = default.get("material")
        tube = self.catalogue.tubes.get(material or "")
        if material is None or tube is None:
            return None
        joining, assumed = self._joining(entry, material, tube)
        size, sizes, minimum = self._sizes(entry, material, tube)
        if joining is not None:
            self._fittings(entry, joining)
        if length is None or joining is None:
            return None
        return Pipe(
            material=material,
            joining=joining,
            size=size,
            sizes=sizes,
            minimum=minimum,
            length=length[0],
            measured=length[1],
            joining_assumed=assumed,
        )

    def _length(
        self, entry: Entry, start: str | None, end: str | None
    ) -> tuple[float, bool] | None:
        length = entry.get("length")
        if length is not None:
            return length, False
        if not entry.missing("length"):
            return None
        here, there = self.positions.get(start or ""), self.positions.get(end or "")
        if here is None or there is None:
            message = (
                f'{entry.label}: length is missing, such as length = "52 ft"; or give both its '
                "ends a position (at)"
            )
            self.reporter.report(entry.path, message)
            return None
        distance = math.fsum(abs(a - b) for a, b in zip(here, there, strict=True))
        if distance == 0:
            message = f"{entry.label}: both its ends have the same position; give its length"
            self.reporter.report(entry.path, message)
            return None
        return distance * (1 + self.allowance), True

    def _joining(self, entry: Entry, material: str, tube: Tube) -> tuple[str | None, bool]:
        """The way of joining, and whether it is assumed."""
        joined = entry.get("joined")
        if joined is not None:
            if joined not in tube.joinings:
                message = f"{entry.label}, joined: {material} is not joined by {quoted(joined)}"
                self.reporter.report((*entry.path, "joined"), message, joined, tube.joinings)
                return None, False
            return joined, False
        if not entry.missing("joined"):
            return None, False
        default = self.defaults.get("fittings") if self.defaults is not None else None
        if default in tube.joinings:
            return default, False
        return tube.joinings[0], True

    def _sizes(
        self, entry: Entry, material: str, tube: Tube
    ) -> tuple[str | None, tuple[str, ...], str | None]:
        known = tuple(size.nominal for size in tube.sizes)
        size = self._size(entry, "size", entry.get("size"), material, known)
        minimum = self._size(entry, "minimum", entry.get("minimum"), material, known)
        wanted = [
            self._size(entry, "sizes", one, material, known, number)
            for number, one in enumerate(entry.get("sizes") or ())
        ]
        sizes = tuple(one for one in known if one in wanted)
        if not entry.missing("size") and not entry.missing("sizes"):
            message = f"{entry.label}: give size (settled) or sizes (to choose from), not both"
            self.reporter.report((*entry.path, "sizes"), message)
        if minimum is not None:
            least = known.index(minimum)
            below = [one for one in (size, *sizes) if one and known.index(one) < least]
            if below and (size is not None or len(below) == len(sizes)):
                message = f"{entry.label}, minimum: {minimum!r} is larger than {below[-1]!r}"
                self.reporter.report((*entry.path, "minimum"), message)
        return size, sizes, minimum

    def _size(
        self,
        entry: Entry,
        key: str,
        text: str | None,
        material: str,
        known: tuple[str, ...],
        number: int | None = None,
    ) -> str | None:
        if text is None:
            return None
        found = nominal(text, known)
        if found is None:
            path = (*entry.path, key) if number is None else (*entry.path, key, number)
            message = f"{entry.label}, {key}: {not_a_size(text, known, material)}"
            self.reporter.report(path, message)
        return found

    def _fittings(self, entry: Entry, joining: str) -> None:
        if not entry.missing("fittings") and not entry.missing("fitting_allowance"):
            message = (
                f"{entry.label}: give fittings (counted) or fitting_allowance (a share of the "
                "length in their place), not both"
            )
            self.reporter.report((*entry.path, "fitting_allowance"), message)
        own = tuple(one.name for one in self.own_fittings if one.joining in (None, joining))
        valid = (*self.catalogue.joinings[joining].kinds, *own)
        for kind, _ in entry.get("fittings") or ():
            if kind not in valid:
                message = f"{entry.label}: {quoted(kind)} is not a fitting known for {joining!r}"
                meant = everyday("fittings", kind, valid)
                self.reporter.report((*entry.path, "fittings", kind), message, kind, valid, meant)


_UNIT = re.compile(r"\s*(?:inches|inch|in\.?|mm|\")$")
_MIXED = re.compile(r"(?<=[0-9])\s+(?=[0-9]+/[0-9]+)")


def clean(text: str) -> str:
    """A nominal size as catalogues write it: "1-1/4" for 1 1/4", "22" for 22 mm."""
    return re.sub(r"\s+", "", _MIXED.sub("-", _UNIT.sub("", text.strip().lower())))


def not_a_size(text: str, known: tuple[str, ...], material: str) -> str:
    """What is wrong with a size; the nearest word would not be the nearest size."""
    return f"{quoted(text)} is not a size of {material}; choose from: {', '.join(known)}"


def nominal(text: str, known: tuple[str, ...]) -> str | None:
    """The nominal size that a text means, if it is a known one.

    Args:
        text: as in the file.
        known: nominal sizes as the catalogue writes them.

    Returns:
        The catalogue's own writing, or None.
    """
    if text in known:
        return text
    wanted = clean(text)
    return next((one for one in known if clean(one) == wanted), None)


def positions_of(entries: Entries, links: list[Link]) -> dict[str, Position]:
    """Where the points stand.

    A device or manifold is taken to be where its position says, inlet and outlet alike, unless
    the inlet's point has a position of its own or two devices claim it.

    Args:
        entries: the checked sections.
        links: the links of the file.

    Returns:
        Position of each point that has one [m].
    """
    found: dict[str, Position] = {}
    for source in entries["source"]:
        if source.get("at") is not None:
            found["source"] = source.get("at")
    for point in entries["point"]:
        if point.get("at") is not None and point.get("name") is not None:
            found[point.get("name")] = point.get("at")
    placed = {
        entry.path: entry.get("at")
        for kind in ("device", "manifold", "fixture")
        for entry in entries[kind]
        if entry.get("at") is not None
    }
    claims: dict[str, set[Position]] = {}
    for link in links:
        at = placed.get(link.path[:2])
        if at is not None:
            found.setdefault(link.end, at)
            if link.kind != "branch" and link.start is not None:
                claims.setdefault(link.start, set()).add(at)
    for point_name, at_set in claims.items():
        if len(at_set) == 1:
            found.setdefault(point_name, *at_set)
    return found
