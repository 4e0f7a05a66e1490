"""What a run is made of: tube, way of joining, sizes, fittings and length."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from msgspec import Struct, field

from supplycalc.catalogue import Catalogue, Tube
from supplycalc.model import Position, Range, Run
from supplycalc.reading.links import Entries, Link, gauge_point
from supplycalc.reading.reporter import Entry, Reporter, quoted
from supplycalc.reading.synonyms import meant_by

NOBODY_KNOWS = "?"
"""The size of pipe that is there and has not been measured."""


class RunReader(Struct, frozen=True, kw_only=True):
    """Reads the runs and branches of one file."""

    reporter: Reporter
    catalogue: Catalogue
    defaults: Entry | None
    positions: Mapping[str, Position]
    allowance: float
    """Share added to measured lengths."""
    without_material: list[Entry] = field(default_factory=list)
    """Runs for which neither they nor [defaults] name a material."""
    assumed_joinings: dict[str, str] = field(default_factory=dict)
    """Material -> its usual way of joining, where the file names none that fits."""

    def read(
        self, entry: Entry, name: str | None, end: str | None, fixture: str | None = None
    ) -> Run | None:
        """The run that a table describes; None where something is wrong with its pipe.

        Args:
            fixture: whose own branch it is.
        """
        length = self._length(entry, end)
        material = entry.get("material")
        if entry.has("classes") and not self._classes(entry):
            return None
        if material is None and entry.has("classes"):
            material = entry.get("classes")[-1]
        if material is None and entry.missing("material"):
            default = self.defaults
            if default is None or default.missing("material"):
                self.without_material.append(entry)
                return None
            material = default.get("material")
        tube = self.catalogue.tubes.get(material or "")
        if material is None or tube is None:
            self._fittings_of_any(entry)
            return None
        joining = self._joining(entry, material, tube)
        size, sizes, minimum = self._sizes(entry, material, tube)
        if joining is None:
            self._fittings_of_any(entry)
        else:
            self._fittings(entry, joining)
        if length is None or joining is None:
            return None
        return entry.record(
            Run,
            name=name,
            start=entry.get("from"),
            end=end,
            length=length,
            length_measured=entry.missing("length"),
            material=material,
            joining=joining,
            size=size,
            sizes=sizes,
            minimum=minimum,
            fixture=fixture,
        )

    def _classes(self, entry: Entry) -> bool:
        """Whether the classes of a run are tubes that could stand for each other."""
        tubes = self.catalogue.tubes
        names = entry.get("classes")
        wrong = [i for i, name in enumerate(names) if name not in tubes]
        for i in wrong:
            message = f"{entry.label}, classes: {quoted(names[i])} is no tube"
            self.reporter.report((*entry.path, "classes", i), message, names[i], tuple(tubes))
        if wrong:
            return False
        first = {size.nominal for size in tubes[names[0]].sizes}
        for i, name in enumerate(names[1:], start=1):
            alike = {size.nominal for size in tubes[name].sizes} & first
            ways = set(tubes[name].joinings) & set(tubes[names[0]].joinings)
            if not (alike and ways) or tubes[name].metric != tubes[names[0]].metric:
                message = (
                    f"{entry.label}, classes: {quoted(name)} cannot stand for {quoted(names[0])}: "
                    "they have no size or no way of joining in common"
                )
                self.reporter.report((*entry.path, "classes", i), message)
                return False
        material = entry.get("material")
        if material is not None and material not in names:
            message = f"{entry.label}: its material {quoted(material)} is not among its classes"
            self.reporter.report((*entry.path, "classes"), message)
            return False
        return True

    def _length(self, entry: Entry, end: str | None) -> float | None:
        """Developed length [m], as it is given or by the positions of both ends."""
        if not entry.missing("length"):
            length: float | None = entry.get("length")
            return length
        first = self.positions.get(entry.get("from") or "")
        last = self.positions.get(end or "")
        if first is None or last is None:
            message = (
                f'{entry.label}: length is missing, such as length = "52 ft"; or give both its '
                "ends a position (at)"
            )
            self.reporter.report(entry.path, message)
            return None
        distance = math.fsum(abs(a - b) for a, b in zip(first, last, strict=True))
        if distance == 0:
            message = f"{entry.label}: both its ends have the same position; give its length"
            self.reporter.report(entry.path, message)
            return None
        return distance * (1 + self.allowance)

    def _joining(self, entry: Entry, material: str, tube: Tube) -> str | None:
        joined: str | None = entry.get("joined")
        if joined is not None:
            if joined not in tube.joinings:
                message = f"{entry.label}, joined: {material} is not joined by {quoted(joined)}"
                self.reporter.report((*entry.path, "joined"), message, joined, tube.joinings)
                return None
            return joined
        if not entry.missing("joined"):
            return None
        default: str | None = self.defaults.get("joining") if self.defaults is not None else None
        if default is not None and default in tube.joinings:
            return default
        self.assumed_joinings[material] = tube.joinings[0]
        return tube.joinings[0]

    def _sizes(
        self, entry: Entry, material: str, tube: Tube
    ) -> tuple[str | None, tuple[str, ...], str | None]:
        known = tuple(size.nominal for size in tube.sizes)
        size = None
        if entry.get("size") != NOBODY_KNOWS:
            size = self._size(entry, "size", entry.get("size"), material, known)
        minimum = self._size(entry, "minimum", entry.get("minimum"), material, known)
        wanted = [
            self._size(entry, "sizes", text, material, known, number)
            for number, text in enumerate(entry.get("sizes") or ())
        ]
        sizes = tuple(nominal for nominal in known if nominal in wanted)
        if entry.get("size") == NOBODY_KNOWS:
            self._unknown_size(entry, tube, sizes)
        elif not entry.missing("size") and not entry.missing("sizes"):
            message = f"{entry.label}: give size (settled) or sizes (to choose from), not both"
            self.reporter.report((*entry.path, "sizes"), message)
        if minimum is not None:
            least = known.index(minimum)
            below = [each for each in (size, *sizes) if each and known.index(each) < least]
            if below and (size is not None or len(below) == len(sizes)):
                message = f"{entry.label}, minimum: {minimum!r} is larger than {below[-1]!r}"
                self.reporter.report((*entry.path, "minimum"), message)
        return size, sizes, minimum

    def _unknown_size(self, entry: Entry, tube: Tube, sizes: tuple[str, ...]) -> None:
        path = (*entry.path, "size")
        if not entry.get("existing"):
            message = (
                f"{entry.label}, size: '?' is for pipe that is there (existing = true); the size "
                "of new pipe is left out and chosen"
            )
            self.reporter.report(path, message)
            return
        may_be = [size for size in tube.sizes if (size.nominal in sizes if sizes else size.common)]
        least, most = may_be[0], may_be[-1]
        unknown = Range(
            path=tuple(str(part) for part in path),
            dimension="diameter",
            low=least.inside_diameter,
            middle=least.inside_diameter,
            high=most.inside_diameter,
            distribution="sizes",
            written=NOBODY_KNOWS,
            sizes=tuple(size.nominal for size in may_be),
        )
        self.reporter.ranges.append((path, unknown))

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
        nominal = nominal_size(text, known)
        if nominal is None:
            path = (*entry.path, key) if number is None else (*entry.path, key, number)
            message = f"{entry.label}, {key}: {not_a_size(text, known, material)}"
            self.reporter.report(path, message)
        return nominal

    def _fittings(self, entry: Entry, joining: str) -> None:
        if not entry.missing("fittings") and not entry.missing("fitting_allowance"):
            message = (
                f"{entry.label}: give fittings (counted) or fitting_allowance (a share of the "
                "length in their place), not both"
            )
            self.reporter.report((*entry.path, "fitting_allowance"), message)
        self._known_fittings(entry, self.catalogue.joinings[joining].kinds, f" for {joining!r}")

    def _fittings_of_any(self, entry: Entry) -> None:
        """What is a fitting of no way of joining is wrong, whichever was meant."""
        kinds = (kind for joining in self.catalogue.joinings.values() for kind in joining.kinds)
        self._known_fittings(entry, tuple(dict.fromkeys(kinds)), "")

    def _known_fittings(self, entry: Entry, valid: tuple[str, ...], where: str) -> None:
        for kind, _ in entry.get("fittings") or ():
            if kind not in valid:
                message = f"{entry.label}: {quoted(kind)} is not a fitting known{where}"
                meant = meant_by("fittings", kind, valid)
                self.reporter.report((*entry.path, "fittings", kind), message, kind, valid, meant)


_UNIT = re.compile(r"\s*(?:inches|inch|in\.?|mm|\")$")
_MIXED = re.compile(r"(?<=[0-9])\s+(?=[0-9]+/[0-9]+)")


def _clean(text: str) -> str:
    """A nominal size as catalogues write it: "1-1/4" for 1 1/4", "22" for 22 mm."""
    return re.sub(r"\s+", "", _MIXED.sub("-", _UNIT.sub("", text.strip().lower())))


def not_a_size(text: str, known: tuple[str, ...], material: str) -> str:
    """What is wrong with a size; the nearest word would not be the nearest size."""
    return f"{quoted(text)} is not a size of {material}; choose from: {', '.join(known)}"


def nominal_size(text: str, known: tuple[str, ...]) -> str | None:
    """The nominal size that a text means, if it is a known one.

    Returns:
        The catalogue's own writing, or None.
    """
    if text in known:
        return text
    wanted = _clean(text)
    return next((nominal for nominal in known if _clean(nominal) == wanted), None)


def positions_of(entries: Entries, links: list[Link]) -> dict[str, Position]:
    """Where the points stand.

    A device or manifold is taken to be where its position says, inlet and outlet alike, unless
    the inlet's point has a position of its own or two devices claim it.

    Returns:
        Position of each point that has one [m].
    """
    positions: dict[str, Position] = {}
    for source in entries["source"]:
        if source.has("at"):
            positions[gauge_point(entries)] = source.get("at")
    for point in entries["point"]:
        if point.has("at", "name"):
            positions[point.get("name")] = point.get("at")
    placed = {
        entry.path: entry.get("at")
        for kind in ("device", "manifold", "fixture")
        for entry in entries[kind]
        if entry.has("at")
    }
    claims: dict[str, set[Position]] = {}
    for link in links:
        at = placed.get(link.path[:2])
        if at is not None:
            positions.setdefault(link.end, at)
            if link.kind != "branch" and link.start is not None:
                claims.setdefault(link.start, set()).add(at)
    for point_name, at_set in claims.items():
        if len(at_set) == 1:
            positions.setdefault(point_name, *at_set)
    return positions
