"""Price list (TOML) -> `PriceList`, or `InputError` with everything that is wrong."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from supplycalc.catalogue import Catalogue, load_catalogue
from supplycalc.problems import NOWHERE, InputError, Place
from supplycalc.reading.check import check_sections, unknown_sections
from supplycalc.reading.files import parse_toml, read_text
from supplycalc.reading.keys import Key, Section, flag_key, keys_of, quantity_key
from supplycalc.reading.reporter import Entry, Reporter, quoted
from supplycalc.reading.runs import nominal_size, not_a_size
from supplycalc.tables import load_table
from supplycalc.units.quantities import Length, Volume

PART_KINDS = (
    "elbow-90", "elbow-45", "tee", "reducer", "coupling", "adapter", "cap", "wall-elbow",
    "ball-valve", "gate-valve", "globe-valve", "angle-valve", "check-valve", "drain-valve",
    "stop", "washer-valve", "port-valve", "port-cap", "manifold", "crimp-ring", "expansion-ring",
    "clamp", "stiffener", "union", "nipple", "by-pass", "dual-stop", "washer-box",
    "water-hammer-arrestor",
    "ice-maker-box", "transition-fitting", "vacuum-breaker", "pressure-vacuum-breaker",
    "expansion-tank", "relief-discharge-pipe",
    "safety-group", "service-valves", "hose-tap", "tank-tee", "relief-valve", "pressure-gauge",
    "pressure-switch", "pressure-sensor", "pitless-adapter", "well-seal", "torque-arrestor",
    "foot-valve", "support", "bend-support", "nail-plate", "sleeve", "insulation",
)  # fmt: skip
"""Parts that a list counts beside pipe and devices."""

COMPRESSION = "compression"
"""Joints of polyethylene of copper's outside size: no way of joining of its own in a house file."""
THREADED_END = re.compile(r"(?P<before>Rp? )?(?P<size>.*?)(?P<after> (?:MIP|FIP))?")
"""One size of a part: of tube, or of a thread with its mark."""
SHORTEST = 0.3
"""No pipe is sold in shorter lengths [m]."""


class PipePrice(Struct, frozen=True, kw_only=True):
    """One size of tube in one length."""

    material: str
    size: str
    length: Length
    price: float
    cut: bool = False
    place: Place = NOWHERE


class PartPrice(Struct, frozen=True, kw_only=True):
    """One part; None stands for any."""

    kind: str
    price: float
    size: str | None = None
    joining: str | None = None
    ports: int | None = None
    pack: int = 1
    length: Length | None = None
    place: Place = NOWHERE


class Electricity(Struct, frozen=True, kw_only=True):
    """What pumping costs."""

    price: float
    """Of a kilowatt hour."""
    years: float
    daily_water: Volume
    """What the pump lifts in a day."""
    place: Place = NOWHERE


_PRICE = Key(
    name="price", kind="number", example="42.50", required=True, least=0.0, most=1e6,
    help="In the list's currency.",
)  # fmt: skip

LIST = Section(
    name="list", many=False, required=True, help="What the prices are.",
    keys=(
        Key(name="name", kind="text", example='"Counter, spring"', help="What the list is called."),
        Key(
            name="date", kind="text", example='"2026-03-01"', required=True,
            help="Day of the prices, year first.",
        ),
        Key(
            name="currency", kind="text", example='"USD"', required=True,
            help="What prices are in, such as USD or EUR.",
        ),
    ),
)  # fmt: skip
PIPE = Section(
    name="pipe", many=True, help="One size of tube in one length.",
    keys=keys_of(
        PipePrice,
        Key(
            name="material", kind="word", among="tubes", example='"pex-sdr9"', required=True,
            help="Family of the tube, as house files call it.",
        ),
        Key(name="size", kind="size", example='"3/4"', required=True, help="Nominal size."),
        quantity_key(
            "length", "300 ft", "Length that the price is for: a coil or a stick.", least=SHORTEST,
            required=True,
        ),
        _PRICE,
        flag_key("cut", "Whether any length is cut, at the price of this one."),
    ),
)  # fmt: skip
PART = Section(
    name="part", many=True, help="A fitting, a valve, a support or another part.",
    keys=keys_of(
        PartPrice,
        Key(
            name="kind", kind="word", among="parts", example='"elbow-90"', required=True,
            help="As the parts list calls it; a device by its kind.",
        ),
        Key(
            name="size", kind="text", example='"3/4 x 3/4 x 1/2"',
            help="Nominal size; of tees run x run x branch, of reducers large x small.",
            default="any size",
        ),
        Key(
            name="joined", kind="word", among="joinings", example='"crimp"',
            help="Way of joining.", default="any",
        ),
        Key(
            name="ports", kind="count", example="8", least=1, most=200,
            help="Of a manifold.", default="any number",
        ),
        Key(
            name="pack", kind="count", example="25", default="1", least=1, most=100000,
            help="How many the price is for.",
        ),
        quantity_key(
            "length", "6 ft", "Length that the price is for, where it goes by length.",
            positive=True,
        ),
        _PRICE,
    ),
)  # fmt: skip
ELECTRICITY = Section(
    name="electricity", many=False,
    help="What pumping costs, so that it counts in the size of the line before the tank.",
    keys=keys_of(
        Electricity,
        Key(
            name="price", kind="number", example="0.22", required=True, least=0.0, most=1e3,
            help="Of a kilowatt hour, in the list's currency.",
        ),
        Key(
            name="years", kind="number", example="20", required=True, least=0.1, most=100,
            help="Over which it is counted.",
        ),
        quantity_key(
            "daily_water", "200 gal", "What the pump lifts in a day.", required=True, positive=True,
        ),
    ),
)  # fmt: skip
SECTIONS = (LIST, PIPE, PART, ELECTRICITY)


class PriceList(Struct, frozen=True, kw_only=True):
    """Prices of one day in one currency."""

    name: str
    date: datetime.date
    currency: str
    pipes: tuple[PipePrice, ...]
    parts: tuple[PartPrice, ...]
    electricity: Electricity | None = None
    """None: pumping does not count."""

    def pipe(self, material: str, size: str) -> tuple[PipePrice, ...]:
        """Every length of a size that has a price."""
        return tuple(pipe for pipe in self.pipes if (pipe.material, pipe.size) == (material, size))

    def part(
        self, kind: str, size: str, joining: str | None = None, ports: int | None = None
    ) -> PartPrice | None:
        """The price that fits a part best; None where none does."""
        fitting = [
            part
            for part in self.parts
            if part.kind == kind
            and part.size in (None, same_size(kind, size))
            and part.joining in (None, joining)
            and part.ports in (None, ports)
        ]
        # size tells most, then the number of ports, then the way of joining
        return max(
            fitting,
            key=lambda part: (
                part.size is not None,
                part.ports is not None,
                part.joining is not None,
            ),
            default=None,
        )


def same_size(kind: str, size: str) -> str:
    """A size as the list keeps it: parts of it in one order, joined by " x ".

    Args:
        kind: of part; the two ends of a reducer may stand in either order.
        size: such as "3/4 x 1/2".
    """
    parts = [part.strip() for part in size.split(" x ")]
    if kind == "reducer":
        parts.sort()
    return " x ".join(parts)


def load_prices(path: str | Path, catalogue: Catalogue | None = None) -> PriceList:
    """Read a price list from a TOML file.

    Args:
        catalogue: whose names may be used; None takes the shipped one.

    Raises:
        InputError: everything that is wrong with the file, in file order.
    """
    return loads_prices(read_text(path), str(path), catalogue)


def loads_prices(text: str, name: str = "(text)", catalogue: Catalogue | None = None) -> PriceList:
    """Read a price list from text; see `load_prices`.

    Args:
        catalogue: whose names may be used; None takes the shipped one.

    Raises:
        InputError: everything that is wrong with the text, in file order.
    """
    known = catalogue or load_catalogue()
    data, places = parse_toml(
        text.removeprefix("\ufeff"), name, "a [list] and at least one [[pipe]] or [[part]]"
    )
    choices = {
        "tubes": tuple(known.tubes),
        "joinings": (*known.joinings, COMPRESSION),
        "parts": tuple(dict.fromkeys((*PART_KINDS, *_own_kinds(known), *known.devices))),
    }
    reporter = Reporter(file=name, places=places, choices=choices)
    unknown = unknown_sections(reporter, data, SECTIONS)
    mistyped = frozenset(problem.nearest for problem in unknown if problem.nearest)
    entries = check_sections(reporter, data, SECTIONS, mistyped)
    date = _date(reporter, entries["list"])
    pipes = [pipe for entry in entries["pipe"] if (pipe := _pipe(reporter, entry, known))]
    parts = [part for entry in entries["part"] if (part := _part(reporter, entry, known))]
    _no_price_twice(reporter, entries["pipe"], pipes)
    _no_price_twice(reporter, entries["part"], parts)
    if not reporter.problems and not (pipes or parts):
        reporter.report((), "the list has no prices: write [[pipe]] or [[part]]")
    if reporter.problems or date is None:
        raise InputError(reporter.problems)
    head = entries["list"][0]
    return PriceList(
        name=head.get("name") or Path(name).stem,
        date=date,
        currency=head.get("currency"),
        pipes=tuple(pipes),
        parts=tuple(parts),
        electricity=next((it.record(Electricity) for it in entries["electricity"]), None),
    )


def _own_kinds(catalogue: Catalogue) -> Iterator[str]:
    """Fittings of the user's own."""
    for joining in catalogue.joinings.values():
        yield from joining.own


def _date(reporter: Reporter, entries: list[Entry]) -> datetime.date | None:
    if not entries or entries[0].get("date") is None:
        return None
    text = entries[0].get("date")
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        message = f'[list], date: {quoted(text)} is not a day, year first, such as "2026-03-01"'
        reporter.report(("list", "date"), message)
        return None


def _no_price_twice(
    reporter: Reporter, entries: list[Entry], prices: list[PipePrice] | list[PartPrice]
) -> None:
    seen: dict[object, Place] = {}
    paths = {entry.place: entry.path for entry in entries}
    for item in prices:
        key = (
            (item.material, item.size, item.length, item.cut)
            if isinstance(item, PipePrice)
            else (item.kind, item.size, item.joining, item.ports)
        )
        first = seen.setdefault(key, item.place)
        if first is not item.place:
            message = f"this has a price already, in line {first.line}"
            reporter.report(paths[item.place], message)


def _pipe(reporter: Reporter, entry: Entry, catalogue: Catalogue) -> PipePrice | None:
    material, text = entry.get("material"), entry.get("size")
    if material is None or text is None:
        return None
    known = tuple(size.nominal for size in catalogue.tubes[material].sizes)
    nominal = nominal_size(text, known)
    if nominal is None:
        message = f"{entry.label}, size: {not_a_size(text, known, material)}"
        reporter.report((*entry.path, "size"), message)
        return None
    return entry.record(PipePrice, size=nominal) if entry.has("length", "price") else None


def _part(reporter: Reporter, entry: Entry, catalogue: Catalogue) -> PartPrice | None:
    if not entry.has("kind", "price"):
        return None
    size, text = None, entry.get("size")
    if text is not None:
        of_tubes = (size.nominal for tube in catalogue.tubes.values() for size in tube.sizes)
        of_sleeves = (size for size, _ in load_table("parts")["sleeve-wider"]["rows"])
        known = tuple(dict.fromkeys((*of_tubes, *of_sleeves)))
        parts = [_marked_size(part, known) for part in text.split(" x ")]
        if None in parts or len(parts) > 3:
            hint = "sizes such as '3/4' or, of a tee, '3/4 x 3/4 x 1/2'"
            message = f"{entry.label}, size: {quoted(text)} is not made of {hint}"
            reporter.report((*entry.path, "size"), message)
            return None
        size = same_size(entry.get("kind"), " x ".join(part for part in parts if part is not None))
    return entry.record(PartPrice, size=size)


def _marked_size(text: str, known: tuple[str, ...]) -> str | None:
    """A size as the list writes it, a thread's mark kept; None where it is no size."""
    if re.fullmatch(r"DN [0-9]{2,3}", text.strip()):
        return text.strip()
    match = THREADED_END.fullmatch(text.strip())
    nominal = None if match is None else nominal_size(match["size"], known)
    if match is None or nominal is None:
        return None
    return f"{match['before'] or ''}{nominal}{match['after'] or ''}"
